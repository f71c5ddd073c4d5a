package schematic

import (
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
func (l *layout) placePoints() {
	for _, p := range l.d.TestPoints {
		if !l.drawn(p.Terminal) {
			continue // the legend has it
		}
		t := tag{layer: layerPoints, at: l.spot(p.Terminal), mark: p.Mark, leader: true,
			title: strings.TrimSpace(fmt.Sprintf("Test point %s: %s %s", p.Mark, p.Name, p.Reading))}
		plate := plateWidth(p.Mark, smallSize)
		wide := plate + boldWidth(p.Reading, smallSize) + 6
		switch {
		case p.Reading != "" && (l.tryTag(&t, wide, tagRings, item.any) || l.tryTag(&t, wide, 2*tagRings, item.solid)):
			t.s = p.Reading
		case l.tryTag(&t, plate, 2*tagRings, item.any), l.tryTag(&t, plate, 2*tagRings, item.solid), l.tryTag(&t, plate, tagReach, item.none):
		default:
			continue // the legend has it
		}
		l.tags = append(l.tags, t)
		l.taken.add(t.area.grown(tagClear), -1)
	}
}

// tryTag looks for room around the point, nearest first, where the leader
// crosses nothing that blocks it.
func (l *layout) tryTag(t *tag, width, rings int, blocks func(item) bool) bool {
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
			if l.fitsPage(t.area) && l.taken.free(t.area.grown(tagClear)) && l.openWay(t, blocks) {
				return true
			}
		}
	}
	return false
}

// openWay reports whether the leader crosses nothing that blocks it; what lies
// right at its end is the terminal itself and its wire.
func (l *layout) openWay(t *tag, blocks func(item) bool) bool {
	if !t.leader {
		return true
	}
	a := t.nearest()
	near := func(from, to int) int { return from + leaderFree*sign(to-from) }
	from := point{near(t.at.x, a.x), near(t.at.y, a.y)}
	way := rect{min(a.x, from.x), min(a.y, from.y), max(a.x, from.x) + 1, max(a.y, from.y) + 1}
	return !l.taken.any(way, blocks)
}

// leaderFree is the part of a leader at its terminal that may touch a wire.
const leaderFree = 3

func sign(n int) int {
	switch {
	case n > 0:
		return 1
	case n < 0:
		return -1
	}
	return 0
}

// nearest is the point of the mark's edge nearest to what it is about.
func (t *tag) nearest() point {
	return point{min(max(t.at.x, t.area.x0), t.area.x1), min(max(t.at.y, t.area.y0), t.area.y1)}
}

// placeStanding marks each node once that is live while the machine is off.
func (l *layout) placeStanding() {
	if len(l.d.Standing) == 0 {
		return
	}
	for _, n := range l.nets {
		if len(n.wires) == 0 {
			continue
		}
		v := l.d.Standing[n.pins[0].terminal()]
		if v == 0 {
			continue
		}
		s := fmt.Sprintf("%.0f V when off", v)
		t := tag{layer: layerStanding, s: s, title: "Stays live with the machine switched off: " + s + ", to the chassis"}
		if !l.tagBeside(&t, n, standingIcon+textWidth(s, smallSize)+3) && !l.tagBeside(&t, n, standingIcon) {
			if !l.repeatsRail(n, func(at circuit.TerminalID) string { return fmt.Sprintf("%.0f V", l.d.Standing[at]) }) {
				l.leave(n, s)
			}
			continue
		}
		if t.area.x1-t.area.x0 == standingIcon {
			t.s = ""
		}
		l.tags = append(l.tags, t)
		l.taken.add(t.area.grown(tagClear), -1)
	}
}

// standingIcon is the width of the mark of a point that stays live.
const standingIcon = 18

// tagBeside puts a mark beside one of a net's wires.
func (l *layout) tagBeside(t *tag, n *net, width int) bool {
	for _, s := range byLength(l.router.segments(l.used[n.id])) {
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
					if l.fitsPage(t.area) && l.taken.free(t.area.grown(tagClear)) && l.taken.nearOwn(t.area, n.id) {
						return true
					}
				}
			}
		}
	}
	return false
}

// writeTags puts out the marks of one layer.
func (l *layout) writeTags(b *strings.Builder, which layer) {
	for _, t := range l.tags {
		if t.layer != which {
			continue
		}
		t.area = rect{t.area.x0 + l.origin.x, t.area.y0 + l.origin.y, t.area.x1 + l.origin.x, t.area.y1 + l.origin.y}
		t.at = point{t.at.x + l.origin.x, t.at.y + l.origin.y}
		l.writeTag(b, &t)
	}
}

func (l *layout) writeTag(b *strings.Builder, t *tag) {
	a := t.area
	fmt.Fprintf(b, "<g class=\"tag %s\" data-tag=\"%d %d %d %d\"><title>%s</title>", strings.TrimPrefix(layerIDs[t.layer], "layer-"), a.x0, a.y0, a.x1, a.y1, escape(t.title))
	if near := t.nearest(); t.leader && near != t.at {
		fmt.Fprintf(b, "<path class=\"leader\" d=\"M%d %dL%d %d\"/>", t.at.x, t.at.y, near.x, near.y)
	}
	base := a.y1 - 4
	switch t.layer {
	case layerNone:
		l.text(b, text{x: (a.x0 + a.x1) / 2, y: base, anchor: middle, size: smallSize, class: "wirename", s: t.s})
	case layerPoints:
		fmt.Fprintf(b, "<rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>", a.x0, a.y0, a.x1-a.x0, tagHeight)
		writePointMark(b, a.x0, a.y0, t.mark)
		if t.s != "" {
			l.text(b, text{x: a.x0 + plateWidth(t.mark, smallSize) + 3, y: base, size: smallSize, class: "reading", s: t.s})
		}
	case layerFault:
		fmt.Fprintf(b, "<rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>", a.x0, a.y0, a.x1-a.x0, tagHeight)
		l.text(b, text{x: (a.x0 + a.x1) / 2, y: base, anchor: middle, size: smallSize, class: "broken", s: t.s})
	case layerSuspects:
		fmt.Fprintf(b, "<rect class=\"frame\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" rx=\"8\"/>", a.x0, a.y0, a.x1-a.x0, tagHeight)
		l.text(b, text{x: (a.x0 + a.x1) / 2, y: base, anchor: middle, size: smallSize, class: "chance", s: t.s})
	case layerStanding:
		writeStandingIcon(b, a.x0, a.y0)
		if t.s != "" {
			l.text(b, text{x: a.x0 + standingIcon + 1, y: base, size: smallSize, class: "standing", s: t.s})
		}
	}
	b.WriteString("</g>\n")
}

// writePointMark draws a test point's mark, light on dark.
func writePointMark(b *strings.Builder, x, y int, mark string) {
	w := plateWidth(mark, smallSize)
	fmt.Fprintf(b, "<rect class=\"plate\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/><text class=\"number\" x=\"%d\" y=\"%d\" font-size=\"%d\" text-anchor=\"middle\">%s</text>",
		x, y, w, tagHeight, x+w/2, y+tagHeight-4, smallSize, escape(mark))
}

// plateWidth is the width of the plate behind a test point's mark.
func plateWidth(mark string, size int) int { return max(tagMark, boldWidth(mark, size)+6) }

// writeStandingIcon draws a triangle with a flash, as on a warning of voltage.
func writeStandingIcon(b *strings.Builder, x, y int) {
	fmt.Fprintf(b, "<path class=\"warning\" d=\"M%d %dL%d %dL%d %dZ\"/><path class=\"flash\" d=\"M%d %dL%d %dL%d %dL%d %d\"/>",
		x+8, y+1, x+16, y+15, x, y+15, x+9, y+5, x+6, y+10, x+10, y+10, x+7, y+14)
}

// repeatsRail reports whether a net within a trunk says what its rail says too.
func (l *layout) repeatsRail(n *net, say func(circuit.TerminalID) string) bool {
	for _, t := range l.trunks {
		for _, u := range t.units {
			if n != t.rail && len(n.pins) > 0 && n.pins[0].unit == u && len(t.rail.pins) > 0 {
				return say(n.pins[0].terminal()) == say(t.rail.pins[0].terminal())
			}
		}
	}
	return false
}

// leave keeps for the legend what found no room beside a net's wires.
func (l *layout) leave(n *net, s string) {
	names := l.wireNamesOf(n)
	for i := range l.unplaced {
		if l.unplaced[i][0] == names {
			l.unplaced[i][1] += ", " + s
			return
		}
	}
	l.unplaced = append(l.unplaced, [2]string{names, s})
}

// wireNamesOf lists a net's wires.
func (l *layout) wireNamesOf(n *net) string {
	var ids []int
	for _, w := range n.wires {
		ids = append(ids, int(w))
	}
	if len(ids) > mostShared {
		return l.wireNames(ids[:mostShared]) + " and more"
	}
	return l.wireNames(ids)
}
