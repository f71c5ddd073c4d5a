package schematic

import (
	"slices"

	"legtrace/circuit"
)

// measure works out how wide every column is.
func (cs *columns) measure() {
	cs.widths = make([]int, cs.count)
	for _, u := range cs.units {
		if cs.hung(u) {
			continue
		}
		w := 2 * u.halfWidth()
		for _, line := range u.label {
			w = max(w, textWidth(line, partSize))
		}
		w = max(w, textWidth(u.rating, smallSize), u.referenceWidth())
		cs.widths[u.column] = max(cs.widths[u.column], roundUp(w+step, 2*step))
	}
	cs.clear = slices.Clone(cs.widths)
	for _, u := range cs.units {
		if !cs.hung(u) {
			cs.clear[u.column] = min(cs.clear[u.column], floorDiv(cs.widths[u.column]/2-u.halfWidth()-step, step)*step)
		}
	}
}

// listLines sorts the lines of all buses into their channels, and lists the
// wires between two symbols.
func (cs *columns) listLines() {
	cs.lines, cs.ties, cs.byChannel = nil, nil, make([][]*line, cs.count+1)
	cs.passed = make([]bool, cs.count+1)
	add := func(n *line) {
		cs.lines = append(cs.lines, n)
		cs.byChannel[n.channel] = append(cs.byChannel[n.channel], n)
	}
	for _, n := range cs.nets {
		switch {
		case n.bus && n.channel >= 0 && len(n.wires) > 0 && !cs.isEarth(n):
			add(&n.line)
		case !n.bus && len(n.pins) == 2 && !n.pins[0].unit.trunk && !n.pins[1].unit.trunk:
			a, b := n.pins[0].unit.column, n.pins[1].unit.column
			cs.passed[max(a, b)] = cs.passed[max(a, b)] || a != b
		}
	}
	for _, c := range cs.byChannel {
		slices.SortStableFunc(c, func(a, b *line) int { return a.net.layer - b.net.layer })
	}
	pins := map[circuit.TerminalID]netPin{}
	for _, n := range cs.nets {
		for _, p := range n.pins {
			pins[p.terminal()] = p
		}
	}
	for i := range cs.c.Wires() {
		w := cs.c.Wire(circuit.WireID(i))
		n := cs.netOf[w.From]
		if a, b := pins[w.From], pins[w.To]; w.From != n.hub && w.To != n.hub && !a.unit.trunk && !b.unit.trunk {
			cs.ties = append(cs.ties, tie{net: n, a: a, b: b})
		}
	}
}

// spread turns columns and channels into x.
func (rs *rows) spread() {
	columnX := make([]int, rs.count)
	rs.spans = rs.spans[:0]
	x, trunkRight := outerGap, 0
	for ch := 0; ch <= rs.count; ch++ {
		tracks := append(rs.tracks[:0], rs.byChannel[ch]...)
		orderTracks(tracks)
		rs.tracks = tracks
		if ch > 0 {
			x += max(channelAside, (channelLeast/2/step+1)*step-rs.clear[ch-1]) + 2*rs.slack*step
			if rs.passed[ch] && len(tracks) > 0 {
				x += nameRoom
			}
		}
		first := true
		for _, n := range tracks {
			rail := n.isRail()
			if !n.spans && !rail {
				continue
			}
			if !first {
				x += trackPitch
			}
			first = false
			if rail {
				x = max(x, trunkRight)
				trunkRight = roundUp(x+rs.trunkWidths[n.net], step)
			}
			n.x = x
		}
		if ch < rs.count {
			x += max(channelAside, channelLeast/2-rs.clear[ch]) + 2*rs.slack*step
			columnX[ch] = x + rs.widths[ch]/2
			rs.spans = append(rs.spans, [2]int{x + step, x + rs.widths[ch]})
			x += rs.widths[ch]
		}
	}
	for _, u := range rs.units {
		if !u.trunk {
			u.x = columnX[u.column]
		}
	}
	rs.machineRight, rs.trunkRight = x, trunkRight
}

// seatSplices puts each splice where the middle one of its line's rungs meets
// it: no way through it then goes back and forth.
func (rs *rows) seatSplices() {
	for _, n := range rs.lines {
		if n.net.hub == circuit.None || !rs.unitOf[n.net.hub].seated || len(n.rungs) == 0 {
			continue
		}
		var ys []int
		for _, r := range n.rungs {
			ys = append(ys, r.y)
		}
		slices.Sort(ys)
		u := rs.unitOf[n.net.hub]
		u.x, u.y, u.placed = n.x, ys[len(ys)/2], true
	}
}

// orderTracks orders the lines of one channel so that the rungs to their left
// and right cross them least. Rails keep their order.
func orderTracks(ns []*line) {
	for range ns {
		for i := 0; i+1 < len(ns); i++ {
			if !(ns[i].isRail() && ns[i+1].isRail()) && crossings(ns[i+1], ns[i]) < crossings(ns[i], ns[i+1]) {
				ns[i], ns[i+1] = ns[i+1], ns[i]
			}
		}
	}
}

// crossings counts how often the rungs of two lines of a channel cross the
// other line, a standing left of b.
func crossings(a, b *line) int {
	n := 0
	for _, r := range a.rungs {
		if !r.fromLeft && b.y0 < r.y && r.y < b.y1 {
			n++
		}
	}
	for _, r := range b.rungs {
		if r.fromLeft && a.y0 < r.y && r.y < a.y1 {
			n++
		}
	}
	return n
}

// placeTrunks stands every trunk on its rail. The earth's stands outside, and
// so does one whose rail is another's already.
func (rs *rows) placeTrunks() {
	taken := map[*net]bool{}
	for _, t := range rs.trunks {
		x, shared := t.rail.x, taken[t.rail]
		taken[t.rail] = true
		earth := rs.isEarth(t.rail)
		within, room := 0, false
		if earth {
			within, room = rs.earthWithin(t)
		}
		switch {
		case earth && !shared && room:
			x = within
		case earth || shared:
			x = roundUp(max(rs.machineRight+earthGap, rs.trunkRight), step)
			rs.machineRight = x
			rs.trunkRight = x + rs.trunkWidths[t.rail]
		}
		for _, u := range t.units {
			u.x, u.placed = x, true
			u.y = rs.trunkRow[u]*trunkPitch + 2*step
		}
		if shared {
			continue
		}
		end := t.units[len(t.units)-1]
		t.rail.x, t.rail.spans = x, true
		t.rail.y0 = end.at(end.pins[len(end.pins)-1]).y
		if !earth {
			continue
		}
		if t.rail.y1 = rs.trunkBottom + 2*step; room {
			t.rail.y1 = t.rail.y0 + 2*step
		}
		for i, p := range t.rail.machinePins() {
			p.unit.x, p.unit.y, p.unit.placed = x, t.rail.y1+i*6*step, true
		}
	}
}

// earthWithin tells where an earth with nothing but one chassis on it stands in the
// widest gap between two rails, above the rungs, if there is room: less is left
// empty there, and nothing beside the diagram.
func (rs *rows) earthWithin(t trunk) (x int, room bool) {
	pins := t.rail.machinePins()
	if len(pins) != 1 {
		return 0, false
	}
	last := t.units[len(t.units)-1]
	_, below := pins[0].unit.extent()
	if rs.trunkRow[last]*trunkPitch+2*step+last.half+2*step+below > rs.trunkBottom {
		return 0, false
	}
	var rails []*net
	for _, o := range rs.trunks {
		if o.rail != t.rail && !slices.Contains(rails, o.rail) {
			rails = append(rails, o.rail)
		}
	}
	slices.SortFunc(rails, func(a, b *net) int { return a.x - b.x })
	widest := 0
	for i := 1; i < len(rails); i++ {
		from := rails[i-1].x + rs.trunkWidths[rails[i-1]] + 4*step
		if spare := rails[i].x - from - rs.trunkWidths[t.rail]; spare > widest {
			x, widest = roundUp(from+spare/2, step), spare
		}
	}
	return x, widest > 0
}

// measureTrunks works out the room that every rail's trunk takes up with the
// text beside it, to the middle of the next trunk.
func (cs *columns) measureTrunks() {
	cs.trunkWidths = map[*net]int{}
	for _, t := range cs.trunks {
		w := 0
		for _, u := range t.units {
			for _, line := range u.label {
				w = max(w, textWidth(line, partSize))
			}
		}
		cs.trunkWidths[t.rail] = max(cs.trunkWidths[t.rail], w+2*waist+6+step)
	}
}
