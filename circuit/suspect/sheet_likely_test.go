package suspect_test

import (
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
)

// tells reports whether a step of a sheet reads bad for an explanation.
func tells(s *suspect.Sheet, x suspect.Suspect) bool {
	return slices.ContainsFunc(s.Steps, func(step suspect.Step) bool {
		return slices.ContainsFunc(step.Bad, func(o suspect.Shown) bool {
			return slices.ContainsFunc(o.Any, func(y suspect.Suspect) bool { return y.Words() == x.Words() })
		})
	})
}

// Who reads a sheet's first lines, what is likely, looks for the step that tells it: the
// first three, and whatever has a chance of one in twenty (common practice, no source).
func TestWhatIsLikelyHasAStepThatTellsIt(t *testing.T) {
	for _, of := range []struct {
		name string
		seen suspect.Note
	}{
		{"kiln", suspect.Note{Mode: "firing", Load: "bottom_1", State: "dead"}},
		{"range-mechanical", suspect.Note{Load: "bake_element broil_element", SomeOn: true}},
		{"dryer", suspect.Note{Mode: "timed_dry", Load: "motor.main", State: "dead"}},
		{"water-heater", suspect.Note{Mode: "cold_tank", Load: "upper_element", State: "dead"}},
		{"range-smooth-top", suspect.Note{Mode: "lf_surface", Load: "lf_element", State: "dead"}},
		{"oven-gas", suspect.Note{Mode: "bake", Load: "bake_igniter", State: "dead"}},
	} {
		c := machine(t, of.name)
		e := engine(t, c, suspect.Options{Order: 1}, of.seen)
		s, err := e.Sheet(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for i, x := range e.Suspects(10) {
			if (i < 3 || x.P >= 0.05) && !tells(s, x) {
				t.Errorf("%s: no step tells %s, %.0f %%", of.name, x.Words(), 100*x.P)
			}
		}
	}
}

// The same for every heater and motor of the catalog.
func TestHowMuchOfWhatIsLikelyASheetTells(t *testing.T) {
	told, all := 0, 0
	for i, entry := range netlists.Catalog() {
		if !circuittest.Sampled(i, 3) || slices.ContainsFunc(netlists.Catalog(), func(e netlists.Entry) bool { return strings.HasPrefix(entry.Name, e.Name+"-") }) {
			continue
		}
		c := machine(t, entry.Name)
		e := engine(t, c, suspect.Options{Order: 1})
		done := map[circuit.BranchID]bool{}
		for _, m := range c.Modes() {
			for _, x := range m.Expect {
				if x.Share <= 0 || done[x.Load] || c.Branch(x.Load).Watts < 500 {
					continue
				}
				done[x.Load] = true
				e.Forget()
				tell(t, e, suspect.Evidence{Symptom: &suspect.Symptom{Mode: m.ID, Load: x.Load, State: circuit.Dead}})
				s, err := e.Sheet(t.Context())
				if err != nil {
					t.Fatal(err)
				}
				for i, y := range e.Suspects(10) {
					if i >= 3 && y.P < 0.05 {
						break
					}
					if all++; tells(s, y) {
						told++
					} else {
						t.Logf("%s, %s, %s: no step tells %s, %.0f %%", entry.Name, m.Name, c.Branch(x.Load).Ref, y.Words(), 100*y.P)
					}
				}
			}
		}
	}
	if told < all {
		t.Errorf("%d of %d likely explanations are told by a step", told, all)
	}
}
