package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// A reset that held says that the limit is good and that something made it trip: both
// elements to metal, then the thermostats, which should be open while the tank is hot, not
// the limit across itself (common practice, no source).
func TestAResetThatHeldIsAskedWhatMadeItTrip(t *testing.T) {
	c := machine(t, "water-heater")
	seen := []suspect.Note{{Mode: "cold_tank", Load: "upper_element", State: "dead"}, {Mode: "top_hot", Load: "lower_element", State: "dead"},
		{Told: "found_bad", Part: "limit"}, {Told: "works_again"}}
	var named strings.Builder
	for _, k := range engine(t, c, suspect.Options{}, seen...).Suspects(8) {
		named.WriteString(k.Words() + "\n")
	}
	for _, want := range []string{"Upper element grounded to chassis", "Lower element grounded to chassis", "Lower thermostat welded", "Upper thermostat NC contact welded"} {
		if !strings.Contains(named.String(), want+", Manual-reset limit tripped by it") {
			t.Errorf("not %s:\n%s", want, &named)
		}
	}
	made := "" // one end to the tank tells of both elements, which share L2
	for i := range 2 {
		p := nextOf(t, "water-heater", seen...)[0]
		made += p.Probes.Name + " in " + c.Mode(p.Mode).Name + "\n"
		if i == 0 && !strings.HasSuffix(p.Probes.Name, "_1 to tank") || p.Live {
			t.Errorf("first %s %q, not an element to the tank", p.Probes.Function, p.Probes.Name)
		}
		seen = append(seen, suspect.NoteOf(c, p.Test, "OL"))
	}
	if !strings.Contains(made, "lower_line to lower_load in off") {
		t.Errorf("the thermostat that should be open by now is not read second:\n%s", made)
	}
}

// What overheats a tank until its limit opens is what heat says of it: a thermostat that
// stays closed, and an element that the tank's metal feeds past the thermostats.
func TestWhatMakesATanksLimitTrip(t *testing.T) {
	c := machine(t, "water-heater")
	e := engine(t, c, suspect.Options{})
	for _, k := range suspect.Classes(c) {
		if k.Members[0].Label != "Manual-reset limit tripped" {
			continue
		}
		makers, err := e.Makers([]suspect.Class{k})
		if err != nil {
			t.Fatal(err)
		}
		var what []string
		for _, m := range makers {
			what = append(what, m.What)
		}
		for _, want := range []string{"Lower thermostat welded", "Upper element grounded to chassis", "Lower element grounded to chassis"} {
			if !strings.Contains(strings.Join(what, "\n"), want) {
				t.Errorf("%s is not among %q", want, what)
			}
		}
		return
	}
	t.Fatal("no limit that trips", circuit.None)
}

// A fuse of heat that blew again has a reason, and a third new one blows too: of a dryer's
// it is mostly lint in the way of the air, which is looked at before a panel is opened; an
// element that metal feeds past its thermostat is another (common practice, no source).
func TestWhatBlewAgainIsAskedWhatBlewIt(t *testing.T) {
	for name, again := range map[string]struct{ mode, part, also string }{
		"dryer":            {"timed_dry", "thermal_cutoff", "Thermal cut-off open"},
		"dryer-electronic": {"dry", "thermal_fuse", "Heater grounded to chassis, Thermal fuse opened by the heat"},
	} {
		c := machine(t, name)
		seen := []suspect.Note{{Mode: again.mode, Load: "heater", State: "dead"}, {Told: "failed_again", Part: again.part}}
		top := engine(t, c, suspect.Options{}, seen...).Suspects(3)
		var named strings.Builder
		for _, k := range top {
			named.WriteString(k.Words() + "\n")
		}
		if !strings.Contains(top[0].Words(), "its air is blocked") || !strings.Contains(named.String(), again.also) {
			t.Errorf("%s: suspects are\n%s", name, &named)
		}
		first := nextOf(t, name, seen...)[0]
		if name == "dryer" && first.Ask != suspect.Air {
			t.Errorf("%s: first %q, not a look at the air", name, first.Probes.Name)
		}
		if first.Ask != suspect.Air {
			continue
		}
		seen = append(seen, suspect.NoteOf(c, first.Test, "ok"))
		if top := engine(t, c, suspect.Options{}, seen...).Suspects(1); strings.Contains(top[0].Words(), "its air is blocked") {
			t.Errorf("%s: with nothing in the air's way the first suspect is %s", name, top[0].Words())
		}
	}
}
