package schematic

import (
	"legtrace/circuit"
	"slices"
)

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
	// from and to are where its ends lie as things are placed; turns are the x at
	// which it may run up or down, unless it is straight, turn the one that it is
	// taken to have.
	from, to point
	straight bool
	turns    [2]int
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
func (g *graph) gather() {
	groups := circuit.NewGroups(len(g.c.Terminals()))
	for _, w := range g.c.Wires() {
		groups.Join(int32(w.From), int32(w.To))
	}
	g.netOf = make([]*net, len(groups))
	for i := range groups {
		r := groups.Of(int32(i))
		if g.netOf[r] == nil {
			n := &net{id: len(g.nets), hub: circuit.None}
			n.line = line{net: n, channel: -1}
			g.netOf[r] = n
			g.nets = append(g.nets, n)
		}
		g.netOf[i] = g.netOf[r]
	}
	g.refreshPins()
	for _, w := range g.c.Wires() {
		n := g.netOf[w.From]
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
func (g *graph) followTrunks() {
	s := g.c.Supply()
	conductors := append(append([]circuit.BranchID{}, s.Legs...), s.Neutral)
	if s.Earth != circuit.None {
		conductors = append(conductors, s.Earth)
	}
	for _, id := range conductors {
		t := trunk{source: id}
		terminal := g.c.Branch(id).B
		u := g.unitOf[terminal]
		for {
			u.trunk = true
			t.units = append(t.units, u)
			t.rail = g.netOf[terminal]
			next := g.onward(t.rail, u)
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
		g.trunks = append(g.trunks, t)
	}
}

// isolates reports whether a symbol is a pole of a switch that has several.
func (u *unit) isolates() bool {
	return u.part.Kind == circuit.KindSwitch && len(u.part.Branches) > 1
}

// passes reports whether a trunk has been through a part already.
func (t trunk) passes(p *circuit.Part) bool {
	return slices.ContainsFunc(t.units, func(u *unit) bool { return u.part == p })
}

// turnUpright turns a two-pin symbol upright.
func turnUpright(u *unit) {
	u.upright, u.half = true, trunkHalf
	u.pins[0].x, u.pins[0].y, u.pins[0].side = 0, -u.half, top
	u.pins[1].x, u.pins[1].y, u.pins[1].side = 0, u.half, bottom
}

// onward returns the far pin's symbol when a trunk goes on through it.
func (g *graph) onward(n *net, from *unit) *netPin {
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
func (g *graph) refreshPins() {
	for _, n := range g.nets {
		n.pins = n.pins[:0]
	}
	for _, u := range g.units {
		for i, p := range u.pins {
			n := g.netOf[p.terminal]
			n.pins = append(n.pins, netPin{u, i})
		}
	}
}

// hubLeast is how many wires meet at a terminal that has a line of its own, at
// least: three leave a terminal on three sides. A splice has one for three.
const hubLeast = 4

// markBuses decides which nets are vertical lines: those with three pins or
// more, and the rails.
func (g *graph) markBuses() {
	for _, n := range g.nets {
		n.bus = n.bus || len(n.pins) > 2
	}
	for _, t := range g.trunks {
		if t.rail.hub == circuit.None {
			u := t.units[len(t.units)-1]
			t.rail.hub = u.pins[len(u.pins)-1].terminal
		}
	}
	for _, n := range g.nets {
		most := 0
		for _, p := range n.pins {
			least := hubLeast - btoi(p.unit.part.Kind == circuit.KindNode)
			if k := len(g.c.Terminal(p.terminal()).Wires); k >= least && k > most && !n.rail {
				n.hub, most = p.terminal(), k
			}
		}
		if u := g.unitOf[n.hub]; u != nil && !n.rail {
			u.seated = u.part.Kind == circuit.KindNode
		}
	}
}

// repeatsRail reports whether a net within a trunk says what its rail says too.
func (g *graph) repeatsRail(n *net, say func(circuit.TerminalID) string) bool {
	for _, t := range g.trunks {
		for _, u := range t.units {
			if n != t.rail && len(n.pins) > 0 && n.pins[0].unit == u && len(t.rail.pins) > 0 {
				return say(n.pins[0].terminal()) == say(t.rail.pins[0].terminal())
			}
		}
	}
	return false
}

// trunkWith is the number of the trunk that a branch is a symbol of, or -1.
func (g *graph) trunkWith(id circuit.BranchID) int {
	return slices.IndexFunc(g.trunks, func(t trunk) bool {
		return slices.ContainsFunc(t.units, func(u *unit) bool { return slices.Contains(u.branches, id) })
	})
}

// conductor is the name of the supply's conductor that a rail leads to.
func (g *graph) conductor(n *net) string {
	for _, t := range g.trunks {
		if t.rail == n {
			return g.c.Branch(t.source).Name
		}
	}
	return ""
}

// spot returns where a terminal lies.
func (g *graph) spot(t circuit.TerminalID) point {
	u := g.unitOf[t]
	for _, p := range u.pins {
		if p.terminal == t {
			return u.at(p)
		}
	}
	return point{u.x, u.y}
}

// links are the mechanical links between a breaker's poles.
func (g *graph) links() []segment {
	var out []segment
	last := map[*circuit.Part]*unit{}
	for _, u := range g.units {
		if !u.trunk || !u.part.Kind.Guards() && !u.isolates() {
			continue
		}
		if o := last[u.part]; o != nil {
			out = append(out, segment{point{min(o.x, u.x) - 5, u.y}, point{max(o.x, u.x) - 5, u.y}})
		}
		last[u.part] = u
	}
	return out
}
