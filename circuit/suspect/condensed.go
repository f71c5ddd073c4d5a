package suspect

import (
	"cmp"
	"math"
	"slices"
	"strings"
)

// representative is a hypothesis that stands for those of the same classes and like
// sizes, with their weight.
type representative struct {
	hyp int
	p   float64
	// away tells for which tests it is not there.
	away goneFor
}

// condensed takes the sizes of the same classes together, in at most three
// groups of nearly equal weight, each for its likeliest: what a test would read
// under every size on its own is no use to whoever chooses among tests.
func (e *Engine) condensed() []representative {
	const groups, worthSplitting = 3, 0.02
	ps := e.posterior()
	index, group := map[string]int32{}, make([]int32, len(e.hyps))
	var key []byte
	var ends []int32 // of each group's members, where they stand one after the other
	for i := range e.hyps {
		if key = e.hyps[i].key(key[:0]); e.goesAway(&e.hyps[i]) {
			key = append(key, 1)
		}
		at, ok := index[string(key)]
		if !ok {
			at = int32(len(ends))
			index[string(key)], ends = at, append(ends, 0)
		}
		group[i] = at
		ends[at]++
	}
	starts, all := make([]int32, len(ends)), make([]int, len(e.hyps))
	for k := range ends[:max(len(ends)-1, 0)] {
		starts[k+1] = starts[k] + ends[k]
	}
	copy(ends, starts)
	for i, k := range group {
		all[ends[k]] = i
		ends[k]++
	}
	var out []representative
	for k, end := range ends {
		members, total := all[starts[k]:end], 0.0
		for _, i := range members {
			total += ps[i]
		}
		if len(members) > 1 {
			slices.SortFunc(members, func(a, b int) int { return slices.Compare(e.hyps[a].cells, e.hyps[b].cells) })
		}
		n := 1
		if total >= worthSplitting {
			n = groups
		}
		now, sum := representative{hyp: -1}, 0.0
		for _, i := range members {
			if now.hyp < 0 || ps[i] > ps[now.hyp] {
				now.hyp = i
			}
			now.p, sum = now.p+ps[i], sum+ps[i]
			if sum*float64(n) >= total*(1-1e-9) || now.p*float64(n) >= total {
				out = append(out, e.byOccasion(now)...)
				now = representative{hyp: -1}
			}
		}
		if now.hyp >= 0 {
			out = append(out, e.byOccasion(now)...)
		}
	}
	// Equally likely ones by name, so that the order of the file is nothing to it.
	slices.SortStableFunc(out, func(a, b representative) int {
		const faintest = 1e-6
		p, q := math.Round(a.p*1e12), math.Round(b.p*1e12)
		if p != q || p < faintest*1e12 {
			return cmp.Compare(q, p)
		}
		return strings.Compare(e.label(e.hyps[a.hyp].classes), e.label(e.hyps[b.hyp].classes))
	})
	return out
}
