package schematic

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// mostShared is how many wires one name beside a shared stretch may list.
const mostShared = 3

// placeWireNames writes each wire's name and colour beside it where there is
// room: where the wire runs alone if it does somewhere, otherwise beside a
// stretch that it shares with few, naming them all. A wire that finds no room
// is named in the legend.
func (an *annotation) placeWireNames() {
	for _, n := range an.nets {
		if len(n.wires) == 0 {
			continue
		}
		groups := an.shares(n, mostShared)
		named := map[int]bool{}
		for _, g := range groups {
			if g.all(named) {
				continue
			}
			t := text{size: smallSize, class: "wirename", s: an.wireNames(g.wires), wire: an.runs[g.wires[0]].wire}
			if an.tryBeside(g.stretches, n.id, t) {
				for _, w := range g.wires {
					named[w] = true
				}
			}
		}
		for _, id := range n.wires {
			if w := an.c.Wire(id); !named[int(id)] && !an.tryLeader(w, tag{s: an.wireNames([]int{int(id)}), class: "wirename", title: an.d.wireTitle(w)}) {
				an.unplaced = append(an.unplaced, [2]string{an.wireNames([]int{int(id)}), an.c.PlaceLabel(w.From) + " to " + an.c.PlaceLabel(w.To)})
			}
		}
	}
}

// tryLeader writes what belongs to a wire near by, with a line to it that crosses
// no other.
func (an *annotation) tryLeader(w *circuit.Wire, t tag) bool {
	t.leader = true
	for _, t.at = range an.aims(w) {
		if an.tryTag(&t, textWidth(t.s, smallSize)+4, tagRings, item.any) {
			an.keep(t)
			return true
		}
	}
	return false
}

// nameSplices writes the names of splices that sit on a line beside them.
func (an *annotation) nameSplices() {
	for _, u := range an.units {
		if !u.seated {
			continue
		}
		name := strings.Join(u.label, " ")
		t := tag{s: name, class: "wirename", leader: true, title: name, at: point{u.x, u.y}}
		if wide := textWidth(name, smallSize) + 4; !an.tryTag(&t, wide, tagRings, item.any) && !an.tryTag(&t, wide, tagRings, item.solid) {
			an.unplaced = append(an.unplaced, [2]string{name, an.c.PlaceLabel(u.pins[0].terminal)})
			continue
		}
		an.keep(t)
	}
}

// aims lists the points of a wire that a line may lead to, those first that it
// shares with fewest others; none is near another node's wire.
func (an *annotation) aims(w *circuit.Wire) []point {
	var out []point
	n := an.netOf[w.From]
	for _, g := range an.shares(n, len(an.runs)) {
		if !slices.Contains(g.wires, int(w.ID)) {
			continue
		}
		for _, s := range g.stretches {
			dx, dy := btoi(s.horizontal()), btoi(!s.horizontal())
			for off := 0; off <= s.length()/2; off += step {
				p := point{roundUp((s.a.x+s.b.x)/2, step) - off*dx, roundUp((s.a.y+s.b.y)/2, step) - off*dy}
				if an.taken.nearOwn(rect{p.x, p.y, p.x, p.y}, n.id) {
					out = append(out, p)
				}
			}
		}
		break
	}
	return append(out, an.spot(w.From), an.spot(w.To))
}
