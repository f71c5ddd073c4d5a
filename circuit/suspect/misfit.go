package suspect

import (
	"math"
)

// relative compares the likelihood of an answer with the best that any
// prediction could have given it, so that a wide interval is no misfit.
func (by *errs) relative(ev Evidence, ps []predicted) float64 {
	got := by.logLikelihood(ev, ps...)
	if ev.Told != nil {
		return got - math.Log(ev.Told.most())
	}
	if ev.Reading == nil || ev.Reading.OL || ev.Reading.Unsteady {
		return got
	}
	best := *ev.Reading
	low, high, ok := ends(ps)
	if !ok || low.OL {
		return got
	}
	f := best.Probes.Function
	best.Value = math.Expm1((scaled(f, low.Value)+scaled(f, high.Value))/2) * knee(f)
	return got - by.logLikelihood(Evidence{Reading: &best}, ps...)
}

// misfits is the log likelihood, beside the best that an answer could have, of
// one that is a slip or a misjudgement.
func (by *errs) misfits() float64 { return math.Log(2 * by.misjudge) }

// Misfit names the piece of evidence that the best explanation takes for a slip
// or a misjudgement, the worst where it does so for several. It returns -1 when
// all fits.
func (e *Engine) Misfit() int {
	h := e.best()
	if h == nil {
		return len(e.evidence) - 1
	}
	worst, at := e.errs.misfits(), -1
	for i, ev := range e.evidence {
		ps, err := e.predicted(e.workers[0], ev, h)
		if err != nil {
			return i
		}
		r := e.errs.relative(ev, ps)
		if h := h.at(len(ev.Mended)); len(h.cells) == 1 && h.cells[0] != usual {
			r = e.classes[h.classes[0]].sizes.cells[h.cells[0]].occasion.weigh(ev, r, e.singles[i].none)
		}
		if r < worst {
			worst, at = r, i
		}
	}
	return at
}

// best is the likeliest size of the likeliest classes.
func (e *Engine) best() *hypothesis {
	weights := map[string]float64{}
	leading := map[string]int{}
	var most *hypothesis
	for i, p := range e.posterior() {
		id := e.hyps[i].id()
		if _, ok := leading[id]; !ok {
			leading[id] = i // sorted by weight
		}
		if weights[id] += p; most == nil || weights[id] > weights[most.id()] {
			most = &e.hyps[leading[id]]
		}
	}
	return most
}
