package suspect

import (
	"context"
	"math/cmplx"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// idleIn learns for a mode, from the currents on the way to each settled state,
// which further faults would be idle beside a class of its usual size.
func (e *Engine) idleIn(ctx context.Context, mode circuit.ModeID) ([][]bool, error) {
	if e.idle[mode] != nil {
		return e.idle[mode], nil
	}
	n := len(e.classes)
	idle := make([][]bool, n)
	senses := senseBranches(e.c, func(*circuit.Control) bool { return true })
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

// senseBranches marks everything that some of the controls could see through.
func senseBranches(c *circuit.Circuit, some func(*circuit.Control) bool) []bool {
	out := make([]bool, len(c.Branches()))
	for i := range c.Controls() {
		if !some(&c.Controls()[i]) {
			continue
		}
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
