// Package visit carries one job from the complaint to the proof of its repair.
//
// [Start] takes up a [Record], what a visit has come to so far, and gives a
// [Job]. [Job.Add] notes what was seen, measured or left out; [Job.Next] tells
// which tests to make next, or that it is sure; [Job.Conclude] names the cause
// and what was done about it; [Job.Proof] has the checks that show that the
// repair holds, judged as far as they were made. [Complaint] and [Reading] read
// what people write.
//
// Whoever leads through a visit, on a terminal or on a page, has only words and
// widgets to add. A new kind of thing to note is a line in the table of note.go.
package visit

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Record is what a visit has come to so far.
type Record struct {
	// Date is the day, as 2026-05-01; Complaint is what the customer said.
	Date, Complaint string
	// Ambient is the temperature in Celsius where the cold machine stands; 0
	// means room temperature.
	Ambient float64
	// Meter is the one in hand; nil means an ordinary one.
	Meter *Meter
	// Notes is what was seen before the repair, After what was seen since.
	Notes, After []Note
	// Verdict and Repair are nil while there is none.
	Verdict *Verdict
	Repair  *Repair
	// Mended are the repairs made before, in order, that did not end the trouble.
	Mended []Mended
	// Outside is what was seen from outside of a machine of unknown wiring.
	Outside []Seen
}

// Meter tells where the instrument in hand differs from the ordinary one; 0
// means as the ordinary one.
type Meter struct {
	Name           string  `toml:"name,omitempty"`
	InputOhms      float64 `toml:"input_ohms,omitzero"`
	LowZOhms       float64 `toml:"lowz_ohms,omitzero"`
	ContinuityOhms float64 `toml:"continuity_ohms,omitzero"`
	MaxOhms        float64 `toml:"max_ohms,omitzero"`
	LeadOhms       float64 `toml:"lead_ohms,omitzero"`
	Counts         float64 `toml:"counts,omitzero"`
	VoltsPercent   float64 `toml:"volts_percent,omitzero"`
	OhmsPercent    float64 `toml:"ohms_percent,omitzero"`
	AmpsPercent    float64 `toml:"amps_percent,omitzero"`
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
	// Parts are what was replaced or mended, where none of it is what the verdict
	// names.
	Parts []string `toml:"parts,omitempty"`
}

// Mended is a repair that did not end the trouble. The notes go on after it.
type Mended struct {
	// Step is the last answer's before the repair.
	Step   int      `toml:"step,omitzero"`
	Causes []string `toml:"causes"`
	Words  string   `toml:"words,omitempty"`
	Done   string   `toml:"done"`
	Parts  []string `toml:"parts,omitempty"` // as of [Repair]
}

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
		{m.MaxOhms, &in.MaxOhms}, {m.LeadOhms, &in.LeadOhms}, {m.Counts, &in.Counts}, {m.VoltsPercent, &in.VoltsAcc.Percent},
		{m.OhmsPercent, &in.OhmsAcc.Percent}, {m.AmpsPercent, &in.AmpsAcc.Percent},
	} {
		if f.given != 0 {
			*f.into = f.given
		}
	}
	return in
}

// Job is a visit under way: its record, and the engine that weighs it.
type Job struct {
	Record
	Circuit  *circuit.Circuit
	Engine   *suspect.Engine
	Progress *suspect.Progress
	// Keep, when set, is called after the record changed and before the engine
	// learns of it, so that nothing noted is lost.
	Keep func() error
	// Anyway says that tests are wanted though nothing that was said is a fault.
	Anyway bool
	// noteOf tells, by piece of evidence, which note gave it.
	noteOf []int
	family *Family // nil where the machine is known
	sound  *sound  // nil where the engine is asked
}

// Start weighs what a visit holds so far.
func Start(ctx context.Context, c *circuit.Circuit, rec Record) (*Job, error) {
	j := &Job{Record: rec, Circuit: c}
	return j, j.weighAll(ctx)
}

// Options are those of the visit's engine.
func (j *Job) Options() suspect.Options {
	return suspect.Options{Instrument: j.Meter.Instrument(), Ambient: j.Ambient}
}

func (j *Job) keep() error {
	if j.Keep == nil {
		return nil
	}
	return j.Keep()
}

// keepOr is keep; where that fails the record is again what it was, as the engine
// knows no more.
func (j *Job) keepOr(was Record) error {
	err := j.keep()
	if err != nil {
		j.Record = was
	}
	return err
}

func (j *Job) weighAll(ctx context.Context) error {
	if j.family != nil {
		led := j.Circuit
		if err := j.family.weighAll(ctx, j); err != nil || led == nil || j.Circuit == led {
			return err
		}
		return j.keep() // in the names of another
	}
	var err error
	if j.Engine, err = suspect.New(j.Circuit, j.Options()); err != nil {
		return err
	}
	j.Progress, j.noteOf = suspect.NewProgress(), nil
	for i := range j.Notes {
		if err := j.weigh(ctx, i); err != nil {
			return err
		}
	}
	return nil
}

// weigh puts one note to the engine. That nothing fits is no error here:
// [suspect.Engine.Misfit] tells.
func (j *Job) weigh(ctx context.Context, at int) error {
	n := j.Notes[at]
	if n.testless() {
		return j.learn(ctx, at)
	}
	test, err := n.Test(j.Circuit)
	if err != nil {
		return err
	}
	switch {
	case n.Unreachable != "":
		place, err := j.Circuit.FindPlace(n.Unreachable)
		if err != nil {
			return err
		}
		j.Progress.CannotReach(j.Circuit, place)
		return nil
	case n.Skipped:
		j.Progress.Skip(j.Circuit, test)
		return nil
	}
	if n.Quiet == "" {
		j.Progress.Did(j.Circuit, test)
	}
	if n.Trips || n.Chatters { // the loads of that mode are not looked at after it
		j.Progress.Skip(j.Circuit, test)
	}
	return j.learn(ctx, at)
}

// learn weighs what a note says.
func (j *Job) learn(ctx context.Context, at int) error {
	ev, err := j.Notes[at].Evidence(j.Circuit)
	if err != nil {
		return err
	}
	if ev.Mended, err = j.mendedBefore(j.Notes[at].Step); err != nil {
		return err
	}
	j.noteOf = append(j.noteOf, at)
	if err := j.Engine.Add(ctx, ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
		return err
	}
	return nil
}

// NextStep numbers a new answer.
func (j *Job) NextStep() int {
	step := 0
	for _, n := range j.Notes {
		step = max(step, n.Step)
	}
	for _, m := range j.Mended {
		step = max(step, m.Step)
	}
	return step + 1
}

// Add checks notes, keeps them under their step, or a new one, and weighs them.
func (j *Job) Add(ctx context.Context, notes ...Note) error {
	was, step := j.Record, j.NextStep()
	from := len(j.Notes)
	for _, n := range notes {
		if err := n.Check(j.Circuit); err != nil {
			j.Record = was
			return err
		}
		if n.Step == 0 {
			n.Step = step
		}
		j.Notes = append(j.Notes, n)
	}
	if err := j.keepOr(was); err != nil {
		return err
	}
	if j.family != nil {
		led := j.Circuit
		if err := j.family.add(ctx, j, from); err != nil || j.Circuit == led {
			return err
		}
		return j.keep() // in the names of another
	}
	for i := from; i < len(j.Notes); i++ {
		if err := j.weigh(ctx, i); err != nil {
			return err
		}
	}
	return nil
}

// Undo takes the last answer back, all of its step, and what was concluded.
func (j *Job) Undo(ctx context.Context) ([]Note, error) {
	was := j.Record
	if n := len(j.Outside); n > 0 && len(j.Notes) == 0 {
		j.Outside = slices.Clone(j.Outside[:n-1])
		if err := j.keepOr(was); err != nil {
			return nil, err
		}
		return nil, j.weighAll(ctx)
	}
	if len(j.Notes) == 0 {
		return nil, errors.New("there is nothing to take back")
	}
	from := len(j.Notes) - 1
	for step := j.Notes[from].Step; step != 0 && from > 0 && j.Notes[from-1].Step == step; {
		from--
	}
	taken := slices.Clone(j.Notes[from:])
	j.Notes = slices.Clone(j.Notes[:from])
	j.Verdict, j.Repair, j.After = nil, nil, nil
	j.forgetMended()
	if err := j.keepOr(was); err != nil {
		return nil, err
	}
	return taken, j.weighAll(ctx)
}

// ErrNoCause is returned where nothing was found that a repair would mend.
var ErrNoCause = errors.New("nothing was found wrong, so there is no verdict")

// Conclude names a finding as the verdict, with what was done about it, and of what
// parts those words speak.
func (j *Job) Conclude(f suspect.Finding, done string, parts ...circuit.PartID) error {
	f = f.ToMend()
	v := &Verdict{Words: f.Words(), Chance: math.Round(f.P*1e4) / 1e4, Causes: f.Causes(j.Circuit)}
	if len(v.Causes) == 0 {
		return ErrNoCause
	}
	j.Verdict, j.Repair = v, &Repair{Done: done}
	astray, err := j.Astray(f, parts)
	if err != nil {
		return err
	}
	for _, id := range parts {
		if astray {
			j.Repair.Parts = append(j.Repair.Parts, j.Circuit.Part(id).Name)
		}
	}
	j.family = nil // the repair, and its proof, are of the one that leads
	return j.keep()
}

// Check reports a cause that is none of a machine's.
func (v *Verdict) Check(c *circuit.Circuit) (at int, err error) {
	for i, cause := range v.Causes {
		for _, one := range strings.Split(cause, suspect.Either) {
			if _, err := parseCause(c, one); err != nil {
				return i, err
			}
		}
	}
	return 0, nil
}

// Faults reads a verdict's causes, each by its first.
func (v *Verdict) Faults(c *circuit.Circuit) ([]circuit.Fault, error) {
	var out []circuit.Fault
	for _, cause := range v.Causes {
		first, _, _ := strings.Cut(cause, suspect.Either)
		f, err := parseCause(c, first)
		if err != nil {
			return nil, err
		}
		out = append(out, f...)
	}
	return out, nil
}

func parseCause(c *circuit.Circuit, cause string) ([]circuit.Fault, error) {
	var out []circuit.Fault
	for _, ref := range strings.Split(cause, suspect.Together) {
		f, err := c.ParseFault(strings.TrimSpace(ref))
		if err != nil {
			return nil, err
		}
		out = append(out, f...)
	}
	return out, nil
}

// mended are the engine's classes that the verdict names.
func (j *Job) mended() ([]suspect.Class, error) {
	if j.Verdict == nil {
		return nil, errors.New("a proof needs a verdict first")
	}
	var out []suspect.Class
	for _, cause := range j.Verdict.Causes {
		k, ok := j.class(cause)
		if !ok {
			return nil, fmt.Errorf("the verdict's cause %q is none that is considered", cause)
		}
		out = append(out, k)
	}
	return out, nil
}

// class finds the engine's class that a verdict's cause begins with.
func (j *Job) class(cause string) (suspect.Class, bool) {
	first, _, _ := strings.Cut(cause, suspect.Either)
	const looked = 2000
	for _, s := range j.Engine.Suspects(looked) {
		for _, k := range s.Causes {
			if slices.Contains(k.Refs(j.Circuit), first) {
				return k, true
			}
		}
	}
	f, err := parseCause(j.Circuit, first)
	if err != nil {
		return suspect.Class{}, false
	}
	return suspect.Class{Members: []suspect.Cause{{Faults: f, Label: j.Circuit.Describe(f[0])}}}, true
}
