// Package heat works out how warm a machine gets: how long it takes to come to
// temperature, what share of the time it heats, which limit opens when a fan
// stops.
//
// [New] takes a circuit that has bodies ([circuit.Body]) and [Model.Run] follows
// one [Question] through time. The model is lumped: each body has one
// temperature and a capacity C, takes the watts that its loads get in the
// settled network, and loses
//
//	C dT/dt = P - G (T - T around) - F (T - room)
//
// where G is its loss and F what its fan's air carries away while that turns,
// to another body or out. Contacts that heat works follow their bodies'
// temperatures instead of what the mode sets; a control holds its sensors at the
// mode's temperatures by the ohms that it sees. Whenever one of them moves the
// network is settled anew.
//
// What it leaves out: temperature within a body, moisture that boils off,
// radiation that grows with the fourth power (a coil's loss is taken as linear,
// right at its working heat only).
package heat

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// ErrNoBodies is returned for a machine whose netlist tells of nothing that
// gets warm.
var ErrNoBodies = errors.New("the netlist has no [bodies]: nothing is known of what gets warm")

// Question is what is followed through time.
type Question struct {
	Mode   circuit.ModeID
	Faults []circuit.Fault
	// Room is the temperature around, in Celsius; every body that Start does
	// not name begins at it. Start is by body.
	Room  float64
	Start map[circuit.BodyID]float64
	// Dial is the temperature asked for, in Celsius, in place of the mode's and
	// of those that thermostats act at; 0 leaves them. It goes
	// from -40 to 1500.
	Dial float64
	// Air is the share of a fan's air that still passes: 0.3 for a duct choked
	// with lint. A fan not named has all of it.
	Air map[circuit.BranchID]float64
	// Minutes is how long to follow, at most MaxMinutes, and Step the longest step
	// in seconds, 0 for one; it is not negative.
	Minutes, Step float64
}

// MaxMinutes is the longest time followed: two days.
const MaxMinutes = 2880

// Event is a contact that heat works, or a control, moving.
type Event struct {
	Minutes float64
	Part    circuit.PartID
	// Acts is true where the part leaves its rest, or the control lets off.
	Acts bool
	// Celsius is the temperature of its body.
	Celsius float64
}

// Course is what became of a body.
type Course struct {
	// Target is the temperature at which heat is first let off, NaN where
	// nothing of that is known; Reached is when the body first had it, in
	// minutes, NaN where it did not.
	Target, Reached float64
	// End is the temperature at the end, Mean that of the last part of the
	// run, Low and High the span there: a swing about Mean where it cycles.
	End, Mean, Low, High float64
	// Peak is the highest of all.
	Peak float64
	// Celsius is by minute, from the start.
	Celsius []float64
}

// Run is a question followed through time.
type Run struct {
	Question
	Bodies []Course // by body
	Events []Event
	// On is, by load, its mean share of rated watts over the last part of the
	// run; Joules is what it took in all of it.
	On, Joules map[circuit.BranchID]float64
	// Steady tells that every body swings about one temperature at the end.
	Steady bool
	// Tripped lists protection that opened.
	Tripped []circuit.BranchID
}

// lastPart is the share of a run that On, Mean, Low and High are taken over.
const lastPart = 0.25

// stepSeconds is the longest step unless asked otherwise. Within one each body moves exactly, by an
// exponential, while the others stand.
const stepSeconds = 1.0

// mostEvents ends a run whose contacts move more often than anyone would wait.
const mostEvents = 5000

// Model follows one circuit. It must not be used by two goroutines at once.
type Model struct {
	c      *circuit.Circuit
	worked []*circuit.Part // by heat
	lets   []string        // their positions of letting heat off, see letsOff
	// heaters are each body's loads in one order: a sum of floats depends on it.
	heaters [][]circuit.BranchID
	states  map[string]*state
	// engines are by what the machine stands at, whatever is wrong with it.
	engines map[string]*settle.Engine
	solver  *phasor.Solver
}

// state is the network settled for one set of positions.
type state struct {
	watts   map[circuit.BranchID]float64
	warms   map[circuit.BranchID]float64 // watts that turn to heat in bodies
	turns   map[circuit.BranchID]bool
	powered []bool // by control
	tripped []circuit.BranchID
	in      phasor.Input
}

// New makes a model of the circuit.
func New(c *circuit.Circuit) (*Model, error) {
	if len(c.Bodies()) == 0 {
		return nil, ErrNoBodies
	}
	m := &Model{c: c, states: map[string]*state{}, engines: map[string]*settle.Engine{}, solver: phasor.New(c)}
	for i := range c.Parts() {
		if p := c.Part(circuit.PartID(i)); p.Body != circuit.None && len(p.Positions) > 0 {
			m.worked = append(m.worked, p)
			m.lets = append(m.lets, m.letsOff(p))
		}
	}
	for _, b := range c.Bodies() {
		m.heaters = append(m.heaters, slices.Sorted(maps.Keys(b.Heats)))
	}
	return m, nil
}

// letsOff names the position in which a part of more than two lets heat off: what a
// mode that it ends cycles with has it at. Empty if there is none.
func (m *Model) letsOff(p *circuit.Part) (position string) {
	if len(p.Positions) <= 2 {
		return ""
	}
	for i := range m.c.Modes() {
		if mode := circuit.ModeID(i); m.ends(p, mode) {
			position = p.Positions[m.c.Mode(m.c.Mode(mode).Cycles).Position[p.ID]]
		}
	}
	return position
}

// ends tells whether a mode passes into what it cycles with as a part moves.
func (m *Model) ends(p *circuit.Part, mode circuit.ModeID) bool {
	next := m.c.Mode(mode).Cycles
	return next != circuit.None && m.c.Mode(next).Position[p.ID] != m.c.Mode(mode).Position[p.ID]
}

// Circuit returns the circuit that the model follows.
func (m *Model) Circuit() *circuit.Circuit { return m.c }

// Run follows a question through time.
func (m *Model) Run(q Question) (*Run, error) {
	if !(q.Minutes > 0 && q.Minutes <= MaxMinutes) {
		return nil, fmt.Errorf("%g minutes: give more than 0, at most %d", q.Minutes, MaxMinutes)
	}
	if !(q.Room >= -40 && q.Room <= 60) {
		return nil, fmt.Errorf("a room at %g C: give -40 to 60", q.Room)
	}
	if !(q.Step >= 0 && q.Step <= 60*MaxMinutes) {
		return nil, fmt.Errorf("a step of %g seconds: give more than 0, or 0 for the usual one", q.Step)
	}
	if !(q.Dial >= -40 && q.Dial <= 1500) {
		return nil, fmt.Errorf("a dial at %g C: give -40 to 1500, 0 for where the mode has it", q.Dial)
	}
	clear(m.states) // they hold for one set of faults
	w := &walk{m: m, q: q, acted: make([]bool, len(m.worked)), temps: make([]float64, len(m.c.Bodies())),
		run: &Run{Question: q, Bodies: make([]Course, len(m.c.Bodies())), On: map[circuit.BranchID]float64{}, Joules: map[circuit.BranchID]float64{}}}
	if err := w.begin(); err != nil {
		return nil, err
	}
	step := cmp.Or(q.Step, stepSeconds)
	for w.seconds < 60*q.Minutes {
		if err := w.step(min(step, 60*q.Minutes-w.seconds)); err != nil {
			return nil, err
		}
		if len(w.run.Events) > mostEvents {
			return nil, fmt.Errorf("contacts moved %d times in %.0f minutes: their bodies' capacities cannot be right", mostEvents, w.seconds/60)
		}
	}
	w.end()
	return w.run, nil
}

// humHeat is how much more heat a motor's winding takes while it hums than when
// it runs: heat goes with the square of the current.
const humHeat = settle.Locked * settle.Locked

// nowhere is what a figure is that there is none of.
var nowhere = math.NaN()

// settled returns the network for the positions of the parts that heat works
// and of what cycles, and the mode.
func (m *Model) settled(mode circuit.ModeID, q *Question, acted []bool, idle map[circuit.PartID]bool, dropped bool) (*state, error) {
	key := fmt.Sprint(mode, acted, idle, dropped)
	if s := m.states[key]; s != nil {
		return s, nil
	}
	e := m.engines[key]
	if e == nil {
		c, err := m.standing(mode, acted, idle, dropped)
		if err != nil {
			return nil, err
		}
		e = settle.New(c)
		m.engines[key] = e
	}
	c := e.Circuit()
	out, err := e.Run(circuit.ModeID(len(c.Modes())-1), q.Faults)
	if err != nil {
		return nil, err
	}
	s := &state{watts: map[circuit.BranchID]float64{}, warms: map[circuit.BranchID]float64{}, turns: map[circuit.BranchID]bool{}, tripped: out.Tripped, in: e.Input(out)}
	for _, load := range c.Loads() {
		s.watts[load] = out.LeastShare(load) * c.Branch(load).Watts
		s.turns[load] = e.Motion(out, load) == settle.Turns
		s.warms[load] = s.watts[load]
		if e.Motion(out, load) == settle.Hums {
			s.warms[load] *= humHeat
		}
	}
	for _, ctl := range out.Controls {
		s.powered = append(s.powered, ctl.Powered)
	}
	m.states[key] = s
	return s, nil
}

// warmMode names the mode that a state is settled in. No netlist can name one
// so, since Build would refuse two of a name.
const warmMode = "warm-state"

// standing is the machine with one more mode, the last, in which what heat works
// and what cycles stand so.
func (m *Model) standing(mode circuit.ModeID, acted []bool, idle map[circuit.PartID]bool, dropped bool) (*circuit.Circuit, error) {
	spec := m.c.Spec()
	at := spec.Modes[mode]
	set := map[string]string{}
	for name, position := range at.Set {
		set[name] = position
	}
	for i, p := range m.worked {
		if len(p.Positions) > 2 { // it is part of what the mode is
			if acted[i] && m.lets[i] != "" {
				set[p.Name] = m.lets[i]
			}
			continue
		}
		position := p.Positions[p.Rest]
		if acted[i] {
			position = p.Positions[1-p.Rest]
		}
		set[p.Name] = position
	}
	for part := range m.c.Mode(mode).Duty {
		set[m.c.Part(part).Name] = "on"
		if idle[part] {
			set[m.c.Part(part).Name] = "idle"
		}
	}
	at.Name, at.Set, at.On, at.Off, at.Share = warmMode, set, nil, nil, nil
	if dropped {
		at.Drives = nil
	}
	c, problems := circuit.Build(spec.WithMode(at, spec.Modes[mode].Name))
	if c == nil {
		return nil, fmt.Errorf("cannot warm in mode %q: %s", m.c.Mode(mode).Name, problems[0])
	}
	return c, nil
}
