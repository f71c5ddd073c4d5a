package suspect_test

import (
	"context"
	"testing"

	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// A glow igniter that still glows is told by what it draws: its ohms cold are
// anything from 40 to 110 (common practice, no source).
func TestAClampTellsATiredIgniter(t *testing.T) {
	c := machine(t, "oven-gas")
	e := engine(t, c, suspect.Options{},
		suspect.Note{Load: "bake_valve", State: "dead", Mode: "bake"},
		suspect.Note{Load: "bake_igniter", State: "normal", Mode: "bake"})
	next, err := e.Next(context.Background(), nil, 40)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range next {
		if p.Probes.Function == meter.Amps {
			if p.Probing() && p.Live && len(p.Outcomes) > 1 {
				return
			}
			t.Errorf("the clamp tells %d things, live %v", len(p.Outcomes), p.Live)
		}
	}
	t.Error("no clamp is proposed")
}

// What glows and does not open its valve is clamped first: nothing is taken apart for it, and
// a worn igniter is what it mostly is (common practice, no source).
func TestWhatGlowsIsClampedFirst(t *testing.T) {
	for _, burner := range []string{"bake", "broil"} {
		e := engine(t, machine(t, "oven-gas"), suspect.Options{},
			suspect.Note{Load: burner + "_valve", State: "dead", Mode: burner},
			suspect.Note{Load: burner + "_igniter", State: "normal", Mode: burner})
		next, err := e.Next(context.Background(), nil, 1)
		if err != nil {
			t.Fatal(err)
		}
		if len(next) == 0 || next[0].Probes.Function != meter.Amps {
			t.Errorf("%s: first %+v", burner, next)
		}
	}
}
