package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

func (p *parser) put(c class, key string, t *token, of string) bool {
	p.closePhrase()
	if n := len(p.k.said); p.just && key == "normal" && c == isState && !t.has(isVerb) && n > 0 && p.k.said[n-1].class == isState {
		p.k.said[n-1].from.add(t.at)
		return true // "dries great"
	}
	if n := len(p.k.said); p.just && key == "hot" && c == isState && !t.has(isVerb) && n > 0 && p.k.said[n-1].class == isState && p.k.said[n-1].key == "normal" && !p.k.said[n-1].plain && !p.k.said[n-1].implied {
		was := p.k.said[n-1] // "cooks crazy hot": it tells how
		p.k.said = p.k.said[:n-1]
		defer func() { p.k.said[len(p.k.said)-1].from.join(was.from) }()
	}
	if n := len(p.k.said); n > 0 && p.k.said[n-1].key == "replaced" && (key == "all_dead" || key == "dead" && slices.Contains(strings.Fields(t.text), p.r.l.Nothing)) {
		c, key = isHistory, "no_help" // "the new sensor did nothing"
	}
	if c == isWhole && p.linked && len(p.k.strange) > 0 && len(p.k.said) > 0 {
		p.next() // "it smelled like a burning rag and the lint was packed"
	}
	n := len(p.k.said)
	if c == isState && key == "normal" && n > 0 && p.k.said[n-1].trips() && len(p.k.subjects) == 0 && !p.linked {
		return true // "trips at high fire"
	}
	if c == isState && n > 0 && len(p.k.subjects) > 0 && p.prep == 0 && (p.k.after && p.k.said[n-1].key == "replaced" || of == heating && p.k.said[n-1].class == isState && p.r.l.Verbs["turn"].Of == p.k.said[n-1].of) {
		neg := p.neg // "replaced the fuse still no heat", "drum turns no heat"
		p.next()
		p.k.words, p.neg, n = []string{t.text}, neg, 0
	}
	if c == isState && key == "slow" && n == 0 && p.k.unit != "" && p.k.unit != "minutes" && p.k.side != "" && len(p.k.subjects) > 0 {
		p.next() // "50 degrees too cold and takes forever to preheat"
		p.k.it, p.k.words, n = true, []string{t.text}, 0
	}
	if c == isState && (p.k.quoted || n > 0 && p.k.said[n-1].key == "smell" && len(p.k.subjects) == 0 && !p.linked) {
		p.k.lost = true // what a display says of itself, "smells like hot plastic"
		return true
	}
	p.prep, p.head, p.joined = 0, nil, false
	if p.k.past && key == "normal" || t.has(isVerb) && key == "normal" && p.r.l.isPast(t.text) {
		// It was so once; not works again: "worked three weeks".
		key, c = "since", isHistory
		if (p.r.mended || slices.ContainsFunc(p.k.said, func(s said) bool { return s.key == "reset" || s.key == "replaced" })) && !p.r.lasted() {
			key = "works_again"
		}
	}
	if c == isHistory && p.neg && (p.no || p.k.ceased || len(p.k.subjects) > 0 && p.lastSubject().done) && len(p.k.said) == 0 && len(p.k.subjects) > 0 { // "no broil since the storm", "quit yesterday"
		p.k.said, p.neg = append(p.k.said, said{class: isState, key: "dead", words: strings.Join(p.k.words, " "), from: p.k.at[pending]}), false
		p.k.at[pending] = span{}
	}
	p.k.every = p.k.every || p.every
	from := one(t)
	if from.join(p.k.at[pending]); p.every {
		from.join(p.singles)
		p.singles = span{}
	}
	p.every, p.k.at[pending] = false, span{}
	p.k.said = append(p.k.said, said{class: c, key: key, words: t.text, of: of, plain: !t.has(isVerb) && !t.has(isStanding), past: p.happened(t), from: from})
	p.denied, p.neg, p.few, p.lasting, p.just = p.neg, false, false, false, true
	return true
}

func (p *parser) unit(t *token) {
	s, _ := t.of(isUnit)
	if minutes := s.key == "minutes" || s.key == "hours" || s.key == "seconds"; p.k.unit != "" && (p.k.unit == "minutes") != minutes && (p.k.side != "" || len(p.k.said) > 0) {
		takes, number, pending, at := p.k.takes, p.number, p.pending, p.numberAt
		p.k.takes, p.number = takes && p.k.unit == "minutes", false
		subjects := p.k.subjects
		p.next() // "50 degrees too cool and takes 40 minutes"
		p.k.takes, p.number, p.pending, p.numberAt = takes && minutes, number, pending, at
		p.k.it = len(subjects) > 0
	}
	k := p.k
	k.amount, k.unit, p.number, p.prep = p.pending, s.key, false, 0
	k.at[ofAmount].add(p.numberAt)
	k.at[ofAmount].add(t.at)
	switch s.key {
	case "hours":
		k.amount, k.unit = k.amount*60, "minutes"
	case "seconds":
		k.amount, k.unit = k.amount/60, "minutes"
	case "kilohms":
		k.amount, k.unit = k.amount*1000, "ohms"
	}
	p.lasts(t)
}

// lasts makes "takes an hour" what is said, so that another subject begins
// anew: "takes an hour to heat and the broiler glows".
func (p *parser) lasts(t *token) {
	if p.k.takes && p.k.unit == "minutes" && len(p.k.said) == 0 {
		p.closePhrase()
		p.put(isState, "slow", t, "")
	}
}

// leastDegrees is the least that a temperature is said to be off by.
const leastDegrees = 10

// other reads all that is neither noun nor number.
func (p *parser) other(t *token, rest []token) {
	k := p.k
	does, _ := t.of(isVerb)
	itself := (t.is(isState, "quits") || p.r.l.Verbs[does.key].Yes == "quits") && p.prep == 0 && !k.aux && (p.np != nil || len(k.subjects) > 0) && !ended(rest) // "the kiln shut off halfway through"
	if of := p.np; t.has(offMode) && !itself && !(p.neg && t.has(isVerb)) && !p.r.lessened(t.text) {
		if of == nil {
			of = p.lastSubject()
		}
		alone := len(k.said) == 0 && of != nil && p.setsOff(of)
		switch {
		case alone && (k.aux || ended(rest)): // "the oven is off and the element glows"
			p.closePhrase()
			k.enter(p.r.c.OffMode(), one(t))
			k.subjects, k.aux, p.prep = nil, false, 0
			p.next()
			return
		case (p.prep != 0 || t.text != "off") && (p.np != nil || len(k.said)+len(k.subjects) > 0):
			if p.np != nil && p.prep != 0 && p.setsOff(p.np) {
				p.r.used.join(p.np.from) // "with the timer off"
				p.np = nil
			}
			p.closePhrase()
			p.prep = 0
			k.enter(p.r.c.OffMode(), one(t))
			return
		case of != nil && len(k.said) == 0 && ended(rest) && p.r.isLamp(of):
			p.closePhrase()
			p.put(isState, "dead", t, "") // "pilot off, clock on"
			return
		case of != nil && len(k.said) == 0 && ended(rest):
			p.closePhrase()
			k.odd = true // "left ones off, right ones on"
			return
		}
	}
	if t.has(isSide) && p.number && t.at-p.numberAt <= 2 && k.unit == "" && p.pending >= leastDegrees { // "60 hot"
		k.amount, k.unit, p.number = p.pending, "degrees", false
		k.at[ofAmount].add(p.numberAt)
	}
	if s, ok := t.of(isSide); ok && k.unit != "" && k.unit != "minutes" && k.side == "" {
		k.side = s.key
		k.at[ofAmount].add(t.at)
		return
	}
	if s, ok := t.of(isNumber); ok {
		if p.r.l.Hours != "" && strings.Contains(t.text, p.r.l.Hours) {
			k.amount, k.unit = float64(s.n), "minutes"
			k.at[ofAmount].add(t.at)
			p.lasts(t)
			return
		}
		if p.np != nil { // "the left one"
			return
		}
		p.closePhrase()
		p.pending, p.number, p.numberAt = float64(s.n), true, t.at
		return
	}
	if p.predicate(t, rest) {
		return
	}
	p.small(t, rest)
}

// offNext reports whether what comes tells that all is off: "and the oven is off".
func (p *parser) offNext(rest []token) bool {
	var of *phrase
	for i := range rest {
		switch n := &rest[i]; {
		case n.has(offMode) && n.text == "off":
			return of != nil && (len(of.nouns) == 0 || p.setsOff(of)) && (ended(rest[i+1:]) || rest[i+1].has(isSub))
		case (n.has(isNoun) || n.has(pronoun) || n.has(its)) && of == nil:
			of = &phrase{}
			if s, ok := n.of(isNoun); ok {
				of.nouns, of.said = []int{s.n}, []string{n.text}
			}
		case !n.empty() && !n.has(aux) && !n.has(article) && !n.has(all) && !n.has(filler):
			return false
		}
	}
	return false
}

// setsOff reports whether what a phrase names is off where all is: the oven, a knob.
func (p *parser) setsOff(np *phrase) bool {
	return p.r.region(np) || p.r.isMachine(np) || p.r.turning(np) && len(p.r.loadsOf(drives)) > 0 || slices.ContainsFunc(np.nouns, func(n int) bool { return slices.Contains(p.r.l.Nouns[n].Is, "dial") }) || len(p.r.parts(np, p.r.isLoad)) == 0 && len(p.r.parts(np, anyPart)) > 0
}

// lasted reports whether a sentence that tells of a new part tells of weeks or longer: it
// held for so long, and failed anew.
func (r *reader) lasted() bool {
	return r.replaced && slices.ContainsFunc(r.tokens, func(t token) bool {
		return slices.ContainsFunc(strings.Fields(t.text), func(w string) bool { return slices.Contains(r.l.Long, singular(w)) })
	})
}

// setTo takes what a knob is set to, which tells nothing of it, and reports whether it
// did.
func (p *parser) setTo() bool {
	k := p.k
	of := slices.Concat(k.places, k.subjects)
	if p.prep != modePrep || p.np != nil || len(k.said) > 0 || len(of) != 1 || !p.r.isKnob(of[0]) {
		return false
	}
	p.r.used.join(of[0].from)
	k.subjects, k.places, p.head, p.prep = nil, nil, nil, 0
	return true
}

// isKnob reports whether a phrase names what somebody sets.
func (r *reader) isKnob(p *phrase) bool {
	return r.namesOnly(p, circuit.KindThermostat, circuit.KindSelector, circuit.KindCyclingSwitch)
}

// predicate reads a word that says something, and reports whether it did.
func (p *parser) predicate(t *token, rest []token) bool {
	k := p.k
	of := p.r.l.saidOf(t)
	if t.is(isHistory, "works_again") && p.neg && !p.no {
		p.closePhrase()
		return p.put(isState, "dead", t, of) // "it never worked again"
	}
	if s, ok := t.of(isHistory); ok && p.neg && p.np == nil && !t.has(isState) && !t.has(isSeen) && p.justDenied() {
		if key, is := deniedFinding[s.key]; is {
			if key != "" {
				return p.put(isHistory, key, t, of)
			}
			p.denies(t) // "isn't shorted", "we have not moved it"
			return true
		}
	}
	if s, ok := t.of(isHistory); ok && !(p.neg && (s.key == "works_again" || s.key == "replaced" || s.key == "looks_good")) && !(k.takes && s.key == "replaced") && !(s.key == "no_help" && t.has(isState) && !p.r.mended && p.r.done == nil) {
		if n := len(k.said); s.key == "replaced" && n > 0 && k.said[n-1].key == "replaced" && (p.np != nil || len(k.subjects) > 0) && p.prep == 0 && (ended(rest) || !rest[0].has(isNoun)) {
			p.r.used.add(t.at)
			return true // "had a new element put in"
		}
		if p.closePhrase(); s.key == "replaced" && len(k.said) > 0 && len(k.subjects) > 0 {
			p.next() // "it trips since I replaced the element"
		}
		if n := content(rest); s.key == "failed_again" && n != nil && p.r.l.nounOf(n).Trips != "" && len(k.subjects)+len(k.said) == 0 {
			return p.put(isWhole, p.r.l.nounOf(n).Trips, t, of) // "keeps blowing the breaker"
		}
		if s.key == "failed_again" && !p.r.replaced && p.keepsGoing(t) {
			return p.put(isState, "intermittent", t, of) // "the left front keeps going out"
		}
		return p.put(isHistory, s.key, t, of)
	}
	if t.has(isWhole) && (t.has(isState) || t.has(isVerb)) {
		p.closePhrase()
	}
	if s, ok := t.of(isState); ok && s.key == "hums" && t.has(isWhole) && !slices.ContainsFunc(p.r.c.Parts(), func(part circuit.Part) bool { return part.Kind == circuit.KindRelay }) {
		return p.put(isState, "hums", t, of)
	}
	if (t.is(isWhole, "all_dead") || t.is(isState, "dead") && of == "" && strings.Contains(t.text, " ")) && k.it && p.r.mended && p.r.lately(OfHistory) && len(k.subjects) == 0 && p.np == nil && ended(rest) {
		return p.put(isHistory, "no_help", t, of) // "pushed the reset and it didn't do anything"
	}
	if s, ok := t.of(isWhole); ok && (s.key == "all_dead" || s.key == "dark") && p.spokenOfPart(s.key, t, rest) {
		if len(k.subjects)+len(p.r.last) == 0 {
			of = heating // "it glows, it goes dark"
		}
		return p.put(isState, "dead", t, of)
	}
	if s, ok := t.of(isWhole); ok && s.key == "door_locked" && p.np != nil && slices.ContainsFunc(p.r.parts(p.np, p.r.isLoad), func(id circuit.PartID) bool { return p.r.c.Part(id).Kind == circuit.KindSolenoid }) {
		return p.put(isState, "dead", t, "") // "the valve won't open"
	}
	if s, ok := t.of(isWhole); ok && s.key == "door_locked" && (p.np != nil && p.r.opens(p.np) || p.np == nil && len(k.subjects) > 0 && p.r.opens(k.subjects[0]) || p.np == nil && len(k.subjects) == 0 && len(p.r.last) == 1 && p.r.opens(p.r.last[0])) {
		if p.np == nil && len(k.subjects) == 0 {
			k.subjects = p.r.last // "it stays closed, won't open on any setting"
		}
		return p.put(isState, "on", t, "") // "the thermostat never opens"
	}
	if s, ok := t.of(isWhole); ok && s.key == "all_dead" && len(rest) > 0 && (rest[0].has(placePrep) || rest[0].has(modePrep) || strings.HasSuffix(t.text, " "+p.r.l.Infinitive)) && p.partAhead(rest) {
		if slices.Contains(strings.Fields(t.text), p.r.l.Nothing) {
			return p.put(isState, "dead", t, of) // "nothing at all on broil"
		}
		if !p.r.l.denies(t.text) && !p.r.l.holdsNot(t.text) {
			return p.put(isState, "dead", t, of) // "completely dead on bake"
		}
		k.verbless = true
		return true // "no power to the lower element"
	}
	if s, ok := t.of(isWhole); ok && !(p.np != nil && t.has(isVerb) && s.key == "lights_dim") && !(t.has(isState) && len(k.subjects) > 0) {
		if p.neg {
			if s.key == "trips" && p.guards() != "" {
				return p.put(isWhole, "no_trip", t, of)
			}
			return p.put(isWhole, "not:"+s.key, t, of)
		}
		if s.key == "dark" && p.joined && len(k.subjects) > 0 && p.put(isState, "dead", t, "") { // "oven and clock dead"
			p.next()
			p.k.words = []string{t.text}
		}
		return p.put(isWhole, s.key, t, of)
	}
	if s, ok := t.of(isCode); ok {
		if p.neg { // "no codes"
			p.r.used.add(t.at)
			p.r.used.join(k.at[pending])
			p.neg, k.at[pending] = false, span{}
			return true
		}
		p.closePhrase()
		if s.key == "say" && slices.ContainsFunc(k.said, func(o said) bool { return o.class == isCode && o.code != "" }) {
			p.r.used.add(t.at)
			return true // "H1 code"
		}
		k = p.k // "the upper works and the lower one shows a code"
		if s.key == "say" && t.has(filler) && !slices.ContainsFunc(rest, func(n token) bool { return n.code }) {
			last := p.lastSubject()
			k.quoted = last != nil && strings.HasPrefix(t.text, p.r.l.Speak) && len(p.r.parts(last, anyPart)) > 0
			if k.quoted && len(k.said) == 0 && !p.neg && p.r.isControl(last) && !slices.ContainsFunc(rest, func(n token) bool { return n.has(isCode) }) {
				k.said = append(k.said, said{class: isState, key: "normal", words: t.text, from: one(t)})
			}
			return true // "says it is preheated"
		}
		if s.key == "say" {
			k.said = append(k.said, said{class: isCode, words: t.text, from: one(t)})
			return true
		}
		return p.put(isCode, s.key, t, of)
	}
	if s, ok := t.of(isCondition); ok {
		p.closePhrase()
		if p.r.l.ofDay(t.text) { // "won't come on in the morning"
			return true
		}
		k.when = s.key
		k.at[ofWhen].add(t.at)
		return true
	}
	if s, ok := t.of(isState); ok && s.key == "hums" && !p.neg && (len(p.r.loadsOf("kind:motor|kind:fan")) == 0 || p.np != nil && p.prep == 0 && p.r.joins(p.np)) {
		return p.put(isSeen, "noise", t, of)
	}
	seen, isSeen_ := t.of(isSeen)
	if s, ok := t.of(isState); ok && !(p.neg && t.has(isVerb)) {
		key := s.key
		if key == "normal" && p.neg && p.no && p.np != nil && p.np.linked && !t.has(isVerb) && len(k.subjects) > 0 { // "no bake and broil fine"
			np := p.np
			p.np = nil
			p.next()
			k, p.np, p.neg, p.no = p.k, np, false, false
			k.words = append(slices.Clone(np.words), t.text)
		}
		if p.neg {
			if key = negated(key); s.key == "hums" && len(rest) > 0 && rest[0].has(joins) {
				key = "" // "not a hum or a click"
			}
		}
		if words := strings.Fields(t.text); s.key == "full" && p.r.l.denies(t.text) { // "no low", of what has such a setting
			if m := p.settingOf(&token{text: words[len(words)-1]}); m != circuit.None {
				key = "dead"
				k.enter(m, one(t))
			}
		}
		if p.few && key == "normal" {
			key = "weak"
		}
		if key == "" {
			if s.key == "hums" && len(k.subjects) == 0 && len(k.said)+len(p.r.heard.Statements) > 0 { // "won't start, not a hum": it tells no more
				p.r.used.add(t.at)
				if p.r.used.join(k.at[pending]); len(rest) > 0 && rest[0].has(joins) {
					return true // "not a hum or a click"
				}
			}
			p.neg, k.at[pending] = false, span{}
			return true
		}
		if key == "slow" && strings.HasPrefix(t.text, p.r.l.Infinitive+" ") && p.r.l.Infinitive != "" && !k.takes && k.unit == "" && !p.few && !p.neg && !k.same {
			if slices.ContainsFunc(k.said, func(s said) bool { return s.key == "slow" }) {
				p.r.used.add(t.at) // "takes forever to preheat"
			}
			return true // "starts to preheat"
		}
		return p.put(isState, key, t, of)
	}
	if isSeen_ && p.neg && !t.has(isVerb) && p.justDenied() {
		p.denies(t) // "the plug isn't melted", "no sparks"
		return true
	}
	if isSeen_ && seen.key == "wet" && len(rest) > 0 && slices.Contains(p.r.l.Times, singular(rest[0].text)) {
		k.when = "damp" // "on damp mornings"
		k.at[ofWhen].add(t.at)
		return true
	}
	if isSeen_ && !p.neg && !(k.will && t.has(isVerb)) { // but for "will brown toast"
		p.put(isSeen, seen.key, t, of)
		words := strings.Fields(t.text)
		if n := content(rest); len(words) > 1 && p.r.l.word(words[len(words)-1]).has(placePrep) && n != nil && (n.has(isNoun) || n.has(isWhere)) && len(k.subjects) > 0 {
			p.prep = placePrep // "a spade burnt off the left front switch"
		}
		return true
	}
	k.verbless = k.verbless || isSeen_ && !t.has(isVerb) // "isn't broken"
	if s, ok := t.of(isVerb); ok {
		return p.verb(t, rest, p.r.l.Verbs[s.key], of)
	}
	return false
}

// deniedFinding is what the denial of a finding, or of what was done, says: of most
// nothing.
var deniedFinding = map[string]string{"found_bad": "found_good", "found_good": "found_bad", "welded": "found_good", "shorted": "", "crossed": "",
	"self_clean": "", "moved": "", "storm": "", "spill": "", "repair": "", "new_cord": "", "kitchen": "", "meddled": "", "dry": "", "replaced": ""}

// justDenied reports whether the word before, but for small ones, denies.
func (p *parser) justDenied() bool {
	words := p.k.words[min(p.k.denied, len(p.k.words)):]
	return len(words) > 0 && !p.k.ceased && !slices.ContainsFunc(words[:len(words)-1], func(w string) bool { return !p.r.l.skip[w] && !p.r.l.alone(w).has(pronoun) })
}

// denies takes the denial of what says nothing where it is denied.
func (p *parser) denies(t *token) {
	p.r.used.add(t.at)
	p.r.used.join(p.k.at[pending])
	p.neg, p.no, p.k.at[pending] = false, false, span{}
	p.k.unsaid, p.k.not = true, false
	for _, np := range p.k.subjects {
		p.r.used.join(np.from)
	}
}

// keepsGoing reports whether a phrase tells that what heats keeps doing something.
func (p *parser) keepsGoing(t *token) bool {
	first, _, _ := strings.Cut(t.text, " ")
	of := p.lastSubject()
	return slices.ContainsFunc(p.r.l.bases(first), func(b base) bool { return p.r.l.alone(b.word).has(keeps) }) && of != nil &&
		slices.ContainsFunc(p.r.parts(of, p.r.isLoad), func(id circuit.PartID) bool { return p.r.c.Part(id).Kind.Heats() })
}

// ofDay reports whether a condition is only a time of the day.
func (l *Language) ofDay(text string) bool {
	words := strings.Fields(text)
	return len(words) < 4 && slices.Contains(l.Times, singular(words[len(words)-1]))
}

// switched reports whether what stands before was done by somebody to what feeds the
// machine, or to it.
func (p *parser) switched() bool {
	words := strings.Fields(strings.Join(p.k.words, " "))
	for i, w := range words {
		if p.r.l.formOf(w, p.r.l.ByHand) || i > 0 && slices.Contains(p.r.l.People, words[i-1]) && p.r.l.formOf(w, p.r.l.Turned) {
			return true
		}
	}
	return false
}

// partAhead reports whether what follows in a clause names a part, not the machine.
func (p *parser) partAhead(rest []token) bool {
	for i := range rest {
		switch n := &rest[i]; {
		case n.stop, n.has(ends), n.has(joins):
			return false
		case n.has(isNoun):
			s, _ := n.of(isNoun)
			np := &phrase{nouns: []int{s.n}, said: []string{n.text}}
			return !p.r.l.nounOf(n).Machine && !(p.r.region(np) && len(p.r.parts(np, p.r.isLoad)) == len(p.r.loadsOf(heating))) // "no power at the cooktop"
		case n.has(isWhere), n.has(isMode):
			return true
		}
	}
	return false
}

// isControl reports whether a phrase names what controls the machine.
func (r *reader) isControl(p *phrase) bool {
	parts := r.parts(p, anyPart)
	return len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindControl
}

// spokenOfPart reports whether something is spoken of that is not the whole, nor
// what shows figures.
func (p *parser) spokenOfPart(key string, t *token, rest []token) bool {
	p.closePhrase()
	if key == "all_dead" && len(p.k.subjects)+len(p.r.carried) == 0 && len(rest) > 1 && rest[0].has(modePrep) && p.settingOf(&rest[1]) != circuit.None {
		return true // "heats on high, but it is stone dead on warm"
	}
	if len(p.k.subjects) == 0 && len(p.r.carried) > 0 { // "left front: nothing at all"
		return key == "all_dead" && !p.r.isMachine(p.r.carried[0])
	}
	of := p.k.subjects
	if glows := p.r.lastSaid != nil && p.r.lastSaid.of == heating; len(of) == 0 && key == "dark" && (glows || !p.k.it || len(p.r.last) == 1 && len(p.r.parts(p.r.last[0], p.r.isLoad)) == 1) {
		if of = p.r.last; len(of) == 0 && glows { // "the burner glows, goes dark", "it glows, it goes dark"
			return true
		}
	}
	if len(of) == 0 || p.r.isMachine(of[0]) || key == "dark" && len(p.r.c.Controls()) > 0 && p.r.region(of[0]) && len(of[0].where) == 0 && len(p.r.parts(of[0], p.r.isSurface)) == 0 {
		return false // "the oven went blank": what shows figures
	}
	for _, w := range strings.Fields(t.text) {
		if one := p.r.l.alone(w); one.has(isNoun) && !p.r.l.nounOf(one).Region {
			return false // "the clock is dead" names it, not "doesn't do anything"
		}
	}
	parts := p.r.parts(of[0], anyPart)
	return key != "dark" || len(parts) > 0 && (p.r.c.Part(parts[0]).Kind.Heats() || p.r.c.Part(parts[0]).Kind == circuit.KindLamp)
}
