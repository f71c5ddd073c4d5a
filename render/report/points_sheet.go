package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"legtrace/circuit/meter"
)

// Format is a way to write a list of tests.
type Format string

// The formats of a list of tests.
const (
	FormatText     Format = "text"
	FormatMarkdown Format = "markdown"
	FormatCSV      Format = "csv"
	FormatJSON     Format = "json"
	FormatHTML     Format = "html"
)

// PointsFormats lists them.
var PointsFormats = [...]Format{FormatText, FormatMarkdown, FormatCSV, FormatJSON, FormatHTML}

// Write writes the list in a format, with colour where the format knows any.
func (d *Points) Write(w io.Writer, f Format, colour bool) error {
	switch f {
	case FormatText:
		return WriteText(w, d, colour)
	case FormatMarkdown:
		return d.markdown(w)
	case FormatCSV:
		return d.csv(w)
	case FormatJSON:
		return WriteJSON(w, d)
	case FormatHTML:
		return d.html(w)
	}
	return fmt.Errorf("unknown format %q: one of %s", f, formatNames(PointsFormats[:]))
}

func formatNames(list []Format) string {
	var out []string
	for _, f := range list {
		out = append(out, string(f))
	}
	return strings.Join(out, ", ")
}

// markdown writes the list for a page of notes. Every step is a heading of its
// own, since tables this wide do not survive a phone.
func (d *Points) markdown(w io.Writer) error {
	var b strings.Builder
	line := func(format string, args ...any) {
		for i, a := range args {
			if s, ok := a.(string); ok {
				args[i] = inMarkdown(s)
			}
		}
		b.WriteString(fmt.Sprintf(format, args...) + "\n")
	}
	line("# %s\n", d.heading())
	line("%s. %s\n", d.Machine.Title, d.summary())
	line("## Before anything else\n")
	for i, s := range d.Cautions {
		line("%d. %s", i+1, s)
	}
	line("\n## %s\n", d.liveHeading())
	for _, s := range d.liveLines() {
		line("- %s", s)
	}
	for i := range d.Steps {
		s := &d.Steps[i]
		if i == 0 || d.Steps[i-1].Power != s.Power {
			line("\n## %s", s.section())
		}
		f, _ := meter.ParseFunction(s.Function)
		title := upperFirst(functionWords[f])
		if when := s.when(); when != "" {
			title += ", " + when
		}
		line("\n### %d. %s\n", s.Number, title)
		line("- **Red**: %s", s.From.where())
		line("- **Black**: %s", s.To.where())
		if s.Lift != nil {
			line("- **Lift first**: %s", s.Lift.sentence())
		}
		line("- **Good**: %s", s.goodWords())
		for _, o := range s.Bad {
			if !o.Told() {
				continue
			}
			line("- **Bad**, %s: %s", o.Words, o.Conclude)
		}
	}
	if len(d.Alike) > 0 {
		line("\n## Nothing on this list tells these apart\n")
		for _, a := range d.Alike {
			line("- %s: %s.", upperFirst(partsAndWires(a.Items)), a.Hint)
		}
	}
	if s := d.leftOver(); s != "" {
		line("\n## Every reading good, and still it does not work\n\n%s", s)
	}
	for _, n := range d.Notes {
		line("\n%s", n)
	}
	_, err := io.WriteString(w, plain(b.String()))
	return err
}

// inMarkdown keeps a name from being taken for markup.
func inMarkdown(s string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "_", `\_`, "`", "\\`", "<", "&lt;", "[", `\[`, "|", `\|`, "#", `\#`).Replace(s)
}

// pointsColumns head the CSV form of a list, a line for each step.
var pointsColumns = []string{"step", "only_if", "power", "mode", "under_load", "function",
	"red_terminal", "red_point", "red_label", "red_wires", "red_place",
	"black_terminal", "black_point", "black_label", "black_wires", "black_place",
	"lift", "good", "good_low", "good_high", "unit", "why", "bad", "clears", "minutes"}

func (d *Points) csv(w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(pointsColumns); err != nil {
		return err
	}
	for i := range d.Steps {
		s := &d.Steps[i]
		row := []string{fmt.Sprint(s.Number), fmt.Sprint(s.OnlyIf), s.Power, s.Mode.Name, fmt.Sprint(s.UnderLoad), s.Function}
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
			if !o.Told() {
				continue
			}
			bad = append(bad, o.Words+": "+o.Conclude)
		}
		row = append(row, lift, s.Good.Range, number(s.Good.Low), number(s.Good.High), s.Good.Unit, strings.Join(s.Good.Why, "; "),
			strings.Join(bad, " | "), partsAndWires(s.Clears), fmt.Sprint(s.Minutes))
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
