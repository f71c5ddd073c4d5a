package report_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/visit"
	"legtrace/netlists/complaints"
	"legtrace/render/report"
)

// job is a visit that has heard a complaint.
func job(t *testing.T, c *circuit.Circuit, complaint string) *visit.Job {
	t.Helper()
	notes, _, _, err := complaints.ListenTo(c).Complaint(complaint)
	if err != nil {
		t.Fatal(err)
	}
	return must[*visit.Job](t)(visit.Start(context.Background(), c, visit.Record{Notes: notes}))
}

// Four burners and a coil that are weak are told in one breath, each once; what is no
// load's state in its own words.
func TestLoadsOfOneStateAreToldTogether(t *testing.T) {
	c, r := machine(t, "range-mechanical")
	j := job(t, c, "oven slow to heat, top burners weak")
	const want = "Slow to heat in Bake; Left front element, Left rear element, Right rear element, Right front inner coil, Right front outer coil: weak"
	if got := r.Gist(j.Engine.Evidence()); got != want {
		t.Errorf("told as %q, want %q", got, want)
	}
}

// A joint that may be a little bad or very bad is one thing that no test divides, not two.
func TestWhatIsNotDividedIsNamedOnce(t *testing.T) {
	c, r := machine(t, "range-mechanical")
	j := job(t, c, "oven slow to heat, top burners weak")
	d, err := r.Suspects(context.Background(), j.Engine, j.Progress, report.SuspectsOptions{Most: 5, Tests: 1})
	if err != nil {
		t.Fatal(err)
	}
	if len(d.Alike) == 0 || d.Alike[0].P < 0.5 {
		t.Fatalf("not divided are %+v, want a joint before the terminal block foremost", d.Alike)
	}
	for i, a := range d.Alike {
		for _, o := range d.Alike[:i] {
			if a.Split == o.Split && slices.Equal(a.Texts, o.Texts) {
				t.Errorf("told twice: %s", strings.Join(a.Texts, ", "))
			}
		}
	}
}

// What was told of is neither good nor bad: an element changed in vain least of all.
func TestWhatWasToldIsNotCalledGood(t *testing.T) {
	c, r := machine(t, "dryer")
	d, err := r.Visit(context.Background(), job(t, c, "tumbles but no heat, new heater last week"))
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, n := range d.Notes {
		got = append(got, n.Text+": "+n.Result())
	}
	want := []string{"Drive motor main normal in Timed dry, heating: good", "Heater dead in Timed dry, heating: BAD", "Heater: replaced already: told", "Since when was said: last week (tells no fault from another): told", "Nothing is said of the other loads: taken as good"}
	if !slices.Equal(got, want) {
		t.Errorf("a report has %q, want %q", got, want)
	}
}
