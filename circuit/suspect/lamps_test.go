package suspect_test

import (
	"context"
	"fmt"
	"math"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// lamps is so many like lamps in parallel behind one breaker and one switch.
func lamps(t testing.TB, n int) *circuit.Circuit {
	m := circuittest.SplitPhase(240).Switch("knob").Part(circuit.PartSpec{Name: "breaker", Kind: "breaker", Poles: []string{"L1"}, Amps: 100})
	m.Series("supply.L1", "breaker:L1.in>L1.out", "knob")
	for i := range n {
		m.Load("lamp", fmt.Sprint("lamp", i), 120, 40).Series("knob.2", fmt.Sprint("lamp", i), "supply.N")
	}
	return m.Mode("off").Mode("on", "knob", "closed").Build(t)
}

func darkLamp(t testing.TB, n int) *suspect.Engine {
	return engine(t, lamps(t, n), suspect.Options{}, suspect.Note{Mode: "on", Load: "lamp7", State: "dead"}, suspect.Note{Mode: "on", Load: "lamp8", State: "normal"})
}

// BenchmarkLampsInParallel is one dark lamp of many, from nothing to the next
// test; and what one fault of each lamp does, with one lamp standing for those
// like it and each by itself.
func BenchmarkLampsInParallel(b *testing.B) {
	for _, n := range []int{25, 50, 100, 200, 1000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := darkLamp(b, n).Next(context.Background(), nil, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
		e := darkLamp(b, n)
		for name, share := range map[string]func(circuit.ModeID, circuit.BranchID, ...circuit.Fault) (float64, error){"one-for-all": e.Share, "naive": e.ShareAlone} {
			b.Run(fmt.Sprint(n, "/", name), func(b *testing.B) {
				c := e.Circuit()
				for b.Loop() {
					for _, load := range c.Loads() {
						if _, err := share(1, c.Loads()[7], circuit.Fault{Kind: circuit.Open, Branch: load}); err != nil {
							b.Fatal(err)
						}
					}
				}
			})
		}
	}
}

// One lamp stands for those like it, not for the one that is asked about.
func TestALampStandsForThoseLikeIt(t *testing.T) {
	c := lamps(t, 6)
	e := engine(t, c, suspect.Options{})
	faults := meter.SingleFaults(c)
	for i, f := range faults {
		for _, set := range [][]circuit.Fault{{f}, {f, faults[(i*7+3)%len(faults)]}} {
			for _, load := range c.Loads()[:3] {
				got, err := e.Share(1, load, set...)
				if err != nil {
					t.Fatal(err)
				}
				if want, err := e.ShareAlone(1, load, set...); err != nil || math.Abs(got-want) > 1e-9 {
					t.Fatalf("%s with %v: %.12f, by itself %.12f (%v)", c.Label(load), set, got, want, err)
				}
			}
		}
	}
}

// Loads that look alike are one suspect with a count until what is seen parts
// them.
func TestLikeLampsAreOneSuspectWithACount(t *testing.T) {
	e := darkLamp(t, 200)
	list := e.Listed(8)
	if got := list[0].Words(); got != "Lamp7 open" || list[0].P < 0.6 {
		t.Errorf("lamp 7 is dark and lamp 8 lit: %s at %.2f", got, list[0].P)
	}
	e = engine(t, lamps(t, 200), suspect.Options{}, suspect.Note{Mode: "on", Trips: true})
	list = e.Listed(8)
	alike := slices.IndexFunc(list, func(s suspect.Suspect) bool { return s.Words() == "any one of 200 alike, as Lamp0 shorted" })
	if alike < 0 || alike > 3 || list[alike].P < 0.1 {
		t.Errorf("the breaker trips: %v", list)
	}
	sum := 0.0
	for _, s := range e.Listed(1e6) {
		sum += s.P
	}
	if sum < 0.999 || sum > 1.001 {
		t.Errorf("all suspects together hold %.4f", sum)
	}
}
