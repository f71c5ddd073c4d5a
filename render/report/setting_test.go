package report_test

import (
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/render/report"
)

// A door's switch is told by its contact: "closed" alone would be the door. Of one
// among several places none is told.
func TestWhatIsToldOfATestMisleadsNobody(t *testing.T) {
	c, r := machine(t, "range-mechanical")
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	q := ask(t, r, "bake", "bake_element")
	if err := e.Add(t.Context(), suspect.Evidence{Symptom: &suspect.Symptom{Mode: q.Mode, Load: q.Load, State: circuit.Dead}}); err != nil {
		t.Fatal(err)
	}
	door := ask(t, r, "door_open", "oven_lamp")
	at, err := r.NextTest(e, &suspect.Proposal{Test: suspect.Test{Trial: true, Mode: door.Mode}})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(at.Set, "Door switch contact closed") {
		t.Errorf("with the door open: %s", at.Set)
	}
	d, err := r.Suspects(t.Context(), e, nil, report.SuspectsOptions{Most: 20})
	if err != nil {
		t.Fatal(err)
	}
	groups := 0
	for _, s := range d.Suspects {
		for _, k := range s.Causes {
			if strings.HasPrefix(k.Text, "any one of") {
				groups++
				if strings.Contains(k.Text, "Supply") && k.Place != "" {
					t.Errorf("%s is all said to be at %q", k.Text, k.Place)
				}
			}
		}
	}
	if groups == 0 {
		t.Error("nothing was looked at")
	}
}
