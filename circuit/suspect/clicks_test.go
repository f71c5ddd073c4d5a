package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// shares weighs tellings on a machine and returns the share of suspects by words.
func shares(t *testing.T, name string, notes ...suspect.Note) func(words string) float64 {
	t.Helper()
	e := engine(t, machine(t, name), suspect.Options{Order: 1}, notes...)
	return func(words string) float64 {
		share := 0.0
		for _, s := range e.Suspects(2000) {
			if strings.Contains(s.Words(), words) {
				share += s.P
			}
		}
		return share
	}
}

// A relay that clicks is driven: its contact or the element is at fault. One that
// does not has no drive.
func TestAClickTellsCoilFromContact(t *testing.T) {
	if testing.Short() {
		t.Skip("solves a range twice")
	}
	dead := suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}
	clicks := shares(t, "range-electronic", dead, suspect.Note{Told: "click", Part: "bake_relay"})
	silent := shares(t, "range-electronic", dead, suspect.Note{Told: "no_click", Part: "bake_relay"})
	if a, b := clicks("Bake relay coil"), silent("Bake relay coil"); b < 5*a {
		t.Errorf("coil: %.4f with a click, %.4f without", a, b)
	}
}

// Without volts at its coil a relay is not driven, whatever it feeds.
func TestVoltsAtACoilTellWhatDrivesIt(t *testing.T) {
	if testing.Short() {
		t.Skip("solves a range twice")
	}
	dead := suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}
	told := func(what string) suspect.Note { return suspect.Note{Told: what, Part: "bake_relay"} }
	unfed := shares(t, "range-electronic", dead, told("coil_unfed"))
	if coil, element := unfed("Bake relay coil"), unfed("Bake element"); coil < 10*element {
		t.Errorf("no volts at the coil: coil %.3f, element %.3f", coil, element)
	}
	fed := shares(t, "range-electronic", dead, told("coil_fed"))
	if coil, contact := fed("Bake relay coil"), fed("Bake relay contact"); contact < coil {
		t.Errorf("volts at the coil: coil or its drive %.3f, contact %.3f", coil, contact)
	}
}

// A code of one of two sensors does not accuse the other.
func TestACodeOfOneSensor(t *testing.T) {
	if testing.Short() {
		t.Skip("solves a dryer")
	}
	share := shares(t, "dryer-electronic", suspect.Note{Told: "sensor", Part: "exhaust_sensor"})
	if a, b := share("Exhaust sensor"), share("Inlet sensor"); a < 5*b {
		t.Errorf("exhaust sensor %.4f, inlet sensor %.4f", a, b)
	}
}

// Burnt and smelling of it at one place is one fact, which counts once and a bit.
func TestOneFactIsNotMultiplied(t *testing.T) {
	if testing.Short() {
		t.Skip("solves a water heater thrice")
	}
	burnt, smell := suspect.Note{Told: "burnt", Part: "lower_element"}, suspect.Note{Told: "smell", Part: "lower_element"}
	odds := func(notes ...suspect.Note) float64 {
		p := shares(t, "water-heater", notes...)("ower element")
		return p / (1 - p)
	}
	none, once, both := odds(suspect.Note{Told: "storm"}), odds(burnt), odds(burnt, smell)
	if gain := both / once; gain > 0.5*once/none {
		t.Errorf("odds %.3f, told burnt %.3f, and smelling %.3f", none, once, both)
	}
}

// A code was shown by a control that lives; heat that stays on in Off, of a dryer whose
// motor has to turn for it, stays on while that turns; a leak that its own heat makes
// trips nothing while another element heats; what trips in Bake held in Off; where nobody
// said in what, any mode will do; a breaker that is worn lets go after minutes; what does
// not work the latch does not keep the door locked; what both legs switch stays on by
// what welds both, or runs both; nobody takes a motor's protector for the breaker, nor a
// breaker that holds for one that trips; who waits for the clothes has a drum that turns,
// and warm air for hot has what blocks it; who says that one of two is cold has one warm;
// of one burner that comes and goes the others do not.
func TestWhatIsSaidIsTakenAsItIsMeant(t *testing.T) {
	if testing.Short() {
		t.Skip("solves a kiln, a dryer and a range")
	}
	trips, late := suspect.Note{Mode: "bake", Trips: true}, suspect.Note{Told: "trips_late"}
	for _, is := range []struct {
		machine    string
		notes      []suspect.Note
		more, less string
	}{
		{"kiln", []suspect.Note{{Told: "sensor"}, {Mode: "firing", Load: "top_1", State: "dead"}, {Mode: "firing", Load: "bottom_1", State: "dead"}}, "Thermocouple open", "Kiln control"},
		{"dryer-electronic", []suspect.Note{{Mode: "off", Load: "heater", State: "on"}}, "Heater relay contact welded", "nothing that explains it"},
		{"range-electronic-rcd", []suspect.Note{trips, {Mode: "broil", Load: "broil_element", State: "normal"}}, "Bake element grounded", "Broil element grounded"},
		{"water-heater", []suspect.Note{{Mode: "cold_tank", Trips: true}}, "Upper element grounded", "wire w03 grounded"},
		{"water-heater", []suspect.Note{{Trips: true}}, "Upper element grounded", "nothing that explains it"},
		{"water-heater", []suspect.Note{{Trips: true}}, "Lower element grounded", "nothing that explains it"},
		{"dryer", []suspect.Note{late}, "off or tripped", "pole N"},
		{"oven-230", []suspect.Note{late}, "Oven breaker pole L1 open", "Top element grounded"},
		{"range-electronic", []suspect.Note{{Told: "door_locked"}}, "Door latch", "Bake relay"},
		{"range-electronic", []suspect.Note{{Mode: "off", Load: "broil_element", State: "on"}}, "welded by one short", "nothing that explains it"},
		{"range-electronic", []suspect.Note{{Mode: "off", Load: "broil_element", State: "on"}}, "runs Broil with nobody asking", "runs Bake with nobody asking"},
		{"dryer", []suspect.Note{late}, "off or tripped", "Motor protector"},
		{"range-electronic", []suspect.Note{trips}, "Bake element grounded", "nothing that explains it"},
		{"dryer", []suspect.Note{{Mode: "timed_dry", Slow: true}, {Mode: "timed_dry", Load: "heater", State: "normal"}}, "its air is blocked", "Centrifugal switch stuck"},
		{"dryer", []suspect.Note{{Mode: "timed_dry", Load: "motor.main", State: "normal"}, {Mode: "timed_dry", Load: "heater", State: "weak"}}, "its air is blocked", "Thermal cut-off high"},
		{"baseboard-heater", []suspect.Note{{Mode: "heat | heat", Load: "first_element | second_element", State: "dead | dead"}}, "First heater's element open", "breaker pole"},
		{"range-electronic", []suspect.Note{{Mode: "lf_surface", Load: "lf_element", State: "dead"}, {Told: "intermittent", Load: "lf_element"}, {Mode: "off", Quiet: "lf_element"}}, "Left front receptacle", "breaker pole"},
	} {
		share := shares(t, is.machine, is.notes...)
		if a, b := share(is.more), share(is.less); a < 1.2*b || a < 0.1 {
			t.Errorf("%s: %s %.3f, %s %.3f", is.machine, is.more, a, is.less, b)
		}
	}
}
