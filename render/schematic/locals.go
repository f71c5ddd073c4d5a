package schematic

import "sort"

// local is a line of a bus beside a column, which ties together pins that lie
// far from the main line: one rung goes on to it for all of them.
type local struct {
	line
	pins []netPin
	// feeder is the pin whose rung goes on.
	feeder netPin
}

// localLeast is how many columns lie between pins and their main line, at
// least, for them to have a line of their own.
const localLeast = 2

// findLocals groups pins that lie in one column on the same side of it.
func (l *layout) findLocals() {
	type place struct {
		column int
		side   side
	}
	l.localOf = map[netPin]*local{}
	for _, n := range l.nets {
		if !n.bus || n.channel < 0 || l.isEarth(n) {
			continue
		}
		groups := map[place][]netPin{}
		var order []place
		for _, p := range l.machinePins(n) {
			if p.unit.shape == shapeChassis {
				continue
			}
			at := place{p.unit.column, p.side()}
			if groups[at] == nil {
				order = append(order, at)
			}
			groups[at] = append(groups[at], p)
		}
		for _, at := range order {
			channel, apart := at.column+1, n.channel-at.column-1
			if at.side == left {
				channel, apart = at.column, at.column-n.channel
			}
			pins := groups[at]
			if apart < localLeast {
				if pins = l.onBoard(n, pins); apart < 1 {
					continue
				}
			}
			if len(pins) < 2 {
				continue
			}
			g := &local{line: line{net: n, channel: channel}, pins: pins, feeder: pins[0]}
			l.locals = append(l.locals, g)
			for _, p := range pins {
				l.localOf[p] = g
			}
		}
	}
}

// onBoard picks the pins that tracks of a board tie together: links have no
// colour. They belong together however near the main line is.
func (l *layout) onBoard(n *net, pins []netPin) []netPin {
	linked := map[netPin]bool{}
	for _, id := range n.wires {
		w := l.c.Wire(id)
		if w.Colour != "" {
			continue
		}
		for _, a := range pins {
			for _, b := range pins {
				if a.terminal() == w.From && b.terminal() == w.To {
					linked[a], linked[b] = true, true
				}
			}
		}
	}
	var out []netPin
	for _, p := range pins {
		if linked[p] {
			out = append(out, p)
		}
	}
	return out
}

// chooseHeights takes the order from top to bottom that a manner wants.
func (l *layout) chooseHeights(m manner) {
	for _, u := range l.units {
		u.height = u.layered
		if m.listed {
			u.height = float64(u.id)
		}
	}
}

// chooseFeeders lets the uppermost rung of every local line go on to the main
// line, or the lowest.
func (l *layout) chooseFeeders(m manner) {
	l.chooseHeights(m)
	for _, g := range l.locals {
		sort.SliceStable(g.pins, func(i, j int) bool {
			a, b := g.pins[i], g.pins[j]
			if a.unit != b.unit {
				return a.unit.height < b.unit.height
			}
			return a.unit.pins[a.pin].y < b.unit.pins[b.pin].y
		})
		g.feeder = g.pins[0]
		if m.feedLow != m.upsideDown {
			g.feeder = g.pins[len(g.pins)-1]
		}
	}
}
