package report

import (
	"fmt"
	"io"
	"strings"
)

// branches are the characters a tree is drawn with.
type branches struct{ tee, corner, bar, gap string }

var (
	drawnBranches = branches{"├─ ", "└─ ", "│  ", "   "}
	asciiBranches = branches{"|- ", "`- ", "|  ", "   "}
)

func (d *Plan) text(p *page) {
	p.heading("Plan")
	p.para(0, d.Machine.Title)
	p.known(d.Known)
	p.heading("The plan")
	with := drawnBranches
	if d.ASCII {
		with = asciiBranches
	}
	p.planNode(with, "", "", "", d.Root)
	p.WriteByte('\n')
	p.para(2, "Live tests are marked LIVE. The supply is removed, locked out and proved dead for all others but trials.")
	d.compared(p)
	p.cautions()
	for _, n := range d.Notes {
		p.WriteByte('\n')
		p.para(0, n)
	}
}

// planNode writes what to do, or what is left, after a lead that says how one
// got here, with the tree's own characters before every line.
func (p *page) planNode(with branches, first, rest, lead string, n *PlanNode) {
	if n.Test == nil {
		p.hang(first, rest, lead+n.ending())
		return
	}
	t := n.Test
	p.hang(first, rest, fmt.Sprintf("%s%s. %s", lead, p.strong.Sprint(n.Number), t.step()))
	if t.Trial {
		p.hang(rest+"   ", rest+"   ", "look at "+list(labelsOf(t.Loads)))
	}
	for i, b := range n.Branches {
		tee, bar := with.tee, with.bar
		if i == len(n.Branches)-1 {
			tee, bar = with.corner, with.gap
		}
		p.planNode(with, rest+tee, rest+bar, fmt.Sprintf("%s (%s): ", b.Reads, chance(b.P)), b.Then)
	}
}

// step says what to do in the fewest words.
func (t *NextTest) step() string {
	if t.Trial {
		return t.Text
	}
	s := fmt.Sprintf("%s %s to %s", upperFirst(t.Function), t.From, t.To)
	if t.Live {
		s = "LIVE, " + t.Mode.Label + ": " + s
	}
	if t.Lift != "" {
		s += ", lifted " + t.Lift
	}
	return s + ", good " + t.Good
}

// hang writes text wrapped between a prefix for its first line and one for the
// others.
func (p *page) hang(first, rest, s string) {
	width := max(24, Width-len([]rune(first))-2)
	for i, line := range wrap(s, width) {
		prefix := first
		if i > 0 {
			prefix = rest + "  "
		}
		p.WriteString(strings.TrimRight(prefix+line, " ") + "\n")
	}
}

func (d *Plan) compared(p *page) {
	p.heading("What it costs, on average")
	var rows [][]string
	for _, c := range d.Compared {
		rows = append(rows, []string{c.Name, figureOr(c.Tests, "%.2f", "too many to try"), figureOr(c.Minutes, "%.0f", "-"), figureOr(c.Live, "%.2f", "-")})
	}
	p.table(2, []column{{title: "", width: 18}, {title: "Tests", width: 16, right: true}, {title: "Minutes", width: 8, right: true}, {title: "Live", width: 6, right: true}}, rows)
	p.para(2, fmt.Sprintf("%.2f bits to tell apart, by tests of up to %d outcomes.", d.Entropy, d.Ways))
}

func figureOr(v *float64, format, or string) string {
	if v == nil {
		return or
	}
	return fmt.Sprintf(format, *v)
}

// PlanFormats lists the formats of a plan.
var PlanFormats = [...]Format{FormatText, FormatMarkdown, FormatJSON}

// Write writes the plan in a format; colour is for text.
func (d *Plan) Write(w io.Writer, f Format, colour bool) error {
	switch f {
	case FormatText:
		return WriteText(w, d, colour)
	case FormatMarkdown:
		return d.markdown(w)
	case FormatJSON:
		return WriteJSON(w, d)
	}
	return fmt.Errorf("unknown format %q: one of %s", f, formatNames(PlanFormats[:]))
}

func (d *Plan) markdown(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "# Plan: %s\n\n", markdown(d.Machine.Title))
	for _, k := range d.Known {
		fmt.Fprintf(&b, "%d. %s\n", k.Number, markdown(k.Text))
	}
	b.WriteString("\n## The plan\n\n")
	planMarkdown(&b, "", "", d.Root)
	b.WriteString("\nLive tests are marked **LIVE**. The supply is removed, locked out and proved dead for all others but trials.\n")
	b.WriteString("\n## What it costs, on average\n\n| | Tests | Minutes | Live |\n|---|---:|---:|---:|\n")
	for _, c := range d.Compared {
		fmt.Fprintf(&b, "| %s | %s | %s | %s |\n", c.Name, figureOr(c.Tests, "%.2f", "too many to try"), figureOr(c.Minutes, "%.0f", "-"), figureOr(c.Live, "%.2f", "-"))
	}
	markdownCautions(&b)
	_, err := io.WriteString(w, plain(b.String()))
	return err
}

func planMarkdown(b *strings.Builder, indent, lead string, n *PlanNode) {
	if n.Test == nil {
		fmt.Fprintf(b, "%s- %s**%s**\n", indent, lead, markdown(n.ending()))
		return
	}
	step := strings.Replace(markdown(n.Test.step()), "LIVE,", "**LIVE**,", 1)
	if n.Test.Trial {
		step += ", look at " + markdown(list(labelsOf(n.Test.Loads)))
	}
	fmt.Fprintf(b, "%s- %s**%d.** %s\n", indent, lead, n.Number, step)
	for _, x := range n.Branches {
		planMarkdown(b, indent+"  ", fmt.Sprintf("%s (%s): ", markdown(x.Reads), chance(x.P)), x.Then)
	}
}

func markdownCautions(b *strings.Builder) {
	b.WriteString("\n## Caution\n\n")
	for _, s := range cautionLines {
		fmt.Fprintf(b, "- %s\n", markdown(s))
	}
}

// markdown escapes what Markdown would take for its own.
func markdown(s string) string {
	return strings.NewReplacer("\\", "\\\\", "*", "\\*", "_", "\\_", "`", "\\`", "|", "\\|", "<", "&lt;", ">", "&gt;", "#", "\\#", "[", "\\[", "]", "\\]").Replace(s)
}
