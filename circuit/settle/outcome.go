package settle

import (
	"math"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// Outcome is a settled machine, or one that never settles: look at Chatter, or
// ask [Outcome.Volts], [Outcome.LoadVolts], [Outcome.Amps] and [Outcome.Watts],
// whose [Range] is one figure only where there is one.
type Outcome struct {
	Mode   circuit.ModeID
	Faults []circuit.Fault
	// Conducts tells, per branch, whether it is intact and closed.
	Conducts []bool
	// Acting tells, per branch, whether a coil that moves contacts, or a drive,
	// is pulled in, or a motor that works a switch runs.
	Acting   []bool
	Controls []ControlState
	// Tripped lists protection that opened, in the order of branches.
	Tripped []circuit.BranchID
	// Chatter is nil when the machine settles.
	Chatter *Chatter
	// Earlier is set when a mode that this one comes after chatters: what was
	// pulled in as this one began, and so all that follows, is chance.
	Earlier *Chatter
	// AnyState is the solution of one state: where the machine settles, of the
	// only one; where it chatters, of whichever came last, with Conducts and
	// Acting. Never say a figure of it for a machine that chatters.
	AnyState *phasor.Solution
	// Rounds counts the solves it took.
	Rounds int

	e           *Engine
	least, most []float64 // shares by branch over a chatter cycle
}

// Chatter tells of contacts that keep moving.
type Chatter struct {
	// Mode is the one in which they do.
	Mode     circuit.ModeID
	Contacts []circuit.BranchID
	// Cycle is the number of states it runs through, or as many as were
	// followed of a longer cycle.
	Cycle int
	// States are the states in turn: two or more, the first [MaxChatterStates]
	// of a longer cycle.
	States []ChatterState
}

// MaxChatterStates bounds how many states of a cycle are kept.
const MaxChatterStates = 64

// ChatterState is one of the states that a chattering machine runs through.
type ChatterState struct {
	Conducts, Acting []bool // by branch
	Solution         *phasor.Solution
}

// Range is what a figure is in every state of a machine; Least equals Most
// where it settles, and where it chatters but the figure does not change.
type Range struct {
	Least, Most float64
	// Floats tells that in some state the circuit does not determine a voltage;
	// that state is left out of Least and Most.
	Floats bool
}

// Steady returns the figure where there is only one; false where it jumps, to
// a share of 1e-6 and 1e-6 of its unit, or is not determined.
func (r Range) Steady() (float64, bool) {
	return r.Most, !r.Floats && r.Most-r.Least <= 1e-6*(1+r.Most)
}

// InTurn gives each state of a machine that chatters as if it had settled
// there; one that settles is itself.
func (o *Outcome) InTurn() []*Outcome {
	if o.Chatter == nil {
		return []*Outcome{o}
	}
	var out []*Outcome
	for _, s := range o.Chatter.States {
		state := *o
		state.Chatter, state.Conducts, state.Acting, state.AnyState = nil, s.Conducts, s.Acting, s.Solution
		state.least, state.most = nil, nil
		out = append(out, &state)
	}
	return out
}

// Solver is the solver of the machine that was settled, for further measurements.
func (o *Outcome) Solver() *phasor.Solver { return o.e.solver }

// over gathers a figure over all states.
func (o *Outcome) over(figure func(*phasor.Solution) (float64, bool)) Range {
	r := Range{Least: math.Inf(1)}
	for _, s := range o.InTurn() {
		if v, known := figure(s.AnyState); known {
			r.Least, r.Most = min(r.Least, v), max(r.Most, v)
		} else {
			r.Floats = true
		}
	}
	if math.IsInf(r.Least, 1) {
		r.Least = 0
	}
	return r
}

// Volts gives the size of the voltage between two terminals.
func (o *Outcome) Volts(a, b circuit.TerminalID) Range {
	return o.over(func(s *phasor.Solution) (float64, bool) {
		v, known := s.Between(a, b)
		return cmplx.Abs(v), known
	})
}

// LoadVolts gives the voltage a load gets, as [phasor.Solution.LoadVolts].
func (o *Outcome) LoadVolts(load circuit.BranchID) Range {
	return o.over(func(s *phasor.Solution) (float64, bool) { return s.LoadVolts(load), true })
}

// Amps gives the size of the current through a branch.
func (o *Outcome) Amps(id circuit.BranchID) Range {
	return o.over(func(s *phasor.Solution) (float64, bool) { return cmplx.Abs(s.Amps[id]), true })
}

// Watts gives the power a load takes.
func (o *Outcome) Watts(load circuit.BranchID) Range {
	return o.over(func(s *phasor.Solution) (float64, bool) { return s.Watts(load), true })
}

// LeastShare and MostShare give a load's share of rated power; they differ
// only when the machine chatters.
func (o *Outcome) LeastShare(load circuit.BranchID) float64 {
	if o.least != nil {
		return o.least[load]
	}
	return o.AnyState.Share(load)
}

// MostShare is documented at [Outcome.LeastShare].
func (o *Outcome) MostShare(load circuit.BranchID) float64 {
	if o.most != nil {
		return o.most[load]
	}
	return o.AnyState.Share(load)
}

// chatter runs once round the cycle the machine is in and tells which contacts
// move and between what shares of power each load swings.
func (e *Engine) chatter(mode circuit.ModeID) (*Outcome, error) {
	first := e.key(&e.loop.state)
	n := len(e.in.Conducts)
	least, most := make([]float64, n), make([]float64, n)
	ever, always := make([]bool, n), make([]bool, n)
	ch := &Chatter{Mode: mode}
	var out *Outcome
	for ch.Cycle < maxStates {
		if _, err := e.step(true); err != nil {
			return nil, err
		}
		for i := range least {
			share := e.sol.Share(circuit.BranchID(i))
			if ch.Cycle == 0 || share < least[i] {
				least[i] = share
			}
			if ch.Cycle == 0 || share > most[i] {
				most[i] = share
			}
			ever[i] = ever[i] || e.in.Conducts[i]
			always[i] = (ch.Cycle == 0 || always[i]) && e.in.Conducts[i]
		}
		if ch.Cycle++; len(ch.States) < MaxChatterStates {
			ch.States = append(ch.States, ChatterState{slices.Clone(e.in.Conducts), slices.Clone(e.loop.state.acting), e.sol})
		}
		closed := e.key(&e.loop.next) == first
		if closed || ch.Cycle == maxStates {
			out = e.outcome()
		}
		e.loop.advance()
		if closed {
			break
		}
	}
	for i := range ever {
		if ever[i] != always[i] && e.c.Branch(circuit.BranchID(i)).Role == circuit.Contact {
			ch.Contacts = append(ch.Contacts, circuit.BranchID(i))
		}
	}
	out.Chatter, out.least, out.most = ch, least, most
	return out, nil
}
