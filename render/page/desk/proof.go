package desk

import (
	"context"
	"fmt"
	"slices"

	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/render/report"
)

// proof is what shows that a repair holds, as far as it was made.
type proof struct {
	Checks []check
	// Said sums it up; Bad is set where something is still wrong, Ended where that
	// is not so and no check is left.
	Said       string
	Bad, Ended bool
	// Astray is said of a repair of what was not named.
	Astray string
	// Before belongs between the repair and the supply.
	Before []string
	// Unproved is what none of the checks would show.
	Unproved string
	// Wrong tells which notes are no answers to any check.
	Wrong []string
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
}

// prove works out the checks of a repair, and judges those that were made.
func (b *bench) prove(ctx context.Context, j *visit.Job, after []string) (*proof, error) {
	p := &proof{Astray: report.AstrayWords(b.c, j)}
	for _, line := range after {
		n, err := visit.ParseLine(line)
		if err == nil {
			err = j.AddAfter(n)
		}
		if err != nil {
			p.Wrong = append(p.Wrong, err.Error())
		}
	}
	made, err := j.Proof(ctx)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		p.Said = "No proof can be worked out: " + err.Error() + "."
		return p, nil
	}
	for i := range made.Checks {
		c, err := b.check(j.Engine, &made.Checks[i])
		if err != nil {
			return nil, err
		}
		p.Checks = append(p.Checks, c)
	}
	for _, n := range made.Strays {
		p.Wrong = append(p.Wrong, fmt.Sprintf("%q is the answer to none of the checks", n.Line()))
	}
	j.DropStrays(made)
	if !slices.ContainsFunc(p.Checks, func(c check) bool { return c.Made && (c.Live || c.Trial) }) {
		p.Before = report.BeforePower(made) // power is on else
	}
	p.Said, p.Bad, p.Ended, p.Unproved = report.ProofWords(made), made.Bad, !made.Bad && made.Left == 0, report.Unproved(made)
	return p, nil
}

// check puts a check of a proof in words.
func (b *bench) check(e *suspect.Engine, c *visit.Check) (check, error) {
	t, err := b.CheckTest(e, c)
	if err != nil {
		return check{}, err
	}
	p, err := b.propose(e, t, c.Test)
	if err != nil {
		return check{}, err
	}
	out := check{proposal: p, Made: c.Made, Skipped: c.Skipped, Bad: c.Bad, Points: report.PointsTo(c)}
	for _, a := range c.Answers {
		out.Notes = append(out.Notes, a.Note.Line())
		if a.Bad {
			out.Seen = append(out.Seen, b.Seen(*a.Evidence))
		}
	}
	return out, nil
}
