package desk

import (
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
