package suspect

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// AtJoint says that something was seen at a wire's end or a terminal.
const AtJoint = "joint"

// Untried says of a symptom that it was told of a whole, an oven, and that this load of it
// may not have been tried.
const Untried = "untried"

// Note is one thing seen, by names, as a visit file keeps it and as it can be
// put to several candidate wirings alike. Either Load, Trips or Chatters makes
// it a symptom, or P and Q make it a reading.
type Note struct {
	Mode string `toml:"mode" json:"mode"`
	// Load and State tell how a load behaves, as [circuit.ParseLoadState] reads it.
	// Where one of several was meant, they, their modes and states stand apart by [Either].
	Load     string `toml:"load,omitempty" json:"load,omitempty"`
	State    string `toml:"state,omitempty" json:"state,omitempty"`
	Trips    bool   `toml:"trips,omitempty" json:"trips,omitempty"`
	Chatters bool   `toml:"chatters,omitempty" json:"chatters,omitempty"`
	// Function is the meter's; P and Q are test points or terminals.
	Function string `toml:"function,omitempty" json:"function,omitempty"`
	P        string `toml:"p,omitempty" json:"p,omitempty"`
	Q        string `toml:"q,omitempty" json:"q,omitempty"`
	// Lifted names the terminal, or the part, whose wires were off for the test.
	Lifted string `toml:"lifted,omitempty" json:"lifted,omitempty"`
	// AllDead says that nothing comes on, Slow that what heats takes too long.
	AllDead bool `toml:"all_dead,omitempty" json:"all_dead,omitempty"`
	Slow    bool `toml:"slow,omitempty" json:"slow,omitempty"`
	// Quiet lists the loads that were told of, where nothing was said of others.
	Quiet string `toml:"quiet,omitempty" json:"quiet,omitempty"`
	// SomeOn says that something heats where nothing should: of the loads in Load, apart
	// by blanks, where those were told of.
	SomeOn bool `toml:"some_on,omitempty" json:"some_on,omitempty"`
	// Told is a key of [Tales], Part where it was seen, At [AtJoint] where it was
	// at a wire's end there, or the pole at which; of a load, [Untried] where it may not have
	// been tried.
	Told string `toml:"told,omitempty" json:"told,omitempty"`
	Part string `toml:"part,omitempty" json:"part,omitempty"`
	At   string `toml:"at,omitempty" json:"at,omitempty"`
	// Ask is a move made at Part, see [Ask], with its Answer.
	Ask string `toml:"ask,omitempty" json:"ask,omitempty"`
	// Answer is what was said, as [ParseAnswer] reads it.
	Answer string `toml:"answer,omitempty" json:"answer,omitempty"`
}

// Resolve turns a note into evidence on a circuit. Errors name the nearest
// valid name.
func (n Note) Resolve(c *circuit.Circuit) (Evidence, error) {
	if n.Ask != "" {
		t, told, err := NewAsk(c, n.Ask, n.Part, n.Mode, n.Answer)
		if err == nil && told == nil {
			keys, _ := t.Answers()
			err = fmt.Errorf("nothing said: say one of %s", strings.Join(keys, ", "))
		}
		return Evidence{Told: told}, err
	}
	if n.Told != "" {
		t, err := NewTelling(c, n.Told, n.Part, n.Load, n.At)
		switch {
		case err != nil || n.Answer == "":
		case n.Told == since:
			t.since = n.Answer
		case slices.Contains(toldCodes, n.Told):
			t.code, err = codeNamed(c, n.Answer)
		default:
			t.Kelvin, err = parseKelvin(n.Answer)
		}
		return Evidence{Told: t}, err
	}
	if strings.Contains(n.Load, Either) {
		return n.anyOf(c)
	}
	if n.Mode == "" && (n.SomeOn || n.Trips) { // nobody said when
		return n.symptom(c, circuit.None)
	}
	mode, err := c.FindMode(n.Mode)
	if err != nil {
		return Evidence{}, err
	}
	if n.P == "" && n.Q == "" {
		return n.symptom(c, mode)
	}
	if n.Load != "" || n.Trips || n.Chatters {
		return Evidence{}, errors.New("a note is a symptom or a reading, not both")
	}
	name := n.Function
	if name == "" {
		return Evidence{}, errors.New("a reading needs the meter's function: volts, lowz, ohms, continuity or amps")
	}
	f, err := meter.ParseFunction(name)
	if err != nil {
		return Evidence{}, err
	}
	o := &Observation{Mode: mode}
	if o.Probes, err = NewProbes(c, f, n.P, n.Q); err != nil {
		return Evidence{}, err
	}
	p, q := o.Probes.P, o.Probes.Q
	if f == meter.Amps {
		if _, err := c.WireBetween(p, q); err != nil {
			return Evidence{}, err
		}
	}
	if n.Lifted != "" {
		if _, o.Lift, err = LiftedAt(c, n.Lifted); err != nil {
			return Evidence{}, err
		}
		if f.Live() {
			return Evidence{}, errors.New("a lead is lifted with the supply off only")
		}
	}
	said, err := readDoubt(f, n.Answer)
	if err != nil {
		return Evidence{}, err
	}
	said.Probes, said.Mode, said.Lift = o.Probes, o.Mode, o.Lift
	o = &said
	return Evidence{Reading: o}, nil
}

// NewProbes says where a meter's probes go, see [circuit.Circuit.FindProbes].
func NewProbes(c *circuit.Circuit, f meter.Function, p, q string) (meter.Probes, error) {
	at, to, err := c.FindProbes(p, q, f == meter.Amps)
	if err != nil {
		return meter.Probes{}, err
	}
	if at == to {
		return meter.Probes{}, fmt.Errorf("%w: %s", meter.ErrSameProbe, p)
	}
	return meter.Probes{Function: f, P: at, Q: to, Name: c.PlaceName(at) + " to " + c.PlaceName(to)}, nil
}

// LiftedAt finds the wires that were off, those at a place or all that a part has, and the
// first place where they land.
func LiftedAt(c *circuit.Circuit, name string) (at circuit.TerminalID, off []circuit.WireID, err error) {
	part, err := c.FindPart(name)
	if err != nil || len(c.Part(part).Terminals) == 0 {
		if at, err = c.FindPlace(name); err != nil {
			return at, nil, err
		}
		return at, c.Terminal(at).Wires, nil
	}
	for _, t := range c.Part(part).Terminals {
		off = append(off, c.Terminal(t).Wires...)
	}
	return c.Part(part).Terminals[0], off, nil
}

// anyOf resolves a symptom of one of several loads.
func (n Note) anyOf(c *circuit.Circuit) (Evidence, error) {
	s := &Symptom{Mode: circuit.None, Load: circuit.None, Whole: AnyOf}
	loads, modes, states := strings.Split(n.Load, Either), strings.Split(n.Mode, Either), strings.Split(n.State, Either)
	if len(modes) != len(loads) || len(states) != 1 && len(states) != len(loads) {
		return Evidence{}, fmt.Errorf("%d loads, %d modes and %d states: each load has its mode, and all one state or each its own", len(loads), len(modes), len(states))
	}
	for i := range loads {
		mode, err := c.FindMode(modes[i])
		if err != nil {
			return Evidence{}, err
		}
		one, err := Note{Load: loads[i], State: states[min(i, len(states)-1)]}.symptom(c, mode)
		if err != nil {
			return Evidence{}, err
		}
		s.Of = append(s.Of, *one.Symptom)
	}
	return Evidence{Symptom: s}, nil
}

// parseKelvin reads by how much something is off: "28 K", up to a thousand.
func parseKelvin(s string) (float64, error) {
	figure, ok := strings.CutSuffix(s, " K")
	v, err := strconv.ParseFloat(figure, 64)
	if !ok || err != nil || !(v > 0 && v <= 1000) {
		return 0, fmt.Errorf("off by %q: say it in kelvin, as in \"28 K\"", s)
	}
	return v, nil
}

// loadsNamed finds loads by their names, apart by blanks.
func loadsNamed(c *circuit.Circuit, names string) ([]circuit.BranchID, error) {
	var out []circuit.BranchID
	for _, name := range strings.Fields(names) {
		load, err := c.FindLoad(name)
		if err != nil {
			return nil, err
		}
		out = append(out, load)
	}
	return out, nil
}

func (n Note) symptom(c *circuit.Circuit, mode circuit.ModeID) (Evidence, error) {
	s := &Symptom{Mode: mode, Load: circuit.None, Trips: n.Trips, Chatters: n.Chatters}
	switch {
	case n.AllDead:
		return Evidence{Symptom: &Symptom{Mode: mode, Load: circuit.None, Whole: AllDead}}, nil
	case n.Quiet != "":
		_, err := loadsNamed(c, n.Quiet)
		return Evidence{Symptom: &Symptom{Mode: mode, Load: circuit.None, Whole: Quiet, Except: n.Quiet}}, err
	case n.SomeOn:
		_, err := loadsNamed(c, n.Load)
		return Evidence{Symptom: &Symptom{Mode: mode, Load: circuit.None, Whole: SomeOn, Among: n.Load}}, err
	case n.Slow:
		return Evidence{Symptom: &Symptom{Mode: mode, Load: circuit.None, Whole: Slow}}, nil
	}
	if n.Load == "" {
		if !n.Trips && !n.Chatters {
			return Evidence{}, errors.New("a symptom names a load, or says that the breaker trips or a relay chatters")
		}
		return Evidence{Symptom: s}, nil
	}
	if n.Trips || n.Chatters {
		return Evidence{}, errors.New("one symptom at a time: a load's state, or trips, or chatters")
	}
	var err error
	if s.Load, err = c.FindLoad(n.Load); err != nil {
		return Evidence{}, err
	}
	if s.State, err = circuit.ParseLoadState(n.State); err != nil {
		return Evidence{}, err
	}
	if s.Untried = n.At == Untried; n.At != "" && !s.Untried {
		return Evidence{}, fmt.Errorf("at %q: of a load it is %q or not said", n.At, Untried)
	}
	return Evidence{Symptom: s}, nil
}

// NoteOf writes a test and its answer as a note.
func NoteOf(c *circuit.Circuit, t Test, answer string) Note {
	if t.Ask != "" {
		return Note{Ask: string(t.Ask), Part: c.Part(t.Part).Name, Mode: c.Mode(t.Mode).Name, Answer: answer}
	}
	n := Note{Mode: c.Mode(t.Mode).Name, Function: t.Probes.Function.String(),
		P: c.PlaceName(t.Probes.P), Q: c.PlaceName(t.Probes.Q), Answer: answer}
	if len(t.Lift) > 0 {
		n.Lifted = c.PlaceName(t.At)
		if t.At == circuit.None {
			n.Lifted = c.PlaceName(t.Probes.P)
		}
	}
	return n
}
