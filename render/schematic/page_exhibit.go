package schematic

import (
	"cmp"
	"fmt"
	"strings"
)

// exhibit is a table or a sketch beside the diagram.
type exhibit interface {
	size() (w, h int)
	write(d *Drawing, b *strings.Builder, x, y int)
	// split parts what is deeper than a page in two; nil where it cannot.
	split(depth int) (first, rest exhibit)
}

// placed is an exhibit on a page.
type placed struct {
	exhibit
	x, y int
}

// exhibitGap lies between exhibits.
const exhibitGap = 24

// pack lays exhibits in rows on pages of a width and a depth, in their order,
// and tells how deep each page got.
func pack(all []exhibit, width, depth int) (pages [][]placed, depths []int) {
	var page []placed
	x, y, row := 0, 0, 0
	end := func() {
		if len(page) > 0 {
			pages, depths = append(pages, page), append(depths, y+row)
		}
		page, x, y, row = nil, 0, 0, 0
	}
	for queue := all; len(queue) > 0; {
		e := queue[0]
		if t, ok := e.(*grid); ok {
			t.fit(width)
		}
		w, h := e.size()
		if x > 0 && x+w > width {
			x, y, row = 0, y+row+exhibitGap, 0
		}
		if y+h > depth {
			if first, rest := e.split(depth - y); first != nil {
				queue = append([]exhibit{first, rest}, queue[1:]...)
				continue
			}
			if len(page) > 0 {
				end()
				continue
			}
		}
		page = append(page, placed{e, x, y})
		x, row = x+w+exhibitGap, max(row, h)
		queue = queue[1:]
	}
	end()
	return pages, depths
}

// grid is a table: rows of cells under a head.
type grid struct {
	heading string
	head    []string
	// upright is how many columns come before those whose heads stand upright; 0
	// where none do.
	upright int
	rows    [][]string
	// icons are symbols, one a row, in the first column.
	icons []*unit
	// most is the widest a cell may be; 0 for the usual.
	most int

	widths, depths []int
	headDepth      int
}

const (
	cellAside   = 4   // left and right of a cell's text
	cellMost    = 210 // the widest cell
	cellLeast   = 90  // and the least that it is held to
	gridPitch   = 13  // between lines of a cell
	uprightMost = 150 // the longest head that stands upright
	iconWide    = 96
	iconDeep    = 52
	headingDeep = 18
)

// iconDepth is how far a sample reaches below its first row.
func iconDepth(u *unit) int {
	if u.shape == shapeBranch || u.shape == shapeSource || u.shape == shapeChassis {
		return 0
	}
	return u.depth()
}

func (t *grid) cell(s string) []string {
	if s == "" {
		return nil
	}
	return wrap(s, smallSize, cmp.Or(t.most, cellMost), 0)
}

// fit holds the cells to less where the table is wider than its page.
func (t *grid) fit(width int) {
	for w, _ := t.size(); w > width && cmp.Or(t.most, cellMost) > cellLeast; w, _ = t.size() {
		t.most = cmp.Or(t.most, cellMost) - 10
		t.measure()
	}
}

func (t *grid) measure() {
	t.widths, t.depths = make([]int, len(t.head)), make([]int, len(t.rows))
	t.headDepth = gridPitch + 4
	for i, s := range t.head {
		if t.upright > 0 && i >= t.upright {
			s = wrap(s, smallSize, uprightMost, 1)[0]
			t.head[i] = s
			t.headDepth = max(t.headDepth, boldWidth(s, smallSize)+8)
			t.widths[i] = gridPitch + cellAside
			continue
		}
		t.widths[i] = boldWidth(s, smallSize) + 2*cellAside
	}
	for j, row := range t.rows {
		t.depths[j] = gridPitch + 4
		for i, s := range row {
			lines := t.cell(s)
			for _, line := range lines {
				t.widths[i] = max(t.widths[i], textWidth(line, smallSize)+2*cellAside)
			}
			t.depths[j] = max(t.depths[j], len(lines)*gridPitch+4)
		}
		if t.icons != nil {
			t.widths[0] = iconWide
			t.depths[j] = iconDeep
			t.depths[j] += iconDepth(t.icons[j])
		}
	}
}

func (t *grid) size() (w, h int) {
	for _, n := range t.widths {
		w += n
	}
	h = headingDeep + t.headDepth
	for _, n := range t.depths {
		h += n
	}
	return max(w, boldWidth(t.heading, labelSize)), h
}

func (t *grid) split(depth int) (first, rest exhibit) {
	h := headingDeep + t.headDepth
	for j := range t.rows {
		if h += t.depths[j]; h <= depth {
			continue
		}
		if j < 3 {
			return nil, nil
		}
		a, b := *t, *t
		a.rows, b.rows = t.rows[:j], t.rows[j:]
		if t.icons != nil {
			a.icons, b.icons = t.icons[:j], t.icons[j:]
		}
		b.heading = strings.TrimSuffix(t.heading, ", continued") + ", continued"
		a.measure()
		b.measure()
		return &a, &b
	}
	return nil, nil
}

func (t *grid) write(d *Drawing, b *strings.Builder, x, y int) {
	w, _ := t.size()
	b.WriteString("<g class=\"table\">\n")
	text{x: x, y: y + 12, size: labelSize, class: "heading", s: t.heading}.write(b)
	y += headingDeep
	at := x
	for i, s := range t.head {
		if t.upright > 0 && i >= t.upright {
			fmt.Fprintf(b, "<text class=\"heading\" font-size=\"%d\" transform=\"translate(%d %d) rotate(-90)\">%s</text>\n", smallSize, at+t.widths[i]/2+4, y+t.headDepth-4, escape(s))
		} else {
			text{x: at + cellAside, y: y + t.headDepth - 5, size: smallSize, class: "heading", s: s}.write(b)
		}
		at += t.widths[i]
	}
	y += t.headDepth
	for j, row := range t.rows {
		fmt.Fprintf(b, "<path class=\"rule\" d=\"M%d %dL%d %d\"/>\n", x, y, x+w, y)
		at := x
		for i, s := range row {
			for k, line := range t.cell(s) {
				c := text{x: at + cellAside, y: y + gridPitch - 2 + k*gridPitch, size: smallSize, class: "cell", s: line}
				if t.icons != nil {
					c.y += (t.depths[j] - len(t.cell(s))*gridPitch) / 2
				}
				if t.upright > 0 && i >= t.upright {
					c.x, c.anchor = at+t.widths[i]/2, middle
				}
				c.write(b)
			}
			at += t.widths[i]
		}
		if t.icons != nil {
			u := t.icons[j]
			p := &pen{out: b, at: point{x + iconWide/2, y + (t.depths[j]-iconDepth(u))/2 + 4}, half: float64(u.half)}
			b.WriteString("<g class=\"symbol-key\">")
			d.draw(u, p)
			b.WriteString("</g>\n")
		}
		y += t.depths[j]
	}
	fmt.Fprintf(b, "<path class=\"rule\" d=\"M%d %dL%d %d\"/>\n</g>\n", x, y, x+w, y)
}

// legendBlock is a block of the legend among tables.
type legendBlock struct{ block }

func (p legendBlock) size() (w, h int) { return panelWidth, p.depth() }

func (p legendBlock) split(depth int) (first, rest exhibit) {
	a, b, ok := p.block.split(depth)
	if !ok {
		return nil, nil
	}
	return legendBlock{a}, legendBlock{b}
}

func (p legendBlock) write(d *Drawing, b *strings.Builder, x, y int) {
	p.x, p.y = x, y
	(&page{blocks: []block{p.block}}).write(d, b)
}
