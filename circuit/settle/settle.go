// Package settle finds where every contact of a machine ends up: which coils
// pull in, what the control drives, what trips, in a mode and under given
// faults.
//
// [New] makes an [Engine] for a circuit and [Engine.Run] settles one case. The
// [Outcome] carries the settled contacts and the solution of the network they
// make. Contacts depend on coils, coils on voltages, voltages on contacts; Run
// starts from rest and repeats until nothing moves. Where that never happens
// the outcome tells which contacts chatter and between what every voltage and
// current jumps ([Chatter]).
//
// [NewSweep] makes a [Sweep], which settles one mode under a great many sets
// of faults. Both run the same loop, on different solvers.
package settle

import (
	"encoding/binary"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// Engine settles one circuit again and again. It must not be used by two
// goroutines at once.
type Engine struct {
	c      *circuit.Circuit
	solver *phasor.Solver
	loop   *loop

	// Observe, when set, is called after every solve of a run.
	Observe func(conducts, acting []bool, sol *phasor.Solution)

	in     phasor.Input
	sol    *phasor.Solution
	rounds int
	turn   int // the branch first in turn, where one moves at a time
	// solved has the states of the mode that is being settled, by what conducts: a
	// machine that chatters comes by the same few again and again.
	solved map[string]*solved
	at     *solved // where it is; nil where no more are kept
	bits   []byte
	most   int // states that are kept of a run
}

// solved is a state, solved, with what was measured in it.
type solved struct {
	sol    *phasor.Solution
	senses map[*circuit.Sense]reading
}

// mostSolved bounds how many states of a run are kept.
const mostSolved = 32

// New makes an engine for the circuit.
func New(c *circuit.Circuit) *Engine {
	e := &Engine{c: c, solver: phasor.New(c), loop: newLoop(c), most: mostSolved}
	e.loop.net = e
	e.in.Conducts, e.solved = make([]bool, len(c.Branches())), map[string]*solved{}
	return e
}

// Circuit returns the circuit the engine settles.
func (e *Engine) Circuit() *circuit.Circuit { return e.c }

// Input returns what to give the solver to measure on an outcome.
func (e *Engine) Input(o *Outcome) phasor.Input {
	return phasor.Input{Conducts: o.Conducts, Faults: o.Faults, Celsius: e.c.Mode(o.Mode).Celsius}
}

// Run settles the machine in a mode under faults, starting from rest, or from
// where the mode's After left it. It fails only where the network has no
// unique solution ([phasor.ErrSingular]).
func (e *Engine) Run(mode circuit.ModeID, faults []circuit.Fault) (*Outcome, error) {
	if c, others := e.c.Rewired(faults); c != e.c {
		return New(c).Run(mode, others)
	}
	e.loop.rest(faults)
	e.in.Faults = faults
	e.rounds = 0
	var chain []circuit.ModeID
	for m := mode; m != circuit.None; m = e.c.Mode(m).After {
		chain = append(chain, m)
	}
	var out *Outcome
	for i := len(chain) - 1; i >= 0; i-- {
		var earlier *Chatter
		if out != nil {
			if earlier = out.Earlier; out.Chatter != nil {
				earlier = out.Chatter
			}
		}
		var err error
		if out, err = e.run(chain[i]); err != nil {
			return nil, err
		}
		out.Earlier = earlier
	}
	out.Mode, out.Faults = mode, faults
	return out, nil
}

// maxStates bounds how many states a mode is followed through.
const maxStates = 2000

// run settles one mode from the present state. Everything acts at once; should
// that cycle, one thing moves at a time, since two relays that race are not
// for that reason chattering. Many relays chattering each at a period of its
// own run through more states than anyone would wait for, so both attempts are
// bounded.
func (e *Engine) run(mode circuit.ModeID) (*Outcome, error) {
	e.loop.enter(mode)
	e.in.Celsius = e.loop.mode.Celsius
	clear(e.solved)
	seen := map[string]bool{}
	oneAtATime := false
	e.turn = 0
	for {
		moved, err := e.step(oneAtATime)
		if err != nil {
			return nil, err
		}
		if !moved {
			return e.outcome(), nil
		}
		key := e.key(&e.loop.next)
		if seen[key] || len(seen) >= maxStates {
			if oneAtATime {
				e.loop.advance()
				return e.chatter(mode)
			}
			oneAtATime, seen = true, map[string]bool{}
		}
		seen[key] = true
		e.loop.advance()
	}
}

// step solves the present state and finds the next, and tells whether they
// differ.
func (e *Engine) step(oneAtATime bool) (moved bool, err error) {
	if err := e.loop.round(0); err != nil {
		return false, err
	}
	settled, err := e.loop.step()
	if err != nil {
		return false, err
	}
	if oneAtATime {
		settled = e.single()
	}
	return !settled || e.loop.timeOut(), nil
}

// single keeps only one difference between the present state and next: each
// coil and drive has its turn, so that one that chatters does not keep others
// waiting. It tells whether there is no difference.
func (e *Engine) single() bool {
	now, next := &e.loop.state, &e.loop.next
	first := circuit.BranchID(circuit.None)
	n := len(now.acting)
	away := func(id circuit.BranchID) int { return (int(id) - e.turn + n) % n }
	for _, movers := range [2][]circuit.BranchID{e.loop.coils, e.loop.drives} {
		for _, id := range movers {
			if now.acting[id] != next.acting[id] && (first == circuit.None || away(id) < away(first)) {
				first = id
			}
		}
	}
	for _, movers := range [2][]circuit.BranchID{e.loop.coils, e.loop.drives} {
		for _, id := range movers {
			if id != first {
				next.acting[id], next.late[id] = now.acting[id], now.late[id]
			}
		}
	}
	if first != circuit.None {
		e.turn = int(first) + 1
	}
	return first == circuit.None
}

// key tells states apart: what acts and what tripped, and whose turn it is.
func (e *Engine) key(s *state) string {
	b := binary.AppendUvarint(nil, uint64(e.turn))
	for _, ids := range [3][]circuit.BranchID{e.loop.coils, e.loop.drives, e.loop.protection} {
		for _, i := range ids {
			bits := byte(0)
			if s.acting[i] {
				bits |= 1
			}
			if s.late[i] {
				bits |= 2
			}
			if e.loop.state.tripped[i] {
				bits |= 4
			}
			b = append(b, bits)
		}
	}
	return string(b)
}

// solve is [network]'s, in full whatever the round.
func (e *Engine) solve(int) error {
	e.bits = e.bits[:0]
	for i := range e.in.Conducts {
		e.in.Conducts[i] = e.loop.closed(e.c.Branch(circuit.BranchID(i)))
		if i%8 == 0 {
			e.bits = append(e.bits, 0)
		}
		if e.in.Conducts[i] {
			e.bits[i/8] |= 1 << (i % 8)
		}
	}
	e.rounds++
	if e.at = e.solved[string(e.bits)]; e.at != nil {
		e.sol = e.at.sol
	} else {
		sol, err := e.solver.Solve(e.in)
		if err != nil {
			return err
		}
		if e.sol = sol; len(e.solved) < e.most {
			e.at = &solved{sol: sol}
			e.solved[string(e.bits)] = e.at
		}
	}
	if e.Observe != nil {
		e.Observe(e.in.Conducts, e.loop.state.acting, e.sol)
	}
	return nil
}

func (e *Engine) conducts(id circuit.BranchID) bool       { return e.in.Conducts[id] }
func (e *Engine) loadVolts(load circuit.BranchID) float64 { return e.sol.LoadVolts(load) }

func (e *Engine) amps(d *device) (float64, error) {
	var sum complex128
	for _, id := range d.joints {
		if e.in.Conducts[id] {
			sum += e.sol.Amps[id]
		}
	}
	return cmplx.Abs(sum), nil
}

func (e *Engine) ohms(s *circuit.Sense) (ohms float64, connected bool, err error) {
	if e.at != nil {
		if have, ok := e.at.senses[s]; ok {
			return have.ohms, have.connected, nil
		}
	}
	ohms, connected = e.solver.Resistance(e.in, s.Pin1, s.Pin2)
	if e.at != nil {
		if e.at.senses == nil {
			e.at.senses = map[*circuit.Sense]reading{}
		}
		e.at.senses[s] = reading{ohms, connected}
	}
	return ohms, connected, nil
}

func (e *Engine) outcome() *Outcome {
	controls, _ := e.loop.controls() // a full solve measures whatever there is
	return &Outcome{e: e, Conducts: slices.Clone(e.in.Conducts), Acting: slices.Clone(e.loop.state.acting),
		Controls: controls, Tripped: e.loop.tripped(), AnyState: e.sol, Rounds: e.rounds}
}
