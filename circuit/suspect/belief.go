package suspect

import (
	"math"
	"slices"

	"legtrace/circuit/meter"
)

// weight is a hypothesis of a table and how much it counts.
type weight struct {
	hyp int32
	p   float64
}

// belief is what is thought possible at a place of a plan: hypotheses with their
// weights, those of one explanation beside each other. The weights are as in the
// table, so that those of all outcomes of a test add up to what they were.
type belief []weight

// all is the belief that a table begins with.
func (tab *table) all() belief {
	all := make([]int, 0, len(tab.ps))
	for i := range tab.ps {
		if tab.hyps[i] != somethingElse {
			all = append(all, i)
		}
	}
	return tab.belief(all)
}

// doubting is all, and that it is something else.
func (tab *table) doubting() belief {
	all := make([]int, len(tab.ps))
	for i := range all {
		all[i] = i
	}
	return tab.belief(all)
}

// belief is that in some of a table's hypotheses.
func (tab *table) belief(hyps []int) belief {
	set := make(belief, len(hyps))
	for i, h := range hyps {
		set[i] = weight{int32(h), tab.ps[h]}
	}
	slices.SortStableFunc(set, func(a, b weight) int { return int(tab.core[a.hyp]) - int(tab.core[b.hyp]) })
	return set
}

func (set belief) total() (sum float64) {
	for _, w := range set {
		sum += w.p
	}
	return sum
}

// outcomes adds, for a hypothesis, what each outcome of a test weighs.
func (tab *table) outcomes(test int, w weight, add func(cell int32, p float64)) {
	shares := tab.spread[test]
	switch {
	case tab.chance[test] != nil:
		shares = tab.chance[test][w.hyp]
	case shares == nil || tab.hyps[w.hyp] != somethingElse:
		add(tab.cell[test][w.hyp], w.p)
		return
	}
	for k, p := range shares {
		if p > 0 {
			add(int32(k), w.p*p)
		}
	}
}

// bits is the information a test's outcome gives about the explanation, what it
// would tell of unrelated faults left out: the entropy of the outcome less what
// of it stays when the explanation is known.
func (tab *table) bits(test int, set belief) float64 {
	n := tab.outcomesOf(test)
	if n < 2 {
		return 0
	}
	slips := tab.slips(test)
	if slips != nil {
		n++
	}
	const few = 16
	var room [2 * few]float64
	sums, total, stays := room[:], 0.0, 0.0
	if n > few {
		sums = make([]float64, 2*n)
	}
	cells, within := sums[:n], sums[n:2*n]
	for i := 0; i < len(set); {
		core := tab.core[set[i].hyp]
		clear(within)
		sum := 0.0
		for ; i < len(set) && tab.core[set[i].hyp] == core; i++ {
			tab.outcomes(test, set[i], func(k int32, p float64) { within[k] += p })
			sum += set[i].p
		}
		total += sum
		if slips != nil {
			within = tab.slipped(within, slips)
		}
		for k, p := range within {
			if p > 0 {
				cells[k] += p
				if p < sum {
					stays -= p * math.Log2(p/sum)
				}
			}
		}
	}
	if total == 0 {
		return 0
	}
	return max(0, entropy(cells, total)-stays/total)
}

// slips tells what a reading that slips shows instead of each of a test's outcomes:
// nothing for a figure, a figure for nothing, by its number, or one more where nobody
// expects that. It is nil of other tests, and where readings seldom slip.
func (tab *table) slips(test int) []int {
	if t := tab.tests[test]; !t.Probing() || tab.e.errs.slip < slipsOften {
		return nil
	}
	all, other := tab.readings[test], len(tab.readings[test])
	if tab.absent != nil {
		all = all[:tab.absent[test]]
	}
	near := func(dead bool) int {
		k := slices.IndexFunc(all, func(r meter.Reading) bool {
			if r.Function.Live() {
				return dead && r.Value < 1
			}
			return r.OL == dead && (dead || r.Value < nought)
		})
		if k < 0 {
			return other
		}
		return k
	}
	dead, some := near(true), near(false)
	out := make([]int, len(all))
	for k, r := range all {
		if out[k] = dead; r.OL {
			out[k] = some
		}
	}
	return out
}

// slipped is what outcomes weigh once some of the readings slip.
func (tab *table) slipped(within []float64, slips []int) []float64 {
	out := slices.Clone(within)
	for k, to := range slips {
		slip := tab.e.errs.slip * within[k]
		out[k] -= slip
		out[to] += slip
	}
	return out
}

// capacity is the share of what a reading could tell that it tells where readings slip
// often, or what is looked for is there on one occasion in two, of a yes or no.
func (e *Engine) capacity() float64 {
	const everySecond = 0.32 // log2(5/4), the capacity of a channel that is silent half of the time
	switch {
	case e.errs.slip >= slipsOften:
		return 1 - entropy([]float64{e.errs.slip, 1 - e.errs.slip}, 1)
	case e.comesAndGoes():
		return everySecond
	}
	return 1
}

// uncertainty is the entropy of the explanation itself.
func (tab *table) uncertainty(set belief) float64 {
	var cores []float64
	total := 0.0
	for i := 0; i < len(set); {
		core, sum := tab.core[set[i].hyp], 0.0
		for ; i < len(set) && tab.core[set[i].hyp] == core; i++ {
			sum += set[i].p
		}
		cores, total = append(cores, sum), total+sum
	}
	return entropy(cores, total)
}

// entropy is that of weights that add up to total, in bits.
func entropy(ps []float64, total float64) float64 {
	out := 0.0
	for _, p := range ps {
		if p > 0 {
			out -= p / total * math.Log2(p/total)
		}
	}
	return out
}

// branch is what is believed after an outcome.
type branch struct {
	cell int32
	set  belief
	p    float64 // its weight
}

// negligible is the share of a belief's weight below which an outcome, or a
// hypothesis after one, is not followed.
const negligible = 1e-6

// split is what each outcome of a test leaves, by its number.
func (tab *table) split(test int, set belief) []branch {
	out := make([]branch, tab.outcomesOf(test))
	for i := range out {
		out[i].cell = int32(i)
	}
	least := negligible * set.total()
	for _, w := range set {
		tab.outcomes(test, w, func(k int32, p float64) {
			if p >= least*1e-3 {
				out[k].set, out[k].p = append(out[k].set, weight{w.hyp, p}), out[k].p+p
			}
		})
	}
	return slices.DeleteFunc(out, func(b branch) bool { return b.p < least })
}

// leading is the share of a belief that one finding holds, and its number: one
// explanation, or those that lie in one part.
func (tab *table) leading(set belief) (share float64, part int32) {
	const few = 64
	var at [few]float64
	sums := at[:0]
	best, total := 0.0, 0.0
	for _, w := range set {
		k := tab.part[w.hyp]
		for len(sums) <= int(k) {
			sums = append(sums, 0)
		}
		if sums[k] += w.p; sums[k] > best {
			best, part = sums[k], k
		}
		total += w.p
	}
	if total == 0 {
		return 1, part
	}
	return best / total, part
}
