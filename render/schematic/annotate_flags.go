package schematic

import (
	"slices"

	"legtrace/circuit"
)

// flag is a numbered mark at x, y.
type flag struct {
	x, y   int
	number int
	branch circuit.BranchID
	// from is where the leader of a flag begins that stands away from what it is
	// at.
	from   point
	leader bool
}

const flagRadius = 8

func (f flag) box() rect { return rect{f.x, f.y, f.x, f.y}.grown(flagRadius + 3) }

// placeBreaks says where a conductor's way to the load ends.
func (an *annotation) placeBreaks() {
	for _, b := range an.d.Breaks {
		s := an.d.ends(b)
		t := tag{layer: layerFault, at: an.centre(b.Branch), s: s, class: "broken", leader: true, title: s + ": " + an.c.Label(b.Branch)}
		wide := boldWidth(s, smallSize) + 8
		if an.tryTag(&t, wide, tagRings, item.any) || an.tryTag(&t, wide, tagRings, item.solid) || an.tryTag(&t, wide, tagReach, item.none) {
			an.keep(t)
		}
	}
}

// placeFlags sets the numbered marks as near to their part or wire as room
// allows, rather a little further off than where they could be taken for
// another part's. What stands on one conductor of the supply with the same number
// has one flag, the legend lists it all.
func (an *annotation) placeFlags() {
	type stretch struct{ trunk, number int }
	flagged := map[stretch]bool{}
	for _, m := range an.d.Marks {
		if t := an.trunkWith(m.Branch); t >= 0 {
			s := stretch{t, m.Number}
			if flagged[s] {
				continue
			}
			flagged[s] = true
		}
		at := an.centre(m.Branch)
		f := flag{number: m.Number, branch: m.Branch}
		others := an.labelsNear(at, m.Branch)
		if !an.tryRings(&f, at, flagNear, others) {
			an.tryRings(&f, at, flagFar, nil)
		}
		if max(abs(f.x-at.x), abs(f.y-at.y)) > flagAway {
			f.from = an.edge(m.Branch, point{f.x, f.y})
			f.leader = an.openWay(&tag{at: f.from, leader: true, area: f.box()}, item.solid)
		}
		an.flags = append(an.flags, f)
		an.taken.add(f.box(), -1)
	}
}

// How far out a flag is looked for, in steps: where no other part's label is
// near, and anywhere.
const flagNear, flagFar = 12, 40

// flagAway is how far from its part's or wire's middle a flag stands without a
// leader, in pixels.
const flagAway = 5 * step

// edge is where a line to a branch meets it: the outline of its symbol, or the
// middle of its wire.
func (an *annotation) edge(id circuit.BranchID, from point) point {
	at := an.centre(id)
	for _, t := range []circuit.TerminalID{an.c.Branch(id).A, an.c.Branch(id).B} {
		if an.c.Branch(id).Wire == circuit.None && t != circuit.None {
			b := an.unitOf[t].body()
			return point{min(max(from.x, b.x0), b.x1), min(max(from.y, b.y0), b.y1)}
		}
	}
	return at
}

// flagClear is how far a flag keeps from other parts' labels.
const flagClear = 12

// labelsNear lists the areas about other parts' labels.
func (an *annotation) labelsNear(at point, id circuit.BranchID) []rect {
	var out []rect
	reach := rect{at.x, at.y, at.x, at.y}.grown((flagNear+2)*step + flagClear)
	for i := range an.texts {
		t := &an.texts[i]
		if t.unit == nil || t.class != "label" || t.unit.part.ID == an.c.Branch(id).Part {
			continue
		}
		if b := t.box().grown(flagClear); b.overlaps(reach) {
			out = append(out, b)
		}
	}
	return out
}

func (an *annotation) tryRings(f *flag, at point, rings int, keepOff []rect) bool {
	for ring := 2; ring < rings; ring++ {
		if an.tryRing(f, at, ring*step, keepOff) {
			return true
		}
	}
	return false
}

func (an *annotation) tryRing(f *flag, at point, radius int, keepOff []rect) bool {
	for _, dir := range []point{{0, -2}, {1, -2}, {-1, -2}, {2, -1}, {-2, -1}, {0, 2}, {1, 2}, {-1, 2}, {2, 1}, {-2, 1}, {2, 0}, {-2, 0}, {2, -2}, {-2, -2}, {2, 2}, {-2, 2}} {
		f.x, f.y = at.x+dir.x*radius/2, at.y+dir.y*radius/2
		way := rect{min(at.x, f.x), min(at.y, f.y), max(at.x, f.x) + 1, max(at.y, f.y) + 1}
		if an.fitsPage(f.box()) && an.taken.free(f.box()) && !slices.ContainsFunc(keepOff, f.box().overlaps) && !slices.ContainsFunc(an.clear, way.overlaps) {
			return true
		}
	}
	return false
}

// centre is the middle of a branch as drawn.
func (an *annotation) centre(id circuit.BranchID) point {
	b := an.c.Branch(id)
	if b.Wire != circuit.None {
		return an.centreOfWire(b.Wire)
	}
	if b.A == circuit.None || b.B == circuit.None {
		return an.centreOfUnit(b)
	}
	a, z := an.spot(b.A), an.spot(b.B)
	u := an.unitOf[b.A]
	if u.shape == shapeStar {
		// The contact lies on its leaf's row.
		leaf := a
		if b.A == u.hub {
			leaf = z
		}
		return point{u.x, leaf.y}
	}
	return point{(a.x + z.x) / 2, (a.y + z.y) / 2}
}

// centreOfWire is the middle of the longest stretch that the wire shares with
// fewest others.
func (an *annotation) centreOfWire(id circuit.WireID) point {
	if s, ok := an.longest(id); ok {
		return point{(s.a.x + s.b.x) / 2, (s.a.y + s.b.y) / 2}
	}
	return an.spot(an.c.Wire(id).From)
}

// centreOfUnit is the middle of the symbol of a branch that lacks a terminal: a
// conductor of the supply, or a board relay's coil, which is shown at the
// relay's contact.
func (an *annotation) centreOfUnit(b *circuit.Branch) point {
	at := point{}
	for _, u := range an.units {
		if u.part.ID != b.Part {
			continue
		}
		if at == (point{}) {
			at = point{u.x, u.y}
		}
		if slices.Contains(u.branches, b.ID) {
			return point{u.x, u.y}
		}
	}
	return at
}
