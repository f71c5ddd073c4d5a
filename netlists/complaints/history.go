package complaints

import (
	"cmp"
	"slices"
	"strings"

	"legtrace/circuit"
)

// lately reports whether what was said last was of such a thing.
func (r *reader) lately(about About) bool {
	n := len(r.heard.Statements)
	return n > 0 && r.heard.Statements[n-1].About == about
}

func (r *reader) history(k *clause, s *said) {
	if s.key == "moved" && r.l.formOf(strings.Fields(s.words)[0], r.l.Turned) && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
		return o.Part != circuit.None && (r.c.Part(o.Part).Kind.Guards() || r.c.Part(o.Part).Kind == circuit.KindLimit)
	}) {
		s = &said{class: isHistory, key: "reset", words: s.words, from: s.from} // "the limit had popped, pushed it back in"
	}
	back := s.key == "moved" && r.l.formOf(strings.Fields(s.words)[0], r.l.Turned) && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool { return o.What == "loose" })
	if s.key == "mended" || back { // "the plug was loose, pushed it back in": tells no more than what comes of it
		for _, p := range slices.Concat(k.subjects, k.places) {
			r.now.join(p.from)
			r.now.join(p.idle)
		}
		r.used.join(r.now)
		r.mend()
		k.made, k.mends = true, true
		return
	}
	if s.key == "reset" && k.not && len(k.subjects) == 1 && r.opens(k.subjects[0]) {
		s = &said{class: isHistory, key: "found_bad", words: s.words, from: s.from} // "the limit won't reset"
	}
	if within := map[string]string{"cold": "fails_hot", "touched": "touched"}[k.when]; s.key == "works_again" && within != "" && (k.when == "cold" || r.lately(OfLoad) || len(r.thatQuit(true)) > 0) {
		one := *s
		one.key = within
		k.when = ""
		if was := r.thatQuit(within == "touched"); len(k.subjects) == 0 && len(was) > 0 && s.of != heating { // "quits after an hour, the fan is dead, comes back once it has cooled"
			for _, load := range was {
				r.put(r.ofLoad(k, &one, within, load))
			}
			return
		}
		r.state(k, &one)
		return
	}
	if s.key == "works_again" && slices.ContainsFunc(k.said, func(o said) bool { return o.class == isCode }) {
		r.used.join(r.now) // "S1 came up again"
		return
	}
	if s.key == "works_again" && strings.HasSuffix(s.words, r.l.Back) && r.l.Back != "" && len(k.subjects) == 0 && r.ofCode() {
		r.used.join(r.now) // "shows S1, I cancel it and it comes back"
		return
	}
	if s.key == "works_again" && !r.mended && r.exchanged == nil && !slices.Contains(r.l.Shut, strings.Fields(s.words)[0]) && !slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What != "storm" && s.What != "click" && s.What != "normal" }) && len(r.heard.Questions) == 0 {
		if len(k.subjects) == 0 || len(k.said) > 1 {
			r.withheld = true // nothing was said to have failed, but the power
			return
		}
		one := *s
		one.class, one.key = isState, "normal" // "the left front burner works again"
		r.state(k, &one)
		return
	}
	if first := strings.Fields(s.words)[0]; s.key == "works_again" && len(k.subjects) == 0 && slices.ContainsFunc(r.l.bases(first), func(b base) bool { return b.by == "s" }) {
		var off []circuit.BranchID
		for _, was := range r.heard.Statements {
			if was.What == "quits" && !was.happened {
				off = append(off, was.Load)
			}
		}
		for _, load := range off { // "cuts off after ten minutes, heats again"
			r.put(r.ofLoad(k, s, "intermittent", load))
		}
		if len(off) > 0 {
			return
		}
	}
	if s.key == "no_help" && !r.mended && r.done == nil && (len(r.heard.Statements)+len(r.heard.Questions) == 0 || anyIn(strings.Fields(s.words), r.l.Coded)) || s.key == "no_help" && r.lastSaid != nil && r.lastSaid.key == "normal" && slices.ContainsFunc(k.said, func(o said) bool { return o.key == "normal" }) && !r.mended {
		r.used.join(r.now) // "works just the same as ever"
		return
	}
	if came[s.key] != nil {
		r.attempt(k, s)
		return
	}
	if s = r.opensAsItShould(k, s); s == nil {
		r.withheld = true
		return
	}
	if wires := len(k.subjects) == 1 && k.subjects[0].joint; wires && s.key == "found_good" {
		r.withheld = true // "the harness from the board to the sensor rings through": of no part
		return
	}
	if s.key == "new_cord" {
		s = r.outlet(k, s)
	}
	popped := s.key == "popped" || s.key == "failed_again" && r.limited() && len(k.subjects)+len(k.places) == 0 && (!r.replaced || r.l.formOf(strings.Fields(s.words)[0], r.l.Verbs["pops"].Say)) // "pushed it, popped again"
	if popped {
		s = &said{class: isHistory, key: "reset", words: s.words, from: s.from}
	}
	if !slices.Contains([]string{"replaced", "failed_again", "reset", "good_elsewhere", "like_works_here", "like_dead_here", "found_good", "found_bad", "looks_good", "shorted", "welded"}, s.key) {
		for _, p := range slices.DeleteFunc(slices.Clone(k.places), func(p *phrase) bool { return !r.joins(p) }) {
			r.now.join(p.from) // "crossed at the block"
		}
		for _, p := range slices.DeleteFunc(slices.Clone(k.subjects), func(p *phrase) bool { return s.key != "works_again" || len(r.parts(p, r.isLoad)) == 0 }) {
			r.now.join(p.from) // "the oven heats again", whatever it was that had failed
		}
		r.put(k.blank(OfHistory, s))
		return
	}
	places := append(slices.Clone(k.subjects), k.places...)
	if len(k.subjects) == 1 && len(k.places) == 1 && ofPlace[s.key] && r.makes(k.subjects[0]) && (len(k.places[0].nouns) == 1 && r.l.Nouns[k.places[0].nouns[0]].Verb || r.ofContact(k.places[0])) {
		r.now.join(k.places[0].from)
		places = k.subjects // "the thermostat reads open in bake", "the limiter is stuck closed at the lamp contact"
	}
	if ofPlace[s.key] && len(places) > 1 {
		places = r.contactOf(places)
	}
	if s.key == "replaced" && len(k.subjects) > 0 {
		places = slices.DeleteFunc(places, func(p *phrase) bool { // "the fuse on the blower"
			return !slices.Contains(k.subjects, p) && len(p.nouns) > 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !r.l.Nouns[n].Driven })
		})
	}
	if named := len(places); s.key == "replaced" && named > 0 {
		places = slices.DeleteFunc(slices.Clone(places), func(p *phrase) bool { return r.isSocket(p) && len(r.parts(p, r.isSurface)) > 0 })
		if len(places) == 0 {
			r.withheld = true // a receptacle that the netlist has no part for
			return
		}
	}
	if len(places) == 0 && len(r.last) > 0 && !slices.ContainsFunc(r.last, func(p *phrase) bool { return len(p.where) > 0 || !r.region(p) && !r.isMachine(p) }) {
		places = r.last // "everything is slow, the landlord put it in last month"
	}
	if s.key == "replaced" && len(places) > 0 && !slices.ContainsFunc(places, func(p *phrase) bool {
		return !r.isMachine(p) && !r.everything(p) && !(r.region(p) && r.l.Nouns[p.nouns[0]].Of == "oven")
	}) {
		s = &said{class: isHistory, key: "repair", words: s.words, from: s.from} // "a new oven"
		r.put(k.blank(OfHistory, s))
		return
	}
	swaps := s.key == "replaced" && r.l.Swap != "" && strings.HasPrefix(s.words, r.l.Swap)
	puts := s.key == "replaced" && r.putsIt(s.words)
	its := len(k.subjects) > 0 && r.isPronounOf(k.subjects[0]) && !k.subjects[0].all && (len(k.subjects[0].where) == 0 || k.subjects[0].lent) && r.before == nil
	if vain := slices.ContainsFunc(k.said, func(o said) bool { return o.key == "no_help" }); (swaps || puts) && !(vain && len(k.places) == 0) && r.exchange(k, s) && (puts || !its || len(r.deadCoils(nil)) != 1) {
		return
	}
	if len(k.places) > 0 && r.l.Swap != "" && (swaps || puts && len(r.parts(k.places[0], r.isSurface)) > 0) {
		if r.done = nil; its {
			for _, p := range slices.Concat(k.subjects, k.places) {
				s.from.join(p.from)
			}
			r.done = &attempt{"swapped", r.last, s.words, s.from, k, false}
		}
		return // tried in each other's place: what came of it follows
	}
	if swaps && (len(k.subjects) > 1 || r.exchanged == nil && anyIn(k.words, r.l.Into) && !slices.ContainsFunc(k.said, func(o said) bool { return o.key == "no_help" })) {
		return // "swapped it into the left front"
	}
	if (s.key == "like_works_here" || s.key == "like_dead_here") && r.stayed(k, s) {
		return
	}
	if of := r.failedCoil(); (s.key == "good_elsewhere" || s.key == "like_dead_here") && len(k.subjects) == 0 && of != nil {
		if places = of; s.key == "like_dead_here" && r.exchanged != nil {
			s = &said{class: isHistory, key: "found_bad", words: s.words, from: s.from} // "swapped it, doesn't heat there either"
		} // "swapped with the right rear, works fine there"
	} else if s.key == "good_elsewhere" && len(k.places) > 0 { // "swapped with the rear one": that is where it was tried
		if places = k.subjects; len(places) == 0 {
			places = r.last
		}
	}
	r.replaced = r.replaced || s.key == "replaced"
	if s.key == "replaced" || s.key == "reset" || s.key == "repair" {
		r.mend()
	}
	if len(places) == 0 && s.key != "reset" && !(len(k.strange) > 0 && ofPlace[s.key]) { // not "the doodad reads open"
		if places, r.by = r.last, k.carriesOn(); s.key == "replaced" {
			places = r.atFault(k, places)
		}
	}
	if len(places) == 0 && ofPlace[s.key] {
		return // "squeaks real bad"
	}
	if len(places) == 0 || popped {
		st := k.blank(OfHistory, s)
		st.popped = popped
		r.put(st)
		return
	}
	for _, p := range places {
		if r.stands(p) && len(r.last) > 0 && !r.last[0].all {
			p = r.last[0] // "a new one"
		}
		first := r.isLoad
		lead, _, _ := strings.Cut(s.words, " ")
		contact := r.ofContact(p) || r.l.nounOf(r.l.alone(singular(lead))).Itself
		if contact {
			first = r.isNoLoad // "timer contact OL"
		}
		parts := r.partsFirst(p, first)
		if !contact || len(parts) != 1 {
			parts = r.spokenOf(p, parts)
		}
		parts = r.likeliest(p, parts)
		if own := r.companion(p); own != circuit.None {
			parts = []circuit.PartID{own}
		}
		if s.key == "replaced" && len(parts) == 1 && len(p.where) == 0 && len(p.said) == 1 && r.c.Part(parts[0]).Kind == circuit.KindConnector && r.fedByLegs(parts[0]) && len(r.partsOf(r.last)) == 1 {
			for id, set := range r.machine.parts { // "the left front is dead, swapped the plug": not surely the machine's
				if id := circuit.PartID(id); set[singular(p.said[0])] && !slices.Contains(parts, id) {
					parts = append(parts, id)
				}
			}
		}
		if failed := r.failed(p); len(failed) > 0 && !(contact && len(parts) == 1) {
			if parts = failed; len(parts) == 1 && p.lent {
				p.where = slices.DeleteFunc(strings.Fields(fold(r.c.Part(parts[0]).Label)), func(w string) bool { return slices.Contains(p.said, w) })
			}
		} else if told := r.renewed(p); s.key == "replaced" && len(told) == 1 {
			parts = told
		}
		if p.count > 1 && p.count < len(parts) && !r.region(p) { // "replaced two burners", of four
			one := *p
			one.odd, one.all = true, false
			p = &one
		}
		if s.key == "reset" && !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return r.c.Part(id).Kind.Guards() }) {
			r.put(k.blank(OfHistory, s)) // "the red button on the top"
			continue
		}
		st := k.blank(OfHistory, s)
		if s.key == "good_elsewhere" {
			st.there = r.triedAt(strings.Fields(s.words))
			for _, p := range k.places {
				st.there = cmp.Or(r.triedAt(p.where), st.there)
			}
		}
		r.choose(p, s, r.ofParts(st, parts), k)
	}
}

// contactOf keeps of what a finding was told of the contact where one is named beside what it
// feeds, or where it stands: "the centrifugal switch does not close the heater contact", "lower
// oven: broil relay welded". Of a list it keeps all.
func (r *reader) contactOf(places []*phrase) []*phrase {
	contact := slices.IndexFunc(places, func(p *phrase) bool { return !p.joint && r.makes(p) })
	if contact < 0 {
		return places
	}
	return slices.DeleteFunc(slices.Clone(places), func(p *phrase) bool {
		beside := p != places[contact] && !p.linked && !places[contact].linked && (r.region(p) || r.ofContact(p) || len(r.parts(p, r.isLoad)) > 0)
		if beside {
			r.now.join(p.from)
			r.now.join(p.idle)
		}
		return beside
	})
}

// opensAsItShould is what is found of a contact by a word for what it does, "opens", where that
// is its work: a thermostat that does so hot is good. It is nil of what is switched, of which
// nothing tells whether it should.
func (r *reader) opensAsItShould(k *clause, s *said) *said {
	does, _, _ := strings.Cut(s.words, " ")
	if s.key != "found_bad" || !slices.ContainsFunc(r.l.bases(does), func(b base) bool { return b.by == "s" && slices.Contains(r.l.Meter.Opened, b.word) }) {
		return s
	}
	subjects := append(slices.Clone(k.subjects), k.places...)
	if len(subjects) == 0 {
		subjects = r.last
	}
	of := func(kinds ...circuit.Kind) bool {
		return slices.ContainsFunc(subjects, func(p *phrase) bool {
			parts := r.likeliest(p, r.partsFirst(p, r.isNoLoad))
			return len(parts) > 0 && slices.Contains(kinds, r.c.Part(parts[0]).Kind)
		})
	}
	switch {
	case of(circuit.KindThermostat):
		return &said{class: isHistory, key: "found_good", words: s.words, from: s.from}
	case of(circuit.KindRelay), slices.ContainsFunc(subjects, r.ofContact):
		return nil
	}
	return s
}

// triedAt is the load that the words of where a part was tried single out: "in the right
// rear socket".
func (r *reader) triedAt(words []string) string {
	var on []circuit.PartID
	for id := range r.machine.parts {
		if r.isSurface(circuit.PartID(id)) {
			on = append(on, circuit.PartID(id))
		}
	}
	said := false
	for _, w := range words {
		has := func(id circuit.PartID) bool { return r.machine.parts[id][w] || r.abbreviated(r.machine.parts[id], w) }
		if slices.ContainsFunc(on, has) {
			n := len(on)
			on = slices.DeleteFunc(on, func(id circuit.PartID) bool { return !has(id) })
			said = said || len(on) < n
		}
	}
	if !said || len(on) != 1 || len(r.machine.loads[on[0]]) != 1 {
		return ""
	}
	return r.c.Branch(r.machine.loads[on[0]][0]).Ref
}

// ofPlace are tellings of a part that say nothing where none is named.
var ofPlace = map[string]bool{"found_good": true, "found_bad": true, "looks_good": true, "shorted": true, "welded": true}
