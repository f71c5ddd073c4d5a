package schematic

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Sizes of a window on the diagram, in pixels: what is shown around the symbols
// it is about, the least it shows, and the most that lies in one.
const (
	windowMargin           = 40
	windowWide, windowDeep = 240, 130
	windowMost, windowTall = 420, 260
	// windowMore is how much wider it becomes for texts that it would cut, and half as
	// much deeper.
	windowMore = 160
)

// Windows draws the diagram once, as an SVG element that shows nothing by
// itself, and for each group of terminals an SVG element that shows the part of
// it around the symbols they are on. All belong into one page of HTML.
func Windows(ctx context.Context, d Drawing, groups [][]circuit.TerminalID) (whole string, windows []string, err error) {
	an, err := layOut(ctx, &d)
	if err != nil {
		return "", nil, err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"source\" width=\"0\" height=\"0\" aria-hidden=\"true\"><style>%s</style><defs><g id=\"diagram\">\n", style(d.Theme))
	(&canvas{annotation: an}).writeDiagram(&b)
	b.WriteString("</g></defs></svg>\n")
	for _, terminals := range groups {
		var bodies []rect
		for _, t := range terminals {
			if u := an.unitOf[t]; u != nil {
				bodies = append(bodies, u.body())
			}
		}
		views := ""
		for _, r := range apart(bodies) {
			f := an.frame(r)
			x, y, wide, deep := f.x0, f.y0, f.x1-f.x0, f.y1-f.y0
			views += fmt.Sprintf("<svg viewBox=\"%d %d %d %d\" style=\"flex: %d\" role=\"img\"><rect class=\"page\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/><use href=\"#diagram\"/></svg>",
				x, y, wide, deep, wide, x, y, wide, deep)
		}
		windows = append(windows, views)
	}
	return b.String(), windows, nil
}

// frame is what a window on a box shows: what lies around it, and of each text and mark
// that it would cut the whole, as far as there is room.
func (an *annotation) frame(r rect) rect {
	wide, deep := max(windowWide, r.x1-r.x0+2*windowMargin), max(windowDeep, r.y1-r.y0+2*windowMargin)
	x, y := (r.x0+r.x1-wide)/2, (r.y0+r.y1-deep)/2
	f := rect{x, y, x + wide, y + deep}
	var words []rect
	for _, t := range an.texts {
		words = append(words, t.box())
	}
	for _, t := range an.tags {
		words = append(words, t.area)
	}
	for again := true; again; {
		again = false
		for _, b := range words {
			u := rect{min(f.x0, b.x0), min(f.y0, b.y0), max(f.x1, b.x1), max(f.y1, b.y1)}
			if b.overlaps(f) && u != f && u.x1-u.x0 <= wide+windowMore && u.y1-u.y0 <= deep+windowMore/2 {
				f, again = u, true
			}
		}
	}
	return f
}

// apart joins boxes that one window can show, from left to right.
func apart(boxes []rect) []rect {
	slices.SortFunc(boxes, func(a, b rect) int { return cmp.Or(a.x0-b.x0, a.y0-b.y0) })
	var out []rect
	for _, r := range boxes {
		joined := false
		for i, o := range out {
			u := rect{min(o.x0, r.x0), min(o.y0, r.y0), max(o.x1, r.x1), max(o.y1, r.y1)}
			if u == o || u.x1-u.x0 <= windowMost && u.y1-u.y0 <= windowTall {
				out[i], joined = u, true
				break
			}
		}
		if !joined {
			out = append(out, r)
		}
	}
	return out
}
