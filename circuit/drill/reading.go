package drill

import (
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
)

// read takes a reading on the machine as it stands.
func (s *Session) read(m Move, step *Step) error {
	if m.Mode != circuit.None {
		s.mode = m.Mode
	}
	o, err := s.settled()
	if err != nil {
		return err
	}
	r, err := s.shown(o, m)
	if err != nil {
		return err
	}
	step.Reading, step.Live = &r, s.On()
	if step.Foretold, err = s.foretold(m); err != nil {
		return err
	}
	test := suspect.Test{Probes: meter.Probes{Function: m.Function, P: m.P, Q: m.Q}, Mode: s.mode, Live: s.On()}
	if m.Function == meter.Amps {
		w := s.d.c.Wire(m.Wires[0])
		test.Probes.P, test.Probes.Q = w.From, w.To
		step.Minutes = s.reach(s.nearer(m.Wires[0]))
		step.Said = append([]string{r.String()}, step.Foretold.words()...)
	} else {
		step.Minutes, _ = s.progress.Minutes(s.d.c, test)
		s.progress.Did(s.d.c, test)
		step.Said = append([]string{s.say(r, o)}, step.Foretold.words()...)
	}
	if s.On() == m.Function.Live() && (!s.On() || len(s.lifted) == 0) {
		step.Evidence = []suspect.Evidence{{Reading: &suspect.Observation{Probes: test.Probes, Mode: s.mode, Lift: s.Lifted(),
			Value: r.Value, OL: r.OL, Unsteady: r.Unsteady}}}
	}
	return nil
}

func (s *Session) settled() (*settle.Outcome, error) {
	if s.On() {
		return s.d.bench.Live(s.mode, s.faults())
	}
	return s.d.bench.Dead(s.mode, s.faults())
}

// shown is what the instrument shows: the truth with its own error, the same
// each time it is asked.
func (s *Session) shown(o *settle.Outcome, m Move) (meter.Reading, error) {
	b := s.d.bench
	var r meter.Reading
	var err error
	switch m.Function {
	case meter.Amps:
		r, err = b.Amps(o, s.d.c.Wire(m.Wires[0]).Branch)
	case meter.Ohms, meter.Continuity:
		r = b.Quick(o, m.Function, m.P, m.Q)
		r.Function = m.Function
	default:
		r, err = b.Volts(o, m.Function, m.P, m.Q)
	}
	if err != nil || r.OL || r.Unsteady {
		return r, err
	}
	zeroed := b.Instrument
	zeroed.LeadOhms = 0
	low, high := zeroed.Spread(m.Function, r.Value)
	h := fnv.New64a()
	fmt.Fprintf(h, "%s %s %v %v", s.d.c.Mode(s.mode).Name, m.Write(s.d.c), s.On(), s.Lifted())
	noise := rand.New(rand.NewPCG(s.d.opt.Number, h.Sum64()))
	r.Value = low + (high-low)*noise.Float64()
	r.Low, r.High, r.Why = r.Value, r.Value, nil
	return r, nil
}

// say puts a reading in words.
func (s *Session) say(r meter.Reading, o *settle.Outcome) string {
	text := r.String()
	if r.Function == meter.Continuity {
		if !r.OL && r.Value <= s.d.opt.Instrument.ContinuityOhms {
			text += ", beeps"
		} else {
			text += ", silent"
		}
	}
	if s.On() && len(o.Tripped) > 0 {
		text += " (" + s.d.trippedWord(o.Tripped) + ")"
	}
	return text
}

// nearer is the end of a wire that takes less to reach.
func (s *Session) nearer(id circuit.WireID) circuit.TerminalID {
	w := s.d.c.Wire(id)
	effort := func(t circuit.TerminalID) float64 {
		if s.progress.Opened[s.d.c.PlaceOf(t)] {
			return suspect.AgainMinutes
		}
		return s.d.c.AccessMinutes(t)
	}
	if effort(w.To) < effort(w.From) {
		return w.To
	}
	return w.From
}

// testDead reads between all supply conductors where they come in.
func (s *Session) testDead(step *Step) error {
	step.Minutes = DeadMinutes
	s.dead = true
	o, err := s.d.bench.Dead(s.mode, s.faults())
	if err != nil {
		return err
	}
	at := s.d.inlet()
	var said []string
	for i, p := range at {
		for _, q := range at[:i] {
			r, err := s.d.bench.Volts(o, meter.Volts, q, p)
			if err != nil {
				return err
			}
			said = append(said, fmt.Sprintf("%s to %s %.0f V", s.d.c.PlaceLabel(q), s.d.c.PlaceLabel(p), r.Value))
		}
	}
	step.Said = []string{strings.Join(said, ", ") + ": dead. The meter is proved again."}
	return nil
}

// inlet lists where the supply's conductors are reached: for each the listed
// point nearest the supply, else the supply's own end.
func (d *Drill) inlet() []circuit.TerminalID {
	var out []circuit.TerminalID
	add := func(t circuit.TerminalID) {
		if !slices.Contains(out, t) {
			out = append(out, t)
		}
	}
	for _, leg := range d.c.Supply().Legs {
		add(d.nearest(leg))
	}
	add(d.reference())
	add(d.c.ChassisTerminal())
	return out
}

// reference is where voltages are read to: neutral, or the metal of a machine
// that neutral is not brought to.
func (d *Drill) reference() circuit.TerminalID {
	t := d.bench.Reference()
	if len(d.c.Terminal(t).Wires) == 0 {
		return d.c.ChassisTerminal()
	}
	return t
}

// nearest finds the listed point that a leg reaches first.
func (d *Drill) nearest(leg circuit.BranchID) circuit.TerminalID {
	for i := range d.c.Modes() {
		live, err := d.bench.LiveParts(circuit.ModeID(i), nil)
		if err != nil {
			continue
		}
		for _, n := range live.Nodes {
			if n.Way.Source != leg || len(n.Way.Through) > 0 {
				continue
			}
			for _, t := range n.Terminals {
				if d.c.PointAt(t) != nil {
					return t
				}
			}
		}
	}
	return d.c.Branch(leg).B
}
