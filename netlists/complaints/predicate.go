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
	if c == isState && key == "weak" && n > 0 && p.k.said[n-1].key == "full" && slices.Contains(p.r.l.Settings, t.text) {
		p.k.said[n-1].from.add(t.at) // "won't go down to low"
		return true
	}
	if c == isState && (p.k.quoted || n > 0 && p.k.said[n-1].key == "smell" && len(p.k.subjects) == 0 && !p.linked) {
		p.k.lost = true // what a display says of itself, "smells like hot plastic"
		return true
	}
	p.prep, p.head, p.joined = 0, nil, false
	if (p.k.past && key == "normal" || t.has(isVerb) && key == "normal" && p.r.l.isPast(t.text)) && !p.touchedThen(t) {
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
		case of == nil && !ended(rest) && len(k.said)+len(k.subjects) == 0 && strings.Contains(t.text, " "): // "with everything off it trips"
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
	if s, ok := t.of(isHistory); ok && s.key == "moved" && p.np == nil && p.sub == nil && len(k.said) > 0 && k.said[len(k.said)-1].key == "normal" && p.r.l.word(strings.Fields(t.text)[0]).has(isSub) && p.moves(rest) {
		k.when = "touched" // "the left front came on when I moved it"
		k.at[ofWhen].add(t.at)
		return true
	}
	if s, ok := t.of(isHistory); ok && !(p.neg && (s.key == "works_again" || s.key == "replaced" || s.key == "looks_good")) && !(k.takes && s.key == "replaced") && !(s.key == "no_help" && t.has(isState) && !p.r.mended && p.r.done == nil) {
		if n := len(k.said); s.key == "replaced" && n > 0 && k.said[n-1].key == "replaced" && (p.np != nil || len(k.subjects) > 0) && p.prep == 0 && (ended(rest) || !rest[0].has(isNoun)) {
			p.r.used.add(t.at)
			return true // "had a new element put in"
		}
		if p.closePhrase(); s.key == "replaced" && len(k.said) > 0 && (len(k.subjects) > 0 || p.linked && k.said[len(k.said)-1].class == isState) {
			p.next() // "it trips since I replaced the element"
		}
		if n := content(rest); s.key == "failed_again" && n != nil && p.r.l.nounOf(n).Trips != "" && len(k.subjects)+len(k.said) == 0 {
			return p.put(isWhole, p.r.l.nounOf(n).Trips, t, of) // "keeps blowing the breaker"
		}
		if s.key == "failed_again" && !p.r.replaced && p.keepsGoing(t) {
			return p.put(isState, "intermittent", t, of) // "the left front keeps going out"
		}
		p.put(isHistory, s.key, t, of)
		if words := strings.Fields(t.text); p.r.putsIt(t.text) && slices.Contains(p.r.l.Meter.In, words[len(words)-1]) && !slices.ContainsFunc(rest[:min(longestName, len(rest))], func(n token) bool { return n.has(things) }) {
			p.prep = placePrep // "put it in the right front"
		}
		return true
	}
	if t.is(isState, "dead") && p.r.l.formOf(strings.Fields(t.text)[0], p.r.l.Verbs["pops"].Say) && k.it && p.np == nil && len(k.subjects) == 0 && p.r.fuseRenewed() {
		return p.put(isHistory, "failed_again", t, of) // "put a new fuse in and it blew"
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
	if s, ok := t.of(isWhole); ok && s.key == "door_locked" && (p.np != nil && p.r.makes(p.np) || p.np == nil && len(k.subjects) > 0 && p.r.makes(k.subjects[0]) || p.np == nil && len(k.subjects) == 0 && len(p.r.last) == 1 && p.r.opens(p.r.last[0])) {
		if p.np == nil && len(k.subjects) == 0 {
			k.subjects = p.r.last // "it stays closed, won't open on any setting"
		}
		if first, open, _ := strings.Cut(t.text, " "); first == p.r.l.Denial && slices.Contains(p.r.l.Meter.Opened, open) {
			return p.put(isHistory, "found_good", t, "") // "the limit is not open"
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
	if t.is(isState, "on") && !p.neg && p.guards() != "" {
		return p.put(isWhole, "no_trip", t, of) // "the breaker stays on"
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
