package suspect

import (
	"context"
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
	logs []float64 // by class
	// idle[i] marks the classes that change nothing once class i is present:
	// nil where that is not known.
	idle [][]bool
}

// badAt is the log likelihood below which a sound machine does not explain a
// piece of evidence.
const badAt = -1.2

// Speaks reports whether the piece of evidence at a place is something that a
// sound machine would not have shown.
func (e *Engine) Speaks(at int) bool { return e.singles[at].bad() }

func (s *singles) bad() bool { return s.none < badAt }

// weighSingles weighs a piece of evidence under every single class. For what
// is seen live it also learns, from the currents on the way to each settled
// state, which further faults would be idle there.
func (e *Engine) weighSingles(ctx context.Context, ev Evidence) (*singles, error) {
	s := &singles{ev: ev, logs: make([]float64, len(e.classes))}
	p, err := e.workers[0].predict(ev, nil)
	if err != nil {
		return nil, err
	}
	s.none = logLikelihood(ev, p)
	live := ev.Symptom != nil || ev.Reading.Probes.Function.Live()
	if live {
		s.idle = make([][]bool, len(e.classes))
	}
	senses := e.senseBranches()
	err = e.each(ctx, len(e.classes), func(w *worker, i int) error {
		used := newUse(e.c)
		engine := w.bench.Engine()
		if live {
			engine.Observe, w.whole = used.see, true
			defer func() { engine.Observe, w.whole = nil, false }()
		}
		p, err := w.predict(ev, e.classes[i].Members[0].Faults)
		if err != nil {
			return err
		}
		s.logs[i] = logLikelihood(ev, p)
		// What tripped was solved with currents that no longer flow, or could
		// not be solved at all: nothing can be said of it.
		if live && !w.tripped {
			s.idle[i] = make([]bool, len(e.classes))
			for j := range e.classes {
				s.idle[i][j] = used.idle(e.c, e.classes[j].Members[0].Faults, senses)
			}
		}
		return nil
	})
	return s, err
}

// senseBranches marks everything a control could see through.
func (e *Engine) senseBranches() []bool {
	out := make([]bool, len(e.c.Branches()))
	seen := map[circuit.TerminalID]bool{}
	var queue []circuit.TerminalID
	for i := range e.c.Controls() {
		for _, s := range e.c.Controls()[i].Senses {
			queue = append(queue, s.Pin1, s.Pin2)
		}
	}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		if seen[t] {
			continue
		}
		seen[t] = true
		for i := range e.c.Branches() {
			b := e.c.Branch(circuit.BranchID(i))
			if b.Role != circuit.Drive && (b.A == t || b.B == t) {
				out[i] = true
				for _, far := range [2]circuit.TerminalID{b.A, b.B} {
					if far != circuit.None {
						queue = append(queue, far)
					}
				}
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
		if logs[i], ok = s.known(hyps[i].classes); !ok {
			hard = append(hard, i)
		}
	}
	err := e.each(ctx, len(hard), func(w *worker, k int) error {
		p, err := w.predict(s.ev, e.faults(&hyps[hard[k]]))
		if err != nil {
			return err
		}
		logs[hard[k]] = logLikelihood(s.ev, p)
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

func (s *singles) known(classes []int32) (float64, bool) {
	switch len(classes) {
	case 0:
		return s.none, true
	case 1:
		return s.logs[classes[0]], true
	}
	if s.idle == nil || len(classes) != 2 {
		return 0, false
	}
	i, j := classes[0], classes[1]
	switch {
	case s.idle[i] != nil && s.idle[i][j]:
		return s.logs[i], true
	case s.idle[j] != nil && s.idle[j][i]:
		return s.logs[j], true
	}
	return 0, false
}

// core returns the classes of a hypothesis that it needs to explain what a
// sound machine would not have done: a second fault that has nothing to do
// with it is no part of the explanation.
func (e *Engine) core(h *hypothesis) []int32 {
	if len(h.classes) < 2 {
		return h.classes
	}
	const as = 0.7 // nearly as good, in logs
	for _, k := range h.classes {
		alone := 0.0
		for _, s := range e.singles {
			if s.bad() {
				alone += s.logs[k]
			}
		}
		if alone >= h.bad-as {
			return slices.Clone([]int32{k})
		}
	}
	return h.classes
}
