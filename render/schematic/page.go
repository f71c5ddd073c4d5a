package schematic

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
)

// Distances of the page, in pixels.
const (
	margin      = 16
	headerDepth = 60
	panelWidth  = 300
	panelGap    = 24
)

// page is the paper around the diagram: title above, legend beside or below.
type page struct {
	width, height int
	inner         point // the size of the diagram
	header        []text
	blocks        []block
	exhibits      []placed // relative to the page
}

// block is a heading with lines.
type block struct {
	heading string
	entries []entry
	x, y    int
	boxed   bool
}

// entry is a line of the legend with a sample before it.
type entry struct {
	icon   func(b *strings.Builder, x, y int) // nil for none; y is its top
	indent int                                // of the lines, for the icon
	lines  []string
	term   string // in a column before the lines, in the title block
}

const (
	entryPitch  = 14
	entryIndent = 34
)

func (b *block) depth() int {
	d := 22
	for _, e := range b.entries {
		d += e.depth()
	}
	return d
}

func (e entry) depth() int { return len(e.lines)*entryPitch + 5 }

// page arranges the paper for the diagram.
func (an *annotation) page() *page {
	p := &page{}
	p.inner = an.inner()
	w, h := p.inner.x, p.inner.y
	p.header = an.d.header(max(w, 40*titleSize))
	p.setLegend(an.blocks(), w+2*band, h+2*band)
	for _, t := range p.header {
		p.width = max(p.width, t.box().x1+margin)
	}
	p.addExhibits(an.d.tables(an.units))
	return p
}

// header is the title and what is below it, of at most so many pixels.
func (d *Drawing) header(width int) (out []text) {
	for _, s := range wrap(d.title(), titleSize, width, 1) {
		out = append(out, text{x: margin, y: 32, size: titleSize, class: "heading", s: s})
	}
	for _, s := range wrap(d.subtitle(), subtitleSize, width, 1) {
		out = append(out, text{x: margin, y: 50, size: subtitleSize, class: "subtitle", s: s})
	}
	return out
}

// inner is the size of the diagram with all that is written beside it.
func (an *annotation) inner() point {
	w, h := an.size.x, an.size.y
	for _, t := range an.texts {
		w, h = max(w, t.box().x1+step), max(h, t.box().y1)
	}
	for _, f := range an.flags {
		w, h = max(w, f.box().x1), max(h, f.box().y1)
	}
	for _, t := range an.tags {
		w, h = max(w, t.area.x1), max(h, t.area.y1)
	}
	return point{w, h}
}

// screenDepth is how deep tables may get on a screen before they are split.
const screenDepth = 1400

// addExhibits puts tables below everything.
func (p *page) addExhibits(all []exhibit) {
	pages, depths := pack(all, p.width-2*margin, screenDepth)
	for i, exhibits := range pages {
		for _, e := range exhibits {
			e.x, e.y = e.x+margin, e.y+p.height
			w, _ := e.size()
			p.width = max(p.width, e.x+w+margin)
			p.exhibits = append(p.exhibits, e)
		}
		p.height += depths[i] + exhibitGap
	}
}

// goodAspect is the shape that a page comes as near to as it can: that of paper
// lying, ISO 216, and of most screens' windows.
const goodAspect = math.Sqrt2

// setLegend puts the blocks beside a diagram w wide and h deep in its frame, or
// below it, whichever makes the better shape.
func (p *page) setLegend(all []block, w, h int) {
	w, h = w+2*margin, h+headerDepth+margin
	// A column a little deeper than the diagram is better than one more column.
	deepest := h - headerDepth - margin
	beside, columns := flow(all, deepest)
	if try, n := flow(all, deepest*6/5); n < columns {
		beside, columns = try, n
	}
	fit := max(1, (w-2*margin+panelGap)/(panelWidth+panelGap))
	var below []block
	for depth, n := 0, fit+1; n > fit || depth < foot(below); depth += entryPitch {
		var try []block
		if try, n = flow(all, depth); n <= fit && (below == nil || foot(try) < foot(below)) {
			below = try
		}
	}
	aspect := func(w, h int) float64 { return math.Abs(math.Log(float64(w) / float64(h) / goodAspect)) }
	wide, deep := w+columns*(panelWidth+panelGap), h+foot(below)
	at := point{w - margin + panelGap, headerDepth}
	p.width, p.height, p.blocks = wide, max(h, headerDepth+foot(beside)), beside
	if aspect(w, deep) < aspect(p.width, p.height) {
		at = point{margin, h - margin/2}
		p.width, p.height, p.blocks = w, deep, below
	}
	for i := range p.blocks {
		p.blocks[i].x, p.blocks[i].y = p.blocks[i].x+at.x, p.blocks[i].y+at.y
	}
}

// foot is how far down blocks reach, and what is left free under them.
func foot(all []block) int {
	y := 0
	for _, b := range all {
		y = max(y, b.y+b.depth()+12+margin/2)
	}
	return y
}

// flow fills columns of some depth from top down and tells how many it took. A
// block that does not fit the rest of a column goes on in the next.
func flow(all []block, depth int) (out []block, columns int) {
	columns = 1
	y := 0
	for queue := slices.Clone(all); len(queue) > 0; {
		b := queue[0]
		queue = queue[1:]
		if y+b.depth() > depth {
			if first, rest, ok := b.split(depth - y); ok {
				b, queue = first, slices.Insert(queue, 0, rest)
			} else if y > 0 {
				columns, y = columns+1, 0
				queue = slices.Insert(queue, 0, b)
				continue
			}
		}
		b.x, b.y = (columns-1)*(panelWidth+panelGap), y
		y += b.depth() + 12
		out = append(out, b)
	}
	return out, columns
}

// split parts a block in two of which the first is at most so deep; a framed one
// stays whole, and so do the first and the last two of its entries.
func (b block) split(depth int) (first, rest block, ok bool) {
	n, y := 0, 22
	for _, e := range b.entries {
		if y += e.depth(); y > depth {
			break
		}
		n++
	}
	if n = min(n, len(b.entries)-2); b.boxed || n < 2 {
		return b, b, false
	}
	first, rest = b, b
	first.entries, rest.entries = b.entries[:n], b.entries[n:]
	rest.heading = strings.TrimSuffix(b.heading, ", continued") + ", continued"
	return first, rest, true
}

func (d *Drawing) subtitle() string {
	if d.Subtitle != "" {
		return d.Subtitle
	}
	s := d.Circuit.Supply()
	return fmt.Sprintf("Mode: %s. Supply: %s, %g V, %d wires.", d.Circuit.Mode(d.Mode).Label, s.System, s.Volts, s.Wires)
}

// write puts the legend out.
func (p *page) write(d *Drawing, b *strings.Builder) {
	b.WriteString("<g class=\"legend\">\n")
	for _, blk := range p.blocks {
		if blk.boxed {
			fmt.Fprintf(b, "<rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n", blk.x, blk.y+18, panelWidth, blk.depth()-18)
		}
		y := blk.y + 14
		text{x: blk.x, y: y, size: 12, class: "heading", s: blk.heading}.write(b)
		y += 6
		for _, e := range blk.entries {
			x := blk.x
			if e.icon != nil {
				e.icon(b, x, y)
				x += e.indent
			}
			if e.term != "" {
				text{x: x + 6, y: y + 12, size: smallSize, class: "rating", s: e.term}.write(b)
				x += titleTerm
			}
			for i, line := range e.lines {
				text{x: x, y: y + 12 + i*entryPitch, size: labelSize, class: "entry", s: line}.write(b)
			}
			y += e.depth()
		}
	}
	b.WriteString("</g>\n")
	for _, e := range p.exhibits {
		e.write(d, b, e.x, e.y)
	}
}

// write puts the page out.
func (an *annotation) write(w io.Writer) error {
	var b strings.Builder
	page := an.page()
	an.open(&b, page.width, page.height)
	an.writePage(&b, page)
	b.WriteString("</svg>\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// open begins a picture.
func (an *annotation) open(b *strings.Builder, width, height int) {
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%d" viewBox="0 0 %d %d" role="img" aria-labelledby="page-title page-desc">`+"\n",
		width, height, width, height)
	fmt.Fprintf(b, "<title id=\"page-title\">%s</title>\n<desc id=\"page-desc\">%s</desc>\n", escape(an.d.title()), escape(an.d.describe()))
	fmt.Fprintf(b, "<style>%s</style>\n<rect class=\"page\" width=\"%d\" height=\"%d\"/>\n", style(an.d.Theme), width, height)
	an.d.writeHatches(b)
}

// writePage puts out the header, the diagram in its frame and the legend.
func (an *annotation) writePage(b *strings.Builder, page *page) {
	cv := &canvas{an, point{margin + band, headerDepth + band}}
	for _, t := range page.header {
		t.write(b)
	}
	cv.writeFrame(b, page.inner.x, page.inner.y)
	b.WriteString("<g class=\"diagram\">\n")
	cv.writeDiagram(b)
	b.WriteString("</g>\n")
	page.write(cv.d, b)
}
