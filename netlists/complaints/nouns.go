package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

func (l *Language) nounOf(t *token) noun {
	if s, ok := t.of(isNoun); ok {
		return l.Nouns[s.n]
	}
	return noun{}
}

func (p *parser) noun(t *token) {
	s, _ := t.of(isNoun)
	row := p.r.l.Nouns[s.n]
	if p.np == nil {
		p.begin()
	} else if n := len(p.np.nouns); n > 0 && p.r.l.Nouns[p.np.nouns[n-1]].Machine && !row.Machine {
		p.np.nouns, p.np.said = nil, nil // "the range clock"
	} else if len(p.np.nouns) > 0 && row.Machine != p.r.l.Nouns[p.np.nouns[0]].Machine && row.Machine {
		p.closePhrase()
		p.begin()
	}
	does := p.k.aux && (len(p.np.nouns) > 0 || len(p.k.subjects) > 0) // "the oven does bake"
	p.np.from.add(t.at)
	p.np.nouns = append(p.np.nouns, s.n)
	p.np.words = append(p.np.words, t.text)
	p.np.said = append(p.np.said, t.text)
	p.np.all = p.np.all || t.plural && !p.np.odd && !p.np.some && !(row.Joint && len(p.np.nouns) > 1) // "the coil prongs" are of one coil && !(row.Itself && len(p.np.nouns) > 1)
	p.np.joint = p.np.joint || row.Joint
	p.np.verb, p.np.done = row.merges(), t.has(isVerb)
	p.np.its = p.np.its || p.afterIt && row.merges() && len(p.r.last) == 1 && slices.ContainsFunc(p.r.last[0].where, func(w string) bool { return w == "upper" || w == "lower" }) // "the bottom oven does not bake but it broils"
	p.np.finite = row.merges() && t.has(isVerb) && (strings.HasSuffix(t.text, "s") || does) || p.np.finite
}

func (p *parser) where(t *token) {
	s, _ := t.of(isWhere)
	if s.key == "kind:surface_element" && !p.r.c.StoresHeat() && len(p.r.loadsOf(s.key)) == 0 { // "heat on top", of what has no burners
		if p.closePhrase(); p.k.subjects != nil || len(p.k.said) > 0 {
			p.prep = placePrep
		}
		s.key = "upper"
	} else if s.key == "kind:surface_element" && p.np == nil && p.r.belowToo() {
		if s.key = "upper"; len(p.k.said) > 0 {
			p.prep = placePrep // "heats on top, nothing on the bottom"
		}
	}
	if p.np != nil && len(p.np.nouns) == 0 && len(p.np.where) == 1 && p.np.where[0] != s.key && corners[s.key] && corners[p.np.where[0]] {
		prep := p.prep
		p.closePhrase()
		p.joined, p.prep = true, prep // "LR RR out"
	}
	if p.np != nil && len(p.np.nouns) > 0 && !p.r.l.Nouns[p.np.nouns[len(p.np.nouns)-1]].Joint && p.prep != 0 && !p.r.l.HeadFirst {
		p.closePhrase()
	}
	if p.np == nil {
		p.begin()
	}
	if p.r.singlesOut(s.key) {
		p.np.from.add(t.at)
	} else {
		p.np.idle.add(t.at)
	}
	p.np.where, p.np.own = append(p.np.where, s.key), p.np.own || t.own
	p.np.words = append(p.np.words, t.text)
}

// corners are the places of a cooktop's four.
var corners = map[string]bool{"lf": true, "lr": true, "rf": true, "rr": true}

func (p *parser) begin() {
	p.np = &phrase{of: p.its && len(p.r.last) > 0, linked: p.linked && !p.k.subbed, all: p.every && !(p.neg && p.prep != 0 && p.article), odd: p.odd || p.some, some: p.some, its: p.its, just: p.just, only: p.only, none: p.neg && p.no, from: p.singles}
	if p.number {
		p.np.from.add(p.numberAt)
	}
	p.singles = span{}
	p.its, p.only = false, false
	if p.number && p.pending > 1 && p.pending < leastDegrees {
		p.np.all, p.np.count = !p.some, int(p.pending)
	}
	p.every, p.number, p.odd, p.some = false, false, false, false
}

// closePhrase puts a noun phrase where it belongs: a mode, a place, a subject.
func (p *parser) closePhrase() {
	np, k := p.np, p.k
	p.odd = false
	if np == nil {
		return
	}
	p.np = nil
	if n := len(np.where); slices.ContainsFunc(np.nouns, func(n int) bool { return p.r.l.Nouns[n].Whole }) || slices.Contains(np.where, "outer") || slices.Contains(np.where, "inner") {
		np.where = slices.DeleteFunc(np.where, func(w string) bool { return w == "large" || w == "small" })
		np.odd = np.odd || len(np.where) < n // which one is asked
		if len(np.where) > 0 {
			np.from.join(np.idle)
		}
	}
	if n := len(k.said); n > 0 && p.r.trips(np) != "" && k.said[n-1].trips() { // "trips the breaker"
		if p.prep = 0; k.said[n-1].key == "trips" {
			k.said[n-1].key = p.r.trips(np)
		}
		k.said[n-1].from.join(np.from)
		return
	}
	if n := len(k.said); n > 0 && k.said[n-1].key == "trips" && p.prep == 0 && len(k.subjects) == 0 && !np.linked && p.r.opens(np) && !p.r.isKnob(np) {
		k.subjects = []*phrase{np} // "trips the overload"
		return
	}
	if w := slices.Index(np.where, "inner"); w >= 0 && np.all { // "the two inner rings", of three
		np.where[w] = "within"
	}
	if k.both && np.count == 2 {
		p.r.both(np)
	}
	prep := p.prep
	if k.others && prep == 0 && len(k.said) == 0 && len(np.where) == 0 {
		k.at[ofClause].join(np.from)
		k.kin = np
		return // "the other burners"
	}
	if n := len(k.subjects); np.only && n > 0 && len(np.nouns) == 1 && len(np.where) == 0 && p.r.l.Nouns[np.nouns[0]].Pronoun {
		kind := *k.subjects[n-1]
		kind.where = nil
		k.subjects[n-1].from.join(np.from)
		k.butOnly = []*phrase{&kind}
		return // "is the only one that"
	}
	if n := len(k.subjects); prep == 0 && n > 0 && np.finite && len(np.where) == 0 && k.subjects[n-1].finite {
		np.where, np.all = k.subjects[n-1].where, k.subjects[n-1].all // "the lower bakes and broils"
	}
	if prep == 0 || np.its {
		p.r.pronoun(np, p.k.subjects)
	}
	p.prep = 0
	if prep != 0 {
		p.placed(np, prep)
		return
	}
	if n := len(k.said); n > 0 && k.said[n-1].key == "touched" && !np.linked && !p.joined {
		k.said[n-1].from.join(np.from)
		if len(k.subjects) == 0 && len(p.r.parts(np, p.r.isSurface)) > 0 { // "have to wiggle the left front coil to get it going"
			k.subjects = []*phrase{np}
		}
		return // "works if I push on the panel"
	}
	list := p.joined && k.after && (p.isThing(np) && !p.r.region(np) || len(np.where) == 1 && corners[np.where[0]]) // "replaced the fuse and the heater"
	if np.just && len(np.nouns) == 0 && len(np.where) == 1 && !np.own && len(np.words) > 0 && p.r.l.skip[np.words[0]] && len(k.said) > 0 && k.said[len(k.said)-1].class == isState {
		return // "never heated right"
	}
	list = list || (np.just || p.r.l.HeadFirst && (!np.linked || p.neg)) && len(k.subjects) == 0 && len(k.said) > 0 && k.said[len(k.said)-1].class == isState
	p.joined = false
	if np.only && len(k.subjects) == 0 && len(p.r.carried) == 1 { // "right front: only the inner ring heats"
		k.subjects, p.r.carried = p.r.carried, nil
	}
	if np.only && len(k.subjects) > 0 { // "only heats the inner ring"
		k.butOnly = k.subjects
		np.from.join(k.subjects[0].from)
		w := slices.IndexFunc(np.where, func(w string) bool { return ring[w] })
		np.where = append(np.where, k.subjects[0].where...)
		if n := len(k.said); w >= 0 && n > 0 && k.said[n-1].key == "normal" && !slices.ContainsFunc(p.r.parts(np, p.r.isLoad), func(id circuit.PartID) bool { return p.r.machine.parts[id][np.where[w]] }) {
			k.said[n-1].key = "weak" // of a coil without rings
			np.where, np.nouns, np.said = k.butOnly[0].where, k.butOnly[0].nouns, k.butOnly[0].said
		}
		k.subjects, p.head = []*phrase{np}, np
		return
	}
	if n := len(k.said); n > 0 && np.just && !np.linked && p.r.c.StoresHeat() && p.r.region(np) && len(np.where) == 0 && k.said[n-1].class == isState && len(k.subjects) == 1 && p.r.isMachine(k.subjects[0]) {
		k.said[n-1].from.join(np.from)
		return // "the tank makes scalding water"
	}
	if len(k.said) > 0 && !list && (len(k.subjects) > 0 || np.linked && k.it || len(k.strange) > 0 && k.said[len(k.said)-1].class != isHistory || !p.isThing(np)) {
		aux, bare := k.aux, k.bare && p.neg // "bake doesn't work broil does", "not bake and not broil"
		p.next()
		k = p.k
		k.aux, k.bare, k.not, k.trails = aux, bare, k.not || bare, !np.linked
		k.words, k.also = slices.Clone(np.words), np.linked
		for at := range p.r.of {
			if np.from.has(at) {
				p.r.of[at] = k.id
			}
		}
	}
	if n := len(k.subjects); np.verb && np.done && n == 1 && p.r.isMachine(k.subjects[0]) {
		np.from.join(k.subjects[0].from)
		k.subjects = nil // "the range won't bake"
	}
	if n := len(k.subjects); np.verb && np.done && n > 0 && (p.r.region(k.subjects[0]) || k.subjects[0].base != nil || (p.neg || k.not) && !np.linked && n == 1 && p.r.cavity(k.subjects[0], np)) {
		of := k.subjects[0] // "the upper oven won't bake or broil"
		if of.base == nil {
			k.subjects = nil
		} else {
			of = of.base
		}
		np.from.join(of.from)
		np.base, np.where = of, append(np.where, of.where...)
		np.nouns, np.said = append(slices.Clone(of.nouns), np.nouns...), append(slices.Clone(of.said), np.said...)
	}
	if len(k.subjects) == 1 && !k.not && !np.none && p.r.isMachine(k.subjects[0]) && !p.r.isMachine(np) && anyIn(k.words, p.r.l.Has) {
		k.subjects, k.before = nil, 0 // "we have a stove and the left burners don't heat"
	}
	p.r.shares(k.subjects, np)
	k.subjects, k.after = append(k.subjects, np), len(k.said) > 0
	p.head = np
}

// cavity reports whether a phrase tells no more than in which of two ovens what another names
// is: "the upper won't broil".
func (r *reader) cavity(p, of *phrase) bool {
	return len(p.nouns) == 0 && !p.own && len(p.where) == 1 && (len(of.where) == 0 || slices.Equal(of.where, p.where)) && len(r.partsAt(&phrase{nouns: of.nouns, said: of.said}, p.where, r.isLoad)) > 0
}

// shares gives the noun of the last of a list to those before it that only tell which:
// "top and bottom relays".
func (r *reader) shares(list []*phrase, np *phrase) {
	if !np.linked || !np.all || len(np.nouns) == 0 || r.region(np) || r.l.Nouns[np.nouns[0]].Joint {
		return
	}
	for _, p := range list {
		if with := *p; len(p.where) > 0 && (len(p.nouns) == 0 && !p.all || p.borrow) {
			if with.nouns, with.said, with.all = np.nouns, np.said, true; len(r.partsAt(&with, with.where, anyPart)) > 0 {
				*p = with
			}
		}
	}
}

// pronoun gives "the lower one" the noun of what was spoken of before, and
// "the burner", of several, its place.
func (r *reader) pronoun(np *phrase, before []*phrase) {
	if len(before) == 0 {
		before = r.last
	}
	if len(before) == 0 && len(r.metered) > 0 && !r.stands(np) {
		before = r.metered[len(r.metered)-1:]
	}
	if len(before) == 0 || r.isMachine(np) || r.isTop(np) && r.region(before[0]) {
		return
	}
	of := before[0]
	if of.base != nil {
		of = of.base
	}
	if r.ofRing(np, of) {
		return
	}
	if len(np.nouns) == 0 && np.own && len(np.where) == 1 && len(r.parts(np, anyPart)) > 1 { // "bake igniter glows, valve never opens"
		for _, w := range strings.Fields(strings.Join(of.words, " ")) {
			with := *np
			if with.where = []string{np.where[0], singular(w)}; r.singlesOut(singular(w)) && len(r.partsAt(&with, with.where, anyPart)) == 1 {
				np.where = with.where
				return
			}
		}
	}
	as, bare := *np, len(np.where) == 0
	defer func() { np.lent = bare && len(np.where) > 0 }()
	switch {
	case len(np.where) == 0 && !np.its && r.isLamp(of) && !r.isLamp(np) && !(len(of.where) > 0 && len(r.parts(np, r.isSurface)) > 1 && !np.all): // "the drawer pilot is on, the drawer stays cold"
	case len(np.where) == 0 && len(np.nouns) > 0 && (!np.all || np.verb && np.none) && !np.odd && (!r.region(np) || r.region(of)) && len(of.where) > 0 && len(r.likeliest(np, r.parts(np, anyPart))) > 1:
		if as.where = of.where; slices.ContainsFunc(np.nouns, func(n int) bool { return r.l.Nouns[n].Whole }) {
			as.where = slices.DeleteFunc(slices.Clone(of.where), func(w string) bool { return ring[w] })
		}
		if len(r.parts(&as, anyPart)) > 0 {
			np.where = as.where
		}
	case len(np.where) == 0 && !r.region(np) && (np.its || np.none && !np.all && r.isLamp(np) || len(np.nouns) > 0 && !np.all && !np.odd && (!np.joint || len(np.nouns) > 1) && len(r.likeliest(np, r.parts(np, anyPart))) > 1):
		if as.where = of.where; len(as.where) > 0 && len(r.parts(&as, anyPart)) > 0 {
			np.where = as.where
			return
		}
		if r.namesOnly(np, circuit.KindThermostat) && slices.ContainsFunc(r.parts(of, r.isLoad), func(id circuit.PartID) bool { return r.wasSaid(r.machine.loads[id][0], "normal") }) {
			return // "the fan works, thermostat reads open": what fails has it
		}
		for _, w := range strings.Fields(strings.Join(of.words, " ")) {
			if as.where = []string{singular(w)}; r.singlesOut(singular(w)) && len(r.parts(&as, anyPart)) > 0 {
				np.where = as.where
				return
			}
		}
	case len(np.nouns) == 0 && len(r.parts(np, r.isSurface)) > 0 && !slices.ContainsFunc(r.parts(of, r.isLoad), func(id circuit.PartID) bool { return r.c.Part(id).Kind.Heats() }): // "surface light stays on. left rear dead"
	case of.done && of.its && len(np.nouns) == 0: // "it won't bake, no problem with the upper"
	case len(np.where) > 0 && (len(np.nouns) == 0 || len(np.nouns) == 1 && r.l.Nouns[np.nouns[0]].Pronoun):
		as.nouns, as.said = nil, nil
		for i, n := range of.nouns {
			if !r.l.Nouns[n].Machine && !r.l.Nouns[n].Joint {
				as.nouns, as.said = append(as.nouns, n), append(as.said, of.said[i])
			}
		}
		if len(as.nouns) > 0 && len(r.partsAt(&as, np.where, r.isLoad)) > 0 {
			np.nouns, np.said, np.all, np.borrow = as.nouns, as.said, np.all || of.all && len(np.nouns) == 0, true
		}
	}
}

// isLamp reports whether a phrase names a lamp.
func (r *reader) isLamp(p *phrase) bool {
	parts := r.parts(p, r.isLoad)
	return len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindLamp
}

func anyPart(circuit.PartID) bool { return true }

// ownWord is a verb that a part is called by: "the cycling light".
func (p *parser) ownWord(t *token, rest []token) string {
	if !t.has(isVerb) || t.has(isNoun) || len(rest) == 0 || !rest[0].has(isNoun) {
		return ""
	}
	for _, b := range append(p.r.l.bases(t.text), base{t.text, ""}) {
		if p.r.machine.words[b.word] && p.r.ownsWord(b.word, &rest[0]) {
			return b.word
		}
	}
	return ""
}

// ownsWord reports whether a word of the machine's own singles out what a noun
// after it names.
func (r *reader) ownsWord(word string, t *token) bool {
	s, _ := t.of(isNoun)
	return len(r.parts(&phrase{where: []string{word}, nouns: []int{s.n}, said: []string{t.text}}, anyPart)) > 0
}

// isThing reports whether a phrase can follow what is said of it: "burnt wire".
func (p *parser) isThing(np *phrase) bool {
	s := p.k.said[len(p.k.said)-1]
	return s.class == isSeen || s.class == isHistory || s.class == isCode
}
