package schematic

import (
	"fmt"
	"slices"
	"strings"
)

// cutting is how a diagram is cut into windows, a sheet each: at xs and ys, its
// own edges among them, in pixels.
type cutting struct {
	paper  Paper // as it lies
	scale  float64
	xs, ys []int
	// asideX and asideY are kept beside a cut for where its wires go on.
	asideX, asideY int
}

// room is how large a window between two cuts may be.
func (t cutting) room() (w, h int) {
	return int((t.paper.Width-2*paperEdge)/t.scale) - 2*t.asideX, int((t.paper.Height-2*paperEdge)/t.scale) - 2*t.asideY - footDepth - footGap
}

// origin is where a window begins on its sheet.
func (t cutting) origin(i, j int) (x, y int) {
	edge := int(paperEdge / t.scale)
	return edge + min(i, 1)*t.asideX, edge + min(j, 1)*t.asideY
}

func (t cutting) sheets() int { return (len(t.xs) - 1) * (len(t.ys) - 1) }

// sheet is the number of a window's sheet.
func (t cutting) sheet(i, j int) int { return j*(len(t.xs)-1) + i + 1 }

// cut looks for the fewest sheets on which type is large enough, the paper lying
// or standing, then for the largest type that needs no more. Where a stretch
// without a gap is larger than a sheet, type gets smaller than that.
func (an *annotation) cut(width, height int, paper Paper) cutting {
	across, down := an.gaps(width, height)
	lies := [2]Paper{paper, {paper.Name, paper.Height, paper.Width}}
	try := func(p Paper, scale float64) (cutting, bool) {
		t := cutting{paper: p, scale: scale}
		w, h := t.room()
		if width > w {
			t.asideX = onwardWide
		}
		if height > h {
			t.asideY = onwardDeep
		}
		w, h = t.room()
		var okX, okY bool
		t.xs, okX = pieces(width, w, t.asideX, across)
		t.ys, okY = pieces(height, h, t.asideY, down)
		return t, okX && okY
	}
	var best cutting
	for scale := leastScale; best.scale == 0; scale *= 0.99 {
		for _, p := range lies {
			if t, ok := try(p, scale); ok && (best.scale == 0 || t.sheets() < best.sheets()) {
				best = t
			}
		}
	}
	for _, p := range lies {
		for scale := best.scale; scale <= mostScale; scale += 0.005 {
			if t, ok := try(p, scale); ok && t.sheets() == best.sheets() && t.scale > best.scale {
				best = t
			}
		}
	}
	return best
}

// pieces cuts a length into as few pieces of at most room, the outer ones of aside
// more, as its gaps allow, as even as they can be, and reports whether they do.
func pieces(length, room, aside int, gaps []int) (at []int, ok bool) {
	at, ok = atMost(length, room, aside, gaps)
	for even, evenly := at, ok; evenly && len(even) == len(at); room -= step {
		at = even
		even, evenly = atMost(length, room-step, aside, gaps)
	}
	return at, ok
}

func atMost(length, room, aside int, gaps []int) ([]int, bool) {
	at := []int{0}
	for last := -aside; length-last > room+aside; last = at[len(at)-1] {
		i, _ := slices.BinarySearch(gaps, last+room+aside*btoi(last < 0)+1)
		if i == 0 || gaps[i-1] <= max(last, 0) {
			return nil, false
		}
		at = append(at, gaps[i-1])
	}
	return append(at, length), true
}

// clear is what the diagram's texts keep clear of: where it is cut.
func (t cutting) clear() []rect {
	var out []rect
	for _, x := range t.xs[1 : len(t.xs)-1] {
		out = append(out, rect{x - band, 0, x - band, t.ys[len(t.ys)-1]}.grown(2))
	}
	for _, y := range t.ys[1 : len(t.ys)-1] {
		out = append(out, rect{0, y - band, t.xs[len(t.xs)-1], y - band}.grown(2))
	}
	return out
}

// withoutCut leaves out the wires' names that a cut goes through: each stands
// beside the cut.
func (an *annotation) withoutCut(t cutting) *annotation {
	out := *an
	out.texts = slices.DeleteFunc(slices.Clone(an.texts), func(x text) bool {
		b := x.box()
		through := func(from, to int) func(int) bool {
			return func(cut int) bool { return from+band < cut && cut < to+band }
		}
		return x.wire != nil && (slices.ContainsFunc(t.xs, through(b.x0, b.x1)) || slices.ContainsFunc(t.ys, through(b.y0, b.y1)))
	})
	return &out
}

// gaps lists the x and the y at which no symbol and no text but a wire's name
// would be cut and no wire runs along.
func (an *annotation) gaps(width, height int) (across, down []int) {
	atX, atY := make([]bool, width+1), make([]bool, height+1)
	mark := func(at []bool, from, to int) {
		for i := max(0, from); i <= min(len(at)-1, to); i++ {
			at[i] = true
		}
	}
	solid := func(r rect) {
		mark(atX, r.x0+band, r.x1+band)
		mark(atY, r.y0+band, r.y1+band)
	}
	for _, u := range an.units {
		solid(u.withPins())
	}
	for _, t := range an.texts {
		if t.wire == nil {
			solid(t.box())
		}
	}
	for _, f := range an.flags {
		solid(f.box())
	}
	for _, t := range an.tags {
		solid(t.area)
	}
	for n := range an.nets {
		for _, s := range an.stretches[n] {
			if r := s.ground(); s.horizontal() {
				mark(atY, r.y0+band, r.y1+band)
			} else {
				mark(atX, r.x0+band, r.x1+band)
			}
		}
	}
	list := func(at []bool) []int {
		var out []int
		for i := range at {
			if !at[i] {
				out = append(out, i)
			}
		}
		return out
	}
	return list(atX), list(atY)
}

// writeWindow shows one window of the diagram, and beside it where its wires go
// on.
func (cv *canvas) writeWindow(s *strings.Builder, t cutting, i, j int, diagram string) {
	x, y := t.origin(i, j)
	x0, x1, y0, y1 := t.xs[i], t.xs[i+1], t.ys[j], t.ys[j+1]
	w, h := x1-x0, y1-y0
	fmt.Fprintf(s, "<svg x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" viewBox=\"%d %d %d %d\">\n%s</svg>\n", x, y, w, h, x0, y0, w, h, diagram)
	fmt.Fprintf(s, "<rect class=\"rule\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n", x, y, w, h)
	say := func(at point, a anchor, names []string, sheet int) {
		text{x: at.x, y: at.y, anchor: a, size: smallSize, class: "onward", s: fmt.Sprintf("%s \u2192 %d", strings.Join(names, ", "), sheet)}.write(s)
	}
	if j > 0 {
		for _, c := range cv.crossing(y0, false, x0, x1) {
			say(point{x + c.at - x0, y - 6}, middle, c.names, t.sheet(i, j-1))
		}
	}
	if j+2 < len(t.ys) {
		for _, c := range cv.crossing(y1, false, x0, x1) {
			say(point{x + c.at - x0, y + h + 14}, middle, c.names, t.sheet(i, j+1))
		}
	}
	if i > 0 {
		for _, c := range cv.crossing(x0, true, y0, y1) {
			say(point{x - 4, y + c.at - y0 + 3}, end, c.names, t.sheet(i-1, j))
		}
	}
	if i+2 < len(t.xs) {
		for _, c := range cv.crossing(x1, true, y0, y1) {
			say(point{x + w + 4, y + c.at - y0 + 3}, start, c.names, t.sheet(i+1, j))
		}
	}
}

// cutWire is where wires, side by side, cross a cut.
type cutWire struct {
	at    int
	names []string
}
