package schematic

// spread turns columns and channels into x.
func (l *layout) spread() {
	width := make([]int, l.columns)
	for _, u := range l.units {
		if u.trunk || u.shape == shapeChassis && l.isEarth(l.netOf[u.pins[0].terminal]) {
			continue
		}
		w := 2 * u.halfWidth()
		for _, line := range u.label {
			w = max(w, textWidth(line, labelSize))
		}
		w = max(w, textWidth(u.rating, smallSize), u.referenceWidth())
		width[u.column] = max(width[u.column], roundUp(w+step, 2*step))
	}
	tracks := make([][]*net, l.columns+1)
	for _, n := range l.nets {
		if n.bus && !l.isEarth(n) && n.channel >= 0 && (n.spans || n.rail) {
			tracks[n.channel] = append(tracks[n.channel], n)
		}
	}
	x, trunkRight := outerGap, 0
	for ch := 0; ch <= l.columns; ch++ {
		l.orderTracks(tracks[ch])
		start := x
		if ch > 0 {
			start += (channelLeast/2/step + 1 + 2*l.slack) * step
		}
		x = start
		for i, n := range tracks[ch] {
			if i > 0 {
				x += trackPitch
			}
			if n.rail {
				x = max(x, trunkRight)
				trunkRight = roundUp(x+l.trunkWidth(n), step)
			}
			n.x = x
		}
		if ch < l.columns {
			x += (channelLeast/2/step + 2*l.slack) * step
			for _, u := range l.units {
				if !u.trunk && u.column == ch {
					u.x = x + width[ch]/2
				}
			}
			l.columnSpans = append(l.columnSpans, [2]int{x + step, x + width[ch]})
			x += width[ch]
		}
	}
	l.machineRight, l.trunkRight = x, trunkRight
}

// orderTracks orders the buses of one channel so that the rungs to their left
// and right cross them least.
func (l *layout) orderTracks(ns []*net) {
	cross := func(a, b *net) int { // a left of b
		n := 0
		for _, p := range l.machinePins(a) {
			if y := p.at().y; p.side() == left && b.y0 < y && y < b.y1 {
				n++
			}
		}
		for _, p := range l.machinePins(b) {
			if y := p.at().y; p.side() != left && a.y0 < y && y < a.y1 {
				n++
			}
		}
		return n
	}
	for range ns {
		for i := 0; i+1 < len(ns); i++ {
			if cross(ns[i+1], ns[i]) < cross(ns[i], ns[i+1]) {
				ns[i], ns[i+1] = ns[i+1], ns[i]
			}
		}
	}
}

// placeTrunks stands every trunk on its rail. The earth's stands outside, and
// so does one whose rail is another's already.
func (l *layout) placeTrunks() {
	taken := map[*net]bool{}
	for _, t := range l.trunks {
		x, shared := t.rail.x, taken[t.rail]
		taken[t.rail] = true
		if l.isEarth(t.rail) || shared {
			x = roundUp(max(l.machineRight+earthGap, l.trunkRight), step)
			l.machineRight = x
			l.trunkRight = x + l.trunkWidth(t.rail)
		}
		for _, u := range t.units {
			u.x, u.placed = x, true
			u.y = l.trunkRow[u]*trunkPitch + 2*step
		}
		if shared {
			continue
		}
		end := t.units[len(t.units)-1]
		t.rail.x, t.rail.spans = x, true
		t.rail.y0 = end.at(end.pins[len(end.pins)-1]).y
		if !l.isEarth(t.rail) {
			continue
		}
		t.rail.y1 = l.trunkBottom + 2*step
		for i, p := range l.machinePins(t.rail) {
			p.unit.x, p.unit.y, p.unit.placed = x, t.rail.y1+i*6*step, true
		}
	}
}

// trunkWidth is the room that a rail's trunk takes up with the text beside it,
// to the middle of the next trunk.
func (l *layout) trunkWidth(rail *net) int {
	w := 0
	for _, t := range l.trunks {
		if t.rail == rail {
			for _, u := range t.units {
				for _, line := range u.label {
					w = max(w, textWidth(line, labelSize))
				}
			}
		}
	}
	return w + 2*waist + 6 + step
}
