package schematic

import (
	"context"
	"fmt"
	"math"
	"strings"
)

// Paper is what a drawing is printed on, landscape.
type Paper struct {
	Name string
	// Width and Height are in millimetres.
	Width, Height float64
}

// Papers are the sizes of paper: ISO 216 and ANSI/ASME Y14.1 (values from
// memory).
var Papers = []Paper{{"a4", 297, 210}, {"a3", 420, 297}, {"letter", 279.4, 215.9}, {"tabloid", 431.8, 279.4}}

// FindPaper returns the paper of a name.
func FindPaper(name string) (Paper, error) {
	var names []string
	for _, p := range Papers {
		if p.Name == name {
			return p, nil
		}
		names = append(names, p.Name)
	}
	return Paper{}, fmt.Errorf("page %q: it is one of %s", name, strings.Join(names, ", "))
}

// Distances on a printed sheet.
const (
	paperEdge = 10.0 // mm kept free at every edge: printers need it
	// leastScale is the millimetres that a pixel must get at least: the
	// capitals of the smallest letters are then 1.3 mm high, those of labels
	// 1.6 mm; mostScale keeps small machines from being blown up.
	leastScale, mostScale = 0.18, 0.3
	overlap               = 6 * step // of neighbouring tiles, at least
	sheetMargin           = 24       // around a tile, for the neighbours' numbers
)

// Sheets writes the drawing for print: one sheet if it can be read on one, else
// a sheet of cautions and legend followed by the diagram in overlapping tiles.
// They are separate SVG documents, because SVG has no pages: every program
// prints one, and rsvg-convert -f pdf joins them.
func Sheets(ctx context.Context, d Drawing, paper Paper) ([][]byte, error) {
	l, err := layOut(ctx, &d)
	if err != nil {
		return nil, err
	}
	p := l.page()
	w, h := paper.Width-2*paperEdge, paper.Height-2*paperEdge
	if k := min(w/float64(p.width), h/float64(p.height)); k >= leastScale {
		return [][]byte{l.oneSheet(p, paper, min(k, mostScale))}, nil
	}
	return l.manySheets(p, paper), nil
}

// oneSheet centres the whole page on the paper.
func (l *layout) oneSheet(p *page, paper Paper, k float64) []byte {
	w, h := paper.Width/k, paper.Height/k
	s := l.newSheet(paper, w, h)
	fmt.Fprintf(s, "<svg x=\"%s\" y=\"%s\" width=\"%d\" height=\"%d\">\n", num(round1((w-float64(p.width))/2)), num(round1((h-float64(p.height))/2)), p.width, p.height)
	l.writePage(s, p)
	s.WriteString("</svg>\n</svg>\n")
	return []byte(s.String())
}

// tiling is how the diagram is cut: nx by ny tiles of w by h pixels, each
// stepX right of and stepY below its neighbour.
type tiling struct {
	nx, ny, w, h int
	stepX, stepY int
	scale        float64
}

// tile finds the fewest tiles at the least scale, then the largest scale that
// needs no more.
func tile(width, height int, paper Paper) tiling {
	cut := func(k float64) tiling {
		t := tiling{w: int((paper.Width-2*paperEdge)/k) - 2*sheetMargin, h: int((paper.Height-2*paperEdge)/k) - 2*sheetMargin - footDepth - 8, scale: k}
		t.nx = 1 + max(0, int(math.Ceil(float64(width-t.w)/float64(t.w-overlap))))
		t.ny = 1 + max(0, int(math.Ceil(float64(height-t.h)/float64(t.h-overlap))))
		return t
	}
	t := cut(leastScale)
	for k := leastScale; k <= mostScale; k += 0.005 {
		if c := cut(k); c.nx*c.ny == t.nx*t.ny {
			t = c
		}
	}
	// The last tile ends where the diagram does; what that leaves over widens
	// the overlap.
	t.stepX = max(0, width-t.w) / max(1, t.nx-1)
	t.stepY = max(0, height-t.h) / max(1, t.ny-1)
	return t
}

func (l *layout) manySheets(p *page, paper Paper) [][]byte {
	// The diagram stands at the origin of the tiles' own coordinates.
	l.origin = point{band, band}
	width, height := p.inner.x+2*band, p.inner.y+2*band
	var diagram strings.Builder
	l.writeFrame(&diagram, p.inner.x, p.inner.y)
	diagram.WriteString("<g class=\"diagram\">\n")
	l.writeDiagram(&diagram)
	diagram.WriteString("</g>\n")
	t := tile(width, height, paper)
	legends := l.legendSheets(p.blocks, t)
	count := len(legends) + t.nx*t.ny
	var out [][]byte
	for i, blocks := range legends {
		s := l.tileSheet(paper, t, i+1, count)
		x, y := l.sheetOrigin(t)
		for _, head := range p.header {
			head.x, head.y = x, y+head.y-10
			l.text(s, head)
		}
		(&page{blocks: blocks}).write(l, s)
		s.WriteString("</svg>\n")
		out = append(out, []byte(s.String()))
	}
	for i := range t.nx * t.ny {
		s := l.tileSheet(paper, t, len(legends)+i+1, count)
		l.writeTile(s, t, i%t.nx, i/t.nx, len(legends), diagram.String())
		s.WriteString("</svg>\n")
		out = append(out, []byte(s.String()))
	}
	return out
}

// newSheet begins a document the size of the paper, w by h pixels.
func (l *layout) newSheet(paper Paper, w, h float64) *strings.Builder {
	s := &strings.Builder{}
	fmt.Fprintf(s, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" aria-labelledby="page-title page-desc">`+"\n",
		num(paper.Width), num(paper.Height), num(round1(w)), num(round1(h)))
	fmt.Fprintf(s, "<title id=\"page-title\">%s</title>\n<desc id=\"page-desc\">%s</desc>\n", escape(l.title()), escape(l.describe()))
	fmt.Fprintf(s, "<style>%s</style>\n<rect class=\"page\" width=\"%s\" height=\"%s\"/>\n", style(l.d.Theme), num(round1(w)), num(round1(h)))
	l.writeHatches(s)
	return s
}

func round1(v float64) float64 { return math.Round(v*10) / 10 }

// sheetOrigin is where a tile begins on its sheet.
func (l *layout) sheetOrigin(t tiling) (x, y int) {
	edge := int(paperEdge / t.scale)
	return edge + sheetMargin, edge + sheetMargin
}

// tileSheet begins a sheet with its title block.
func (l *layout) tileSheet(paper Paper, t tiling, number, count int) *strings.Builder {
	s := l.newSheet(paper, paper.Width/t.scale, paper.Height/t.scale)
	x, y := l.sheetOrigin(t)
	l.writeFootBlock(s, x, y+t.h+sheetMargin+4, t.w, fmt.Sprintf("%d of %d", number, count))
	return s
}

// legendSheets lays the legend's blocks in columns, sheet after sheet.
func (l *layout) legendSheets(blocks []block, t tiling) [][]block {
	left, top := l.sheetOrigin(t)
	top += headerDepth
	bottom := top - headerDepth + t.h
	x, y := left, top
	out := [][]block{nil}
	for _, b := range blocks {
		if y > top && y+b.depth() > bottom {
			x, y = x+panelWidth+panelGap, top
		}
		if x+panelWidth > left+t.w {
			x, y = left, top
			out = append(out, nil)
		}
		b.x, b.y = x, y
		y += b.depth() + 12
		out[len(out)-1] = append(out[len(out)-1], b)
	}
	return out
}

// writeTile shows one tile's window of the diagram, with marks where the
// neighbours begin.
func (l *layout) writeTile(s *strings.Builder, t tiling, i, j, before int, diagram string) {
	x, y := l.sheetOrigin(t)
	fmt.Fprintf(s, "<svg x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" viewBox=\"%d %d %d %d\">\n%s</svg>\n",
		x, y, t.w, t.h, i*t.stepX, j*t.stepY, t.w, t.h, diagram)
	fmt.Fprintf(s, "<rect class=\"rule\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n", x, y, t.w, t.h)
	number := func(i, j int) string { return fmt.Sprint(before + j*t.nx + i + 1) }
	tick := func(x0, y0, x1, y1 int) {
		fmt.Fprintf(s, "<path class=\"leader\" d=\"M%d %dL%d %d\"/>\n", x0, y0, x1, y1)
	}
	say := func(x, y int, to string) {
		l.text(s, text{x: x, y: y, anchor: middle, size: labelSize, class: "heading", s: "to sheet " + to})
	}
	aside := func(x int, to string) {
		fmt.Fprintf(s, "<text class=\"heading\" font-size=\"%d\" text-anchor=\"middle\" transform=\"translate(%d %d) rotate(-90)\">to sheet %s</text>\n", labelSize, x, y+t.h/2, to)
	}
	right, bottom := x+t.w, y+t.h
	wide, deep := t.w-t.stepX, t.h-t.stepY
	if i > 0 {
		tick(x+wide, y-8, x+wide, y)
		tick(x+wide, bottom, x+wide, bottom+8)
		aside(x-8, number(i-1, j))
	}
	if i+1 < t.nx {
		tick(right-wide, y-8, right-wide, y)
		tick(right-wide, bottom, right-wide, bottom+8)
		aside(right+16, number(i+1, j))
	}
	if j > 0 {
		tick(x-8, y+deep, x, y+deep)
		tick(right, y+deep, right+8, y+deep)
		say(x+t.w/2, y-5, number(i, j-1))
	}
	if j+1 < t.ny {
		tick(x-8, bottom-deep, x, bottom-deep)
		tick(right, bottom-deep, right+8, bottom-deep)
		say(x+t.w/2, bottom+14, number(i, j+1))
	}
}
