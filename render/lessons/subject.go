package lessons

import (
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// errNothingOn is returned for a machine that no mode switches anything on in.
var errNothingOn = errors.New("nothing is on in any mode")

// subject is a machine with what a lesson asks of it.
type subject struct {
	c      *circuit.Circuit
	bench  *meter.Bench
	tracer *trace.Tracer
	// busy is the mode in which the largest load, load, is at full power, or as
	// near as any comes; idle the first mode in which it is not, the first of
	// all where there is none.
	busy, idle circuit.ModeID
	rests      bool // there is such a mode
	load       circuit.BranchID
	sound      *settle.Outcome // in busy
	names      []name          // once a sentence was shown
	// err is the first that came up while a lesson was worked out.
	err error
}

func newSubject(c *circuit.Circuit) (*subject, error) {
	s := &subject{c: c, bench: meter.New(c, meter.DefaultInstrument()), tracer: trace.New(c), load: circuit.None}
	s.bench.Tolerances = false
	most := 0.0
	var outs []*settle.Outcome
	for i := range c.Modes() {
		o, err := s.bench.Live(circuit.ModeID(i), nil)
		if err != nil {
			return nil, err
		}
		outs = append(outs, o)
		for _, id := range c.Loads() {
			if w := o.AnyState.Watts(id); w > most*(1+1e-6) && len(o.Tripped) == 0 {
				most, s.busy, s.load, s.sound = w, circuit.ModeID(i), id, o
			}
		}
	}
	if s.load == circuit.None {
		return nil, errNothingOn
	}
	for i, o := range outs {
		if !s.rests && o.LeastShare(s.load) < trace.DefaultOnShare {
			s.idle, s.rests = circuit.ModeID(i), true
		}
	}
	return s, nil
}

// steps works a lesson out.
func (s *subject) steps(p *plan) ([]Step, error) {
	s.err = nil
	out := p.work(s)
	return out, s.err
}

// live settles a mode with faults, dead the same with the supply off. What
// cannot be worked out is kept in err, and the sound machine given instead.
func (s *subject) live(mode circuit.ModeID, faults ...circuit.Fault) *settle.Outcome {
	return s.settled(s.bench.Live(mode, faults))
}

func (s *subject) dead(mode circuit.ModeID, faults ...circuit.Fault) *settle.Outcome {
	return s.settled(s.bench.Dead(mode, faults))
}

func (s *subject) settled(o *settle.Outcome, err error) *settle.Outcome {
	if err != nil {
		if s.err == nil {
			s.err = err
		}
		return s.sound
	}
	return o
}

// reads takes volts as an instrument shows them.
func (s *subject) reads(o *settle.Outcome, f meter.Function, p, q circuit.TerminalID) meter.Reading {
	r, err := s.bench.Volts(o, f, p, q)
	if err != nil && s.err == nil {
		s.err = err
	}
	return r
}

func open(id circuit.BranchID) circuit.Fault { return circuit.Fault{Kind: circuit.Open, Branch: id} }

// show is the machine in a mode, with faults.
func (s *subject) show(mode circuit.ModeID, load circuit.BranchID, faults ...circuit.Fault) Show {
	out := Show{Mode: s.c.Mode(mode).Name}
	if load != circuit.None {
		out.Load = s.c.Branch(load).Ref
	}
	for _, f := range faults {
		out.Faults = append(out.Faults, s.c.FaultRef(f))
	}
	return out
}

// probed puts the probes of a show on two places.
func (s *subject) probed(show Show, f meter.Function, p, q circuit.TerminalID) Show {
	show.Meter, show.Red, show.Black = f.String(), s.c.Terminal(p).Ref, s.c.Terminal(q).Ref
	show.Off = !f.Live()
	return show
}

// across is a show with the probes on both ends of a branch.
func (s *subject) across(show Show, id circuit.BranchID) Show {
	return s.probed(show, meter.Volts, s.c.Branch(id).A, s.c.Branch(id).B)
}

func (s *subject) title() string {
	if t := strings.Join(strings.Fields(s.c.Title()), " "); t != "" {
		return t
	}
	return s.c.Name()
}

func (s *subject) mode(id circuit.ModeID) string { return fmt.Sprintf("%q", s.c.Mode(id).Label) }

func (s *subject) label(id circuit.BranchID) string { return circuit.LowerFirst(s.c.Label(id)) }

// says puts a fault in words, within a sentence.
func (s *subject) says(f circuit.Fault) string { return circuit.LowerFirst(s.c.Describe(f)) }

// reference is where the black probe rests: neutral, or the metal of a machine
// that neutral is not brought to.
func (s *subject) reference() circuit.TerminalID {
	t := s.bench.Reference()
	if len(s.c.Terminal(t).Wires) == 0 {
		return s.c.ChassisTerminal()
	}
	return t
}

// between reads volts between two places of a settled machine.
func between(o *settle.Outcome, p, q circuit.TerminalID) string {
	v := o.Volts(p, q)
	switch _, steady := v.Steady(); {
	case v.Floats:
		return "floats"
	case !steady:
		return fmt.Sprintf("jumps, %.1f to %.1f V", v.Least, v.Most)
	}
	return fmt.Sprintf("%.1f V", v.Most)
}

// power writes what a load takes.
func power(o *settle.Outcome, load circuit.BranchID) string {
	if len(o.Tripped) > 0 {
		return "trips"
	}
	w := o.Watts(load)
	if _, steady := w.Steady(); !steady {
		return fmt.Sprintf("jumps, %.0f to %.0f", w.Least, w.Most)
	}
	return fmt.Sprintf("%.0f", w.Most)
}

// feed is how the load is connected between two supply conductors.
func (s *subject) feed(load circuit.BranchID) *trace.Feed { return s.tracer.Feed(s.sound, load) }

// contacts lists those on the feed of the largest load, from the first
// conductor through the load to the second.
func (s *subject) contacts() []circuit.BranchID {
	var out []circuit.BranchID
	f := s.feed(s.load)
	for i := range f.Ends {
		for _, hop := range f.Ends[i].Hops {
			if s.c.Branch(hop.Branch).Role == circuit.Contact {
				out = append(out, hop.Branch)
			}
		}
	}
	return out
}

// conductors lists the legs and the neutral.
func (s *subject) conductors() []circuit.BranchID {
	supply := s.c.Supply()
	return append(append([]circuit.BranchID{}, supply.Legs...), supply.Neutral)
}

// onLoads lists what is on in the busy mode.
func (s *subject) onLoads() []circuit.BranchID {
	var out []circuit.BranchID
	for _, id := range s.c.Loads() {
		if s.sound.LeastShare(id) >= trace.DefaultOnShare {
			out = append(out, id)
		}
	}
	return out
}

func (s *subject) conductor(id circuit.BranchID) string {
	if id == circuit.None {
		return "?"
	}
	return s.c.Branch(id).Name
}
