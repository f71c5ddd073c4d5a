package report

import (
	"fmt"
	"io"
	"strings"

	"legtrace/circuit"
)

// inMarkdown keeps words from being taken for markup, and marks their styles.
func inMarkdown(s string) string {
	s = strings.NewReplacer("\\", "\\\\", "*", "\\*", "_", "\\_", "`", "\\`", "|", "\\|", "<", "&lt;", ">", "&gt;", "#", "\\#", "[", "\\[", "]", "\\]").Replace(oneLine(plain(s)))
	open := false
	var b strings.Builder
	for _, r := range s {
		switch style(r) {
		case styleStrong, styleBad:
			b.WriteString("**")
			open = true
		case styleEnd:
			if open {
				b.WriteString("**")
			}
			open = false
		case styleGood, styleFaint:
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// markdown writes a page as Markdown. What belongs together, such as the terms
// of one list, stands without an empty line between.
func (p *page) markdown(w io.Writer) error {
	var b strings.Builder
	var last string
	for i, x := range p.blocks {
		s, kind := inMarkdownBlock(x, i == 0)
		if s == "" {
			continue
		}
		if b.Len() > 0 && (kind != last || kind == "") {
			b.WriteByte('\n')
		}
		b.WriteString(s + "\n")
		last = kind
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// inMarkdownBlock writes a block and tells which list it is an item of.
func inMarkdownBlock(b block, first bool) (s, list string) {
	switch b := b.(type) {
	case headingBlock:
		if first {
			return "# " + inMarkdown(b.text), ""
		}
		return "## " + inMarkdown(b.text), ""
	case paragraphBlock:
		return inMarkdown(b.text), ""
	case termBlock:
		return b.markdown()
	case tableBlock:
		return b.markdown(), ""
	case cautionBlock:
		lines := []string{"## " + inMarkdown(b.title) + "\n"}
		for i, s := range b.lines {
			item := "- "
			if b.numbered {
				item = fmt.Sprintf("%d. ", i+1)
			}
			lines = append(lines, item+inMarkdown(s))
		}
		return strings.Join(lines, "\n"), ""
	case stepBlock:
		lines := []string{fmt.Sprintf("### %d. %s\n", b.number, inMarkdown(b.title))}
		for _, row := range b.rows {
			line, _ := row.markdown()
			lines = append(lines, line)
		}
		return strings.Join(append(lines, "- **Read**: \\_\\_\\_\\_\\_\\_\\_\\_"), "\n"), ""
	case formBlock:
		return strings.Join(each(b, func(f Field) string { return "- **" + inMarkdown(f.Name) + "**: " + inMarkdown(f.written()) }), "\n"), ""
	case checkBlock:
		return "- [ ] " + inMarkdown(b.text), "check"
	case signatureBlock:
		return "\\_\\_\\_\\_\\_\\_\\_\\_ " + inMarkdown(b.who[0]) + "\n\n\\_\\_\\_\\_\\_\\_\\_\\_ " + inMarkdown(b.who[1]), ""
	case branchBlock:
		return strings.Repeat("  ", b.depth) + "- " + inMarkdown(b.text), "tree"
	case verbatimBlock:
		if b.language == "markdown" {
			return strings.TrimSuffix(b.text, "\n"), ""
		}
		return "```" + b.language + "\n" + strings.TrimSuffix(b.text, "\n") + "\n```", ""
	}
	return "", ""
}

// listItem tells a term that only counts or sets off its text, and the item it
// begins.
func (b termBlock) listItem() (begins string, ok bool) {
	switch {
	case b.term == "-", b.term == "" && b.column == 0:
		return "- ", true
	case b.term != "" && strings.Trim(b.term, "0123456789") == "":
		return b.term + ". ", true
	}
	return "", false
}

func (b termBlock) markdown() (s, list string) {
	if begins, ok := b.listItem(); ok {
		return begins + inMarkdown(b.text), begins[len(begins)-2:]
	}
	switch term := inMarkdown(upperFirstStyled(b.term)); {
	case term == "":
		return "- " + inMarkdown(b.text), "term"
	case strings.Contains(term, "*"):
		return "- " + term + ": " + inMarkdown(b.text), "term"
	default:
		return "- **" + strings.TrimSuffix(term, ":") + "**: " + inMarkdown(b.text), "term"
	}
}

// upperFirstStyled is upperFirst for words that may begin with a style.
func upperFirstStyled(s string) string {
	if s != "" && rune(s[0]) < ' ' {
		return s[:1] + circuit.UpperFirst(s[1:])
	}
	return circuit.UpperFirst(s)
}

func (b tableBlock) markdown() string {
	titles, rule := "|", "|"
	for _, c := range b.columns {
		titles += " " + inMarkdown(c.title) + " |"
		if c.right {
			rule += "---:|"
		} else {
			rule += "---|"
		}
	}
	lines := []string{titles, rule}
	for _, row := range b.rows {
		line := "|"
		for _, cell := range row {
			line += " " + inMarkdown(cell) + " |"
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}
