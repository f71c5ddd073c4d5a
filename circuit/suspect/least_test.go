package suspect

import (
	"cmp"
	"context"
	"encoding/binary"
	"math"
	"slices"
	"testing"
)

// standing is a place of an exact search: what is left, and how the machine stands,
// as far as it still matters.
type standing struct {
	left uint32
	at   setup
	// shares are how likely each is that is left, where moves tell it by chance.
	shares string
}

// bound is what is known of a standing's least cost, of a belief that weighs one: at
// least low, and that exactly.
type bound struct {
	low   float64
	exact bool
}

// search is an exact search for the cheapest way of testing: depth first, with a
// bound (branch and bound over an AND/OR graph), each standing worked out once.
type search struct {
	*table
	memo map[standing]bound
	// cheapest is what any test takes at least, all being open.
	cheapest float64
	// moves says that some tests tell by chance; standings counts those worked out.
	moves     bool
	standings int
}

// mostStandings is how many an exact search works out before it gives up.
const mostStandings = 30000

// option is a test at a place of the search, with what it leaves.
type option struct {
	test  int32
	parts []branch
	low   float64
}

// least is the least cost, by weight, that any way of testing has where that is below
// a limit, else without end: the optimum that looking ahead is held against.
// It stops where looking ahead does.
func (s *search) least(n *stage, limit float64) float64 {
	best, sure := s.stopping(n)
	if sure {
		return best
	}
	if s.standings++; s.standings > mostStandings {
		return math.NaN()
	}
	total := n.set.total()
	options, asks := s.options(n)
	key := standing{at: n.at}
	key.at.asked &= asks
	var shares []byte
	for _, w := range n.set {
		key.left |= 1 << w.hyp
		if s.moves {
			const fine = 1e8
			shares = binary.LittleEndian.AppendUint32(shares, uint32(math.Round(fine*w.p/total)))
		}
	}
	key.shares = string(shares)
	var places, panels uint64
	for _, w := range n.set {
		panels |= s.mends[s.part[w.hyp]].panels
	}
	for _, o := range options {
		f := &s.efforts[o.test]
		places, panels = places|f.at[0].bit|f.at[1].bit, panels|f.panels
	}
	key.at.places &= places
	key.at.panels &= panels
	known := s.memo[key]
	switch {
	case known.exact:
		return known.low * total
	case known.low*total >= limit:
		return math.Inf(1)
	}
	for i := range options {
		o := &options[i]
		f := &s.efforts[o.test]
		o.low = n.set.total() * (s.ground.minutes(f, n.at) + f.priced(n.at))
		for _, b := range o.parts {
			o.low += s.atLeast(b.set, f.after(n.at))
		}
	}
	slices.SortStableFunc(options, func(a, b option) int { return cmp.Compare(a.low, b.low) })
	for _, o := range options {
		if o.low >= min(best, limit) {
			break
		}
		cost, after := o.low, s.efforts[o.test].after(n.at)
		for _, b := range o.parts {
			low := s.atLeast(b.set, after)
			cost += s.least(&stage{b.set, after, n.tests}, min(best, limit)-cost+low) - low
			if cost >= min(best, limit) {
				break
			}
		}
		best = min(best, cost)
	}
	switch {
	case math.IsNaN(best):
	case best >= limit:
		s.memo[key] = bound{low: limit / total}
		return math.Inf(1)
	default:
		s.memo[key] = bound{best / total, true}
	}
	return best
}

// options are the tests that part a belief, none of them live where power stays off while
// a dead one tells; of those that part it alike only such as
// none other does for less, however the machine stands; and the moves that tell
// anything, made before or not.
func (s *search) options(n *stage) (out []option, asks uint64) {
	alike := map[string][]int{}
	for _, i := range n.tests {
		parts, f := s.split(int(i), n.set), &s.efforts[i]
		if len(parts) < 2 {
			continue
		}
		if s.chance[i] != nil {
			asks |= f.ask
			if f.ask&n.at.asked == 0 && s.bits(int(i), n.set) > nothing {
				out = append(out, option{test: i, parts: parts})
			}
			continue
		}
		key := s.partition(int(i), n.set)
		if slices.ContainsFunc(alike[key], func(k int) bool { return s.efforts[out[k].test].within(f) }) {
			continue
		}
		alike[key] = append(alike[key], len(out))
		out = append(out, option{test: i, parts: parts})
	}
	live := func(o option) bool { return s.tests[o.test].Live }
	if s.stays && slices.ContainsFunc(out, func(o option) bool { return !live(o) }) {
		out = slices.DeleteFunc(out, live)
	}
	return out, asks
}

// partition names the parts of a belief by the order in which they come.
func (s *search) partition(test int, set belief) string {
	number, out := map[int32]byte{}, make([]byte, len(set))
	for i, w := range set {
		k := s.cell[test][w.hyp]
		if _, ok := number[k]; !ok {
			number[k] = byte(len(number))
		}
		out[i] = number[k]
	}
	return string(out)
}

// within reports whether a test takes no more than another wherever the machine stands.
func (f *effort) within(g *effort) bool {
	first := func(f *effort) float64 { return f.at[0].first + f.at[1].first }
	places := f.at[0].bit | f.at[1].bit
	if g.station != 0 && f.station != g.station {
		return false
	}
	return f.live == g.live && f.panels&^g.panels == 0 && places&^(g.at[0].bit|g.at[1].bit) == 0 && f.own+f.price <= g.own+g.price+1e-9 && first(f) <= first(g)+1e-9
}

// atLeast is what going on from a belief costs at least: naming what leads, or one
// test more.
func (s *search) atLeast(set belief, at setup) float64 {
	stop, sure := s.stopping(&stage{set: set, at: at})
	if sure {
		return stop
	}
	return min(stop, set.total()*s.cheapest)
}

// exactly searches a belief.
func (tab *table) exactly(n *stage) float64 {
	s := &search{table: tab, memo: map[standing]bound{}, cheapest: math.Inf(1)}
	for i := range tab.efforts {
		s.moves = s.moves || tab.chance[i] != nil
		f, at := &tab.efforts[i], setup{places: math.MaxUint64, panels: math.MaxUint64}
		at.on, at.station = f.live, f.station
		s.cheapest = min(s.cheapest, tab.ground.minutes(f, at)+f.priced(at))
	}
	return s.least(n, math.Inf(1))
}

// led is the cost, by weight, of choosing so at every place.
func (tab *table) led(t *testing.T, n *stage, ahead bool) float64 {
	best, sure := tab.stopping(n)
	ranked := tab.rank(n)
	if sure || len(ranked) == 0 {
		return best
	}
	if ahead {
		if err := tab.lookAhead(t.Context(), ranked, n); err != nil {
			t.Fatal(err)
		}
		if ranked[0].ahead*n.set.total() >= best {
			return best
		}
	} else if n.set.total()*(ranked[0].minutes+ranked[0].price) >= best {
		return best
	}
	r := ranked[0]
	cost := n.set.total() * (r.minutes + r.price)
	for _, b := range tab.split(r.test, n.set) {
		cost += tab.led(t, &stage{b.set, tab.efforts[r.test].after(n.at), n.tests}, ahead)
	}
	return cost
}

// Ways are the minutes and prices that ways of testing cost on what an engine knows,
// cut down to its likeliest explanations. The best is none where it is too much to work
// out.
func Ways(t *testing.T, e *Engine, most int) (best, ahead, step float64) {
	t.Helper()
	tab, all, err := e.everything(t.Context(), NewProgress())
	if err != nil {
		t.Fatal(err)
	}
	tab.worth, tab.any = 0, true
	all = slices.DeleteFunc(all, func(w weight) bool { return int(w.hyp) >= most })
	if len(all) == 0 {
		return 0, 0, 0 // nothing explains it
	}
	at := tab.ground.setup(NewProgress())
	best = tab.exactly(tab.stage(all, at))
	ahead, step = tab.led(t, tab.stage(all, at), true), tab.led(t, tab.stage(all, at), false)
	total := all.total()
	return best / total, ahead / total, step / total
}

// Usual is the trade's usual order, as far as it tells anything, then the advice.
func Usual(ctx context.Context, e *Engine, progress *Progress) ([]Proposal, error) {
	tab, all, err := e.everything(ctx, progress)
	if err != nil {
		return nil, err
	}
	for _, t := range tab.tradeOrder() {
		if tab.splits(t, all) {
			return []Proposal{tab.proposal(ranking{test: t}, all)}, nil
		}
	}
	return e.Next(ctx, progress, 1)
}

// StepByStep is the advice without a look ahead.
func StepByStep(ctx context.Context, e *Engine, progress *Progress) ([]Proposal, error) {
	tab, _, err := e.everything(ctx, progress)
	if err != nil {
		return nil, err
	}
	n := tab.stage(tab.doubting(), tab.ground.setup(progress))
	if r, ok := tab.pick(n); ok {
		return []Proposal{tab.proposal(r, n.set)}, nil
	}
	return nil, nil
}
