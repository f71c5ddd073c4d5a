package lessons

import (
	"errors"
	"fmt"
	"strings"
	"unicode"

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
	// near as any comes; idle the first mode in which it is not.
	busy, idle circuit.ModeID
	load       circuit.BranchID
	sound      *settle.Outcome // in busy
}

func newSubject(c *circuit.Circuit) (*subject, error) {
	s := &subject{c: c, bench: meter.New(c, meter.DefaultInstrument()), tracer: trace.New(c), load: circuit.None, idle: circuit.None}
	s.bench.Tolerances = false
	most := 0.0
	for i := range c.Modes() {
		o, err := s.bench.Live(circuit.ModeID(i), nil)
		if err != nil {
			return nil, err
		}
		for _, id := range c.Loads() {
			if w := o.AnyState.Watts(id); w > most*(1+1e-6) && len(o.Tripped) == 0 {
				most, s.busy, s.load, s.sound = w, circuit.ModeID(i), id, o
			}
		}
	}
	if s.load == circuit.None {
		return nil, errNothingOn
	}
	for i := range c.Modes() {
		o, err := s.bench.Live(circuit.ModeID(i), nil)
		if err != nil {
			return nil, err
		}
		if s.idle == circuit.None && o.LeastShare(s.load) < trace.DefaultOnShare {
			s.idle = circuit.ModeID(i)
		}
	}
	return s, nil
}

func (s *subject) title() string {
	if t := strings.Join(strings.Fields(s.c.Title()), " "); t != "" {
		return t
	}
	return s.c.Name()
}

func (s *subject) mode(id circuit.ModeID) string { return fmt.Sprintf("%q", s.c.Mode(id).Label) }

func (s *subject) label(id circuit.BranchID) string {
	r := []rune(s.c.Label(id))
	if len(r) > 1 && unicode.IsUpper(r[0]) && unicode.IsLower(r[1]) {
		r[0] = unicode.ToLower(r[0])
	}
	return string(r)
}

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
	w := o.Watts(load)
	if _, steady := w.Steady(); !steady {
		return fmt.Sprintf("jumps, %.0f to %.0f", w.Least, w.Most)
	}
	return fmt.Sprintf("%.0f", w.Most)
}

// feed is how the load is connected between two supply conductors.
func (s *subject) feed(load circuit.BranchID) *trace.Feed { return s.tracer.Feed(s.sound, load) }

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
