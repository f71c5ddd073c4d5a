package schematic

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// Costs of a spot, in steps down the page.
const (
	stretchCost = 0.4
	busCost     = 1.5 // for a bus that is not a rail
	rungCost    = 9   // for a line that the rung crosses
)

// snapshot is how far the placing of bundles has come: what is taken, where the
// lines reach, and the last row.
type snapshot struct {
	occupancy occupancy
	lines     []line
	bottom    int
}

// begin clears the diagram for bundles.
func (rs *rows) begin(bs []*bundle) {
	top := rs.top()
	depth := top + 2
	for _, b := range bs {
		least, most := b.reach()
		depth += most - least + 2
	}
	rs.occupancy.reset(rs.count, depth)
	for _, n := range rs.lines {
		n.spans, n.rungs = false, n.rungs[:0]
		if n.isRail() {
			n.spans, n.y0, n.y1 = true, 0, top*step
		}
	}
	rs.bottom = top
}

// top is the first row below the trunks.
func (rs *rows) top() int { return floorDiv(rs.trunkBottom, step) + 2 }

// put places a bundle where it costs least; one that is low below all others.
func (rs *rows) put(b *bundle, low bool) {
	least, most := b.reach()
	from := rs.top()
	if low {
		from = rs.bottom
	}
	best, bestCost := 0, math.Inf(1)
	for y := rs.occupancy.next(b, from-least); float64(y) < bestCost; y = rs.occupancy.next(b, y+1) {
		if cost := float64(y) + rs.spotCost(b, y, bestCost); cost < bestCost {
			best, bestCost = y, cost
		}
		if y > rs.bottom-least {
			break
		}
	}
	rs.occupancy.take(b, best)
	rs.bottom = max(rs.bottom, most+best)
	b.row = best
	for i, u := range b.units {
		u.y = b.ys[i] + best*step
	}
	for i := range b.taps {
		h := &b.taps[i]
		y := h.y + best*step
		h.line.reach(y)
		h.line.rungs = append(h.line.rungs, rungEnd{h.unit, y, h.pin.side != left})
	}
}

// save notes how far things have come.
func (rs *rows) save(p *snapshot) {
	p.occupancy.words = rs.occupancy.words
	p.occupancy.taken = append(p.occupancy.taken[:0], rs.occupancy.taken...)
	p.lines = p.lines[:0]
	for _, n := range rs.lines {
		p.lines = append(p.lines, *n)
	}
	p.bottom = rs.bottom
}

// restore goes back to what was saved.
func (rs *rows) restore(p *snapshot) {
	copy(rs.occupancy.taken, p.occupancy.taken)
	for i, n := range rs.lines {
		*n = p.lines[i]
	}
	rs.bottom = p.bottom
}

// reach is from where to where a bundle takes up its columns, in steps.
func (b *bundle) reach() (least, most int) {
	least, most = math.MaxInt, math.MinInt
	for _, c := range b.cells {
		least, most = min(least, c.y0), max(most, c.y1)
	}
	return least, most
}

// spotCost counts the lines that a bundle's rungs would cross at y, and how
// far it would stretch the lines it hangs on; where that and y come to enough, it is not
// counted to the end. A line of another bundle that
// would be stretched across these rungs is not seen here: the search for the
// order sees it.
func (rs *rows) spotCost(b *bundle, y int, enough float64) float64 {
	cost := 0.0
	for i := range b.taps {
		if float64(y)+cost >= enough {
			break
		}
		h := &b.taps[i]
		at := h.y + y*step
		for ch := h.low; ch <= h.high && ch < len(rs.byChannel); ch++ {
			for _, n := range rs.byChannel[ch] {
				if n.net != h.line.net && n.spans && n.y0 < at && at < n.y1 {
					cost += rungCost
				}
			}
		}
		if n := h.line; n.spans && !(n.net.rail && n.channel == 0) {
			each := busCost
			if n.net.rail {
				each = stretchCost
			}
			cost += each * float64(max(n.y0-at, 0, at-n.y1)) / step
		}
	}
	return cost
}

// occupancy knows which rows of which columns are taken: a bit for each row.
type occupancy struct {
	words int // for each column
	taken []uint64
}

func (s *occupancy) reset(columns, depth int) {
	s.words = depth/64 + 1
	if n := columns * s.words; n > cap(s.taken) {
		s.taken = make([]uint64, n)
	} else {
		s.taken = s.taken[:n]
		clear(s.taken)
	}
}

// mask is a word with the rows of a cell, y further down, that the word from
// base on holds.
func (c cell) mask(y, base int) uint64 {
	mask := ^uint64(0)
	if from := c.y0 + y - base; from > 0 {
		mask <<= from
	}
	if past := base + 64 - c.y1 - y; past > 0 {
		mask &= ^uint64(0) >> past
	}
	return mask
}

// next is the first row from y on where a bundle fits.
func (s *occupancy) next(b *bundle, y int) int {
	for again := true; again; {
		again = false
		for _, c := range b.cells {
			column := s.taken[c.column*s.words : (c.column+1)*s.words]
			for w := min((c.y1+y-1)>>6, s.words-1); w >= max(c.y0+y, 0)>>6; w-- {
				if hit := column[w] & c.mask(y, w<<6); hit != 0 {
					y, again = w<<6+64-bits.LeadingZeros64(hit)-c.y0, true
					break
				}
			}
		}
	}
	return y
}

func (s *occupancy) take(b *bundle, y int) {
	for _, c := range b.cells {
		for w := max(c.y0+y, 0) >> 6; w <= min((c.y1+y-1)>>6, s.words-1); w++ {
			s.taken[c.column*s.words+w] |= c.mask(y, w<<6)
		}
	}
}

// joined joins cells of a column that touch.
func joined(cells []cell) []cell {
	slices.SortFunc(cells, func(a, b cell) int { return cmp.Or(a.column-b.column, a.y0-b.y0) })
	out := cells[:0]
	for _, c := range cells {
		if n := len(out); n > 0 && out[n-1].column == c.column && c.y0 <= out[n-1].y1 {
			out[n-1].y1 = max(out[n-1].y1, c.y1)
			continue
		}
		out = append(out, c)
	}
	return out
}
