package schematic

import (
	"fmt"
	"strings"

	"legtrace/circuit"
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
	header        []text
	blocks        []block
}

// block is a heading with lines.
type block struct {
	heading string
	entries []entry
	x, y    int
}

// entry is a line of the legend with a sample before it.
type entry struct {
	number int    // of a flag, or 0
	sample string // class of a line, or ""
	lines  []string
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
	l.origin = point{margin, headerDepth}
	w, h := l.machineRight+outerGap, l.machineBottom+4*step
	for _, t := range l.texts {
		w, h = max(w, t.box().x1), max(h, t.box().y1)
	}
	for _, f := range l.flags {
		w, h = max(w, f.box().x1), max(h, f.box().y1)
	}
	for _, s := range wrap(l.title(), titleSize, max(w, 40*titleSize), 1) {
		p.header = append(p.header, text{x: margin, y: 32, size: titleSize, class: "heading", s: s})
	}
	for _, s := range wrap(l.subtitle(), subtitleSize, max(w, 40*titleSize), 1) {
		p.header = append(p.header, text{x: margin, y: 50, size: subtitleSize, class: "subtitle", s: s})
	}
	p.blocks = l.blocks()
	p.width, p.height = w+2*margin, h+headerDepth+margin
	if w*10 > h*14 {
		p.below(h)
	} else {
		p.beside(w)
	}
	for _, t := range p.header {
		p.width = max(p.width, t.box().x1+margin)
	}
	return p
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

// below puts the blocks in columns under the diagram, each next block where
// the columns are shortest.
func (p *page) below(h int) {
	n := max(1, (p.width-2*margin+panelGap)/(panelWidth+panelGap))
	tops := make([]int, n)
	for i := range tops {
		tops[i] = headerDepth + h
	}
	for i := range p.blocks {
		at := 0
		for k := range tops {
			if tops[k] < tops[at] {
				at = k
			}
		}
		p.blocks[i].x, p.blocks[i].y = margin+at*(panelWidth+panelGap), tops[at]
		tops[at] += p.blocks[i].depth() + 12
		p.height = max(p.height, tops[at]+margin)
	}
}

func (l *layout) subtitle() string {
	if l.d.Subtitle != "" {
		return l.d.Subtitle
	}
	s := l.c.Supply()
	return fmt.Sprintf("Mode: %s. Supply: %s, %g V, %d wires.", l.c.Mode(l.d.Mode).Label, s.System, s.Volts, s.Wires)
}

// blocks lists what the legend explains: only what is on the page.
func (l *layout) blocks() []block {
	var out []block
	add := func(heading string, entries []entry) {
		if len(entries) > 0 {
			out = append(out, block{heading: heading, entries: entries})
		}
	}
	plain := func(texts []string) []entry {
		var es []entry
		for _, s := range texts {
			es = append(es, entry{lines: wrap(s, labelSize, panelWidth, 0)})
		}
		return es
	}
	add("Cautions", plain(l.d.Cautions))
	add("How to read", l.readingEntries())
	var marks []entry
	for _, m := range l.d.Marks {
		s := m.Text
		if s == "" {
			s = l.c.Label(m.Branch)
		}
		marks = append(marks, entry{number: m.Number, lines: wrap(s, labelSize, panelWidth-entryIndent, 0)})
	}
	const longest = 14
	for i := 0; i < len(marks); i += longest {
		heading := "Numbered flags"
		if i > 0 {
			heading += ", continued"
		}
		add(heading, marks[i:min(i+longest, len(marks))])
	}
	var faults []string
	for _, f := range l.d.Faults {
		faults = append(faults, l.c.Describe(f))
	}
	add("Faults shown (crossed out)", plain(faults))
	add("Notes", plain(l.d.Notes))
	return out
}

func (l *layout) readingEntries() []entry {
	var out []entry
	sample := func(class, s string) {
		out = append(out, entry{sample: class, lines: wrap(s, labelSize, panelWidth-entryIndent, 0)})
	}
	present := map[Feed]bool{}
	for _, f := range l.d.Live {
		present[f] = true
	}
	if l.d.Load != circuit.None && len(l.d.Live) > 0 {
		of := ", live path of " + l.c.Label(l.d.Load)
		for _, f := range []struct {
			feed  Feed
			class string
			text  string
		}{{FeedL1, "feed1", "Leg L1" + of}, {FeedL2, "feed2", "Leg L2" + of}, {FeedNeutral, "feedn", "Neutral" + of}} {
			if present[f.feed] {
				sample(f.class, f.text)
			}
		}
	}
	sample("s", "Wire, with its name and IEC 60757 colour code; a dot joins, a crossing without a dot does not")
	if len(l.d.Volts) > 0 {
		out = append(out, entry{lines: wrap("Volts in italics are to neutral, with the machine sound in this mode.", labelSize, panelWidth, 0)})
	}
	note := "Contacts stand as they do in this mode."
	if l.has(func(u *unit) bool { return u.part.Kind == circuit.KindRelay }) {
		note += " A relay's mark is filled while the relay acts; a relay on a control has its coil on the board."
	}
	if l.has(func(u *unit) bool { return u.shape == shapeBox && u.part.Kind != circuit.KindControl }) {
		note += " In a box, a heavy line is a made contact, a dotted one an open contact."
	}
	out = append(out, entry{lines: wrap(note, labelSize, panelWidth, 0)})
	return out
}

// has reports whether any symbol on the page answers.
func (l *layout) has(is func(*unit) bool) bool {
	for _, u := range l.units {
		if is(u) {
			return true
		}
	}
	return false
}

// write puts the legend out.
func (p *page) write(l *layout, b *strings.Builder) {
	b.WriteString("<g class=\"legend\">\n")
	for _, blk := range p.blocks {
		y := blk.y + 14
		l.text(b, text{x: blk.x, y: y, size: 12, class: "heading", s: blk.heading})
		y += 6
		for _, e := range blk.entries {
			x := blk.x
			if e.number > 0 {
				l.writeFlag(b, e.number, x+flagRadius+1, y+9, strings.Join(e.lines, " "))
				x += entryIndent
			} else if e.sample != "" {
				fmt.Fprintf(b, "<path class=\"%s\" d=\"M%d %dL%d %d\"/>\n", e.sample, x, y+8, x+26, y+8)
				x += entryIndent
			}
			for i, line := range e.lines {
				l.text(b, text{x: x, y: y + 12 + i*entryPitch, size: labelSize, class: "entry", s: line})
			}
			y += e.depth()
		}
	}
	b.WriteString("</g>\n")
}
