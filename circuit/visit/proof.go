package visit

import (
	"context"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// Proof is what shows that a repair holds, judged as far as it was made.
type Proof struct {
	*suspect.Proof
	Checks []Check
	// Left counts the checks still to make, Out those left out. Bad is set once
	// one of them came out wrong.
	Left, Out int
	Bad       bool
	// Strays are notes after the repair that answer none of the checks.
	Strays []Note

	job *Job
}

// Proved reports whether every check was made and came out sound.
func (p *Proof) Proved() bool { return !p.Bad && p.Left == 0 && p.Out == 0 }

// Check is one test of a proof.
type Check struct {
	suspect.Check
	// Look are the loads of a trial to look at: those that should be on, and
	// those that misbehaved before.
	Look    []circuit.BranchID
	Answers []Answer
	// Made says that there is an answer to all of it, Skipped that it was left
	// out, Bad that it is not as it should be.
	Made, Skipped, Bad bool
}

// Answer is a note after a repair, judged. Evidence is nil where its test was
// left out.
type Answer struct {
	Note     Note
	Evidence *suspect.Evidence
	Judgement
}

// Proof works out the checks of the verdict's repair, and judges those that
// were made.
func (j *Job) Proof(ctx context.Context) (*Proof, error) {
	mended, err := j.mended()
	if err != nil {
		return nil, err
	}
	p := &Proof{job: j}
	if p.Proof, err = j.Engine.Proof(ctx, mended); err != nil {
		return nil, err
	}
	if len(j.Repair.Parts) > 0 { // another part was in hand
		var ids []circuit.PartID
		for _, name := range j.Repair.Parts {
			if id, err := j.Circuit.FindPart(name); err == nil {
				ids = append(ids, id)
			}
		}
		p.Notes = suspect.PartNotes(j.Circuit, ids...)
	}
	return p, p.Judge()
}

// Judge judges the checks anew, by what was noted since.
func (p *Proof) Judge() error {
	j := p.job
	p.Checks, p.Strays, p.Left, p.Out, p.Bad = nil, nil, 0, 0, false
	taken := make([]bool, len(j.After))
	for _, k := range p.Proof.Checks {
		c := Check{Check: k}
		if k.Trial {
			for i, id := range k.Loads {
				if k.States[i].On() || slices.Contains(k.Bad, id) {
					c.Look = append(c.Look, id)
				}
			}
		}
		for i, n := range j.After {
			if taken[i] || !j.answers(&c, n) {
				continue
			}
			taken[i] = true
			j.After[i].Step = len(p.Checks) + 1
			a, err := j.judge(j.After[i])
			if err != nil {
				return err
			}
			c.Answers = append(c.Answers, a)
		}
		c.sum(j.Circuit)
		p.Checks = append(p.Checks, c)
		switch {
		case !c.Made:
			p.Left++
		case c.Skipped:
			p.Out++
		}
		p.Bad = p.Bad || c.Bad
	}
	for i, n := range j.After {
		if !taken[i] {
			p.Strays = append(p.Strays, n)
		}
	}
	return nil
}

// DropStrays takes back the notes that answer none of a proof's checks.
func (j *Job) DropStrays(p *Proof) {
	j.After = slices.DeleteFunc(j.After, func(n Note) bool { return slices.Contains(p.Strays, n) })
}

// answers reports whether a note is of a check.
func (j *Job) answers(c *Check, n Note) bool {
	if c.Trial {
		return n.P == "" && n.Q == "" && n.Mode == j.Circuit.Mode(c.Mode).Name
	}
	about := About(j.Circuit, c.Test)
	return n.Mode == about.Mode && n.Function == about.Function && n.P == about.P && n.Q == about.Q && n.Lifted == about.Lifted
}

// judge compares a note after the repair with a sound machine.
func (j *Job) judge(n Note) (Answer, error) {
	a := Answer{Note: n}
	if !n.Made() {
		return a, nil
	}
	ev, err := n.Evidence(j.Circuit)
	if err != nil {
		return a, err
	}
	a.Evidence = &ev
	is := j.sound
	if is == nil {
		is = soundBy(j.Engine)
	}
	a.Judgement, err = is.judge(ev)
	return a, err
}

// sum tells what the answers to a check come to. A trial is made once every
// load was looked at, or something was seen that is more than that.
func (c *Check) sum(in *circuit.Circuit) {
	looked := map[string]bool{}
	whole := len(c.Answers) > 0 && !c.Trial
	for _, a := range c.Answers {
		c.Bad = c.Bad || a.Bad
		c.Skipped = c.Skipped || !a.Note.Made()
		whole = whole || a.Note.Load == ""
		looked[a.Note.Load] = true
	}
	c.Made = whole || len(c.Answers) > 0 && !slices.ContainsFunc(c.Look, func(id circuit.BranchID) bool { return !looked[in.Branch(id).Ref] })
}

// AddAfter keeps what was seen once the repair was made.
func (j *Job) AddAfter(notes ...Note) error {
	for _, n := range notes {
		if err := n.Check(j.Circuit); err != nil {
			return err
		}
	}
	was := j.Record
	j.After = append(j.After, notes...)
	return j.keepOr(was)
}
