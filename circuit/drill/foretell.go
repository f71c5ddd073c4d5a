package drill

import (
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
)

// Reason is why a good machine reads what it does at two places.
type Reason string

// The reasons, live and dead.
const (
	// Fed: the places are at different conductors of the supply, or at parts of
	// a load's voltage.
	Fed Reason = "fed"
	// Same: the places are at one potential, whatever that is to neutral.
	Same Reason = "same"
	// Stray: a place hangs on nothing.
	Stray Reason = "stray"
	// Through: with the supply off, the ohms of what lies between.
	Through Reason = "through"
	// Closed: next to no ohms.
	Closed Reason = "closed"
	// Apart: no way from one to the other.
	Apart Reason = "apart"
)

// Reasons lists them with what they say.
func Reasons() [][2]string {
	return [][2]string{
		{string(Fed), "different conductors of the supply reach the two places"},
		{string(Same), "one conductor reaches both, or nothing drops between them"},
		{string(Stray), "a place hangs on nothing"},
		{string(Through), "the ohms of what lies between"},
		{string(Closed), "joined: next to no ohms"},
		{string(Apart), "no way between them"},
	}
}

// Foretold is how what a learner said before a reading came out.
type Foretold struct {
	Said string
	// Good is what a sound machine reads, Why the reason.
	Good  string
	Why   Reason
	Value bool // what was said would do for what a sound machine reads
	Right bool // and the reason is the one
}

// words tell how it came out; none where nothing was foretold.
func (f *Foretold) words() []string {
	switch {
	case f == nil:
		return nil
	case f.Right:
		return []string{"Foretold rightly."}
	case f.Value:
		return []string{fmt.Sprintf("A good one reads %s, as you said, but the reason is %q.", f.Good, f.Why)}
	}
	return []string{fmt.Sprintf("A good one reads %s (%s), not %s.", f.Good, f.Why, f.Said)}
}

// joined is the most that a closed way reads on an ohmmeter.
const joined = meter.WornContactOhms

// expect keeps what a good machine is said to read, for the reading that comes.
func (s *Session) expect(m Move, step *Step) {
	s.expects = &m
	step.Said = []string{fmt.Sprintf("Said: a good one reads %s (%s).", m.Said, m.Reason)}
}

// foretold sets what was said beside what a sound machine reads, and forgets it.
func (s *Session) foretold(m Move) (*Foretold, error) {
	if s.expects == nil {
		return nil, nil
	}
	said := *s.expects
	s.expects = nil
	r, why, err := s.good(m)
	if err != nil {
		return nil, err
	}
	out := &Foretold{Said: said.Said, Good: r.Range(), Why: why}
	value, ol, unsteady, err := suspect.ParseAnswer(m.Function, said.Said)
	switch {
	case err != nil:
	case r.OL || ol:
		out.Value = r.OL == ol
	case r.Unsteady || unsteady:
		out.Value = r.Unsteady == unsteady
	default:
		// Who says a round figure is right within a tenth, and so is the supply.
		low, high := r.Low-0.1*r.Low-0.5, r.High+0.1*r.High+0.5
		if !m.Function.Live() {
			low, high = r.Low-0.1*r.Low-joined, r.High+0.1*r.High+joined
		}
		out.Value = value >= low && value <= high
	}
	out.Right = out.Value && said.Reason == why
	return out, nil
}

// good is what a sound machine reads there, leads off as they are, and why.
func (s *Session) good(m Move) (meter.Reading, Reason, error) {
	d := s.d
	b := meter.New(d.c, d.opt.Instrument)
	var lifted []circuit.Fault
	for _, l := range s.lifted {
		lifted = append(lifted, circuit.Fault{Kind: circuit.Open, Branch: d.c.Wire(l.wire).Branch})
	}
	if !m.Function.Live() {
		o, err := b.Dead(s.mode, lifted)
		if err != nil {
			return meter.Reading{}, "", err
		}
		r := b.Quick(o, m.Function, m.P, m.Q)
		switch {
		case r.OL:
			return r, Apart, nil
		case r.Value <= joined:
			return r, Closed, nil
		}
		return r, Through, nil
	}
	o, err := b.Live(s.mode, lifted)
	if err != nil {
		return meter.Reading{}, "", err
	}
	if m.Function == meter.Amps {
		r, err := b.Amps(o, d.c.Wire(m.Wires[0]).Branch)
		if r.Value < 0.05 {
			return r, Apart, err
		}
		return r, Through, err
	}
	r, err := b.Volts(o, m.Function, m.P, m.Q)
	return r, why(b, o, m, r), err
}

// why tells volts by where they come from.
func why(b *meter.Bench, o *settle.Outcome, m Move, r meter.Reading) Reason {
	_, fixed := o.AnyState.Between(m.P, m.Q)
	switch {
	case r.Unsteady || !fixed:
		return Stray
	case b.NearZero(r):
		return Same
	}
	return Fed
}

// expectation takes "VALUE REASON": 240 fed, OL apart.
func (m *Move) expectation(args []string) error {
	if len(args) < 2 {
		return errors.New(`say what a good one reads and why, as in "expect 240 fed"`)
	}
	last := strings.ToLower(args[len(args)-1])
	var names []string
	for _, r := range Reasons() {
		if r[0] == last {
			m.Reason = Reason(last)
		}
		names = append(names, r[0])
	}
	if m.Reason == "" {
		if near := circuit.Nearest(last, names); near != "" {
			return fmt.Errorf("reason %q: did you mean %q?", last, near)
		}
		return fmt.Errorf("reason %q: one of %s", last, strings.Join(names, ", "))
	}
	m.Said = strings.Join(args[:len(args)-1], " ")
	for _, f := range []meter.Function{meter.Volts, meter.Ohms} {
		if _, _, _, err := suspect.ParseAnswer(f, m.Said); err == nil {
			return nil
		}
	}
	_, _, _, err := suspect.ParseAnswer(meter.Volts, m.Said)
	return err
}
