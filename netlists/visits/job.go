package visits

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// Job is a visit under way: the file, and the engine that weighs it. Every
// change is on disk before the engine sees it.
type Job struct {
	*File
	Circuit  *circuit.Circuit
	Engine   *suspect.Engine
	Progress *suspect.Progress
	// noteOf tells, by piece of evidence, which note gave it.
	noteOf []int
}

// Start weighs what a visit holds so far.
func Start(ctx context.Context, f *File, c *circuit.Circuit) (*Job, error) {
	j := &Job{File: f, Circuit: c}
	return j, j.weighAll(ctx)
}

func (j *Job) options() suspect.Options {
	return suspect.Options{Instrument: j.Meter.Instrument(), Ambient: j.Ambient}
}

func (j *Job) weighAll(ctx context.Context) error {
	var err error
	if j.Engine, err = suspect.New(j.Circuit, j.options()); err != nil {
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
	test, err := n.Test(j.Circuit)
	if err != nil {
		return err
	}
	switch {
	case n.Unreachable != "":
		place, err := suspect.FindPlace(j.Circuit, n.Unreachable)
		if err != nil {
			return err
		}
		j.Progress.CannotReach(j.Circuit, place)
		return nil
	case n.Skipped:
		j.Progress.Skip(j.Circuit, test)
		return nil
	}
	ev, err := Evidence(j.Circuit, n.Seen())
	if err != nil {
		return err
	}
	j.Progress.Did(j.Circuit, test)
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
	return step + 1
}

// Add checks notes, writes them down under their step, and weighs them.
func (j *Job) Add(ctx context.Context, notes ...Note) error {
	for _, n := range notes {
		if err := n.Check(j.Circuit); err != nil {
			return err
		}
	}
	from := len(j.Notes)
	j.Notes = append(j.Notes, notes...)
	if err := j.Save(); err != nil {
		return err
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
	if err := j.Save(); err != nil {
		return nil, err
	}
	return taken, j.weighAll(ctx)
}

// Misfit returns the note that fits nothing together with the others, by its
// place in Notes, or -1.
func (j *Job) Misfit() int {
	if i := j.Engine.Misfit(); i >= 0 {
		return j.noteOf[i]
	}
	return -1
}

// Conclude writes a finding down as the verdict.
func (j *Job) Conclude(f suspect.Finding) error {
	v := &Verdict{Words: f.Words(), Chance: math.Round(f.P*1e4) / 1e4, Causes: f.Causes(j.Circuit)}
	if len(v.Causes) == 0 {
		return errors.New("nothing was found wrong, so there is no verdict")
	}
	j.Verdict = v
	return j.Save()
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

// Proof works out what shows that the verdict's repair holds.
func (j *Job) Proof(ctx context.Context) (*suspect.Proof, error) {
	if j.Verdict == nil {
		return nil, errors.New("a proof needs a verdict first")
	}
	var mended []suspect.Class
	for _, cause := range j.Verdict.Causes {
		k, ok := j.class(cause)
		if !ok {
			return nil, fmt.Errorf("the verdict's cause %q is none that is considered", cause)
		}
		mended = append(mended, k)
	}
	return j.Engine.Proof(ctx, mended)
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

// AddAfter writes down what was seen once the repair was made.
func (j *Job) AddAfter(notes ...Note) error {
	for _, n := range notes {
		if err := n.Check(j.Circuit); err != nil {
			return err
		}
	}
	j.After = append(j.After, notes...)
	return j.Save()
}

// Afresh weighs what was seen after the repair by itself: what is wrong now.
func (j *Job) Afresh(ctx context.Context) (*suspect.Engine, error) {
	e, err := suspect.New(j.Circuit, j.options())
	if err != nil {
		return nil, err
	}
	for _, n := range j.After {
		if !n.Made() {
			continue
		}
		ev, err := Evidence(j.Circuit, n.Seen())
		if err != nil {
			return nil, err
		}
		if err := e.Add(ctx, ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			return nil, err
		}
	}
	return e, nil
}
