package settle

import (
	"errors"
	"slices"

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
	loop   *loop
	mode   circuit.ModeID
	stages []*stage
	// reach numbers, by terminal, what could ever conduct to what.
	reach []int32
	// sides are what lies on either side of an ideal join that opens on a
	// current; made when asked for.
	sides  map[*device][2]*side
	clamps map[circuit.BranchID]*device // see [SweepOutcome.Amps]
	flow   *phasor.Flow                 // nil until asked for

	stage     *stage
	recording bool // the sound machine's rounds are being made
	at        *round
	changed   []circuit.BranchID
	update    *phasor.Update
	last      *SweepOutcome // of the last run, while the sweep's memory is still its
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
	ReasonRewired  Reason = "a wire lies elsewhere"
)

// stage is a mode on the way to the one swept: those it comes after, and it.
type stage struct {
	mode   circuit.ModeID
	rounds []*round
}

// round is one state of the sound machine while it settles, solved.
type round struct {
	acting   []bool
	late     []bool
	conducts []bool
	live     *phasor.Base
	dead     *phasor.Base // nil until a sense is measured
	senses   map[*circuit.Sense]reading
	in       phasor.Input // conducts, under the faults at hand
	row      *soundRow    // nil until asked for
	watches  []watch      // nil until asked for
}

// reading is what a control's pins measure.
type reading struct {
	ohms      float64
	connected bool
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
	s := &Sweep{e: e, c: e.c, net: net, loop: newLoop(e.c), mode: mode, reach: reach(e.c), sides: map[*device][2]*side{}, clamps: map[circuit.BranchID]*device{}}
	s.loop.net, s.loop.margin = s, tooNear
	s.Stats.FellBack = map[Reason]int{}
	for m := mode; m != circuit.None; m = s.c.Mode(m).After {
		s.stages = append([]*stage{{mode: m}}, s.stages...)
	}
	s.recording = true
	err := s.settle(nil)
	s.recording = false
	var why fallBack
	if errors.As(err, &why) {
		s.stages = nil
		return s, nil
	}
	return s, err
}

// Run settles the machine under the faults. Its outcome holds until the next.
func (s *Sweep) Run(faults []circuit.Fault) (*SweepOutcome, error) {
	s.Stats.Runs++
	if o := s.last; o != nil && slices.Equal(o.faults, faults) {
		if o.FellBack {
			s.Stats.FellBack[o.Reason]++
		}
		return o, nil
	}
	o := &SweepOutcome{s: s, faults: slices.Clone(faults)}
	err := s.settle(faults)
	if err == nil {
		o.Tripped, s.last = s.loop.tripped(), o
		return o, nil
	}
	var why fallBack
	if !errors.As(err, &why) {
		return nil, err
	}
	s.Stats.FellBack[why.reason]++
	o.FellBack, o.Reason = true, why.reason
	if o.full, err = s.e.Run(s.mode, o.faults); err != nil {
		return nil, err
	}
	o.Tripped, s.last = o.full.Tripped, o
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

// Chatter is nil when the machine settles; then alone what the outcome reads is
// steady.
func (o *SweepOutcome) Chatter() *Chatter {
	if o.full != nil {
		return o.full.Chatter
	}
	return nil
}

// Earlier is [Outcome.Earlier].
func (o *SweepOutcome) Earlier() *Chatter {
	if o.full != nil {
		return o.full.Earlier
	}
	return nil
}

// Acting reports whether a coil or drive is pulled in or a motor runs.
func (o *SweepOutcome) Acting(id circuit.BranchID) bool {
	if o.full != nil {
		return o.full.Acting[id]
	}
	return o.s.loop.state.acting[id]
}

// Controls is that of [Outcome].
func (o *SweepOutcome) Controls() ([]ControlState, error) {
	if o.full == nil {
		states, err := o.s.loop.controls()
		if why := (fallBack{}); !errors.As(err, &why) {
			return states, err
		}
	}
	full, err := o.Full()
	if err != nil {
		return nil, err
	}
	return full.Controls, nil
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
	sound := o.s.sound().conducts
	var out []circuit.BranchID
	for i := range sound {
		if id := circuit.BranchID(i); o.Conducts(id) != sound[i] {
			out = append(out, id)
		}
	}
	return out
}

// sound is the round that the sound machine settles in.
func (s *Sweep) sound() *round {
	last := s.stages[len(s.stages)-1]
	return last.rounds[len(last.rounds)-1]
}

// Volts is [phasor.Update.Volts].
func (o *SweepOutcome) Volts(t circuit.TerminalID) complex128 {
	if o.full != nil {
		return o.full.AnyState.Volts[t]
	}
	return o.s.update.Volts(t)
}

// Floating reports whether a terminal is tied to no supply conductor.
func (o *SweepOutcome) Floating(t circuit.TerminalID) bool {
	if o.full != nil {
		return o.full.AnyState.Floating[t]
	}
	return o.s.update.Floating(t)
}

// Same tells that a terminal stands as in the sound machine, to any other of
// which it tells so. False says nothing.
func (o *SweepOutcome) Same(t circuit.TerminalID) bool {
	return o.full == nil && o.s.at == o.s.sound() && o.s.update.Untouched(t)
}

// Between is [phasor.Solution.Between].
func (o *SweepOutcome) Between(a, b circuit.TerminalID) (complex128, bool) {
	if o.full != nil {
		return o.full.AnyState.Between(a, b)
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

// reach numbers terminals by what any branch, closed or not, could ever join
// them to: what happens in one of them is no matter to an ohmmeter in another.
func reach(c *circuit.Circuit) []int32 {
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
