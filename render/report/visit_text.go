package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"
)

func (d *Visit) text(p *page) {
	p.heading("Visit")
	p.para(0, d.Machine.Title)
	for _, row := range d.about() {
		p.term(2, 14, row[0], row[1])
	}
	p.heading("Caution")
	for _, s := range d.Cautions {
		p.para(2, s)
	}
	p.visitNotes("Seen and measured", d.Notes)
	if d.Misfit != nil {
		(&Suspects{Misfit: d.Misfit}).misfit(p)
	}
	p.heading("Verdict")
	p.para(2, d.verdict())
	if d.Verdict == nil {
		(&Suspects{Suspects: d.Suspects, Others: d.Others}).shortRanking(p)
	}
	if d.Repair != "" {
		p.heading("Repair")
		p.para(2, d.Repair)
		p.visitNotes("After the repair", d.After)
		p.para(2, d.proof())
	}
}

// about lists what is known of the visit itself.
func (d *Visit) about() [][2]string {
	var out [][2]string
	for _, row := range [][2]string{{"Date", d.Date}, {"Complaint", d.Complaint}, {"Netlist", d.Machine.Name}, {"Supply", d.Machine.Supply},
		{"Instrument", d.Instrument}, {"Temperature", fmt.Sprintf("%.0f C", d.Celsius)}} {
		if row[1] != "" {
			out = append(out, row)
		}
	}
	return out
}

func (d *Visit) verdict() string {
	if d.Verdict == nil {
		return "None yet."
	}
	s := d.Verdict.Text
	if d.Verdict.Place != "" {
		s += " (" + d.Verdict.Place + ")"
	}
	if d.Verdict.Chance > 0 {
		s += ", " + chance(d.Verdict.Chance)
	}
	return s + "."
}

func (d *Visit) proof() string {
	switch {
	case len(d.After) == 0:
		return "Nothing was measured after the repair."
	case d.Proved:
		return "All as it should be."
	}
	return "Not all as it should be: the repair is not proved."
}

func (p *page) visitNotes(title string, notes []VisitNote) {
	if len(notes) == 0 {
		return
	}
	p.heading(title)
	var rows [][]string
	for _, n := range notes {
		rows = append(rows, []string{fmt.Sprint(n.Number), n.Text, n.Good, n.judged()})
	}
	p.table(0, []column{{width: 4, fixed: true, right: true}, {title: "What"}, {title: "Good", width: 18}, {title: "", width: 4}}, rows)
}

func (n VisitNote) judged() string {
	switch {
	case !n.Made:
		return ""
	case n.Bad:
		return "BAD"
	}
	return "good"
}

func (d *Suspects) shortRanking(p *page) {
	for i, x := range d.Suspects {
		p.term(2, 18, fmt.Sprintf("%d  %s %s", i+1, bar(x.P), chance(x.P)), "  "+x.text())
	}
}

// VisitFormats lists the formats of a visit.
var VisitFormats = [...]Format{FormatText, FormatMarkdown, FormatHTML, FormatJSON}

// Write writes the visit in a format; colour is for text.
func (d *Visit) Write(w io.Writer, f Format, colour bool) error {
	switch f {
	case FormatText:
		return WriteText(w, d, colour)
	case FormatMarkdown:
		return d.markdown(w)
	case FormatHTML:
		return d.html(w)
	case FormatJSON:
		return WriteJSON(w, d)
	}
	return fmt.Errorf("unknown format %q: one of %s", f, formatNames(VisitFormats[:]))
}

func (d *Visit) markdown(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "# Visit: %s\n\n", markdown(d.Machine.Title))
	for _, row := range d.about() {
		fmt.Fprintf(&b, "- %s: %s\n", row[0], markdown(row[1]))
	}
	markdownCautions(&b)
	notesMarkdown(&b, "Seen and measured", d.Notes)
	if d.Misfit != nil {
		fmt.Fprintf(&b, "\n**Line %d fits nothing together with the rest: %s.**\n", d.Misfit.Known.Number, markdown(d.Misfit.Known.Text))
	}
	fmt.Fprintf(&b, "\n## Verdict\n\n%s\n", markdown(d.verdict()))
	if d.Verdict == nil {
		for _, x := range d.Suspects {
			fmt.Fprintf(&b, "\n- %s %s", chance(x.P), markdown(x.text()))
		}
		b.WriteByte('\n')
	}
	if d.Repair != "" {
		fmt.Fprintf(&b, "\n## Repair\n\n%s\n", markdown(d.Repair))
		notesMarkdown(&b, "After the repair", d.After)
		fmt.Fprintf(&b, "\n%s\n", d.proof())
	}
	_, err := io.WriteString(w, plain(b.String()))
	return err
}

func notesMarkdown(b *strings.Builder, title string, notes []VisitNote) {
	if len(notes) == 0 {
		return
	}
	fmt.Fprintf(b, "\n## %s\n\n| | What | Good | |\n|---:|---|---|---|\n", title)
	for _, n := range notes {
		judged := n.judged()
		if n.Bad {
			judged = "**BAD**"
		}
		fmt.Fprintf(b, "| %d | %s | %s | %s |\n", n.Number, markdown(n.Text), markdown(n.Good), judged)
	}
}

//go:embed visit.html.tmpl
var visitPage string

// html writes a visit as one page to read and print: no script, nothing
// fetched, the diagram in it.
func (d *Visit) html(w io.Writer) error {
	t, err := template.New("visit").Funcs(template.FuncMap{
		"chance": func(p float64) string { return plain(chance(p)) },
		"wide":   func(p float64) string { return fmt.Sprintf("%.0f", 100*p) },
		"said":   func(x Explanation) string { return x.text() },
		"place":  func(x Explanation) string { return x.place() },
		"plain":  plain,
	}).Parse(visitPage)
	if err != nil {
		return err
	}
	return t.Execute(w, struct {
		*Visit
		About       [][2]string
		Said, Proof string
		SVG         template.HTML
	}{d, d.about(), d.verdict(), d.proof(), template.HTML(d.Diagram)})
}
