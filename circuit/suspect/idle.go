package suspect

import (
	"context"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// idleIn tells for a mode, of some classes of their usual size or all that are
// paired, which further faults would be idle beside each: nil where that was not
// asked.
func (e *Engine) idleIn(ctx context.Context, mode circuit.ModeID, beside func(class int32) bool) ([][]bool, error) {
	n := len(e.classes)
	if e.idle[mode] == nil {
		e.idle[mode] = make([][]bool, n)
	}
	var ask []int32
	for i := range int32(n) {
		if e.idle[mode][i] == nil && !e.classes[i].common && beside(i) {
			ask = append(ask, i)
		}
	}
	return e.idle[mode], e.learnIdle(ctx, mode, ask)
}

// learnIdle learns it from the currents on the way to each settled state.
func (e *Engine) learnIdle(ctx context.Context, mode circuit.ModeID, classes []int32) error {
	if len(classes) == 0 {
		return nil
	}
	idle, senses := e.idle[mode], senseBranches(e.c, func(*circuit.Control) bool { return true })
	sound, err := e.workers[0].uses(mode, nil)
	if err != nil {
		return err
	}
	return e.each(ctx, len(classes), func(w *worker, at int) error {
		i := classes[at]
		var used *use
		var err error
		faults := e.classes[i].Members[0].Faults
		if sound != nil && w.opensIdle(mode, faults) && !sound.carried[faults[0].Branch] {
			// Of joins side by side another solve may have put all current on the other.
			used = &use{sound.carried, slices.Clone(sound.open), sound.acted}
			used.open[faults[0].Branch] = used.open[faults[0].Branch] || faults[0].Kind == circuit.Open
		} else if used, err = w.uses(mode, faults); err != nil {
			return err
		}
		idle[i] = make([]bool, len(e.classes))
		for j := range e.classes {
			idle[i][j] = used != nil && used.idle(e.c, e.classes[j].Members[0].Faults, senses)
		}
		return nil
	})
}

// opensIdle tells of a joint that opens, or goes bad, where nothing ever flows: all
// else does what it does in a sound machine.
func (w *worker) opensIdle(mode circuit.ModeID, faults []circuit.Fault) bool {
	return len(faults) == 1 && (faults[0].Kind == circuit.Open || faults[0].Kind == circuit.HighResistance) && w.idle(mode, faults[0])
}

// uses settles a machine and looks on. It is nil where something trips: that was solved
// with currents that no longer flow, or could not be solved at all.
func (w *worker) uses(mode circuit.ModeID, faults []circuit.Fault) (*use, error) {
	used, engine := newUse(w.bench.Circuit()), w.bench.Engine()
	engine.Observe = used.see
	defer func() { engine.Observe = nil }()
	if o, err := w.bench.Live(mode, faults); err != nil || len(o.Tripped) > 0 {
		return nil, err
	}
	return used, nil
}

// oftenPaired is how many pairs a class is in from which it is learnt what is idle
// beside it, where not all classes are paired.
const oftenPaired = 20

// oftenIn tells of the classes that are in many pairs among hypotheses.
func (e *Engine) oftenIn(hyps []hypothesis) func(class int32) bool {
	in := make([]int, len(e.classes))
	for i := range hyps {
		if len(hyps[i].classes) == 2 {
			in[hyps[i].classes[0]]++
			in[hyps[i].classes[1]]++
		}
	}
	return func(class int32) bool { return in[class] >= oftenPaired }
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
