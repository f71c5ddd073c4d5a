package desk

import (
	"testing"

	"legtrace/circuit"
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
		for _, s := range report.Shades(e) {
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
