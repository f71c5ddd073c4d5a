package complaints

import (
	"cmp"
	"slices"
	"strings"

	"legtrace/circuit"
)

func (r *reader) whole(k *clause, s *said) {
	if s.key == "all_dead" {
		r.lastSaid = &said{class: isState, key: "dead"}
	}
	st := k.blank(OfWhole, s)
	if s.key == "not:trips" && len(k.modes)+len(k.subjects) > 0 && !slices.ContainsFunc(k.subjects, func(p *phrase) bool { return r.trips(p) != "" || r.isMachine(p) }) {
		r.state(k, &said{class: isState, key: "normal", words: s.words, from: s.from}) // "the grill never trips"
		return
	}
	if limits := slices.DeleteFunc(slices.Clone(k.subjects), func(p *phrase) bool { return !r.opens(p) }); (s.key == "not:trips" || s.key == "no_trip") && len(limits) > 0 && len(limits) == len(k.subjects) && theLimit(r.c) == circuit.None {
		r.history(k, &said{class: isHistory, key: "found_good", words: s.words, from: s.from}) // "the limit isn't tripped"
		return
	}
	if what, not := strings.CutPrefix(s.key, "not:"); not {
		if st.What = "no_trip"; what == "trips" {
			r.put(st)
		}
		return
	}
	// "lights dim" of a machine's own lamp is a state of that lamp.
	of := append(slices.Clone(k.subjects), k.places...)
	if len(of) == 0 && (k.it || s.trips() && len(r.last) == 1 && r.trips(r.last[0]) != "") {
		of = r.last
	}
	if limits := slices.DeleteFunc(slices.Clone(of), func(p *phrase) bool { return !r.opens(p) }); s.key == "trips" && len(limits) > 0 {
		one := *k
		one.subjects, one.places = limits, nil
		r.history(&one, &said{class: isHistory, key: "found_bad", words: s.words, from: s.from}) // "the limit tripped"
		return
	}
	if len(of) > 0 && s.trips() && r.trips(of[0]) != "" {
		r.now.join(of[0].from)
		if s.key == "trips" {
			st.What = r.trips(of[0])
		}
	} else if st.Mode == circuit.None && len(of) > 0 && !r.region(of[0]) && s.key != "dark" && s.key != "flashing" {
		if st.Mode = r.mode(of[0]); k.it && r.c.StoresHeat() {
			st.Mode = circuit.None // "the lower element is wet and it trips": the heater does
		} else if st.Mode != circuit.None && len(of[0].nouns) == 0 && !of[0].own {
			st.Mode = r.regionMode(s.key, of[0]) // "the lower trips the breaker"
		}
		if st.Mode != circuit.None {
			r.now.join(of[0].from)
		}
	} else if len(of) > 0 && (s.trips() || s.key == "all_dead") && (r.region(of[0]) || r.isMachine(of[0])) {
		r.now.join(of[0].from) // with whichever of what is in it
	}
	if s.key == "shock" || s.key == "lint" || s.key == "chatters" {
		for _, p := range of {
			r.now.join(p.from) // wherever it is felt
			r.now.join(p.idle)
		}
	}
	if s.key == "dark" && len(r.c.Controls()) == 0 {
		for _, load := range r.loadsOf("clock") {
			r.put(r.ofLoad(k, s, "dead", load))
		}
		return
	}
	r.put(st)
	for _, st.Mode = range k.modes[min(1, len(k.modes)):] {
		r.put(st)
	}
}

// opens reports whether a phrase names what opens by heat.
func (r *reader) opens(p *phrase) bool {
	parts := r.likeliest(p, r.parts(p, anyPart))
	return len(parts) > 0 && (r.ofContact(p) || !slices.ContainsFunc(parts, func(id circuit.PartID) bool {
		k := r.c.Part(id).Kind
		return k != circuit.KindLimit && k != circuit.KindThermostat && k != circuit.KindThermalFuse
	}))
}

// seen puts down what was seen, heard or smelt, at each place named.
func (r *reader) seen(k *clause, s *said) {
	places := slices.DeleteFunc(append(slices.Clone(k.places), k.subjects...), r.isMachine)
	if len(r.loadsOf("kind:surface_element")) == 0 {
		places = slices.DeleteFunc(places, func(p *phrase) bool { // "the dryer sparked at the back": a side, no part
			return len(p.where) == 1 && (p.where[0] == "rear" || p.where[0] == "front") && !slices.ContainsFunc(p.nouns, func(n int) bool { return !r.l.Nouns[n].Machine })
		})
	}
	if len(k.places) == 1 && len(k.subjects) == 1 && len(k.subjects[0].where) == 0 && r.namesOnly(k.subjects[0], circuit.KindConnector) && !r.joins(k.places[0]) && len(r.parts(k.places[0], anyPart)) > 0 {
		places = k.places // "the plug at the board is loose"
		r.now.join(k.subjects[0].from)
	}
	if len(k.places) == 1 && len(k.subjects) == 1 && len(k.subjects[0].where) == 0 {
		if at, of := r.parts(k.places[0], anyPart), r.parts(k.subjects[0], anyPart); len(at) == 1 && len(of) > 1 && slices.Contains(of, at[0]) {
			places = k.places // "wire nut melted in the wall box"
			r.now.join(k.subjects[0].from)
		}
	}
	if len(k.places) == 1 && len(k.subjects) == 1 && k.places[0].joint && !k.subjects[0].joint && len(k.places[0].nouns) > 1 && slices.Contains(ofMatter, s.key) && len(r.parts(k.subjects[0], anyPart)) > 0 {
		places = k.subjects // "the selector is burnt at the bake terminal"
		r.now.join(k.places[0].from)
	}
	if len(k.places) > 1 && slices.ContainsFunc(k.said, func(o said) bool { return o.class == isState }) {
		places = k.places[:1] // "no click from the thermostat and no heat from either one"
	}
	if turning := slices.DeleteFunc(slices.Clone(k.subjects), func(p *phrase) bool { return !r.turning(p) }); noises[s.key] && len(turning) > 0 {
		places = turning // "the fan behind the panel screeches"
	}
	if s.key == "sparks" && slices.ContainsFunc(k.said, func(o said) bool { return o.class == isCode }) {
		r.used.join(s.from) // "S1 flashes"
		return
	}
	if s.key == "squeal" && len(places) > 0 && (len(places[0].nouns) > 0 || len(places[0].where) > 1 || len(places[0].where) == 1 && corners[places[0].where[0]]) && len(r.parts(places[0], anyPart)) > 0 && !r.opens(places[0]) && !slices.ContainsFunc(r.parts(places[0], r.isLoad), func(id circuit.PartID) bool { return !r.isSurface(id) }) {
		s = &said{class: isSeen, key: "noise", words: s.words, from: s.from} // what does not move crackles
	}
	if s.key == "noise" && len(k.subjects) > 0 && r.l.formOf(strings.Fields(s.words)[0], r.l.Verbs["pops"].Say) && r.opens(k.subjects[0]) && !r.isKnob(k.subjects[0]) {
		r.history(k, &said{class: isHistory, key: "found_bad", words: s.words, from: s.from}) // "the limit pops"
		return
	}
	if n := len(r.heard.Statements); n > 0 && r.heard.Statements[n-1].What == "reset" && len(places) == 0 && r.c.StoresHeat() && (s.key == "click" || s.key == "no_click") {
		s = &said{class: isHistory, key: map[string]string{"click": "popped", "no_click": "unpopped"}[s.key], words: s.words, from: s.from}
		r.history(k, s) // "pushed the reset, it doesn't click"
		return
	}
	if slices.Contains(ofMatter, s.key) && (k.rest || slices.ContainsFunc(k.subjects, func(p *phrase) bool { return r.region(p) && !p.joint })) {
		r.withheld = true // "the oven scorches the bread"
		return
	}
	if (s.key == "wet" || slices.Contains(ofMatter, s.key)) && r.thing && !slices.ContainsFunc(places, func(p *phrase) bool { return len(p.nouns) > 0 }) {
		r.withheld = true // "the pizza is burnt on top"
		return
	}
	if len(places) == 0 && len(k.subjects) == 0 {
		if places, r.by = r.lastSeen, k.carriesOn(); k.it || len(places) == 0 && noises[s.key] {
			places = slices.DeleteFunc(slices.Clone(r.last), r.isMachine)
		}
	}
	if len(places) == 0 {
		r.put(k.blank(OfPlace, s))
		return
	}
	joint := slices.ContainsFunc(places, func(p *phrase) bool {
		return slices.ContainsFunc(p.nouns, func(n int) bool { return r.l.Nouns[n].Joint && !r.l.Nouns[n].Itself })
	})
	for _, p := range places {
		if p.joint || s.key == "stiff" {
			r.now.join(p.from) // "a lug brown", wherever
		}
	}
	places = slices.DeleteFunc(slices.Clone(places), func(p *phrase) bool {
		leaks := s.key == "wet" && r.c.StoresHeat() // "the tank leaks from the bottom"
		if (!leaks || len(p.nouns) > 0 && !r.l.Nouns[p.nouns[0]].Machine) && (len(p.nouns) > 0 || p.own || len(r.parts(p, r.isLoad)) == 1 || len(k.subjects) > 0 && p == k.subjects[0]) {
			return false
		}
		if s.key == "wet" && r.c.StoresHeat() {
			r.now.join(p.from) // "leaking at the bottom"
		}
		return true // "at the back"
	})
	if len(places) == 0 {
		r.put(k.blank(OfPlace, s))
		return
	}
	of := slices.DeleteFunc(slices.Clone(places), func(p *phrase) bool {
		return len(p.where) == 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !r.l.Nouns[n].Joint })
	})
	if len(of) == 0 {
		if of = r.prongs(places); len(of) == 0 {
			of, r.by = r.last, goesOn
		}
		if len(of) == 0 {
			st := k.blank(OfPlace, s)
			st.Joint = joint
			r.put(st)
			return
		}
	}
	r.lastSeen, r.seenAs = of, s.key
	for _, p := range of {
		first := r.isLoad
		if s.key == "squeal" {
			first = func(id circuit.PartID) bool {
				k := r.c.Part(id).Kind
				return k == circuit.KindFan || k == circuit.KindMotor
			}
			if len(r.parts(p, first)) == 0 {
				first = r.isLoad
			}
		}
		if s.key == "click" || s.key == "no_click" || s.key != "stiff" && r.ofContact(p) || slices.Contains(ofMatter, s.key) && r.namesOnly(p, circuit.KindSelector) {
			first = r.isNoLoad
		}
		parts := r.likeliest(p, r.partsFirst(p, first))
		if own := r.companion(p); own != circuit.None {
			parts = []circuit.PartID{own}
		}
		if len(p.words) == 1 && len(r.last) == 1 && len(r.last[0].where) > 0 && p != r.last[0] { // "the left rear is dead, block burnt"
			at := slices.Clone(r.last[0].where)
			if x := r.exchanged; x != nil { // "swapped with the right front, still cold, block burnt"
				at = slices.DeleteFunc([]string{"lf", "lr", "rf", "rr"}, func(w string) bool { return !r.abbreviated(r.machine.parts[r.c.Branch(x.failed).Part], w) })
			}
			if near := r.parts(&phrase{where: append(at, singular(p.words[0]))}, anyPart); len(near) == 1 && r.machine.parts[near[0]][singular(p.words[0])] {
				parts = near
			}
		}
		if p.none && len(parts) > 1 && s.key == "no_click" && len(k.modes) == 0 { // "no relay clicks"
			every := *p
			every.all = true
			p = &every
		}
		if len(parts) == 0 || (s.key == "click" || s.key == "no_click") && (r.region(p) || r.isControl(p)) {
			r.means(p)
			r.put(k.blank(OfPlace, s))
			continue
		}
		if s.key == "smell" && r.region(p) && r.c.StoresHeat() {
			r.withheld = true // the water smells
			continue
		}
		if len(parts) > 1 && r.region(p) {
			r.now.join(p.from)
			r.put(k.blank(OfPlace, s)) // "sparks under the glass"
			continue
		}
		st := k.blank(OfPlace, s)
		st.Joint = joint
		r.choose(p, s, r.ofParts(st, parts), k)
	}
}

// prongs is the plug that prongs are of which nothing else was named.
func (r *reader) prongs(places []*phrase) []*phrase {
	if !slices.ContainsFunc(places, func(p *phrase) bool {
		return anyIn(p.said, r.l.Prongs)
	}) || len(r.last) > 0 && slices.ContainsFunc(r.parts(r.last[0], anyPart), func(id circuit.PartID) bool { return !r.fedByLegs(id) }) && !r.isMachine(r.last[0]) {
		return nil
	}
	for id := range r.c.Parts() {
		if part := circuit.PartID(id); r.c.Part(part).Kind == circuit.KindConnector && r.fedByLegs(part) {
			plug := r.phraseOf(part)
			plug.from = places[0].from
			return []*phrase{plug}
		}
	}
	return nil
}

// limited reports whether a reset was spoken of in a machine whose one limit has it.
func (r *reader) limited() bool {
	said := func(what string) bool {
		return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == what })
	}
	return theLimit(r.c) != circuit.None && said("reset") && !said("trips")
}

// ofMatter is what is seen of a thing itself.
var ofMatter = []string{"burnt", "melted", "discoloured", "parted", "blistered"}

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
	if s.key == "works_again" && strings.HasSuffix(s.words, r.l.Back) && r.l.Back != "" && len(k.subjects) == 0 && r.ofCode() {
		r.used.join(r.now) // "shows S1, I cancel it and it comes back"
		return
	}
	if s.key == "works_again" && !r.mended && !slices.Contains(r.l.Shut, strings.Fields(s.words)[0]) && !slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What != "storm" && s.What != "click" && s.What != "normal" }) && len(r.heard.Questions) == 0 {
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
	if s.key == "no_help" && !r.mended && r.done == nil && len(r.heard.Statements)+len(r.heard.Questions) == 0 || s.key == "no_help" && r.lastSaid != nil && r.lastSaid.key == "normal" && slices.ContainsFunc(k.said, func(o said) bool { return o.key == "normal" }) && !r.mended {
		r.used.join(r.now) // "works just the same as ever"
		return
	}
	if came[s.key] != nil {
		r.attempt(k, s)
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
	if s.key == "replaced" && r.l.Swap != "" && strings.HasPrefix(s.words, r.l.Swap) && !(len(k.subjects) > 0 && r.isPronounOf(k.subjects[0]) && !k.subjects[0].all) && r.exchange(k) {
		return
	}
	if s.key == "replaced" && len(k.places) > 0 && strings.HasPrefix(s.words, r.l.Swap) && r.l.Swap != "" {
		if r.done = nil; len(k.subjects) > 0 && r.isPronounOf(k.subjects[0]) {
			for _, p := range slices.Concat(k.subjects, k.places) {
				s.from.join(p.from)
			}
			r.done = &attempt{"swapped", r.last, s.words, s.from, k, false}
		}
		return // tried in each other's place: what came of it follows
	}
	if vain := slices.ContainsFunc(k.said, func(o said) bool { return o.key == "no_help" }); s.key == "replaced" && r.l.Swap != "" && strings.HasPrefix(s.words, r.l.Swap) && (len(k.subjects) > 1 || !vain && anyIn(k.words, r.l.Into)) {
		r.trade(k.subjects, s.from)
		return // "swapped it into the left front", "swapped the left front and the left rear"
	}
	if s.key == "good_elsewhere" && len(k.places) > 0 { // "swapped with the rear one": that is where it was tried
		if places = k.subjects; len(places) == 0 {
			places = r.last
		}
	}
	if s.key == "like_works_here" && len(places) == 2 {
		r.trade(places, s.from) // "swapped the two relays and the fault moved"
	}
	if s.key == "like_works_here" && len(places) != 1 && r.moved(k, s) {
		return
	}
	r.replaced = r.replaced || s.key == "replaced"
	if s.key == "replaced" || s.key == "reset" || s.key == "repair" {
		r.mend()
	}
	if len(places) == 0 && s.key != "reset" && !(len(k.strange) > 0 && ofPlace[s.key]) { // not "the doodad reads open"
		if places, r.by = r.last, k.carriesOn(); s.key == "replaced" {
			places = r.atFault(places)
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
		if r.ofContact(p) {
			first = r.isNoLoad // "timer contact OL"
		}
		parts := r.likeliest(p, r.spokenOf(p, r.partsFirst(p, first)))
		if own := r.companion(p); own != circuit.None {
			parts = []circuit.PartID{own}
		}
		if failed := r.failed(p); len(failed) > 0 {
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

// spokenOf keeps of several parts the one that was spoken of before: "its coil".
func (r *reader) spokenOf(p *phrase, parts []circuit.PartID) []circuit.PartID {
	if len(r.last) != 1 || len(parts) < 2 && (len(p.where) > 0 || len(p.nouns) != 1 || p.all || p.joint) {
		return parts
	}
	before := r.parts(r.last[0], r.isLoad)
	if len(before) == 1 && (slices.Contains(parts, before[0]) || len(p.nouns) == 1 && len(p.where) == 0 && slices.ContainsFunc(r.l.Nouns[p.nouns[0]].Is, func(is string) bool { return fits(r.machine.parts[before[0]], is) })) {
		return before // "the timer motor does not turn, its winding is open"
	}
	return parts
}

// companion is the plug or socket, named by that alone, of the part that was spoken of
// last: "the sensor reads open, plug is good". None where there is none.
func (r *reader) companion(p *phrase) circuit.PartID {
	last := r.last
	if len(last) == 0 {
		last = r.metered[max(0, len(r.metered)-1):]
	}
	bare := *p
	if bare.nouns, bare.said = nil, nil; p.joint { // "pins in the plug"
		for i, n := range p.nouns {
			if !r.l.Nouns[n].Joint {
				bare.nouns, bare.said = append(bare.nouns, n), append(bare.said, p.said[i])
			}
		}
		p = &bare
	}
	if len(last) != 1 || len(p.where) > 0 && !p.lent || len(p.nouns) != 1 || p.all || !r.namesOnly(p, circuit.KindConnector) {
		return circuit.None
	}
	of := r.partsFirst(last[0], r.isLoad)
	if len(of) != 1 {
		return circuit.None
	}
	own := strings.Split(r.c.Part(of[0]).Name, "_")
	var those []circuit.PartID
	for i, set := range r.machine.parts {
		id := circuit.PartID(i)
		if r.c.Part(id).Kind == circuit.KindConnector && id != of[0] && set[singular(p.said[0])] && anyIn(strings.Split(r.c.Part(id).Name, "_"), own) {
			those = append(those, id)
		}
	}
	return r.nearest(those, of[0])
}

// failed are the parts that a bare noun may mean and that were said not to work,
// beside what does: "no bake, broil works; element replaced".
func (r *reader) failed(p *phrase) []circuit.PartID {
	if len(p.where) > 0 && !p.lent || p.its || p.odd || p.count > 0 || r.isMachine(p) {
		return nil
	}
	bare := *p
	bare.where = nil
	return slices.DeleteFunc(r.parts(&bare, r.isLoad), func(id circuit.PartID) bool {
		return !slices.ContainsFunc(r.machine.loads[id], func(load circuit.BranchID) bool { return r.wasSaid(load, "dead") || r.wasSaid(load, "weak") })
	})
}

// likeliest keeps of several parts the one whose name holds nothing that was
// not said, or the only one that heats.
func (r *reader) likeliest(p *phrase, parts []circuit.PartID) []circuit.PartID {
	if len(parts) < 2 || p.all || r.region(p) {
		return parts
	}
	said := map[string]bool{}
	for _, w := range p.words {
		for _, f := range strings.Fields(w) {
			said[singular(f)] = true
		}
	}
	for i, n := range p.nouns { // "foco del horno", in another language than the labels'
		if is := r.l.Nouns[n].Is; len(is) > 0 && strings.Contains(p.said[i], " ") {
			for _, f := range strings.Split(is[0], "+") {
				said[f] = true
			}
		}
	}
	var exact, heating []circuit.PartID
	for _, id := range parts {
		extra := false
		for _, w := range strings.Fields(fold(r.c.Part(id).Label)) {
			kind := strings.Contains(r.c.Part(id).Kind.String(), singular(w))
			extra = extra || !said[singular(w)] && !kind
		}
		if !extra {
			exact = append(exact, id)
		}
		if r.c.Part(id).Kind.Heats() {
			heating = append(heating, id)
		}
	}
	switch {
	case p.odd && !(len(exact) == 1 && fold(r.c.Part(exact[0]).Label) == strings.Join(p.words, " ")):
	case len(exact) == 1:
		return exact
	case len(heating) == 1:
		return heating
	}
	return parts
}

// ofParts are a statement of each part, with its label.
func (r *reader) ofParts(st Statement, parts []circuit.PartID) (out []Choice) {
	for _, st.Part = range parts {
		out = append(out, Choice{r.c.Part(st.Part).Label, []Statement{st}})
	}
	return out
}

// ofLoads are a state of each load, with its label.
func (r *reader) ofLoads(k *clause, s *said, key string, loads []circuit.BranchID) (out []Choice) {
	for _, load := range loads {
		out = append(out, Choice{r.c.Label(load), []Statement{r.ofLoad(k, s, key, load)}})
	}
	return out
}

// asks reports whether it was asked already which of these, or of some of them, is meant.
func (r *reader) asks(choices []Choice) bool {
	n := len(r.heard.Questions)
	return n > 0 && !slices.ContainsFunc(r.heard.Questions[n-1].Choices, func(a Choice) bool {
		return !slices.ContainsFunc(choices, func(b Choice) bool { return a.Label == b.Label })
	})
}

// inQuestion reports whether it was asked last if this is meant.
func (r *reader) inQuestion(c Choice) bool {
	n := len(r.heard.Questions)
	return n > 0 && slices.ContainsFunc(r.heard.Questions[n-1].Choices, func(o Choice) bool { return o.Label == c.Label })
}

// besides puts down with each answer to what was asked last how the others of it behave.
func (r *reader) besides(others []Choice) {
	if len(others) == 0 {
		return
	}
	q := &r.heard.Questions[len(r.heard.Questions)-1]
	for i, c := range q.Choices {
		for _, o := range others {
			if o.Label != c.Label && r.inQuestion(o) {
				r.count(&o.Statements[0])
				q.Choices[i].Statements = append(q.Choices[i].Statements, o.Statements[0])
			}
		}
	}
}

// choose puts down one statement, or all where all are meant, or asks which.
func (r *reader) choose(p *phrase, s *said, choices []Choice, k *clause) {
	r.means(p)
	switch {
	case len(choices) == 0:
	case p.trail != "" && slices.Contains(append(k.places, k.subjects...), p) && len(choices) == 1 && (choices[0].Statements[0].Load == circuit.None || len(p.nouns) == 0): // "wire at the upper doodad"
		r.count(&choices[0].Statements[0])
		r.heard.Questions = append(r.heard.Questions, Question{Words: strings.Join(p.words, " "), What: s.key, About: choices[0].Statements[0].About, Choices: choices, Doubt: p.trail})
	case k.other && len(choices) > 1 && r.asks(choices): // "one is dead, the other works": which was asked
		r.besides(choices)
	case len(choices) == 1 || (p.all || r.region(p)) && !p.odd:
		for _, c := range choices {
			r.put(c.Statements[0])
		}
	default:
		if len(choices) > mostChoices && len(p.nouns) == 0 && choices[0].Statements[0].Load != circuit.None {
			if of := r.grouped(choices); len(of) > 1 {
				choices = of
			}
		}
		for _, c := range choices {
			r.count(&c.Statements[0])
		}
		r.heard.Questions = append(r.heard.Questions, Question{Words: strings.Join(p.words, " "), What: s.key, About: choices[0].Statements[0].About, Choices: choices})
	}
}

// mostChoices is of how many one is asked at most where none was named.
const mostChoices = 5

// grouped makes of one choice for each load one for the oven and one for the cooktop.
func (r *reader) grouped(choices []Choice) []Choice {
	groups := []Choice{{Label: r.l.Say["the_oven"]}, {Label: r.l.Say["the_cooktop"]}}
	for _, c := range choices {
		g := &groups[0]
		if r.onSurface(c.Statements[0].Load) {
			g = &groups[1]
		}
		g.Statements = append(g.Statements, c.Statements...)
	}
	return slices.DeleteFunc(groups, func(c Choice) bool { return len(c.Statements) == 0 })
}

// thatQuit are the loads that were said to stop by themselves, or to be dead as well.
func (r *reader) thatQuit(dead bool) (out []circuit.BranchID) {
	for _, s := range r.heard.Statements {
		switch {
		case s.Load != circuit.None && (s.What == "quits" || dead && s.What == "dead"):
			out = append(out, s.Load)
		case dead && s.What == "dark" && len(r.c.Controls()) > 0:
			out = append(out, r.c.Controls()[0].Supply)
		}
	}
	return out
}
