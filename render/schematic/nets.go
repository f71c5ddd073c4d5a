package schematic

import "legtrace/circuit"

// net is a set of terminals tied together by wires.
type net struct {
	id    int
	pins  []netPin
	wires []circuit.WireID
	// bus nets are drawn as a vertical line that rungs hang on; a bus that a
	// conductor of the supply feeds is a rail.
	bus, rail bool
	// hub is the terminal that the line stands for, if it stands for one: where
	// the supply comes in, or where many wires meet.
	hub circuit.TerminalID
	// potential is where between the first leg (0) and the last conductor (1) the
	// net stands; known is false for a net that no load or contact ties in.
	potential float64
	known     bool
	// lean is set for a net that only a control's pins tie in: -1 lies to the
	// left of the control, 1 to its right.
	lean int
	// layer is where the layered layout has the net, from the left.
	layer int
	// hops counts symbols from the nearest rail.
	hops int

	// line is where a bus is drawn, its main line if it has more than one.
	line
}

// line is the vertical line of a bus: its channel between the columns, its x
// and its reach.
type line struct {
	net     *net
	channel int
	x       int
	y0, y1  int
	spans   bool
	// rungs lists what hangs on the line, once the rows are known.
	rungs []rungEnd
}

// rungEnd is where a rung meets a line, and from which side.
type rungEnd struct {
	unit     *unit
	y        int
	fromLeft bool
}

// drawn reports whether a line stands for a terminal. One that does not is only
// where its net's wires are expected.
func (n *line) drawn() bool { return n.net.hub != circuit.None }

// tie is a wire from one symbol to another, as it runs when nothing is in its
// way.
type tie struct {
	net  *net
	a, b netPin
	// from and to are where its ends lie as things are placed; turn is where it
	// was last estimated to run up or down.
	from, to point
	turn     int
}

// isRail reports whether a line leads straight from the supply.
func (n *line) isRail() bool { return n.net.rail }

// reach stretches a line to y.
func (n *line) reach(y int) {
	if !n.spans {
		n.spans, n.y0, n.y1 = true, y, y
		return
	}
	n.y0, n.y1 = min(n.y0, y), max(n.y1, y)
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
	groups := circuit.NewGroups(len(l.c.Terminals()))
	for _, w := range l.c.Wires() {
		groups.Join(int32(w.From), int32(w.To))
	}
	l.netOf = make([]*net, len(groups))
	for i := range groups {
		r := groups.Of(int32(i))
		if l.netOf[r] == nil {
			n := &net{id: len(l.nets), hub: circuit.None}
			n.line = line{net: n, channel: -1}
			l.netOf[r] = n
			l.nets = append(l.nets, n)
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

// trunkKinds may stand upright between the supply and a rail. So may a switch of
// several poles: one that all of a conductor's current goes through isolates the
// machine.
var trunkKinds = map[circuit.Kind]bool{
	circuit.KindBreaker: true, circuit.KindRCD: true, circuit.KindConnector: true, circuit.KindTerminalBlock: true, circuit.KindFuse: true,
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
			if next == nil || t.passes(next.unit.part) {
				break
			}
			u = next.unit
			terminal = u.pins[1-next.pin].terminal
			if next.pin == 1 {
				u.pins[0], u.pins[1] = u.pins[1], u.pins[0]
			}
		}
		for _, u := range t.units[1:] {
			turnUpright(u)
		}
		t.rail.bus, t.rail.rail = true, true
		l.trunks = append(l.trunks, t)
	}
}

// isolates reports whether a symbol is a pole of a switch that has several.
func (u *unit) isolates() bool {
	return u.part.Kind == circuit.KindSwitch && len(u.part.Branches) > 1
}

// passes reports whether a trunk has been through a part already.
func (t trunk) passes(p *circuit.Part) bool {
	for _, u := range t.units {
		if u.part == p {
			return true
		}
	}
	return false
}

// turnUpright turns a two-pin symbol upright.
func turnUpright(u *unit) {
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
		if u := p.unit; u != from && u.shape == shapeBranch && (trunkKinds[u.part.Kind] || u.isolates()) && !u.trunk {
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

// hubLeast is how many wires meet at a terminal that has a line of its own, at
// least: three leave a terminal on three sides. A splice has one for three.
const hubLeast = 4

// markBuses decides which nets are vertical lines: those with three pins or
// more, and the rails.
func (l *layout) markBuses() {
	for _, n := range l.nets {
		n.bus = n.bus || len(n.pins) > 2
	}
	for _, t := range l.trunks {
		if t.rail.hub == circuit.None {
			u := t.units[len(t.units)-1]
			t.rail.hub = u.pins[len(u.pins)-1].terminal
		}
	}
	for _, n := range l.nets {
		most := 0
		for _, p := range n.pins {
			least := hubLeast - btoi(p.unit.part.Kind == circuit.KindNode)
			if k := len(l.c.Terminal(p.terminal()).Wires); k >= least && k > most && !n.rail {
				n.hub, most = p.terminal(), k
			}
		}
		if u := l.unitOf[n.hub]; u != nil && !n.rail {
			u.seated = u.part.Kind == circuit.KindNode
		}
	}
}
