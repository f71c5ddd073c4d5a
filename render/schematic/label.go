package schematic

import (
	"iter"
	"math"

	"legtrace/circuit"
)

type anchor uint8

const (
	start anchor = iota
	middle
	end
)

// text is one line. X, Y is its baseline at the anchor.
type text struct {
	x, y   int
	anchor anchor
	size   int
	class  string
	s      string
	// unit or wire is what the text belongs to, if anything, else a layer.
	unit  *unit
	wire  *circuit.Wire
	layer layer
}

func (t text) moved(by point) text {
	t.x, t.y = t.x+by.x, t.y+by.y
	return t
}

// Share of a text's size above and below its baseline.
const ascent, descent = 0.78, 0.24

func (t text) box() rect {
	w := textWidth(t.s, t.size)
	x := t.x
	switch t.anchor {
	case middle:
		x -= w / 2
	case end:
		x -= w
	}
	return rect{x, t.y - int(math.Ceil(ascent*float64(t.size))), x + w, t.y + int(math.Ceil(descent*float64(t.size)))}
}

// captions sets the symbols' own text; placement has kept room for it.
func (l *layout) captions() {
	for _, u := range l.units {
		first := len(l.texts)
		above, below := l.extent(u)
		switch {
		case u.shape == shapeSource:
			l.texts = append(l.texts, caption(u.x+2*step, u.y, start, labelSize, "label", u.label[0]))
		case u.seated: // its label comes with a leader
		case u.shape == shapeChassis:
			l.texts = append(l.texts, caption(u.x, u.y+3*step+lineHeight, middle, labelSize, "label", u.label[0]))
		case u.trunk:
			y := u.y - (len(u.label)-1)*lineHeight/2 + 4
			if u.part.Kind.Guards() || u.isolates() {
				y += lineHeight
			}
			for i, line := range u.label {
				l.texts = append(l.texts, caption(u.x+waist+6, y+i*lineHeight, start, labelSize, "label", line))
			}
			if u.rating != "" {
				l.texts = append(l.texts, caption(u.x+waist+6, y+len(u.label)*lineHeight, start, smallSize, "rating", u.rating))
			}
		default:
			y := u.y - above + labelSize
			for i, line := range u.label {
				l.texts = append(l.texts, caption(u.x, y+i*lineHeight, middle, labelSize, "label", line))
			}
			base := u.y + below - 3
			if len(u.siblings) > 0 {
				t := caption(u.x, base, middle, smallSize, "xref", l.reference(u))
				t.unit = u
				l.refs = append(l.refs, t)
				base -= lineHeight
			}
			if u.rating != "" {
				l.texts = append(l.texts, caption(u.x, base, middle, smallSize, "rating", u.rating))
			}
		}
		l.pinNames(u)
		for i := first; i < len(l.texts); i++ {
			l.texts[i].unit = u
		}
	}
}

func caption(x, y int, a anchor, size int, class, s string) text {
	return text{x: x, y: y, anchor: a, size: size, class: class, s: s}
}

// pinNames sets the terminals' names.
func (l *layout) pinNames(u *unit) {
	if u.trunk || u.shape == shapeSource || u.shape == shapeChassis {
		return
	}
	for _, p := range u.pins {
		name := shortTerminal(l.c.Terminal(p.terminal))
		if name == "" {
			continue
		}
		at := u.at(p)
		t := text{y: at.y + smallSize + 2, size: smallSize, class: "pin", s: name}
		switch {
		case u.shape == shapeBox && p.side == left:
			t.x, t.y, t.anchor = at.x+step+4, at.y+3, start
		case u.shape == shapeBox:
			t.x, t.y, t.anchor = at.x-step-4, at.y+3, end
		case u.upright && p.y < 0:
			continue
		case u.upright:
			continue
		case u.shape == shapeStar && p.terminal == u.hub && u.depth() > 0:
			t.y = at.y - 4
			t.x, t.anchor = at.x+hubAside, start
			if p.side == right {
				t.x, t.anchor = at.x-hubAside, end
			}
		case p.side == left:
			t.x, t.anchor = at.x+pinAside(name), start
		default:
			t.x, t.anchor = at.x-pinAside(name), end
		}
		l.texts = append(l.texts, t)
	}
}

// hubAside is how far the name of contacts' common terminal stands inside of it:
// a wire may leave it upwards.
const hubAside = 2

// pinAside is how far a terminal's name stands inside of it, so that a wire may
// leave it upwards or downwards, where the name leaves the blade free.
func pinAside(name string) int {
	return max(0, min(4, reach-gap-1-textWidth(name, smallSize)))
}

// shortTerminal is the last piece of a terminal's name; "in" and "out" say
// nothing that the drawing does not.
func shortTerminal(t *circuit.Terminal) string {
	name := t.Name
	for i := len(name) - 1; i >= 0; i-- {
		if name[i] == '.' {
			name = name[i+1:]
			break
		}
	}
	if name == "in" || name == "out" {
		return ""
	}
	return name
}

// annotate finds room for the wires' names, test points, flags, probabilities,
// marks of what stays live and voltages, in that order.
func (l *layout) annotate() {
	l.taken = &clutter{buckets: map[point][]item{}}
	for _, u := range l.units {
		l.taken.add(u.body(), -1)
	}
	for _, t := range l.texts {
		l.taken.add(t.box(), -1)
	}
	for _, s := range l.links() {
		l.taken.add(s.box().grown(2), -1)
	}
	for n := range l.nets {
		for _, s := range l.router.segments(l.used[n]) {
			l.taken.add(s.ground(), n)
		}
	}
	l.placeReferences()
	l.placeWireNames()
	l.nameSplices()
	l.placeBreaks()
	l.placePoints()
	l.placeFlags()
	l.placeSuspects()
	l.placeStanding()
	l.placeVolts(true)
	l.placeVolts(false)
}

// tryBeside puts a text beside one of the segments, longest first, and reports
// whether there was room.
func (l *layout) tryBeside(segments []segment, net int, t text) bool {
	for _, s := range byLength(segments) {
		for c := range beside(s, t) {
			room := c.box().grown(1)
			room.x0, room.x1 = room.x0-textAside, room.x1+textAside
			if l.fitsPage(c.box()) && l.taken.free(c.box().grown(1)) && !l.taken.any(room, item.solid) && l.taken.nearOwn(c.box(), net) {
				l.texts = append(l.texts, c)
				l.taken.add(c.box(), -1)
				return true
			}
		}
	}
	return false
}

// textAside is the room kept between two texts of one line.
const textAside = 4

func (l *layout) fitsPage(r rect) bool {
	return r.x0 >= 0 && r.y0 >= 0 && r.x1 <= l.machineRight+outerGap && r.y1 <= l.machineBottom+4*step
}

// beside gives the places for a text along a segment, the middle first.
func beside(s segment, t text) iter.Seq[text] {
	return func(yield func(text) bool) {
		c := t
		if s.horizontal() {
			w := textWidth(t.s, t.size)
			c.anchor = middle
			for off := 0; off <= (s.length()-w)/2 && w <= s.length(); off += step / 2 {
				for _, sign := range []int{1, -1} {
					c.x = (s.a.x+s.b.x)/2 + sign*off
					for _, c.y = range []int{s.a.y - 7, s.a.y + 7 + int(ascent*float64(t.size)) + 1} {
						if !yield(c) {
							return
						}
					}
				}
			}
			return
		}
		for off := 0; off <= s.length()/2-4; off += step {
			for _, sign := range []int{1, -1} {
				c.y = (s.a.y+s.b.y)/2 + sign*off + 3
				for _, at := range []struct {
					x int
					anchor
				}{{s.a.x + 7, start}, {s.a.x - 5, end}} {
					c.x, c.anchor = at.x, at.anchor
					if !yield(c) {
						return
					}
				}
			}
		}
	}
}

func byLength(in []segment) []segment {
	out := append([]segment(nil), in...)
	for i := 1; i < len(out); i++ {
		for j := i; j > 0 && out[j].length() > out[j-1].length(); j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
	return out
}
