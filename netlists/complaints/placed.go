package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// placed puts a phrase after a preposition where it belongs.
func (p *parser) placed(np *phrase, prep class) {
	k := p.k
	if p.head != nil && !p.with && !k.trips() && p.r.qualify(p.head, np) {
		return
	}
	if len(k.subjects)+len(k.said)+len(k.places) == 0 {
		p.led = np
	}
	if last := p.lastSubject(); last != nil && len(k.said) == 0 && p.aim && p.r.namesOnly(last, circuit.KindFuse, circuit.KindThermalFuse) {
		p.r.used.join(np.from)
		p.head = nil
		return // "the fuse for the clock and light"
	}
	seen := np.joint || slices.ContainsFunc(k.said, func(s said) bool { return s.class == isSeen || s.class == isHistory })
	plain := len(np.nouns) == 0 && !np.own
	if last := p.lastSubject(); plain && last != nil && !k.trips() && len(k.subjects) == 1 && len(k.said) > 0 && (len(last.where) == 0 || ring[np.where[0]] && k.said[0].key == "dead") && p.r.qualify(last, np) {
		return // "two burners are out on the right"
	}
	if parts := p.r.parts(np, p.r.isLoad); plain && !seen { // "on the left"
		if n := len(k.said); n > 0 && k.said[n-1].trips() && prep == modePrep && len(parts) > 0 && !slices.ContainsFunc(parts[1:], func(id circuit.PartID) bool { return !p.r.siblings(id, parts[0]) }) { // "trips with the left front"
			k.enter(p.r.modeOfAll(parts), np.from)
		} else if one := len(np.where) == 1 && !k.trips(); one && corners[np.where[0]] || len(np.where) == 2 && len(parts) > 0 && !k.trips() && !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !p.r.isSurface(id) }) || one && len(parts) == 1 && len(k.subjects) == 0 && p.r.c.Part(parts[0]).Kind == circuit.KindElement {
			k.places = append(k.places, np) // "no heat on LF", "heats on the bottom"
		}
		return
	}
	if n := len(k.said); n > 0 && k.said[n-1].key == "trips" && p.r.opens(np) {
		k.places = append(k.places, np) // "trips on the limit"
		return
	}
	nothing := slices.Contains(k.words, p.r.l.Nothing) && len(np.nouns) > 0 && !p.r.l.Nouns[np.nouns[len(np.nouns)-1]].Verb && len(p.r.parts(np, p.r.isLoad)) > 0                                 // "nothing at the heater"
	of := len(np.nouns) > 0 && p.r.l.isPart(np.said[len(np.said)-1]) && prep == modePrep && !k.trips() && !p.with && p.r.modeCalled(np) == circuit.None && len(p.r.parts(np, p.r.isSurface)) == 0 // "in the second heater"
	if m := p.mode(np); m != circuit.None && !seen && !nothing && !of && (!p.r.region(np) || prep == modePrep && len(np.where) > 0 && p.r.l.Nouns[np.nouns[0]].Of == "" && p.r.modeCalled(np) != circuit.None) && (prep == modePrep || len(p.r.parts(np, p.r.isLoad)) == 0) {
		np.from.join(np.idle)
		k.enter(m, np.from)
		return
	}
	if n := len(k.places); n > 0 && len(k.places[n-1].nouns) == 0 && !k.places[n-1].own && p.r.region(np) && len(np.where) == 0 {
		np.where = k.places[n-1].where // "in the bottom of the oven"
		np.from.join(k.places[n-1].from)
		k.places = k.places[:n-1]
	}
	if len(k.subjects) == 1 && p.r.isMachine(k.subjects[0]) && p.r.region(np) {
		k.subjects, k.before = nil, 0 // "her stove has no heat in the oven"
	}
	k.places, k.odd = append(k.places, np), true
}

// sideOnlyOf reports whether a place tells no more than on which side of what was spoken of, no
// burner, a wire's end is: "bake element 26 ohms, terminal wire burnt off at the back".
func (r *reader) sideOnlyOf(head, place *phrase) bool {
	if !head.joint || slices.ContainsFunc(head.nouns, func(n int) bool { return !r.l.Nouns[n].Joint }) || len(place.nouns) > 0 || len(place.where) != 1 || place.where[0] != "rear" && place.where[0] != "front" {
		return false
	}
	last := r.last
	if len(last) == 0 && len(r.metered) > 0 {
		last = r.metered[len(r.metered)-1:]
	}
	return len(last) == 1 && len(r.parts(last[0], anyPart)) == 1 && !slices.ContainsFunc(r.parts(last[0], anyPart), r.isSurface)
}

// qualify singles out a phrase by the place that follows it: "the light in the
// upper oven", "a wire at the bake element".
func (r *reader) qualify(head, place *phrase) bool {
	if r.isMachine(place) && r.joins(head) {
		head.from.join(place.from)
		return true // "the plug on the dryer"
	}
	if r.sideOnlyOf(head, place) {
		head.from.join(place.from)
		return true
	}
	if head.joint && !slices.ContainsFunc(head.nouns, func(n int) bool { return !r.l.Nouns[n].Joint }) && len(place.nouns)+len(place.where) > 0 {
		head.nouns, head.said = append(head.nouns, place.nouns...), append(head.said, place.said...)
		head.where = append(head.where, place.where...)
		head.from.join(place.from)
		if !r.isMachine(place) {
			head.all = place.all // "the prongs on the coil" are of one
			r.pronoun(head, nil)
		}
		return true
	}
	var tries [][]string
	for _, n := range place.nouns {
		for _, of := range strings.Split(r.l.Nouns[n].Of, "|") {
			if of != "" {
				tries = append(tries, append(slices.Clone(place.where), of))
			}
		}
	}
	if len(place.where) > 0 {
		tries = append(tries, place.where)
	}
	one := *head
	if head.lent {
		one.where = nil // "left rear blistered. knob of the left front loose"
	}
	every := one
	every.odd = len(place.where) != 1 // of whatever its noun may name; "limit at the back" is rather behind all
	was := r.parts(&every, anyPart)
	for _, want := range tries {
		with := one
		with.where = append(slices.Clone(with.where), want...)
		parts := r.parts(&with, anyPart)
		if len(parts) > 0 && !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !slices.Contains(was, id) }) {
			head.where, head.odd = with.where, head.odd || slices.Contains(want, "large") && slices.Contains(head.where, "outer") // "the outer ring of the big one"
			head.from.join(place.from)
			return true
		}
	}
	region := slices.ContainsFunc(place.nouns, func(n int) bool { return r.l.Nouns[n].Region })
	if region && len(head.nouns) > 0 && len(was) > 0 && len(place.where) == 0 {
		head.within = place
		head.from.join(place.from)
		return true
	}
	return false
}
