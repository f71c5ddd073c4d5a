package drill

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Verb is what a move does.
type Verb uint8

const (
	// Try turns a mode on and looks.
	Try Verb = iota + 1
	// Off takes the supply off at the breaker and locks it out.
	Off
	// On puts the supply back.
	On
	// Prove tries the meter on a known source.
	Prove
	// TestDead shows, at the places nearest the supply, that it is off.
	TestDead
	// Read takes a reading between two places, or in a clamp.
	Read
	// Lift takes leads off; Refit puts them back.
	Lift
	Refit
	// Name says which part, or wire, is at fault.
	Name
	// Expect says what a good machine would read next, and why.
	Expect
	// GiveUp ends the drill.
	GiveUp
)

// words are the verbs as they are written. Read goes by the meter's function.
var words = map[string]Verb{"try": Try, "off": Off, "on": On, "prove": Prove, "dead": TestDead,
	"lift": Lift, "refit": Refit, "name": Name, "expect": Expect, "give-up": GiveUp}

// Move is one thing a learner does.
type Move struct {
	Verb Verb
	// Mode is for Try, and for a reading in another mode than the one
	// selected; else None.
	Mode     circuit.ModeID
	Function meter.Function
	// P and Q are the probes'; a clamp's wire, and what Lift and Refit take
	// off, is in Wires.
	P, Q  circuit.TerminalID
	Wires []circuit.WireID
	// At is where a lead is lifted.
	At circuit.TerminalID
	// Named is what Name says, as written: a part, a branch or a wire.
	Named string
	// Said and Reason are what Expect says.
	Said   string
	Reason Reason
}

// MaxLine is the longest move in bytes.
const MaxLine = 300

// Usage lists the moves as they are written.
func Usage() [][2]string {
	return [][2]string{
		{"try MODE", "turn a mode on and look"},
		{"off / on", "supply off and locked out / back on"},
		{"prove", "prove the meter on a known source"},
		{"dead", "test dead where the supply comes in"},
		{"volts A B", "read between two places, in the mode selected; also lowz"},
		{"ohms A B", "with the supply off; also continuity"},
		{"amps WIRE", "clamp a wire"},
		{"... in MODE", "after a reading: select that mode for it"},
		{"lift PLACE", "take all leads off a place, or one: lift WIRE [PLACE]"},
		{"refit PLACE", "put them back: a place or a wire"},
		{"expect V WHY", "what a good one reads next, and why: 240 fed; see reasons"},
		{"name PART", "the part, or wire, that is at fault"},
		{"give-up", "end the drill and be told"},
	}
}

// Parse reads a move by the machine's own names. Errors say what was found and
// what was expected.
func Parse(c *circuit.Circuit, line string) (Move, error) {
	m := Move{Mode: circuit.None, P: circuit.None, Q: circuit.None, At: circuit.None}
	if len(line) > MaxLine {
		return m, fmt.Errorf("a move of %d letters: at most %d", len(line), MaxLine)
	}
	args := strings.Fields(line)
	if len(args) == 0 {
		return m, errors.New("an empty move")
	}
	word := strings.ToLower(args[0])
	args = args[1:]
	if word == "give" && len(args) == 1 && strings.EqualFold(args[0], "up") {
		word, args = "give-up", nil
	}
	if f, err := meter.ParseFunction(word); err == nil {
		m.Verb, m.Function = Read, f
		return m, m.reading(c, args)
	}
	var known bool
	if m.Verb, known = words[word]; !known {
		return m, unknownVerb(word)
	}
	switch m.Verb {
	case Try:
		return m, m.mode(c, args)
	case Lift, Refit:
		return m, m.leads(c, args)
	case Name:
		return m, m.name(c, args)
	case Expect:
		return m, m.expectation(args)
	}
	if len(args) > 0 {
		return m, fmt.Errorf("%q after %q: it stands alone", strings.Join(args, " "), word)
	}
	return m, nil
}

func unknownVerb(word string) error {
	names := []string{"volts", "lowz", "ohms", "continuity", "amps"}
	for w := range words {
		names = append(names, w)
	}
	slices.Sort(names)
	if near := circuit.Nearest(word, names); near != "" {
		return fmt.Errorf("unknown move %q: did you mean %q?", word, near)
	}
	return fmt.Errorf("unknown move %q: one of %s", word, strings.Join(names, ", "))
}

// mode takes a mode by its name or its label.
func (m *Move) mode(c *circuit.Circuit, args []string) error {
	if len(args) == 0 {
		return errors.New("say which mode")
	}
	said := strings.Join(args, " ")
	for i := range c.Modes() {
		if strings.EqualFold(c.Mode(circuit.ModeID(i)).Label, said) {
			m.Mode = circuit.ModeID(i)
			return nil
		}
	}
	var err error
	m.Mode, err = c.FindMode(said)
	return err
}

func (m *Move) reading(c *circuit.Circuit, args []string) error {
	for i := len(args) - 1; i > 0; i-- {
		if strings.EqualFold(args[i], "in") {
			if err := m.mode(c, args[i+1:]); err != nil {
				return err
			}
			args = args[:i]
			break
		}
	}
	if m.Function == meter.Amps {
		if len(args) != 1 {
			return fmt.Errorf("amps of %d places: a clamp goes around one wire", len(args))
		}
		w, err := c.FindWire(args[0])
		if err != nil {
			return err
		}
		m.Wires = []circuit.WireID{w}
		return nil
	}
	if len(args) != 2 {
		return fmt.Errorf("%s between %d places: say two", m.Function, len(args))
	}
	var err error
	if m.P, err = c.FindPlace(args[0]); err != nil {
		return err
	}
	if m.Q, err = c.FindPlace(args[1]); err != nil {
		return err
	}
	if m.P == m.Q {
		return fmt.Errorf("%w: %s", meter.ErrSameProbe, args[0])
	}
	return nil
}

// leads takes a place, or a wire and at which end.
func (m *Move) leads(c *circuit.Circuit, args []string) error {
	if len(args) < 1 || len(args) > 2 {
		return errors.New("say a place, or a wire and the place it is on")
	}
	if w, err := c.FindWire(args[0]); err == nil {
		m.Wires, m.At = []circuit.WireID{w}, c.Wire(w).From
		if len(args) == 1 {
			return nil
		}
		at, err := c.FindPlace(args[1])
		if err != nil {
			return err
		}
		if at != c.Wire(w).From && at != c.Wire(w).To {
			return fmt.Errorf("wire %s is not on %s: it goes from %s to %s", args[0], args[1], c.Terminal(c.Wire(w).From).Ref, c.Terminal(c.Wire(w).To).Ref)
		}
		m.At = at
		return nil
	}
	at, err := c.FindPlace(args[0])
	if err != nil {
		return err
	}
	if len(args) > 1 {
		return fmt.Errorf("%q after a place: it stands alone", args[1])
	}
	if len(c.Terminal(at).Wires) == 0 {
		return fmt.Errorf("no wire lands on %s", args[0])
	}
	m.At, m.Wires = at, c.Terminal(at).Wires
	return nil
}

// name takes a part, a branch or a wire.
func (m *Move) name(c *circuit.Circuit, args []string) error {
	if len(args) == 0 {
		return errors.New("say which part, or wire")
	}
	said := strings.Join(args, " ")
	for i := range c.Parts() {
		if p := c.Part(circuit.PartID(i)); strings.EqualFold(p.Label, said) {
			m.Named = p.Name
			return nil
		}
	}
	if _, err := c.FindWire(said); err == nil {
		m.Named = said
		return nil
	}
	if id, err := c.FindBranch(said); err == nil && c.Branch(id).Part != circuit.None {
		m.Named = c.Part(c.Branch(id).Part).Name
		return nil
	}
	p, err := c.FindPart(said)
	if err != nil {
		return err
	}
	m.Named = c.Part(p).Name
	return nil
}

// Write puts a move as [Parse] reads it.
func (m Move) Write(c *circuit.Circuit) string {
	switch m.Verb {
	case Try:
		return "try " + c.Mode(m.Mode).Name
	case Read:
		s := m.Function.String()
		if m.Function == meter.Amps {
			s += " " + c.Wire(m.Wires[0]).Name
		} else {
			s += " " + c.PlaceName(m.P) + " " + c.PlaceName(m.Q)
		}
		if m.Mode != circuit.None {
			s += " in " + c.Mode(m.Mode).Name
		}
		return s
	case Lift, Refit:
		s := wordOf(m.Verb)
		if !slices.Equal(m.Wires, c.Terminal(m.At).Wires) {
			s += " " + c.Wire(m.Wires[0]).Name
		}
		return s + " " + c.PlaceName(m.At)
	case Name:
		return "name " + m.Named
	case Expect:
		return "expect " + m.Said + " " + string(m.Reason)
	}
	return wordOf(m.Verb)
}

// Words says in a sentence what is done.
func (m Move) Words(c *circuit.Circuit) string {
	switch m.Verb {
	case Try:
		return c.Mode(m.Mode).Bring() + ", and look"
	case Off:
		return "Supply off, locked out"
	case On:
		return "Supply back on"
	case Prove:
		return "Prove the meter on a known source"
	case TestDead:
		return "Test dead where the supply comes in"
	case Read:
		s := circuit.UpperFirst(m.Function.String()) + " "
		if m.Function == meter.Amps {
			s += "in wire " + c.Wire(m.Wires[0]).Name
		} else {
			s += c.Between(m.P, m.Q)
		}
		if m.Mode != circuit.None {
			s += fmt.Sprintf(", in %q", c.Mode(m.Mode).Label)
		}
		return s
	case Lift, Refit:
		what, one := "the leads", !slices.Equal(m.Wires, c.Terminal(m.At).Wires)
		if one {
			what = "wire " + c.Wire(m.Wires[0]).Name
		}
		switch {
		case m.Verb == Refit && one:
			return fmt.Sprintf("Put %s back", what)
		case m.Verb == Refit:
			return fmt.Sprintf("Put %s back on %s", what, c.PlaceLabel(m.At))
		}
		return fmt.Sprintf("Take %s off %s", what, c.PlaceLabel(m.At))
	case Name:
		if p, err := c.FindPart(m.Named); err == nil {
			return "At fault: " + c.Part(p).Label
		}
		return "At fault: " + m.Named
	case Expect:
		return "A good one: " + m.Said + ", " + string(m.Reason)
	}
	return "Gave up"
}

func wordOf(v Verb) string {
	for w, verb := range words {
		if verb == v {
			return w
		}
	}
	return ""
}
