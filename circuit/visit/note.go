package visit

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Note is one thing seen, as [suspect.Note], or a test that was not made.
type Note struct {
	// Step is shared by what was answered at once: the loads of one trial.
	Step     int    `toml:"step,omitzero"`
	Mode     string `toml:"mode"`
	Load     string `toml:"load,omitempty"`
	State    string `toml:"state,omitempty"`
	Trips    bool   `toml:"trips,omitempty"`
	Chatters bool   `toml:"chatters,omitempty"`
	AllDead  bool   `toml:"all_dead,omitempty"`
	Slow     bool   `toml:"slow,omitempty"`
	SomeOn   bool   `toml:"some_on,omitempty"`
	Quiet    string `toml:"quiet,omitempty"`
	Function string `toml:"function,omitempty"`
	P        string `toml:"p,omitempty"`
	Q        string `toml:"q,omitempty"`
	Lifted   string `toml:"lifted,omitempty"`
	Answer   string `toml:"answer,omitempty"`
	// Told is something seen, heard or remembered, see [suspect.Tales]; Part is
	// where, At "joint" at a wire's end there, "L1" at that pole.
	Told string `toml:"told,omitempty"`
	Part string `toml:"part,omitempty"`
	At   string `toml:"at,omitempty"`
	// Ask is a move made at Part, see [suspect.Ask], with its Answer.
	Ask string `toml:"ask,omitempty"`
	// Skipped says that the test was not made. A trial is skipped as a whole
	// where Load is empty.
	Skipped bool `toml:"skipped,omitempty"`
	// Unreachable names the test point or terminal that no probe gets to.
	Unreachable string `toml:"unreachable,omitempty"`
	// Minutes is how long the test took; 0 where nobody looked at a clock.
	Minutes float64 `toml:"minutes,omitzero"`
}

// field is one of the names that a note is written by.
type field struct {
	key string
	at  func(*Note) *string
	// find reports a name that the machine does not have; nil where anything
	// that is said is taken as it is.
	find func(*circuit.Circuit, string) error
	// spare says that it may be empty.
	spare bool
}

func place(c *circuit.Circuit, s string) error { _, err := c.FindPlace(s); return err }

// each looks up every name of those of which one was meant.
func each[T any](find func(*circuit.Circuit, string) (T, error)) func(*circuit.Circuit, string) error {
	return func(c *circuit.Circuit, s string) error {
		for _, name := range strings.Split(s, suspect.Either) {
			if _, err := find(c, name); err != nil {
				return err
			}
		}
		return nil
	}
}

var (
	inMode = field{"mode", func(n *Note) *string { return &n.Mode }, each((*circuit.Circuit).FindMode), false}
	ofLoad = field{"load", func(n *Note) *string { return &n.Load }, each((*circuit.Circuit).FindLoad), false}
	isSo   = field{"state", func(n *Note) *string { return &n.State }, nil, false}
	by     = field{"function", func(n *Note) *string { return &n.Function }, func(_ *circuit.Circuit, s string) error { _, err := meter.ParseFunction(s); return err }, false}
	probeP = field{"p", func(n *Note) *string { return &n.P }, func(c *circuit.Circuit, s string) error {
		if place(c, s) == nil {
			return nil
		}
		_, _, err := c.FindProbes(s, "", false)
		return err
	}, false}
	// probeQ is empty where the reading is across the part that probeP names.
	probeQ = field{"q", func(n *Note) *string { return &n.Q }, func(c *circuit.Circuit, s string) error {
		_, _, err := c.FindProbes(circuit.ChassisName, s, false)
		return err
	}, true}
	lifted = field{"lifted", func(n *Note) *string { return &n.Lifted }, func(c *circuit.Circuit, s string) error { _, _, err := suspect.LiftedAt(c, s); return err }, true}
	tells  = field{"told", func(n *Note) *string { return &n.Told }, func(c *circuit.Circuit, s string) error {
		_, err := suspect.NewTelling(c, s, "", "", "")
		return err
	}, false}
	ofPart  = field{"part", func(n *Note) *string { return &n.Part }, func(c *circuit.Circuit, s string) error { _, err := c.FindPart(s); return err }, true}
	itLoad  = field{"load", func(n *Note) *string { return &n.Load }, func(c *circuit.Circuit, s string) error { _, err := c.FindLoad(s); return err }, true}
	anyMode = field{"mode", func(n *Note) *string { return &n.Mode }, func(c *circuit.Circuit, s string) error { _, err := c.FindMode(s); return err }, true}
	among   = field{"load", itLoad.at, nil, true}
	except  = field{"quiet", func(n *Note) *string { return &n.Quiet }, nil, false}
	atEnd   = field{"at", func(n *Note) *string { return &n.At }, nil, true}
	asks    = field{"ask", func(n *Note) *string { return &n.Ask }, nil, false}
	atPart  = field{"part", ofPart.at, ofPart.find, false}
	howMuch = field{"answer", func(n *Note) *string { return &n.Answer }, nil, true}
	answer  = field{"answer", func(n *Note) *string { return &n.Answer }, nil, false}
)

// kind is a kind of thing to note.
type kind struct {
	// word begins it in an address, and its fields follow in order.
	word   string
	fields []field
	is     func(*Note) bool
	mark   func(*Note) // what a note of the kind has besides its fields
	// test is the test that it is the outcome of.
	test func(*circuit.Circuit, *Note, circuit.ModeID) (suspect.Test, error)
}

// kinds are all of them; the first that fits a note is its kind. The last is a
// trial of a mode that was not made.
var kinds = []kind{
	{"asked", []field{asks, inMode, atPart, answer}, func(n *Note) bool { return n.Ask != "" }, nil, asking},
	{"told", []field{tells, itLoad, ofPart, atEnd, howMuch}, func(n *Note) bool { return n.Told != "" }, nil, nil},
	{"trips", []field{anyMode}, func(n *Note) bool { return n.Trips }, func(n *Note) { n.Trips = true }, trial},
	{"all-dead", []field{inMode}, func(n *Note) bool { return n.AllDead }, func(n *Note) { n.AllDead = true }, trial},
	{"quiet", []field{inMode, except}, func(n *Note) bool { return n.Quiet != "" }, nil, trial},
	{"some-on", []field{anyMode, among}, func(n *Note) bool { return n.SomeOn }, func(n *Note) { n.SomeOn = true }, trial},
	{"slow", []field{inMode}, func(n *Note) bool { return n.Slow }, func(n *Note) { n.Slow = true }, trial},
	{"chatters", []field{inMode}, func(n *Note) bool { return n.Chatters }, func(n *Note) { n.Chatters = true }, trial},
	{"read", []field{inMode, by, probeP, probeQ, lifted, answer}, func(n *Note) bool { return n.P != "" || n.Q != "" }, nil, probing},
	{"untried", []field{inMode, ofLoad, isSo}, func(n *Note) bool { return n.Load != "" && n.At == suspect.Untried }, func(n *Note) { n.At = suspect.Untried }, trial},
	{"load", []field{inMode, ofLoad, isSo}, func(n *Note) bool { return n.Load != "" }, nil, trial},
	{"trial", []field{inMode}, func(*Note) bool { return true }, nil, trial},
}

func (n *Note) kind() *kind {
	for i := range kinds {
		if kinds[i].is(n) {
			return &kinds[i]
		}
	}
	return nil
}

func trial(_ *circuit.Circuit, _ *Note, mode circuit.ModeID) (suspect.Test, error) {
	return suspect.Test{Trial: true, Mode: mode, Live: true, At: circuit.None}, nil
}

func asking(c *circuit.Circuit, n *Note, _ circuit.ModeID) (suspect.Test, error) {
	t, _, err := suspect.NewAsk(c, n.Ask, n.Part, n.Mode, "")
	return t, err
}

func probing(c *circuit.Circuit, n *Note, mode circuit.ModeID) (suspect.Test, error) {
	t := suspect.Test{Mode: mode, At: circuit.None}
	f, err := meter.ParseFunction(n.Function)
	if err != nil {
		return t, err
	}
	t.Live = f.Live()
	if t.Probes, err = suspect.NewProbes(c, f, n.P, n.Q); err != nil {
		return t, err
	}
	if n.Lifted == "" {
		return t, nil
	}
	if t.Live {
		return t, errors.New("a lead is lifted with the supply off only")
	}
	t.At, t.Lift, err = suspect.LiftedAt(c, n.Lifted)
	return t, err
}

// NoteOf wraps what was seen.
func NoteOf(n suspect.Note) Note {
	return Note{Mode: n.Mode, Load: n.Load, State: n.State, Trips: n.Trips, Chatters: n.Chatters, AllDead: n.AllDead, Slow: n.Slow, SomeOn: n.SomeOn, Quiet: n.Quiet,
		Function: n.Function, P: n.P, Q: n.Q, Lifted: n.Lifted, Answer: n.Answer,
		Told: n.Told, Part: n.Part, At: n.At, Ask: n.Ask}
}

// About is a note on a test, without an answer.
func About(c *circuit.Circuit, t suspect.Test) Note {
	if t.Trial {
		return Note{Mode: c.Mode(t.Mode).Name}
	}
	return NoteOf(suspect.NoteOf(c, t, ""))
}

// Seen gives what was seen to the engine. It means nothing for a test that was
// not made.
func (n Note) Seen() suspect.Note {
	return suspect.Note{Mode: n.Mode, Load: n.Load, State: n.State, Trips: n.Trips, Chatters: n.Chatters, AllDead: n.AllDead, Slow: n.Slow, SomeOn: n.SomeOn, Quiet: n.Quiet,
		Function: n.Function, P: n.P, Q: n.Q, Lifted: n.Lifted, Answer: n.Answer,
		Told: n.Told, Part: n.Part, At: n.At, Ask: n.Ask}
}

// Made reports whether the test was made.
func (n Note) Made() bool { return !n.Skipped && n.Unreachable == "" }

// testless reports whether a note is the outcome of no test.
func (n Note) testless() bool {
	return n.Told != "" || n.Mode == "" && (n.SomeOn || n.Trips) || strings.Contains(n.Load, suspect.Either)
}

// Test is the test that a note is about, as the engine lists it.
func (n Note) Test(c *circuit.Circuit) (suspect.Test, error) {
	if n.testless() {
		return suspect.Test{}, errors.New("what was told is the outcome of no test")
	}
	mode, err := c.FindMode(n.Mode)
	if err != nil {
		return suspect.Test{}, err
	}
	if n.Load != "" && !n.SomeOn {
		if _, err := c.FindLoad(n.Load); err != nil {
			return suspect.Test{}, err
		}
	}
	return n.kind().test(c, &n, mode)
}

// Check reports a note that makes no sense on the machine.
func (n Note) Check(c *circuit.Circuit) error {
	if n.Made() {
		_, err := n.Evidence(c)
		return err
	}
	_, err := n.Test(c)
	if err == nil && n.Unreachable != "" {
		_, err = c.FindPlace(n.Unreachable)
	}
	return err
}

// Blame names the field of a note that does not hold.
func (n Note) Blame(c *circuit.Circuit) string {
	k := n.kind()
	for _, f := range k.fields {
		if name := *f.at(&n); f.find != nil && (name != "" || !f.spare) && f.find(c, name) != nil {
			return f.key
		}
	}
	switch {
	case n.Unreachable != "" && place(c, n.Unreachable) != nil:
		return "unreachable"
	case n.P != "" && n.P == n.Q:
		return probeQ.key
	case k.word == "trial":
		return ofLoad.key
	}
	return k.fields[len(k.fields)-1].key
}

// Evidence resolves what was seen on a machine, and refuses what no meter
// could have shown there.
func (n Note) Evidence(c *circuit.Circuit) (suspect.Evidence, error) { return Evidence(c, n.Seen()) }

// Evidence is [Note.Evidence] of what was seen.
func Evidence(c *circuit.Circuit, n suspect.Note) (suspect.Evidence, error) {
	ev, err := n.Resolve(c)
	if err != nil {
		return ev, err
	}
	o := ev.Reading
	if o == nil || o.OL || o.Unsteady {
		return ev, nil
	}
	if most := mostVolts(c); o.Probes.Function.Unit() == "V" && o.Value > most {
		return ev, fmt.Errorf("%q: no two places of a machine on %.4g V stand %.4g V apart; at most %.0f V is taken", n.Answer, c.Supply().Volts, o.Value, most)
	}
	return ev, nil
}

// mostVolts is more than stands anywhere on a machine: half as much again as
// its supply or, with a transformer, its largest winding.
func mostVolts(c *circuit.Circuit) float64 {
	most := c.Supply().Volts
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Secondary != circuit.None && b.TurnsRatio > 0 {
			most = math.Max(most, c.Supply().Volts/b.TurnsRatio)
		}
	}
	return 1.5 * most
}

// sep stands between the fields of a note on one line; no name in a machine
// holds it.
const sep = "~"

// Words before a note on one line that say why its test was not made.
const (
	skipWord  = "skip"
	reachWord = "reach"
)

// Line writes a note on one line, as an address has it: its kind and its
// fields, with "~" between them. "skip~" stands before one whose test was left
// out, "reach~PLACE~" before one with a place that no probe gets to.
func (n Note) Line() string {
	k := n.kind()
	out := []string{}
	switch {
	case n.Unreachable != "":
		out = append(out, reachWord, n.Unreachable)
	case n.Skipped:
		out = append(out, skipWord)
	}
	out = append(out, k.word)
	for _, f := range k.fields {
		if f.key == answer.key && !n.Made() {
			continue
		}
		out = append(out, *f.at(&n))
	}
	return strings.Join(out, sep)
}

// Without is the line of a note on a test, to which its answer is to be added.
func (n Note) Without() string {
	n.Answer = ""
	return strings.TrimSuffix(n.Line(), sep)
}

// Answered adds an answer to the line of a test.
func Answered(test, answer string) string {
	return test + sep + strings.ReplaceAll(answer, sep, "")
}

// ParseLine reads what [Note.Line] writes.
func ParseLine(s string) (Note, error) {
	var n Note
	words := strings.Split(s, sep)
	switch {
	case words[0] == skipWord:
		n.Skipped, words = true, words[1:]
	case words[0] == reachWord && len(words) > 2:
		n.Unreachable, words = words[1], words[2:]
	}
	for _, k := range kinds {
		if len(words) == 0 || words[0] != k.word {
			continue
		}
		values := words[1:]
		if !n.Made() && len(values) == len(k.fields)-1 {
			values = append(values, "") // a test, without its answer
		}
		if len(values) != len(k.fields) {
			break
		}
		for i, f := range k.fields {
			*f.at(&n) = values[i]
		}
		if k.mark != nil {
			k.mark(&n)
		}
		return n, nil
	}
	return n, fmt.Errorf("the note %q is none", s)
}

// Skipped is the line of a test that was left out.
func Skipped(test string) string { return skipWord + sep + test }
