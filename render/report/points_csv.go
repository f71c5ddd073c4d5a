package report

import (
	"cmp"
	"fmt"
	"io"
	"strings"
)

// pointsColumns head the CSV form of a list, a line for each step.
var pointsColumns = []string{"step", "only_if", "power", "mode", "opens", "under_load", "function", "range",
	"red_terminal", "red_point", "red_label", "red_wires", "red_place",
	"black_terminal", "black_point", "black_label", "black_wires", "black_place",
	"lift", "good", "good_low", "good_high", "unit", "why", "bad", "notes", "minutes", "read"}

func (d *Points) csv(w io.Writer) error {
	return writeCSV(w, pointsColumns, func(yield func([]string) bool) {
		for i := range d.Steps {
			if !yield(d.Steps[i].cells()) {
				return
			}
		}
	})
}

// cells are a step's, in the order of [pointsColumns].
func (s *Step) cells() []string {
	row := []string{fmt.Sprint(s.Number), fmt.Sprint(s.OnlyIf), s.Power, s.Mode.Name, strings.Join(each(s.Opens, func(o Opened) string { return o.Panel }), "; "),
		fmt.Sprint(s.UnderLoad), cmp.Or(s.Function, s.Do), s.Scale}
	for _, p := range [2]*Probe{&s.From, &s.To} {
		var wires []string
		for k, name := range p.Wires {
			wires = append(wires, strings.TrimSpace(p.Colours[k]+" "+name))
		}
		row = append(row, p.Terminal, p.Point, p.Label, strings.Join(wires, "; "), p.Place)
	}
	lift := ""
	if s.Lift != nil {
		lift = s.Lift.sentence()
	}
	row = append(row, lift, s.Good.Range, number(s.Good.Low), number(s.Good.High), s.Good.Unit, strings.Join(s.Good.Why, "; "),
		strings.Join(each(s.Bad, Outcome.text), " | "), strings.Join(s.Notes, "; "), fmt.Sprint(s.Minutes), "")
	return each(row, cell)
}
