package suspect_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"legtrace/circuit/suspect"
)

// What an engine keeps from piece to piece of evidence, on a machine of so many
// classes that not all pairs are weighed, changes nothing: one that keeps nothing
// says the same. The meter's tests are of a real job's kind (common practice, no
// source).
func TestWhatIsKeptBetweenPiecesChangesNothing(t *testing.T) {
	c := machine(t, "range-slide-in")
	with, err := suspect.New(c, suspect.Options{Order: 2, MeterOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	without, err := suspect.New(c, suspect.Options{Order: 2, MeterOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []suspect.Note{
		{Mode: "cooling", Load: "cooling_fan", State: "dead"},
		{Mode: "drawer", Load: "drawer_pilot", State: "dead"},
		{Mode: "drawer", Load: "drawer_element", State: "normal"},
		{Mode: "broil", Load: "broil_element", State: "normal"},
		{Mode: "bake", Function: "ohms", P: "drawer_pilot.1", Q: "drawer_pilot.2", Answer: "1290"},
		{Mode: "broil", Load: "cooling_fan", State: "dead"},
	} {
		ev, err := n.Resolve(c)
		if err != nil {
			t.Fatal(err)
		}
		without.Forgetful()
		for _, e := range []*suspect.Engine{with, without} {
			if err := e.Add(context.Background(), ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
				t.Fatal(err)
			}
		}
		a, b := with.Suspects(200), without.Suspects(200)
		if len(a) != len(b) {
			t.Fatalf("after %+v: %d suspects, keeping nothing %d", n, len(a), len(b))
		}
		share := map[string]float64{}
		for _, s := range b {
			share[key(s)] = s.P
		}
		for _, s := range a {
			if math.Abs(s.P-share[key(s)]) > 1e-9 {
				t.Errorf("after %+v: %s %.12f, keeping nothing %.12f", n, key(s), s.P, share[key(s)])
			}
		}
		with.CornersAnew(func(kept, anew float64) {
			if math.Abs(kept-anew) > 1e-9 {
				t.Fatalf("after %+v: a corner's %v, summed anew %v", n, kept, anew)
			}
		})
	}
}

func key(s suspect.Suspect) (k string) {
	for _, cl := range s.Causes {
		k += cl.Members[0].Label + "; "
	}
	return k
}
