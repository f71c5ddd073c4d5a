package report

import (
	"strings"

	"github.com/fatih/color"
	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// Width is the number of columns text is written for.
const Width = 80

// hard is a space at which a line is not broken, as between a number and its
// unit.
const hard = "\u00a0"

// page is text in the making.
type page struct {
	strings.Builder
	strong, good, bad, faint *color.Color
}

func newPage(colour bool) *page {
	p := &page{strong: color.New(color.Bold), good: color.New(color.FgGreen),
		bad: color.New(color.FgRed, color.Bold), faint: color.New(color.Faint)}
	for _, c := range []*color.Color{p.strong, p.good, p.bad, p.faint} {
		if colour {
			c.EnableColor()
		} else {
			c.DisableColor()
		}
	}
	return p
}

// heading starts a section.
func (p *page) heading(s string) {
	if p.Len() > 0 {
		p.WriteByte('\n')
	}
	for _, line := range wrap(s, Width) {
		p.WriteString(p.strong.Sprint(line) + "\n")
	}
}

// para writes text wrapped, every line indented.
func (p *page) para(indent int, s string) {
	for _, line := range wrap(s, Width-indent) {
		p.WriteString(strings.Repeat(" ", indent) + line + "\n")
	}
}

// term writes a short term and, beside it in a column of its own, what is said
// of it.
func (p *page) term(indent, column int, term, s string) {
	lines := wrap(s, Width-indent-column)
	if text.StringWidthWithoutEscSequences(term) > column-1 {
		p.para(indent, term)
		term = ""
	}
	for _, line := range lines {
		row := strings.Repeat(" ", indent) + text.Pad(term, column, ' ') + line
		p.WriteString(strings.TrimRight(row, " ") + "\n")
		term = ""
	}
}

// column is one column of a table. A column of width 0 takes what is left of
// the line.
type column struct {
	title string
	width int  // at most
	fixed bool // never less, so that tables of one page line up
	right bool
}

const columnGap = 2

// table writes rows under their titles. Cells are wrapped.
func (p *page) table(indent int, columns []column, rows [][]string) {
	natural := make([]int, len(columns))
	for i, c := range columns {
		natural[i] = text.StringWidthWithoutEscSequences(c.title)
		for _, row := range rows {
			natural[i] = max(natural[i], text.StringWidthWithoutEscSequences(row[i]))
		}
	}
	left := Width - indent - columnGap*(len(columns)-1)
	for i, c := range columns {
		if c.width > 0 {
			if natural[i] > c.width || c.fixed {
				natural[i] = c.width
			}
			left -= natural[i]
		}
	}
	t := table.NewWriter()
	t.SetStyle(table.Style{
		Box:     table.BoxStyle{PaddingRight: strings.Repeat(" ", columnGap)},
		Format:  table.FormatOptions{Header: text.FormatDefault},
		Options: table.OptionsNoBordersAndSeparators,
	})
	var configs []table.ColumnConfig
	var titles table.Row
	for i, c := range columns {
		width := natural[i]
		if c.width == 0 {
			width = min(width, left)
		}
		align := text.AlignLeft
		if c.right {
			align = text.AlignRight
		}
		configs = append(configs, table.ColumnConfig{Number: i + 1, WidthMin: minWidth(c, width), WidthMax: max(width, 1), Align: align, AlignHeader: align,
			WidthMaxEnforcer: func(cell string, width int) string { return strings.Join(wrap(cell, width), "\n") }})
		if c.title == "" {
			titles = append(titles, "")
		} else {
			titles = append(titles, p.faint.Sprint(c.title))
		}
	}
	t.SetColumnConfigs(configs)
	t.AppendHeader(titles)
	for _, row := range rows {
		cells := make(table.Row, len(row))
		for i, cell := range row {
			cells[i] = cell
		}
		t.AppendRow(cells)
	}
	for _, line := range strings.Split(t.Render(), "\n") {
		line = strings.TrimRight(strings.ReplaceAll(line, hard, " "), " ")
		p.WriteString(strings.Repeat(" ", indent) + line + "\n")
	}
}

func minWidth(c column, width int) int {
	if c.fixed {
		return width
	}
	return 0
}

// wrap breaks text at spaces into lines of at most width columns; a word wider
// than that is cut.
func wrap(s string, width int) []string {
	width = max(width, 1)
	var lines []string
	line, used := "", 0
	for _, word := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }) {
		w := text.StringWidthWithoutEscSequences(word)
		if used > 0 && used+1+w <= width {
			line, used = line+" "+word, used+1+w
			continue
		}
		if used > 0 {
			lines = append(lines, line)
		}
		for w > width && !strings.Contains(word, "\x1b") {
			head := ""
			for _, r := range word {
				if text.StringWidthWithoutEscSequences(head+string(r)) > width && head != "" {
					break
				}
				head += string(r)
			}
			lines = append(lines, head)
			word = strings.TrimPrefix(word, head)
			w = text.StringWidthWithoutEscSequences(word)
		}
		line, used = word, w
	}
	if used > 0 || len(lines) == 0 {
		lines = append(lines, line)
	}
	for i := range lines {
		lines[i] = strings.ReplaceAll(lines[i], hard, " ")
	}
	return lines
}

// Wrap breaks text at spaces into lines of at most width columns; a word wider
// than that is cut.
func Wrap(s string, width int) []string { return wrap(s, width) }
