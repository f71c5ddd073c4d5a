package schematic

import (
	"sort"

	"legtrace/circuit"
)

// net is a set of terminals tied together by wires.
type net struct {
	id    int
	pins  []netPin
	wires []circuit.WireID
	// bus nets are drawn as a vertical line that rungs hang on; a bus that a
	// conductor of the supply feeds is a rail.
	bus, rail bool
	// rise is where between the first leg (0) and the last conductor (1) the
	// net stands; known is false for a net that no load or contact ties in.
	rise  float64
	known bool
	// lean is set for a net that only a control's pins tie in: -1 lies to the
	// left of the control, 1 to its right.
	lean int
	// hops counts symbols from the nearest rail.
	hops int

	channel int
	x       int
	y0, y1  int // reach of a bus
	spans   bool
}

type netPin struct {
	unit *unit
	pin  int
}

func (n netPin) at() point                    { return n.unit.at(n.unit.pins[n.pin]) }
func (n netPin) side() side                   { return n.unit.pins[n.pin].side }
func (n netPin) terminal() circuit.TerminalID { return n.unit.pins[n.pin].terminal }

// gather joins terminals by wires into nets.
func (l *layout) gather() {
	root := make([]int, len(l.c.Terminals()))
	for i := range root {
		root[i] = i
	}
	var find func(int) int
	find = func(i int) int {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for _, w := range l.c.Wires() {
		a, b := find(int(w.From)), find(int(w.To))
		root[max(a, b)] = min(a, b)
	}
	l.netOf = make([]*net, len(root))
	for i := range root {
		r := find(i)
		if l.netOf[r] == nil {
			l.netOf[r] = &net{id: len(l.nets), channel: -1}
			l.nets = append(l.nets, l.netOf[r])
		}
		l.netOf[i] = l.netOf[r]
	}
	for _, u := range l.units {
		for i, p := range u.pins {
			n := l.netOf[p.terminal]
			n.pins = append(n.pins, netPin{u, i})
		}
	}
	for _, w := range l.c.Wires() {
		n := l.netOf[w.From]
		n.wires = append(n.wires, w.ID)
	}
}

// trunkKinds may stand upright between the supply and a rail.
var trunkKinds = map[circuit.Kind]bool{
	circuit.KindBreaker: true, circuit.KindConnector: true, circuit.KindTerminalBlock: true, circuit.KindFuse: true,
}

// trunk is what lies between one conductor of the supply and its rail.
type trunk struct {
	source circuit.BranchID
	units  []*unit
	rail   *net
}

// followTrunks walks from the supply through breakers, plugs and studs to the
// first place where the machine branches out: the rails.
func (l *layout) followTrunks() {
	s := l.c.Supply()
	conductors := append(append([]circuit.BranchID{}, s.Legs...), s.Neutral)
	if s.Earth != circuit.None {
		conductors = append(conductors, s.Earth)
	}
	for _, id := range conductors {
		t := trunk{source: id}
		terminal := l.c.Branch(id).B
		u := l.unitOf[terminal]
		for {
			u.trunk = true
			t.units = append(t.units, u)
			t.rail = l.netOf[terminal]
			next := l.onward(t.rail, u)
			if next == nil {
				break
			}
			u = next.unit
			terminal = u.pins[1-next.pin].terminal
			if next.pin == 1 {
				u.pins[0], u.pins[1] = u.pins[1], u.pins[0]
			}
		}
		for _, u := range t.units[1:] {
			stand(u)
		}
		t.rail.bus, t.rail.rail = true, true
		l.trunks = append(l.trunks, t)
	}
}

// stand turns a two-pin symbol upright.
func stand(u *unit) {
	u.upright, u.half = true, trunkHalf
	u.pins[0].x, u.pins[0].y, u.pins[0].side = 0, -u.half, top
	u.pins[1].x, u.pins[1].y, u.pins[1].side = 0, u.half, bottom
}

// onward returns the far pin's symbol when a trunk goes on through it.
func (l *layout) onward(n *net, from *unit) *netPin {
	if len(n.pins) != 2 {
		return nil
	}
	for i := range n.pins {
		p := &n.pins[i]
		if u := p.unit; u != from && u.shape == shapeBranch && trunkKinds[u.part.Kind] && !u.trunk {
			return p
		}
	}
	return nil
}

// refreshPins lists pins anew after symbols have turned them round.
func (l *layout) refreshPins() {
	for _, n := range l.nets {
		n.pins = n.pins[:0]
	}
	for _, u := range l.units {
		for i, p := range u.pins {
			n := l.netOf[p.terminal]
			n.pins = append(n.pins, netPin{u, i})
		}
	}
}

// Shares of ease with which a branch ties its two nets together when nets are
// given their place between the rails: contacts stay near their rail.
const easeContact, easeLoad = 20.0, 1.0

const riseSweeps = 400

// climb gives every net its place between the rails, as if the machine were a
// chain of resistors from left to right with every contact closed.
func (l *layout) climb() {
	last := len(l.trunks) - 1
	if l.c.Supply().Earth != circuit.None {
		last--
	}
	fixed := make([]bool, len(l.nets))
	set := func(n *net, rise float64) {
		if !fixed[n.id] {
			fixed[n.id], n.known, n.rise = true, true, rise
		}
	}
	// Legs come before the neutral in the list of trunks.
	if legs := len(l.c.Supply().Legs); legs == 1 {
		set(l.trunks[0].rail, 0)
		set(l.trunks[last].rail, 1)
	} else {
		set(l.trunks[0].rail, 0)
		set(l.trunks[1].rail, 1)
		set(l.trunks[last].rail, 0.5)
	}
	if l.c.Supply().Earth != circuit.None {
		set(l.trunks[last+1].rail, 1)
	}
	type tie struct {
		to   *net
		ease float64
	}
	ties := make([][]tie, len(l.nets))
	for i := range l.c.Branches() {
		b := l.c.Branch(circuit.BranchID(i))
		if b.Part == circuit.None || b.A == circuit.None || b.B == circuit.None {
			continue
		}
		ease := easeContact
		if b.Role == circuit.Load {
			ease = easeLoad
		}
		na, nb := l.netOf[b.A], l.netOf[b.B]
		ties[na.id] = append(ties[na.id], tie{nb, ease})
		ties[nb.id] = append(ties[nb.id], tie{na, ease})
	}
	var queue []*net
	for _, n := range l.nets {
		if fixed[n.id] {
			queue = append(queue, n)
		}
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, t := range ties[n.id] {
			if !t.to.known {
				t.to.known, t.to.rise, t.to.hops = true, n.rise, n.hops+1
				queue = append(queue, t.to)
			}
		}
	}
	for range riseSweeps {
		for _, n := range l.nets {
			if fixed[n.id] || !n.known {
				continue
			}
			sum, ease := 0.0, 0.0
			for _, t := range ties[n.id] {
				sum += t.ease * t.to.rise
				ease += t.ease
			}
			if ease > 0 {
				n.rise = sum / ease
			}
		}
	}
	l.guessRise()
	for _, n := range l.nets {
		// Equal places are told apart by the distance from the rail.
		if n.rise < 0.5-1e-9 {
			n.rise += 1e-7 * float64(n.hops)
		} else {
			n.rise -= 1e-7 * float64(n.hops)
		}
	}
}

// guessRise places nets that only a control's pins tie in, such as a sensor's:
// ever further out on the side of the control's own leg.
func (l *layout) guessRise() {
	for changed := true; changed; {
		changed = false
		for _, u := range l.units {
			var from *net
			for _, p := range u.pins {
				if n := l.netOf[p.terminal]; n.known && (from == nil || n.lean != 0) {
					from = n
				}
			}
			if from == nil {
				continue
			}
			lean := from.lean
			if lean == 0 {
				lean = -1
				if u.shape == shapeBox && l.netOf[u.pins[0].terminal].rise > l.netOf[u.pins[1].terminal].rise {
					lean = 1
				}
			}
			for _, p := range u.pins {
				if n := l.netOf[p.terminal]; !n.known && len(n.pins) > 1 {
					n.known, n.lean, n.rise, changed = true, lean, from.rise+1e-5*float64(lean), true
				}
			}
		}
	}
}

// orient puts every pin of every symbol on its side.
func (l *layout) orient() {
	for _, u := range l.units {
		if u.trunk || u.shape != shapeBranch && u.shape != shapeWinding {
			continue
		}
		for i := 0; i+1 < len(u.pins); i += 2 {
			if l.netOf[u.pins[i].terminal].rise > l.netOf[u.pins[i+1].terminal].rise+1e-12 {
				u.pins[i].terminal, u.pins[i+1].terminal = u.pins[i+1].terminal, u.pins[i].terminal
			}
		}
	}
	l.refreshPins()
	for _, u := range l.units {
		switch u.shape {
		case shapeStar, shapeMotor:
			l.orientStar(u)
		case shapeBox:
			l.orientBox(u)
		}
	}
	l.refreshPins()
	l.standBetween()
}

func (l *layout) orientStar(u *unit) {
	if lean := l.leaning(u); lean != 0 {
		u.shape = shapeBox
		l.orientBox(u)
		return
	}
	mean := 0.0
	for _, p := range u.pins {
		if p.terminal != u.hub {
			mean += l.netOf[p.terminal].rise / float64(len(u.pins)-1)
		}
	}
	hub, leaf, x := left, right, u.halfWidth()
	if l.netOf[u.hub].rise > mean {
		hub, leaf, x = right, left, -x
	}
	l.sortPins(u)
	last := -1
	for i := range u.pins {
		p := &u.pins[i]
		if p.terminal == u.hub {
			p.side, p.x, p.y = hub, -x, 0
			continue
		}
		p.side, p.x, p.y = leaf, x, 0
		if last >= 0 {
			p.y = u.pins[last].y + max(leafPitch, l.pinSpace(u, u.pins[last], *p))
		}
		last = i
	}
}

// sortPins orders a symbol's pins by side and, on a side, by the symbol that
// each leads to, so that two symbols with the same neighbours match.
func (l *layout) sortPins(u *unit) {
	key := func(p pin) int {
		if o := l.onlyOther(u, p); o != nil {
			return o.id
		}
		if u.part.Kind == circuit.KindControl {
			return -1 // its supply comes first
		}
		return len(l.units)
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
func (l *layout) leaning(u *unit) int {
	lean := 0
	for _, p := range u.pins {
		n := l.netOf[p.terminal]
		if n.lean == 0 && len(n.pins) > 1 {
			return 0
		}
		if n.lean != 0 {
			lean = n.lean
		}
	}
	return lean
}

func (l *layout) orientBox(u *unit) {
	mean, n := 0.0, 0
	for _, p := range u.pins {
		if net := l.netOf[p.terminal]; net.known && net.lean == 0 {
			mean += net.rise
			n++
		}
	}
	mean /= float64(max(n, 1))
	alone := l.leaning(u)
	toward := func(t circuit.TerminalID) (side, bool) {
		for _, o := range l.netOf[t].pins {
			if o.unit != u && !o.unit.trunk && o.unit.shape == shapeBranch && len(l.netOf[t].pins) == 2 {
				return o.side(), true
			}
		}
		return left, false
	}
	for i := range u.pins {
		net := l.netOf[u.pins[i].terminal]
		onLeft := net.rise <= mean
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
	l.sortPins(u)
	y := 0
	for i := range u.pins {
		p := &u.pins[i]
		p.x = boxReach
		if p.side == left {
			p.x = -boxReach
		}
		if i > 0 && u.pins[i-1].side == p.side {
			y += l.pinSpace(u, u.pins[i-1], *p)
		} else {
			y = 0
		}
		p.y = y
	}
}

// pinSpace is the distance between neighbouring pins of a box that leaves room
// for the symbols they lead to on lines of their own.
func (l *layout) pinSpace(u *unit, upper, lower pin) int {
	_, below := l.pinExtent(u, upper)
	above, _ := l.pinExtent(u, lower)
	least := pinPitch
	if l.bridge(u, upper, lower) != nil {
		least = 2 * (reach + step)
	}
	return roundUp(max(below+above+2*cellGap+step, least), 2*step)
}

func (l *layout) pinExtent(u *unit, p pin) (above, below int) {
	other := l.onlyOther(u, p)
	if other == nil || other.shape != shapeBranch {
		return step, step
	}
	return l.extent(other)
}

// onlyOther is the one symbol that a pin's wire leads to, if it is one.
func (l *layout) onlyOther(u *unit, p pin) *unit {
	n := l.netOf[p.terminal]
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
func (l *layout) bridge(u *unit, upper, lower pin) *unit {
	a, endA := l.follow(u, upper)
	b, endB := l.follow(u, lower)
	if a == nil || a != b || endA == endB {
		return nil
	}
	return a
}

// follow walks from a pin through plugs to the first load, and tells which of
// its terminals it came to.
func (l *layout) follow(u *unit, p pin) (*unit, circuit.TerminalID) {
	from, at := u, p.terminal
	for range l.units {
		n := l.netOf[at]
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
		case l.c.Branch(next.unit.branches[0]).Role != circuit.Join:
			return nil, circuit.None
		}
		from, at = next.unit, next.unit.pins[1-next.pin].terminal
	}
	return nil, circuit.None
}

// standBetween stands a sensor upright whose ends go to neighbouring pins of a
// box.
func (l *layout) standBetween() {
	for _, u := range l.units {
		if u.shape != shapeBox {
			continue
		}
		for i := 1; i < len(u.pins); i++ {
			upper, lower := u.pins[i-1], u.pins[i]
			if upper.side != lower.side {
				continue
			}
			b := l.bridge(u, upper, lower)
			if b == nil || b.upright || lower.y-upper.y < 2*reach {
				continue
			}
			if _, end := l.follow(u, upper); b.pins[0].terminal != end {
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
			l.refreshPins()
		}
	}
}

// markBuses decides which nets are vertical lines: those with three pins or
// more, and the rails.
func (l *layout) markBuses() {
	for _, n := range l.nets {
		if len(n.pins) > 2 {
			n.bus = true
		}
	}
}
