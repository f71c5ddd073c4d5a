package drill_test

import (
	"context"
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/drill"
	"legtrace/netlists"
)

// On any machine, at any level, the best plan finds the fault without an unsafe
// act, within the tests it may make, and every story has something to say.
func TestBestPlanEndsOnEveryMachine(t *testing.T) {
	if testing.Short() {
		t.Skip("plays a drill on each machine of the catalog")
	}
	ctx := context.Background()
	for i, e := range netlists.Catalog() {
		if strings.Count(e.Name, "-") > 1 || !circuittest.Sampled(i, 3) {
			continue // a variant of one before it, or left to the nightly run
		}
		opt := drill.Options{Level: drill.Level(1 + i%3), Faults: 1 + i%2, Number: uint64(i)}
		d, err := drill.New(ctx, machine(t, e.Name), opt)
		if errors.Is(err, drill.ErrNothingShows) && opt.Faults > 1 {
			continue // too small for two faults that both show
		}
		if err != nil {
			t.Errorf("%s: %v", e.Name, err)
			continue
		}
		checkBest(t, e.Name, d)
	}
}

// A listed point may be a wire to clamp; what the clamp shows is learnt from.
func TestBestPlanClampsAWire(t *testing.T) {
	for faults := 1; faults <= 2; faults++ {
		d, err := drill.New(context.Background(), machine(t, "kiln"), drill.Options{Level: drill.Master, Faults: faults, Number: 5})
		if err != nil {
			t.Fatal(err)
		}
		checkBest(t, "kiln", d)
	}
}

func TestBestPlanEndsOnRandomMachines(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c, problems := circuit.Build(circuittest.Random(rt, circuittest.Options{}))
		if c == nil {
			rt.Skip(problems)
		}
		opt := drill.Options{Level: drill.Level(rapid.IntRange(1, 3).Draw(rt, "level")), Number: rapid.Uint64Range(0, 9).Draw(rt, "number")}
		d, err := drill.New(context.Background(), c, opt)
		if errors.Is(err, drill.ErrNothingShows) {
			rt.Skip()
		}
		if err != nil {
			rt.Fatal(err)
		}
		checkBest(rt, "random", d)
	})
}

func checkBest(t rapid.TB, name string, d *drill.Drill) {
	ctx := context.Background()
	opt := d.Options()
	best, err := d.Best(ctx)
	if err != nil {
		t.Errorf("%s, level %d, number %d, %s: %v", name, opt.Level, opt.Number, d.Hidden()[0].Cause.Label, err)
		return
	}
	f := best.Figures()
	if best.End() != drill.Found || f.Unsafe > 0 || f.Minutes < 0 {
		t.Errorf("%s, level %d, number %d, %s: %s, %+v", name, opt.Level, opt.Number, d.Hidden()[0].Cause.Label, best.End(), f)
	}
	why, err := best.Explain(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range why.Faults {
		said := strings.Join(s.Said, " ")
		if said == "" || strings.Contains(said, "NaN") || strings.Contains(said, "%!") {
			t.Errorf("%s, %s: %q", name, s.Fault, said)
		}
	}
	score, err := best.Score(ctx)
	if err != nil || score.Points != 100 {
		t.Errorf("%s: the best plan itself has %d points, error %v", name, score.Points, err)
	}
}
