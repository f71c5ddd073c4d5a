package report_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
	"legtrace/netlists"
	"legtrace/render/report"
)

// In a plan any reading has a branch, and those beside each other that end alike are
// one; what is good between two places is one figure in plan and sheet.
func TestAPlanTakesAnyReading(t *testing.T) {
	c, err := netlists.Open("water-heater")
	if err != nil {
		t.Fatal(err)
	}
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	alike := 0
	var text strings.Builder
	for _, told := range []suspect.Note{{Mode: "cold_tank", Told: "runs_out"}, {Mode: "cold_tank", Load: "upper_element", State: "dead"}} {
		e.Forget()
		ev, err := told.Resolve(c)
		if err != nil {
			t.Fatal(err)
		}
		if err := e.Add(t.Context(), ev); err != nil {
			t.Fatal(err)
		}
		r := report.New(c)
		plan, err := r.Plan(t.Context(), e, nil)
		if err != nil {
			t.Fatal(err)
		}
		sheet, err := r.Points(t.Context(), e, report.SheetOptions{})
		if err != nil {
			t.Fatal(err)
		}
		good := map[string]string{}
		for _, s := range sheet.Steps {
			if !s.Trial {
				good[s.From.Point+" "+s.To.Point+" "+s.Mode.Name+" "+s.Power] = s.Good.Range
			}
		}
		var down func(*report.PlanNode)
		down = func(n *report.PlanNode) {
			if n.Test == nil {
				return
			}
			power := map[bool]string{true: "on", false: "removed"}[n.Test.Live]
			if g, ok := good[n.Test.From+" "+n.Test.To+" "+n.Test.Mode.Name+" "+power]; ok && n.Test.Live {
				if alike++; g != n.Test.Good {
					t.Errorf("%s to %s: good %s in the plan, %s on the sheet", n.Test.From, n.Test.To, n.Test.Good, g)
				}
			}
			above := 0
			for _, b := range n.Branches {
				if strings.HasPrefix(b.Reads, "above ") {
					above++
				}
				text.WriteString(b.Reads + "; ")
				down(b.Then)
			}
			if above > 1 {
				t.Errorf("%s: %d branches without end", n.Test.Text, above)
			}
		}
		down(plan.Root)
	}
	if alike == 0 {
		t.Error("no reading is in the plan and on the sheet")
	}
	words := text.String()
	for _, want := range []string{"above 0.5 ohms, not OL", "above 14.7 ohms, not OL"} {
		if !strings.Contains(words, want) {
			t.Errorf("%q is nowhere in the plan", want)
		}
	}
	if strings.Contains(words, "7.86 to 8.34 ohms") {
		t.Error("a reading between two joints has no branch")
	}
}
