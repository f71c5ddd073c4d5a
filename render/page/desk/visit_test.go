package desk

import (
	"net/url"
	"regexp"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/render/report"
)

// The shading and the engine agree: what a part's branches are shaded by adds up
// to the chance that it is at fault.
func TestShadesAreTheEnginesChances(t *testing.T) {
	for name, c := range shipped(t) {
		e, err := suspect.New(c, suspect.Options{Order: 1})
		if err != nil {
			t.Fatal(err)
		}
		b := newBench(c)
		q, err := b.Ask("", "", nil, report.Feeding)
		if err != nil {
			continue // nothing works in any mode
		}
		if err := e.Add(t.Context(), suspect.Evidence{Symptom: &suspect.Symptom{Mode: q.Mode, Load: q.Load, State: circuit.Dead}}); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		want, got := map[string]float64{}, map[string]float64{}
		for _, chance := range e.PartChance() {
			want[chance.Name] += chance.P
		}
		for _, s := range report.Shades(suspect.Among{{Engine: e, P: 1}}) {
			ref := c.Branch(s.Branch).Ref
			if p := c.Branch(s.Branch).Part; p != circuit.None {
				ref = c.Part(p).Name
			}
			got[ref] += s.P
		}
		for ref, p := range want {
			if diff := got[ref] - p; diff > 1e-6 || diff < -1e-3 {
				t.Errorf("%s: %s is shaded by %.5f, the engine has %.5f", name, ref, got[ref], p)
			}
		}
		if len(want) == 0 || len(got) == 0 {
			t.Errorf("%s: nothing was compared", name)
		}
	}
}

// Where a test is made is shown in the machine's own views: once where both
// probes go to one place, by probe where they go to two.
func TestSights(t *testing.T) {
	b := newBench(shipped(t)["range-electronic"])
	one := b.sights("oven ceiling", "oven ceiling")
	if len(one) != 1 || one[0].View != "front" || len(one[0].Boxes) != 1 || one[0].Boxes[0].Of != "" {
		t.Errorf("both at the ceiling: %+v", one)
	}
	two := b.sights("oven ceiling", "oven floor")
	if len(two) != 1 || len(two[0].Boxes) != 2 || two[0].Boxes[0].Of != "R" || two[0].Boxes[1].Of != "B" || two[0].Boxes[0].Centre() >= two[0].Boxes[1].Centre() {
		t.Errorf("red above black: %+v", two)
	}
	if away := b.sights("oven floor", "house panel"); len(away) != 2 {
		t.Errorf("oven and house panel: %+v", away)
	}
	if none := b.sights("", "somewhere else"); len(none) != 0 {
		t.Errorf("places that no view shows: %+v", none)
	}
}

// A clamp goes around one wire at one place: no card sends two probes there.
func TestAClampIsNoPairOfProbes(t *testing.T) {
	c := shipped(t)["oven-gas"]
	b := newBench(c)
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	at, _ := c.FindTerminal("bake_igniter.1")
	far, _ := c.FindTerminal("bake_plug.A.out")
	mode, _ := c.FindMode("bake")
	test := suspect.Test{Probes: meter.Probes{Function: meter.Amps, P: at, Q: far}, Mode: mode, Live: true, At: circuit.None}
	p, err := b.propose(e, report.NextTest{Function: "amps", Text: "Clamp the wire, live in Bake"}, test)
	if err != nil {
		t.Fatal(err)
	}
	if p.Clamp != "w17" || len(p.Reach) != 1 || len(p.Sights) != 1 || len(p.Sights[0].Boxes) != 1 {
		t.Errorf("around %q, at %v, seen at %+v", p.Clamp, p.Reach, p.Sights)
	}
	if want := "Bake igniter 1"; p.Ends[0].Name != want {
		t.Errorf("at %q, not %q", p.Ends[0].Name, want)
	}
}

// Readings at one place stand on one card, and those that were typed are noted, in
// their order.
func TestACardTakesReadingsThatGoTogether(t *testing.T) {
	d := New(shipped(t)["dryer"])
	s := State{Door: DoorFind, Notes: []string{"all-dead~timed_dry"}}
	q, err := url.ParseQuery(s.Query())
	if err != nil {
		t.Fatal(err)
	}
	a, err := d.Answer(t.Context(), Request{Path: "/visit", Query: q})
	if err != nil {
		t.Fatal(err)
	}
	goes := regexp.MustCompile(`name="goes" value="([^"]+)"`).FindAllStringSubmatch(string(a.Body), -1)
	test := regexp.MustCompile(`name="test" value="([^"]+)"`).FindStringSubmatch(string(a.Body))
	if len(goes) < 2 || test == nil {
		t.Fatalf("no readings go with %q", test)
	}
	q.Set("test", test[1])
	q.Set("answer", "0")
	q["goes"], q["along"] = []string{goes[0][1], goes[1][1]}, []string{"", "119"}
	if a, err = d.Answer(t.Context(), Request{Path: "/", Query: q}); err != nil {
		t.Fatal(err)
	}
	if want := url.QueryEscape(goes[1][1] + "~119"); !a.Moved || !strings.Contains(a.State, url.QueryEscape(test[1]+"~0")) || !strings.Contains(a.State, want) || strings.Contains(a.State, url.QueryEscape(goes[0][1])) {
		t.Errorf("what was typed comes to %s", a.State)
	}
}
