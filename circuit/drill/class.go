package drill

import (
	"context"
	"fmt"
	"slices"

	"legtrace/circuit"
)

// Task is a drill of a teacher's set.
type Task struct {
	Name    string
	Circuit *circuit.Circuit
	Options Options
}

// Answer is how one learner went about one drill of a set.
type Answer struct {
	Learner, Drill string
	Moves          []string
}

// Row is what came of an answer.
type Row struct {
	Learner, Drill string
	Score          Score
	// Answered is false where the learner handed nothing in.
	Answered bool
	// Trouble is the first move that was not understood or could not be made,
	// and why; Skipped counts them.
	Trouble string
	Skipped int
	// Rules lists the rules that were broken, in order.
	Rules []Rule
}

// Run plays a class's answers, each on a drill of its own, learner by learner
// in the order they first appear.
func Run(ctx context.Context, tasks []Task, answers []Answer) ([]Row, error) {
	var learners []string
	for _, a := range answers {
		if !slices.ContainsFunc(tasks, func(t Task) bool { return t.Name == a.Drill }) {
			return nil, fmt.Errorf("%s answers the drill %q, which the set has not", a.Learner, a.Drill)
		}
		if !slices.Contains(learners, a.Learner) {
			learners = append(learners, a.Learner)
		}
	}
	drills := make([]*Drill, len(tasks))
	for i, t := range tasks {
		var err error
		if drills[i], err = New(ctx, t.Circuit, t.Options); err != nil {
			return nil, fmt.Errorf("drill %q: %w", t.Name, err)
		}
	}
	var out []Row
	for _, learner := range learners {
		for i, t := range tasks {
			at := slices.IndexFunc(answers, func(a Answer) bool { return a.Learner == learner && a.Drill == t.Name })
			row := Row{Learner: learner, Drill: t.Name, Answered: at >= 0}
			var moves []string
			if at >= 0 {
				moves = answers[at].Moves
			}
			if err := row.play(ctx, drills[i], moves); err != nil {
				return nil, fmt.Errorf("%s, drill %q: %w", learner, t.Name, err)
			}
			out = append(out, row)
		}
	}
	return out, nil
}

func (row *Row) play(ctx context.Context, d *Drill, moves []string) error {
	s := d.Start()
	for i, line := range moves {
		if err := ctx.Err(); err != nil {
			return err
		}
		if s.End() != Open {
			break
		}
		m, err := Parse(d.c, line)
		var step *Step
		if err == nil {
			step, err = s.Play(m)
		}
		switch {
		case err != nil:
			if row.Skipped++; row.Trouble == "" {
				row.Trouble = fmt.Sprintf("move %d: %v", i+1, err)
			}
		case step.Unsafe != nil:
			row.Rules = append(row.Rules, step.Unsafe.Rule)
		}
	}
	var err error
	row.Score, err = s.Score(ctx)
	return err
}
