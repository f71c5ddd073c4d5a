package schematic

import "legtrace/circuit"

// flag is a numbered mark at x, y.
type flag struct {
	x, y   int
	number int
	branch circuit.BranchID
}

const flagRadius = 8

func (f flag) box() rect { return rect{f.x, f.y, f.x, f.y}.grown(flagRadius + 1) }

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
		points := l.runs[b.Wire].points
		if len(points) == 0 {
			return l.spot(b.A)
		}
		return l.router.point(points[len(points)/2])
	}
	if b.A == circuit.None || b.B == circuit.None {
		for _, u := range l.units {
			if u.part.ID == b.Part {
				return point{u.x, u.y}
			}
		}
		return point{}
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
