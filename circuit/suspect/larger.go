package suspect

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// How many pairs are given other sizes, and the share of weight from which.
const resized, worthResizing = 4, 0.005

// resize gives the pairs that lead, each class in turn, every other size that it
// may have: a pair is weighed at usual sizes until then.
func (e *Engine) resize(ctx context.Context) error {
	have := map[setOf]bool{}
	for i := range e.hyps {
		if h := &e.hyps[i]; len(h.classes) == 2 && (h.cells[0] != usual || h.cells[1] != usual) {
			have[newSet(h.classes, h.cells)] = true
		}
	}
	var more []hypothesis
	seeds := 0
	for i, p := range e.posterior() {
		h := &e.hyps[i]
		if p < worthResizing || seeds == resized {
			break // they are sorted
		}
		if len(h.classes) != 2 || h.stays != nil || h.cells[0] != usual || h.cells[1] != usual || len(e.needed(h)) != 2 {
			continue
		}
		seeds++
		for at, k := range h.classes {
			z := e.classes[k].sizes
			for c := range z.cells {
				cells := slices.Clone(h.cells)
				cells[at] = int32(c)
				if len(z.cells[c].corners) == 1 || z.cells[c].holds(z.corners[z.usual][0]) || have[newSet(h.classes, cells)] {
					continue
				}
				other := h.classes[1-at]
				more = append(more, hypothesis{classes: h.classes, cells: cells, logp: math.Log(2 * priorPair * e.classes[k].Prior * z.cells[c].share * e.usually(other))})
			}
		}
	}
	if len(more) == 0 {
		return nil
	}
	return e.join(ctx, more)
}

// join weighs further hypotheses by all that is known and takes them in. One that
// will be let go whatever the rest says of it is weighed no further.
func (e *Engine) join(ctx context.Context, more []hypothesis) error {
	for i, m := range e.mends {
		more = e.mend(more, m, i+1)
	}
	by, gain, best := slices.Clone(e.singles), 0.0, math.Inf(-1)
	slices.SortStableFunc(by, func(a, b *singles) int { return cmp.Compare(b.ev.mostLog(), a.ev.mostLog()) })
	for _, s := range by {
		gain += s.ev.mostLog()
	}
	for i := range e.hyps {
		best = max(best, e.hyps[i].logp)
	}
	var hopeless []hypothesis
	more = slices.DeleteFunc(more, func(h hypothesis) bool {
		was, ok := e.hopeless[newSet(h.classes, h.cells)]
		for i := was.by; ok && i < len(e.singles); i++ {
			was.gain += e.singles[i].ev.mostLog()
		}
		if ok = ok && h.stays == nil && was.logp+was.gain < best+math.Log(keepShare); ok {
			h.logp = was.logp
			hopeless = append(hopeless, h)
		}
		return ok
	})
	for _, s := range by {
		alive := more[:0]
		for _, h := range more {
			if h.logp+gain < best+math.Log(keepShare) {
				hopeless = append(hopeless, h)
				if h.stays == nil && len(h.classes) <= mostInSet {
					e.hopeless[newSet(h.classes, h.cells)] = letGo{h.logp, gain, len(e.singles)}
				}
			} else {
				alive = append(alive, h)
			}
		}
		if more = alive; len(more) == 0 {
			break
		}
		if err := e.weigh(ctx, s, more); err != nil {
			return err
		}
		gain -= s.ev.mostLog()
	}
	e.hyps = append(append(e.hyps, more...), hopeless...)
	e.prune()
	return nil
}

// letGo is what a hypothesis weighed, by some of the evidence, when it was let go:
// the rest of so many pieces could have added so much at most.
type letGo struct {
	logp, gain float64
	by         int
}

// mostInSet is how many classes a [setOf] tells apart; larger ones it does not.
const mostInSet = 3

// setOf is a set of classes with their cells.
type setOf struct {
	n              int
	classes, cells [mostInSet]int32
}

func newSet(classes, cells []int32) setOf {
	s := setOf{n: len(classes)}
	copy(s.classes[:], classes)
	copy(s.cells[:], cells)
	return s
}

// remember keeps what was settled for a piece of evidence, where it may be asked
// again.
func (e *Engine) remember(s *singles, hyps []hypothesis, hard []int, logs []float64) {
	for _, i := range hard {
		of := s.setOf(&hyps[i])
		if of.n > mostInSet || of.n < 3 && len(e.classes) <= mostPaired {
			continue
		}
		if s.settled == nil {
			s.settled = map[setOf]float64{}
		}
		s.settled[of] = logs[i]
	}
}

// setOf is the set of classes that a hypothesis is for a piece of evidence.
func (s *singles) setOf(h *hypothesis) setOf {
	h = h.at(len(s.ev.Mended))
	return newSet(h.classes, h.cells)
}

// prune lets hypotheses go whose weight no longer matters.
func (e *Engine) prune() {
	best := math.Inf(-1)
	for _, h := range e.hyps {
		best = max(best, h.logp)
	}
	order := likeliestOrder(e.hyps)
	total, kept := 0.0, 0.0
	n := 0
	for i, at := range order {
		w := math.Exp(e.hyps[at].logp - best)
		total += w
		if w >= keepShare && i < maxKept {
			kept += w
			n = i + 1
		}
	}
	e.hyps = inOrder(e.hyps, order[:n])
	if total > 0 {
		e.leftOut = 1 - (1-e.leftOut)*kept/total
	}
}

// How many hypotheses larger ones are made of.
const pairSeeds, tripleSeeds = 12, 40

// extend adds hypotheses of one class more, at usual sizes: those of so many
// classes that fit best, each with every other class, at a prior of the set
// before its classes' own.
func (e *Engine) extend(ctx context.Context, from int, prior float64, seeds int) error {
	have := map[setOf]bool{}
	for i := range e.hyps {
		if len(e.hyps[i].classes) > from {
			have[newSet(e.hyps[i].classes, nil)] = true
		}
	}
	asUsual := slices.Repeat([]int32{usual}, from+1)
	var more []hypothesis
	used := map[string]bool{}
	for i := 0; i < len(e.hyps) && len(used) < seeds; i++ {
		h := &e.hyps[i]
		id := numbersKey(h.classes)
		if len(h.classes) != from || used[id] || from == 1 && !e.partial(h) || slices.ContainsFunc(h.classes, func(k int32) bool { return e.classes[k].common }) {
			continue
		}
		used[id] = true
		for k := int32(0); k < int32(len(e.classes)); k++ {
			if e.classes[k].common || slices.ContainsFunc(h.classes, func(m int32) bool { return m == k || e.exclusive(k, m) }) {
				continue
			}
			set := append(slices.Clone(h.classes), k)
			slices.Sort(set)
			id := newSet(set, nil)
			if have[id] {
				continue
			}
			have[id] = true
			p := prior
			for _, c := range set {
				p *= e.usually(c)
			}
			more = append(more, hypothesis{classes: set, cells: asUsual, logp: math.Log(p)})
		}
	}
	return e.join(ctx, more)
}

// partial reports whether a class by itself explains some of what was seen and
// leaves some to another: any other class beside one that explains it all, or
// none, is irrelevant.
func (e *Engine) partial(h *hypothesis) bool {
	return len(e.needed(h)) > 0 && slices.ContainsFunc(e.singles, func(s *singles) bool {
		return h.isGone(0, len(s.ev.Mended)) && s.none < e.errs.misfits() || !h.isGone(0, len(s.ev.Mended)) && s.single(h, 0) < e.errs.misfits()
	})
}
