package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// weakHeater is a dryer whose heater gets 171 V: with the netlist's own figures.
func weakHeater(t *testing.T, change func(*circuit.Spec), more ...suspect.Note) *suspect.Engine {
	t.Helper()
	spec := machine(t, "dryer").Spec()
	change(&spec)
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	return engine(t, c, suspect.Options{Order: 1}, append([]suspect.Note{{Mode: "timed_dry", Load: "heater", State: "weak"}}, more...)...)
}

// How large a bad joint is before it is measured stands in the netlist: where none
// is larger than an ohm none makes the heat weak.
func TestSizesOfANetlist(t *testing.T) {
	share := func(sizes map[string][][]float64) float64 {
		sum := 0.0
		for _, s := range weakHeater(t, func(s *circuit.Spec) { s.Sizes = sizes }).Suspects(2000) {
			if strings.Contains(s.Words(), "high resistance") {
				sum += s.P
			}
		}
		return sum
	}
	usual, small, large := share(nil), share(map[string][][]float64{"joint": {{0.05, 0.5, 1}}}), share(map[string][][]float64{"joint": {{3, 9, 1}}})
	if small > usual/3 || large < usual {
		t.Errorf("bad joints %.3f, %.3f where all are below an ohm, %.3f where all have 3 to 9", usual, small, large)
	}
}

// A meter that is often misread counts for less.
func TestMistakesOfANetlist(t *testing.T) {
	share := func(mistakes map[string]float64) float64 {
		e := weakHeater(t, func(s *circuit.Spec) { s.Mistakes = mistakes }, suspect.Note{Mode: "timed_dry", Function: "volts", P: "heater.1", Q: "heater.2", Answer: "171"})
		sum := 0.0
		for _, s := range e.Suspects(2000) {
			if strings.Contains(s.Words(), "Heater") {
				sum += s.P
			}
		}
		return sum
	}
	if sure, unsure := share(nil), share(map[string]float64{"slip": 0.2}); unsure < 2*sure {
		t.Errorf("the heater itself: %.4f, with a meter often misread %.4f", sure, unsure)
	}
}
