package report

import (
	_ "embed"
	"html/template"
	"io"
	"slices"

	"legtrace/circuit/meter"
)

// pointsPage is the sheet: one file, no script, nothing fetched.
//
//go:embed points.html.tmpl
var pointsPage string

// html writes the list as a page that prints on a sheet or two and reads on a
// phone.
func (d *Points) html(w io.Writer) error {
	t, err := template.New("points").Funcs(template.FuncMap{
		"lead": func(s Step) string {
			f, _ := meter.ParseFunction(s.Function)
			return upperFirst(functionWords[f])
		},
		"when": func(s Step) string { return s.when() },
		"section": func(i int) string {
			if i > 0 && d.Steps[i-1].Power == d.Steps[i].Power {
				return ""
			}
			return d.Steps[i].section()
		},
		"look":    func(p Probe) string { return p.look() },
		"good":    func(s Step) string { return s.Good.Range + s.Good.sounds() },
		"reasons": func(s Step) string { return reasons(s.Good.Why) },
		"take":    func(l *Lift) string { return l.sentence() },
		"items":   func(list []Item) string { return upperFirst(partsAndWires(list)) },
		"told": func(s Step) []Outcome {
			return slices.DeleteFunc(slices.Clone(s.Bad), func(o Outcome) bool { return !o.Told() })
		},
		"probes": func(s Step) []Probe { return []Probe{s.From, s.To} },
	}).Parse(pointsPage)
	if err != nil {
		return err
	}
	return t.Execute(w, struct {
		*Points
		Heading, Summary, LiveHeading, Left string
		LiveLines                           []string
	}{d, d.heading(), d.summary(), d.liveHeading(), d.leftOver(), d.liveLines()})
}
