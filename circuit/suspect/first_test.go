package suspect_test

import (
	"slices"
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// first is what is likeliest on a machine of the catalog after notes.
func first(t *testing.T, name string, seen ...suspect.Note) suspect.Suspect {
	t.Helper()
	return engine(t, machine(t, name), suspect.Options{}, seen...).Suspects(1)[0]
}

// A convection fan that stands lets its element's limit open and close: one cause of
// a dead fan and of an element that comes and goes. The fan's own ohms are wrong then
// with the power off as well, and the limit's are not.
func TestADeadFanMakesItsElementComeAndGo(t *testing.T) {
	seen := []suspect.Note{{Mode: "conv_bake", Load: "conv_fan", State: "dead"}, {Mode: "conv_bake", Load: "conv_element", State: "dead"},
		{Told: "intermittent", Load: "conv_element"}, {Mode: "bake", Load: "bake_element", State: "normal"}}
	of := func(s suspect.Suspect) bool {
		return strings.HasPrefix(s.Words(), "Convection fan open, Convection limit opens and closes")
	}
	if s := first(t, "range-slide-in", seen...); !of(s) || s.P < 0.2 {
		t.Errorf("first %s at %.2f", s.Words(), s.P)
	}
	open := append(slices.Clone(seen), suspect.Note{Mode: "off", Function: "ohms", P: "conv_fan.1", Q: "conv_fan.2", Answer: "OL"})
	if s := first(t, "range-slide-in", open...); !of(s) || s.P < 0.9 {
		t.Errorf("its winding OL: first %s at %.2f", s.Words(), s.P)
	}
}

// What comes of the heat of a mode never comes where nothing heats in it: a timer that
// lies across the thermostat stands still where the heater is open, though it runs all
// the time in another setting.
func TestNoHeatStopsATimerThatWaitsForIt(t *testing.T) {
	s := first(t, "dryer", suspect.Note{Mode: "timed_dry", Load: "heater", State: "dead"},
		suspect.Note{Mode: "auto_dry_hot", Load: "timer_motor", State: "dead"}, suspect.Note{Mode: "timed_dry", Load: "motor.main", State: "normal"})
	if s.Words() != "Heater open" {
		t.Errorf("no heat, and its timer stands: first %s at %.2f", s.Words(), s.P)
	}
}

// How a control is set shows no code that names its board (common practice, no source).
func TestASettingShowsNoCode(t *testing.T) {
	dead := suspect.Note{Mode: "upper_bake", Load: "upper_bake", State: "dead"}
	locked := func(seen ...suspect.Note) (p float64) {
		for _, s := range engine(t, machine(t, "oven-double"), suspect.Options{}, seen...).Suspects(30) {
			if strings.Contains(s.Words(), "is set so") {
				p += s.P
			}
		}
		return p
	}
	without, with := locked(dead), locked(dead, suspect.Note{Told: "board"})
	if without == 0 || with > without/10 {
		t.Errorf("set so: %.4f without a code, %.4f with one", without, with)
	}
}

// nextOf is what is proposed first after notes, and all else.
func nextOf(t *testing.T, name string, seen ...suspect.Note) []suspect.Proposal {
	t.Helper()
	next, err := engine(t, machine(t, name), suspect.Options{Order: 2}, seen...).Next(t.Context(), suspect.NewProgress(), 20)
	if err != nil || len(next) == 0 {
		t.Fatalf("%d proposals, %v", len(next), err)
	}
	return next
}

// An igniter's cold ohms tell a worn one from a new one no better than its glow: its
// current is measured (common practice, no source).
func TestAnIgniterIsProvedByItsCurrent(t *testing.T) {
	if p := nextOf(t, "oven-gas", suspect.Note{Mode: "bake", Load: "bake_valve", State: "dead"}, suspect.Note{Mode: "bake", Quiet: "bake_valve"})[0]; p.Probes.Function.String() != "amps" {
		t.Errorf("first %s %q", p.Probes.Function, p.Probes.Name)
	}
}

// What tripped the house once, and has held since, may do so again: it is measured,
// not switched on to see (common practice, no source).
func TestWhatTrippedOnceIsNotTried(t *testing.T) {
	dead := suspect.Note{Mode: "fan_oven", Load: "ring_element", State: "dead"}
	tries := func(seen ...suspect.Note) bool {
		return slices.ContainsFunc(nextOf(t, "oven-230", seen...), func(p suspect.Proposal) bool { return p.Trial })
	}
	if !tries(dead) || tries(dead, suspect.Note{Told: "once"}) {
		t.Errorf("tried: %v; after a trip %v", tries(dead), tries(dead, suspect.Note{Told: "once"}))
	}
}

// A control that is suspected is listened to, by any relay that it drives.
func TestASuspectedControlIsListenedTo(t *testing.T) {
	seen := []suspect.Note{{Told: "found_bad", Part: "control"}, {Told: "board"}}
	for _, of := range []string{"upper_bake", "upper_broil", "lower_bake", "lower_broil"} {
		seen = append(seen, suspect.Note{Mode: of, Load: of, State: "dead"})
	}
	if !slices.ContainsFunc(nextOf(t, "oven-double", seen...), func(p suspect.Proposal) bool { return p.Ask == suspect.Listen }) {
		t.Error("none of its relays is listened to")
	}
}
