package schematic

import (
	"fmt"
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
func (l *layout) page() *page {
	p := &page{}
	l.origin = point{margin + band, headerDepth + band}
	w, h := l.machineRight+outerGap, l.machineBottom+4*step
	for _, t := range l.texts {
		w, h = max(w, t.box().x1), max(h, t.box().y1)
	}
	for _, f := range l.flags {
		w, h = max(w, f.box().x1), max(h, f.box().y1)
	}
	for _, t := range l.tags {
		w, h = max(w, t.area.x1), max(h, t.area.y1)
	}
	for _, s := range wrap(l.title(), titleSize, max(w, 40*titleSize), 1) {
		p.header = append(p.header, text{x: margin, y: 32, size: titleSize, class: "heading", s: s})
	}
	for _, s := range wrap(l.subtitle(), subtitleSize, max(w, 40*titleSize), 1) {
		p.header = append(p.header, text{x: margin, y: 50, size: subtitleSize, class: "subtitle", s: s})
	}
	p.blocks = l.blocks()
	p.inner = point{w, h}
	w, h = w+2*band, h+2*band
	p.width, p.height = w+2*margin, h+headerDepth+margin
	if w*10 > h*14 {
		p.below(h)
	} else {
		p.beside(w)
	}
	for _, t := range p.header {
		p.width = max(p.width, t.box().x1+margin)
	}
	p.addExhibits(l.tables())
	return p
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

// beside puts the blocks in columns to the right, no taller than the diagram
// where they can help it.
func (p *page) beside(w int) {
	x, y := margin+w+panelGap, headerDepth
	bottom := p.height
	for i := range p.blocks {
		if y > headerDepth && y+p.blocks[i].depth() > bottom-margin {
			x, y = x+panelWidth+panelGap, headerDepth
		}
		p.blocks[i].x, p.blocks[i].y = x, y
		y += p.blocks[i].depth() + 12
		p.height = max(p.height, y+margin)
	}
	p.width = x + panelWidth + margin
}

// below puts the blocks in columns under the diagram, in their order, as
// shallow as the columns allow.
func (p *page) below(h int) {
	columns := max(1, (p.width-2*margin+panelGap)/(panelWidth+panelGap))
	depth := 0
	for _, b := range p.blocks {
		depth = max(depth, b.depth())
	}
	for p.flow(depth, headerDepth+h+margin/2) > columns {
		depth += entryPitch
	}
	for _, b := range p.blocks {
		p.height = max(p.height, b.y+b.depth()+12+margin)
	}
}

// flow fills columns of some depth from top down and returns how many it took.
func (p *page) flow(depth, top int) int {
	n, y := 1, 0
	for i := range p.blocks {
		b := &p.blocks[i]
		if y > 0 && y+b.depth() > depth {
			n, y = n+1, 0
		}
		b.x, b.y = margin+(n-1)*(panelWidth+panelGap), top+y
		y += b.depth() + 12
	}
	return n
}

func (l *layout) subtitle() string {
	if l.d.Subtitle != "" {
		return l.d.Subtitle
	}
	s := l.c.Supply()
	return fmt.Sprintf("Mode: %s. Supply: %s, %g V, %d wires.", l.c.Mode(l.d.Mode).Label, s.System, s.Volts, s.Wires)
}

// write puts the legend out.
func (p *page) write(l *layout, b *strings.Builder) {
	b.WriteString("<g class=\"legend\">\n")
	for _, blk := range p.blocks {
		if blk.boxed {
			fmt.Fprintf(b, "<rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n", blk.x, blk.y+18, panelWidth, blk.depth()-18)
		}
		y := blk.y + 14
		l.text(b, text{x: blk.x, y: y, size: 12, class: "heading", s: blk.heading})
		y += 6
		for _, e := range blk.entries {
			x := blk.x
			if e.icon != nil {
				e.icon(b, x, y)
				x += e.indent
			}
			if e.term != "" {
				l.text(b, text{x: x + 6, y: y + 12, size: smallSize, class: "rating", s: e.term})
				x += titleTerm
			}
			for i, line := range e.lines {
				l.text(b, text{x: x, y: y + 12 + i*entryPitch, size: labelSize, class: "entry", s: line})
			}
			y += e.depth()
		}
	}
	b.WriteString("</g>\n")
	for _, e := range p.exhibits {
		e.write(l, b, e.x, e.y)
	}
}
