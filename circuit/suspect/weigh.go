package suspect

import (
	"context"
	"math"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// singles is one piece of evidence weighed under no fault and every single
// class, and what that tells about sets of them.
type singles struct {
	ev   Evidence
	none float64
	// logs are by class and cell; usual by class, of the usual size.
	logs  [][]float64
	usual []float64
	// there[i] is that of class i where it comes and goes, while it is there.
	there []float64
	// idle[i][j] tells that class j changes nothing once class i is present:
	// nil where that is not known.
	idle [][]bool
}

// badAt is the log likelihood below which a sound machine does not explain a
// piece of evidence.
const badAt = -1.2

// Speaks reports whether the piece of evidence at a place is something that a
// sound machine would not have shown.
func (e *Engine) Speaks(at int) bool { return e.singles[at].bad() }

func (s *singles) bad() bool { return s.none < badAt && !s.ev.Hearsay() }

// weighSingles weighs a piece of evidence under every single class and size.
func (e *Engine) weighSingles(ctx context.Context, ev Evidence) (*singles, error) {
	if ev.Told != nil && !ev.Told.settles() {
		return e.weighTold(ev), nil
	}
	if ev.Symptom != nil && ev.Symptom.Whole == AnyOf {
		return e.weighAny(ctx, ev)
	}
	n := len(e.classes)
	s := &singles{ev: ev, logs: make([][]float64, n), usual: make([]float64, n)}
	p, err := e.workers[0].predict(ev, nil)
	if err != nil {
		return nil, err
	}
	s.none = logLikelihood(ev, p)
	if mode, live := ev.live(); live && e.opt.Order > 1 && n <= mostPaired && !ev.Symptom.heats() && !ev.Hearsay() {
		mode = e.at(mode)
		if s.idle, err = e.idleIn(ctx, mode); err != nil {
			return nil, err
		}
	}
	same := e.sameOccasion(ev)
	s.there = make([]float64, n)
	return s, e.each(ctx, n, func(w *worker, i int) error {
		z := e.classes[i].sizes
		corners := make([]predicted, len(z.corners))
		for k, faults := range z.corners {
			var err error
			if corners[k], err = w.predict(ev, faults); err != nil {
				return err
			}
		}
		s.usual[i] = logLikelihood(ev, corners[z.usual])
		s.logs[i] = make([]float64, len(z.cells))
		ps := make([]predicted, 0, 4)
		for k := range z.cells {
			ps = ps[:0]
			for _, at := range z.cells[k].corners {
				ps = append(ps, corners[at])
			}
			there := logLikelihood(ev, ps...)
			if z.cells[k].occasion.when == comesAndGoes {
				s.there[i] = there
				s.logs[i][k] = nowAndThen(same, i, there, s.none)
				continue
			}
			s.logs[i][k] = z.cells[k].occasion.weigh(ev, there, s.none)
		}
		return nil
	})
}

// weighAny weighs each meaning of an [AnyOf], all as likely.
func (e *Engine) weighAny(ctx context.Context, ev Evidence) (*singles, error) {
	var all *singles
	for i := range ev.Symptom.Of {
		s, err := e.weighSingles(ctx, Evidence{Symptom: &ev.Symptom.Of[i], Mended: ev.Mended})
		if err != nil {
			return nil, err
		}
		if all == nil {
			all = s
			continue
		}
		// The mean so far, and this one's part in it.
		mean := func(a, b float64) float64 {
			most := max(a, b)
			return most + math.Log((float64(i)*math.Exp(a-most)+math.Exp(b-most))/float64(i+1))
		}
		all.none = mean(all.none, s.none)
		for k := range all.usual {
			all.usual[k] = mean(all.usual[k], s.usual[k])
			for j := range all.logs[k] {
				all.logs[k][j] = mean(all.logs[k][j], s.logs[k][j])
			}
		}
	}
	all.ev, all.idle = ev, nil
	return all, nil
}

// weigh is the log likelihood of evidence on an occasion, from those with the
// fault there and gone.
func (o occasion) weigh(ev Evidence, there, gone float64) float64 {
	mode, live := ev.live()
	if o.gone(mode, live) {
		return gone
	}
	return there
}

// nowAndThen is the log likelihood of evidence where a class comes and goes, given
// what else was seen on the same occasion: then it was there for all of it, or for
// none.
func nowAndThen(same []*singles, class int, there, gone float64) float64 {
	var a, b float64
	for _, s := range same {
		a, b = a+s.there[class], b+s.none
	}
	return either(a+there, b+gone) - either(a, b)
}

// either is the log of a sum, from the logs of its terms.
func either(a, b float64) float64 {
	most := max(a, b)
	return most + math.Log(math.Exp(a-most)+math.Exp(b-most))
}

// sameOccasion lists what was seen of other loads in the mode of a symptom, since
// its own load was last seen in it: a turn of the knob shows them all.
func (e *Engine) sameOccasion(ev Evidence) []*singles {
	var out []*singles
	if ev.Symptom == nil || ev.Symptom.Load == circuit.None {
		return nil
	}
	for _, s := range slices.Backward(e.singles) {
		sy := s.ev.Symptom
		if sy == nil || sy.Load == circuit.None || sy.Mode != ev.Symptom.Mode || len(s.ev.Mended) != len(ev.Mended) {
			continue
		}
		if sy.Load == ev.Symptom.Load {
			break
		}
		out = append(out, s)
	}
	return out
}

// gone tells that a fault is not there for what is seen in a mode, with the
// supply on or removed.
func (o occasion) gone(mode circuit.ModeID, live bool) bool {
	return o.when == whenHot && !live || o.when == inMode && mode != o.mode
}

// live tells the mode of what is seen with the supply on.
func (ev Evidence) live() (circuit.ModeID, bool) {
	switch {
	case ev.Told != nil && ev.Told.settles():
		return ev.Told.ask.Mode, true
	case ev.Told != nil:
		return circuit.None, false
	case ev.Symptom != nil:
		return ev.Symptom.Mode, true
	}
	return ev.Reading.Mode, ev.Reading.Probes.Function.Live()
}

// at is a mode; Off for what was seen whatever the mode, where it matters most.
func (e *Engine) at(mode circuit.ModeID) circuit.ModeID {
	if mode == circuit.None {
		return e.c.OffMode()
	}
	return mode
}

// idleIn learns for a mode, from the currents on the way to each settled state,
// which further faults would be idle beside a class of its usual size.
func (e *Engine) idleIn(ctx context.Context, mode circuit.ModeID) ([][]bool, error) {
	if e.idle[mode] != nil {
		return e.idle[mode], nil
	}
	n := len(e.classes)
	idle := make([][]bool, n)
	senses := senseBranches(e.c)
	err := e.each(ctx, n, func(w *worker, i int) error {
		if e.classes[i].common {
			return nil // it is not paired
		}
		used := newUse(e.c)
		engine := w.bench.Engine()
		engine.Observe = used.see
		defer func() { engine.Observe = nil }()
		o, err := w.bench.Live(mode, e.classes[i].Members[0].Faults)
		if err != nil {
			return err
		}
		// What tripped was solved with currents that no longer flow, or could
		// not be solved at all: nothing can be said of it.
		if len(o.Tripped) > 0 {
			return nil
		}
		idle[i] = make([]bool, n)
		for j := range e.classes {
			idle[i][j] = used.idle(e.c, e.classes[j].Members[0].Faults, senses)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	e.idle[mode] = idle
	return idle, nil
}

// senseBranches marks everything a control could see through.
func senseBranches(c *circuit.Circuit) []bool {
	out := make([]bool, len(c.Branches()))
	for i := range c.Controls() {
		for _, sense := range c.Controls()[i].Senses {
			for _, id := range senseIsland(c, sense) {
				out[id] = true
			}
		}
	}
	return out
}

// use records what a machine's parts did on the way to its settled state.
type use struct {
	carried []bool // by branch: any current
	open    []bool // by branch: not conducting at some point
	acted   []bool // by branch: a drive that acted
}

func newUse(c *circuit.Circuit) *use {
	n := len(c.Branches())
	return &use{make([]bool, n), make([]bool, n), make([]bool, n)}
}

func (u *use) see(conducts, acting []bool, sol *phasor.Solution) {
	var largest float64
	for _, a := range sol.Amps {
		largest = max(largest, cmplx.Abs(a))
	}
	for i, a := range sol.Amps {
		u.carried[i] = u.carried[i] || cmplx.Abs(a) > 1e-10*largest
		u.open[i] = u.open[i] || !conducts[i]
		u.acted[i] = u.acted[i] || acting[i]
	}
}

// idle reports whether further faults would have changed nothing: an open or a
// bad joint where no current ever flowed, a weld of what never opened.
func (u *use) idle(c *circuit.Circuit, faults []circuit.Fault, senses []bool) bool {
	for _, f := range faults {
		b := c.Branch(f.Branch)
		switch {
		case senses[f.Branch]:
			return false
		case b.Role == circuit.Drive:
			if f.Kind != circuit.Open || u.acted[f.Branch] {
				return false
			}
		case f.Kind == circuit.Open || f.Kind == circuit.HighResistance:
			if u.carried[f.Branch] {
				return false
			}
		case f.Kind == circuit.Welded:
			if u.open[f.Branch] {
				return false
			}
		default:
			return false
		}
	}
	return true
}

// weigh adds a piece of evidence to hypotheses. A set in which some class is
// idle once the others are present weighs as those others do; only the rest
// are settled.
func (e *Engine) weigh(ctx context.Context, s *singles, hyps []hypothesis) error {
	logs := make([]float64, len(hyps))
	var hard []int
	for i := range hyps {
		var ok bool
		if logs[i], ok = s.known(&hyps[i]); !ok {
			hard = append(hard, i)
		}
	}
	err := e.each(ctx, len(hard), func(w *worker, k int) error {
		ps, err := e.predicted(w, s.ev, &hyps[hard[k]])
		if err != nil {
			return err
		}
		logs[hard[k]] = logLikelihood(s.ev, ps...)
		return nil
	})
	if err != nil {
		return err
	}
	for i := range hyps {
		hyps[i].logp += logs[i]
		if s.bad() {
			hyps[i].bad += logs[i]
		}
	}
	return nil
}

// predicted is what the corners of a hypothesis make of an evidence's question.
func (e *Engine) predicted(w *worker, ev Evidence, h *hypothesis) ([]predicted, error) {
	var out []predicted
	for _, faults := range e.cornersOf(h.at(len(ev.Mended))) {
		p, err := w.predict(ev, faults)
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

func (s *singles) known(h *hypothesis) (float64, bool) {
	h = h.at(len(s.ev.Mended))
	if s.ev.Told != nil && !s.ev.Told.settles() || s.ev.Symptom.heats() {
		return s.toldOf(h), true
	}
	switch len(h.classes) {
	case 0:
		return s.none, true
	case 1:
		return s.single(h, 0), true
	}
	if s.ev.Hearsay() {
		// What dims others dims them beside another fault too.
		least := math.Inf(1)
		for at := range h.classes {
			least = min(least, s.single(h, at))
		}
		return least, true
	}
	if s.idle == nil || len(h.classes) != 2 {
		return 0, false
	}
	i, j := h.classes[0], h.classes[1]
	switch {
	case s.idle[i] != nil && s.idle[i][j]:
		return s.single(h, 0), true
	case s.idle[j] != nil && s.idle[j][i]:
		return s.single(h, 1), true
	}
	return 0, false
}

// single is the weight of one class of a hypothesis alone, of the same size.
func (s *singles) single(h *hypothesis, at int) float64 {
	if h.cells[at] == usual {
		return s.usual[h.classes[at]]
	}
	return s.logs[h.classes[at]][h.cells[at]]
}

// alone is how well one class of a hypothesis by itself, of the same size,
// explains what a sound machine would not have done.
func (e *Engine) alone(h *hypothesis, at int) float64 {
	sum := 0.0
	for _, s := range e.singles {
		switch {
		case !s.bad():
		case h.isGone(at, len(s.ev.Mended)):
			sum += s.none
		default:
			sum += s.single(h, at)
		}
	}
	return sum
}

// core returns the classes of a hypothesis that are still there and that it
// needs to explain what a sound machine would not have done.
func (e *Engine) core(h *hypothesis) []int32 {
	needed := e.needed(h)
	if h.gone == nil {
		return needed
	}
	return slices.DeleteFunc(slices.Clone(needed), func(k int32) bool { return h.isGone(slices.Index(h.classes, k), len(e.mends)) })
}

// needed returns the classes of a hypothesis that it needs to explain what a
// sound machine would not have done: a fault that has nothing to do with it is
// no part of the explanation, and where none has, it is none.
func (e *Engine) needed(h *hypothesis) []int32 {
	const as, alike = 0.7, 1e-9 // nearly as good, and no better, in logs
	sound, any := 0.0, false
	for _, s := range e.singles {
		if s.bad() {
			sound, any = sound+s.none, true
		}
	}
	if any && sound >= h.bad-as {
		return nil
	}
	if len(h.classes) < 2 {
		return h.classes
	}
	one, best := int32(-1), h.bad-as
	for at, k := range h.classes {
		// Where several explain it alone the best does, the likelier of like ones.
		switch alone := e.alone(h, at); {
		case alone < h.bad-as || one >= 0 && alone < best-alike:
		case one < 0 || alone > best+alike || e.before(k, one):
			one, best = k, alone
		}
	}
	if one >= 0 {
		return []int32{one}
	}
	return h.classes
}

// before tells which of two classes is named where either would do: the likelier
// or, of equally likely ones, the first by name, whatever the order of the file.
func (e *Engine) before(a, b int32) bool {
	p, q := e.classes[a].Prior, e.classes[b].Prior
	if math.Abs(p-q) > 1e-12*(p+q) {
		return p > q
	}
	return e.classes[a].Members[0].Label < e.classes[b].Members[0].Label
}
