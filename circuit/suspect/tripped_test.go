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
