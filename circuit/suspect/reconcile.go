package suspect

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

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
	// single faults and those together that lead.
	Then Suspect
}

// Instead is the answer that would have fitted. The zero value, of what has
// neither figure nor state, is that it was not so.
type Instead struct {
	// Reading is the range of a reading.
	Reading *meter.Reading
	// State is that of a load.
	State circuit.LoadState
}

// account holds how well each of a number of hypotheses explains each piece of
// evidence, from what was computed when it was added.
type account struct {
	e    *Engine
	hyps []hypothesis // the first is that nothing is wrong; logp is the prior
	logs [][]float64  // by hypothesis and piece
	all  []float64    // their sums, by hypothesis
	// group numbers hypotheses that differ in size alone, from 0 without a gap.
	group  []int
	groups int
	fits   map[[2]int]bool // by hypothesis and piece
	// prior and share are logp and logs as chances, share by piece, each made when
	// it is first asked for; alone is what leads by one piece.
	prior []float64
	share [][]float64
	alone map[int]int
}

// together is how many sets of several faults are reckoned with beside every
// single one: those that lead, of which none does alone.
const together = 12

func (e *Engine) account() *account {
	a := &account{e: e, hyps: e.hypotheses(1), fits: map[[2]int]bool{}, share: make([][]float64, len(e.singles)), alone: map[int]int{}}
	for i, m := range e.mends {
		a.hyps = e.mend(a.hyps, m, i+1)
	}
	for i := range a.hyps {
		logs := make([]float64, len(e.singles))
		for k, s := range e.singles {
			logs[k], _ = s.known(&a.hyps[i]) // of one class it always is
		}
		a.logs = append(a.logs, logs)
	}
	left := together
	for _, h := range e.hyps { // the likeliest first
		if len(h.classes) < 2 || len(e.needed(&h)) < 2 {
			continue
		}
		if left--; left < 0 {
			break
		}
		logs := make([]float64, len(e.singles))
		for k, s := range e.singles {
			var ok bool
			if logs[k], ok = s.known(&h); !ok {
				ps, err := e.predicted(e.workers[0], s.ev, &h)
				if err != nil {
					logs[k] = badAt
					continue
				}
				logs[k] = e.errs.logLikelihood(s.ev, ps...)
			}
			h.logp -= logs[k]
		}
		a.hyps, a.logs = append(a.hyps, h), append(a.logs, logs)
	}
	index := map[string]int{}
	for i := range a.hyps {
		id := a.hyps[i].id()
		if _, ok := index[id]; !ok {
			index[id] = len(index)
		}
		a.group = append(a.group, index[id])
		a.prior, a.all = append(a.prior, math.Exp(a.hyps[i].logp)), append(a.all, floats.Sum(a.logs[i]))
	}
	a.groups = len(index)
	return a
}

// weight is the log weight of a hypothesis by some of the evidence.
func (a *account) weight(h int, pieces []int) float64 {
	sum := a.hyps[h].logp
	for _, k := range pieces {
		sum += a.logs[h][k]
	}
	return sum
}

// leading is the likeliest size of the likeliest hypothesis by some of the
// evidence, and its probability; that nothing is wrong where none of it speaks.
func (a *account) leading(pieces []int) (at int, p float64) {
	if !slices.ContainsFunc(pieces, func(k int) bool { return a.e.singles[k].bad() }) {
		return 0, 1
	}
	weights := a.weights(pieces)
	sums, first, total := make([]float64, a.groups), slices.Repeat([]int{-1}, a.groups), 0.0
	for h, w := range weights {
		g := a.group[h]
		sums[g] += w
		total += w
		if first[g] < 0 || w > weights[first[g]] {
			first[g] = h
		}
	}
	best := 0
	for g, sum := range sums {
		if sum > sums[best] {
			best = g
		}
	}
	return first[best], sums[best] / total
}

// fewPieces is how many pieces' chances are multiplied; of more the product may
// be too small for a number, and it is their logarithms that are added.
const fewPieces = 4

// weights are those of all hypotheses by some of the evidence, to one scale.
func (a *account) weights(pieces []int) []float64 {
	if len(pieces) <= fewPieces {
		weights := slices.Clone(a.prior)
		for _, k := range pieces {
			if a.share[k] == nil {
				a.share[k] = make([]float64, len(a.hyps))
				for h := range a.hyps {
					a.share[k][h] = math.Exp(a.logs[h][k])
				}
			}
			floats.Mul(weights, a.share[k])
		}
		return weights
	}
	weights, out := make([]float64, len(a.hyps)), a.but(pieces...)
	for h := range a.hyps {
		if math.IsInf(a.all[h], -1) {
			weights[h] = a.weight(h, pieces)
			continue
		}
		weights[h] = a.hyps[h].logp + a.all[h]
		for _, k := range out {
			weights[h] -= a.logs[h][k]
		}
	}
	most := slices.Max(weights)
	for h, w := range weights {
		weights[h] = math.Exp(w - most)
	}
	return weights
}

// standing is the log weight by all evidence of what a hypothesis stands for:
// itself in any size or, where nothing is wrong, all that explains no more.
func (a *account) standing(h int) float64 {
	all := a.but()
	var bad []int
	for _, k := range all {
		if a.e.singles[k].bad() {
			bad = append(bad, k)
		}
	}
	most := a.weight(0, bad) - a.hyps[0].logp + nearlyAs
	var logs []float64
	for i := range a.hyps {
		if a.group[i] == a.group[h] || h == 0 && a.weight(i, bad)-a.hyps[i].logp <= most {
			logs = append(logs, a.weight(i, all))
		}
	}
	return floats.LogSumExp(logs)
}

// explained tells whether what leads by some of the evidence takes none of it
// for a slip.
func (a *account) explained(pieces []int) (at int, p float64, ok bool) {
	at, p = a.leading(pieces)
	for _, k := range pieces {
		key := [2]int{at, k}
		if _, done := a.fits[key]; !done {
			a.fits[key] = a.e.fit(k, &a.hyps[at]) >= a.e.errs.misfits()
		}
		if !a.fits[key] {
			return at, p, false
		}
	}
	return at, p, true
}

// but lists all pieces except some.
func (a *account) but(some ...int) []int {
	var out []int
	for k := range a.e.singles {
		if !slices.Contains(some, k) {
			out = append(out, k)
		}
	}
	return out
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
	for _, k := range a.hyps[then].classes {
		m.Then.Causes = append(m.Then.Causes, e.classes[k])
	}
	for _, i := range m.Pieces {
		m.Instead = append(m.Instead, a.instead(i, then))
	}
	return m
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
