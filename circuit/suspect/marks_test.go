package suspect_test

import (
	"slices"
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// What burnt, melted, swelled or got wet is looked at, or measured dead, before any power:
// at that place (common practice, no source).
func TestWhatLeftAMarkIsSeenDeadFirst(t *testing.T) {
	for _, k := range []struct{ machine, what, part string }{
		{"range-electronic", "melted", "terminal_block"}, {"dryer", "burnt", "terminal_block"}, {"dryer", "melted", "cord"}, {"range-electronic", "burnt", "cord"},
		{"range-electronic", "smell", ""}, {"range-electronic", "smell", "control"}, {"range-electronic", "blistered", "bake_element"}, {"range-electronic", "blistered", "control"},
		{"range-electronic", "wet", "sensor_plug"}, {"range-electronic", "discoloured", "broil_element"}, {"range-electronic", "wet", "control"}, {"range-electronic", "once", ""},
		{"water-heater", "burnt", "lower_element"}, {"kiln", "melted", "cord"},
	} {
		c := machine(t, k.machine)
		p := nextOf(t, k.machine, suspect.Note{Told: k.what, Part: k.part})[0]
		there := k.part == "" || p.Ask == suspect.Look
		for _, at := range probesOf(c, p) {
			there = there || strings.HasPrefix(at, k.part)
		}
		if p.Live || !there {
			t.Errorf("%s, %s %s: first %s %s %v, live %t", k.machine, k.part, k.what, p.Ask, p.Probes.Function, probesOf(c, p), p.Live)
		}
	}
}

// Two burnt places fight nothing: there may be two things wrong, or one mark is old.
func TestMarksFightNothing(t *testing.T) {
	seen := []suspect.Note{{Told: "burnt", Part: "bake_element"}, {Told: "burnt", Part: "oven_sensor"}, bakeDead}
	if m := engine(t, machine(t, "range-electronic"), suspect.Options{}, seen...).Misfit(); m != nil {
		t.Errorf("%v fight %v", m.Pieces, m.Against)
	}
}

// What was bridged and made it work, or what moves it, is what is open; the bridge comes
// out before anything else (common practice, no source).
func TestWhatWasBridgedIsOpen(t *testing.T) {
	e := engine(t, machine(t, "range-electronic"), suspect.Options{}, bakeDead, suspect.Note{Told: "bridged_works", Part: "thermal_fuse"})
	p := 0.0
	for _, s := range e.Suspects(20) {
		if strings.Contains(s.Words(), "Oven thermal fuse") {
			p += s.P
		}
	}
	if p < 0.8 || len(e.First()) != 1 || !strings.Contains(e.First()[0], "bridge out") {
		t.Errorf("the fuse at %.2f; first %q", p, e.First())
	}
}

// What tripped once and holds touched metal somewhere: what heats is read to metal.
func TestWhatTrippedOnceIsReadToMetal(t *testing.T) {
	p := nextOf(t, "range-electronic", suspect.Note{Told: "once"}, suspect.Note{Told: "reset"}, suspect.Note{Told: "works_again"})[0]
	if ends := probesOf(machine(t, "range-electronic"), p); p.Live || !slices.Contains(ends[:], "chassis") || !strings.Contains(ends[0], "element") {
		t.Errorf("first %s %v, live %t", p.Probes.Function, ends, p.Live)
	}
}

// Lights dim where the supply sags under what is drawn: an open leg draws nothing.
func TestLightsThatDimTellOfAWeakSupply(t *testing.T) {
	for _, s := range engine(t, machine(t, "range-apartment"), suspect.Options{Order: 1}, suspect.Note{Told: "lights_dim"}).Suspects(3) {
		if strings.Contains(s.Words(), "open") {
			t.Errorf("%s at %.2f", s.Words(), s.P)
		}
	}
}

// A burner that is too hot, or knows full heat only, has a switch that does not cycle: not
// one that stays idle, and not the leg that does not cycle (common practice, no source).
func TestABurnerTooHotDoesNotCycle(t *testing.T) {
	for name, load := range map[string]string{"range-mechanical": "lf_element", "range-electronic": "lf_element", "range-smooth-top": "lf_element"} {
		for _, n := range []suspect.Note{{Told: "full", Load: load}, {Mode: "lf_surface", Load: load, State: "too much"}} {
			e := engine(t, machine(t, name), suspect.Options{Order: 1}, n)
			p := 0.0
			for _, s := range e.Suspects(50) {
				switch words := s.Words(); {
				case strings.Contains(words, `stuck at "idle"`), strings.Contains(words, "L2-H2"), strings.Contains(words, "limiter"):
					if s.P > 0.05 {
						t.Errorf("%s, %s%s: %s at %.2f", name, n.Told, n.State, words, s.P)
					}
				case strings.Contains(words, "Left front switch"):
					p += s.P
				}
			}
			if next := nextOf(t, name, n)[0]; p < 0.7 || next.Live {
				t.Errorf("%s, %s%s: its switch at %.2f, first live %t", name, n.Told, n.State, p, next.Live)
			}
		}
	}
}

// Who says that the oven is dead has tried bake: its element leads, and the broiler is
// turned on to see before anything is opened (common practice, no source).
func TestADeadOvenIsTriedOnBroil(t *testing.T) {
	for _, name := range []string{"range-electronic", "range-mechanical"} {
		seen := []suspect.Note{bakeDead, {Mode: "broil", Load: "broil_element", State: "dead", At: suspect.Untried}, {Mode: "bake", Quiet: "bake_element broil_element"}}
		e := engine(t, machine(t, name), suspect.Options{}, seen...)
		if s := e.Suspects(1)[0]; s.Words() != "Bake element open" {
			t.Errorf("%s: first %s at %.2f", name, s.Words(), s.P)
		}
		if p := nextOf(t, name, seen...)[0]; !p.Trial || machine(t, name).Mode(p.Mode).Name != "broil" {
			t.Errorf("%s: first %s %s", name, p.Ask, p.Probes.Name)
		}
	}
}

// A thermal fuse has no contact that welds.
func TestAThermalFuseDoesNotWeld(t *testing.T) {
	for _, s := range engine(t, machine(t, "range-electronic"), suspect.Options{Order: 1}, suspect.Note{Told: "wire_stops"}).Suspects(3) {
		if strings.Contains(s.Words(), "fuse welded") {
			t.Errorf("%s at %.2f", s.Words(), s.P)
		}
	}
}
