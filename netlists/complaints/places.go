package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// withNoTrip is what a clause names with which nothing trips, but for what would trip:
// "no trip with the oven", "does not trip if I use the burners".
func (r *reader) withNoTrip(k *clause, s *said) []*phrase {
	if s.key != "not:trips" && !(s.key == "no_trip" && r.tripped) {
		return nil
	}
	guards := func(p *phrase) bool { return r.trips(p) != "" || r.isMachine(p) }
	if s.key == "not:trips" && slices.ContainsFunc(k.subjects, guards) && len(k.places)+len(k.tried) == 0 {
		return nil
	}
	of := slices.DeleteFunc(slices.Concat(k.subjects, k.places, k.tried), guards)
	if s.key == "no_trip" && len(of) > 0 && !r.region(of[0]) && r.mode(of[0]) != circuit.None {
		return nil // "the small size holds", which is a setting
	}
	return slices.DeleteFunc(of, func(p *phrase) bool { return len(r.parts(p, r.isLoad)) == 0 })
}

func (r *reader) whole(k *clause, s *said) {
	if s.key == "all_dead" {
		r.lastSaid = &said{class: isState, key: "dead"}
	}
	if d := r.done; (s.key == "not:trips" || s.key == "no_trip") && d != nil && d.key == "pulled" && r.tripped && r.cameOf(k, &said{class: isState, key: "quits", words: s.words, from: s.from}) {
		return // "took the wire off the element and it holds"
	}
	if first, _, _ := strings.Cut(s.words, " "); s.key == "door_locked" && first == r.l.Denial && len(k.subjects) > 0 && len(r.parts(k.subjects[0], anyPart)) > 0 {
		r.withheld = true // "valve coil good, not open"
		return
	}
	st := k.blank(OfWhole, s)
	if words := strings.Fields(st.Words); s.trips() && st.When == "" && (k.unit == "minutes" && k.amount >= 1 || slices.ContainsFunc(r.l.Midway, func(w string) bool { return strings.Contains(st.Words, w) }) || slices.ContainsFunc(words, r.l.minutes)) {
		st.When = "late" // "trips ten minutes into the cycle"
		r.now.join(k.at[ofAmount])
	}
	if of := r.withNoTrip(k, s); len(of) > 0 || s.key == "not:trips" && len(k.modes) > 0 && len(k.subjects) == 0 {
		one := *k
		if one.subjects, one.places = of, nil; len(k.places)+len(k.tried) > 0 {
			one.modes = nil
		}
		r.state(&one, &said{class: isState, key: "normal", words: s.words, from: s.from}) // "the grill never trips"
		if len(one.modes) < len(k.modes) {
			st.What = "no_trip" // "it doesn't trip with the burners or broil"
			r.put(st)
		}
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
		st.nameless = len(of) == 1 && len(k.modes) == 0 // "the breaker goes"
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
	if s.key == "chatters" && len(r.loadsOf("kind:surface_element")) > 0 && !slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return r.l.alone(w).has(isNoun) }) && (slices.ContainsFunc(of, r.isKnob) ||
		st.Mode != circuit.None && !slices.ContainsFunc(r.mainLoads(st.Mode), func(id circuit.BranchID) bool { return !r.onSurface(id) })) {
		r.seen(k, &said{class: isSeen, key: "noise", words: s.words, from: s.from}) // no relay works a burner
		return
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
	if st.Mode == circuit.None && s.trips() {
		st.Mode = r.startedIn(k)
	}
	if s.key == "gas" && st.Mode != circuit.None && !heatsIn(r.c, st.Mode) {
		st.Mode = circuit.None // not of the "oven light" of an oven that "won't light"
	}
	r.put(st)
	for _, st.Mode = range k.modes[min(1, len(k.modes)):] {
		r.put(st)
	}
}

// minutes reports whether a word is of several minutes or hours.
func (l *Language) minutes(w string) bool {
	t := l.alone(w)
	return (t.is(isUnit, "minutes") || t.is(isUnit, "hours")) && singular(w) != w
}

// startedIn is the mode of the button that a clause, or what tells when before it, says
// somebody pushed: "trips when I push start"; None where it tells of none.
func (r *reader) startedIn(k *clause) circuit.ModeID {
	for i := range r.tokens {
		of := r.of[i] == k.id || k.from != nil && r.of[i] == k.from.id && k.from.subbed && !k.from.made
		if !of || !r.l.pushesStart(&r.tokens[i]) {
			continue
		}
		for _, m := range r.c.Modes() {
			if m.Brief {
				r.now.add(i)
				return m.ID
			}
		}
	}
	return circuit.None
}

// opens reports whether a phrase names what opens by heat.
func (r *reader) opens(p *phrase) bool {
	parts := r.likeliest(p, r.parts(p, anyPart))
	return len(parts) > 0 && (r.ofContact(p) || !slices.ContainsFunc(parts, func(id circuit.PartID) bool {
		k := r.c.Part(id).Kind
		return k != circuit.KindLimit && k != circuit.KindThermostat && k != circuit.KindThermalFuse
	}))
}

// makes reports whether a phrase names what makes and breaks a circuit.
func (r *reader) makes(p *phrase) bool { return r.opens(p) || r.bridges(r.parts(p, anyPart)) }

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
	if len(k.places) == 1 && len(k.subjects) == 1 && slices.Contains(ofMatter, s.key) && len(k.places[0].nouns) == 1 && r.l.Nouns[k.places[0].nouns[0]].Verb && r.opens(k.subjects[0]) {
		places = k.subjects // "the selector is burnt on bake"
		r.now.join(k.places[0].from)
	}
	if len(k.places) > 1 && slices.ContainsFunc(k.said, func(o said) bool { return o.class == isState }) {
		places = k.places[:1] // "no click from the thermostat and no heat from either one"
	}
	if turning := slices.DeleteFunc(slices.Clone(k.subjects), func(p *phrase) bool { return !r.turning(p) }); noises[s.key] && len(turning) > 0 {
		places = turning // "the fan behind the panel screeches"
	}
	if s.key == "sparks" || s.key == "smell" { // "a spark under the drum": a place, no part
		places = slices.DeleteFunc(places, func(p *phrase) bool {
			driven := len(p.nouns) > 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !r.l.Nouns[n].Driven })
			if driven {
				r.now.join(p.from)
			}
			return driven
		})
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
	if at := slices.IndexFunc(r.heard.Statements, func(o Statement) bool { return o.What == "coil_fed" }); at >= 0 && len(places)+len(k.subjects) == 0 && (s.key == "click" || s.key == "no_click") {
		of := r.phraseOf(r.heard.Statements[at].Part) // "its coil has 12 V but no click"
		of.own, places = true, []*phrase{of}
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
		if places, r.by = r.lastSeen, k.carriesOn(); k.it || (len(places) == 0 || len(r.last) > 0) && noises[s.key] {
			places = slices.DeleteFunc(slices.Clone(r.last), r.isMachine)
		} else if len(places) == 0 && len(r.last) == 1 && slices.Contains(ofMatter, s.key) && len(r.parts(r.last[0], r.isLoad)) == 1 && !r.thing {
			places = r.last // "dry fired the upper, split open"
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
		if plug := r.plugBeside(parts); p.joint && plug != circuit.None && !slices.Contains(parts, plug) && anyIn(p.said, r.l.Plugs) {
			parts, joint = []circuit.PartID{plug}, false // "the sensor's connector is wet"
		}
		if own := r.companion(p); own != circuit.None {
			parts = []circuit.PartID{own}
		}
		last := r.last
		if len(k.subjects) == 1 && len(r.parts(k.subjects[0], r.isSurface)) == 1 && p != k.subjects[0] {
			last = k.subjects // "the left rear coil arcs in its block"
		}
		named := singular(p.words[0])
		if socket := r.isSocket(p) && len(p.where) == 0; socket {
			if named = "receptacle"; len(last) == 0 || len(last[0].where) == 0 {
				last = r.cornerOf(k.modes) // "when I turn on the left front it sparks where the coil plugs in"
			}
		}
		if (len(p.words) == 1 || named == "receptacle" && len(p.where) == 0) && len(last) == 1 && len(last[0].where) > 0 && p != last[0] { // "the left rear is dead, block burnt"
			at := slices.Clone(last[0].where)
			if x := r.exchanged; x != nil && x.failed != circuit.None { // "swapped with the right front, still cold, block burnt"
				at = slices.DeleteFunc([]string{"lf", "lr", "rf", "rr"}, func(w string) bool { return !r.abbreviated(r.machine.parts[x.failed], w) })
			}
			if near := r.parts(&phrase{where: append(at, named)}, anyPart); len(near) == 1 && r.machine.parts[near[0]][named] {
				parts = near
			} else if len(k.subjects) == 1 && last[0] == k.subjects[0] && len(of) > 1 && r.namesOnly(p, circuit.KindTerminalBlock) {
				r.now.join(p.from) // which the netlist has no part for
				continue
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
		choices := r.ofParts(st, parts)
		for _, c := range choices {
			c.Statements[0].Pole = r.poleTold(k, c.Statements[0].Part)
		}
		r.choose(p, s, choices, k)
	}
}

// poleTold is the one pole of a part that a clause names: "the L2 lug is burnt". It is empty
// where it names none or two.
func (r *reader) poleTold(k *clause, part circuit.PartID) (pole string) {
	for i := range r.tokens {
		if r.of[i] != k.id {
			continue
		}
		named := strings.ToUpper(r.tokens[i].text)
		if slices.Contains(strings.Fields(r.tokens[i].text), r.l.Clamp.Neutral) {
			named = "N"
		}
		of := func(t circuit.TerminalID) bool {
			at, _, _ := strings.Cut(r.c.Terminal(t).Name, ".")
			return at == named
		}
		if !r.isPole(named) || !slices.ContainsFunc(r.c.Part(part).Terminals, of) || pole == named {
			continue
		}
		if pole != "" {
			return ""
		}
		pole = named
	}
	return pole
}

// cornerOf is the burner that modes are of, nil where they are not of one.
func (r *reader) cornerOf(modes []circuit.ModeID) []*phrase {
	if len(modes) != 1 {
		return nil
	}
	for _, load := range r.mainLoads(modes[0]) {
		if part := r.c.Branch(load).Part; r.onSurface(load) && r.corner(part) != "" {
			return []*phrase{{where: []string{r.corner(part)}, words: r.nameWords(part), these: []circuit.PartID{part}}}
		}
	}
	return nil
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
