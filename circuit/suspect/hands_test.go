package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// A drum that does not turn after a thump is turned by hand, by its door, before anything is
// taken apart: one that spins with no drag has lost its belt, and the belt's switch is open
// (common practice, no source).
func TestADrumThatSpinsFreeHasLostItsBelt(t *testing.T) {
	seen := []suspect.Note{{Mode: "timed_dry", Load: "motor.main", State: "dead"}, {Told: "squeal"}, {Mode: "door_open", Load: "drum_lamp", State: "normal"}}
	if p := nextOf(t, "dryer", seen...)[0]; p.Ask != suspect.Turn || p.Minutes > 5 {
		t.Errorf("first %q in %.0f minutes: %s", p.Ask, p.Minutes, p.Why)
	}
	seen = append(seen, suspect.Note{Ask: "turn", Part: "motor", Mode: "off", Answer: "free"})
	if s := first(t, "dryer", seen...); !strings.HasPrefix(s.Words(), "Belt switch open") || s.P < 0.8 {
		t.Errorf("spins free: %s, %.2f", s.Words(), s.P)
	}
	for _, p := range nextOf(t, "dryer", suspect.Note{Mode: "timed_dry", Load: "heater", State: "dead"}) {
		if p.Ask == suspect.Turn {
			t.Error("no heat: the drum is turned by hand")
		}
	}
}

// A code that nobody read is of the sensor most: that is measured first where nothing else is
// amiss (common practice, no source).
func TestACodeThatNobodyReadBeginsWithTheSensor(t *testing.T) {
	p := nextOf(t, "range-electronic", suspect.Note{Told: "some_code"}, suspect.Note{Mode: "lf_surface", Load: "lf_element", State: "normal"})[0]
	if c := machine(t, "range-electronic"); !p.Probing() || p.Live || c.Part(c.Terminal(p.Probes.P).Part).Name != "oven_sensor" {
		t.Errorf("first %s %s", p.Probes.Name, p.Why)
	}
}

// A clogged air way opens what guards against heat; it makes none of that conduct badly (common
// practice, no source).
func TestLintOpensAndDoesNotCorrode(t *testing.T) {
	e := engine(t, machine(t, "dryer-electronic"), suspect.Options{Order: 2}, suspect.Note{Mode: "dry", Slow: true}, suspect.Note{Told: "lint"})
	for i, s := range e.Suspects(3) {
		if strings.HasPrefix(s.Words(), "Thermal cut-off high resistance") {
			t.Errorf("place %d: %s, %.2f", i+1, s.Words(), s.P)
		}
	}
}

// Water that is plenty and only lukewarm lacks none of its heat: what it comes to is measured
// at a tap beside what is set, before an element is got at (common practice, no source).
func TestPlentyOfLukewarmWaterIsMeasuredAtATap(t *testing.T) {
	cold := suspect.Note{Told: "runs_cold"}
	if p := nextOf(t, "water-heater", cold, suspect.Note{Told: "plenty"})[0]; p.Ask != suspect.Thermometer {
		t.Errorf("first %q %s", p.Ask, p.Why)
	}
	if p, s := first(t, "water-heater", cold).P, first(t, "water-heater", cold, suspect.Note{Told: "plenty"}).P; s > p/1.5 {
		t.Errorf("an element is blamed at %.2f, with plenty at %.2f", p, s)
	}
}

// A belt that is off is why the switch it holds is open where the motor does not run (common
// practice, no source).
func TestABrokenBeltOpensItsSwitch(t *testing.T) {
	s := first(t, "dryer-electronic", suspect.Note{Mode: "dry", Load: "motor.main", State: "dead"}, suspect.Note{Told: "belt"})
	if !strings.HasPrefix(s.Words(), "Belt switch open") || s.P < 0.6 {
		t.Errorf("%s, %.2f", s.Words(), s.P)
	}
}

// A fan that stands is turned by hand before its winding is read, and what comes out uneven
// beside it is its doing; one that squealed before is turned too (common practice, no source).
func TestAFanThatStandsIsTurnedByHand(t *testing.T) {
	stands := []suspect.Note{{Mode: "conv_bake", Load: "conv_fan", State: "dead"}, {Mode: "bake", Load: "bake_element", State: "normal"}, {Told: "off_by"}}
	squealed := []suspect.Note{{Told: "squeal", Part: "conv_fan"}, {Mode: "conv_bake", Load: "conv_element", State: "weak"}}
	for _, seen := range [][]suspect.Note{stands, squealed} {
		if p := nextOf(t, "range-slide-in", seen...)[0]; p.Ask != suspect.Turn {
			t.Errorf("first %q %s", p.Ask, p.Probes.Name)
		}
	}
	for _, s := range engine(t, machine(t, "range-slide-in"), suspect.Options{Order: 2}, stands...).Suspects(6) {
		if strings.Contains(s.Words(), "sensor") && s.P > 0.03 {
			t.Errorf("uneven beside a fan that stands: %s, %.2f", s.Words(), s.P)
		}
	}
}

// What was seen parted is proved across itself before anything else is measured (common
// practice, no source).
func TestWhatWasFoundAtFaultIsProvedFirst(t *testing.T) {
	seen := []suspect.Note{{Mode: "bake", Load: "bake_element", State: "dead"}, {Mode: "broil", Load: "broil_element", State: "dead"}, {Told: "parted", Part: "bake_element"}}
	p := nextOf(t, "range-apartment", seen...)[0]
	for _, end := range probesOf(machine(t, "range-apartment"), p) {
		if !strings.HasPrefix(end, "bake_element") {
			t.Errorf("first at %s", end)
		}
	}
}

// What a code ends had worked until the control looked at what it senses: it is said to
// work, and that fits (common practice, no source).
func TestWhatACodeEndsHadWorked(t *testing.T) {
	seen := []suspect.Note{{Told: "sensor", Part: "exhaust_sensor"}, {Mode: "dry", Load: "motor.main", State: "normal"}, {Mode: "off", Function: "ohms", P: "exhaust_1", Q: "exhaust_2", Answer: "OL"}}
	e := engine(t, machine(t, "dryer-electronic"), suspect.Options{Order: 2}, seen...)
	if s := e.Suspects(1)[0]; !strings.HasPrefix(s.Words(), "Exhaust sensor open") || s.P < 0.8 || !e.Fits() {
		t.Errorf("%s, %.2f, fits %v", s.Words(), s.P, e.Fits())
	}
}
