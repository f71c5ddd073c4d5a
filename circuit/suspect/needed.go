package suspect

import (
	"math"
	"slices"
)

// nearlyAs is by how much, in logs, an explanation may be worse and is nearly as
// good.
const nearlyAs = 0.7

// alone is how well one class of a hypothesis by itself, of the same size,
// explains what a sound machine would not have done.
func (e *Engine) alone(h *hypothesis, at int) float64 {
	sum := 0.0
	for _, s := range e.singles {
		switch {
		case !s.bad():
		case h.isGone(at, len(s.ev.Mended)):
			sum += s.none
		default:
			sum += s.single(h, at)
		}
	}
	return sum
}

// core returns the classes of a hypothesis that are still there and that it
// needs to explain what a sound machine would not have done.
func (e *Engine) core(h *hypothesis) []int32 {
	needed := e.needed(h)
	if h.stays == nil {
		return needed
	}
	return slices.DeleteFunc(slices.Clone(needed), func(k int32) bool { return h.isGone(slices.Index(h.classes, k), len(e.mends)) })
}

// cores are those of all hypotheses, which half a dozen sums over them ask for between
// one piece of evidence and the next.
func (e *Engine) cores() [][]int32 {
	if e.needs == nil {
		e.needs = make([][]int32, len(e.hyps))
		for i := range e.hyps {
			e.needs[i] = e.core(&e.hyps[i])
		}
	}
	return e.needs
}

// needed returns the classes of a hypothesis that it needs to explain what a
// sound machine would not have done: a fault that has nothing to do with it is
// no part of the explanation, and where none has, it is none.
func (e *Engine) needed(h *hypothesis) []int32 {
	const alike = 1e-9 // no better, in logs
	sound, any := 0.0, false
	for _, s := range e.singles {
		if s.bad() {
			sound, any = sound+s.none, true
		}
	}
	if any && sound >= h.bad-nearlyAs {
		return nil
	}
	if len(h.classes) < 2 {
		return h.classes
	}
	one, best := int32(-1), h.bad-nearlyAs
	for at, k := range h.classes {
		// Where several explain it alone the best does, the likelier of like ones.
		switch alone := e.alone(h, at); {
		case alone < h.bad-nearlyAs || one >= 0 && alone < best-alike:
		case one < 0 || alone > best+alike || e.before(k, one):
			one, best = k, alone
		}
	}
	if one >= 0 {
		return []int32{one}
	}
	return h.classes
}

// before tells which of two classes is named where either would do: the likelier
// or, of equally likely ones, the first by name, whatever the order of the file.
func (e *Engine) before(a, b int32) bool {
	p, q := e.classes[a].Prior, e.classes[b].Prior
	if math.Abs(p-q) > 1e-12*(p+q) {
		return p > q
	}
	return e.classes[a].Members[0].Label < e.classes[b].Members[0].Label
}
