package drill

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Task is a drill of a teacher's set.
type Task struct {
	Name    string
	Circuit *circuit.Circuit
	Options Options
	// Faults are what the teacher hides; none leaves it to be drawn.
	Faults []circuit.Fault
}

// Drill makes the task's drill.
func (t *Task) Drill(ctx context.Context) (*Drill, error) {
	d, err := t.drill(ctx)
	if err != nil {
		return nil, fmt.Errorf("drill %q: %w", t.Name, err)
	}
	return d, nil
}

func (t *Task) drill(ctx context.Context) (*Drill, error) {
	if len(t.Faults) > 0 {
		return With(t.Circuit, t.Options, t.Faults)
	}
	return New(ctx, t.Circuit, t.Options)
}

// within is [Within] of what is done with a task.
func (t *Task) within(ctx context.Context, patience int, do func(context.Context) error) error {
	if err := Within(ctx, patience, do); err != nil {
		return fmt.Errorf("drill %q: %w", t.Name, err)
	}
	return nil
}

// Key is what a teacher knows of a task: its drill, and how the best plan goes.
type Key struct {
	Task  Task
	Drill *Drill
	Best  Figures
	Moves []string
}

// Keys works out the key of each task, within so many thousand solutions for each.
func Keys(ctx context.Context, tasks []Task, patience int) ([]Key, error) {
	var out []Key
	for _, t := range tasks {
		err := t.within(ctx, patience, func(ctx context.Context) error {
			d, err := t.drill(ctx)
			if err != nil {
				return err
			}
			best, err := d.Best(ctx)
			if err != nil {
				return err
			}
			out = append(out, Key{t, d, best.Figures(), best.told()})
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}

// told is what was done and what came of it, a line each.
func (s *Session) told() []string {
	var out []string
	for _, step := range s.steps {
		out = append(out, fmt.Sprintf("%s: %s", step.Move.Words(s.d.c), strings.Join(step.Said, " ")))
	}
	return out
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
	// Novelty is how new the drill was to the learner, Kind of what kind its
	// first fault is.
	Novelty Novelty
	Kind    string
	// Rules lists the rules that were broken, in order.
	Rules []Rule
}

// Run plays a class's answers, each on a drill of its own, learner by learner
// in the order they first appear, within so many thousand solutions for each.
func Run(ctx context.Context, tasks []Task, answers []Answer, patience int) ([]Row, error) {
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
		err := t.within(ctx, patience, func(ctx context.Context) (err error) {
			drills[i], err = t.drill(ctx)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	var out []Row
	for _, learner := range learners {
		var met Met
		for i, t := range tasks {
			at := slices.IndexFunc(answers, func(a Answer) bool { return a.Learner == learner && a.Drill == t.Name })
			row := Row{Learner: learner, Drill: t.Name, Answered: at >= 0}
			var moves []string
			if at >= 0 {
				moves = answers[at].Moves
			}
			err := t.within(ctx, patience, func(ctx context.Context) error {
				return row.play(ctx, drills[i], moves)
			})
			if err != nil {
				return nil, fmt.Errorf("%s: %w", learner, err)
			}
			row.Kind = drills[i].kind(drills[i].hidden[0])
			if row.Answered {
				row.Novelty = met.Add(drills[i])
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
