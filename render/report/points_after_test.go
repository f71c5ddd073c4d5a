package report_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"legtrace/circuit/suspect"
	"legtrace/netlists"
	"legtrace/render/report"
)

// complained is the sheet for what was seen of a machine of the catalog.
func complained(t *testing.T, name string, seen suspect.Note) *report.Points {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	ev, err := seen.Resolve(c)
	if err != nil {
		t.Fatal(err)
	}
	if err := e.Add(t.Context(), ev); err != nil {
		t.Fatal(err)
	}
	d, err := report.New(c).Points(t.Context(), e, report.SheetOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// A short that was mended is proved by ohms before power, and by the load on which it
// tripped after: a control that comes on proves nothing (common practice, no source).
func TestAMendedShortIsLoaded(t *testing.T) {
	for _, of := range []struct {
		name  string
		seen  suspect.Note
		loads string
	}{
		{"range-electronic", suspect.Note{Mode: "bake", Trips: true}, `Select "Bake": bake element comes on`},
		{"range-electronic", suspect.Note{Mode: "self_clean", Trips: true}, "broil element comes on"},
		{"dryer", suspect.Note{Mode: "timed_dry", Trips: true}, "heater comes on"},
	} {
		d := complained(t, of.name, of.seen)
		after := strings.Join(d.After, "\n")
		if !strings.Contains(after, of.loads) || !strings.Contains(after, "the breaker holds") {
			t.Errorf("%s, %s: %s", of.name, of.seen.Mode, after)
		}
		for _, pair := range []string{"Terminal block L1 Terminal block L2", "Terminal block L1 Terminal block N"} {
			k := slices.IndexFunc(d.Steps, func(s report.Step) bool {
				return s.From.Label+" "+s.To.Label == pair && s.Power == "removed" && s.OnlyIf == 0
			})
			if k < 0 || len(d.Steps[k].Bad) == 0 {
				t.Errorf("%s, %s: %s is not read, or nothing is bad there", of.name, of.seen.Mode, pair)
			} else if !strings.Contains(after, "step "+string(rune('1'+k))+", ") {
				t.Errorf("%s, %s: step %d is not taken once more: %s", of.name, of.seen.Mode, k+1, after)
			}
		}
		for _, s := range d.Steps {
			if s.Power == "on" {
				t.Errorf("%s, %s: step %d has it on again", of.name, of.seen.Mode, s.Number)
			}
		}
	}
}

// On a machine on which nothing comes on nothing is selected, and who has read all of it
// good is told what then.
func TestADeadMachineIsNotSwitchedOn(t *testing.T) {
	d := complained(t, "range-electronic", suspect.Note{Mode: "bake", AllDead: true})
	for _, s := range d.Steps {
		if s.Power == "on" && s.Mode.Name != "off" {
			t.Errorf("step %d is taken in %s", s.Number, s.Mode.Label)
		}
	}
	if sheet := written(t, d, report.FormatText); !strings.Contains(sheet, "Every reading good, and still") || !strings.Contains(sheet, "Nothing is left of what this machine's netlist has") {
		t.Error("nothing is said of all readings good")
	}
}

// A limiter that was measured closed is not left over as open: what is left is that it
// opens as it should.
func TestWhatReadsGoodIsNotLeftOverOpen(t *testing.T) {
	d := complained(t, "range-smooth-top", suspect.Note{Mode: "lf_surface", Load: "lf_element", State: "dead"})
	for _, s := range d.LeftOver {
		if strings.HasPrefix(s.Text, "open: Left front limiter 1a-1b") {
			t.Errorf("left over: %s", s.Text)
		}
	}
}

// Each panel comes off once; what only a bad reading calls for says so.
func TestAPanelIsOpenedOnce(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		opened := map[string]bool{}
		for _, s := range d.Steps {
			for _, o := range s.Opens {
				if opened[o.Panel] && !o.Maybe {
					t.Errorf("%s, step %d: %s is open already", name, s.Number, o.Panel)
				}
				opened[o.Panel] = true
			}
		}
		sheet := written(t, d, report.FormatText)
		for _, s := range d.Steps {
			only := "For step " + strconv.Itoa(s.Number) + " only, open: "
			if want := s.OnlyIf > 0 && s.Power == "removed" && len(s.Opens) > 0; strings.Contains(sheet, only) != want {
				t.Errorf("%s, step %d: %q is said: %t", name, s.Number, only, !want)
			}
		}
		if many := len(d.Steps) > 2 && d.Steps[0].OnlyIf == 0 && d.Steps[1].OnlyIf == 0; many && !strings.Contains(strings.Join(strings.Fields(sheet), " "), "minutes if the first finds it, ") {
			t.Errorf("%s: nothing is said of how long the first step takes", name)
		}
	})
}

// What is likeliest is said first, whatever way it failed: an aged igniter, not what else
// reads so.
func TestTheLikeliestMeaningComesFirst(t *testing.T) {
	d := complained(t, "oven-gas", suspect.Note{Mode: "bake", Load: "bake_valve", State: "dead"})
	k := slices.IndexFunc(d.Suspects, func(s report.Suspect) bool { return s.Text == "Bake igniter with too many ohms" })
	first := slices.ContainsFunc(d.Steps, func(s report.Step) bool {
		return slices.ContainsFunc(s.Bad, func(o report.Outcome) bool {
			return strings.HasPrefix(o.Conclude, "Bake igniter with too many ohms")
		})
	})
	if k != 0 || !first {
		t.Errorf("the aged igniter is suspect %d, first in a row: %t", k+1, first)
	}
}
