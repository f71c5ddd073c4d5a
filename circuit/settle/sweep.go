package settle

import (
	"errors"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// Sweep settles one mode under a great many sets of faults, as a dictionary of
// faults needs, with the result of [Engine.Run] at a fraction of its cost. The
// sound machine is settled once and every round of that is kept, solved in
// full; a round under faults is then an update of the same round of the sound
// machine ([phasor.Base.Apply]). What it cannot be sure of that way it hands
// to the engine: contacts that chatter, a dead short of a supply without
// resistance, a figure so near its limit that rounding would decide.
//
// It must not be used by two goroutines at once, nor while its engine runs.
type Sweep struct {
	Stats SweepStats

	e      *Engine
	c      *circuit.Circuit
	net    *phasor.Network
	mode   circuit.ModeID
	stages []*stage
	guard  *guard
	// moved lists the contacts that a coil or drive moves.
	moved map[circuit.BranchID][]circuit.BranchID
	// loop numbers, by terminal, what could ever conduct to what.
	loop []int32

	faults  []circuit.Fault
	state   state
	next    state
	at      *round
	changed []circuit.BranchID
	update  *phasor.Update
}

// SweepStats counts what a sweep was asked.
type SweepStats struct {
	// Runs is all calls of [Sweep.Run]; FellBack tells how many of them went
	// to the engine, and why.
	Runs, Rounds int
	FellBack     map[Reason]int
}

// Reason says why a run went to the engine.
type Reason string

const (
	ReasonSound    Reason = "the sound machine does not settle"
	ReasonMoves    Reason = "contacts keep moving"
	ReasonShort    Reason = "supply conductors are tied together"
	ReasonCurrent  Reason = "a current through protection is not determined by an update"
	ReasonNear     Reason = "a figure is too near its limit"
	ReasonUnsolved Reason = "the network has no unique solution"
)

// stage is a mode on the way to the one swept: those it comes after, and it.
type stage struct {
	mode   circuit.ModeID
	wanted []bool // drives
	rounds []*round
	senses []stageSense
	// controls are those with a drive the mode calls for.
	controls []int
}

// stageSense is something a control must see in a stage.
type stageSense struct {
	control int
	circuit.Sense
}

// round is one state of the sound machine while it settles, solved.
type round struct {
	stage    *stage
	acting   []bool
	late     []bool
	conducts []bool
	live     *phasor.Base
	dead     *phasor.Base // nil where no sense is demanded
	sees     []bool       // by the stage's senses
	in       phasor.Input // conducts, under the faults at hand
}

// SweepOutcome is a machine settled by a [Sweep]. It reads the sweep's memory:
// the next [Sweep.Run] overwrites it.
type SweepOutcome struct {
	// Tripped lists protection that opened, in the order of branches.
	Tripped []circuit.BranchID
	// FellBack tells that the engine settled the machine, and Reason why; it
	// is empty otherwise.
	FellBack bool
	Reason   Reason

	s      *Sweep
	faults []circuit.Fault
	full   *Outcome
}

// NewSweep settles the sound machine in the mode and keeps its rounds.
func NewSweep(e *Engine, mode circuit.ModeID) (*Sweep, error) {
	return NewSweepOn(e, phasor.NewNetwork(e.c), mode)
}

// NewSweepOn is [NewSweep] with a network that sweeps of other modes of the
// same circuit share.
func NewSweepOn(e *Engine, net *phasor.Network, mode circuit.ModeID) (*Sweep, error) {
	n := len(e.c.Branches())
	s := &Sweep{e: e, c: e.c, net: net, mode: mode, guard: newGuard(e.c), moved: map[circuit.BranchID][]circuit.BranchID{},
		state: newState(n), next: newState(n), loop: loops(e.c)}
	s.Stats.FellBack = map[Reason]int{}
	for i := range s.c.Branches() {
		b := s.c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Contact && b.Rule.Actuator != circuit.ByPosition {
			s.moved[b.Rule.By] = append(s.moved[b.Rule.By], b.ID)
		}
	}
	for m := mode; m != circuit.None; m = s.c.Mode(m).After {
		s.stages = append([]*stage{s.newStage(m)}, s.stages...)
	}
	err := s.settleSound()
	var why fallBack
	if errors.As(err, &why) {
		s.stages = nil
		return s, nil
	}
	return s, err
}

func newState(n int) state {
	return state{acting: make([]bool, n), late: make([]bool, n), tripped: make([]bool, n)}
}

func (s *Sweep) newStage(mode circuit.ModeID) *stage {
	g := &stage{mode: mode, wanted: make([]bool, len(s.c.Branches()))}
	for _, d := range s.c.Mode(mode).Drives {
		g.wanted[d] = true
	}
	for i := range s.c.Controls() {
		ctl := &s.c.Controls()[i]
		drives := false
		for _, d := range s.c.Mode(mode).Drives {
			drives = drives || s.c.ControlOf(d) == ctl
		}
		if !drives {
			continue
		}
		g.controls = append(g.controls, i)
		for _, sense := range ctl.Senses {
			if sense.Modes == nil || sense.Modes[mode] {
				g.senses = append(g.senses, stageSense{i, sense})
			}
		}
	}
	return g
}

// Run settles the machine under the faults. Its outcome holds until the next.
func (s *Sweep) Run(faults []circuit.Fault) (*SweepOutcome, error) {
	s.Stats.Runs++
	o := &SweepOutcome{s: s, faults: faults}
	err := s.settle(faults)
	if err == nil {
		for _, id := range s.guard.movers {
			if s.state.tripped[id] {
				o.Tripped = append(o.Tripped, id)
			}
		}
		return o, nil
	}
	var why fallBack
	if !errors.As(err, &why) {
		return nil, err
	}
	s.Stats.FellBack[why.reason]++
	o.FellBack, o.Reason = true, why.reason
	if o.full, err = s.e.Run(s.mode, faults); err != nil {
		return nil, err
	}
	o.Tripped = o.full.Tripped
	return o, nil
}

// fallBack is the error that sends a run to the engine.
type fallBack struct{ reason Reason }

func (f fallBack) Error() string { return string(f.reason) }

// Full settles the machine by the engine, for what only an [Outcome] has.
func (o *SweepOutcome) Full() (*Outcome, error) {
	if o.full != nil {
		return o.full, nil
	}
	return o.s.e.Run(o.s.mode, o.faults)
}

// Chatter is nil when the machine settles.
func (o *SweepOutcome) Chatter() *Chatter {
	if o.full != nil {
		return o.full.Chatter
	}
	return nil
}

// Acting reports whether a coil or drive is pulled in or a motor runs.
func (o *SweepOutcome) Acting(id circuit.BranchID) bool {
	if o.full != nil {
		return o.full.Acting[id]
	}
	return o.s.state.acting[id]
}

// Conducts reports whether a branch is intact and closed.
func (o *SweepOutcome) Conducts(id circuit.BranchID) bool {
	if o.full != nil {
		return o.full.Conducts[id]
	}
	return o.s.at.in.Conducts[id]
}

// Differs lists the branches that conduct otherwise than in the sound machine
// settled in the mode. It looks at every branch.
func (o *SweepOutcome) Differs() []circuit.BranchID {
	if len(o.s.stages) == 0 {
		return nil
	}
	last := o.s.stages[len(o.s.stages)-1]
	sound := last.rounds[len(last.rounds)-1].conducts
	var out []circuit.BranchID
	for i := range sound {
		if id := circuit.BranchID(i); o.Conducts(id) != sound[i] {
			out = append(out, id)
		}
	}
	return out
}

// Volts is [phasor.Update.Volts].
func (o *SweepOutcome) Volts(t circuit.TerminalID) complex128 {
	if o.full != nil {
		return o.full.Solution.Volts[t]
	}
	return o.s.update.Volts(t)
}

// Floating reports whether a terminal is tied to no supply conductor.
func (o *SweepOutcome) Floating(t circuit.TerminalID) bool {
	if o.full != nil {
		return o.full.Solution.Floating[t]
	}
	return o.s.update.Floating(t)
}

// Between is [phasor.Solution.Between].
func (o *SweepOutcome) Between(a, b circuit.TerminalID) (complex128, bool) {
	if o.full != nil {
		return o.full.Solution.Between(a, b)
	}
	return o.s.update.Between(a, b)
}

// LeastShare is [Outcome.LeastShare].
func (o *SweepOutcome) LeastShare(load circuit.BranchID) float64 {
	if o.full != nil {
		return o.full.LeastShare(load)
	}
	return o.s.update.Share(load)
}

// MostShare is [Outcome.MostShare].
func (o *SweepOutcome) MostShare(load circuit.BranchID) float64 {
	if o.full != nil {
		return o.full.MostShare(load)
	}
	return o.s.update.Share(load)
}

// Update is the last round, for readings that the outcome does not give; nil
// where the run fell back.
func (o *SweepOutcome) Update() *phasor.Update {
	if o.full != nil {
		return nil
	}
	return o.s.update
}

// loops numbers terminals by what any branch, closed or not, could ever join
// them to: what happens in one of them is no matter to an ohmmeter in another.
func loops(c *circuit.Circuit) []int32 {
	groups := circuit.NewGroups(len(c.Terminals()))
	for i := range c.Branches() {
		if b := c.Branch(circuit.BranchID(i)); b.Role != circuit.Source && b.Role != circuit.Drive {
			groups.Join(int32(b.A), int32(b.B))
		}
	}
	out := make([]int32, len(groups))
	for i := range out {
		out[i] = groups.Of(int32(i))
	}
	return out
}
