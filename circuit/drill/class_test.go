package drill_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit/drill"
)

func TestClassIsMarked(t *testing.T) {
	c := machine(t, "range-electronic")
	tasks := []drill.Task{{Name: "one", Circuit: c, Options: drill.Options{Number: 1}}, {Name: "two", Circuit: c, Options: drill.Options{Number: 3, Budget: 3}}}
	// Drill 1 hides the oven sensor, drill 3 the left front element.
	rows, err := drill.Run(context.Background(), tasks, []drill.Answer{
		{Learner: "A", Drill: "one", Moves: []string{"off", "prove", "dead", "ohms sensor_s1 sensor_s2 in bake", "name oven_sensor", "try off"}},
		{Learner: "B", Drill: "two", Moves: []string{"try off", "try bake", "try broil"}},
		{Learner: "A", Drill: "two", Moves: []string{"contemplate", "ohms tb_l1 tb_l2", "name lf_element"}},
	})
	if err != nil {
		t.Fatal(err)
	}
	type mark struct {
		Learner, Drill, End, Trouble string
		Tens, Skipped, Broken        int // points, in whole tens
		Answered                     bool
	}
	var got []mark
	for _, r := range rows {
		got = append(got, mark{r.Learner, r.Drill, string(r.Score.End), r.Trouble, r.Score.Points / 10, r.Skipped, len(r.Rules), r.Answered})
	}
	want := []mark{
		{Learner: "A", Drill: "one", End: "found", Tens: 5, Answered: true},
		{Learner: "A", Drill: "two", End: "found", Trouble: `move 1: unknown move "contemplate": one of amps, continuity, dead, expect, give-up, lift, lowz, name, off, ohms, on, prove, refit, try, volts`, Tens: 5, Skipped: 1, Broken: 1, Answered: true},
		{Learner: "B", Drill: "one", End: "not found"},
		{Learner: "B", Drill: "two", End: "time is up", Answered: true},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if _, err := drill.Run(context.Background(), tasks, []drill.Answer{{Learner: "A", Drill: "three"}}); err == nil {
		t.Error("an answer to a drill that the set has not: no error")
	}
}
