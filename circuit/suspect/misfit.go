package suspect

import (
	"math"
	"slices"
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
	if ev.Reading.Jumps {
		return got - ev.mostLog()
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

// slip is the piece of evidence that the best explanation takes for a slip or a
// misjudgement, the worst where it does so for several; -1 when all fits.
func (e *Engine) slip() int {
	h := e.best()
	if h == nil {
		return len(e.evidence) - 1
	}
	at := e.slipUnder(h)
	if at >= 0 && e.fitsSome() {
		return -1
	}
	return at
}

// slipUnder is the piece of evidence that a hypothesis explains worst, of those that it
// takes for a slip; -1 when it explains all.
func (e *Engine) slipUnder(h *hypothesis) int {
	worst, at := e.errs.misfits(), -1
	for i, ev := range e.evidence {
		if ev.Told != nil && slices.Contains(marks, ev.Told.What) {
			continue // it fights nothing: two things may be wrong, or the mark is old
		}
		if r := e.fit(i, h); r < worst {
			worst, at = r, i
		}
	}
	return at
}

// someFit is the weight of explanations of all that was seen from which nobody is told
// that something fits nothing (common practice, no source).
const someFit = 0.1

// fitsSome reports whether explanations of all that was seen have some weight together,
// though each has less than one that takes something for a slip: of two faults at once
// there are many pairs. What comes and goes would explain away any two readings that
// fight, and counts where somebody said that something does.
func (e *Engine) fitsSome() bool {
	fit, slip, coming := 0.0, 0.0, e.comesAndGoes()
	for i, p := range e.posterior() {
		if fit >= someFit || slip > 1-someFit {
			break
		}
		if h := &e.hyps[i]; (coming || !e.comes(h)) && e.slipUnder(h) < 0 {
			fit += p
		} else {
			slip += p
		}
	}
	return fit >= someFit
}

// Fits reports whether something considered explains all that was seen.
func (e *Engine) Fits() bool { return e.slip() < 0 }

// fit is how well a hypothesis explains a piece of evidence, see [relative]; what no
// solve predicts, beside the best that anything on this machine makes of it.
func (e *Engine) fit(i int, h *hypothesis) float64 {
	ev := e.singles[i].ev
	now := h.at(len(ev.Mended))
	if t := ev.Told; t != nil && !t.settles() {
		return math.Log(e.chanceTold(t, now) / e.singles[i].most)
	}
	if len(now.classes) == 1 && ev.Reading != nil && ev.Reading.Jumps {
		log, _ := e.singles[i].known(now) // of what it reads on either occasion
		return log - ev.mostLog()
	}
	ps, err := e.shown(i, h)
	if err != nil {
		return math.Inf(-1)
	}
	fit := e.errs.relative(ev, ps)
	if len(now.classes) == 1 && now.cells[0] != usual && e.inPart(ev, now.classes[0], now.cells[0]) {
		fit = max(fit, e.errs.partly(ev.Symptom, fit))
	}
	return fit
}

// inPart reports whether what is said of a load is of heat that comes part of the time,
// by a class at a cell: a limit opens and closes, as its air is blocked.
func (e *Engine) inPart(ev Evidence, class, cell int32) bool {
	k := &e.classes[class]
	return ev.Symptom != nil && k.sizes.cells[cell].occasion.when == limited && k.Members[0].airless
}

// chanceTold is the chance of being told so under a hypothesis: of each class that of
// its members, as likely as all that was seen leaves them.
func (e *Engine) chanceTold(t *Telling, h *hypothesis) float64 {
	if len(h.classes) == 0 {
		return t.idle(e.c)
	}
	var of []float64
	for _, k := range h.classes {
		cl, sum := &e.classes[k], 0.0
		for at, p := range e.chancesTold(t, int(k)) {
			sum += p * cl.Members[at].Prior / cl.Prior
		}
		of = append(of, sum)
	}
	if t.spares() {
		return slices.Min(of)
	}
	return slices.Max(of)
}

// shown is what a hypothesis makes of a piece of evidence on its occasion: of what
// comes and goes, whichever of the two was likelier met.
func (e *Engine) shown(i int, h *hypothesis) ([]predicted, error) {
	ev := e.singles[i].ev
	now := h.at(len(ev.Mended))
	there, err := e.predicted(e.workers[0], ev, now)
	if err != nil || len(now.cells) != 1 || now.cells[0] == usual {
		return there, err
	}
	cl := &e.classes[now.classes[0]]
	at := cl.sizes.cells[now.cells[0]].occasion
	mode, live := ev.live()
	if !at.nowAndThen(live) && !at.gone(mode, live) {
		return there, nil
	}
	p, err := e.workers[0].predict(ev, cl.Members[0].lasts)
	if gone := []predicted{p}; err != nil || at.gone(mode, live) || e.errs.logLikelihood(ev, gone...) > e.errs.logLikelihood(ev, there...) {
		return gone, err
	}
	return there, nil
}

// best is the likeliest size of the likeliest classes.
func (e *Engine) best() *hypothesis {
	type group struct {
		weight  float64
		leading int
	}
	const surely = 1e-9
	var groups []group
	var key []byte
	index, most, left := map[string]int{}, 0, 1.0
	for i, p := range e.posterior() {
		key = e.hyps[i].key(key[:0])
		at, ok := index[string(key)]
		if left -= p; !ok {
			if len(groups) > 0 && left+p+surely < groups[most].weight {
				continue // all that is left is less than what leads
			}
			at = len(groups)
			index[string(key)], groups = at, append(groups, group{leading: i}) // sorted by weight
		}
		if groups[at].weight += p; groups[at].weight > groups[most].weight {
			most = at
		}
	}
	if len(groups) > 0 {
		return &e.hyps[groups[most].leading]
	}
	return nil
}
