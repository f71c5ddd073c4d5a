// Package visits keeps a technician's visit to one machine as a TOML file:
// the complaint, what was seen and measured in order, the verdict, the repair
// and what was measured after it.
//
// [Open] reads a visit with its machine and checks one against the other;
// [New] starts one. [Start] carries a visit on: the file is written after every
// answer, before anything else is done, so that nothing typed is lost. [Decode]
// and [Encode] turn a [Visit] into a file's text and back.
package visits

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/BurntSushi/toml"

	"legtrace/circuit"
	"legtrace/circuit/visit"
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
	Ambient float64 `toml:"ambient,omitzero"`
	Machine Machine `toml:"machine"`
	// Outside is what is seen from outside of a machine of unknown wiring, each
	// "KEY=ANSWER".
	Outside []visit.Seen   `toml:"outside,omitempty"`
	Meter   *visit.Meter   `toml:"meter,omitempty"`
	Notes   []visit.Note   `toml:"notes,omitempty"`
	Verdict *visit.Verdict `toml:"verdict,omitempty"`
	Repair  *visit.Repair  `toml:"repair,omitempty"`
	// After holds what was seen once the repair was made.
	After []visit.Note `toml:"after,omitempty"`
	// Mended holds the repairs before that did not end the trouble.
	Mended []visit.Mended `toml:"mended,omitempty"`
	// Job is nil where nothing of it was said.
	Job *Job `toml:"job,omitempty"`
}

// Job is what of a visit is for its paper: no test hangs on it.
type Job struct {
	Customer   string   `toml:"customer,omitempty" json:"customer,omitempty"`
	Address    string   `toml:"address,omitempty" json:"address,omitempty"`
	Model      string   `toml:"model,omitempty" json:"model,omitempty"`
	Serial     string   `toml:"serial,omitempty" json:"serial,omitempty"`
	Technician string   `toml:"technician,omitempty" json:"technician,omitempty"`
	Parts      string   `toml:"parts,omitempty" json:"parts,omitempty"`
	Minutes    float64  `toml:"minutes,omitzero" json:"minutes,omitempty"`
	Photos     []string `toml:"photos,omitempty" json:"photos,omitempty"`
}

// Machine says which machine the visit is to.
type Machine struct {
	// Netlist is "catalog:NAME", or a path from the visit's own folder.
	Netlist string `toml:"netlist"`
	Name    string `toml:"name"`
	// Fingerprint is that of the netlist's contents: see [Fingerprint].
	Fingerprint string `toml:"fingerprint"`
	// Family is "family:NAME" while the wiring is not known; the netlist is then
	// the likeliest, in whose names the notes are.
	Family string `toml:"family,omitempty"`
}

// Record is what the file holds of the visit itself.
func (v *Visit) Record() visit.Record {
	return visit.Record{Date: v.Date, Complaint: v.Complaint, Ambient: v.Ambient, Meter: v.Meter, Notes: v.Notes, After: v.After, Verdict: v.Verdict, Repair: v.Repair, Mended: v.Mended, Outside: v.Outside}
}

// SetRecord takes over what a visit has come to.
func (v *Visit) SetRecord(r visit.Record) {
	v.Date, v.Complaint, v.Ambient, v.Meter = r.Date, r.Complaint, r.Ambient, r.Meter
	v.Notes, v.After, v.Verdict, v.Repair, v.Mended, v.Outside = r.Notes, r.After, r.Verdict, r.Repair, r.Mended, r.Outside
}

// Written is the text of a file for a visit made elsewhere, to be put beside its
// netlist, whose contents have this fingerprint.
func Written(netlist, print string, c *circuit.Circuit, r visit.Record) ([]byte, error) {
	v := Visit{Format: Format, Machine: Machine{Netlist: netlist, Name: c.Name(), Fingerprint: print}}
	v.SetRecord(r)
	return Encode(v)
}

// Start takes up the visit of a file, which is written anew after every answer
// before it is weighed.
func Start(ctx context.Context, f *File, c *circuit.Circuit) (*visit.Job, error) {
	j, err := visit.Start(ctx, c, f.Record())
	if err != nil {
		return nil, err
	}
	j.Keep = func() error {
		f.SetRecord(j.Record)
		return f.Save()
	}
	return j, nil
}

// StartFamily is [Start] for a machine of unknown wiring, in a file that names its
// family. The file names the likeliest as its machine, until a cause is found.
func StartFamily(ctx context.Context, f *File, candidates []visit.Candidate, read func(*circuit.Circuit, string) ([]visit.Note, error)) (*visit.Job, error) {
	j, err := visit.StartFamily(ctx, candidates, read, f.Record(), f.Netlist())
	if err != nil {
		return nil, err
	}
	j.Keep = func() error {
		f.SetRecord(j.Record)
		if j.Candidates() == nil {
			f.Machine.Family = ""
			return f.Save()
		}
		print, err := Fingerprint(j.Circuit.Spec())
		if err != nil {
			return err
		}
		f.Machine.Netlist, f.Machine.Name, f.Machine.Fingerprint = f.named(j.Netlist()), j.Circuit.Name(), print
		return f.Save()
	}
	return j, nil
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
	b.WriteString(lastLine)
	if b.Len() > netlists.MaxBytes {
		return nil, fmt.Errorf("the visit cannot be written: it has grown beyond %d bytes", netlists.MaxBytes)
	}
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
	v.checkMended(fail)
	return errs
}

// checkMended reports what is wrong with repairs that did not end the trouble.
func (v *Visit) checkMended(fail func(path, hint, format string, args ...any)) {
	last := 0
	for i, m := range v.Mended {
		path := fmt.Sprintf("mended[%d]", i)
		switch {
		case len(m.Causes) == 0:
			fail(path, `causes = ["broil_element:open"]`, "a repair names the causes that it was to mend")
		case strings.TrimSpace(m.Done) == "":
			fail(path, "", "a repair says what was done")
		case m.Step < last:
			fail(path+".step", "", "step %d: repairs stand in order, and the one before is after step %d", m.Step, last)
		}
		last = max(last, m.Step)
	}
}

// checkOn reports which notes make no sense on the machine.
func (v *Visit) checkOn(c *circuit.Circuit, at *netlists.Positions) netlists.Errors {
	var errs netlists.Errors
	for _, list := range []struct {
		key   string
		notes []visit.Note
	}{{"notes", v.Notes}, {"after", v.After}} {
		for i, n := range list.notes {
			if err := n.Check(c); err != nil {
				path := fmt.Sprintf("%s[%d]", list.key, i)
				errs = append(errs, at.Problem(path+"."+n.Blame(c), "", err.Error()))
			}
		}
	}
	if v.Verdict != nil {
		if i, err := v.Verdict.Check(c); err != nil {
			errs = append(errs, at.Problem(fmt.Sprintf("verdict.causes[%d]", i), "", err.Error()))
		}
	}
	if v.Repair != nil {
		errs = append(errs, unknownParts(c, at, "repair", v.Repair.Parts)...)
	}
	for k, m := range v.Mended {
		errs = append(errs, unknownParts(c, at, fmt.Sprintf("mended[%d]", k), m.Parts)...)
		if i, err := (&visit.Verdict{Causes: m.Causes}).Check(c); err != nil {
			errs = append(errs, at.Problem(fmt.Sprintf("mended[%d].causes[%d]", k, i), "", err.Error()))
		}
	}
	return errs.Sorted()
}

// unknownParts reports what a repair says was replaced that the machine does not have.
func unknownParts(c *circuit.Circuit, at *netlists.Positions, path string, parts []string) (errs netlists.Errors) {
	for i, name := range parts {
		if _, err := c.FindPart(name); err != nil {
			errs = append(errs, at.Problem(fmt.Sprintf("%s.parts[%d]", path, i), "", err.Error()))
		}
	}
	return errs
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
