package schematic

import (
	"sort"

	"legtrace/circuit"
)

// orient puts every pin of every symbol on its side.
func (g *graph) orient() {
	for _, u := range g.units {
		if u.trunk || u.shape != shapeBranch && u.shape != shapeWinding {
			continue
		}
		for i := 0; i+1 < len(u.pins); i += 2 {
			if g.netOf[u.pins[i].terminal].potential > g.netOf[u.pins[i+1].terminal].potential+1e-12 {
				u.pins[i].terminal, u.pins[i+1].terminal = u.pins[i+1].terminal, u.pins[i].terminal
			}
		}
	}
	g.refreshPins()
	for _, u := range g.units {
		switch u.shape {
		case shapeStar, shapeMotor:
			g.orientStar(u)
		case shapeBox:
			g.orientBox(u)
		}
	}
	g.refreshPins()
	g.bridgeUpright()
}

func (g *graph) orientStar(u *unit) {
	if lean := g.leaning(u); lean != 0 {
		u.shape = shapeBox
		g.orientBox(u)
		return
	}
	mean := 0.0
	for _, p := range u.pins {
		if p.terminal != u.hub {
			mean += g.netOf[p.terminal].potential / float64(len(u.pins)-1)
		}
	}
	hub, leaf, x := left, right, u.halfWidth()
	if g.netOf[u.hub].potential > mean {
		hub, leaf, x = right, left, -x
	}
	g.sortPins(u)
	for i := range u.pins {
		p := &u.pins[i]
		p.side, p.x = leaf, x
		if p.terminal == u.hub {
			p.side, p.x = hub, -x
		}
	}
	g.spaceLeaves(u)
}

// spaceLeaves gives the contacts of a star their rows, in their order.
func (g *graph) spaceLeaves(u *unit) {
	last := -1
	for i := range u.pins {
		p := &u.pins[i]
		p.y = 0
		if p.terminal == u.hub {
			continue
		}
		if last >= 0 {
			p.y = u.pins[last].y + max(leafPitch, g.pinSpace(u, u.pins[last], *p))
		}
		last = i
	}
}

// sortLeaves puts the contacts of every star in the order in which what they
// lead to lies.
func (g *graph) sortLeaves() {
	toward := func(u *unit, p pin) float64 {
		sum, n := 0.0, 0.0
		for _, o := range g.netOf[p.terminal].pins {
			if o.unit != u && !o.unit.trunk {
				sum += o.unit.height
				n++
			}
		}
		if n == 0 {
			return u.height
		}
		return sum / n
	}
	for _, u := range g.units {
		if u.shape != shapeStar {
			continue
		}
		sort.SliceStable(u.pins, func(i, j int) bool {
			a, b := u.pins[i], u.pins[j]
			if hub := u.hub; a.terminal == hub || b.terminal == hub {
				return a.terminal == hub && b.terminal != hub
			}
			return toward(u, a) < toward(u, b)
		})
		g.spaceLeaves(u)
	}
	g.refreshPins()
}

// sortPins orders a symbol's pins by side and, on a side, by the symbol that
// each leads to, so that two symbols with the same neighbours match.
func (g *graph) sortPins(u *unit) {
	key := func(p pin) int {
		if o := g.onlyOther(u, p); o != nil {
			return o.id
		}
		if u.part.Kind == circuit.KindControl {
			return -1 // its supply comes first
		}
		return len(g.units)
	}
	sort.SliceStable(u.pins, func(i, j int) bool {
		a, b := u.pins[i], u.pins[j]
		if a.side != b.side {
			return a.side < b.side
		}
		return key(a) < key(b)
	})
}

// leaning tells the side that a symbol lies on when all it does is tell a
// control something, or 0.
func (g *graph) leaning(u *unit) int {
	lean := 0
	for _, p := range u.pins {
		n := g.netOf[p.terminal]
		if n.lean == 0 && len(n.pins) > 1 {
			return 0
		}
		if n.lean != 0 {
			lean = n.lean
		}
	}
	return lean
}

func (g *graph) orientBox(u *unit) {
	mean, n := 0.0, 0
	for _, p := range u.pins {
		if net := g.netOf[p.terminal]; net.known && net.lean == 0 {
			mean += net.potential
			n++
		}
	}
	mean /= float64(max(n, 1))
	alone := g.leaning(u)
	toward := func(t circuit.TerminalID) (side, bool) {
		for _, o := range g.netOf[t].pins {
			if o.unit != u && !o.unit.trunk && o.unit.shape == shapeBranch && len(g.netOf[t].pins) == 2 {
				return o.side(), true
			}
		}
		return left, false
	}
	for i := range u.pins {
		net := g.netOf[u.pins[i].terminal]
		onLeft := net.potential <= mean
		switch {
		case alone != 0:
			onLeft = alone > 0
		case net.lean != 0:
			onLeft = net.lean < 0
		}
		if s, ok := toward(u.pins[i].terminal); ok && alone == 0 && net.lean == 0 {
			onLeft = s == right
		}
		u.pins[i].side = right
		if onLeft {
			u.pins[i].side = left
		}
	}
	g.sortPins(u)
	y := 0
	for i := range u.pins {
		p := &u.pins[i]
		p.x = boxReach
		if p.side == left {
			p.x = -boxReach
		}
		if i > 0 && u.pins[i-1].side == p.side {
			y += g.pinSpace(u, u.pins[i-1], *p)
		} else {
			y = 0
		}
		p.y = y
	}
}

// pinSpace is the distance between neighbouring pins of a box that leaves room
// for the symbols they lead to on lines of their own.
func (g *graph) pinSpace(u *unit, upper, lower pin) int {
	_, below := g.pinExtent(u, upper)
	above, _ := g.pinExtent(u, lower)
	least := pinPitch
	if g.bridge(u, upper, lower) != nil {
		least = 2 * (reach + step)
	}
	return roundUp(max(below+above+2*cellGap+step, least), 2*step)
}

func (g *graph) pinExtent(u *unit, p pin) (above, below int) {
	other := g.onlyOther(u, p)
	if other == nil || other.shape != shapeBranch {
		return step, step
	}
	return other.extent()
}

// onlyOther is the one symbol that a pin's wire leads to, if it is one.
func (g *graph) onlyOther(u *unit, p pin) *unit {
	n := g.netOf[p.terminal]
	if len(n.pins) != 2 {
		return nil
	}
	for _, o := range n.pins {
		if o.unit != u && !o.unit.trunk {
			return o.unit
		}
	}
	return nil
}

// bridge is the load that lies between two pins of a box by way of nothing but
// plugs: a sensor at its control.
func (g *graph) bridge(u *unit, upper, lower pin) *unit {
	a, endA := g.follow(u, upper)
	b, endB := g.follow(u, lower)
	if a == nil || a != b || endA == endB {
		return nil
	}
	return a
}

// follow walks from a pin through plugs to the first load, and tells which of
// its terminals it came to.
func (g *graph) follow(u *unit, p pin) (*unit, circuit.TerminalID) {
	from, at := u, p.terminal
	for range g.units {
		n := g.netOf[at]
		if len(n.pins) != 2 {
			return nil, circuit.None
		}
		next := n.pins[0]
		if next.unit == from {
			next = n.pins[1]
		}
		switch {
		case next.unit.shape != shapeBranch || next.unit.trunk || next.unit == from:
			return nil, circuit.None
		case next.unit.load:
			return next.unit, next.terminal()
		case g.c.Branch(next.unit.branches[0]).Role != circuit.Join:
			return nil, circuit.None
		}
		from, at = next.unit, next.unit.pins[1-next.pin].terminal
	}
	return nil, circuit.None
}

// bridgeUpright stands a sensor upright whose ends go to neighbouring pins of a
// box.
func (g *graph) bridgeUpright() {
	for _, u := range g.units {
		if u.shape != shapeBox {
			continue
		}
		for i := 1; i < len(u.pins); i++ {
			upper, lower := u.pins[i-1], u.pins[i]
			if upper.side != lower.side {
				continue
			}
			b := g.bridge(u, upper, lower)
			if b == nil || b.upright || lower.y-upper.y < 2*reach {
				continue
			}
			if _, end := g.follow(u, upper); b.pins[0].terminal != end {
				b.pins[0].terminal, b.pins[1].terminal = b.pins[1].terminal, b.pins[0].terminal
			}
			toBox := right
			if upper.side == right {
				toBox = left
			}
			b.upright, b.half = true, (lower.y-upper.y)/2
			if b.rating != "" {
				b.label, b.rating = append(b.label, b.rating), ""
			}
			b.pins[0].x, b.pins[0].y, b.pins[0].side = 0, -b.half, toBox
			b.pins[1].x, b.pins[1].y, b.pins[1].side = 0, b.half, toBox
			g.refreshPins()
		}
	}
}
