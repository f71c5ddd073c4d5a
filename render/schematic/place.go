package schematic

import (
	"math"
	"sort"

	"legtrace/circuit"
)

// Distances of the placement, in pixels.
const (
	trunkPitch   = 8 * step // between the symbols of a trunk
	cellGap      = step / 2 // between one symbol's text and the next symbol
	channelLeast = 9 * step
	trackPitch   = 2 * step
	earthGap     = 8 * step // from the last rail to the earth's, at least
	outerGap     = 6 * step // from the outermost rail to the edge of the diagram
)

// bundle is a set of symbols on straight rungs, placed as one. While it is
// built its symbols' y count from its first.
type bundle struct {
	units  []*unit
	class  int
	height float64
	cells  []cell
	hangs  []hang
}

// cell is a stretch of a column that the bundle takes up, in steps.
type cell struct{ column, y0, y1 int }

// hang is where a bundle hangs on a bus.
type hang struct {
	net *net
	y   int
	// crosses lists the channels that the rung passes on its way there.
	from, to int
}

// place gives every symbol its spot and every bus its line.
func (l *layout) place() {
	l.placeTrunkRows()
	bundles := l.bundles()
	l.stack(bundles)
	l.spread()
	l.placeTrunks()
}

// placeTrunkRows puts the poles of one part on one row, unless two trunks pass
// parts in opposite order.
func (l *layout) placeTrunkRows() {
	row := map[*circuit.Part]int{}
	l.trunkRow = map[*unit]int{}
	rows := 0
	for range len(l.trunks) + 1 {
		for _, t := range l.trunks {
			at := -1
			for _, u := range t.units {
				at = max(at+1, row[u.part])
				row[u.part] = at
				l.trunkRow[u] = at
				rows = max(rows, at+1)
			}
		}
	}
	l.trunkBottom = rows*trunkPitch - step
}

// bundles groups symbols that lie on one line with each other.
func (l *layout) bundles() []*bundle {
	order := make([]*unit, 0, len(l.units))
	for _, u := range l.units {
		if !u.trunk && !(u.shape == shapeChassis && l.isEarth(l.netOf[u.pins[0].terminal])) {
			order = append(order, u)
		}
	}
	sort.SliceStable(order, func(i, j int) bool { return order[i].height < order[j].height })
	var out []*bundle
	for _, u := range order {
		if u.placed {
			continue
		}
		b := &bundle{class: 1}
		l.grow(b, u, 0)
		for i := 0; i < len(b.units); i++ {
			for k, p := range b.units[i].pins {
				l.growAlong(b, netPin{b.units[i], k}, p)
			}
		}
		l.finish(b)
		out = append(out, b)
	}
	sortBundles(out, l.manner.mixed)
	out = l.alignFeeders(out)
	if l.manner.loose {
		return out
	}
	return l.cluster(out)
}

// growAlong puts what a plain wire leads to on the wire's own line.
func (l *layout) growAlong(b *bundle, from netPin, p pin) {
	n := l.netOf[p.terminal]
	if n.bus || len(n.pins) != 2 {
		return
	}
	other := n.pins[0]
	if other.unit == from.unit {
		other = n.pins[1]
	}
	ahead := p.side == right && other.side() == left && other.unit.column > from.unit.column ||
		p.side == left && other.side() == right && other.unit.column < from.unit.column
	y := from.unit.y + p.y - other.unit.pins[other.pin].y
	line := from.unit.y + p.y
	if !other.unit.placed && ahead && l.fits(b, other.unit, y, line, from.unit.column) {
		for c := min(from.unit.column, other.unit.column) + 1; c < max(from.unit.column, other.unit.column); c++ {
			b.cells = append(b.cells, lineCell(c, line))
		}
		l.grow(b, other.unit, y)
	}
}

func (l *layout) grow(b *bundle, u *unit, y int) {
	u.placed, u.y = true, y
	b.units = append(b.units, u)
	b.cells = append(b.cells, l.claims(u, y)...)
	b.height += u.height
	l.bundleOf[u] = b
	for _, p := range u.pins {
		if n := l.netOf[p.terminal]; n.bus {
			from, to := l.runColumns(u, p, n)
			b.hangs = append(b.hangs, hang{n, y + p.y, from, to})
		}
	}
}

// fits reports whether a symbol at y keeps clear of the bundle's others, and
// the line to it too.
func (l *layout) fits(b *bundle, u *unit, y, line, from int) bool {
	claims := l.claims(u, y)
	for c := min(from, u.column) + 1; c < max(from, u.column); c++ {
		claims = append(claims, lineCell(c, line))
	}
	return !clash(b.cells, claims, 0)
}

// clash reports whether two sets of cells overlap, the second shifted down.
func clash(a, b []cell, shift int) bool {
	for _, c := range b {
		for _, o := range a {
			if o.column == c.column && o.y0 < c.y1+shift && c.y0+shift < o.y1 {
				return true
			}
		}
	}
	return false
}

// claims lists the cells of a symbol and of its rungs to buses.
func (l *layout) claims(u *unit, y int) []cell {
	out := []cell{l.cellOf(u, y)}
	for _, p := range u.pins {
		if n := l.netOf[p.terminal]; n.bus {
			from, to := l.runColumns(u, p, n)
			for c := from; c < to; c++ {
				out = append(out, lineCell(c, y+p.y))
			}
		}
	}
	return out
}

// runColumns are the columns, the last excluded, between a pin and its bus.
func (l *layout) runColumns(u *unit, p pin, n *net) (from, to int) {
	if p.side == left {
		return n.channel, u.column
	}
	return u.column + 1, n.channel
}

func lineCell(column, y int) cell { return cell{column, floorDiv(y, step) - 2, floorDiv(y, step) + 1} }

func (l *layout) cellOf(u *unit, y int) cell {
	above, below := l.extent(u)
	gap := cellGap + l.slack*step
	return cell{u.column, floorDiv(y-above-gap, step), floorDiv(y+below+gap+step-1, step)}
}

// extent tells how far a symbol with its text reaches above and below its
// first row.
func (l *layout) extent(u *unit) (above, below int) {
	if u.shape == shapeChassis {
		return step, 3*step + lineHeight + 3
	}
	above, below = u.room()
	below += u.depth()
	if u.upright || u.shape == shapeSource {
		above, below = u.half+step, u.half
	}
	above += len(u.label)*lineHeight + 2
	if u.shape == shapeBox {
		above, below = above+3, below+3
	}
	if u.rating != "" {
		below += lineHeight
	}
	if len(u.siblings) > 0 {
		below += lineHeight
	}
	return above, below
}

// finish works out a bundle's class and height.
func (l *layout) finish(b *bundle) {
	b.height /= float64(len(b.units))
	for _, u := range b.units {
		for _, p := range u.pins {
			if math.Abs(l.netOf[p.terminal].rise-0.5) < 0.01 && len(l.c.Supply().Legs) == 2 {
				b.class = 0
			}
		}
	}
}

// Costs of a spot, in steps down the page.
const (
	stretchCost = 0.4
	busCost     = 1.5 // for a bus that is not a rail
)

// stack places bundles one after the other, each where it costs least.
func (l *layout) stack(bs []*bundle) {
	taken := make([]map[int]bool, l.columns)
	for i := range taken {
		taken[i] = map[int]bool{}
	}
	top := floorDiv(l.trunkBottom, step) + 2
	bottom := top
	byChannel := make([][]*net, l.columns+1)
	for _, n := range l.nets {
		if n.bus && n.channel >= 0 && !l.isEarth(n) {
			byChannel[n.channel] = append(byChannel[n.channel], n)
			if n.rail {
				n.spans, n.y0, n.y1 = true, 0, top*step
			}
		}
	}
	for _, b := range bs {
		least, most := math.MaxInt, math.MinInt
		for _, c := range b.cells {
			least, most = min(least, c.y0), max(most, c.y1)
		}
		best, bestCost := 0, math.Inf(1)
		for y := top - least; y <= bottom-least+1; y++ {
			if float64(y) >= bestCost {
				break
			}
			if free(taken, b, y) {
				if cost := float64(y) + l.spotCost(byChannel, b, y); cost < bestCost {
					best, bestCost = y, cost
				}
			}
		}
		for _, c := range b.cells {
			for y := c.y0; y < c.y1; y++ {
				taken[c.column][y+best] = true
			}
		}
		bottom = max(bottom, most+best)
		for _, u := range b.units {
			u.y += best * step
		}
		for _, h := range b.hangs {
			if h.net != nil {
				h.net.reach(h.y + best*step)
			}
		}
	}
	l.machineBottom = bottom * step
}

func free(taken []map[int]bool, b *bundle, y int) bool {
	for _, c := range b.cells {
		for at := c.y0; at < c.y1; at++ {
			if taken[c.column][at+y] {
				return false
			}
		}
	}
	return true
}

// reach stretches a bus to y.
func (n *net) reach(y int) {
	if !n.spans {
		n.spans, n.y0, n.y1 = true, y, y
		return
	}
	n.y0, n.y1 = min(n.y0, y), max(n.y1, y)
}

// spotCost counts the buses that a bundle's rungs would cross at y, and how
// far it would stretch the buses it hangs on.
func (l *layout) spotCost(byChannel [][]*net, b *bundle, y int) float64 {
	cost := 0.0
	for _, h := range b.hangs {
		at := h.y + y*step
		for ch := h.from; ch <= h.to && ch < len(byChannel); ch++ {
			for _, n := range byChannel[ch] {
				inside := n != h.net && ch > h.from && ch < h.to
				if inside && n.spans && n.y0 < at && at < n.y1 {
					cost += l.manner.crossing
				}
			}
		}
		if n := h.net; n != nil && n.spans && !(n.rail && n.channel == 0) {
			each := busCost
			if n.rail {
				each = stretchCost
			}
			cost += each * float64(max(n.y0-at, 0, at-n.y1)) / step
		}
	}
	// A bus of another bundle that would be stretched across these rungs is
	// not seen here; the order of the bundles keeps that rare.
	return cost
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b != 0 && (a < 0) != (b < 0) {
		q--
	}
	return q
}

func roundUp(a, b int) int { return -floorDiv(-a, b) * b }
