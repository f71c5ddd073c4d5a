package schematic

import "legtrace/circuit"

// flag is a numbered mark at x, y.
type flag struct {
	x, y   int
	number int
	branch circuit.BranchID
}

const flagRadius = 8

func (f flag) box() rect { return rect{f.x, f.y, f.x, f.y}.grown(flagRadius + 3) }

// placeFlags sets the numbered marks as near to their part or wire as room
// allows.
func (l *layout) placeFlags() {
	for _, m := range l.d.Marks {
		at := l.heart(m.Branch)
		f := flag{number: m.Number, branch: m.Branch}
		for ring := 2; ring < 40; ring++ {
			if l.tryRing(&f, at, ring*step) {
				break
			}
		}
		l.flags = append(l.flags, f)
		l.taken.add(f.box(), -1)
	}
}

func (l *layout) tryRing(f *flag, at point, radius int) bool {
	for _, dir := range []point{{0, -2}, {1, -2}, {-1, -2}, {2, -1}, {-2, -1}, {0, 2}, {1, 2}, {-1, 2}, {2, 1}, {-2, 1}, {2, 0}, {-2, 0}, {2, -2}, {-2, -2}, {2, 2}, {-2, 2}} {
		f.x, f.y = at.x+dir.x*radius/2, at.y+dir.y*radius/2
		if l.fitsPage(f.box()) && l.taken.free(f.box()) {
			return true
		}
	}
	return false
}

// heart is the middle of a branch as drawn.
func (l *layout) heart(id circuit.BranchID) point {
	b := l.c.Branch(id)
	if b.Wire != circuit.None {
		return l.heartOfWire(b.Wire)
	}
	if b.A == circuit.None || b.B == circuit.None {
		return l.heartOfUnit(b)
	}
	a, z := l.spot(b.A), l.spot(b.B)
	u := l.unitOf[b.A]
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

// heartOfWire is the middle of the longest stretch that the wire shares with
// fewest others.
func (l *layout) heartOfWire(id circuit.WireID) point {
	for _, g := range l.shares(l.runs[id].net, len(l.runs)) {
		for _, w := range g.wires {
			if w == int(id) {
				s := byLength(l.router.segments(g.edges))[0]
				return point{(s.a.x + s.b.x) / 2, (s.a.y + s.b.y) / 2}
			}
		}
	}
	return l.spot(l.c.Wire(id).From)
}

// heartOfUnit is the middle of the symbol of a branch that lacks a terminal: a
// conductor of the supply, or a board relay's coil, which is shown at the
// relay's contact.
func (l *layout) heartOfUnit(b *circuit.Branch) point {
	at := point{}
	for _, u := range l.units {
		if u.part.ID != b.Part {
			continue
		}
		if at == (point{}) {
			at = point{u.x, u.y}
		}
		for _, id := range u.branches {
			if id == b.ID {
				return point{u.x, u.y}
			}
		}
	}
	return at
}
