// Package settle finds where every contact of a machine ends up: which coils
// pull in, what the control drives, what trips, in a mode and under given
// faults.
//
// [New] makes an [Engine] for a circuit and [Engine.Run] settles one case. The
// [Outcome] carries the settled contacts and the solution of the network they
// make. Contacts depend on coils, coils on voltages, voltages on contacts; Run
// starts from rest and repeats until nothing moves. Where that never happens
// the outcome names the contacts that chatter.
package settle

import (
	"encoding/binary"
	"errors"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// Outcome is a settled machine.
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
	Chatter  *Chatter
	Solution *phasor.Solution
	// Rounds counts the solves it took.
	Rounds int

	least, most []float64 // shares by branch over a chatter cycle
}

// Chatter names the contacts that keep moving.
type Chatter struct {
	Contacts []circuit.BranchID
	// Cycle is the number of states it runs through, or as many as were
	// followed of a longer cycle.
	Cycle int
}

// LeastShare and MostShare give a load's share of rated power; they differ
// only when the machine chatters.
func (o *Outcome) LeastShare(load circuit.BranchID) float64 {
	if o.least != nil {
		return o.least[load]
	}
	return o.Solution.Share(load)
}

// MostShare is documented at [Outcome.LeastShare].
func (o *Outcome) MostShare(load circuit.BranchID) float64 {
	if o.most != nil {
		return o.most[load]
	}
	return o.Solution.Share(load)
}

// Engine settles one circuit again and again. It must not be used by two
// goroutines at once.
type Engine struct {
	c      *circuit.Circuit
	solver *phasor.Solver
	coils  []circuit.BranchID // that move contacts
	movers []circuit.BranchID // coils, drives, and what can trip
	drives []circuit.BranchID
	rcds   []*circuit.Part
	moves  []bool // by branch: a coil or motor whose acting is followed
	timed  map[circuit.BranchID]bool

	// Observe, when set, is called after every solve of a run.
	Observe func(conducts, acting []bool, sol *phasor.Solution)

	in     phasor.Input
	opened []bool
	welded []bool
	seized []bool
	wanted []bool // drives the mode calls for
	state  state
	sol    *phasor.Solution
	ctl    []ControlState
	rounds int
}

// state is everything that can move during settling, one byte per mover.
type state struct {
	acting  []bool // by branch
	late    []bool // by branch: a timed relay's contacts have acted
	tripped []bool // by branch
	turn    int    // the branch first in turn, where one moves at a time
}

// key tells states apart.
func (e *Engine) key(s state) string {
	b := binary.AppendUvarint(nil, uint64(s.turn))
	for _, i := range e.movers {
		b = append(b, 0)
		at := &b[len(b)-1]
		if s.acting[i] {
			*at |= 1
		}
		if s.late[i] {
			*at |= 2
		}
		if s.tripped[i] {
			*at |= 4
		}
	}
	return string(b)
}

// New makes an engine for the circuit.
func New(c *circuit.Circuit) *Engine {
	n := len(c.Branches())
	e := &Engine{c: c, solver: phasor.New(c), timed: map[circuit.BranchID]bool{},
		opened: make([]bool, n), welded: make([]bool, n), seized: make([]bool, n), wanted: make([]bool, n),
		state: state{acting: make([]bool, n), late: make([]bool, n), tripped: make([]bool, n)}}
	e.in.Conducts = make([]bool, n)
	moves := make([]bool, n)
	e.moves = moves
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Drive {
			e.drives = append(e.drives, b.ID)
		}
		if b.Residual > 0 && b.ID == c.Part(b.Part).Branches[0] {
			e.rcds = append(e.rcds, c.Part(b.Part))
		}
		if b.Start != circuit.None && !moves[b.ID] {
			moves[b.ID] = true
			e.coils = append(e.coils, b.ID)
		}
		if trips(b) {
			e.movers = append(e.movers, b.ID)
		}
		if b.Role != circuit.Contact || b.Rule.By == circuit.None {
			continue
		}
		if b.Rule.Timed {
			e.timed[b.Rule.By] = true
		}
		if b.Rule.Actuator == circuit.ByCoil && !moves[b.Rule.By] {
			moves[b.Rule.By] = true
			e.coils = append(e.coils, b.Rule.By)
		}
	}
	e.movers = append(append(e.movers, e.coils...), e.drives...)
	return e
}

// Circuit returns the circuit the engine settles.
func (e *Engine) Circuit() *circuit.Circuit { return e.c }

// Solver returns the engine's solver, for further measurements on an outcome.
func (e *Engine) Solver() *phasor.Solver { return e.solver }

// Input returns what to give the solver to measure on an outcome.
func (e *Engine) Input(o *Outcome) phasor.Input {
	return phasor.Input{Conducts: o.Conducts, Faults: o.Faults, Celsius: e.c.Mode(o.Mode).Celsius}
}

// Run settles the machine in a mode under faults, starting from rest, or from
// where the mode's After left it. It fails only where the network has no
// unique solution ([phasor.ErrSingular]).
func (e *Engine) Run(mode circuit.ModeID, faults []circuit.Fault) (*Outcome, error) {
	for i := range e.opened {
		e.opened[i], e.welded[i], e.seized[i] = false, false, false
		e.state.acting[i], e.state.late[i], e.state.tripped[i] = false, false, false
	}
	e.in.Faults = faults
	for _, f := range faults {
		switch f.Kind {
		case circuit.Open:
			e.opened[f.Branch] = true
		case circuit.Welded:
			e.welded[f.Branch] = true
		case circuit.Seized:
			e.seized[f.Branch] = true
		}
	}
	e.rounds = 0
	var chain []circuit.ModeID
	for m := mode; m != circuit.None; m = e.c.Mode(m).After {
		chain = append(chain, m)
	}
	var out *Outcome
	for i := len(chain) - 1; i >= 0; i-- {
		var err error
		if out, err = e.run(chain[i]); err != nil {
			return nil, err
		}
	}
	out.Mode, out.Faults = mode, faults
	return out, nil
}

// run settles one mode from the engine's present state. All movers act at
// once; should that cycle, they are tried one at a time, since two relays that
// race are not for that reason chattering. Many relays chattering each at a
// period of its own run through more states than anyone would wait for, so
// both attempts are bounded.
func (e *Engine) run(mode circuit.ModeID) (*Outcome, error) {
	m := e.c.Mode(mode)
	e.in.Celsius = m.Celsius
	for i := range e.wanted {
		e.wanted[i] = false
	}
	for _, d := range m.Drives {
		e.wanted[d] = true
	}
	const maxStates = 2000
	seen := map[string]bool{}
	oneAtATime := false
	e.state.turn = 0
	for {
		if err := e.round(mode); err != nil {
			return nil, err
		}
		next := e.next(mode)
		if oneAtATime {
			next = e.single(next)
		}
		key := e.key(next)
		if key == e.key(e.state) {
			late := e.timeOut(mode, next)
			if late == nil {
				return e.outcome(), nil
			}
			next = *late
			key = e.key(next)
		}
		if seen[key] || len(seen) >= maxStates {
			if oneAtATime {
				e.state = next
				return e.chatter(mode, maxStates)
			}
			oneAtATime, seen = true, map[string]bool{}
		}
		seen[key] = true
		e.state = next
	}
}

// round closes contacts by the present state and solves, letting protection
// open until no hard short is left.
func (e *Engine) round(mode circuit.ModeID) error {
	for {
		e.contacts(mode)
		e.rounds++
		sol, err := e.solver.Solve(e.in)
		var short *phasor.ShortError
		if errors.As(err, &short) {
			e.clearShort(short)
			continue
		}
		if err != nil {
			return err
		}
		e.sol = sol
		if e.Observe != nil {
			e.Observe(e.in.Conducts, e.state.acting, sol)
		}
		if !e.overcurrent() {
			return nil
		}
	}
}

// contacts works out which branches conduct.
func (e *Engine) contacts(mode circuit.ModeID) {
	m := e.c.Mode(mode)
	for i := range e.in.Conducts {
		b := e.c.Branch(circuit.BranchID(i))
		on := true
		if b.Role == circuit.Contact {
			on = e.welded[i] || e.closed(b, m)
		}
		e.in.Conducts[i] = on && !e.opened[i] && !e.state.tripped[i]
	}
}

func (e *Engine) closed(b *circuit.Branch, m *circuit.Mode) bool {
	if b.Rule.Actuator == circuit.ByPosition {
		return b.Rule.Closed[m.Position[b.Part]]
	}
	acts := e.state.acting[b.Rule.By]
	if b.Rule.Timed {
		acts = acts && e.state.late[b.Rule.By]
	}
	return acts != b.Rule.NormallyClosed
}

// next is where every mover wants to be given the last solution.
func (e *Engine) next(mode circuit.ModeID) state {
	n := state{
		acting:  append([]bool(nil), e.state.acting...),
		late:    append([]bool(nil), e.state.late...),
		tripped: append([]bool(nil), e.state.tripped...),
		turn:    e.state.turn,
	}
	for _, coil := range e.coils {
		n.acting[coil] = e.pulls(coil)
		if !n.acting[coil] {
			n.late[coil] = false
		}
	}
	e.senseControls(mode)
	for i := range e.drives {
		d := e.drives[i]
		n.acting[d] = e.wanted[d] && !e.opened[d] && e.controlState(d).Ready()
		if !n.acting[d] {
			n.late[d] = false
		}
	}
	return n
}

// pulls reports whether a coil is pulled in, or a motor runs.
func (e *Engine) pulls(coil circuit.BranchID) bool {
	b := e.c.Branch(coil)
	if !e.in.Conducts[coil] || e.seized[coil] {
		return false
	}
	volts := e.sol.LoadVolts(coil)
	if e.state.acting[coil] {
		return volts >= b.Dropout
	}
	if volts < b.Pickup {
		return false
	}
	if b.Start == circuit.None {
		return true
	}
	start := e.c.Branch(b.Start)
	return e.in.Conducts[b.Start] && e.sol.LoadVolts(b.Start) >= start.Pickup
}

// single keeps only one difference between the present state and next: each
// mover has its turn, so that one that chatters does not keep others waiting.
func (e *Engine) single(next state) state {
	n := state{
		acting:  append([]bool(nil), e.state.acting...),
		late:    append([]bool(nil), e.state.late...),
		tripped: next.tripped,
		turn:    e.state.turn,
	}
	for k := range n.acting {
		i := (n.turn + k) % len(n.acting)
		if n.acting[i] != next.acting[i] {
			n.acting[i] = next.acting[i]
			n.late[i] = n.late[i] && n.acting[i]
			n.turn = i + 1
			break
		}
	}
	return n
}

// timeOut lets the delays of timed relays run out, all at once, when all else
// has settled. It returns nil when there is none to run, or no time for it.
func (e *Engine) timeOut(mode circuit.ModeID, s state) *state {
	moved := false
	if e.c.Mode(mode).Brief {
		return nil
	}
	for coil := range e.timed {
		if s.acting[coil] && !s.late[coil] {
			s.late[coil], moved = true, true
		}
	}
	if !moved {
		return nil
	}
	return &s
}

func (e *Engine) outcome() *Outcome {
	o := &Outcome{Conducts: append([]bool(nil), e.in.Conducts...), Acting: append([]bool(nil), e.state.acting...),
		Controls: e.ctl, Solution: e.sol, Rounds: e.rounds}
	for i, t := range e.state.tripped {
		if t {
			o.Tripped = append(o.Tripped, circuit.BranchID(i))
		}
	}
	return o
}

// chatter runs once round the cycle the machine is in and tells which contacts
// move and between what shares of power each load swings.
func (e *Engine) chatter(mode circuit.ModeID, longest int) (*Outcome, error) {
	first := e.key(e.state)
	n := len(e.in.Conducts)
	least, most := make([]float64, n), make([]float64, n)
	ever, always := make([]bool, n), make([]bool, n)
	cycle := 0
	var out *Outcome
	for cycle < longest {
		if err := e.round(mode); err != nil {
			return nil, err
		}
		next := e.next(mode)
		for i := range least {
			share := e.sol.Share(circuit.BranchID(i))
			if cycle == 0 || share < least[i] {
				least[i] = share
			}
			if cycle == 0 || share > most[i] {
				most[i] = share
			}
			ever[i] = ever[i] || e.in.Conducts[i]
			always[i] = (cycle == 0 || always[i]) && e.in.Conducts[i]
		}
		out = e.outcome()
		cycle++
		next = e.single(next)
		if e.key(next) == e.key(e.state) {
			if late := e.timeOut(mode, next); late != nil {
				next = *late
			}
		}
		e.state = next
		if e.key(e.state) == first {
			break
		}
	}
	out.least, out.most = least, most
	out.Chatter = &Chatter{Cycle: cycle}
	for i := range ever {
		if ever[i] != always[i] && e.c.Branch(circuit.BranchID(i)).Role == circuit.Contact {
			out.Chatter.Contacts = append(out.Chatter.Contacts, circuit.BranchID(i))
		}
	}
	return out, nil
}
