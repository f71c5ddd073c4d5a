package lessons

import (
	"context"
	"fmt"
	"strings"

	"legtrace/render/report"
)

// Markdown writes the whole page, its title included, in lines of 80 columns but
// for tables.
func (l *Lesson) Markdown(ctx context.Context) (string, error) {
	var b strings.Builder
	fmt.Fprintf(&b, "# %d. %s\n\n%s", l.Number, l.Title, fill(fmt.Sprintf("About %d minutes. After it you can:", l.Minutes)))
	b.WriteString("\n")
	for _, s := range l.Objectives {
		b.WriteString(hang("- ", s))
	}
	for _, s := range l.Intro {
		b.WriteString("\n" + fill(s))
	}
	question := 0
	for i := range l.Parts {
		p := &l.Parts[i]
		fmt.Fprintf(&b, "\n## %s\n", p.Title)
		if p.Note != "" {
			b.WriteString("\n" + fill(p.Note))
		}
		for j := range p.Steps {
			p.Steps[j].write(&b, &question)
			if p.Circuit == nil || j > 0 {
				continue
			}
			drawing, err := p.drawing(ctx)
			if err != nil {
				return "", err
			}
			b.WriteString("\n```text\n" + strings.TrimRight(drawing, "\n") + "\n```\n")
		}
	}
	b.WriteString("\n## Exercises\n")
	for i, e := range l.Exercises {
		fmt.Fprintf(&b, "\n%s", hang(fmt.Sprintf("%d. ", i+1), e.Ask))
	}
	b.WriteString("\n## Keep\n")
	for _, s := range l.Keep {
		b.WriteString("\n" + fill(s))
	}
	b.WriteString("\n## Answers\n")
	for i, s := range l.questions() {
		fmt.Fprintf(&b, "\n%s", hang(fmt.Sprintf("Question %d: ", i+1), s.Answer))
	}
	for i, e := range l.Exercises {
		fmt.Fprintf(&b, "\n%s", hang(fmt.Sprintf("Exercise %d: ", i+1), e.Answer))
	}
	b.WriteString("\n" + quote(report.Cautions()))
	return b.String(), nil
}

// questions lists the steps that ask one.
func (l *Lesson) questions() []*Step {
	var out []*Step
	for i := range l.Parts {
		for j := range l.Parts[i].Steps {
			if s := &l.Parts[i].Steps[j]; s.Ask != "" {
				out = append(out, s)
			}
		}
	}
	return out
}

// write lays a step out; its question gets the next number.
func (s *Step) write(b *strings.Builder, question *int) {
	if s.Say != "" {
		b.WriteString("\n" + fill(s.Say))
	}
	if len(s.Rows) > 0 {
		b.WriteString("\n" + table(s.Head, s.Rows))
	}
	if then := s.Then + s.Undrawn; then != "" {
		b.WriteString("\n" + fill(then))
	}
	if cmd := s.Show.command(); cmd != "" {
		b.WriteString("\nSee it: `" + cmd + "`\n")
	}
	if s.Ask != "" {
		*question++
		b.WriteString("\n" + hang(fmt.Sprintf("Question %d: ", *question), s.Ask))
	}
}

// command draws what a show is about.
func (s Show) command() string {
	if s.None() || s.Off || s.Small {
		return ""
	}
	cmd := "legtrace draw"
	for _, flag := range [][2]string{{"mode", s.Mode}, {"load", s.Load}} {
		if flag[1] != "" {
			cmd += " --" + flag[0] + " " + flag[1]
		}
	}
	for _, f := range s.Faults {
		cmd += " --fault " + f
	}
	return cmd
}

// fill lays a paragraph out in lines of 80 columns, hang one whose first line
// begins with a mark.
func fill(s string) string { return strings.Join(report.Wrap(s, report.Width), "\n") + "\n" }

func hang(mark, s string) string {
	indent := "  "
	lines := report.Wrap(mark+s, report.Width-len(indent))
	return strings.Join(lines, "\n"+indent) + "\n"
}

func quote(paragraphs []string) string {
	var out []string
	for _, s := range paragraphs {
		out = append(out, "> "+strings.Join(report.Wrap(s, report.Width-2), "\n> "))
	}
	return strings.Join(out, "\n>\n") + "\n"
}

// table writes a table whose columns line up as plain text too.
func table(head []string, rows []Row) string {
	width := make([]int, len(head))
	all := [][]string{head}
	for _, row := range rows {
		all = append(all, row.Cells)
	}
	for _, row := range all {
		for i, cell := range row {
			width[i] = max(3, width[i], len([]rune(cell)))
		}
	}
	var b strings.Builder
	line := func(row []string) {
		for i, cell := range row {
			b.WriteString("| " + cell + strings.Repeat(" ", width[i]-len([]rune(cell))+1))
		}
		b.WriteString("|\n")
	}
	line(head)
	var rule []string
	for i := range head {
		rule = append(rule, strings.Repeat("-", width[i]))
	}
	line(rule)
	for _, row := range all[1:] {
		line(row)
	}
	return b.String()
}
