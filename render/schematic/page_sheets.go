package schematic

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Paper is what a drawing is printed on, landscape.
type Paper struct {
	Name string
	// Width and Height are in millimetres.
	Width, Height float64
}

// Papers are the sizes of paper: ISO 216 and ANSI/ASME Y14.1 (values from
// memory). The wall's is A1.
var Papers = []Paper{{"a4", 297, 210}, {"a3", 420, 297}, {"letter", 279.4, 215.9}, {"tabloid", 431.8, 279.4}, {"wall", 841, 594}}

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
	// leastScale is the millimetres that a pixel must get at least: wires' names
	// are then set in 1.8 mm (5 point) type, parts' in 2.3 mm; mostScale keeps
	// small machines from being blown up.
	leastScale, mostScale = 0.18, 0.3
	// onwardWide and onwardDeep are the room for where wires go on, footGap that
	// above the title block.
	onwardWide, onwardDeep, footGap = 64, 20, 12
)

// Sheets writes the drawing for print: all on one sheet if it can be read there,
// else the diagram first and then cautions and legend. A diagram that is too
// large for a sheet is cut between its rungs and its columns, never through a
// symbol, and each wire that is cut names the sheet on which it goes on. The
// sheets are separate SVG documents, because SVG has no pages: every program
// prints one, and rsvg-convert -f pdf joins them.
func Sheets(ctx context.Context, d Drawing, paper Paper) ([][]byte, error) {
	an, err := layOut(ctx, &d)
	if err != nil {
		return nil, err
	}
	an, err = an.fitted(ctx, paper)
	if err != nil {
		return nil, err
	}
	p := an.page()
	w, h := paper.Width-2*paperEdge, paper.Height-2*paperEdge
	if k := min(w/float64(p.width), h/float64(p.height)); k >= leastScale {
		return [][]byte{an.oneSheet(p, paper, min(k, mostScale))}, nil
	}
	return an.manySheets(p, paper), nil
}

// fitted is the diagram for a sheet of paper, lying: laid out anew if it then takes
// fewer sheets, rungs beside each other though wires cross more, and with its texts
// clear of where it is cut.
func (an *annotation) fitted(ctx context.Context, paper Paper) (*annotation, error) {
	cut := bare(an.routing, an.d).cutFor(paper)
	if cut.sheets() == 1 {
		return an, nil
	}
	w, h := cutting{paper: paper, scale: leastScale}.room()
	rt, err := arrange(ctx, an.c, an.d.Base, point{w - 2*band, h - 2*band})
	if err != nil {
		return nil, err
	}
	if flat := bare(rt, an.d).cutFor(paper); flat.scale >= leastScale && flat.sheets() < cut.sheets() || cut.scale < leastScale && flat.scale > cut.scale {
		return annotate(rt, an.d, flat.clear()...), nil
	}
	return annotate(an.routing, an.d, cut.clear()...), nil
}

// bare is the diagram with those texts alone that have their places before any wire
// is laid.
func bare(rt *routing, d *Drawing) *annotation {
	return &annotation{routing: rt, d: d, texts: slices.Concat(rt.captions, rt.refs)}
}

// cutFor cuts the diagram for a paper.
func (an *annotation) cutFor(paper Paper) cutting {
	inner := an.inner()
	return an.cut(inner.x+2*band, inner.y+2*band, paper)
}

// oneSheet centres the whole page on the paper.
func (an *annotation) oneSheet(p *page, paper Paper, k float64) []byte {
	w, h := paper.Width/k, paper.Height/k
	s := an.d.newSheet(paper, w, h)
	fmt.Fprintf(s, "<svg x=\"%s\" y=\"%s\" width=\"%d\" height=\"%d\">\n", num(round1((w-float64(p.width))/2)), num(round1((h-float64(p.height))/2)), p.width, p.height)
	an.writePage(s, p)
	s.WriteString("</svg>\n</svg>\n")
	return []byte(s.String())
}

func (an *annotation) manySheets(p *page, paper Paper) [][]byte {
	// The diagram stands at the origin of the windows' own coordinates.
	t := an.cutFor(paper)
	cv := &canvas{an.withoutCut(t), point{band, band}}
	var diagram strings.Builder
	cv.writeFrame(&diagram, p.inner.x, p.inner.y)
	diagram.WriteString("<g class=\"diagram\">\n")
	cv.writeDiagram(&diagram)
	diagram.WriteString("</g>\n")
	var rest []exhibit
	for _, b := range p.blocks {
		rest = append(rest, legendBlock{b})
	}
	w, h := t.room()
	tables, _ := pack(append(rest, an.d.tables(an.units)...), w, h-headerDepth)
	drawings := (len(t.xs) - 1) * (len(t.ys) - 1)
	count := drawings + len(tables)
	var out [][]byte
	for i := range drawings {
		s := an.d.cutSheet(t, i+1, count)
		cv.writeWindow(s, t, i%(len(t.xs)-1), i/(len(t.xs)-1), diagram.String())
		s.WriteString("</svg>\n")
		out = append(out, []byte(s.String()))
	}
	x, y := t.origin(1, 1)
	headed := func(p *page) {
		s := an.d.cutSheet(t, len(out)+1, count)
		for _, head := range an.d.header(w) {
			head.x, head.y = x, y+head.y-10
			head.write(s)
		}
		p.write(an.d, s)
		s.WriteString("</svg>\n")
		out = append(out, []byte(s.String()))
	}
	for _, exhibits := range tables {
		for i := range exhibits {
			exhibits[i].x, exhibits[i].y = exhibits[i].x+x, exhibits[i].y+y+headerDepth
		}
		headed(&page{exhibits: exhibits})
	}
	return out
}

// newSheet begins a document the size of the paper, w by h pixels.
func (d *Drawing) newSheet(paper Paper, w, h float64) *strings.Builder {
	s := &strings.Builder{}
	fmt.Fprintf(s, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" role="img" aria-labelledby="page-title page-desc">`+"\n",
		num(paper.Width), num(paper.Height), num(round1(w)), num(round1(h)))
	fmt.Fprintf(s, "<title id=\"page-title\">%s</title>\n<desc id=\"page-desc\">%s</desc>\n", escape(d.title()), escape(d.describe()))
	fmt.Fprintf(s, "<style>%s</style>\n<rect class=\"page\" width=\"%s\" height=\"%s\"/>\n", style(d.Theme), num(round1(w)), num(round1(h)))
	d.writeHatches(s)
	return s
}

func round1(v float64) float64 { return math.Round(v*10) / 10 }

// cutSheet begins a sheet with its title block.
func (d *Drawing) cutSheet(t cutting, number, count int) *strings.Builder {
	s := d.newSheet(t.paper, t.paper.Width/t.scale, t.paper.Height/t.scale)
	x, y := t.origin(1, 1)
	w, h := t.room()
	d.writeFootBlock(s, x, y+h+t.asideY+footGap, w, fmt.Sprintf("%d of %d", number, count))
	return s
}
