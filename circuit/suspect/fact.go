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

// lit reports whether it tells of a display that shows something.
func (t *Telling) lit() bool { return t.What == "flashing" || slices.Contains(toldCodes, t.What) }
