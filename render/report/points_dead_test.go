package report_test

import (
	"strings"
	"testing"

	"legtrace/netlists"
	"legtrace/render/report"
)

// Who works on a machine proves dead what is to be touched, once it lies open and before a
// probe goes down (OSHA 29 CFR 1910.333(b)(2)(iv)(B)): at the terminal block what comes in
// there, elsewhere the ends in reach. It can be done nowhere before that.
func TestWhatComesOpenIsProvedDead(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		if strings.Contains(strings.Join(d.LockOut, " "), "Dead") {
			t.Errorf("%s: to be proved dead before anything is opened", name)
		}
		was, proved := "removed", false
		for _, s := range d.Steps {
			if s.Outside {
				continue
			}
			if s.Power != was {
				proved = proved && s.Power == "on"
			}
			if was = s.Power; len(s.Dead) > 0 {
				proved = true
			}
			if !proved {
				t.Errorf("%s: step %d is made with nothing proved dead", name, s.Number)
			}
			block, pairs := false, false
			for _, o := range s.Opens {
				block = block || o.Panel == "Cord cover" || o.Panel == "Junction box cover"
			}
			for _, text := range s.Dead {
				pairs = pairs || strings.Contains(text, "where the supply comes in: L1-L2 ")
			}
			if block && !pairs || pairs && s.OnlyIf == 0 && len(s.Opens)+len(s.Before) == 0 {
				t.Errorf("%s: step %d opens the block: %t, proves it dead: %t", name, s.Number, block, pairs)
			}
		}
	})
}

// A tank and a kiln have no neutral brought to them: nobody is sent to read to it.
func TestNoNeutralIsProvedDeadWhereNoneComesIn(t *testing.T) {
	for machine, neutral := range map[string]bool{"water-heater": false, "kiln": false, "dryer": true} {
		c, err := netlists.Open(machine)
		if err != nil {
			t.Fatal(err)
		}
		r := report.New(c)
		mode := c.Modes()[1].Name
		d, err := sheetOf(r, ask(t, r, mode, ""))
		if err != nil {
			t.Fatal(err)
		}
		sheet := written(t, d, report.FormatText)
		if got := strings.Contains(sheet, "N-metal") || strings.Contains(sheet, "L1-N"); got != neutral {
			t.Errorf("%s: neutral proved dead: %t", machine, got)
		}
	}
}
