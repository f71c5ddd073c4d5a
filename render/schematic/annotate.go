package schematic

import (
	"iter"
	"slices"
)

// annotate finds room for the wires' names, test points, flags, probabilities,
// marks of what stays live and voltages, in that order, outside what is kept clear.
func annotate(rt *routing, d *Drawing, clear ...rect) *annotation {
	an := &annotation{routing: rt, d: d, texts: slices.Clone(rt.captions), clear: clear, taken: &clutter{buckets: map[point][]item{}}}
	for _, r := range clear {
		an.taken.add(r, -1)
	}
	for _, u := range an.units {
		an.taken.add(u.body(), -1)
	}
	for _, t := range an.texts {
		an.taken.add(t.box(), -1)
	}
	for _, s := range an.links() {
		an.taken.add(s.box().grown(2), -1)
	}
	for n := range an.nets {
		for _, s := range an.stretches[n] {
			an.taken.add(s.ground(), n)
		}
	}
	an.placeReferences()
	an.placeWireNames()
	an.nameSplices()
	an.placeBreaks()
	an.placePoints()
	an.placeFlags()
	an.placeSuspects()
	an.placeStanding()
	an.placeVolts(true)
	an.placeVolts(false)
	return an
}

// tryBeside puts a text beside one of the segments, longest first, and reports
// whether there was room.
func (an *annotation) tryBeside(segments []segment, net int, t text) bool {
	for _, s := range byLength(segments) {
		for c := range beside(s, t) {
			room := c.box().grown(1)
			room.x0, room.x1 = room.x0-textAside, room.x1+textAside
			if an.fitsPage(c.box()) && an.taken.free(c.box().grown(1)) && !an.taken.any(room, item.solid) && an.taken.nearOwn(c.box(), net) {
				an.texts = append(an.texts, c)
				an.taken.add(c.box(), -1)
				return true
			}
		}
	}
	return false
}

// textAside is the room kept between two texts of one line.
const textAside = 4

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
	return slices.SortedStableFunc(slices.Values(in), func(a, b segment) int { return b.length() - a.length() })
}

// placeReferences writes the references where room was kept for them, or close
// by where a wire had to take it.
func (an *annotation) placeReferences() {
	for _, t := range an.refs {
		if !an.tryAround(t) {
			an.unplaced = append(an.unplaced, [2]string{an.c.Part(t.unit.part.ID).Label, t.s})
		}
	}
}

func (an *annotation) tryAround(t text) bool {
	for _, dy := range []int{0, 1, 2, 3, -1} {
		for _, dx := range []int{0, 2, -2, 4, -4, 6, -6} {
			c := t
			c.x, c.y = t.x+dx*step, t.y+dy*step
			if an.fitsPage(c.box()) && an.taken.free(c.box().grown(1)) {
				an.texts = append(an.texts, c)
				an.taken.add(c.box(), -1)
				return true
			}
		}
	}
	return false
}
