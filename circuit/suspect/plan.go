package suspect

import (
	"cmp"
	"context"
	"math"
	"math/bits"
	"slices"
	"sort"

	"legtrace/circuit"
)

// Node is a place in a plan: a test with a way on for every outcome, or, with
// no test, what is left to suspect there.
type Node struct {
	Test *Proposal
	// Next follow the outcomes of the test in order.
	Next []*Node
	// Left are the explanations that no further test tells apart; set on a
	// node with no test.
	Left []Named
	// P is the probability of getting here.
	P float64
}

// Figures sums up what a way of testing costs on average.
type Figures struct {
	// Name says whose way it is.
	Name string
	// Tests, Minutes and LiveTests are expectations.
	Tests, Minutes, LiveTests float64
	// Known is false where a figure could not be worked out.
	Known bool
}

// Plan is a whole decision tree for the evidence so far.
type Plan struct {
	// First is what is done before the tree is begun, where [Engine.Next] begins
	// with a move: what is looked at and listened to has answers that a tree on
	// paper has no room for.
	First *Proposal
	Root  *Node
	// Ours is the tree's own cost, Fixed that of the trade's usual order (supply,
	// element, sensor, fuse, control), which stops where the tree does. The others
	// are for telling apart whatever can be, however unlikely: Whole our way of
	// choosing, Even the same where every test is taken to cost alike, Fewest the
	// fewest tests that any tree needs, by exact search, where that was feasible.
	Ours, Fixed, Whole, Even, Fewest Figures
	// Entropy is that of what the tests can tell apart, in bits; Bound is the
	// least mean number of tests that allows, with tests of Ways outcomes
	// (Shannon's source coding bound).
	Entropy, Bound float64
	Ways           int
}

// maxExact is the number of groups that exact search takes: beyond it the
// subsets are too many.
const maxExact = 15

// Plan makes the decision tree over what is suspected now, faults one at a
// time or together as the engine's order has it. The tree tells explanations
// apart as far as any listed test can.
func (e *Engine) Plan(ctx context.Context, progress *Progress) (*Plan, error) {
	progress = cmp.Or(progress, NewProgress())
	tab, all, err := e.everything(ctx, progress)
	if err != nil {
		return nil, err
	}
	at := tab.ground.setup(progress)
	p, order := &Plan{}, tab.tradeOrder()
	first, err := tab.first(ctx, progress)
	if err != nil {
		return nil, err
	}
	begin := -1
	for _, r := range first {
		if tab.chance[r.test] == nil {
			begin = r.test
			break
		}
	}
	if len(first) > 0 && first[0].test != begin {
		prop := tab.proposal(first[0], tab.doubting())
		p.First = &prop
	}
	if p.Root, err = tab.grow(ctx, tab.metered(all, at), 1, 0, begin); err != nil {
		return nil, err
	}
	p.Ours = p.Root.cost("this plan")
	usual := func(set belief, else_ int) int {
		for _, t := range order {
			if tab.splits(t, set) {
				return t
			}
		}
		return else_
	}
	p.Fixed = tab.walk("the usual order", all, at, func(set belief, at setup) int {
		if r, ok := tab.pick(tab.metered(set, at)); ok {
			return usual(set, r.test)
		}
		return -1
	})
	// What follows is for telling apart whatever can be.
	tab.worth, tab.any = 0, true
	p.Whole = tab.walk("this way, all told apart", all, at, func(set belief, at setup) int {
		if r, ok := tab.pick(tab.metered(set, at)); ok {
			return r.test
		}
		return -1
	})
	p.Even = tab.walk("this way, all tests alike", all, at, func(set belief, _ setup) int {
		most, at := minBits, -1
		for t := range tab.tests {
			if b := tab.bits(t, set); b > most*(1+1e-9) && tab.chance[t] == nil {
				most, at = b, t
			}
		}
		return at
	})
	groups, weights := tab.groups(all)
	p.Entropy = entropy(weights, 1)
	for i := range tab.tests {
		if tab.chance[i] != nil {
			continue // no test of a tree
		}
		p.Ways = max(p.Ways, len(tab.split(i, all)))
	}
	if p.Ways > 1 {
		p.Bound = p.Entropy / math.Log2(float64(p.Ways))
	}
	p.Fewest = tab.fewest(groups, weights)
	return p, nil
}

// first ranks the tests that all advice begins with, moves included: the next test's,
// the plan's and the sheet's.
func (tab *table) first(ctx context.Context, progress *Progress) ([]ranking, error) {
	return tab.ranked(ctx, tab.stage(tab.doubting(), tab.ground.setup(progress)))
}

// cost adds up what a tree takes on average.
func (n *Node) cost(name string) Figures {
	f := Figures{Name: name, Known: true}
	var down func(*Node)
	down = func(n *Node) {
		if n.Test == nil {
			return
		}
		f.Tests += n.P
		f.Minutes += n.P * n.Test.Minutes
		if n.Test.Live && n.Test.Probing() {
			f.LiveTests += n.P
		}
		for _, next := range n.Next {
			down(next)
		}
	}
	down(n)
	return f
}

// metered is a stage with trials and readings alone: what is looked at and listened
// to on the way has answers that a tree on paper has no room for.
func (tab *table) metered(set belief, at setup) *stage {
	n := tab.stage(set, at)
	n.tests = slices.DeleteFunc(n.tests, func(t int32) bool { return tab.chance[t] != nil })
	return n
}

// maxDepth bounds a tree; no visit makes more tests.
const maxDepth = 40

// grow builds the tree below a belief; begin is its first test, where that is among
// those of the stage. On paper it is what is listed: to doubt that has no end.
func (tab *table) grow(ctx context.Context, from *stage, p float64, depth, begin int) (*Node, error) {
	ranked, err := tab.ranked(ctx, from)
	if err != nil {
		return nil, err
	}
	if len(ranked) == 0 || depth == maxDepth {
		return &Node{P: p, Left: tab.names(from.set)}, nil
	}
	r := ranked[max(0, slices.IndexFunc(ranked, func(r ranking) bool { return r.test == begin }))]
	prop := tab.proposal(r, from.set)
	n := &Node{P: p, Test: &prop}
	after := tab.efforts[r.test].after(from.at)
	left := map[int32]belief{}
	for _, b := range tab.split(r.test, from.set) {
		left[b.cell] = b.set
	}
	for _, o := range prop.Outcomes {
		next, err := tab.grow(ctx, &stage{left[o.cell], after, from.tests}, p*o.P, depth+1, -1)
		if err != nil {
			return nil, err
		}
		n.Next = append(n.Next, next)
	}
	return n, nil
}

// walk follows a policy to the end of every outcome and averages the cost.
func (tab *table) walk(name string, all belief, at setup, policy func(belief, setup) int) Figures {
	f := Figures{Name: name, Known: true}
	total := all.total()
	var down func(set belief, at setup, depth int)
	down = func(set belief, at setup, depth int) {
		if depth == maxDepth {
			return
		}
		t := policy(set, at)
		if t < 0 {
			return
		}
		p := set.total() / total
		f.Tests += p
		f.Minutes += p * tab.ground.minutes(&tab.efforts[t], at)
		if tab.tests[t].Live && tab.tests[t].Probing() {
			f.LiveTests += p
		}
		after := tab.efforts[t].after(at)
		for _, b := range tab.split(t, set) {
			down(b.set, after, depth+1)
		}
	}
	down(all, at, 0)
	return f
}

func (tab *table) outcomesOf(test int) int {
	switch t := tab.tests[test]; {
	case t.Trial:
		return len(tab.trials[test])
	case t.Ask != "" && tab.absent != nil:
		return int(tab.absent[test]) + 1
	case t.Ask != "":
		return len(moves[t.Ask].answers)
	}
	return len(tab.readings[test])
}

// splits reports whether a test tells different explanations of a set apart.
func (tab *table) splits(test int, set belief) bool { return tab.bits(test, set) >= minBits }

// groups merges the hypotheses that no test tells apart, or that have the same
// explanation, and weighs them.
func (tab *table) groups(set belief) (members [][]int, weights []float64) {
	index := map[string]int{}
	total := 0.0
	for _, w := range set {
		h := int(w.hyp)
		row := make([]byte, 0, len(tab.tests))
		for t := range tab.tests {
			if tab.chance[t] == nil {
				row = append(row, byte(tab.cell[t][h]))
			}
		}
		at, ok := index[string(row)]
		if !ok {
			at = len(members)
			index[string(row)] = at
			members = append(members, nil)
			weights = append(weights, 0)
		}
		members[at] = append(members[at], h)
		weights[at] += tab.ps[h]
		total += tab.ps[h]
	}
	for i := range weights {
		weights[i] /= total
	}
	return members, weights
}

// fewest finds the least mean number of tests of any tree, over all subsets of
// the groups (the AND/OR search of K. R. Pattipati and M. G. Alexandridis,
// "Application of heuristic search and information theory to sequential fault
// diagnosis", IEEE Trans. SMC 20, 1990, without its heuristics).
func (tab *table) fewest(groups [][]int, weights []float64) Figures {
	f := Figures{Name: "fewest possible"}
	n := len(groups)
	if n > maxExact {
		return f
	}
	// Distinct ways to partition the groups.
	seen := map[string]bool{}
	var parts [][]uint32
	for t := range tab.tests {
		if tab.chance[t] != nil {
			continue
		}
		by := map[int32]uint32{}
		row := make([]byte, n)
		for g, members := range groups {
			cell := tab.cell[t][members[0]]
			by[cell] |= 1 << g
			row[g] = byte(cell)
		}
		if len(by) < 2 || seen[string(row)] {
			continue
		}
		seen[string(row)] = true
		var masks []uint32
		for _, m := range by {
			masks = append(masks, m)
		}
		sort.Slice(masks, func(i, j int) bool { return masks[i] < masks[j] })
		parts = append(parts, masks)
	}
	weight := func(set uint32) float64 {
		w := 0.0
		for s := set; s != 0; s &= s - 1 {
			w += weights[bits.TrailingZeros32(s)]
		}
		return w
	}
	memo := map[uint32]float64{}
	var least func(set uint32) float64
	least = func(set uint32) float64 {
		if bits.OnesCount32(set) < 2 {
			return 0
		}
		if v, ok := memo[set]; ok {
			return v
		}
		best := math.Inf(1)
		own := weight(set)
		for _, masks := range parts {
			cost, split := own, 0
			for _, m := range masks {
				if sub := set & m; sub != 0 {
					split++
					if sub == set {
						break
					}
					cost += least(sub)
				}
			}
			if split > 1 {
				best = min(best, cost)
			}
		}
		if math.IsInf(best, 1) {
			best = 0 // nothing tells these apart
		}
		memo[set] = best
		return best
	}
	f.Tests, f.Known = least(1<<n-1), true
	return f
}

// tradeOrder lists tests as the trade usually takes them (common practice, no
// source): the supply at the terminal block, the element, the sensor, the
// thermal fuse and limits, the control and its relays.
func (tab *table) tradeOrder() []int {
	c := tab.e.c
	class := func(t Test) int {
		if !t.Probing() {
			return -1
		}
		p, q := c.Part(c.Terminal(t.Probes.P).Part), c.Part(c.Terminal(t.Probes.Q).Part)
		switch {
		case p.Kind == circuit.KindTerminalBlock && q.Kind == circuit.KindTerminalBlock && t.Live:
			return 0
		case p.ID != q.ID:
			return -1
		case (p.Kind == circuit.KindElement || p.Kind == circuit.KindSurfaceElement) && !t.Live:
			return 1
		case (p.Kind == circuit.KindSensor || p.Kind == circuit.KindControl) && !t.Live:
			return 2
		case (p.Kind == circuit.KindThermalFuse || p.Kind == circuit.KindLimit || p.Kind == circuit.KindThermostat) && !t.Live:
			return 3
		case p.Kind == circuit.KindControl || p.Kind == circuit.KindRelay || p.Kind == circuit.KindSelector:
			return 4
		}
		return -1
	}
	var order []int
	for want := 0; want <= 4; want++ {
		for i, t := range tab.tests {
			if class(t) == want {
				order = append(order, i)
			}
		}
	}
	return order
}
