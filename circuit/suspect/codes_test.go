package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// A declared code speaks for what brings it, by the ohms that the control sees: S2 is a
// sensor that is shorted, S1 one that is open, and neither one that is off by some degrees
// (common practice, no source).
func TestADeclaredCodeSpeaksForItsFault(t *testing.T) {
	share := func(machine_ string, words string, seen ...suspect.Note) (p float64) {
		for _, s := range engine(t, machine(t, machine_), suspect.Options{Order: 1}, seen...).Suspects(1000) {
			if strings.Contains(s.Words(), words) {
				p += s.P
			}
		}
		return p
	}
	for _, name := range []string{"range-electronic", "oven-gas"} {
		code := func(shown string) suspect.Note {
			return suspect.Note{Told: "sensor", Part: "oven_sensor", Answer: shown}
		}
		if p := share(name, "shorted", code("S2")); p < 0.6 {
			t.Errorf("%s, S2: shorted at %.2f", name, p)
		}
		if p := share(name, "Oven sensor open", code("S1")); p < 0.4 {
			t.Errorf("%s, S1: open at %.2f", name, p)
		}
		for _, shown := range []string{"S1", "S2"} {
			if p := share(name, "Oven sensor drifted", code(shown)); p > 0.02 {
				t.Errorf("%s, %s: drifted at %.2f", name, shown, p)
			}
		}
	}
	// Open, it shows S1 and never that the oven is too hot; what feeds it all the time does.
	hot := suspect.Note{Told: "too_hot", Answer: "H1"}
	if p := share("range-electronic", "Oven sensor open", hot); p > 0.02 {
		t.Errorf("H1: sensor open at %.2f", p)
	}
	if p := share("range-electronic", "Bake relay", hot); p < 0.2 {
		t.Errorf("H1: bake relay at %.2f", p)
	}
	if p := share("range-electronic", "Lamp relay contact welded", hot) + share("range-electronic", "Fan thermostat", hot); p > 0.02 {
		t.Errorf("H1: what makes no heat at %.2f", p)
	}
	if _, err := (suspect.Note{Told: "sensor", Answer: "S7"}).Resolve(machine(t, "range-electronic")); err == nil || !strings.Contains(err.Error(), "S1, S2") {
		t.Errorf("a code that it does not show: %v", err)
	}
}
