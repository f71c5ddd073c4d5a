package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// What trips in one mode is mostly the element that heats in it, gone to its sheath: near an
// end, or where its arc gets to one. Another, or a wire, comes after (common practice, no
// source).
func TestWhatTripsInAModeIsItsElement(t *testing.T) {
	for _, name := range []string{"range-smooth-top", "range-electronic", "range-slide-in"} {
		trips := suspect.Note{Mode: "bake", Trips: true}
		if s := first(t, name, trips); !strings.HasPrefix(s.Words(), "Bake element grounded") || s.P < 0.4 {
			t.Errorf("%s: %s, %.2f", name, s.Words(), s.P)
		}
		c := machine(t, name)
		for _, p := range nextOf(t, name, trips)[:1] {
			for _, end := range probesOf(c, p) {
				if strings.HasPrefix(end, "broil") {
					t.Errorf("%s: trips in bake, first read at %s", name, end)
				}
			}
		}
	}
}

// A burner at full heat whatever its knob says has the contact stuck that should let go: not
// the other leg's, which stays on with the knob, nor the limiter under the glass, which
// opens only when that is too hot (common practice, no source).
func TestFullHeatIsTheContactThatShouldLetGo(t *testing.T) {
	for _, name := range []string{"range-electronic", "range-smooth-top"} {
		sum := 0.0
		for _, s := range engine(t, machine(t, name), suspect.Options{Order: 2}, suspect.Note{Told: "full", Load: "lf_element"}).Suspects(6) {
			switch w := s.Words(); {
			case strings.HasPrefix(w, "Left front switch L1-H1 welded"), strings.HasPrefix(w, `Left front switch stuck at "on"`):
				sum += s.P
			case s.P > 0.05 && !s.Mistaken:
				t.Errorf("%s: %s, %.2f", name, w, s.P)
			}
		}
		if sum < 0.8 {
			t.Errorf("%s: %.2f", name, sum)
		}
	}
}

// What trips after minutes is the element that touches metal once it is warm, before the
// breaker's own joint, and is read dead to metal: power is not given back for it first
// (common practice, no source).
func TestWhatTripsLateIsReadToMetal(t *testing.T) {
	late := suspect.Note{Told: "trips_late", Load: "bake_element"}
	if s := first(t, "range-electronic", late); !strings.HasPrefix(s.Words(), "Bake element grounded") {
		t.Errorf("%s, %.2f", s.Words(), s.P)
	}
	for name, seen := range map[string]suspect.Note{"range-electronic": late, "dryer": {Told: "trips_late"}} {
		c := machine(t, name)
		if p := nextOf(t, name, seen)[0]; p.Live || p.Ask != suspect.Look && p.Probes.P != c.ChassisTerminal() && p.Probes.Q != c.ChassisTerminal() {
			t.Errorf("%s: first %q between %v", name, p.Ask, probesOf(c, p))
		}
	}
}
