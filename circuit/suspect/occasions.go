package suspect

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"legtrace/circuit"
)

// What comes and goes is there or not for as long as the machine is left as it stands:
// on, in one mode; or with its supply removed, nothing moved and no further panel opened.
// Whoever knows that it comes and goes reads with the supply on while it fails (common
// practice, no source).

// seenWith lists what was seen on the occasion of a piece of evidence, before it. That
// of readings is asked of what was told to come and go.
func (e *Engine) seenWith(ev Evidence) []*singles {
	mode, live := ev.live()
	switch {
	case ev.Symptom != nil:
		return e.withLoads(ev)
	case ev.Reading == nil || !e.comesAndGoes():
		return nil
	}
	if s := e.lastSeen(); s != nil && e.leftAsItStands(s, ev) {
		return append(slices.Clone(s.with), s)
	}
	if !live {
		return nil
	}
	for _, s := range slices.Backward(e.singles) {
		if sy := s.ev.Symptom; sy != nil && s.there != nil && sy.Mode == mode && s.bad() && e.since(s.ev) {
			return append(slices.Clone(s.with), s)
		}
	}
	return nil
}

// withLoads lists what was seen of other loads in the mode of a symptom, since its own
// load was last seen in it: a turn of the knob shows them all.
func (e *Engine) withLoads(ev Evidence) []*singles {
	if ev.Symptom.Load == circuit.None {
		return nil
	}
	for _, s := range slices.Backward(e.singles) {
		sy := s.ev.Symptom
		if sy == nil || s.there == nil || sy.Load == circuit.None || sy.Mode != ev.Symptom.Mode || len(s.ev.Mended) != len(ev.Mended) {
			continue
		}
		with := append(slices.Clone(s.with), s)
		if slices.ContainsFunc(with, func(s *singles) bool { return s.ev.Symptom.Load == ev.Symptom.Load }) {
			return nil
		}
		return with
	}
	return nil
}

// lastSeen is what was seen or read last, if nothing was moved or set since.
func (e *Engine) lastSeen() *singles {
	for _, s := range slices.Backward(e.singles) {
		switch {
		case s.ev.Told == nil:
			return s
		case s.ev.Told.ask.Ask != "" && s.ev.Told.ask.Ask != Look:
			return nil
		}
	}
	return nil
}

// leftAsItStands reports whether the machine stands for a reading as it stood for what
// was seen last.
func (e *Engine) leftAsItStands(last *singles, ev Evidence) bool {
	mode, live := ev.live()
	before, was := last.ev.live()
	if last.there == nil || !e.since(last.ev) || mode != before || live != was {
		return false
	}
	if live {
		return true
	}
	if len(ev.Reading.Lift)+len(last.ev.Reading.Lift) > 0 {
		return false
	}
	open := map[string]bool{}
	for _, s := range e.singles {
		var t Test
		switch ev := s.ev; {
		case !e.since(ev):
			continue
		case ev.Reading != nil:
			t.Probes = ev.Reading.Probes
		case ev.Told != nil && ev.Told.ask.Ask != "":
			t = ev.Told.ask
		default:
			continue
		}
		for _, place := range t.places(e.c) {
			open[laidOpen(e.c, place)] = true
		}
	}
	return !slices.ContainsFunc(Test{Probes: ev.Reading.Probes}.places(e.c), func(place string) bool { return !open[laidOpen(e.c, place)] })
}

// meets is how a test meets what comes and goes.
type meets uint8

const (
	anew      meets = iota // there or not, whatever it was
	leftAlone              // as it was for what was read last
	failing                // while it fails
)

// meets tells how a test meets what comes and goes.
func (e *Engine) meets(t Test) meets {
	if !t.Probing() || !e.comesAndGoes() {
		return anew
	}
	ev := Evidence{Reading: &Observation{Probes: t.Probes, Mode: t.Mode, Lift: t.Lift}}
	switch s := e.lastSeen(); {
	case s != nil && s.ev.Reading != nil && e.leftAsItStands(s, ev):
		return leftAlone
	case len(e.seenWith(ev)) > 0:
		return failing
	}
	return anew
}

// WhileItFails reports whether a test is a reading that is taken while it fails: of what
// comes and goes, with the supply on, where it was seen to.
func (e *Engine) WhileItFails(t Test) bool { return e.meets(t) == failing }

// goneFor is for which tests what comes and goes is not there: a bit for each way of
// [meets].
type goneFor uint8

func (a goneFor) at(m meets) bool { return a>>m&1 == 1 }

// thereNow is how likely a class that comes and goes is there for what was read last;
// NaN where nothing would be read on that occasion.
func (e *Engine) thereNow(class int32) float64 {
	s := e.lastSeen()
	if s == nil || s.there == nil || s.ev.Reading == nil || !e.since(s.ev) {
		return math.NaN()
	}
	a, b := seenTogether(append(slices.Clone(s.with), s), int(class))
	return math.Exp(a - floats.LogSumExp([]float64{a, b}))
}

// byOccasion are a representative that comes and goes by whether it is there for what is
// read on this occasion and on the next.
func (e *Engine) byOccasion(r representative) []representative {
	h := &e.hyps[r.hyp]
	if !e.goesAway(h) {
		return []representative{r}
	}
	const as = 0.02 // taken as it mostly is
	now := e.thereNow(h.classes[0])
	var out []representative
	for _, here := range []struct {
		away goneFor
		p    float64
	}{{0, now}, {1 << leftAlone, 1 - now}} {
		switch {
		case math.IsNaN(now) && here.away == 0:
			here.p = 1
		case !(here.p > as):
			continue
		case here.p > 1-as:
			here.p = 1
		}
		for _, next := range []goneFor{0, 1 << anew} {
			out = append(out, representative{hyp: r.hyp, p: r.p * here.p / 2, away: here.away | next})
		}
	}
	return out
}

// goesAway reports whether a hypothesis is a class that comes and goes, of what was told
// to.
func (e *Engine) goesAway(h *hypothesis) bool {
	return len(h.classes) == 1 && e.comes(h) && e.comesAndGoes()
}

// comes reports whether a class of a hypothesis is of a size that comes and goes.
func (e *Engine) comes(h *hypothesis) bool {
	for i, k := range h.classes {
		if c := h.cells[i]; c != usual && e.classes[k].sizes.cells[c].occasion.when == comesAndGoes {
			return true
		}
	}
	return false
}
