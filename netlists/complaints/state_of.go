package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

func (r *reader) stateOf(k *clause, s *said, key string, p *phrase) {
	r.means(p)
	if key == "on" && s.key == "on" && len(k.modes) == 0 && !k.not && r.isLamp(p) && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
		return o.What == "quits" || o.What == "fails_hot"
	}) {
		key = "normal" // "turns and stops, the lights stay on"
	}
	if key == "on" && p.all && k.lasting && len(k.modes) == 0 && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
		return o.What == "quits" || o.What == "fails_hot" || o.What == "dark" || o.What == "dead" || o.What == "intermittent"
	}) {
		key = "normal" // "the screen goes dark, the burners don't quit"
	}
	if n := len(p.words); n > 0 && p.words[n-1] != r.l.Lights && strings.HasSuffix(p.words[n-1], " "+r.l.Lights) && r.lightsGas() {
		r.withheld = true // "the oven lights", which is what its burner does
		return
	}
	if about := ofLights[key]; about != "" && len(p.where) == 0 && len(p.nouns) == 1 && len(p.words) > 0 && p.words[len(p.words)-1] == r.l.Lights {
		st := k.blank(OfWhole, s)
		st.What = about
		r.put(st)
		return
	}
	if r.isMachine(p) {
		r.stateOfMachine(k, s, key, p)
		return
	}
	if p.own && len(p.nouns) == 0 && key == "dead" && slices.Contains(r.l.Ajar, s.words) && r.lettered(p.where[0]) == nil {
		if !slices.ContainsFunc(k.words, r.l.speaks) {
			r.used.join(r.now) // "door open:", not "says door open"
		}
		return
	}
	if open := key == "dead" && r.l.opened(s.words); open && r.ofContact(p) || key == "full" && r.ofContact(p) {
		r.ofPart(k, s, "found_bad", p) // "the timer's heat contact is open"
		return
	} else if open && (r.region(p) || len(p.nouns) == 0 && len(r.parts(p, r.isLoad)) > 1) {
		r.withheld = true // no oven is open
		return
	}
	parts := r.glowing(s, r.partsThat(s.of, p))
	if key == "full" && len(parts) > 0 && !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return r.c.Part(id).Kind.Heats() }) {
		r.withheld = true // no motor has a high
		return
	}
	if key == "dead" && p.none && len(p.where) == 0 && len(parts) == 1 &&
		(p.words[0] == r.l.Lights || p.words[0] == singular(r.l.Lights) && slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "all_dead" })) {
		r.withheld = true // "no lights": no sign of life, not the one lamp
		return
	}
	if on := r.loadsOf("kind:surface_element"); r.isTop(p) && len(parts) == 1 && !r.onSurface(r.machine.loads[parts[0]][0]) {
		load := r.machine.loads[parts[0]][0]
		if r.wasSaid(load, "dead") || p.all || r.spoken(func(n noun) bool { return n.Of == "oven" && n.Region }) && !r.spoken(func(n noun) bool {
			return slices.ContainsFunc(n.Is, func(is string) bool { return fits(r.machine.parts[parts[0]], is) }) && !n.Region
		}) {
			for _, load := range on {
				r.put(r.ofLoad(k, s, key, load)) // "the oven is dead, the top is fine"
			}
			return
		}
		q := Question{Words: p.words[0], What: s.key, About: OfLoad, Choices: []Choice{{r.c.Part(parts[0]).Label, []Statement{r.ofLoad(k, s, key, r.machine.loads[parts[0]][0])}}}}
		all := Choice{Label: r.c.Part(r.c.Branch(on[0]).Part).Label + " …"}
		for _, load := range on {
			all.Statements = append(all.Statements, r.ofLoad(k, s, key, load))
		}
		r.count(&all.Statements[0])
		q.Choices = append(q.Choices, all)
		r.heard.Questions = append(r.heard.Questions, q)
		return
	}
	if (key == "off_by" || key == "slow") && k.it && r.isLamp(p) {
		st := k.blank(OfWhole, s) // "its light never goes out and it never gets to temperature"
		st.What, st.side = key, r.sideOf(k, s)
		r.put(st)
		return
	}
	if key == "dead" && r.isControl(p) && len(p.said) == 1 && slices.Contains(r.l.Keys, singular(p.said[0])) && r.hasPower() {
		r.withheld = true // keys do nothing, and it shows a code: not dead
		return
	}
	if key == "hot" && slices.Contains(r.l.Lit, s.words) && len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindLamp {
		key = "normal" // "the drum light burns"
	}
	words := strings.Fields(strings.Join(k.words, " "))
	if key == "normal" && (s.words == r.l.On || slices.Contains(r.l.Lit, s.words)) && len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindLamp &&
		anyIn(words, r.l.Shut) {
		key = "on" // "the light burns with the door shut"
	}
	if (key == "quits" || key == "dead") && len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindLamp && r.l.Verbs["outs"].Yes != "" &&
		anyIn(words, r.l.Shut) && slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return w == "out" || w == "off" }) {
		key = "normal" // "the light goes out when the door is shut"
	}
	if looks := anyIn(k.words, r.l.Looks); key == "normal" && looks &&
		!slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !r.c.Part(id).Kind.Heats() }) {
		if amiss := r.failed(p); len(amiss) == 1 {
			p = r.phraseOf(amiss[0]) // "no broil, bake is good, element looks fine"
		}
		r.ofPart(k, s, "looks_good", p) // "the element looks fine"
		return
	}
	if key == "normal" && r.isSound(k, s, p, parts) {
		r.ofPart(k, s, "found_good", p) // "both elements are good, the limit is open"
		return
	}
	if key == "dead" && len(parts) > 0 && len(k.modes) == 0 && k.when == "" && !r.region(p) && r.l.opened(s.words) && len(p.said) > 0 && (r.tested || r.l.isPart(p.said[0])) && !slices.ContainsFunc(parts, func(id circuit.PartID) bool {
		return !r.c.Part(id).Kind.Heats()
	}) && !slices.ContainsFunc(k.words, func(w string) bool { return r.l.word(w).has(with) }) {
		r.ofPart(k, s, "found_bad", p) // "right rear dead, the element is open"
		return
	}
	if key == "dead" && len(parts) > 0 && anyIn(strings.Fields(strings.Join(p.said, " ")), r.l.Windings) {
		r.ofPart(k, s, "found_bad", p) // "the start winding is open"
		return
	}
	felt := anyIn(words, r.l.Touch)
	if len(parts) == 0 && key != "dead" && anyIn(words, r.l.Warm) && (r.joins(p) || felt && len(r.parts(p, anyPart)) > 0 && !r.namesOnly(p, circuit.KindCyclingSwitch, circuit.KindSelector)) { // a knob is warm of what is beside it
		r.ofPart(k, s, "feels_hot", p) // "the plug gets hot", "the thermostat feels hot"
		return
	}
	if p.own && len(parts)+len(p.nouns) == 0 && slices.ContainsFunc(r.parts(p, anyPart), func(id circuit.PartID) bool { return r.c.Part(id).Kind == circuit.KindDoorSwitch }) {
		r.withheld = true // the door is open, not its switch
		return
	}
	if about := ofPart[key]; len(parts) == 0 && about != "" && s.plain && !(key == "dead" && s.of == heating) { // not "the sensor, cold"
		r.ofPart(k, s, about, p)
		return
	}
	if key == "on" && len(parts) == 0 && r.makes(p) {
		r.ofPart(k, s, "welded", p) // "the thermostat never shuts off"
		return
	}
	if len(parts) == 0 {
		return
	}
	if r.c.Part(parts[0]).Kind == circuit.KindRelay && (key == "on" || key == "full") {
		r.ofPart(k, s, "welded", p) // what is stuck are its contacts
		return
	}
	var loads []circuit.BranchID
	for _, id := range r.likeliest(p, parts) {
		loads = append(loads, r.machine.loads[id]...)
	}
	if hot := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return !r.heats(id) }); s.of == heating && len(hot) > 0 {
		loads = hot // "the warm zone is cold": not its lamp
	}
	if alone := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return len(k.modes) == 0 || r.onSurface(id) || !r.uses(k.modes[0], id) }); len(alone) == 1 && !p.all && !p.odd {
		loads = alone // "the igniter does not glow on bake"
	}
	if len(k.modes) > 0 && k.modes[0] != r.c.OffMode() && (r.region(p) || k.sized || key == "dead" && len(p.where) > 0 && !slices.ContainsFunc(loads, func(id circuit.BranchID) bool { return !r.onSurface(id) })) {
		if used := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return !r.uses(k.modes[0], id) }); len(used) > 0 {
			loads = used
		}
	}
	if len(k.modes) == 0 && len(k.subjects) == 0 && r.lastMode != circuit.None && r.region(p) {
		if used := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return !r.uses(r.lastMode, id) }); len(used) > 0 {
			loads = used
		}
	}
	if r.region(p) && len(k.subjects) > 0 { // "broiler dead, the oven works": the rest of the oven
		rest := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool {
			return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.Load == id })
		})
		if len(rest) > 0 {
			loads = rest
		}
	}
	if key == "normal" && felt && slices.Contains(r.l.Warm, s.words) && r.turns(loads) {
		r.ofPart(k, s, "feels_hot", p) // "motor 7.9 amps and hot to the touch"
		return
	}
	if (key == "hot" || key == "off_by") && r.turns(loads) {
		if r.l.formOf(strings.Fields(s.words)[0], r.l.Baking.Burnt) {
			r.withheld = true // "burns everything no matter what I set the dial to"
			return
		}
		r.ofPart(k, s, "feels_hot", p) // a motor that gets hot does not get too much
		return
	}
	if s.of == r.l.Verbs["heat"].Of && (r.turns(loads) || len(k.subjects) == 1 && r.isControl(p)) {
		r.withheld = true // "the fan does not heat"
		return
	}
	if turned := r.loadsOf(drives + "|kind:fan"); key == "pushed" && len(r.loadsOf(drives)) > 0 && !slices.Contains(turned, loads[0]) {
		r.used.join(r.now) // "you have to turn the timer by hand"
		return
	}
	if key == "pushed" && r.heats(loads[0]) {
		return // what heats is not helped by hand
	}
	if worked := r.besideWorks(p, parts); worked != circuit.None {
		loads = r.machine.loads[worked]
	}
	if last := r.lastPart(p, parts); last != circuit.None && !r.wasSaid(r.machine.loads[last][0], negated(key)) {
		loads = r.machine.loads[last] // "the broiler ... the element"
	}
	if p.some && len(loads) == 1 && r.heats(loads[0]) && (key == "normal" || key == "dead") {
		key = "weak" // "only half of the broil element glows"
	}
	if near := slices.DeleteFunc(slices.Clone(loads), r.onSurface); p.count > 1 && p.count == len(near) {
		loads = near // "both elements glow"
	}
	if p.count > 1 && p.count != len(loads) && (r.region(p) || p.count != r.burners(loads)) && p.count != r.places(loads) {
		one := *p
		one.odd, one.all = true, false
		r.choose(&one, s, r.ofLoads(k, s, key, loads), k)
		if r.counted = (&said{key: key, of: s.of}); p.only && key == "normal" {
			one.where, one.count, one.only = nil, 0, false
			r.counted.only = &one
		}
		return
	}
	if p.only && key == "normal" && len(k.butOnly) == 0 && len(p.where) > 0 {
		kind := *p
		kind.where = nil
		k.butOnly = []*phrase{&kind}
	} else if p.only && key == "normal" && len(k.butOnly) == 0 && r.heats(loads[0]) && !r.onSurface(loads[0]) {
		k.butOnly = []*phrase{{}} // "only broil works"
	}
	if p.only && key == "normal" && len(loads) == 1 && len(k.butOnly) == 0 && (r.isControl(p) || r.machine.parts[parts[0]]["clock"]) {
		for _, load := range r.loadsOf(heating) { // "only the clock works"
			r.put(r.ofLoad(k, s, "dead", load))
		}
	}
	for _, of := range k.butOnly {
		others := r.parts(of, r.isLoad)
		if len(of.nouns)+len(of.where) == 0 { // "only the top half heats"
			for _, load := range r.loadsOf("kind:" + r.c.Part(parts[0]).Kind.String()) {
				others = append(others, r.c.Branch(load).Part)
			}
		}
		if near := slices.DeleteFunc(slices.Clone(others), func(id circuit.PartID) bool { return !r.siblings(id, parts[0]) }); len(near) > 0 {
			others = near // "the triple burner: only the middle ring"
		}
		for _, id := range others {
			if slices.ContainsFunc(k.subjects, func(o *phrase) bool { return o != p && o != of && slices.Contains(r.parts(o, r.isLoad), id) }) {
				continue // "only the left front and the right rear work"
			}
			for _, load := range r.machine.loads[id] {
				if (key == "normal" || key == "dead") && !slices.Contains(loads, load) && (len(k.modes) == 0 || r.uses(k.modes[0], load)) && (r.heats(load) || !r.heats(loads[0])) && (len(p.where) == 0 || r.onSurface(load) == r.onSurface(loads[0])) {
					r.put(r.ofLoad(k, s, negated(key), load))
				}
			}
		}
	}
	one := *p
	one.odd = p.odd || len(p.where) > 0 && len(p.nouns) > 0 && len(loads) > 1 && !slices.ContainsFunc(p.where, r.singlesOut)
	one.all = p.all || p.none && !p.odd && r.heats(loads[0]) || (len(p.nouns) == 0 || r.l.Nouns[p.nouns[0]].Pronoun && (slices.Contains(p.where, "upper") || slices.Contains(p.where, "lower")) && !slices.ContainsFunc(loads, r.onSurface)) && !p.odd && !slices.ContainsFunc(loads, func(id circuit.BranchID) bool { return !r.heats(id) }) || r.singledOut(p) > 1 && !p.odd && !slices.ContainsFunc(loads, func(id circuit.BranchID) bool {
		part := r.c.Branch(id).Part
		return part == circuit.None || r.c.Part(part).Kind != circuit.KindSurfaceElement // the coils of one place
	})
	if r.region(p) && len(loads) > 1 && r.by == named {
		r.by = region
	}
	choices := r.ofLoads(k, s, key, loads)
	any := 0
	if len(p.where) > 0 && (one.all || r.region(p)) && !p.all && key == "weak" && r.together(loads) {
		if any = len(r.heard.Statements) + 1; slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return r.l.word(w).has(restOf) }) {
			st := k.blank(OfWhole, &said{key: "rest_normal"}) // "the top is darker than the rest"
			r.put(st)
		}
	}
	for i := range choices {
		st := &choices[i].Statements[0]
		st.Any = any
		st.loosely, st.of, st.tried = r.region(p), strings.Join(p.words, " "), r.inAny(k) || r.region(p) && r.byItsName(st.Load)
		st.driven = slices.ContainsFunc(p.nouns, func(n int) bool { return r.l.Nouns[n].Driven })
		for _, load := range loads {
			if p.only && !one.all && key == "normal" && len(p.where) == 0 && r.heats(load) && load != st.Load && !r.siblings(r.c.Branch(load).Part, r.c.Branch(st.Load).Part) {
				choices[i].Statements = append(choices[i].Statements, r.ofLoad(k, s, "dead", load)) // "only one burner works"
			}
		}
	}
	r.choose(&one, s, choices, k)
}

// byItsName reports whether a sentence names what heats an oven by what is done with it:
// "nothing works in the oven, bake or broil".
func (r *reader) byItsName(load circuit.BranchID) bool {
	return slices.ContainsFunc(r.tokens, func(t token) bool {
		row := r.l.nounOf(&t)
		return t.has(isNoun) && row.Verb && !row.Region && slices.Contains(r.parts(r.phraseCalled(t.text), r.isLoad), r.c.Branch(load).Part)
	})
}

// hasPower reports whether it was said that the control shows something, or beeps.
func (r *reader) hasPower() bool {
	tells := func(what string) bool { return what == "code" || what == "beeps" || what == "flashing" }
	coded := func(t token) bool {
		return slices.ContainsFunc(strings.Fields(t.text), func(w string) bool { return slices.Contains(r.l.Coded, singular(w)) })
	}
	return slices.ContainsFunc(r.tokens, coded) || slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return tells(s.What) }) || slices.ContainsFunc(r.heard.Questions, func(q Question) bool { return tells(q.What) })
}

// isSound reports whether a phrase names what heats as the part that it is, or what nobody
// sees heat, and it is said to be good: it was tested.
func (r *reader) isSound(k *clause, s *said, p *phrase, parts []circuit.PartID) bool {
	if len(k.modes) > 0 || len(parts) == 0 || len(p.nouns) != 1 || r.region(p) || p.only || k.when != "" || k.rarely || slices.Index(r.l.Meter.Good, s.words) != 0 {
		return false
	}
	unseen := r.c.StoresHeat() || len(r.loadsOf(drives)) > 0
	return !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !r.c.Part(id).Kind.Heats() }) && (unseen || r.l.isPart(p.said[0]))
}

// opened reports whether words tell that something does not conduct, as a meter shows it.
func (l *Language) opened(words string) bool {
	first, _, _ := strings.Cut(words, " ")
	return slices.Contains(l.Meter.Opened, first)
}

// isPart reports whether a noun is of a kind of part that heats, as "element" is, not of
// what is seen of it, as "burner".
func (l *Language) isPart(said string) bool {
	words := strings.Fields(said)
	s, ok := l.alone(singular(words[len(words)-1])).of(isNoun)
	return ok && len(strings.Join(l.Nouns[s.n].Is, "|")) == len(heating) && fits(map[string]bool{"kind:element": true}, strings.Join(l.Nouns[s.n].Is, "|")) && !l.Nouns[s.n].Region && !l.Nouns[s.n].Pronoun && !l.Nouns[s.n].Machine
}

// lightsGas reports whether it is a burner of gas that lights.
func (r *reader) lightsGas() bool { return len(r.loadsOf("kind:solenoid")) > 0 }

// stateOfOthers puts a state down of all others of the kind spoken of.
func (r *reader) stateOfOthers(k *clause, s *said, key string) {
	told, asked := r.heard.Statements, []Choice(nil) // "one does not heat, the others do"
	defer func() { r.besides(asked) }()
	if r.othersThan(k, s, key) {
		return
	}
	for _, p := range r.last {
		parts := r.parts(p, r.isLoad)
		if len(parts) == 0 {
			continue
		}
		for id := range r.c.Parts() {
			if r.c.Part(circuit.PartID(id)).Kind != r.c.Part(parts[0]).Kind {
				continue
			}
			for _, load := range r.machine.loads[circuit.PartID(id)] {
				switch one := r.ofLoads(k, s, key, []circuit.BranchID{load})[0]; {
				case r.before != nil && load == r.before.load, slices.ContainsFunc(told, func(s Statement) bool { return s.Load == load || s.Part == circuit.PartID(id) && onThePart[s.What] }): // "two elements are broken, the others work"
				case r.inQuestion(one):
					asked = append(asked, one)
				default:
					r.put(one.Statements[0])
				}
			}
		}
	}
}

// glowing takes for the valves of burners the igniters beside them where it is said that
// something glows: "the broiler doesn't glow".
func (r *reader) glowing(s *said, parts []circuit.PartID) []circuit.PartID {
	if !r.lightsGas() || s.words == "" || !r.l.formOf(strings.Fields(s.words)[0], []string{r.l.Glow}) {
		return parts
	}
	var out []circuit.PartID
	for _, id := range parts {
		at := slices.IndexFunc(r.c.Parts(), func(p circuit.Part) bool {
			return p.Kind.Heats() && r.isLoad(p.ID) && r.placeOf(p.ID) == r.placeOf(id)
		})
		if r.c.Part(id).Kind == circuit.KindSolenoid && at >= 0 {
			id = circuit.PartID(at)
		}
		out = append(out, id)
	}
	return out
}

func (r *reader) ofLoad(k *clause, s *said, key string, load circuit.BranchID) Statement {
	st := k.blank(OfLoad, s)
	st.What, st.Load, st.general = key, load, s.of == "" && !s.plain
	if part := r.c.Branch(load).Part; key == "on" && part != circuit.None && (r.c.Part(part).Kind == circuit.KindControl || r.machine.parts[part]["clock"]) {
		st.What = "normal" // "the clock is still on"
	}
	if other := st.Mode != circuit.None && r.heats(load) && !r.uses(st.Mode, load); other && key != "dead" && st.Mode != r.c.OffMode() && r.onSurface(load) {
		st.Mode = circuit.None // what is on beside it is another's
	} else if other && key == "normal" {
		st.What = "on" // it should not, there
	}
	if key == "slow" || key == "off_by" {
		st.Amount, st.Unit, st.side = r.signed(k, s), k.unit, r.sideOf(k, s)
	}
	if key == "fails_hot" || key == "fails_cold" || key == "touched" {
		st.When = ""
	}
	return st
}
