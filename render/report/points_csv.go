package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// pointsColumns head the CSV form of a list, a line for each step.
var pointsColumns = []string{"step", "only_if", "power", "mode", "opens", "under_load", "function", "range",
	"red_terminal", "red_point", "red_label", "red_wires", "red_place",
	"black_terminal", "black_point", "black_label", "black_wires", "black_place",
	"lift", "good", "good_low", "good_high", "unit", "why", "bad", "notes", "minutes", "read"}

func (d *Points) csv(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(pointsColumns); err != nil {
		return err
	}
	for i := range d.Steps {
		s := &d.Steps[i]
		var opens []string
		for _, o := range s.Opens {
			opens = append(opens, o.Panel)
		}
		row := []string{fmt.Sprint(s.Number), fmt.Sprint(s.OnlyIf), s.Power, s.Mode.Name, strings.Join(opens, "; "), fmt.Sprint(s.UnderLoad), s.Function, s.Scale}
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
		var bad []string
		for _, o := range s.Bad {
			bad = append(bad, o.text())
		}
		row = append(row, lift, s.Good.Range, number(s.Good.Low), number(s.Good.High), s.Good.Unit, strings.Join(s.Good.Why, "; "),
			strings.Join(bad, " | "), strings.Join(s.Notes, "; "), fmt.Sprint(s.Minutes), "")
		for k := range row {
			row[k] = cell(row[k])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

// number writes a figure that may be missing.
func number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}

// cell keeps text from being taken for a formula by a spreadsheet.
func cell(s string) string {
	s = plain(s)
	if s != "" && strings.ContainsRune("=+-@", rune(s[0])) {
		if _, err := strconv.ParseFloat(s, 64); err != nil {
			return "'" + s
		}
	}
	return s
}
