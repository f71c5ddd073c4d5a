package suspect_test

import (
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
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

// What lies behind a built-in oven is proved where its wires come out, before the oven is
// slid from its cabinet (common practice, no source).
func TestAFuseBehindAnOvenIsProvedFromAfar(t *testing.T) {
	seen := []suspect.Note{{Mode: "lower_bake", Load: "lower_bake", State: "dead"}, {Mode: "lower_broil", Load: "lower_broil", State: "dead"},
		{Mode: "upper_bake", Load: "upper_bake", State: "normal"}, {Mode: "upper_bake", Quiet: "upper_bake"}}
	if p := nextOf(t, "oven-double", seen...)[0]; !strings.HasSuffix(p.Probes.Name, "to lower_com") || p.Live {
		t.Errorf("first %s %q", p.Probes.Function, p.Probes.Name)
	}
}

// Who hears that children played with the keys looks first at how they are set, be it that
// the control itself is not suspected (common practice, no source).
func TestKeysThatWerePlayedWithAreLookedAt(t *testing.T) {
	seen := []suspect.Note{{Mode: "bake", Load: "bake_element", State: "dead"}, {Mode: "broil", Load: "broil_element", State: "dead"}, {Mode: "bake", Quiet: "bake_element"}}
	if p := nextOf(t, "range-electronic", seen...)[0]; p.Ask == suspect.Set {
		t.Error("looked at where nobody played with them")
	}
	if p := nextOf(t, "range-electronic", append(seen, suspect.Note{Told: "meddled"})...)[0]; p.Ask != suspect.Set {
		t.Errorf("first %s %q", p.Probes.Function, p.Probes.Name)
	}
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

// Where neutral alone bonds the metal, a neutral that is lost brings it to a hot, which
// no dead test shows: volts where the supply comes in, with no more on than a lamp. With
// an earth of its own insulation is measured, dead (common practice, no source).
func TestAShockOnThreeWires(t *testing.T) {
	shock := suspect.Note{Told: "shock"}
	three, c := nextOf(t, "dryer-3wire", shock)[0], machine(t, "dryer-3wire")
	if ends := probesOf(c, three); !three.Live || c.Mode(three.Mode).Name != "door_open" || !strings.HasPrefix(ends[0], "terminal_block") {
		t.Errorf("3 wires: first %s between %v in %s", three.Probes.Function, ends, c.Mode(three.Mode).Label)
	}
	for _, p := range nextOf(t, "dryer", shock) {
		if p.Live {
			t.Errorf("4 wires: %s %q live", p.Probes.Function, p.Probes.Name)
		}
	}
}

// A limit that has a button and is found open has mostly tripped at every pole: it is
// pressed before it is measured, and where it held once it is named, with what may have
// made it trip (common practice, no source).
func TestALimitWithAButtonIsPressed(t *testing.T) {
	seen := []suspect.Note{{Mode: "cold_tank", Load: "upper_element", State: "dead"}, {Told: "found_bad", Part: "limit"}}
	if p := nextOf(t, "water-heater", seen...)[0]; p.Ask != suspect.Press {
		t.Errorf("first %s %q", p.Ask, p.Probes.Name)
	}
	tripped := 0.0
	for _, s := range engine(t, machine(t, "water-heater"), suspect.Options{}, append(seen, suspect.Note{Told: "works_again"})...).Suspects(30) {
		if strings.Contains(s.Words(), "Manual-reset limit tripped") {
			tripped += s.P
		}
	}
	if tripped < 0.7 {
		t.Errorf("pressed, hot again: it had tripped at %.2f", tripped)
	}
}

// Heat that is weak everywhere is looked for from hot to hot, though a hot to neutral
// tells more, which goes along (common practice, no source).
func TestWeakEverywhereBeginsHotToHot(t *testing.T) {
	var seen []suspect.Note
	for _, of := range []string{"lf_element", "lr_element", "rr_element", "rf_inner", "rf_outer"} {
		seen = append(seen, suspect.Note{Mode: of[:2] + "_surface", Load: of, State: "weak"})
	}
	p, c := nextOf(t, "range-mechanical", append(seen, suspect.Note{Mode: "bake", Slow: true})...)[0], machine(t, "range-mechanical")
	if ends := probesOf(c, p); ends[0] != "terminal_block.L1.out" || ends[1] != "terminal_block.L2.out" || len(ends) < 4 {
		t.Errorf("first %s between %v", p.Probes.Function, ends)
	}
}

// probesOf are the terminals that a proposal's probes go to, and then those of what is
// read along with it.
func probesOf(c *circuit.Circuit, p suspect.Proposal) (out []string) {
	for _, t := range append([]suspect.Test{p.Test}, p.Along...) {
		out = append(out, c.Terminal(t.Probes.P).Ref, c.Terminal(t.Probes.Q).Ref)
	}
	return out
}

// Who has read 120 V from each hot and stopped there goes on from hot to hot, where he
// stands: one leg that is lost reads so by way of the load (common practice, no source).
func TestAReadingBegunIsFinished(t *testing.T) {
	seen := []suspect.Note{{Mode: "cold_tank", Load: "upper_element", State: "dead"}, {Mode: "top_hot", Load: "lower_element", State: "dead"}}
	for _, leg := range []string{"L1", "L2"} {
		seen = append(seen, suspect.Note{Mode: "cold_tank", Function: "volts", P: "junction_box." + leg + ".in", Q: "chassis", Answer: "120"})
	}
	p := nextOf(t, "water-heater", seen...)[0]
	if ends := probesOf(machine(t, "water-heater"), p); !p.Live || ends[0] != "junction_box.L1.out" || ends[1] != "junction_box.L2.out" {
		t.Errorf("first %s between %v", p.Probes.Function, ends)
	}
}

// What gets too hot, or heats when nobody asks, is measured dead (common practice, no
// source).
func TestWhatRunsAwayIsMeasuredDead(t *testing.T) {
	for name, seen := range map[string][]suspect.Note{
		"water-heater-one-leg": {{Told: "runs_hot"}, {Told: "found_bad", Part: "limit"}},
		"dryer":                {{Mode: "cool_down", Load: "heater", State: "on"}},
	} {
		for _, p := range nextOf(t, name, seen...) {
			if p.Live {
				t.Errorf("%s: %s %q live", name, p.Probes.Function, p.Probes.Name)
			}
		}
	}
}

// An element on metal heats with its timer off: it is read to metal before the timer's
// contacts, of which one cam seldom leaves all as they were (common practice, no source).
func TestHeatThatGoesOnIsReadToMetal(t *testing.T) {
	p, c := nextOf(t, "dryer", suspect.Note{Mode: "cool_down", Load: "heater", State: "on"})[0], machine(t, "dryer")
	if ends := probesOf(c, p); ends[0] != "heater.2" || ends[1] != "chassis" {
		t.Errorf("first %s between %v", p.Probes.Function, ends)
	}
}

// A neutral that is lost where metal hangs on it is read where it comes in, though its
// fuse tells about as much by its ohms (common practice, no source).
func TestALostNeutralIsReadWhereItComesIn(t *testing.T) {
	p, c := nextOf(t, "range-mechanical", suspect.Note{Told: "shock"}, suspect.Note{Mode: "off", Load: "clock", State: "dead"},
		suspect.Note{Mode: "oven_light", Load: "oven_lamp", State: "dead"})[0], machine(t, "range-mechanical")
	if ends := probesOf(c, p); !p.Live || !strings.HasPrefix(ends[0], "terminal_block") {
		t.Errorf("first %s between %v", p.Probes.Function, ends)
	}
	p, c = nextOf(t, "dryer-3wire", suspect.Note{Told: "shock"}, suspect.Note{Mode: "timed_dry", AllDead: true})[0], machine(t, "dryer-3wire")
	if ends := probesOf(c, p); ends[1] != "terminal_block.N.out" {
		t.Errorf("metal that bites, nothing comes on: first %s between %v", p.Probes.Function, ends)
	}
}

// An oven whose display is dark is not called slow: two ovens that both are slow have
// their feed in common (common practice, no source).
func TestADarkOvenIsNotSlow(t *testing.T) {
	seen := []suspect.Note{{Mode: "upper_bake", Slow: true}, {Mode: "lower_bake", Slow: true}}
	for _, s := range engine(t, machine(t, "oven-double"), suspect.Options{}, seen...).Suspects(12) {
		if s.Words() == "Oven control gives no output" && s.P > 0.05 {
			t.Errorf("%s at %.2f", s.Words(), s.P)
		}
	}
	p, c := nextOf(t, "oven-double", seen...)[0], machine(t, "oven-double")
	if ends := probesOf(c, p); ends[0] != "junction_box.L1.out" || ends[1] != "junction_box.L2.out" {
		t.Errorf("first %s between %v", p.Probes.Function, ends)
	}
}

// Without the clock's contact bake and broil lie in series across one leg: bake gets
// a fourteenth of its power, and whoever looks calls it dead.
func TestWhatIsHardlyWarmIsCalledDead(t *testing.T) {
	s := first(t, "range-mechanical", suspect.Note{Mode: "time_bake", Load: "bake_element", State: "dead"},
		suspect.Note{Mode: "bake", Load: "bake_element", State: "normal"}, suspect.Note{Mode: "broil", Load: "broil_element", State: "normal"})
	if s.Words() != "Clock timer contacts open" || s.P < 0.3 {
		t.Errorf("time bake dead, bake and broil good: first %s at %.2f", s.Words(), s.P)
	}
}

// A motor that runs while Start is held and quits as it is let go has a run contact that
// does not take over (common practice, no source).
func TestWhatStopsAsStartIsLetGo(t *testing.T) {
	s := first(t, "dryer", suspect.Note{Mode: "start", Load: "motor.main", State: "normal"}, suspect.Note{Mode: "timed_dry", Load: "motor.main", State: "dead"},
		suspect.Note{Told: "quits", Load: "motor.main"})
	if s.Words() != "Centrifugal switch run contact open" || s.P < 0.5 {
		t.Errorf("first %s at %.2f", s.Words(), s.P)
	}
}

// A fan's thermostat, which heat closes, ends no heat: where the temperature is off and
// the sensor is new, what the control looks through is suspected more (common practice,
// no source).
func TestATemperatureThatIsOffIsNoFans(t *testing.T) {
	sensed := 0.0
	for _, s := range engine(t, machine(t, "range-electronic"), suspect.Options{}, suspect.Note{Told: "off_by"}, suspect.Note{Told: "no_help", Part: "oven_sensor"}).Suspects(40) {
		switch w := s.Words(); {
		case strings.Contains(w, "ensor"):
			sensed += s.P
		case strings.Contains(w, "Fan thermostat") && s.P > 0.02:
			t.Errorf("%s at %.2f", w, s.P)
		}
	}
	if sensed < 0.15 {
		t.Errorf("what the control looks through: %.2f", sensed)
	}
}

// A control that clicks none of its relays, while its display lives, may be set so or
// have lost what feeds their coils: to set it parts the two (common practice, no source).
func TestAControlThatDrivesNothing(t *testing.T) {
	seen := []suspect.Note{{Mode: "bake", Load: "bake_element", State: "dead"}, {Mode: "broil", Load: "broil_element", State: "dead"},
		{Told: "no_click", Part: "bake_relay"}, {Told: "found_good", Part: "oven_sensor"}}
	e := engine(t, machine(t, "range-electronic"), suspect.Options{Order: 1}, seen...)
	none := 0.0
	for _, s := range e.Suspects(60) {
		if strings.HasPrefix(s.Words(), "Oven control drives none of its relays") {
			none = s.P
		}
	}
	if none < 0.02 {
		t.Errorf("drives none of its relays: %.3f", none)
	}
	next := nextOf(t, "range-electronic", append(seen, suspect.Note{Told: "no_click", Part: "broil_relay"})...)
	if slices.ContainsFunc(next, func(p suspect.Proposal) bool { return p.Ask == suspect.Listen }) {
		t.Error("listened to after two were silent")
	}
}

// A code that names what the control sees keeps its relays off by itself: what it sees is
// measured, and no relay listened to (common practice, no source).
func TestNoRelayIsListenedToForASensorsCode(t *testing.T) {
	for _, p := range nextOf(t, "dryer-electronic", suspect.Note{Told: "sensor", Part: "inlet_sensor"}, suspect.Note{Mode: "dry", Load: "heater", State: "dead"}, suspect.Note{Mode: "dry", Load: "motor.main", State: "normal"}) {
		if p.Ask == suspect.Listen {
			t.Errorf("listened to %s", machine(t, "dryer-electronic").Part(p.Part).Label)
		}
	}
}

// A relay of what works until it is hot clicks when it is listened to, cold.
func TestNoRelayIsListenedToColdForWhatFailsHot(t *testing.T) {
	seen := []suspect.Note{{Mode: "bake", Load: "bake_element", State: "dead"}, {Told: "quits", Load: "bake_element"}}
	for _, p := range nextOf(t, "range-electronic", seen...) {
		if p.Ask == suspect.Listen && machine(t, "range-electronic").Part(p.Part).Name == "bake_relay" {
			t.Error("its relay is listened to")
		}
	}
}

// What trips at once gets no power again before it was measured dead (common practice,
// no source).
func TestWhatTripsIsReadDead(t *testing.T) {
	for _, name := range []string{"dryer", "range-electronic"} {
		if p := nextOf(t, name, suspect.Note{Trips: true})[0]; p.Live {
			t.Errorf("%s: first %s %q live", name, p.Probes.Function, p.Probes.Name)
		}
	}
}

// A tank that is too hot is met with as hot as it stands: its thermostats should be open
// then, and are read so, the one that was renewed not first.
func TestAHotTankIsReadAsItStands(t *testing.T) {
	hot := suspect.Note{Told: "runs_hot"}
	for _, x := range []struct {
		name, at string
		more     []suspect.Note
	}{{"water-heater", "_thermostat", nil}, {"water-heater", "lower_thermostat", []suspect.Note{{Told: "replaced", Part: "upper_thermostat"}}}, {"water-heater-together", "_thermostat", nil}} {
		p, c := nextOf(t, x.name, append(x.more, hot)...)[0], machine(t, x.name)
		if ends := probesOf(c, p); p.Live || p.Probes.Function.String() != "ohms" || c.Mode(p.Mode).Name != "off" || !strings.Contains(ends[0], x.at) {
			t.Errorf("%s: first %s between %v in %s", x.name, p.Probes.Function, ends, c.Mode(p.Mode).Label)
		}
	}
}

// Off by so many degrees is what measures the heat; what lacks heat, and never comes so far
// that it lets off, is called slow or cold (common practice, no source).
func TestShortByDegreesIsWhatMeasures(t *testing.T) {
	short := suspect.Note{Told: "runs_cold", Answer: "28 K"}
	for name, want := range map[string]string{"range-electronic": "Oven sensor drifted", "oven-230": "Oven thermostat out of calibration", "range-apartment": "Oven control out of calibration"} {
		if s := first(t, name, short); !strings.HasPrefix(s.Words(), want) {
			t.Errorf("%s: first %s at %.2f", name, s.Words(), s.P)
		}
	}
}

// An oven that heats with everything off is not a burner that does.
func TestAnOvenThatHeatsUnaskedIsNoBurner(t *testing.T) {
	burners := func(load string) (p float64) {
		for _, s := range engine(t, machine(t, "range-electronic"), suspect.Options{Order: 2}, suspect.Note{Mode: "off", SomeOn: true, Load: load}).Suspects(30) {
			if strings.Contains(s.Words(), " switch ") {
				p += s.P
			}
		}
		return p
	}
	if any, oven := burners(""), burners("bake_element broil_element"); any < 0.5 || oven > 0.02 {
		t.Errorf("burners' switches %.2f, of the oven %.2f", any, oven)
	}
}

// What a part's number or letter is, and what a terminal's: "element 1 1" is nobody's.
func TestATerminalIsToldFromItsPartsNumber(t *testing.T) {
	c := machine(t, "kiln")
	at, err := c.FindPlace("bottom_1.1")
	if err != nil || c.PlaceLabel(at) != "bottom element 1 (terminal 1)" {
		t.Errorf("%q, %v", c.PlaceLabel(at), err)
	}
	id, err := c.FindBranch("bottom_relay.a")
	if err != nil || c.Label(id) != "Bottom relay contact a" {
		t.Errorf("%q, %v", c.Label(id), err)
	}
}

// A limit with a button that is found open is pressed before it is measured; where it was
// pressed already, and heats again, not once more.
func TestATrippedLimitIsPressed(t *testing.T) {
	p := nextOf(t, "water-heater", suspect.Note{Told: "found_bad", Part: "limit"})[0]
	if p.Ask != suspect.Press {
		t.Errorf("first %q %s %q", p.Ask, p.Probes.Function, p.Probes.Name)
	}
	for _, p := range nextOf(t, "water-heater", suspect.Note{Mode: "cold_tank", Load: "upper_element", State: "dead"}, suspect.Note{Told: "works_again"}) {
		if p.Ask == suspect.Press && machine(t, "water-heater").Part(p.Part).Name == "limit" {
			t.Error("pressed once more")
		}
	}
}

// How warm an oven gets no glance tells, where its netlist knows of no warmth either.
func TestWhatRunsHotIsNotLookedAt(t *testing.T) {
	for _, p := range nextOf(t, "oven-gas", suspect.Note{Told: "runs_hot", Load: "bake_valve"}) {
		if p.Trial && p.Mode != machine(t, "oven-gas").OffMode() {
			t.Errorf("%s is tried", machine(t, "oven-gas").Mode(p.Mode).Label)
		}
		if p.Ask == suspect.Listen {
			t.Error("a relay is listened to")
		}
	}
}
