package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// What a customer says of heat and time is weighed by how warm the machine gets
// with each fault: an oven that runs hot has a sensor with too few ohms, not one
// with too many, one behind a mechanical thermostat that out of calibration; a dryer whose thermostat stays closed runs hot, and on
// delicate one whose thermostat is not warmed; without its lower
// element a tank has half its hot water, and without its upper one none.
func TestHeatAndTimePointToWhatDoesThat(t *testing.T) {
	for _, x := range []struct {
		machine, want, size string
		never               []string
		seen                []suspect.Note
	}{
		{"range-electronic", "Oven sensor drifted", "86 to", []string{"Bake element open", "Oven thermal fuse open"}, []suspect.Note{{Told: "runs_hot"}}},
		{"range-mechanical", "Oven thermostat out of calibration", "acts 1", []string{"Bake element open", "Oven thermostat L1 open"}, []suspect.Note{{Told: "runs_hot", Answer: "28 K"}}},
		{"range-electronic", "Bake element open", "", []string{"Left front element open", "Oven lamp open"}, []suspect.Note{{Mode: "bake", Slow: true}, {Mode: "broil", Load: "broil_element", State: "normal"}}},
		{"dryer", "Cycling thermostat welded", "", []string{"Heater open", "Drive motor main open"}, []suspect.Note{{Told: "runs_hot"}, {Mode: "timed_dry", Load: "heater", State: "normal"}}},
		{"dryer", "Fabric switch open", "", []string{"Heater open"}, []suspect.Note{{Told: "runs_hot", Load: "bias_heater"}}}, // on delicate
		{"water-heater", "Lower element open", "", []string{"Lower thermostat welded"}, []suspect.Note{{Told: "runs_out"}}},
		{"water-heater", "Upper element open", "", []string{"Lower element open"}, []suspect.Note{{Mode: "cold_tank", Load: "upper_element", State: "dead"}, {Mode: "top_hot", Load: "lower_element", State: "dead"}}},
	} {
		e := engine(t, machine(t, x.machine), suspect.Options{}, x.seen...)
		place := -1
		for i, s := range e.Suspects(400) {
			words := s.Words()
			if place < 0 && strings.HasPrefix(words, x.want) {
				place = i
				sizes, err := e.Sizes(s)
				if err != nil {
					t.Fatal(err)
				}
				if got := sizes[0].Words(); !strings.HasPrefix(got, x.size) {
					t.Errorf("%s: %s is of %q, expected %q", x.machine, words, got, x.size)
				}
			}
			for _, never := range x.never {
				if words == never && s.P > 0.02 {
					t.Errorf("%s: %s with %.3f", x.machine, never, s.P)
				}
			}
		}
		if place < 0 || place > 1 {
			t.Errorf("%s: %s in place %d", x.machine, x.want, place+1)
		}
	}
}

// An oven that cuts out hot and comes back cool, its cooling fan not heard, has a limit that
// opens for want of air: both are of one cause (common practice, no source).
func TestAnOvenWhoseFanStandsCutsOutHot(t *testing.T) {
	for _, name := range []string{"range-electronic", "range-slide-in"} {
		seen := []suspect.Note{{Mode: "bake", Load: "cooling_fan", State: "dead"}}
		for _, x := range [][2]string{{"bake", "bake_element"}, {"broil", "broil_element"}} {
			seen = append(seen, suspect.Note{Mode: x[0], Load: x[1], State: "dead"}, suspect.Note{Told: "fails_hot", Load: x[1]})
		}
		seen = append(seen, suspect.Note{Mode: "bake", Quiet: "cooling_fan bake_element broil_element"})
		if s := first(t, name, seen...); !strings.HasPrefix(s.Words(), "Cooling fan open, Oven high limit opens and closes") || s.P < 0.4 {
			t.Errorf("%s: %s, %.2f", name, s.Words(), s.P)
		}
	}
}

// Too little heat in one place and none in another are two ordinary faults, and fit (common
// practice, no source).
func TestWeakBesideDeadFits(t *testing.T) {
	seen := []suspect.Note{{Mode: "lf_surface", Load: "lf_element", State: "weak"}, {Mode: "oven_light", Load: "oven_lamp", State: "dead"}}
	for _, at := range []string{"lr", "rr", "rf"} {
		seen = append(seen, suspect.Note{Mode: at + "_surface", Load: at + "_element", State: "normal"})
	}
	seen = append(seen, suspect.Note{Mode: "bake", Load: "bake_element", State: "normal"}, suspect.Note{Mode: "broil", Load: "broil_element", State: "normal"})
	if m := engine(t, machine(t, "range-electronic"), suspect.Options{Order: 2}, seen...).Misfit(); m != nil {
		t.Errorf("piece %d fits nothing", m.Pieces[0])
	}
}
