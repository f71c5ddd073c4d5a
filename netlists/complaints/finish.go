package complaints

import (
	"cmp"
	"slices"
	"strings"

	"legtrace/circuit"
)

// finish makes statements of a clause.
func (p *parser) finish(comma bool) {
	r, k := p.r, p.k
	k.asks = p.asks
	k.not = k.not || p.neg && len(k.said) == 0 // of the clause before, where this one goes on from it
	if k.quoted && k.lost {
		k.said = nil // "says pre-heat for ever"
	}
	for len(k.subjects) > 1 && r.isMachine(k.subjects[0]) && !k.subjects[1].linked {
		r.used.join(k.subjects[0].from) // "the stove in apt 3 left front burner dead"
		k.subjects = k.subjects[1:]
	}
	if len(k.said) == 0 && len(k.subjects) > 0 {
		k.said = slices.Clone(r.heading)
	}
	if len(k.said) == 0 && k.same && !k.not && len(k.subjects) > 0 && r.lately(OfPlace) && r.seenAs != "" { // "the block is burnt and so are the prongs"
		k.said = append(k.said, said{class: isSeen, key: r.seenAs, words: strings.Join(k.words, " "), from: k.at[ofClause]})
	}
	if len(k.said) == 0 && k.aux && !k.not && len(k.subjects) > 0 && r.lastTrip != "" {
		k.said = append(k.said, said{class: isWhole, key: r.lastTrip, words: strings.Join(k.words, " "), from: k.at[pending]}) // "burners never trip it, only bake does"
	}
	was := k.from
	for was != nil && len(was.words) == 0 {
		was = was.from
	}
	if len(k.said) == 0 && k.takes && p.number && k.unit == "" && was != nil && was.formerly {
		k.amount, k.unit = p.pending, "minutes" // "used to preheat in ten minutes, now it takes 45"
		k.at[ofAmount].add(p.numberAt)
		k.said, p.number = append(k.said, said{class: isState, key: "slow", words: strings.Join(k.words, " "), from: k.at[ofAmount]}), false
	}
	if len(k.said) == 0 && k.unit == "minutes" && was != nil && was.formerly && len(k.subjects)+len(k.modes) == 0 && !k.not {
		k.said = append(k.said, said{class: isState, key: "slow", words: strings.Join(k.words, " "), from: k.at[ofAmount]}) // "used to dry in 40 minutes, now it's over two hours"
	}
	if len(k.said) == 0 {
		if key, of := p.implied(); key != "" {
			k.said = append(k.said, said{class: isState, key: key, words: strings.Join(k.words, " "), of: of, from: k.at[pending], implied: key != "off_by"})
		}
	}
	if len(k.said) == 0 {
		if k.not || k.unsaid {
			if r.withheld = true; k.verbless && len(k.subjects) > 0 {
				r.last = k.subjects
			}
		} else if !k.same {
			k.odd = k.odd || p.number || k.figure || k.unit != "" // "the upper gets 240, the lower nothing"
			r.wait(k, comma)
		}
		return
	}
	r.lastTrip = ""
	for _, s := range k.said {
		switch s.key = strings.TrimPrefix(s.key, "not:"); {
		case s.key == "no_trip":
			r.lastTrip = "trips"
		case s.trips():
			r.lastTrip = s.key
		}
	}
	unclear := r.withheld // what it goes on from was not understood
	r.withheld, r.tripped = false, slices.ContainsFunc(k.said, said.trips) || r.tripped && k.not
	if k.but && len(r.carried) > 0 {
		whole := *k
		whole.subjects, r.carried, k.except = r.carried, nil, true
		for i := range k.said {
			r.say(&whole, &k.said[i])
			k.said[i].key = negated(k.said[i].key)
		}
	}
	for _, p := range k.subjects { // "bottom oven: broil is dead"
		if with := *p; len(r.carried) == 1 && len(r.parts(p, r.isLoad)) > 1 {
			if with.where = append(slices.Clone(p.where), r.carried[0].where...); r.within([]*phrase{&with}, r.carried[0]) {
				p.where = with.where
				p.from.join(r.carried[0].from)
			}
		}
	}
	if r.headed && len(k.subjects) > 0 && !slices.ContainsFunc(r.carried, func(p *phrase) bool { return !r.isControl(p) }) {
		r.carried = nil // "display: no bake"
	}
	if again := func(p *phrase) bool {
		of := r.parts(p, anyPart)
		return len(of) > 0 && slices.ContainsFunc(k.subjects, func(o *phrase) bool { return slices.Equal(r.parts(o, anyPart), of) })
	}; slices.ContainsFunc(r.carried, again) {
		for _, p := range r.carried {
			r.used.join(p.from)
		}
		r.carried = nil // "checked sensor and plug, sensor's good"
	}
	n := len(k.subjects)
	if heat := slices.ContainsFunc(k.said, func(s said) bool { return s.of == heating }); heat && n == 0 && !slices.ContainsFunc(r.carried, func(p *phrase) bool { return !r.isLamp(p) && !(r.c.StoresHeat() && r.region(p)) }) {
		r.carried = nil // "green power light, no heat"
	}
	k.subjects = append(slices.DeleteFunc(r.carried, func(p *phrase) bool {
		in := r.within(k.subjects, p)
		if in {
			r.used.join(p.from)
		}
		return in
	}), k.subjects...)
	k.waited = len(k.subjects) - n
	if slices.Contains(k.modes, r.c.OffMode()) && slices.ContainsFunc(k.words, func(w string) bool { return r.l.alone(w).has(with) }) {
		for i, s := range k.said {
			if s.key == "since" && s.of == r.l.Verbs["heat"].Of { // "was glowing with everything off"
				k.said[i].class, k.said[i].key = isState, "normal"
			}
		}
	}
	beside := len(r.carriedMode) == 1 && len(k.subjects) > 0 && slices.ContainsFunc(k.said, func(s said) bool { return s.key == "normal" }) &&
		!slices.ContainsFunc(k.subjects, func(p *phrase) bool { return len(r.parts(p, r.isLoad)) == 0 || r.usedIn(r.carriedMode[0], p) }) // "something happens in bake, broil is OK"
	if len(k.modes) == 0 && !beside && !slices.ContainsFunc(k.subjects, r.isMachine) {
		k.modes = r.carriedMode
		k.at[ofMode].join(r.carriedAt[ofMode])
	}
	if len(k.modes) == 0 && len(k.subjects) == 1 && len(k.lead) > 0 && !r.region(k.subjects[0]) && !k.subjects[0].done {
		switch p := k.subjects[0]; {
		case r.usedIn(k.lead[0], p):
			k.modes = k.lead // "on bake the bottom one is cold and the top one glows a little"
		case len(p.nouns) == 0 && len(k.said) == 1 && k.said[0].key == "dead" && len(r.parts(p, r.isLoad)) > 0:
			r.used.join(p.from) // "on broil the top glows and the bottom is cold"
			r.used.join(k.said[0].from)
			return
		}
	}
	if k.when == "" && r.carriedWhen != "" { // "if I wiggle it, it comes on"
		k.when = r.carriedWhen
		k.at[ofWhen].join(r.carriedAt[ofWhen])
	}
	r.carried, r.carriedMode, r.carriedWhen = nil, nil, ""
	if k.except {
		for _, p := range k.subjects {
			for _, id := range r.parts(p, r.isLoad) {
				r.heard.Statements = slices.DeleteFunc(r.heard.Statements, func(s Statement) bool { return slices.Contains(r.machine.loads[id], s.Load) })
			}
		}
	}
	if p.asks {
		k.said = slices.DeleteFunc(k.said, func(s said) bool {
			return s.key == "normal" || s.key == "click" || noises[s.key] || s.class == isSeen && !warns[s.key] && !slices.ContainsFunc(slices.Concat(k.subjects, k.places), func(p *phrase) bool { return len(r.parts(p, anyPart)) > 0 })
		})
	}
	if k.ahead && !k.not && len(k.subjects) == 0 {
		k.said = slices.DeleteFunc(k.said, func(s said) bool { // "I smell gas before it lights"
			works := s.class == isState && s.key == "normal"
			if works {
				r.used.join(s.from)
			}
			return works
		})
	}
	if k.formerly {
		k.said = slices.DeleteFunc(k.said, func(s said) bool { return s.class != isHistory }) // "used to trip"
	}
	if k.theory || p.asks && len(k.subjects) == 0 && !k.it { // "is that normal?"
		loads := len(k.subjects) == 0 && !k.it || slices.ContainsFunc(k.subjects, func(p *phrase) bool { return r.isMachine(p) || len(r.parts(p, r.isLoad)) > 0 })
		k.said = slices.DeleteFunc(k.said, func(s said) bool { // "it says S1 I think", "bake is dead I think"
			return (s.class != isCode || s.code == "") && s.key != "dry" && !(k.theory && loads && (s.class == isState || s.class == isWhole))
		})
	}
	if n := len(k.said); len(k.strange) > 0 && len(k.subjects) == 0 { // it is said of something unknown
		k.said = slices.DeleteFunc(k.said, func(s said) bool {
			switch {
			case warns[s.key]:
				return false
			case s.key == "hot" && !k.lost && len(r.loadsOf(drives)) > 0: // "the clothes are too hot to hold"
				return false
			case s.key == "hot" && !k.lost && r.heatsRoom() && !slices.ContainsFunc(k.strange, func(w string) bool { return !slices.Contains(r.l.Warmed, w) }):
				return false // "the room gets hotter than what I set"
			case s.key == "dead" && s.of == heating && !k.lost && (len(k.places) > 0 || r.l.denies(s.words) && slices.ContainsFunc(k.words, func(w string) bool { return slices.Contains(r.l.Has, w) || r.l.speaks(w) })): // "the tenant has no heat in the oven"
				return false
			case s.class == isState && k.house:
				r.used.join(s.from) // "the washer works"
				return true
			case s.class == isState:
				return k.lost || !k.rest && s.key != "slow" && s.key != "off_by" && !(s.key == "runs_out" && r.c.StoresHeat()) // "the cakes take ages"
			case s.class == isSeen:
				return true // "melted a dish"
			}
			return k.lost && (s.class == isWhole || s.key == "replaced" && len(k.places) == 0)
		})
		r.withheld = len(k.said) < n
	}
	if unclear && r.done == nil && len(k.subjects)+len(k.places)+len(k.modes) == 0 && !k.it && (!k.rest || len(r.heard.Statements)+len(r.heard.Questions) == 0) {
		k.said = slices.DeleteFunc(k.said, func(s said) bool { return s.class == isState && s.key == "normal" })
	}
	if k.both && len(k.subjects) == 0 { // "the bake element was swapped, the broil element too, both are dead"
		for _, was := range r.recent {
			k.subjects = append(k.subjects, was.subjects...)
		}
		if len(k.subjects) != 2 {
			k.subjects = r.bothMetered()
		}
	}
	if k.it && k.every && len(k.subjects) == 0 && len(r.last) == 1 && len(k.said) == 1 && k.said[0].class == isState {
		if of := r.parts(r.last[0], r.isLoad); len(of) == 1 && r.isSurface(of[0]) { // "it began with the left rear, now all of them are out"
			k.subjects = []*phrase{{where: []string{"kind:surface_element"}, all: true}}
		}
	}
	if wire := func(p *phrase) bool {
		return slices.ContainsFunc(p.nouns, func(n int) bool { return r.l.Nouns[n].Coded })
	}; len(k.said) > 1 && (slices.ContainsFunc(k.subjects, wire) || slices.ContainsFunc(k.places, wire)) {
		k.said = slices.DeleteFunc(k.said, func(s said) bool { // "the black wire is loose"
			if s.class != isSeen || circuit.ColourCode(s.words) == "" {
				return false
			}
			r.used.join(s.from)
			return true
		})
	}
	r.none = k.not && k.every || r.none && k.bare
	made := len(r.heard.Statements) + len(r.heard.Questions)
	for i := range k.said {
		r.say(k, &k.said[i])
	}
	if r.mending == k { // "tightened a loose wire": it was so before
		r.mendedAt, r.mending = len(r.heard.Statements), nil
	}
	r.withheld = !k.mends && (r.withheld || made == len(r.heard.Statements)+len(r.heard.Questions))
	r.recent = append(r.recent, k)
	if len(k.subjects) > 0 && !slices.ContainsFunc(k.said, func(s said) bool {
		return (s.key == "click" || s.key == "no_click") && !slices.ContainsFunc(r.parts(k.subjects[0], r.isLoad), func(id circuit.PartID) bool { return r.c.Part(id).Kind != circuit.KindMotor })
	}) {
		if r.lastMode = circuit.None; len(r.last) == 0 || slices.ContainsFunc(k.subjects, func(p *phrase) bool { return !r.stands(p) && !p.of }) {
			r.last = r.aboutWhat(k)
		}
		if len(k.modes) > 0 {
			r.lastMode = k.modes[0]
		}
	} else if len(k.subjects) == 0 && len(k.places) > 0 {
		r.last = k.places
	}
	words := strings.Fields(strings.Join(k.words, " "))
	fails := slices.ContainsFunc(k.said, func(s said) bool { return !notAmiss[s.key] && s.class != isHistory })
	still := words
	if k.from != nil && fails {
		still = append(still, strings.Fields(strings.Join(k.from.words, " "))...) // "new igniter, still glows and no flame"
	}
	switch {
	case !r.replaced:
	case r.l.Still != "" && slices.Contains(still, r.l.Still) && (fails || len(k.said) == 0 || r.lately(OfHistory)): // not "it still spins"
		r.putHistory(k, "no_help", circuit.None)
	case r.l.Again != "" && slices.Contains(words, r.l.Again) && fails: // "new heater in March and it's not heating again"
		for _, s := range slices.Backward(r.heard.Statements) {
			if s.What == "replaced" && s.clause != k.id {
				r.putHistory(k, "failed_again", s.Part)
				break
			}
		}
	}
}

// putHistory puts down what came of what was done.
func (r *reader) putHistory(k *clause, what string, part circuit.PartID) {
	st := k.blank(OfHistory, &said{key: what})
	st.Mode, st.When, st.Part = circuit.None, "", part
	r.put(st)
}

// stands reports whether a phrase only stands for what was spoken of: "a new one".
func (r *reader) stands(p *phrase) bool {
	return len(p.nouns) == 1 && r.l.Nouns[p.nouns[0]].Pronoun && len(p.where) == 0
}

// within reports whether all that is spoken of belongs to one thing and is not all
// of it: "right front: the small ring heats".
func (r *reader) within(subjects []*phrase, p *phrase) bool {
	whole := r.parts(p, r.isLoad)
	for _, s := range subjects {
		parts := r.parts(s, r.isLoad)
		if len(parts) == 0 || len(parts) >= len(whole) || slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !slices.Contains(whole, id) }) {
			return false
		}
	}
	return len(subjects) > 0
}

// warns tells what is never withheld: it may hurt somebody, or is a noise.
var warns = map[string]bool{"shock": true, "smell": true, "gas": true, "noise": true, "squeal": true}

// noises are those of electricity, and those of what turns or expands.
var noises = map[string]bool{"noise": true, "squeal": true}

func (r *reader) say(k *clause, s *said) {
	r.saying, r.now, r.by = k, s.from, named
	stays := r.done != nil && r.done.key == "bridged" && !r.amiss() && s.class == isState && s.key == "dead" && s.of == heating
	if (s.class == isState || s.class == isHistory) && r.cameOf(k, s) && !stays { // but for "jumped the limit, still no heat"
		return
	}
	switch s.class {
	case isWhole:
		r.whole(k, s)
	case isCode:
		st := k.blank(OfWhole, s)
		st.What, st.Code = "code", cmp.Or(s.key, s.code)
		for _, p := range slices.DeleteFunc(slices.Concat(k.places, k.subjects), func(p *phrase) bool { return !r.isControl(p) && !r.shows(p, st.Code) }) {
			if r.now.join(p.from); s.code == "" && len(p.where) > 0 {
				st.Part = r.shownOf(p, st.Code) // "the lower oven shows a door code"
			}
		}
		r.sensorThere(k, &st)
		coded := slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return slices.Contains(r.l.Coded, singular(w)) })
		if st.Code == "" && (coded || !slices.ContainsFunc(k.said, func(o said) bool { return o.class == isState && o.key != "quits" || o.class == isHistory })) {
			if coded {
				r.used.join(r.now) // "shows an error code"
			}
			r.heard.Questions = append(r.heard.Questions, Question{Words: s.words, What: "code", About: OfWhole})
			return
		}
		switch {
		case st.Code == "":
		case codeMeans(r.c, st.Code) != "":
			r.put(st)
		default:
			r.used.join(r.now)
			r.askCode(st)
		}
	case isSeen:
		r.seen(k, s)
	case isHistory:
		r.history(k, s)
	case isState:
		r.state(k, s)
	}
}

// askCode asks what a code stands for that the netlist does not declare.
func (r *reader) askCode(st Statement) {
	q := Question{Words: strings.ToUpper(st.Code), What: "code", About: OfWhole}
	for _, what := range codeKinds {
		one := st
		one.Code = what
		q.Choices = append(q.Choices, Choice{strings.ReplaceAll(what, "_", " "), []Statement{one}})
	}
	r.heard.Questions = append(r.heard.Questions, q)
}

func (r *reader) put(s Statement) {
	r.count(&s)
	s.way = r.by
	r.untilOff(&s)
	if s.What == "some_on" && s.Mode == circuit.None && !r.clauses[s.clause].tillOff && r.l.switchedOff(s.Words) {
		s.Mode = r.c.OffMode() // "stays on after cancel", "won't turn off"
	}
	r.idles(&s)
	if s.What == "slow" && s.Load != circuit.None && r.c.Part(r.partOf(&s)).Kind == circuit.KindControl {
		s.About, s.Load = OfWhole, circuit.None // "the display says so and it takes long"
	}
	if (s.What == "hot" || s.What == "off_by") && s.Load != circuit.None && r.c.Part(r.partOf(&s)).Kind == circuit.KindSolenoid {
		if s.What == "hot" {
			s.side = "above" // "the oven gets too hot", whose burner is meant
		}
		s.About, s.What, s.Load = OfWhole, "off_by", circuit.None
	}
	if s.What == "off_by" && slices.Contains(r.loadsOf(drives), s.Load) {
		if s.side == "below" || s.Amount < 0 || anyIn(strings.Fields(s.Words), r.l.Meter.Cold) { // "it runs cold", of a dryer
			s.What, s.side, s.Amount = "normal", "", 0
			for _, load := range r.loadsOf(heating) {
				dead := s
				dead.What, dead.Load = "dead", load
				r.put(dead)
			}
		} else {
			s.About, s.Load = OfWhole, circuit.None
		}
	}
	if s.What == "off_by" && s.Unit == "minutes" {
		r.heard.Unknown = append(r.heard.Unknown, s.Words) // "time stuck at 40 minutes": no temperature
		return
	}
	if s.About == OfLoad && s.What == "normal" && s.Mode != circuit.None && s.Mode != r.c.OffMode() && !r.uses(s.Mode, s.Load) {
		r.heard.Unknown = append(r.heard.Unknown, s.Words) // it works where it is not used: something else is meant
		return
	}
	before := r.heard.Statements
	if x := r.exchanged; x != nil && s.About == OfLoad && s.What == "dead" {
		before = before[x.at:] // "left front dead, swapped it with the left rear, left front still dead"
	}
	if !slices.ContainsFunc(before, func(o Statement) bool {
		if s.What == "found_good" && o.What == "good_elsewhere" && s.Part == o.Part {
			return true
		}
		if s.What == "normal" && o.What == "good_elsewhere" && o.Part != circuit.None && s.Load != circuit.None && r.c.Branch(s.Load).Part == o.Part {
			return true // "it works there, so the coil is good"
		}
		o.Words, o.wording = s.Words, s.wording
		if worked := slices.IndexFunc(r.heard.Statements, func(o Statement) bool { return o.What == "works_again" }); o == s && s.What == "dead" && worked > slices.IndexFunc(r.heard.Statements, func(o Statement) bool { return o.Load == s.Load && o.What == "dead" }) {
			s.What = "intermittent" // "blew cold, then it worked again, and now cold"
			return false
		}
		return o == s
	}) {
		r.heard.Statements = append(r.heard.Statements, s)
	}
	if s.About == OfLoad && s.What == "touched" {
		r.putHandled(s)
	}
}

// switchedOff reports whether words tell that all was set to off.
func (l *Language) switchedOff(said string) bool {
	return slices.ContainsFunc(l.SwitchedOff, func(of string) bool {
		words := strings.Fields(of)
		for _, w := range strings.Fields(said) {
			if len(words) > 0 && w == words[0] {
				words = words[1:]
			}
		}
		return len(words) == 0
	})
}

// standsFor reports whether a word stands for a noun before: "one".
func (l *Language) standsFor(word string) bool {
	s, ok := l.alone(word).of(isNoun)
	return ok && l.Nouns[s.n].Pronoun
}

// partOf is the part that a statement tells of, a load's own.
func (r *reader) partOf(s *Statement) circuit.PartID {
	if s.Load != circuit.None {
		return r.c.Branch(s.Load).Part
	}
	return s.Part
}

// speaks reports whether a word is of saying.
func (l *Language) speaks(w string) bool {
	first, _, _ := strings.Cut(w, " ")
	return l.Speak != "" && (first == l.Speak || slices.ContainsFunc(l.bases(first), func(b base) bool { return b.word == l.Speak }))
}
