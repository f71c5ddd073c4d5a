package suspect

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// account holds how well each of a number of hypotheses explains each piece of
// evidence, from what was computed when it was added.
type account struct {
	e    *Engine
	hyps []hypothesis // the first is that nothing is wrong; logp is the prior
	logs [][]float64  // by hypothesis and piece
	all  []float64    // their sums, by hypothesis
	// group numbers hypotheses that differ in size alone, from 0 without a gap.
	group  []int
	groups int
	fits   map[[2]int]bool // by hypothesis and piece
	// prior and share are logp and logs as chances, share by piece, each made when
	// it is first asked for; alone is what leads by one piece.
	prior []float64
	share [][]float64
	alone map[int]int
}

// together is how many sets of several faults are reckoned with beside every
// single one: those that lead, of which none does alone.
const together = 12

func (e *Engine) account() *account {
	a := &account{e: e, hyps: e.hypotheses(1), fits: map[[2]int]bool{}, share: make([][]float64, len(e.singles)), alone: map[int]int{}}
	for i, m := range e.mends {
		a.hyps = e.mend(a.hyps, m, i+1)
	}
	for i := range a.hyps {
		logs := make([]float64, len(e.singles))
		for k, s := range e.singles {
			logs[k], _ = s.known(&a.hyps[i]) // of one class it always is
		}
		a.logs = append(a.logs, logs)
	}
	left := together
	for _, h := range e.hyps { // the likeliest first
		if len(h.classes) < 2 || len(e.needed(&h)) < 2 {
			continue
		}
		if left--; left < 0 {
			break
		}
		logs := make([]float64, len(e.singles))
		for k, s := range e.singles {
			var ok bool
			if logs[k], ok = s.known(&h); !ok {
				ps, err := e.predicted(e.workers[0], s.ev, &h)
				if err != nil {
					logs[k] = badAt
					continue
				}
				logs[k] = e.errs.logLikelihood(s.ev, ps...)
			}
			h.logp -= logs[k]
		}
		a.hyps, a.logs = append(a.hyps, h), append(a.logs, logs)
	}
	index := map[string]int{}
	for i := range a.hyps {
		id := a.hyps[i].id()
		if _, ok := index[id]; !ok {
			index[id] = len(index)
		}
		a.group = append(a.group, index[id])
		a.prior, a.all = append(a.prior, math.Exp(a.hyps[i].logp)), append(a.all, floats.Sum(a.logs[i]))
	}
	a.groups = len(index)
	return a
}

// weight is the log weight of a hypothesis by some of the evidence.
func (a *account) weight(h int, pieces []int) float64 {
	sum := a.hyps[h].logp
	for _, k := range pieces {
		sum += a.logs[h][k]
	}
	return sum
}

// leading is the likeliest size of the likeliest hypothesis by some of the
// evidence, and its probability; that nothing is wrong where none of it speaks.
func (a *account) leading(pieces []int) (at int, p float64) {
	if !slices.ContainsFunc(pieces, func(k int) bool { return a.e.singles[k].bad() }) {
		return 0, 1
	}
	first, sums, total := a.grouped(a.weights(pieces))
	best := 0
	for g, sum := range sums {
		if sum > sums[best] {
			best = g
		}
	}
	return first[best], sums[best] / total
}

// grouped sums weights of all hypotheses by what they are but for their sizes, and
// tells the likeliest size of each.
func (a *account) grouped(weights []float64) (first []int, sums []float64, total float64) {
	first, sums = slices.Repeat([]int{-1}, a.groups), make([]float64, a.groups)
	for h, w := range weights {
		g := a.group[h]
		sums[g] += w
		total += w
		if first[g] < 0 || w > weights[first[g]] {
			first[g] = h
		}
	}
	return first, sums, total
}

// fewPieces is how many pieces' chances are multiplied; of more the product may
// be too small for a number, and it is their logarithms that are added.
const fewPieces = 4

// weights are those of all hypotheses by some of the evidence, to one scale.
func (a *account) weights(pieces []int) []float64 {
	if len(pieces) <= fewPieces {
		weights := slices.Clone(a.prior)
		for _, k := range pieces {
			if a.share[k] == nil {
				a.share[k] = make([]float64, len(a.hyps))
				for h := range a.hyps {
					a.share[k][h] = math.Exp(a.logs[h][k])
				}
			}
			floats.Mul(weights, a.share[k])
		}
		return weights
	}
	weights, out := make([]float64, len(a.hyps)), a.but(pieces...)
	for h := range a.hyps {
		if math.IsInf(a.all[h], -1) {
			weights[h] = a.weight(h, pieces)
			continue
		}
		weights[h] = a.hyps[h].logp + a.all[h]
		for _, k := range out {
			weights[h] -= a.logs[h][k]
		}
	}
	most := slices.Max(weights)
	for h, w := range weights {
		weights[h] = math.Exp(w - most)
	}
	return weights
}

// standing is the log weight by all evidence of what a hypothesis stands for:
// itself in any size or, where nothing is wrong, all that explains no more.
func (a *account) standing(h int) float64 {
	all := a.but()
	var bad []int
	for _, k := range all {
		if a.e.singles[k].bad() {
			bad = append(bad, k)
		}
	}
	most := a.weight(0, bad) - a.hyps[0].logp + nearlyAs
	var logs []float64
	for i := range a.hyps {
		if a.group[i] == a.group[h] || h == 0 && a.weight(i, bad)-a.hyps[i].logp <= most {
			logs = append(logs, a.weight(i, all))
		}
	}
	return floats.LogSumExp(logs)
}

// explained tells whether what leads by some of the evidence takes none of it
// for a slip.
func (a *account) explained(pieces []int) (at int, p float64, ok bool) {
	at, p = a.leading(pieces)
	for _, k := range pieces {
		key := [2]int{at, k}
		if _, done := a.fits[key]; !done {
			a.fits[key] = a.e.fit(k, &a.hyps[at]) >= a.e.errs.misfits()
		}
		if !a.fits[key] {
			return at, p, false
		}
	}
	return at, p, true
}

// but lists all pieces except some.
func (a *account) but(some ...int) []int {
	var out []int
	for k := range a.e.singles {
		if !slices.Contains(some, k) {
			out = append(out, k)
		}
	}
	return out
}
