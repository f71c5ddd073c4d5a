package report

import "strings"

// page is a document laid out as blocks, one after another. Text, Markdown and
// HTML are written from them: see [Write].
type page struct{ blocks []block }

// block is one of the types below.
type block any

type (
	// headingBlock starts a section; the first of a page is its title.
	headingBlock struct{ text string }
	// paragraphBlock is a sentence or more. Its indent is for text.
	paragraphBlock struct {
		indent int
		text   string
	}
	// termBlock is a short term with what is said of it; a term that is a
	// number or a dash makes it an item of a list. In text what is said stands in
	// a column of its own.
	termBlock struct {
		indent, column int
		term, text     string
	}
	tableBlock struct {
		indent  int
		columns []column
		rows    [][]string
	}
	// cautionBlock is what comes before any work.
	cautionBlock struct {
		title    string
		lines    []string
		numbered bool
	}
	// stepBlock is one test of a list of tests: what to do, in order.
	stepBlock struct {
		number      int
		title       string
		rows        []termBlock
		live, after bool // with the supply on; only after another read bad
	}
	// formBlock is what is filled in by hand where it has no text yet, and
	// checkBlock a thing to be done, with a box to tick, among the steps or not; strong
	// where it leads to them.
	formBlock  []Field
	checkBlock struct {
		text         string
		step, strong bool
	}
	// branchBlock is a place in a tree. First and rest are what text draws
	// before its first line and the others.
	branchBlock struct {
		depth       int
		first, rest string
		text        string
	}
	// verbatimBlock is text in a language of its own, which keeps its lines: a
	// netlist in TOML, a lesson in Markdown.
	verbatimBlock struct{ language, text string }
	// figureBlock is a picture with its caption, which text and Markdown have not,
	// and signatureBlock two lines to sign on.
	figureBlock    struct{ svg, caption string }
	signatureBlock struct{ who [2]string }
	// windowBlock is a small picture beside the steps, for HTML alone.
	windowBlock Picture
	// gapBlock is an empty line of text.
	gapBlock struct{}
)

// column is one column of a table. A column of width 0 takes what is left of
// the line.
type column struct {
	title string
	width int  // at most
	fixed bool // never less, so that tables of one page line up
	right bool
	bar   bool // cells are drawn by [bar]
}

// style marks words in a block's text: colour in text, weight elsewhere. It
// only repeats what the words say.
type style rune

// The styles, and what ends each: control characters, which no name in a
// netlist holds.
const (
	styleStrong style = 0x11 + iota
	styleGood
	styleBad
	styleFaint
	styleEnd
)

func (s style) of(words string) string { return string(rune(s)) + words + string(rune(styleEnd)) }

func asStrong(words string) string { return styleStrong.of(words) }
func asGood(words string) string   { return styleGood.of(words) }
func asBad(words string) string    { return styleBad.of(words) }

func (p *page) add(b block) { p.blocks = append(p.blocks, b) }

func (p *page) heading(s string) { p.add(headingBlock{s}) }
func (p *page) gap()             { p.add(gapBlock{}) }

func (p *page) para(indent int, texts ...string) {
	for _, s := range texts {
		p.add(paragraphBlock{indent, s})
	}
}

func (p *page) check(texts ...string) {
	for _, s := range texts {
		p.add(checkBlock{text: s})
	}
}

// item is a paragraph of a list, or several.
func (p *page) item(indent int, texts ...string) {
	for _, s := range texts {
		p.add(termBlock{indent: indent, text: s})
	}
}

func (p *page) term(indent, column int, term, s string) {
	p.add(termBlock{indent, column, term, s})
}

func (p *page) table(indent int, columns []column, rows [][]string) {
	p.add(tableBlock{indent, columns, rows})
}

// cautions repeats what goes under whatever sends a person to the machine.
func (p *page) cautions() { p.add(cautionBlock{title: "Caution", lines: cautionLines[:]}) }

// written is a field's text, or a line to write on.
func (f Field) written() string {
	if f.Text == "" {
		return strings.Repeat("_", 32)
	}
	return f.Text
}
