package schematic

import (
	"math"
	"slices"

	"legtrace/circuit"
)

// Distances of the placement, in pixels.
const (
	trunkPitch   = 7 * step // between the symbols of a trunk
	cellGap      = step / 2 // between one symbol's text and the next symbol
	channelLeast = 8 * step
	channelAside = 2 * step // between a column and a line
	trackPitch   = 2 * step
	nameRoom     = 2 * step  // for the name of a wire that crosses a bus
	earthGap     = 11 * step // from the last rail to the earth's, at least
	outerGap     = 6 * step  // from the outermost rail to the edge of the diagram
)

// bundle is a set of symbols on straight rungs, placed as one. Its symbols' and
// rungs' y count from its first row, which lies at row.
type bundle struct {
	units []*unit
	ys    []int // of the units
	class int
	first int // of its symbols, in the order of the netlist
	cells []cell
	taps  []tap
	row   int // in steps
	// tangled counts the crossings that the bundle has a part in.
	tangled int
}

// cell is a stretch of a column that the bundle takes up, in steps.
type cell struct{ column, y0, y1 int }

// tap is a rung's way to the line that it hangs on.
type tap struct {
	line *line
	unit *unit
	pin  pin
	y    int
	// The channels from low to high lie between the symbol and the line.
	low, high int
}

// placeTrunkRows puts the poles of one part on one row, unless two trunks pass
// parts in opposite order.
func (cs *columns) placeTrunkRows() {
	row := map[*circuit.Part]int{}
	cs.trunkRow = map[*unit]int{}
	rows := 0
	for range len(cs.trunks) + 1 {
		for _, t := range cs.trunks {
			at := -1
			for _, u := range t.units {
				at = max(at+1, row[u.part])
				row[u.part] = at
				cs.trunkRow[u] = at
				rows = max(rows, at+1)
			}
		}
	}
	cs.trunkBottom = rows*trunkPitch - step
}

// bundles groups symbols that lie on one line with each other.
func (rs *rows) bundles(m heuristic) []*bundle {
	order := make([]*unit, 0, len(rs.units))
	for _, u := range rs.units {
		if !rs.hung(u) {
			u.placed = false
			order = append(order, u)
		}
	}
	clear(rs.bundleOf)
	var out []*bundle
	for _, u := range order {
		if u.placed {
			continue
		}
		b := &bundle{class: 1, first: math.MaxInt}
		rs.grow(b, u, 0)
		for i := 0; i < len(b.units); i++ {
			for k, p := range b.units[i].pins {
				rs.growAlong(b, netPin{b.units[i], k}, p)
			}
		}
		rs.finish(b)
		out = append(out, b)
	}
	sortBundles(out, m.mixed)
	out = rs.alignFeeders(out)
	if !m.loose {
		out = rs.cluster(out)
	}
	for _, b := range out {
		b.cells = joined(b.cells)
		b.ys = make([]int, len(b.units))
		for i, u := range b.units {
			b.ys[i] = u.y
		}
	}
	return out
}

// growAlong puts what a plain wire leads to on the wire's own line.
func (rs *rows) growAlong(b *bundle, from netPin, p pin) {
	n := rs.netOf[p.terminal]
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
	if !other.unit.placed && ahead && rs.fits(b, other.unit, y, line, from.unit.column) {
		for c := min(from.unit.column, other.unit.column) + 1; c < max(from.unit.column, other.unit.column); c++ {
			b.cells = append(b.cells, lineCell(c, line))
		}
		rs.grow(b, other.unit, y)
	}
}

func (rs *rows) grow(b *bundle, u *unit, y int) {
	u.placed, u.y = true, y
	b.units = append(b.units, u)
	b.cells = append(b.cells, rs.claims(u, y)...)
	b.first = min(b.first, u.id)
	rs.bundleOf[u] = b
	for _, p := range u.pins {
		if on := rs.lineOf(p.terminal); on != nil {
			low, high := between(u, p, on)
			b.taps = append(b.taps, tap{on, u, p, y + p.y, low, high})
		}
	}
}

// lineOf is the line that a terminal's rung leads to, if it has one: that of
// its net, where a wire leads to what the line stands for.
func (g *graph) lineOf(t circuit.TerminalID) *line {
	n := g.netOf[t]
	if !n.bus || n.channel < 0 || n.hub != circuit.None && t != n.hub && !g.wired(t, n.hub) {
		return nil
	}
	return &n.line
}

// wired reports whether a wire leads from one terminal to the other.
func (g *graph) wired(a, b circuit.TerminalID) bool {
	return slices.ContainsFunc(g.c.Terminal(a).Wires, func(id circuit.WireID) bool {
		w := g.c.Wire(id)
		return w.From == b || w.To == b
	})
}

// between tells the first and the last channel that a pin's rung passes on its
// way to a line.
func between(u *unit, p pin, on *line) (low, high int) {
	if p.side == left {
		return on.channel + 1, u.column
	}
	return u.column + 1, on.channel - 1
}

// fits reports whether a symbol at y keeps clear of the bundle's others, and
// the line to it too.
func (rs *rows) fits(b *bundle, u *unit, y, line, from int) bool {
	claims := rs.claims(u, y)
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
func (rs *rows) claims(u *unit, y int) []cell {
	out := []cell{rs.cellOf(u, y)}
	for _, p := range u.pins {
		on := rs.lineOf(p.terminal)
		if on == nil {
			continue
		}
		from, to := u.column+1, on.channel
		if p.side == left {
			from, to = to, u.column
		}
		for c := from; c < to; c++ {
			out = append(out, lineCell(c, y+p.y))
		}
	}
	return out
}

func lineCell(column, y int) cell { return cell{column, floorDiv(y, step) - 2, floorDiv(y, step) + 1} }

func (rs *rows) cellOf(u *unit, y int) cell {
	above, below := u.extent()
	gap := cellGap + rs.slack*step
	return cell{u.column, floorDiv(y-above-gap, step), floorDiv(y+below+gap+step-1, step)}
}

// extent tells how far a symbol with its text reaches above and below its
// first row.
func (u *unit) extent() (above, below int) {
	if u.shape == shapeChassis {
		return step, 3*step + partPitch + 3
	}
	above, below = u.room()
	below += u.depth()
	if u.upright || u.shape == shapeSource {
		above, below = u.half+step, u.half
	}
	above += len(u.label)*partPitch + 2
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

// finish works out a bundle's class.
func (g *graph) finish(b *bundle) {
	for _, u := range b.units {
		for _, p := range u.pins {
			if math.Abs(g.netOf[p.terminal].potential-0.5) < 0.01 && len(g.c.Supply().Legs) == 2 {
				b.class = 0
			}
		}
	}
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b != 0 && (a < 0) != (b < 0) {
		q--
	}
	return q
}

func roundUp(a, b int) int { return -floorDiv(-a, b) * b }
