package suspect

import (
	"context"
	"slices"
	"testing"
)

// standing is a place of an exact search: what is left, and how the machine stands.
type standing struct {
	left uint32
	at   setup
}

// least is the least cost, by weight, that any way of testing has, by dynamic
// programming over what is left and what is open: the optimum that looking ahead is
// held against. It stops where looking ahead does.
func (tab *table) least(n *stage, memo map[standing]float64) float64 {
	best, sure := tab.stopping(n.set)
	if sure {
		return best
	}
	key := standing{at: n.at}
	for _, w := range n.set {
		key.left |= 1 << w.hyp
	}
	if v, ok := memo[key]; ok {
		return v
	}
	weight := n.set.total()
	for _, i := range n.tests {
		f := &tab.efforts[i]
		cost := weight * (tab.ground.minutes(f, n.at) + f.price)
		if cost >= best {
			continue
		}
		parts := tab.split(int(i), n.set)
		if len(parts) < 2 {
			continue
		}
		for _, b := range parts {
			cost += tab.least(&stage{b.set, f.after(n.at), n.tests}, memo)
		}
		best = min(best, cost)
	}
	memo[key] = best
	return best
}

// led is the cost, by weight, of choosing so at every place.
func (tab *table) led(t *testing.T, n *stage, ahead bool) float64 {
	best, sure := tab.stopping(n.set)
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
// cut down to its likeliest explanations.
func Ways(t *testing.T, e *Engine, most int) (best, ahead, step float64) {
	t.Helper()
	tab, all, err := e.everything(t.Context(), NewProgress())
	if err != nil {
		t.Fatal(err)
	}
	tab.worth, tab.any = 0, true
	all = slices.DeleteFunc(all, func(w weight) bool { return int(w.hyp) >= most })
	at := tab.ground.setup(NewProgress())
	best = tab.least(tab.stage(all, at), map[standing]float64{})
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
