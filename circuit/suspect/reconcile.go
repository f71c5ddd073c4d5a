package suspect

import (
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Misfit is what of the evidence fits nothing together with the rest, and what
// would reconcile them. Pieces are told by their places in [Engine.Evidence].
type Misfit struct {
	// Pieces are those that, taken back, leave a rest that is explained: one; two
	// where no single one does; the worst where no two do either.
	Pieces []int
	// Against are the pieces that fight with the first; none where it takes the
	// rest together.
	Against []int
	// Instead tells for each of Pieces what would have fitted; empty where taking
	// back two leaves nothing that explains the rest.
	Instead []Instead
	// Then is the likeliest explanation of the rest, with its probability among
	// single faults and those together that lead: none that ohms among Pieces deny.
	Then Suspect
	// Alone is what ohms that are the first of Pieces speak for by themselves, where
	// that is something else than Then; else it has no causes.
	Alone Suspect
}

// Instead is the answer that would have fitted. The zero value, of what has
// neither figure nor state, is that it was not so.
type Instead struct {
	// Reading is the range of a reading.
	Reading *meter.Reading
	// State is that of a load.
	State circuit.LoadState
}

// Misfit tells what fits nothing together with the rest, by leaving out one
// piece, or two, in turn. Where several would do it is the one whose being wrong
// is likeliest by all that was seen. It is nil when all fits.
func (e *Engine) Misfit() *Misfit {
	slip := e.slip()
	if slip < 0 {
		return nil
	}
	m := &Misfit{Pieces: []int{slip}}
	n := len(e.evidence)
	if n < 2 {
		return m
	}
	a := e.account()
	best, then := math.Inf(-1), -1
	try := func(out ...int) bool {
		h, p, ok := a.explained(a.but(out...))
		if !ok {
			return false
		}
		if w := a.standing(h); w > best {
			best, then, m.Pieces, m.Then.P = w, h, out, p
		}
		return true
	}
	for i := range n {
		if try(i) {
			m.Against = append(m.Against, i)
		}
	}
	for i := 0; then < 0 && n > 2 && i < n; i++ {
		for j := range i {
			try(j, i)
		}
	}
	if then < 0 {
		return m
	}
	m.Against = slices.DeleteFunc(m.Against, func(k int) bool { return slices.Contains(m.Pieces, k) })
	if len(m.Against) == 0 {
		m.Against = a.against(m.Pieces)
	}
	then, m.Then.P = a.undenied(then, m.Then.P, m.Pieces)
	m.Then.Causes = a.causes(then)
	if o := e.evidence[m.Pieces[0]].Reading; o != nil && o.Probes.Function == meter.Ohms && e.singles[m.Pieces[0]].bad() {
		if h, p := a.leading(m.Pieces[:1]); a.group[h] != a.group[then] {
			m.Alone = Suspect{Causes: a.causes(h), P: p}
		}
	}
	for _, i := range m.Pieces {
		m.Instead = append(m.Instead, a.instead(i, then))
	}
	return m
}

// causes are the classes of a hypothesis.
func (a *account) causes(h int) (out []Class) {
	for _, k := range a.hyps[h].classes {
		out = append(out, a.e.classes[k])
	}
	return out
}

// undenied is a hypothesis that explains all but some pieces or, where ohms among
// these are across the very part that it blames and say otherwise, the next likeliest
// that they do not deny so: what reads near nothing is no open, however the rest came
// about.
func (a *account) undenied(then int, p float64, out []int) (int, float64) {
	if !a.denied(then, out) {
		return then, p
	}
	rest := a.but(out...)
	first, sums, total := a.grouped(a.weights(rest))
	best := -1
	for g, h := range first {
		better := best < 0 || sums[g] > sums[a.group[best]]
		if better && len(a.hyps[h].classes) > 0 && !a.denied(h, out) && !slices.ContainsFunc(rest, func(k int) bool { return a.e.fit(k, &a.hyps[h]) < a.e.errs.misfits() }) {
			best = h
		}
	}
	if best < 0 {
		return then, p
	}
	return best, sums[a.group[best]] / total
}

// denied reports whether ohms among some pieces are across a part that a hypothesis
// blames, and not what it makes of them.
func (a *account) denied(h int, pieces []int) bool {
	runs := a.e.c.Runs()
	return slices.ContainsFunc(pieces, func(k int) bool {
		o := a.e.evidence[k].Reading
		if o == nil || o.Probes.Function != meter.Ohms || a.e.fit(k, &a.hyps[h]) >= a.e.errs.misfits() {
			return false
		}
		p, q := runs[o.Probes.P], runs[o.Probes.Q]
		return slices.ContainsFunc(a.causes(h), func(c Class) bool {
			f := c.Members[0].Faults[0]
			b := a.e.c.Branch(max(f.Branch, 0))
			if f.Branch == circuit.None || b.A == circuit.None || b.B == circuit.None {
				return false
			}
			x, y := runs[b.A], runs[b.B]
			return p != q && (x == p && y == q || x == q && y == p)
		})
	})
}

// against lists the pieces each of which fights with the first of some, or the
// first two that do together.
func (a *account) against(some []int) []int {
	var out []int
	rest := a.but(some...)
	for _, k := range rest {
		if !a.agree(some[0], k) {
			out = append(out, k)
		}
	}
	for i := 0; len(out) == 0 && i < len(rest); i++ {
		for _, k := range rest[:i] {
			if !a.agree(some[0], k, rest[i]) {
				return []int{k, rest[i]}
			}
		}
	}
	return out
}

// agree tells whether something explains a piece together with others: one thing,
// or what explains it beside what explains them.
func (a *account) agree(piece int, others ...int) bool {
	all := append([]int{piece}, others...)
	if _, _, ok := a.explained(all); ok {
		return true
	}
	x, known := a.alone[piece]
	if !known {
		x, _ = a.leading(all[:1])
		a.alone[piece] = x
	}
	y, _ := a.leading(others)
	p, q := &a.hyps[x], &a.hyps[y]
	if len(p.classes) != 1 || len(q.classes) != 1 || p.stays != nil || q.stays != nil || a.e.exclusive(p.classes[0], q.classes[0]) {
		return false
	}
	both := &hypothesis{classes: []int32{p.classes[0], q.classes[0]}, cells: []int32{p.cells[0], q.cells[0]}}
	return !slices.ContainsFunc(all, func(k int) bool { return a.e.fit(k, both) < a.e.errs.misfits() })
}

// likely is the share of its likeliest size's weight from which another size of
// an explanation has a say in what would fit.
const likely = 0.1

// instead is what a hypothesis, of any size that the rest leaves likely, makes of
// a piece of evidence.
func (a *account) instead(i, then int) Instead {
	ev := a.e.evidence[i]
	if s := ev.Symptom; ev.Told != nil || s != nil && (s.Load == circuit.None || s.State == 0) {
		return Instead{}
	}
	rest := a.but(i)
	var ps []predicted
	for h := range a.hyps {
		if a.group[h] != a.group[then] || a.weight(h, rest) < a.weight(then, rest)+math.Log(likely) {
			continue
		}
		shown, err := a.e.shown(i, &a.hyps[h])
		if err != nil {
			return Instead{}
		}
		ps = append(ps, shown...)
	}
	if ev.Symptom != nil {
		return Instead{State: a.e.errs.state(ev, ps)}
	}
	r := ps[0].reading
	for _, p := range ps[1:] {
		r = spanned(r, p.reading)
	}
	return Instead{Reading: &r}
}

// state is the state of a load that is likeliest told of.
func (by *errs) state(ev Evidence, ps []predicted) (best circuit.LoadState) {
	most := math.Inf(-1)
	for _, s := range []circuit.LoadState{circuit.Normal, circuit.Off, circuit.Dead, circuit.Weak, circuit.TooMuch, circuit.StaysOn, circuit.Hums} {
		if s.Meant(ps[0].should >= circuit.OnShare) != s {
			continue
		}
		said := *ev.Symptom
		said.State = s
		if l := by.logLikelihood(Evidence{Symptom: &said}, ps...); l > most {
			best, most = s, l
		}
	}
	return best
}

// spanned is a reading that takes in two.
func spanned(r, s meter.Reading) meter.Reading {
	switch {
	case r.OL && s.OL, r.Refused != "", r.Unsteady:
		return r
	case s.Refused != "", s.Unsteady:
		return s
	case r.OL:
		s.MaybeOL = true
		return s
	case s.OL:
		r.MaybeOL = true
		return r
	}
	r.Low, r.High, r.MaybeOL = min(r.Low, s.Low), max(r.High, s.High), r.MaybeOL || s.MaybeOL
	return r
}
