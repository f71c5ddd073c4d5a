// Package visits keeps a technician's visit to one machine as a TOML file:
// the complaint, what was seen and measured in order, the verdict, the repair
// and what was measured after it.
//
// [Open] reads a visit with its machine and checks one against the other;
// [New] starts one. A [Job] carries a visit on: it weighs every answer and
// writes the file before anything else is done, so that nothing typed is
// lost. [Decode] and [Encode] turn a [Visit] into a file's text and back.
package visits

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/BurntSushi/toml"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
)

// Format is the version of the file format.
const Format = 1

// Visit is one job.
type Visit struct {
	Format int `toml:"format"`
	// Date is the day, as 2026-05-01, given by whoever writes it.
	Date string `toml:"date,omitempty"`
	// Complaint is what the customer said, in words.
	Complaint string `toml:"complaint,omitempty"`
	// Ambient is the temperature in Celsius where the cold machine stands; 0
	// means room temperature.
	Ambient float64  `toml:"ambient,omitzero"`
	Machine Machine  `toml:"machine"`
	Meter   *Meter   `toml:"meter,omitempty"`
	Notes   []Note   `toml:"notes,omitempty"`
	Verdict *Verdict `toml:"verdict,omitempty"`
	Repair  *Repair  `toml:"repair,omitempty"`
	// After holds what was seen once the repair was made.
	After []Note `toml:"after,omitempty"`
}

// Machine says which machine the visit is to.
type Machine struct {
	// Netlist is "catalog:NAME", or a path from the visit's own folder.
	Netlist string `toml:"netlist"`
	Name    string `toml:"name"`
	// Fingerprint is that of the netlist's contents: see [Fingerprint].
	Fingerprint string `toml:"fingerprint"`
}

// Meter tells where the instrument in hand differs from the ordinary one; 0
// means as the ordinary one.
type Meter struct {
	Name           string  `toml:"name,omitempty"`
	InputOhms      float64 `toml:"input_ohms,omitzero"`
	LowZOhms       float64 `toml:"lowz_ohms,omitzero"`
	ContinuityOhms float64 `toml:"continuity_ohms,omitzero"`
	MaxOhms        float64 `toml:"max_ohms,omitzero"`
	Counts         float64 `toml:"counts,omitzero"`
	VoltsPercent   float64 `toml:"volts_percent,omitzero"`
	OhmsPercent    float64 `toml:"ohms_percent,omitzero"`
	AmpsPercent    float64 `toml:"amps_percent,omitzero"`
}

// Note is one thing seen, as [suspect.Note], or a test that was not made.
type Note struct {
	// Step is shared by what was answered at once: the loads of one trial.
	Step     int    `toml:"step,omitzero"`
	Mode     string `toml:"mode"`
	Load     string `toml:"load,omitempty"`
	State    string `toml:"state,omitempty"`
	Trips    bool   `toml:"trips,omitempty"`
	Chatters bool   `toml:"chatters,omitempty"`
	Function string `toml:"function,omitempty"`
	P        string `toml:"p,omitempty"`
	Q        string `toml:"q,omitempty"`
	Lifted   string `toml:"lifted,omitempty"`
	Answer   string `toml:"answer,omitempty"`
	// Skipped says that the test was not made. A trial is skipped as a whole
	// where Load is empty.
	Skipped bool `toml:"skipped,omitempty"`
	// Unreachable names the test point or terminal that no probe gets to.
	Unreachable string `toml:"unreachable,omitempty"`
}

// Verdict is the cause named.
type Verdict struct {
	// Causes are faults as [circuit.Circuit.ParseFault] reads them: those that
	// no test told apart stand in one string, "this | that"; several faults
	// that are one cause, such as a supply low on both legs, as "this + that".
	Causes []string `toml:"causes"`
	Words  string   `toml:"words,omitempty"`
	// Chance is its probability among all that was considered.
	Chance float64 `toml:"chance,omitzero"`
}

// Repair is what was done about it.
type Repair struct {
	Done string `toml:"done"`
}

// NoteOf wraps what was seen.
func NoteOf(n suspect.Note) Note {
	return Note{Mode: n.Mode, Load: n.Load, State: n.State, Trips: n.Trips, Chatters: n.Chatters,
		Function: n.Function, P: n.P, Q: n.Q, Lifted: n.Lifted, Answer: n.Answer}
}

// Seen gives what was seen to the engine. It means nothing for a test that was
// not made.
func (n Note) Seen() suspect.Note {
	return suspect.Note{Mode: n.Mode, Load: n.Load, State: n.State, Trips: n.Trips, Chatters: n.Chatters,
		Function: n.Function, P: n.P, Q: n.Q, Lifted: n.Lifted, Answer: n.Answer}
}

// Made reports whether the test was made.
func (n Note) Made() bool { return !n.Skipped && n.Unreachable == "" }

// Instrument is the meter in hand.
func (m *Meter) Instrument() meter.Instrument {
	in := meter.DefaultInstrument()
	if m == nil {
		return in
	}
	if m.Name != "" {
		in.Name = m.Name
	}
	for _, f := range []struct {
		given float64
		into  *float64
	}{
		{m.InputOhms, &in.InputOhms}, {m.LowZOhms, &in.LowZOhms}, {m.ContinuityOhms, &in.ContinuityOhms},
		{m.MaxOhms, &in.MaxOhms}, {m.Counts, &in.Counts}, {m.VoltsPercent, &in.VoltsAcc.Percent},
		{m.OhmsPercent, &in.OhmsAcc.Percent}, {m.AmpsPercent, &in.AmpsAcc.Percent},
	} {
		if f.given != 0 {
			*f.into = f.given
		}
	}
	return in
}

// The first and the last line of a file that legtrace wrote: without the last
// one the file was cut short.
const (
	firstLine = "# A visit, written by legtrace. The last line says that it is whole.\n"
	lastLine  = "# end of visit\n"
)

// Encode writes a visit as a file's text.
func Encode(v Visit) ([]byte, error) {
	var b bytes.Buffer
	b.WriteString(firstLine)
	enc := toml.NewEncoder(&b)
	enc.Indent = ""
	if err := enc.Encode(v); err != nil {
		return nil, fmt.Errorf("the visit cannot be written: %w", err)
	}
	if !utf8.Valid(b.Bytes()) {
		return nil, errors.New("the visit cannot be written: it holds text that is not UTF-8")
	}
	if b.Len() > netlists.MaxBytes {
		return nil, fmt.Errorf("the visit cannot be written: it has grown beyond %d bytes", netlists.MaxBytes)
	}
	b.WriteString(lastLine)
	return b.Bytes(), nil
}

// Decode reads a visit's text as far as it can be read without the machine.
// The name is shown in errors, which are of type [netlists.Errors].
func Decode(name string, src []byte) (*Visit, *netlists.Positions, error) {
	whole := func(message, hint string) error {
		return netlists.Errors{{Position: netlists.Position{File: name}, Message: message, Hint: hint}}
	}
	if len(src) > netlists.MaxBytes {
		return nil, nil, whole(fmt.Sprintf("a visit of more than %d bytes is not read", netlists.MaxBytes), "")
	}
	if len(bytes.TrimSpace(src)) == 0 {
		return nil, nil, whole("the file is empty: it was cut short, or is no visit", "")
	}
	var v Visit
	at, err := netlists.Decode(name, src, "a visit", &v)
	if bytes.HasPrefix(src, []byte(firstLine)) && !bytes.HasSuffix(bytes.TrimRight(src, "\r\n"), []byte(strings.TrimSpace(lastLine))) {
		cut := whole("the file was cut short: its last line is missing", fmt.Sprintf("see what is left of it, and end it with the line %q", strings.TrimSpace(lastLine))).(netlists.Errors)
		var more netlists.Errors
		errors.As(err, &more)
		return nil, nil, append(cut, more...)
	}
	var errs netlists.Errors
	errors.As(err, &errs)
	if at != nil {
		errs = append(errs, besides(errs, v.check(at))...)
	}
	if len(errs) > 0 {
		return nil, nil, errs.Sorted()
	}
	return &v, at, nil
}

// besides leaves out of later errors what only follows from earlier ones on
// the same line.
func besides(earlier, later netlists.Errors) netlists.Errors {
	seen := map[int]bool{}
	for _, e := range earlier {
		seen[e.Line] = true
	}
	return slices.DeleteFunc(later, func(e netlists.Error) bool { return seen[e.Line] })
}

// check reports what is wrong whatever the machine.
func (v *Visit) check(at *netlists.Positions) netlists.Errors {
	var errs netlists.Errors
	fail := func(path, hint, format string, args ...any) {
		errs = append(errs, at.Problem(path, hint, fmt.Sprintf(format, args...)))
	}
	switch {
	case v.Format == 0:
		fail("", fmt.Sprintf("format = %d", Format), "a visit says its format")
	case v.Format != Format:
		fail("format", "", "format %d: this legtrace reads format %d", v.Format, Format)
	}
	if _, err := time.Parse(time.DateOnly, v.Date); err != nil && v.Date != "" {
		fail("date", "", "date %q: write it as 2026-05-01", v.Date)
	}
	if v.Ambient != 0 && !(v.Ambient >= -40 && v.Ambient <= 60) {
		fail("ambient", "", "ambient of %g: degrees Celsius from -40 to 60", v.Ambient)
	}
	if v.Machine.Netlist == "" {
		fail("machine", `netlist = "catalog:range-electronic", or a file`, "a visit names its machine's netlist")
	}
	if err := v.Meter.Instrument().Check(); err != nil {
		fail("meter", "", "%s", err)
	}
	if v.Verdict != nil && len(v.Verdict.Causes) == 0 {
		fail("verdict", `causes = ["broil_element:open"]`, "a verdict names its causes")
	}
	if v.Verdict != nil && !(v.Verdict.Chance >= 0 && v.Verdict.Chance <= 1) {
		fail("verdict.chance", "", "chance of %g: it lies from 0 to 1", v.Verdict.Chance)
	}
	if v.Repair != nil && strings.TrimSpace(v.Repair.Done) == "" {
		fail("repair", "", "a repair says what was done")
	}
	return errs
}

// checkOn reports which notes make no sense on the machine.
func (v *Visit) checkOn(c *circuit.Circuit, at *netlists.Positions) netlists.Errors {
	var errs netlists.Errors
	for _, list := range []struct {
		key   string
		notes []Note
	}{{"notes", v.Notes}, {"after", v.After}} {
		for i, n := range list.notes {
			if err := n.Check(c); err != nil {
				path := fmt.Sprintf("%s[%d]", list.key, i)
				errs = append(errs, at.Problem(path+"."+n.blame(c), "", err.Error()))
			}
		}
	}
	if v.Verdict != nil {
		for i, cause := range v.Verdict.Causes {
			for _, one := range strings.Split(cause, suspect.Either) {
				if _, err := parseCause(c, one); err != nil {
					errs = append(errs, at.Problem(fmt.Sprintf("verdict.causes[%d]", i), "", err.Error()))
				}
			}
		}
	}
	return errs.Sorted()
}

// Check reports what is wrong with a visit whatever the machine, as reading it
// back would.
func (f *File) Check() error {
	data, err := Encode(f.Visit)
	if err != nil {
		return err
	}
	_, _, err = Decode(f.path, data)
	return err
}
