package schematic

import (
	"cmp"
	"fmt"
	"strings"

	"legtrace/circuit"
)

// tag is a small mark with text in it, tied by a leader to the point it is
// about.
type tag struct {
	layer  layer
	area   rect
	at     point
	mark   string // light on dark, at the left
	s      string // beside the mark, if there was room
	class  string // of s, where there is no mark
	title  string
	leader bool
}

const (
	tagHeight = 16
	tagMark   = 18 // width of the plate behind a mark, at least
	tagClear  = 2
	tagAside  = 7 // from a wire's line to a mark beside it
	// tagRings is how far out a mark is tried with its text before it does
	// without, and tagReach how far without.
	tagRings, tagReach = 10, 60
)

// placePoints sets the numbered test points beside their terminals.
func (an *annotation) placePoints() {
	for _, p := range an.d.TestPoints {
		if !an.drawn(p.Terminal) {
			continue // the legend has it
		}
		t := tag{layer: layerPoints, at: an.spot(p.Terminal), mark: p.Mark, leader: true,
			title: strings.TrimSpace(fmt.Sprintf("Test point %s: %s %s", p.Mark, p.Name, p.Reading))}
		plate := plateWidth(p.Mark, smallSize)
		wide := plate + boldWidth(p.Reading, smallSize) + 6
		switch {
		case p.Reading != "" && (an.tryTag(&t, wide, tagRings, item.any) || an.tryTag(&t, wide, 2*tagRings, item.solid)):
			t.s = p.Reading
		case an.tryTag(&t, plate, 2*tagRings, item.any), an.tryTag(&t, plate, 2*tagRings, item.solid), an.tryTag(&t, plate, tagReach, item.none):
		default:
			continue // the legend has it
		}
		an.keep(t)
	}
}

// keep takes a mark's place.
func (an *annotation) keep(t tag) {
	an.tags = append(an.tags, t)
	an.taken.add(t.area.grown(tagClear), -1)
}

// tryTag looks for room around the point, nearest first, where the leader
// crosses nothing that blocks it.
func (an *annotation) tryTag(t *tag, width, rings int, blocks func(item) bool) bool {
	for ring := 1; ring <= rings; ring++ {
		d := ring * step
		for _, dir := range []point{{0, -1}, {0, 1}, {1, -1}, {-1, -1}, {1, 1}, {-1, 1}, {1, 0}, {-1, 0}} {
			x, y := t.at.x+dir.x*d, t.at.y+dir.y*d
			switch dir.x {
			case 0:
				x -= width / 2
			case -1:
				x -= width
			}
			switch dir.y {
			case 0:
				y -= tagHeight / 2
			case -1:
				y -= tagHeight
			}
			t.area = rect{x, y, x + width, y + tagHeight}
			if an.fitsPage(t.area) && an.taken.free(t.area.grown(tagClear)) && an.openWay(t, blocks) {
				return true
			}
		}
	}
	return false
}

// openWay reports whether the leader crosses nothing that blocks it; what lies
// right at its end is the terminal itself and its wire.
func (an *annotation) openWay(t *tag, blocks func(item) bool) bool {
	if !t.leader {
		return true
	}
	a := t.nearest()
	near := func(from, to int) int { return from + leaderFree*cmp.Compare(to, from) }
	from := point{near(t.at.x, a.x), near(t.at.y, a.y)}
	way := rect{min(a.x, from.x), min(a.y, from.y), max(a.x, from.x) + 1, max(a.y, from.y) + 1}
	return !an.taken.any(way, blocks)
}

// leaderFree is the part of a leader at its terminal that may touch a wire.
const leaderFree = 3

// nearest is the point of the mark's edge nearest to what it is about.
func (t *tag) nearest() point {
	return point{min(max(t.at.x, t.area.x0), t.area.x1), min(max(t.at.y, t.area.y0), t.area.y1)}
}

// placeStanding marks each node once that is live while the machine is off.
func (an *annotation) placeStanding() {
	if len(an.d.Standing) == 0 {
		return
	}
	for _, n := range an.nets {
		if len(n.wires) == 0 {
			continue
		}
		v := an.d.Standing[n.pins[0].terminal()]
		if v == 0 {
			continue
		}
		s := fmt.Sprintf("%.0f V when off", v)
		t := tag{layer: layerStanding, s: s, title: "Stays live with the machine switched off: " + s + ", to the chassis"}
		if !an.tagBeside(&t, n, standingIcon+textWidth(s, smallSize)+3) && !an.tagBeside(&t, n, standingIcon) {
			if !an.repeatsRail(n, func(at circuit.TerminalID) string { return fmt.Sprintf("%.0f V", an.d.Standing[at]) }) {
				an.leave(n, s)
			}
			continue
		}
		if t.area.x1-t.area.x0 == standingIcon {
			t.s = ""
		}
		an.keep(t)
	}
}

// standingIcon is the width of the mark of a point that stays live.
const standingIcon = 18

// tagBeside puts a mark beside one of a net's wires.
func (an *annotation) tagBeside(t *tag, n *net, width int) bool {
	for _, s := range byLength(an.stretches[n.id]) {
		for off := 0; off <= s.length()/2; off += step {
			for _, sign := range []int{1, -1} {
				x, y := (s.a.x+s.b.x)/2, (s.a.y+s.b.y)/2
				var areas [2]rect
				if s.horizontal() {
					if s.length() < width {
						continue
					}
					x += sign*off - width/2
					areas = [2]rect{{x, y - tagAside - tagHeight, x + width, y - tagAside}, {x, y + tagAside, x + width, y + tagAside + tagHeight}}
				} else {
					y += sign*off - tagHeight/2
					areas = [2]rect{{x + tagAside, y, x + tagAside + width, y + tagHeight}, {x - tagAside - width, y, x - tagAside, y + tagHeight}}
				}
				for _, t.area = range areas {
					if an.fitsPage(t.area) && an.taken.free(t.area.grown(tagClear)) && an.taken.nearOwn(t.area, n.id) {
						return true
					}
				}
			}
		}
	}
	return false
}

// plateWidth is the width of the plate behind a test point's mark.
func plateWidth(mark string, size int) int { return max(tagMark, boldWidth(mark, size)+6) }

// leave keeps for the legend what found no room beside a net's wires.
func (an *annotation) leave(n *net, s string) {
	names := an.wireNamesOf(n)
	for i := range an.unplaced {
		if an.unplaced[i][0] == names {
			an.unplaced[i][1] += ", " + s
			return
		}
	}
	an.unplaced = append(an.unplaced, [2]string{names, s})
}
