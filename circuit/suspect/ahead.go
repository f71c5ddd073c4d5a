package suspect

import (
	"context"
	"slices"

	"legtrace/circuit"
)

// WrongPartPrice is what avoiding a wrong part is worth in minutes: its price,
// fitting it, and coming again; of some kinds more, of what is cheap or soon fitted
// less (common practice, no source).
const WrongPartPrice = 90.0

var wrongPart = map[circuit.Kind]float64{
	circuit.KindControl: 150, circuit.KindMotor: 120,
	circuit.KindLamp: 25, circuit.KindFuse: 45, circuit.KindThermalFuse: 60, circuit.KindSensor: 60, circuit.KindSurfaceElement: 60,
}

// set reports whether nothing is wrong but how a part is set.
func (e *Engine) set(core []int32) bool {
	return len(core) == 1 && e.classes[core[0]].Members[0].setting
}

// wrongPrice is that of what a suspect would be mended by.
func (e *Engine) wrongPrice(name string) float64 {
	if id, err := e.c.FindPart(name); err == nil && wrongPart[e.c.Part(id).Kind] > 0 {
		return wrongPart[e.c.Part(id).Kind]
	}
	return WrongPartPrice
}

// How far choosing looks ahead: from so many tests that tell most for their
// cost, and so many that tell most, to the end; at the first outcomes of each, if
// they are of some weight, from so many again.
const (
	aheadByScore, aheadByBits = 6, 2
	thenByScore, thenByBits   = 3, 1
	thenLeast                 = 0.02
	fewLeft                   = 60
	// tooLittle is the share of weight below which an outcome is followed no
	// further: what leads is named there.
	tooLittle = 0.004
)

// lookAhead puts those first that end the search soonest. Each of the most
// promising tests is followed, outcome by outcome, by what tells most for its
// cost, until the cause is named (a rollout of that policy: F. Tu and K. R.
// Pattipati, "Rollout strategies for sequential fault diagnosis", IEEE Trans.
// SMC A 33, 2003): never worse, by what is believed, than the policy itself.
func (tab *table) lookAhead(ctx context.Context, ranked []ranking, from *stage) error {
	more := max(1, fewLeft/max(1, len(from.set)))
	n := tab.promising(ranked, more*aheadByScore, more*aheadByBits)
	if n == 0 {
		return nil
	}
	then := *tab
	then.worth = 0
	for i := range ranked[:n] {
		if err := ctx.Err(); err != nil {
			return err
		}
		ranked[i].ahead = then.making(ranked[i], from, 0, from.set.total()) / from.set.total()
	}
	slices.SortStableFunc(ranked[:n], func(a, b ranking) int { return tab.before(a, b, tab.weighed(a), tab.weighed(b)) })
	return nil
}

// What looking ahead does not see: that the model is not all, so that a bit is worth
// some minutes by itself; and that its minutes are no surer than so, so that a test
// with power on where more than the block is laid open has to save that much. The
// next test may be worked out on the diagram less gladly than one that may come to it;
// more gladly it is made at the part that is suspected most, which it names and proves.
const bitMinutes, liveMargin, nextRoundabout, provesMinutes = 0.75, 1.05, 2.0, 4.0

// weighed is what a test looked ahead from is ranked by.
func (tab *table) weighed(r ranking) float64 {
	cost := r.ahead - bitMinutes*r.bits - provesMinutes*tab.proves[r.test]
	if tab.around[r.test] {
		cost += nextRoundabout
	}
	if t := tab.tests[r.test]; t.Live && t.Probing() && !t.clipped(tab.e.c) {
		cost *= liveMargin
	}
	return cost
}

// promising puts those first that are followed to the end: of tests ranked by
// score, so many of these and so many that tell most.
func (tab *table) promising(ranked []ranking, byScore, byBits int) int {
	n := min(byScore, len(ranked))
	for range byBits {
		most := -1
		for i := n; i < len(ranked); i++ {
			if most < 0 || tab.before(ranked[i], ranked[most], ranked[most].bits, ranked[i].bits) < 0 {
				most = i
			}
		}
		if most < 0 {
			break
		}
		r := ranked[most]
		copy(ranked[n+1:most+1], ranked[n:most])
		ranked[n] = r
		n++
	}
	return n
}

// stage is a place on a way ahead: what is believed there, how the machine stands,
// and the tests that may still tell something.
type stage struct {
	set   belief
	at    setup
	tests []int32
}

func (tab *table) stage(set belief, at setup) *stage {
	n := &stage{set: set, at: at, tests: make([]int32, len(tab.tests))}
	for i := range n.tests {
		n.tests[i] = int32(i)
	}
	return n
}

// making is the cost, by weight, of a test and of what follows it, where all
// there is weighs so much.
func (tab *table) making(r ranking, n *stage, depth int, all float64) float64 {
	cost := n.set.total() * (r.minutes + r.price)
	after := tab.efforts[r.test].after(n.at)
	for _, b := range tab.split(r.test, n.set) {
		cost += tab.follow(&stage{tab.believed(r.test, b), after, n.tests}, depth+1, all)
	}
	return cost
}

// believed is what is believed after an outcome: wrong volts where the supply comes in
// are made by nothing that comes after, and too few amps or too many, but some, are a
// load's own or its feed's, so that nobody thinks of something else any more, as
// [Engine.doubted] has it.
func (tab *table) believed(test int, b branch) belief {
	last, t := int32(len(tab.hyps)-1), tab.tests[test]
	if tab.spread[test] == nil || tab.hyps[last] != somethingElse || b.cell == tab.cell[test][last] {
		return b.set
	}
	if draws := t.clamped() && tab.readings[test][b.cell].Low > 0; !draws && !t.clipped(tab.e.c) {
		return b.set
	}
	out := slices.DeleteFunc(slices.Clone(b.set), func(w weight) bool { return w.hyp == last })
	sum := out.total()
	if sum == 0 {
		return b.set
	}
	for i := range out {
		out[i].p *= b.p / sum
	}
	return out
}

// follow is the cost, by weight, of going on after a first test, or of naming what
// leads where that costs less.
func (tab *table) follow(n *stage, depth int, all float64) float64 {
	best, sure := tab.stopping(n)
	weight := n.set.total()
	if sure || depth >= maxDepth || weight < tooLittle*all {
		return best
	}
	if depth == 1 && weight >= thenLeast*all {
		ranked := tab.rank(n)
		for _, r := range ranked[:tab.promising(ranked, thenByScore, thenByBits)] {
			best = min(best, tab.making(r, n, depth, all))
		}
		return best
	}
	if r, ok := tab.pick(n); ok && weight*(r.minutes+r.price) < best {
		best = min(best, tab.making(r, n, depth, all))
	}
	return best
}

// mendShare is how much of getting at what is named counts: a part may be mended from
// elsewhere than it was read, and what is named be another's end.
const mendShare = 0.6

// stopping is the cost, by weight, of naming what leads: a wrong part by its chance,
// and getting at what is named, which mending it takes anyway and what was opened on
// the way saves. It tells whether that is sure enough to be named.
func (tab *table) stopping(n *stage) (cost float64, sure bool) {
	leads, part := tab.leading(n.set)
	return n.set.total() * ((1-leads)*tab.wrong[part] + mendShare*tab.ground.minutes(&tab.mends[part], n.at)), leads > Sure
}
