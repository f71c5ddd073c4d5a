package suspect

import (
	"cmp"
	"slices"

	"legtrace/circuit"
)

// toldBefore is what leads of the tellings before that are of the fact of one: what
// fails bake and broil when hot is one fact told twice.
func (e *Engine) toldBefore(t *Telling) (lead *Telling) {
	for _, ev := range e.evidence {
		if was := ev.Told; was != nil && was.sameFact(t) && (lead == nil || was.leads(e.c, lead)) {
			lead = was
		}
	}
	return lead
}

// toldSo reports whether the same was told before, word for word: that is no second witness.
// A move made once more is.
func (e *Engine) toldSo(t *Telling) bool {
	return t.ask.Ask == "" && slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		was := ev.Told
		return was != nil && was.ask.Ask == "" && was.What == t.What && was.Part == t.Part && was.Load == t.Load && was.Joint == t.Joint && e.since(ev)
	})
}

// sameFact reports whether two tell of one fact at one place.
func (t *Telling) sameFact(u *Telling) bool {
	fact := tales[t.What].fact
	return t.Part == u.Part && t.ask.Ask == u.ask.Ask && (t.What == u.What || fact != "" && fact == tales[u.What].fact)
}

// leads reports whether of two tellings of one fact, in whatever order they were told,
// it is the one that counts in full: the rarer where it has nothing to do with what is
// wrong.
func (t *Telling) leads(c *circuit.Circuit, u *Telling) bool {
	return cmp.Or(cmp.Compare(t.base(c), u.base(c)), cmp.Compare(t.What, u.What), cmp.Compare(t.Load, u.Load), cmp.Compare(t.answer, u.answer)) < 0
}

// spares reports whether it speaks against a part, whatever else is wrong.
func (t *Telling) spares() bool { return t != nil && (t.clear() || tales[t.What].spares > 0) }

// chancesTold are the chances of being told so, by member of a class.
func (e *Engine) chancesTold(t *Telling, class int) []float64 {
	members := e.classes[class].Members
	out := make([]float64, len(members))
	for k := range members {
		m := &members[k]
		p := e.workers[0].told(t, m.Faults)
		if t.ask.Ask == Set || t.ask.Ask == Air {
			p = t.ask.ofCause(e.c, m)[t.answer]
		}
		if set := tales[t.What].setting; set > 0 && m.setting && (t.Part == circuit.None || e.c.Part(t.Part).Name == m.Part) {
			p = set
		}
		if m.wiring && (t.What == "new_cord" || t.What == "repair") && t.Part == circuit.None {
			p = max(p, tales[t.What].anywhere[astray]) // how it came back from the work
		}
		if m.setting && (t.when() != 0 || t.What == "found_bad" || t.What != "key" && slices.Contains(toldCodes, t.What)) {
			p = t.base(e.c) // how it is set shows no code, and does not come with heat
		}
		if m.cycles && t.when() == comesAndGoes && (t.feeds == nil || slices.ContainsFunc(m.Faults, func(f circuit.Fault) bool { return t.feeds[f.Branch] })) {
			p = limitTold
		}
		if t.when() == whenHot && tales[t.What].pole == 0 && windingGuard(e.c, m.Faults[0]) && (t.feeds == nil || t.feeds[m.Faults[0].Branch]) {
			p = windingTold
		}
		if told, ok := blockedTold[t.What]; ok && m.airless {
			p = told
		}
		if again := tales[t.What].caused; again > 0 && m.airless && !m.cycles && t.Part != circuit.None && e.c.Part(t.Part).Name == m.Part {
			p = again
		}
		out[k] = p
	}
	return out
}

// told is the chance of being told so with faults present, what comes of them in the settled
// machine taken in: what a control sees, what idles, what gets too hot.
func (w *worker) told(t *Telling, faults []circuit.Fault) float64 {
	c := w.bench.Circuit()
	row, p := rowOf(c, t.What), t.chance(c, faults)
	if t.code != nil {
		if shown, ok := w.sees(t.code, faults); ok {
			return max(row.base, shown)
		}
	}
	if len(faults) == 0 {
		return p
	}
	kind := kindOf(c, faults[0].Branch)
	switch {
	case row.fact == "full" && cycled(c, t.feeds) && c.Branch(faults[0].Branch).Role == circuit.Contact && !staysFull(c, faults):
		return row.base // its knob turns it down all the same: a limiter that is stuck is no cause
	case t.What == "once" && wayOf(c, faults[0]) == partShort:
		hard := slices.Clone(faults)
		for i := range hard {
			hard[i].At, hard[i].Ohms = bareEnd, 0
		}
		if trips, err := w.tripsIn(circuit.None, hard); err == nil && !trips {
			return row.base // it never tripped anything
		}
	case t.What == "too_hot" && kind != circuit.KindSensor && (p > row.base || faults[0].Kind == circuit.Driven):
		if hot, known := w.overheats(faults); known && !hot {
			return row.base
		} else if known {
			return hotCoded
		}
	case t.What == "found_bad" && t.Part != circuit.None && c.Part(t.Part).Kind == circuit.KindLimit && slices.Contains([]how{contactStuck, partShort, otherwise}, wayOf(c, faults[0])):
		// Where it gets too hot, a limit that is reset by hand is found open, or one that
		// closes by itself is said to trip, and nothing is wrong with it.
		if hot, _ := w.overheats(faults); hot && c.Part(t.Part).Returns {
			return max(p, cycledTold)
		} else if hot {
			return max(p, trippedTold)
		}
	}
	return p
}

// bareEnd is where on a winding that touches metal it draws what trips a breaker.
const bareEnd = 0.02

// hotCoded is the chance of a code for too hot where it does get too hot (common practice,
// no source).
const hotCoded = 0.5

// overheats reports whether faults leave a mode too hot; known is false where nothing is
// known of its heat.
func (w *worker) overheats(faults []circuit.Fault) (hot, known bool) {
	for i := range w.bench.Circuit().Modes() {
		heat, ok, err := w.warmth(circuit.ModeID(i), faults)
		known = known || ok && err == nil
		if ok && err == nil && heat.over >= offKelvin {
			return true, true
		}
	}
	return false, known
}

// staysFull reports whether faults of a cycling switch leave it on where it should idle.
func staysFull(c *circuit.Circuit, faults []circuit.Fault) bool {
	stuck := false
	for _, f := range faults {
		b := c.Branch(f.Branch)
		switch {
		case kindOf(c, f.Branch) != circuit.KindCyclingSwitch, f.Kind != circuit.Welded && cycles(c, b):
			return false
		case cycles(c, b):
			stuck = true
		}
	}
	return stuck
}

// cycles reports whether a contact of a cycling switch is the one that opens as it idles,
// and closes at any setting.
func cycles(c *circuit.Circuit, b *circuit.Branch) (on bool) {
	for at, name := range c.Part(b.Part).Positions {
		switch closed := b.Rule.Closed[at]; {
		case name == "idle" && closed:
			return false
		case name != "idle" && closed:
			on = true
		}
	}
	return on
}

// lit reports whether it tells of a display that shows something.
func (t *Telling) lit() bool { return t.What == "flashing" || slices.Contains(toldCodes, t.What) }
