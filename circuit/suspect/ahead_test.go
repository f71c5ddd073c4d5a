package suspect_test

import (
	"math"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
)

// On complaints of the catalog, each cut down to its fourteen likeliest explanations,
// looking ahead costs hardly more than the best of all ways, and less than taking what
// tells most for its minutes.
func TestLookingAheadIsNearTheOptimum(t *testing.T) {
	few, most := []string{"dryer", "water-heater", "range-electronic"}, 14
	var best, ahead, step, worst float64
	cases := 0
	for i, entry := range netlists.Catalog() {
		if testing.Short() && !slices.Contains(few, entry.Name) || !circuittest.Sampled(i, 5) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		for k, load := range suspect.SeenLoads(c) {
			if k%3 != 0 {
				continue
			}
			mode := usedIn(c, load, true)
			if mode == circuit.None {
				continue
			}
			e, err := suspect.New(c, suspect.Options{Order: 1, MeterOnly: true})
			if err != nil {
				t.Fatal(err)
			}
			tell(t, e, suspect.Evidence{Symptom: &suspect.Symptom{Mode: mode, Load: load, State: circuit.Dead}})
			o, a, s := suspect.Ways(t, e, most)
			if a < o-1e-9 {
				t.Errorf("%s, %s dead: looking ahead costs %.2f, the best of all ways %.2f", entry.Name, c.Label(load), a, o)
			}
			if a > 1.01*s {
				t.Errorf("%s, %s dead: looking ahead costs %.1f, step by step %.1f", entry.Name, c.Label(load), a, s)
			}
			if a > 1.1*o {
				t.Logf("%s, %s dead: %.1f, the best of all ways %.1f, step by step %.1f", entry.Name, c.Label(load), a, o, s)
			}
			cases++
			best, ahead, step, worst = best+o, ahead+a, step+s, math.Max(worst, a/o-1)
		}
	}
	t.Logf("%d complaints: best %.1f, looking ahead %.1f (%.1f %% more, at worst %.1f %%), step by step %.1f (%.1f %% more)", cases, best/float64(cases),
		ahead/float64(cases), 100*(ahead/best-1), 100*worst, step/float64(cases), 100*(step/best-1))
	if cases < 5 || ahead > 1.01*best || ahead > step || worst > 0.1 {
		t.Errorf("looking ahead costs %.1f, step by step %.1f, the best of all ways %.1f", ahead, step, best)
	}
}
