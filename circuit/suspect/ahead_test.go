package suspect_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
)

// sayings are what may be said of a load: that it is dead, weak, stays on, or that the
// breaker trips as it is turned on.
var sayings = []struct {
	what  string
	state circuit.LoadState
}{{"dead", circuit.Dead}, {"weak", circuit.Weak}, {"stays on", circuit.StaysOn}, {"trips", 0}}

// saying is the complaint about a load, none where nothing shows it.
func saying(c *circuit.Circuit, load circuit.BranchID, what int) *suspect.Symptom {
	x := sayings[what]
	on := x.state != circuit.StaysOn
	mode := usedIn(c, load, on)
	for i := 0; circuittest.Nightly && mode == circuit.None && i < len(c.Modes()); i++ { // by waiting, then
		if m := c.Mode(circuit.ModeID(i)); slices.ContainsFunc(m.Expect, func(x circuit.Expectation) bool { return x.Load == load && (x.Share > 0) == on }) && m.Reached != circuit.NotAtWill {
			mode = m.ID
		}
	}
	switch {
	case mode == circuit.None:
		return nil
	case x.state == 0:
		return &suspect.Symptom{Mode: mode, Load: circuit.None, Trips: true}
	}
	return &suspect.Symptom{Mode: mode, Load: load, State: x.state}
}

// costs sums what ways of testing cost, by complaint.
type costs struct {
	cases, unsolved   int
	worse             int // than step by step, by more than a hundredth
	best, ahead, step float64
	worst             float64 // share by which looking ahead costs more
	at                string
}

func (k *costs) add(at string, best, ahead, step float64) {
	k.cases++
	if ahead > 1.01*step {
		k.worse++
	}
	k.best, k.ahead, k.step = k.best+best, k.ahead+ahead, k.step+step
	if more := ahead/best - 1; more > k.worst {
		k.worst, k.at = more, at
	}
}

func (k *costs) String() string {
	if k.cases == 0 {
		return fmt.Sprintf("%d too much to work out", k.unsolved)
	}
	n := float64(k.cases)
	return fmt.Sprintf("%d complaints: best %.1f, looking ahead %.1f (%.1f %% more, at worst %.1f %%: %s), step by step %.1f (%.1f %% more, cheaper in %d); %d too much to work out", k.cases, k.best/n,
		k.ahead/n, 100*(k.ahead/k.best-1), 100*k.worst, k.at, k.step/n, 100*(k.step/k.best-1), k.worse, k.unsolved)
}

// On complaints of the catalog, each cut down to its fourteen likeliest explanations,
// looking ahead costs hardly more than the best of all ways, and less than taking what
// tells most for its minutes. The nightly run takes every load, whatever is said of it,
// and of a fifth of the machines also where there are moves besides the meter's.
func TestLookingAheadIsNearTheOptimum(t *testing.T) {
	few, most, worst := []string{"dryer", "water-heater", "range-electronic"}, 14, 0.1
	sums, said, every, moves, notWorse := map[string]*costs{}, sayings[:1], 3, []bool{false}, 1.01
	if circuittest.Nightly {
		// What it weighs besides minutes, such as that a dead test is made rather than a live
		// one that saves little, may cost up to 5 % more than going step by step.
		said, every, moves, notWorse = sayings, 1, []bool{false, true}, 1.05
	}
	for i, entry := range netlists.Catalog() {
		if testing.Short() && !slices.Contains(few, entry.Name) || !circuittest.Sampled(i, 5) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		for _, moves := range moves {
			if moves && i%5 != 0 {
				continue // most of these take a minute, and are too much then
			}
			e, err := suspect.New(c, suspect.Options{Order: 1, MeterOnly: !moves})
			if err != nil {
				t.Fatal(err)
			}
			tripped := map[string]bool{}
			for k, load := range suspect.SeenLoads(c) {
				for x := range said {
					s := saying(c, load, x)
					if s == nil || k%every != 0 {
						continue
					}
					at := fmt.Sprintf("%s, %s %s", entry.Name, c.Label(load), sayings[x].what)
					if s.Trips {
						at = entry.Name + ", trips in " + c.Mode(s.Mode).Name
						if tripped[at] {
							continue
						}
						tripped[at] = true
					}
					e.Forget()
					tell(t, e, suspect.Evidence{Symptom: s})
					kind := sayings[x].what
					if moves {
						kind += ", with moves"
					}
					if sums[kind] == nil {
						sums[kind] = &costs{}
					}
					sum := sums[kind]
					best, ahead, step := suspect.Ways(t, e, most)
					switch {
					case math.IsNaN(best):
						sum.unsolved++
						continue
					case best == 0:
						continue // named at once
					}
					sum.add(at, best, ahead, step)
					if ahead < best-1e-6 {
						t.Errorf("%s: looking ahead costs %.2f, the best of all ways %.2f", at, ahead, best)
					}
					if ahead > notWorse*step {
						t.Errorf("%s, %s: looking ahead costs %.1f, step by step %.1f", at, kind, ahead, step)
					}
					if ahead > 1.1*best {
						t.Logf("%s, %s: %.1f, the best of all ways %.1f, step by step %.1f", at, kind, ahead, best, step)
					}
				}
			}
		}
	}
	for kind, k := range sums {
		t.Logf("%s: %s", kind, k)
		if k.cases > 0 && (k.ahead > 1.02*k.best || k.ahead > k.step || k.worst > worst) {
			t.Errorf("%s: looking ahead costs %.1f, step by step %.1f, the best of all ways %.1f", kind, k.ahead, k.step, k.best)
		}
	}
	if dead := sums["dead"]; dead.cases < 5 || !circuittest.Nightly && dead.ahead > 1.01*dead.best {
		t.Errorf("dead: %s", sums["dead"])
	}
}
