package schematic

import (
	"context"
	"encoding/binary"
	"math"
	"slices"
	"sort"
)

// heuristic is a way of making bundles and of stacking them. Which crosses least
// depends on the machine, so all are reckoned.
type heuristic struct {
	loose bool // rungs that share a bus are not kept together
	mixed bool // what touches the neutral need not come first
	like  bool // rungs come in the order of the machine that this one is like
}

func heuristics() []heuristic {
	var out []heuristic
	for i := range 4 {
		out = append(out, heuristic{loose: i&1 > 0, mixed: i&2 > 0})
	}
	return out
}

// stacking is bundles in the order in which they are stacked, and what that was
// reckoned to cost.
type stacking struct {
	heuristic heuristic
	bundles   []*bundle
	// low are bundles that are not put into gaps above others.
	low       []*bundle
	cost      float64
	crossings int
	tooDeep   bool // for the paper
}

// Costs of a drawing, in steps of its height.
const (
	tangleCost   = 60   // for a crossing
	turnCost     = 8    // for a wire that cannot run straight
	tallCost     = 8    // more for each below what fits the paper
	verticalCost = 0.05 // for each step of a line
	// leastGain is what a bundle has to save to leave its place in the order of
	// the netlist.
	leastGain = 15
	// flipCost is for each per cent of the pairs of symbols that stand otherwise
	// than in the machine that this one is a variant of.
	flipCost = 24
)

// searchEffort is how many orders are reckoned in the search, times the number
// of symbols. Beyond manySymbols there are fewer yet, for each takes longer. Past
// unread crossings a symbol, which no order makes a page of that could be read, none
// is looked for.
const (
	searchEffort = 300000
	manySymbols  = 150
	unread       = 15
)

// search makes a stacking by every heuristic and improves it. Earlier heuristics are
// to be preferred where they cross no more: then a machine and its variant are
// drawn by one heuristic.
func (rs *rows) search(ctx context.Context) []stacking {
	var all []stacking
	seen := map[string]bool{}
	ways := heuristics()
	if len(rs.known) > 0 {
		ways = slices.Insert(ways, 0, heuristic{loose: true, mixed: true, like: true})
	}
	for _, m := range ways {
		s := stacking{heuristic: m, bundles: rs.bundles(m)}
		if m.like {
			rs.inOrder(s.bundles)
		}
		rs.estimate(&s)
		if key := rs.key(&s); !seen[key] {
			seen[key] = true
			all = append(all, s)
		}
	}
	effort := searchEffort / max(len(rs.units), len(rs.units)*len(rs.units)/manySymbols) / len(all)
	for i := range all {
		if ctx.Err() != nil {
			break // who called sees to it
		}
		if !rs.hopeless(&all[i]) {
			rs.improve(ctx, &all[i], effort)
		}
	}
	return all
}

func (rs *rows) hopeless(s *stacking) bool { return s.crossings > unread*len(rs.units) }

// inOrder sorts bundles by where the machine that this one is like has them; what
// it has not stays behind what comes before.
func (rs *rows) inOrder(bs []*bundle) {
	row, at := map[*bundle]int{}, 0
	for _, b := range bs {
		least := math.MaxInt
		for _, u := range b.units {
			if y, has := rs.like[u]; has {
				least = min(least, y)
			}
		}
		if least < math.MaxInt {
			at = least
		}
		row[b] = at
	}
	slices.SortStableFunc(bs, func(a, b *bundle) int { return row[a] - row[b] })
}

// flips is the share, in per cent, of the pairs of symbols of which the lower one
// is the upper one in the machine that this one is like.
func (rs *rows) flips() float64 {
	flips := 0
	for i, u := range rs.known {
		for _, o := range rs.known[rs.lower[i]:] {
			flips += btoi(o.y < u.y)
		}
	}
	return 100 * float64(flips) / float64(max(rs.pairs, 1))
}

// key is the same for stackings that put everything in the same place.
func (rs *rows) key(s *stacking) string {
	ys := make([]byte, 4*len(rs.units))
	for _, b := range s.bundles {
		for i, u := range b.units {
			binary.BigEndian.PutUint32(ys[4*u.id:], uint32(b.row*step+b.ys[i]))
		}
	}
	return string(ys)
}

// improve moves bundles to other places in the order as long as that helps,
// those first that have a part in most crossings, each alone, then with all
// that share a bus with it, then with these below all that comes before.
func (rs *rows) improve(ctx context.Context, s *stacking, budget int) {
	for better := true; better && budget > 0; {
		better = false
		rs.estimate(s)
		suspects := slices.Clone(s.bundles)
		sort.SliceStable(suspects, func(i, j int) bool { return suspects[i].tangled > suspects[j].tangled })
		for _, b := range suspects {
			if ctx.Err() != nil {
				return
			}
			all := rs.neighbours(s.bundles, b)
			for _, m := range []struct {
				bundles []*bundle
				low     []*bundle
			}{{[]*bundle{b}, s.low}, {all, s.low}, {all, toggle(s.low, all)}} {
				if moved := rs.tryMove(s, m.bundles, m.low, budget); moved {
					better = true
				}
				budget -= len(s.bundles) - len(m.bundles) + 1
			}
			if budget <= 0 {
				break
			}
		}
	}
}

// tryMove tries bundles at every place among the others and keeps the best.
func (rs *rows) tryMove(s *stacking, move, low []*bundle, budget int) bool {
	rest := slices.DeleteFunc(slices.Clone(s.bundles), func(o *bundle) bool { return slices.Contains(move, o) })
	before := stacking{heuristic: s.heuristic, low: low, cost: s.cost - leastGain}
	at := -1
	rs.begin(s.bundles)
	for to := 0; to <= len(rest) && to < budget; to++ {
		// What comes before stays as it is, place after place.
		rs.save(&rs.snapshot)
		for _, bs := range [][]*bundle{move, rest[to:]} {
			for _, b := range bs {
				rs.put(b, slices.Contains(low, b))
			}
		}
		try := before
		rs.assess(&try, s.bundles, before.cost)
		if try.cost < before.cost {
			before, at = try, to
		}
		rs.restore(&rs.snapshot)
		if to < len(rest) {
			rs.put(rest[to], slices.Contains(low, rest[to]))
		}
	}
	if at < 0 {
		return false
	}
	before.bundles = slices.Insert(rest, at, move...)
	*s = before
	return true
}

// toggle adds bundles to a list, or takes them out if the first is on it.
func toggle(list, bs []*bundle) []*bundle {
	if !slices.Contains(list, bs[0]) {
		return append(slices.Clone(list), bs...)
	}
	return slices.DeleteFunc(slices.Clone(list), func(b *bundle) bool { return slices.Contains(bs, b) })
}

// neighbours lists the bundles that a wire ties to one of them, or that share a bus
// other than a rail with it, in order.
func (rs *rows) neighbours(bs []*bundle, b *bundle) []*bundle {
	tied := map[*unit]bool{}
	for _, t := range rs.ties {
		for _, ends := range [][2]*unit{{t.a.unit, t.b.unit}, {t.b.unit, t.a.unit}} {
			if slices.Contains(b.units, ends[0]) {
				tied[ends[1]] = true
			}
		}
	}
	shared := map[*line]bool{}
	for _, h := range b.taps {
		if !h.line.isRail() {
			shared[h.line] = true
		}
	}
	var out []*bundle
	for _, o := range bs {
		if o == b || slices.ContainsFunc(o.units, func(u *unit) bool { return tied[u] }) || slices.ContainsFunc(o.taps, func(h tap) bool { return shared[h.line] }) {
			out = append(out, o)
		}
	}
	return out
}

// estimate stacks the bundles and works out what the drawing costs.
func (rs *rows) estimate(s *stacking) {
	rs.begin(s.bundles)
	for _, b := range s.bundles {
		rs.put(b, slices.Contains(s.low, b))
	}
	rs.assess(s, s.bundles, math.Inf(1))
}

// assess works out what the drawing costs, bundles and lines being where they
// are, wires taken as they run when nothing is in their way. Once that is as much
// as enough, it goes no further.
func (rs *rows) assess(s *stacking, bs []*bundle, enough float64) {
	rs.machineBottom = rs.bottom * step
	rs.spread()
	rs.placeTrunks()
	rs.seatSplices()
	s.crossings, s.tooDeep = 0, rs.bottom > rs.deepest
	s.cost = float64(rs.bottom) + tallCost*float64(max(0, rs.bottom-rs.deepest)) + verticalCost*float64(rs.uprights())/step + flipCost*rs.flips()
	for i := range rs.ties {
		if t := &rs.ties[i]; !t.straight {
			s.cost += turnCost
		}
	}
	crosses := func(n int) {
		s.crossings += n
		s.cost += float64(tangleCost * n)
	}
	rs.levels = rs.levels[:0]
	for _, b := range bs {
		b.tangled = 0
		for i := range b.taps {
			h := &b.taps[i]
			if !h.line.drawn() {
				continue
			}
			l := level{b.row*step + h.y, h.unit.x, h.line.x, h.line.net.id}
			rs.levels = append(rs.levels, l)
			b.tangled += rs.crossed(l.net, l.y, h.unit.x+h.pin.x, l.x1)
		}
		if crosses(b.tangled); s.cost >= enough {
			return
		}
	}
	for i := range rs.ties {
		if crosses(rs.estimateTie(&rs.ties[i])); s.cost >= enough {
			return
		}
	}
}

// uprights lists the lines that are drawn, begins every tie, and tells how long
// all that is, up and down.
func (rs *rows) uprights() int {
	length := 0
	rs.upright = rs.upright[:0]
	for _, n := range rs.lines {
		if n.spans && n.drawn() {
			length += n.y1 - n.y0
			rs.upright = append(rs.upright, upright{n.x, n.y0, n.y1, n.net.id})
		}
	}
	for i := range rs.ties {
		t := &rs.ties[i]
		t.begin()
		length += abs(t.from.y - t.to.y)
	}
	return length
}

// level is a stretch of a rung, upright one of a line.
type level struct{ y, x0, x1, net int }
type upright struct{ x, y0, y1, net int }

// crossed counts the lines of other nets across a level stretch.
func (rs *rows) crossed(n, y, x0, x1 int) int {
	x0, x1 = min(x0, x1), max(x0, x1)
	count := 0
	for i := range rs.upright {
		if o := &rs.upright[i]; x0 < o.x && o.x < x1 && o.y0 < y && y < o.y1 && o.net != n {
			count++
		}
	}
	return count
}

// begin notes where a tie's ends lie and where it may turn.
func (t *tie) begin() {
	t.from, t.to = t.a.at(), t.b.at()
	away := [2]int{leadOut, leadOut}
	for i, end := range []netPin{t.a, t.b} {
		if end.side() == left {
			away[i] = -leadOut
		}
	}
	t.straight = t.from.y == t.to.y && away[0] != away[1]
	t.turns = [2]int{t.from.x + away[0], t.to.x + away[1]}
	if away[0] == away[1] {
		// The one that reaches further out turns the wire for both.
		if (t.turns[0] > t.turns[1]) == (away[0] > 0) {
			t.turns[1] = t.turns[0]
		} else {
			t.turns[0] = t.turns[1]
		}
	}
	t.turn = t.turns[0]
}

// estimateTie reckons a wire between two symbols: straight, or turning on its way
// where that crosses least.
func (rs *rows) estimateTie(t *tie) (crossings int) {
	n, p, q := t.net.id, t.from, t.to
	if t.straight {
		return rs.crossed(n, p.y, p.x, q.x)
	}
	crossings = -1
	for i, x := range t.turns {
		if i > 0 && x == t.turns[0] {
			break
		}
		c := rs.crossed(n, p.y, p.x, x) + rs.crossed(n, q.y, x, q.x)
		if crossings >= 0 && c >= crossings {
			continue
		}
		if c += rs.rungsAcross(n, x, p.y, q.y); crossings < 0 || c < crossings {
			crossings, t.turn = c, x
		}
	}
	return crossings
}

// leadOut is how far from a pin a wire turns.
const leadOut = 3 * step

// rungsAcross counts what lies level across an upright stretch.
func (rs *rows) rungsAcross(n, x, y0, y1 int) int {
	y0, y1 = min(y0, y1), max(y0, y1)
	count := 0
	for i := range rs.levels {
		if o := &rs.levels[i]; y0 < o.y && o.y < y1 && (o.x0 < x) != (o.x1 < x) && o.net != n {
			count++
		}
	}
	across := func(y, a, b int) {
		if y0 < y && y < y1 && (a < x) != (b < x) {
			count++
		}
	}
	for i := range rs.ties {
		o := &rs.ties[i]
		if o.net.id == n {
			continue
		}
		a, b := o.from, o.to
		if a.y == b.y {
			across(a.y, a.x, b.x)
			continue
		}
		across(a.y, a.x, o.turn)
		across(b.y, o.turn, b.x)
	}
	return count
}
