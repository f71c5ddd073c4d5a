package suspect

import (
	"context"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"legtrace/circuit"
)

// singles is one piece of evidence weighed under no fault and every single
// class, and what that tells about sets of them.
type singles struct {
	ev   Evidence
	none float64
	// most is the largest chance of something told that anything considered gives it.
	most float64
	// logs are by class and cell; usual by class, of the usual size.
	logs  [][]float64
	usual []float64
	// there[i] is that of class i where it comes and goes, while it is there.
	there []float64
	// gone is that of class i while it is not there; none but for one of which
	// something lasts.
	gone []float64
	// with is what was seen before on the same occasion.
	with []*singles
	// corners are by class and corner of its sizes; even tells by class and cell
	// that a reading goes evenly from corner to corner, and they say nothing.
	corners [][]float64
	even    [][]bool
	// idle[i][j] tells that class j changes nothing once class i is present:
	// nil where that is not known.
	idle [][]bool
	// settled are what sets of classes weigh that were settled for it, where not
	// all sets are hypotheses: those let go come again with the next piece.
	settled map[setOf]float64
}

// badAt is the log likelihood below which a sound machine does not explain a
// piece of evidence.
const badAt = -1.2

// Speaks reports whether the piece of evidence at a place is something that a
// sound machine would not have shown.
func (e *Engine) Speaks(at int) bool { return e.singles[at].bad() }

// Uncomplained reports whether all that is known is that something works, reads as it
// should, is new or is of what is mechanical: then no fault is told that a test could
// be made for, and nothing points to any part. What was read wrong or heard of a trip
// or the like is something to go by.
func (e *Engine) Uncomplained() bool {
	works := func(s *Symptom) bool {
		return s.Whole == Quiet || s.Whole == 0 && s.State == circuit.Normal && !s.Trips && !s.Chatters
	}
	for at, ev := range e.evidence {
		switch {
		case e.Speaks(at):
			return false
		case ev.Reading != nil:
		case ev.Told != nil:
			if t := tales[ev.Told.What]; t.sound <= t.base && !slices.Contains(pointsNowhere, ev.Told.What) && !t.partsNothing() {
				return false
			}
		case ev.Symptom.Whole == AnyOf && !slices.ContainsFunc(ev.Symptom.Of, func(s Symptom) bool { return !works(&s) }):
		case !works(ev.Symptom):
			return false
		}
	}
	return len(e.evidence) > 0
}

// pointsNowhere are the tellings that clear a part and say nothing of any other.
var pointsNowhere = []string{"replaced", "no_help", "found_good", "looks_good", "air_clear", "belt_on"}

func (s *singles) bad() bool { return s.none < badAt && !s.ev.Hearsay() }

// weighSingles weighs a piece of evidence under every single class and size.
func (e *Engine) weighSingles(ctx context.Context, ev Evidence) (*singles, error) {
	if ev.Told != nil && !ev.Told.settles() {
		return e.weighTold(ev), nil
	}
	if of := ev.Symptom.meanings(); of != nil {
		return e.weighAny(ctx, ev, of)
	}
	if ev.Symptom != nil {
		s := *ev.Symptom
		s.coded = s.Whole == Quiet && e.heard(toldCodes...)
		s.tripped = s.Whole == Quiet && (e.trips() || e.heard(toldTrips...))
		s.slowIn = e.slowIn(&s)
		s.until = s.State == circuit.Normal && e.heard(toldCodes...)
		s.lit = s.State == circuit.Normal && s.Load != circuit.None && kindOf(e.c, s.Load).Heats() && e.lacks(s.Mode)
		s.pushed = s.Whole == 0 && s.Load != circuit.None && e.helped()
		ev.Symptom = &s
	}
	n := len(e.classes)
	s := &singles{ev: ev, logs: make([][]float64, n), usual: make([]float64, n)}
	p, err := e.workers[0].predict(ev, nil)
	if err != nil {
		return nil, err
	}
	s.none = e.errs.logLikelihood(ev, p)
	if mode, live := ev.live(); live && e.opt.Order > 1 && !ev.Symptom.heats() && !ev.Hearsay() {
		if s.idle, err = e.idleIn(ctx, e.at(mode), func(int32) bool { return n <= mostPaired }); err != nil {
			return nil, err
		}
	}
	s.with = e.seenWith(ev)
	_, isLive := ev.live()
	s.there, s.gone = make([]float64, n), slices.Repeat([]float64{s.none}, n)
	s.corners, s.even = make([][]float64, n), make([][]bool, n)
	q := e.distinct(ev)
	ask, at := q.ask, q.at
	looks, err := e.looksAt(ctx, q, ev)
	if err != nil {
		return nil, err
	}
	answers, logs := make([]predicted, len(ask)), make([]float64, len(ask))
	err = e.each(ctx, len(ask), func(w *worker, i int) (err error) {
		switch {
		case looks == nil:
			answers[i], err = w.predict(ev, ask[i])
		case looks[i] == looks[q.none()]:
			answers[i], logs[i] = p, s.none
			return nil
		default:
			answers[i], err = w.shows(ev.Symptom, looks[i], ask[i])
		}
		logs[i] = e.errs.logLikelihood(ev, answers[i])
		return err
	})
	if err != nil {
		return nil, err
	}
	return s, e.each(ctx, n, func(w *worker, i int) error {
		z := e.classes[i].sizes
		if lasts := e.classes[i].Members[0].lasts; lasts != nil {
			p, err := w.predict(ev, lasts)
			if err != nil {
				return err
			}
			s.gone[i] = e.errs.logLikelihood(ev, p)
		}
		s.usual[i] = logs[at[i][z.usual]]
		s.logs[i] = make([]float64, len(z.cells))
		s.corners[i], s.even[i] = make([]float64, len(z.corners)), make([]bool, len(z.cells))
		for k := range z.corners {
			s.corners[i][k] = logs[at[i][k]]
		}
		ps := make([]predicted, 0, 4)
		for k := range z.cells {
			ps = ps[:0]
			for _, corner := range z.cells[k].corners {
				ps = append(ps, answers[at[i][corner]])
			}
			if ev.Reading != nil && len(ps) > 1 {
				_, _, s.even[i][k] = ends(ps)
			}
			there := 0.0
			switch {
			case len(ps) == 1:
				there = s.corners[i][z.cells[k].corners[0]]
			case s.even[i][k]:
				there = e.errs.logLikelihood(ev, ps...)
			default:
				there = e.among(i, k, s.corners[i])
			}
			if ev.Reading != nil && ev.Reading.Jumps {
				s.logs[i][k] = e.errs.jumps(e.c, ev.Reading, e.classes[i].Members[0].Faults[0], z.cells[k].occasion.nowAndThen(isLive), ps, p)
				continue
			}
			// What nobody told of in all that time does not come and go.
			if o := z.cells[k].occasion; o.nowAndThen(isLive) && !(ev.Hearsay() && o.when == comesAndGoes) {
				if there > s.none && e.inPart(ev, int32(i), int32(k)) {
					there = e.errs.partly(ev.Symptom, there)
				}
				s.there[i] = there
				s.logs[i][k] = nowAndThen(s.with, i, there, s.gone[i])
				continue
			}
			s.logs[i][k] = z.cells[k].occasion.weigh(ev, there, s.gone[i])
		}
		return nil
	})
}

// slowIn are the modes in which heat was said to take too long, before a symptom
// that says so too.
func (e *Engine) slowIn(s *Symptom) (out []circuit.ModeID) {
	for _, ev := range e.evidence {
		if was := ev.Symptom; s.Whole == Slow && was != nil && was.Whole == Slow && e.since(ev) && !slices.Contains(out, was.Mode) {
			out = append(out, was.Mode)
		}
	}
	return out
}

// lacks reports whether a mode was said to take too long, or not to get as hot as set.
func (e *Engine) lacks(mode circuit.ModeID) bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		was := ev.Symptom
		return was != nil && (was.Whole == Slow || was.Whole == RunsCold) && was.Mode == mode && e.since(ev)
	})
}

// helped reports whether a motor was said to turn once it is pushed.
func (e *Engine) helped() bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool { return ev.Symptom != nil && ev.Symptom.Whole == Pushed && e.since(ev) })
}

// among is the log likelihood of evidence for a fault that is at one of a cell's
// corners, from what was seen before: a fault of one size does not kill a load now
// and leave it alone then.
func (e *Engine) among(class, cell int, now []float64) float64 {
	corners := e.classes[class].sizes.cells[cell].corners
	var before, after [4]float64
	if e.corners != nil {
		before = e.corners[class][cell]
	}
	for i, at := range corners {
		after[i] = before[i] + now[at]
	}
	n := len(corners)
	return floats.LogSumExp(after[:n]) - floats.LogSumExp(before[:n])
}

// weighAny weighs each meaning of a symptom, as [Symptom.any] has it.
func (e *Engine) weighAny(ctx context.Context, ev Evidence, meanings []Symptom) (*singles, error) {
	var of []*singles
	for i := range meanings {
		s, err := e.weighSingles(ctx, Evidence{Symptom: &meanings[i], Mended: ev.Mended})
		if err != nil {
			return nil, err
		}
		of = append(of, s)
	}
	chances := make([]float64, len(of))
	mean := func(figure func(*singles) float64) float64 {
		for i, s := range of {
			chances[i] = math.Exp(figure(s))
		}
		return math.Log(ev.Symptom.any(chances))
	}
	all := &singles{ev: ev, none: mean(func(s *singles) float64 { return s.none })}
	for k := range e.classes {
		least := math.Inf(-1)
		if ev.Symptom.Either() && e.stirs(e.classes[k].Members[0].Faults) {
			least = math.Log(unevenTold)
		}
		all.usual = append(all.usual, max(least, mean(func(s *singles) float64 { return s.usual[k] })))
		cells := make([]float64, len(of[0].logs[k]))
		for j := range cells {
			cells[j] = max(least, mean(func(s *singles) float64 { return s.logs[k][j] }))
		}
		all.logs = append(all.logs, cells)
	}
	return all, nil
}

// weigh is the log likelihood of evidence on an occasion, from those with the
// fault there and gone.
func (o occasion) weigh(ev Evidence, there, gone float64) float64 {
	hearsay := ev.Told != nil && !ev.Told.settles() // of whatever occasion
	if mode, live := ev.live(); !hearsay && o.gone(mode, live) {
		return gone
	}
	return there
}

// seenTogether is the log likelihood of what was seen on one occasion where a class was
// there, and where it was gone.
func seenTogether(same []*singles, class int) (there, gone float64) {
	for _, s := range same {
		there, gone = there+s.there[class], gone+s.gone[class]
	}
	return there, gone
}

// nowAndThen is the log likelihood of evidence where a class comes and goes, given
// what else was seen on the same occasion: then it was there for all of it, or for
// none.
func nowAndThen(same []*singles, class int, there, gone float64) float64 {
	a, b := seenTogether(same, class)
	return floats.LogSumExp([]float64{a + there, b + gone}) - floats.LogSumExp([]float64{a, b})
}

// nowAndThen tells of a fault that may be there or not for what is seen.
func (o occasion) nowAndThen(live bool) bool {
	return o.when == comesAndGoes || o.when == limited && live
}

// gone tells that a fault is not there for what is seen in a mode, with the
// supply on or removed.
func (o occasion) gone(mode circuit.ModeID, live bool) bool {
	return (o.when == whenHot || o.when == limited) && !live || o.when == inMode && mode != o.mode ||
		o.when == whileHeated && live && mode != circuit.None && o.heat>>mode&1 == 0
}

// live tells the mode of what is seen with the supply on.
func (ev Evidence) live() (circuit.ModeID, bool) {
	switch {
	case ev.Told != nil && ev.Told.settles():
		return ev.Told.ask.Mode, true
	case ev.Told != nil:
		return circuit.None, false
	case ev.Symptom != nil:
		return ev.Symptom.Mode, true
	}
	return ev.Reading.Mode, ev.Reading.Probes.Function.Live()
}

// at is a mode; Off for what was seen whatever the mode, where it matters most.
func (e *Engine) at(mode circuit.ModeID) circuit.ModeID {
	if mode == circuit.None {
		return e.c.OffMode()
	}
	return mode
}

// weigh adds a piece of evidence to hypotheses. A set in which some class is
// idle once the others are present weighs as those others do; only the rest
// are settled.
func (e *Engine) weigh(ctx context.Context, s *singles, hyps []hypothesis) error {
	if s.idle != nil && len(e.classes) > mostPaired {
		mode, _ := s.ev.live()
		if _, err := e.idleIn(ctx, e.at(mode), e.oftenIn(hyps)); err != nil {
			return err
		}
	}
	logs := make([]float64, len(hyps))
	var hard []int
	for i := range hyps {
		var ok bool
		if logs[i], ok = s.known(&hyps[i]); ok {
			continue
		}
		if logs[i], ok = s.settled[s.setOf(&hyps[i])]; !ok {
			hard = append(hard, i)
		}
	}
	done, err := e.tabulatePairs(ctx, s, hyps, hard)
	defer done()
	if err != nil {
		return err
	}
	err = e.each(ctx, len(hard), func(w *worker, k int) error {
		ps, err := e.predicted(w, s.ev, &hyps[hard[k]])
		if err != nil {
			return err
		}
		logs[hard[k]] = e.errs.logLikelihood(s.ev, ps...)
		return nil
	})
	if err != nil {
		return err
	}
	e.remember(s, hyps, hard, logs)
	for i := range hyps {
		hyps[i].logp += logs[i]
		if s.bad() {
			hyps[i].bad += logs[i]
		}
	}
	return nil
}

// predicted is what the corners of a hypothesis make of an evidence's question; it holds
// until the worker's next.
func (e *Engine) predicted(w *worker, ev Evidence, h *hypothesis) ([]predicted, error) {
	out := w.predictions[:0]
	for _, faults := range e.cornersOf(h.at(len(ev.Mended))) {
		p, err := w.predict(ev, faults)
		if err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	w.predictions = out
	return out, nil
}

func (s *singles) known(h *hypothesis) (float64, bool) {
	h = h.at(len(s.ev.Mended))
	if s.ev.Told != nil && !s.ev.Told.settles() || s.ev.Symptom.heats() {
		return s.toldOf(h), true
	}
	switch len(h.classes) {
	case 0:
		return s.none, true
	case 1:
		return s.single(h, 0), true
	}
	if s.ev.Hearsay() {
		// What dims others dims them beside another fault too.
		least := math.Inf(1)
		for at := range h.classes {
			least = min(least, s.single(h, at))
		}
		return least, true
	}
	if s.idle == nil || len(h.classes) != 2 {
		return 0, false
	}
	i, j := h.classes[0], h.classes[1]
	switch {
	case s.idle[i] != nil && s.idle[i][j]:
		return s.single(h, 0), true
	case s.idle[j] != nil && s.idle[j][i]:
		return s.single(h, 1), true
	}
	return 0, false
}

// single is the weight of one class of a hypothesis alone, of the same size.
func (s *singles) single(h *hypothesis, at int) float64 {
	if h.cells[at] == usual {
		return s.usual[h.classes[at]]
	}
	return s.logs[h.classes[at]][h.cells[at]]
}
