package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit/suspect"
	"legtrace/render/report"
)

// proof is what shows that a repair holds, as far as it was made.
type proof struct {
	Checks []check
	// Said sums it up, once every check is made or left out; Bad is set where
	// something is still wrong, and Rest then holds what it may be.
	Said string
	Bad  bool
	Rest []report.Explanation
	// Unproved is what none of the checks would show.
	Unproved string
	// Wrong tells which notes are no answers to any check.
	Wrong []string

	noted []noted
	after []Noted
}

// check is one test of a proof.
type check struct {
	proposal
	// Made says that there is an answer, Skipped that it was left out. Notes are
	// the answers as an address has them.
	Made, Skipped, Bad bool
	Notes              []string
	// Seen is what came out, where that is not as it should be; Points is what
	// it would point to.
	Seen   []string
	Points string

	// A trial is made once every load was looked at, or something was seen that
	// is more than that: then it is whole.
	whole  bool
	looked map[string]bool
}

// prove works out the checks of a repair, and judges those that were made.
func (b *bench) prove(ctx context.Context, v *visit, after []string) (*proof, error) {
	p := &proof{}
	tests, err := v.engine.Proof(ctx, v.finding.Mended())
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		p.Said = "No proof can be worked out: " + err.Error() + "."
		return p, nil
	}
	taken := make([]bool, len(after))
	for i := range tests.Checks {
		c, err := b.check(v.engine, &tests.Checks[i])
		if err != nil {
			return nil, err
		}
		for j, text := range after {
			n, skipped, err := readNote(text)
			if taken[j] || err != nil || !answers(c, n) {
				continue
			}
			taken[j] = true
			one, bad, err := b.checked(v.engine, n, skipped)
			if err != nil {
				p.Wrong = append(p.Wrong, err.Error())
				continue
			}
			c.Skipped, c.Bad = c.Skipped || skipped, c.Bad || bad
			c.Notes = append(c.Notes, text)
			c.whole = c.whole || skipped || n.Load == ""
			c.looked[n.Load] = true
			if bad {
				c.Seen = append(c.Seen, b.Seen(*one.Evidence))
			}
			p.noted = append(p.noted, one)
			p.after = append(p.after, Noted{Note: n, Step: i + 1, Skipped: skipped})
		}
		c.Made = c.whole || len(c.Notes) > 0 && !slices.ContainsFunc(c.Loads, func(l report.Named) bool { return !c.looked[l.Ref] })
		p.Checks = append(p.Checks, c)
	}
	for j, text := range after {
		if !taken[j] {
			p.Wrong = append(p.Wrong, fmt.Sprintf("%q is the answer to none of the checks", text))
		}
	}
	p.Unproved = some(tests.Unproved)
	return p, b.sumUp(ctx, p)
}

// check puts a check of a proof in words.
func (b *bench) check(e *suspect.Engine, c *suspect.Check) (check, error) {
	t, err := b.NextTest(e, &suspect.Proposal{Test: c.Test, Loads: c.Loads})
	if err != nil {
		return check{}, err
	}
	if c.Trial { // what should be on is looked at
		t.Loads = nil
		for i, id := range c.Loads {
			if i < len(c.States) && c.States[i].On() {
				t.Loads = append(t.Loads, report.Named{Ref: b.c.Branch(id).Ref, Label: b.c.Label(id)})
			}
		}
	}
	return check{proposal: b.propose(t, c.Test), Points: some(c.Shows), looked: map[string]bool{}}, nil
}

// answers reports whether a note is of a check.
func answers(c check, n suspect.Note) bool {
	if c.Trial {
		return n.P == "" && n.Q == "" && n.Mode == c.Mode.Name
	}
	n.Answer = ""
	return strings.TrimSuffix(writeNote(n), sep) == c.Test
}

// checked resolves a check's answer, and compares it with a sound machine.
func (b *bench) checked(e *suspect.Engine, n suspect.Note, skipped bool) (noted, bool, error) {
	test, err := testOf(b.c, n)
	one := noted{n, report.RecordedNote{Test: test}}
	if err != nil || skipped {
		return one, false, err
	}
	ev, err := n.Resolve(b.c)
	if err != nil {
		return one, false, err
	}
	one.Evidence = &ev
	_, bad, err := b.Against(e, ev)
	return one, bad, err
}

// sumUp says what a proof has come to.
func (b *bench) sumUp(ctx context.Context, p *proof) error {
	left, out := 0, 0
	for _, c := range p.Checks {
		switch {
		case !c.Made:
			left++
		case c.Skipped:
			out++
		}
		p.Bad = p.Bad || c.Bad
	}
	switch {
	case p.Bad:
		p.Said = "The repair is not proved: something is still wrong. By what was seen since, it may be"
		return b.afresh(ctx, p)
	case left > 0:
		p.Said = fmt.Sprintf("%d of %d checks to go.", left, len(p.Checks))
	case out > 0:
		p.Said = fmt.Sprintf("Good as far as it was checked; %d left out.", out)
	default:
		p.Said = "Proved: all is as it should be."
	}
	return nil
}

// afresh weighs what was seen since the repair by itself.
func (b *bench) afresh(ctx context.Context, p *proof) error {
	e, err := suspect.New(b.c, suspect.Options{})
	if err != nil {
		return err
	}
	for _, n := range p.noted {
		if n.Evidence == nil {
			continue
		}
		if err := e.Add(ctx, *n.Evidence); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			return err
		}
	}
	const most = 4
	d, err := b.Suspects(ctx, e, suspect.NewProgress(), report.SuspectsOptions{Most: most, Tests: 1})
	if err != nil {
		return err
	}
	p.Rest = d.Suspects
	return nil
}

// some names a few, and says how many more there are.
func some(list []suspect.Named) string {
	const most = 4
	var names []string
	for i, n := range list {
		if i == most {
			names = append(names, fmt.Sprintf("and %d more", len(list)-most))
			break
		}
		names = append(names, n.Label)
	}
	return strings.Join(names, ", ")
}
