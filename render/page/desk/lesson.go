package desk

import (
	"strconv"
	"strings"

	"legtrace/circuit"
	"legtrace/render/lessons"
)

// lesson is a page for learners, worked on the machine.
type lesson struct {
	Number int
	Title  string
	Blocks []block
}

// Is reports whether a state's lesson is this one.
func (l lesson) Is(s State) bool { return s.Lesson == strconv.Itoa(l.Number) }

func lessonsOf(c *circuit.Circuit) ([]lesson, error) {
	all, err := lessons.All(c)
	if err != nil {
		return nil, err
	}
	var out []lesson
	for _, l := range all {
		out = append(out, lesson{l.Number, l.Title, blocksOf(l.Markdown)})
	}
	return out, nil
}

// Learn opens a lesson; none closes it.
func (s State) Learn(number int) State {
	s.Lesson = ""
	if number > 0 {
		s.Lesson = strconv.Itoa(number)
	}
	return s
}

// block is a piece of a lesson. Kind is "h1" to "h3", "p", "quote" or "table".
type block struct {
	Kind string
	Text string     // of a heading or paragraph
	Quot []string   // paragraphs of a quotation
	Head []string   // of a table
	Rows [][]string // of a table
}

// blocksOf reads the Markdown that lessons are written in: headings,
// paragraphs, tables and quotations. A full reader of Markdown would be wrong
// here: lessons write a machine's names as they are, so an asterisk or a bracket
// in one is no markup. Whatever is not one of the four is a paragraph of text.
func blocksOf(markdown string) []block {
	var out []block
	for _, lines := range groups(markdown) {
		switch first := lines[0]; {
		case strings.HasPrefix(first, "|") && len(lines) > 1:
			t := block{Kind: "table", Head: cells(first)}
			for _, l := range lines[2:] {
				t.Rows = append(t.Rows, cells(l))
			}
			out = append(out, t)
		case strings.HasPrefix(first, ">"):
			q := block{Kind: "quote"}
			var inner []string
			for _, l := range lines {
				inner = append(inner, strings.TrimPrefix(strings.TrimPrefix(l, ">"), " "))
			}
			for _, g := range groups(strings.Join(inner, "\n")) {
				q.Quot = append(q.Quot, strings.Join(g, " "))
			}
			out = append(out, q)
		default:
			out = append(out, plainBlock(lines))
		}
	}
	return out
}

// plainBlock is a heading or a paragraph.
func plainBlock(lines []string) block {
	text := strings.Join(lines, " ")
	hashes := len(text) - len(strings.TrimLeft(text, "#"))
	if hashes >= 1 && hashes <= 3 && strings.HasPrefix(text[hashes:], " ") {
		return block{Kind: "h" + strconv.Itoa(hashes), Text: strings.TrimSpace(text[hashes:])}
	}
	return block{Kind: "p", Text: text}
}

// groups parts lines at empty ones and at headings.
func groups(text string) [][]string {
	var out [][]string
	var now []string
	end := func() {
		if len(now) > 0 {
			out = append(out, now)
		}
		now = nil
	}
	for _, l := range strings.Split(text, "\n") {
		switch {
		case strings.TrimSpace(l) == "":
			end()
		case strings.HasPrefix(l, "#"):
			end()
			now = []string{l}
			end()
		default:
			now = append(now, strings.TrimRight(l, " "))
		}
	}
	end()
	return out
}

// cells parts a row of a table.
func cells(row string) []string {
	var out []string
	for _, c := range strings.Split(strings.TrimSuffix(strings.TrimPrefix(row, "|"), "|"), "|") {
		out = append(out, strings.TrimSpace(c))
	}
	return out
}
