package drill_test

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/drill"
)

func TestClassIsMarked(t *testing.T) {
	c := machine(t, "range-electronic")
	tasks := []drill.Task{{Name: "one", Circuit: c, Options: drill.Options{Number: 1}}, {Name: "two", Circuit: c, Options: drill.Options{Number: 3, Budget: 9}}}
	// Drill 1 hides the oven sensor, drill 3 the left front element.
	rows, err := drill.Run(context.Background(), tasks, []drill.Answer{
		{Learner: "A", Drill: "one", Moves: []string{"off", "prove", "dead", "ohms sensor_s1 sensor_s2 in bake", "name oven_sensor", "try off"}},
		{Learner: "B", Drill: "two", Moves: slices.Repeat([]string{"try off", "try bake", "try broil"}, 4)},
		{Learner: "A", Drill: "two", Moves: []string{"contemplate", "ohms tb_l1 tb_l2", "off", "prove", "dead", "name lf_element"}},
	}, drill.Patience)
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
		{Learner: "A", Drill: "one", End: "found", Tens: 9, Answered: true},
		{Learner: "A", Drill: "two", End: "found", Trouble: `move 1: unknown move "contemplate": one of amps, continuity, dead, expect, give-up, lift, lowz, name, off, ohms, on, prove, refit, try, volts`, Tens: 2, Skipped: 1, Broken: 1, Answered: true},
		{Learner: "B", Drill: "one", End: "not found"},
		{Learner: "B", Drill: "two", End: "time is up", Answered: true},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if _, err := drill.Run(context.Background(), tasks, []drill.Answer{{Learner: "A", Drill: "three"}}, drill.Patience); err == nil {
		t.Error("an answer to a drill that the set has not: no error")
	}
}

// A drill, its key and a class's marks are given up where they take more work than
// is allowed, and it is said of which; each answer has as much as the first.
func TestDrillsAreGivenUpWhereTheyTakeTooMuch(t *testing.T) {
	c := heater(t)
	making := func(ctx context.Context) error {
		_, err := drill.New(ctx, c, drill.Options{Number: 1})
		return err
	}
	for patience, want := range map[int]error{0: circuit.ErrPatience, 1: nil} {
		if err := drill.Within(t.Context(), patience, making); !errors.Is(err, want) {
			t.Errorf("made within %d thousand solutions: %v", patience, err)
		}
	}
	tasks := []drill.Task{{Name: "one", Circuit: c, Options: drill.Options{Number: 1}}}
	if _, err := drill.Keys(t.Context(), tasks, 0); !errors.Is(err, circuit.ErrPatience) || !strings.Contains(err.Error(), `drill "one"`) {
		t.Errorf("the key says %v", err)
	}
	var answers []drill.Answer
	for i := range 20 {
		answers = append(answers, drill.Answer{Learner: strconv.Itoa(i), Drill: "one", Moves: []string{"give-up"}})
	}
	const enough = 5
	one := 0
	if err := drill.Within(circuit.WithWork(t.Context(), func(_, all int) { one += all }), drill.Patience, func(ctx context.Context) error {
		_, err := drill.Run(ctx, tasks, answers, enough)
		return err
	}); err != nil || one < enough*1000 {
		t.Errorf("twenty answers took %d solutions: %v", one, err)
	}
}

// A relay that cuts its own coil off buzzes for ever: what it does is looked at all
// the same, faults are hidden in it, and the best plan comes to an end.
func TestADrillOnAMachineThatInterruptsItself(t *testing.T) {
	m := circuittest.SinglePhase(120).Switch("call").Relay("buzzer", "nc", 120, 4).Load("lamp", "lamp", 120, 40).Load("lamp", "steady", 120, 25)
	m.Series("supply.L1", "call", "buzzer:com>nc", "buzzer:A1>A2", "supply.N").Series("buzzer.A1", "lamp", "supply.N").Series("supply.L1", "steady", "supply.N")
	c := m.Mode("off").Mode("on", "call", "closed").Build(t)
	for number := range uint64(8) {
		err := drill.Within(t.Context(), drill.Patience, func(ctx context.Context) error {
			d, err := drill.New(ctx, c, drill.Options{Level: drill.Master, Number: number})
			if err != nil {
				return err
			}
			if len(d.Complaint().Said) == 0 {
				t.Errorf("drill %d: nobody complains", number)
			}
			best, err := d.Best(ctx)
			if err == nil && best.End() == drill.Open {
				t.Errorf("drill %d: the best plan has no end", number)
			}
			return err
		})
		if err != nil {
			t.Errorf("drill %d: %v", number, err)
		}
	}
}
