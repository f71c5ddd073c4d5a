package suspect_test

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
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
// test.
func BenchmarkLampsInParallel(b *testing.B) {
	for _, n := range []int{25, 50, 100, 200} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				if _, err := darkLamp(b, n).Next(context.Background(), nil, 1); err != nil {
					b.Fatal(err)
				}
			}
		})
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
