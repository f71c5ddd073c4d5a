package report

import (
	"fmt"
	"io"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// Width is the number of columns text is written for.
const Width = 80

// hard is a space at which a line is not broken, as between a number and its
// unit.
const hard = "\u00a0"

// lines is a page written for a terminal.
type lines struct {
	strings.Builder
	styles *strings.Replacer
}

// text writes a page for a terminal of [Width] columns.
func (p *page) text(w io.Writer, colour bool) error {
	out := lines{styles: textStyles(colour)}
	for _, b := range p.blocks {
		out.block(b)
	}
	_, err := io.WriteString(w, out.String())
	return err
}

// textStyles puts the terminal's control sequences in for styles, or nothing.
func textStyles(colour bool) *strings.Replacer {
	var pairs []string
	for _, s := range []struct {
		style
		codes text.Colors
	}{{styleStrong, text.Colors{text.Bold}}, {styleGood, text.Colors{text.FgGreen}}, {styleBad, text.Colors{text.FgRed, text.Bold}}, {styleFaint, text.Colors{text.Faint}}} {
		codes := ""
		if colour {
			codes = s.codes.EscapeSeq()
		}
		pairs = append(pairs, string(rune(s.style)), codes)
	}
	end := ""
	if colour {
		end = text.EscapeReset
	}
	return strings.NewReplacer(append(pairs, string(rune(styleEnd)), end)...)
}

func (l *lines) block(b block) {
	switch b := b.(type) {
	case headingBlock:
		l.heading(b.text)
	case paragraphBlock:
		l.para(b.indent, b.text)
	case termBlock:
		l.term(b)
	case tableBlock:
		l.table(b)
	case cautionBlock:
		l.heading(b.title)
		for i, s := range b.lines {
			if b.numbered {
				l.term(termBlock{1, 3, fmt.Sprint(i + 1), s})
			} else {
				l.para(2, s)
			}
		}
	case stepBlock:
		l.para(0, asStrong(strings.ReplaceAll(fmt.Sprintf("%2d  %s", b.number, b.title), "  ", hard+hard)))
		for _, row := range b.rows {
			l.term(row)
		}
		l.term(termBlock{4, 8, "read", strings.Repeat("_", 24)})
	case formBlock:
		for _, f := range b {
			l.term(termBlock{0, 16, f.Name, f.written()})
		}
	case checkBlock:
		l.term(termBlock{0, 4, "[" + hard + "]", b.text})
	case signatureBlock:
		for _, who := range b.who {
			l.WriteString("\n" + strings.Repeat("_", 32) + "  " + who + "\n")
		}
	case branchBlock:
		l.branch(b)
	case verbatimBlock:
		l.WriteString(b.text)
	case gapBlock:
		l.WriteByte('\n')
	}
}

func (l *lines) heading(s string) {
	if l.Len() > 0 {
		l.WriteByte('\n')
	}
	for _, line := range l.wrap(s, Width) {
		l.WriteString(l.styles.Replace(asStrong(line)) + "\n")
	}
}

// para writes text wrapped, every line indented.
func (l *lines) para(indent int, s string) {
	for _, line := range l.wrap(s, Width-indent) {
		l.WriteString(strings.Repeat(" ", indent) + line + "\n")
	}
}

// term writes what is said of a term beside it.
func (l *lines) term(b termBlock) {
	said := l.wrap(b.text, Width-b.indent-b.column)
	term := l.styles.Replace(b.term)
	if term != "" && text.StringWidthWithoutEscSequences(term) > b.column-1 {
		l.para(b.indent, b.term)
		term = ""
	}
	for _, line := range said {
		row := strings.Repeat(" ", b.indent) + text.Pad(term, b.column, ' ') + line
		l.WriteString(strings.TrimRight(row, " ") + "\n")
		term = ""
	}
}

// branch writes a place in a tree behind the tree's own characters.
func (l *lines) branch(b branchBlock) {
	width := max(24, Width-len([]rune(b.first))-2)
	for i, line := range l.wrap(b.text, width) {
		prefix := b.first
		if i > 0 {
			prefix = b.rest + "  "
		}
		l.WriteString(strings.TrimRight(prefix+line, " ") + "\n")
	}
}

const columnGap = 2

// table writes rows under their titles. Cells are wrapped.
func (l *lines) table(b tableBlock) {
	rows := make([]table.Row, len(b.rows))
	natural := make([]int, len(b.columns))
	for i, c := range b.columns {
		natural[i] = text.StringWidthWithoutEscSequences(c.title)
	}
	for k, row := range b.rows {
		for i, cell := range row {
			cell = l.styles.Replace(cell)
			natural[i] = max(natural[i], text.StringWidthWithoutEscSequences(cell))
			rows[k] = append(rows[k], cell)
		}
	}
	left := Width - b.indent - columnGap*(len(b.columns)-1)
	for i, c := range b.columns {
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
	for i, c := range b.columns {
		width := natural[i]
		if c.width == 0 {
			width = min(width, left)
		}
		least, align := 0, text.AlignLeft
		if c.fixed {
			least = width
		}
		if c.right {
			align = text.AlignRight
		}
		configs = append(configs, table.ColumnConfig{Number: i + 1, WidthMin: least, WidthMax: max(width, 1), Align: align, AlignHeader: align,
			WidthMaxEnforcer: func(cell string, width int) string { return strings.Join(Wrap(cell, width), "\n") }})
		title := c.title
		if title != "" {
			title = l.styles.Replace(styleFaint.of(title))
		}
		titles = append(titles, title)
	}
	t.SetColumnConfigs(configs)
	t.AppendHeader(titles)
	t.AppendRows(rows)
	for _, line := range strings.Split(t.Render(), "\n") {
		line = strings.TrimRight(strings.ReplaceAll(line, hard, " "), " ")
		l.WriteString(strings.Repeat(" ", b.indent) + line + "\n")
	}
}

func (l *lines) wrap(s string, width int) []string { return Wrap(l.styles.Replace(s), width) }

// Wrap breaks text at spaces into lines of at most width columns; a word wider
// than that is cut.
func Wrap(s string, width int) []string {
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
