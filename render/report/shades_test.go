package report_test

import (
	"context"
	"math"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
	"legtrace/render/report"
)

// Broil is cold, bake is fine: the shades of a part's branches add up to the
// part's chance, and nothing that bake shares with broil is darker than what is
// broil's alone.
func TestShadesOfAColdBroiler(t *testing.T) {
	c, err := netlists.ReadFile("catalog:range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	e, err := suspect.New(c, suspect.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []suspect.Note{{Mode: "broil", Load: "broil_element", State: "dead"}, {Mode: "bake", Load: "bake_element", State: "normal"}} {
		ev, err := n.Resolve(c)
		if err != nil {
			t.Fatal(err)
		}
		if err := e.Add(context.Background(), ev); err != nil {
			t.Fatal(err)
		}
	}
	byPart, byBranch := map[string]float64{}, map[string]float64{}
	last := 1.0
	for _, s := range report.Shades(suspect.Among{{Engine: e, P: 1}}) {
		if s.P > last {
			t.Errorf("%s with %v after %v: want the likeliest first", c.Label(s.Branch), s.P, last)
		}
		last = s.P
		b := c.Branch(s.Branch)
		byBranch[b.Ref] = s.P
		name := b.Ref // of a wire
		if b.Part != circuit.None {
			name = c.Part(b.Part).Name
		}
		byPart[name] += s.P
	}
	for _, want := range e.PartChance()[:3] {
		if got := byPart[want.Name]; math.Abs(got-want.P) > 1e-9 {
			t.Errorf("%s is shaded %v in all, the engine says %v", want.Name, got, want.P)
		}
	}
	for _, shared := range []string{"thermal_fuse", "high_limit"} {
		if byBranch[shared] >= byBranch["broil_element"]/10 {
			t.Errorf("%s, which bake needs too, is shaded %v; the broil element %v", shared, byBranch[shared], byBranch["broil_element"])
		}
	}
}
