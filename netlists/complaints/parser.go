package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// parser walks the tokens of a sentence.
type parser struct {
	r *reader
	k *clause
	// np is the noun phrase that is being read, head the one before it that a
	// place may single out: "the light in the upper oven".
	np, head  *phrase
	led       *phrase // a place that begins a clause
	prep      class   // modePrep, placePrep: of the next noun phrase; 0: none
	neg       bool
	few       bool // little
	lasting   bool // keeps
	every     bool
	its       bool
	some      bool // one of, half of
	pending   float64
	number    bool
	numberAt  int  // which word it is
	singles   span // those that begin a phrase: "only", "both"
	sub       *circumstance
	odd       bool // an unknown word stands before
	joined    bool // after "and"
	linked    bool // after "and", and nothing but small words since
	only      bool
	afterIt   bool // the word before is "it"
	afterCode bool // the word before is a code
	set       bool // the word before is a setting of a knob
	denied    bool // what was said last was
	just      bool // the word before said something: "a dead panel"
	no        bool // it was denied by a word that goes with nouns
	article   bool // the word before is one
	described bool // the word before stands between an article and its noun
	// strangeVerb says that an unknown word stands where a verb may.
	strangeVerb bool
	aim         bool // the preposition tells what for
	with        bool // the preposition tells of something beside it
	inThing     bool // the word before is a thing of a circumstance: "with the door open"
	asks        bool // the clause ends in a question mark
}

// end closes a clause at a stop.
func (p *parser) end(comma bool) {
	p.closeSub()
	if p.closePhrase(); len(p.k.words)+len(p.k.subjects) > 0 {
		p.finish(comma)
	}
	was := p.k
	if *p = (parser{r: p.r, k: p.r.clause(was)}); comma {
		was.next = p.k
	}
}

// next ends what is said of these subjects and begins the same anew.
func (p *parser) next() {
	p.finish(false)
	was := p.k.at[pending] // of what comes
	p.k = p.r.clause(p.k)
	p.k.at[pending], p.k.lead = was, p.k.from.lead
}

// take reads one token; rest are those after it.
func (p *parser) take(t *token, rest []token) {
	if p.r.l.Nothing != "" && t.has(offMode) && strings.HasPrefix(t.text, p.r.l.Nothing+" ") && !ended(rest) { // "nothing on high"
		if n := len(p.k.said); n > 0 && p.np == nil {
			p.next()
		}
		on := token{text: p.r.l.On, senses: p.r.l.alone(p.r.l.On).senses, at: t.at}
		p.take(&token{text: p.r.l.Nothing, senses: p.r.l.alone(p.r.l.Nothing).senses, at: t.at}, append([]token{on}, rest...))
		p.take(&on, rest)
		return
	}
	if set := p.set; t.has(joins) && set && len(rest) > 0 && p.settingOf(&rest[0]) != circuit.None { // "on warm and low"
		p.k.words, p.prep, p.set = append(p.k.words, t.text), modePrep, false
		return
	}
	p.set = false
	if np := p.np; t.has(article) && np != nil && p.prep != 0 && p.sub == nil && len(p.k.subjects)+len(p.k.said) == 0 && p.r.singledOut(np) > 0 && len(p.r.parts(np, p.r.isSurface)) > 1 && len(rest) > 0 && p.r.l.rings(&rest[0]) {
		if p.closePhrase(); p.led != nil { // "on the left front the outer ring"
			p.r.carried, p.k.places, p.k.modes, p.led, p.prep = []*phrase{p.led}, nil, nil, nil, 0
		}
	}
	t = p.device(t, rest)
	if m := p.r.measured; m != nil && !t.has(joins) && !t.empty() {
		switch p.r.measured = nil; {
		case len(m.where) == 0 && len(p.r.last) == 1 && len(p.r.last[0].where) > 0 && len(p.r.parts(m, anyPart)) > 1: // "right rear switch burnt, 0 out of the switch, burner cold"
		case t.has(pronoun), t.has(isNoun), t.has(isHistory):
			p.r.last = []*phrase{m} // "240 across the bottom element, element cold"
		case t.is(isState, "dead") && p.np == nil && len(p.k.subjects)+len(p.k.said) == 0 && len(p.r.last) == 0:
			p.r.last = slices.DeleteFunc(slices.Clone(p.r.metered), func(np *phrase) bool { return len(p.r.parts(np, p.r.isLoad)) != 1 }) // "240 at the bake element, no heat"
		case p.np == nil && len(p.k.subjects)+len(p.k.said) == 0 && ((t.is(isState, "normal") && len(p.k.words) > 0 || t.is(isState, "weak") || p.r.l.finite(t)) && ended(rest) || slices.Contains(p.r.l.Warm, t.text)) && len(p.r.parts(m, p.r.isLoad)) == 1:
			p.k.subjects = []*phrase{m} // "motor 7.9 amps and hot to the touch", "igniter draws 2.4 A, glows"
		case p.np == nil && len(p.k.subjects)+len(p.k.said) == 0 && t.has(not) && !t.has(none) && len(rest) > 0 && rest[0].has(isVerb) && len(p.r.parts(m, p.r.isLoad)) == 1:
			p.k.subjects = []*phrase{m} // "the timer motor has 120 volts and doesn't turn"
		}
	}
	p.r.tested = p.r.tested || slices.Contains(p.r.l.Tested, t.text)
	denied := p.r.l.denies(t.text)
	switch n := len(p.k.said); {
	case p.sub != nil:
	case n == 0 && p.neg && p.joined && p.sub == nil && (t.has(not) || p.r.l.holdsNot(t.text)) && len(p.k.subjects) > 0: // "no hay pantalla y no calienta"
		p.next()
		p.neg, p.no, p.joined = false, false, false
	case n == 0 && p.k.bare && (p.np != nil || p.joined && len(p.k.subjects) > 0) && t.text == p.r.l.Denial: // "not bake not broil"
		p.closePhrase()
		p.next()
		p.neg = false
	case denied && n > 0 && p.np == nil && p.k.said[n-1].class == isWhole && len(rest) > 0 && rest[0].has(isNoun): // "clock dead no hot lights"
		p.next()
	case denied && n > 0 && p.np == nil && p.r.l.denies(p.k.said[n-1].words) && (len(p.k.subjects) > 0 || !t.has(joins)): // "no clock no light"
		p.next()
	case n == 0 && p.no && ((denied || t.has(all) && !t.has(not)) && p.np != nil && len(p.np.nouns) > 0 || p.neg && t.has(isWhole)): // "no bake, display is dark", "no hot lights every burner works"
		if p.closePhrase(); len(p.k.subjects) > 0 {
			p.next()
			p.neg, p.no = false, false
		}
	}
	if t.has(isVerb) && p.r.l.isAsIs(t.text) {
		p.r.used.add(t.at) // "the switch is on": what it is set to, not how it does
		return
	}
	if (t.text == p.r.l.Nor || t.text == p.r.l.Or && p.denied) && p.r.l.Nor != "" && len(p.k.said) > 0 && p.np == nil && p.sub == nil && len(rest) > 0 && (rest[0].has(isVerb) || rest[0].has(isState)) {
		p.neg = true // "isn't turning nor hot"
		p.k.at[pending].add(t.at)
		p.k.words = append(p.k.words, t.text)
		return
	}
	if n := slices.IndexFunc(rest, func(n token) bool { return !n.empty() && !n.has(adjective) }); t.has(only) && p.sub == nil && (p.neg && len(p.k.said) == 0 && (p.np != nil || len(p.k.subjects) > 0) || p.denied && len(p.k.said) > 0) && n >= 0 && (rest[n].has(isNoun) || rest[n].has(isWhere)) && !tells(rest[n+1:]) {
		p.closePhrase()
		p.next() // "cannot get the big ring only the inner one", "it will not bake only broil"
		p.neg, p.no, p.denied, p.k.at[pending] = false, false, false, span{}
	}
	on := !p.neg && p.turnsOn(t, rest)
	if s, ok := t.of(isVerb); on || ok && p.sub == nil && p.np == nil && len(p.k.subjects)+len(p.k.said) == 0 && !p.neg && !p.few && !p.lasting && !p.k.it &&
		len(rest) > 0 && rest[0].has(pronoun) && p.r.l.Verbs[s.key].Of != "" && slices.Contains(p.r.l.Turned, t.text) || !p.neg && p.turnsOff(t, rest) {
		p.openSub(t) // "turn it to grill, click"
		p.sub.acted, p.sub.any, p.sub.on = true, on, on
		return
	}
	if s, ok := t.of(isCircum); ok && t.has(isState) && p.sub == nil && p.np == nil && len(p.k.words) == 0 && opposite[s.key] != "" && len(rest) > 0 && rest[0].has(pronoun) && tells(rest) {
		p.k.words, p.k.when = append(p.k.words, t.text), s.key // "cold it starts, hot it won't"
		p.k.at[ofWhen].add(t.at)
		return
	}
	if t.has(isSub) && t.has(isStanding) && (p.np != nil || len(p.k.subjects) > 0) && p.sub == nil && (len(p.k.said) == 0 || p.np != nil && p.np.linked) || t.has(isSub) && t.has(isStanding) && p.k.rest && p.sub == nil { // "las hornillas sí"
		if n := content(rest); n != nil && n.has(isVerb) {
			return
		}
	} else if p.contrasts(t, rest) {
		p.end(true)
		return
	} else if t.has(isSub) && !(t.has(isUnit) && p.number) {
		p.openSub(t)
		return
	}
	if p.gerund(t, rest) {
		p.openSub(t)
		p.sub.when, p.sub.gerund = "touched", true // "tapping the panel brings it back"
		p.r.when.add(t.at)
		p.sub.from.add(t.at)
		return
	}
	if p.moved(t, rest) {
		p.openSub(t)
		p.sub.when, p.sub.acted = "touched", true
		p.r.when.add(t.at)
		p.sub.from.add(t.at)
		return
	}
	if p.sub != nil && !p.leavesSub(t, rest) {
		p.takeSub(t)
		return
	}
	brings := p.sub != nil && p.sub.gerund
	p.closeSub()
	k := p.k
	if t.has(joins) && len(k.said) > 0 && p.np == nil && p.offNext(rest) {
		t = &token{text: t.text, at: t.at, senses: []sense{{class: placePrep}, {class: with}}}
	}
	k.words = append(k.words, t.text)
	if brings {
		if k.at[ofWhen].add(t.at); slices.Contains(p.r.l.Brings, t.text) {
			k.brought = p.put(isState, "normal", t, "")
		}
		if !strings.Contains(t.text, " ") {
			return // but for "makes it heat"
		}
	}
	if k.brought && (t.has(pronoun) || " "+t.text == p.r.l.Back && ended(rest) || t.text == "up") {
		k.it = k.it || t.has(pronoun)
		p.r.used.add(t.at)
		return
	}
	if p.inThing && (t.has(isState) || t.has(isSeen)) && !t.has(isVerb) {
		return
	}
	if np := p.np; np != nil && p.prep != 0 && np.own && len(np.nouns) == 0 && t.has(isState) && !t.has(isVerb) && np.words[len(np.words)-1] == k.words[len(k.words)-2] {
		np.where, np.words = append(np.where, t.text), append(np.words, t.text) // "with the door open"
		np.from.add(t.at)
		return
	}
	p.inThing = false
	just := p.just
	p.linked = p.linked || t.has(joins)
	if t.has(joins) && p.np == nil { // "gets to 350 and the broiler"
		p.prep = 0
	}
	defer func() {
		k.aux = t.has(aux) && !t.has(not)
		p.odd, p.afterCode = p.odd && t.unknown, t.code
		p.afterIt, p.linked = t.has(pronoun), p.linked && (t.has(joins) || t.has(filler) || t.has(all))
		p.article, p.described = t.has(article) || p.article && t.empty(), p.article && len(k.said) > 0 && k.said[len(k.said)-1].words == t.text
		p.only = p.only && (t.has(only) || t.has(filler) || t.has(adjective) || t.has(isVerb) || t.has(isNumber) || t.has(someOf) || t.has(aux))
		p.just = p.just && !just || p.just && (t.has(isWhere) || t.has(filler) || t.has(someOf) || t.has(all) && !t.has(not))
	}()
	if p.joined && t.has(not) {
		p.joined = false
	}
	if down := slices.Contains(p.r.l.Down, t.text); (down || t.has(offMode) && t.text == "off") && p.neg && !p.article && p.prep == 0 && (p.np != nil || len(k.subjects) > 0) && ended(rest) {
		p.put(isState, map[bool]string{true: "full", false: "on"}[down], t, "") // "cannot shut the left front off", "turn it down"
		return
	}
	if slices.Contains(p.r.l.Both, t.text) && t.has(filler) && content(rest) != nil && content(rest).has(isNoun) &&
		(!p.r.l.nounOf(content(rest)).Pronoun || len(p.r.loadsOf(heating)) == 2) { // "no heat from either one"
		one := *t
		one.senses = []sense{{class: all}}
		t = &one
	}
	if p.neg && p.turnsOff(t, rest) { // "cannot turn the oven off"
		p.np, p.prep = nil, 0
		return
	}
	verb := p.readsVerb(t, rest)
	own := p.ownWord(t, rest)
	switch {
	case own != "": // "the cycle light"
		p.where(&token{text: t.text, senses: []sense{{class: isWhere, key: own}}})
	case t.has(same) && (p.r.lastSaid != nil || p.r.withheld) && len(k.said) == 0 && (p.np != nil || len(k.subjects)+len(k.modes) > 0):
		p.small(t, rest)
	case t.has(isVerb) && !p.neg && !p.few && p.guards() == "" && (content(rest) != nil && content(rest).isNumber || len(k.words) > 1 && k.words[len(k.words)-2] == p.r.l.Infinitive):
		// "runs 50 degrees hot", "takes long to heat"
		p.closePhrase()
		p.prep = 0
		p.k.at[ofAmount].add(t.at)
	case t.has(isVerb) && len(k.words) == 1 && len(p.r.l.bases(t.text)) == 0 && len(rest) > 0 && p.r.l.denies(rest[0].text) && !(t.has(isNoun) && rest[0].is(isState, "dead")): // "BAKE NO HEAT"
		p.r.used.add(t.at)
	case t.has(adjective) && content(rest) != nil && (content(rest).has(isNoun) || content(rest).has(adjective) || content(rest).has(its) || (t.has(isSeen) || t.has(little) && p.article) && content(rest).has(isWhere)) && !p.r.singled(t) && !(t.has(isSeen) && p.r.l.bare(content(rest))): // "the little red light"
		if t.has(little) && strings.HasPrefix(p.r.l.nounOf(content(rest)).Of, "surface") { // "the little burners"
			p.where(&token{text: t.text, senses: []sense{{class: isWhere, key: "small"}}, at: t.at})
		} else if t.has(little) {
			p.r.used.add(t.at)
		}
	case t.has(isHistory) && t.text == "new" && (len(rest) == 0 || !rest[0].has(isNoun) && !rest[0].has(isWhere)):
		if p.closePhrase(); len(k.said) == 0 && len(k.subjects) > 0 && !slices.ContainsFunc(k.subjects, func(np *phrase) bool { return p.r.isMachine(np) || len(p.r.parts(np, anyPart)) == 0 }) {
			p.put(isHistory, "replaced", t, "") // "the limit is new"
		}
	case p.prep != 0 && p.np == nil && t.has(isSeen) && circuit.ColourCode(t.text) != "" && ended(rest): // "a melted nut on the black"
		p.prep = 0
		p.r.used.add(t.at)
	case t.text == p.r.l.Clamp.Neutral && (len(rest) > 0 && p.r.l.nounOf(&rest[0]).Joint || p.np != nil && p.r.joins(p.np)):
		p.r.used.add(t.at) // "the neutral lug", "terminal block neutral"
	case t.unknown, t.has(things):
		p.unknown(t)
	case p.neg && p.np == nil && p.prep == 0 && len(k.subjects) > 0 && len(k.said) == 0 && slices.Contains(p.r.l.Settings, t.text) && p.settingOf(t) != circuit.None:
		k.enter(p.settingOf(t), one(t)) // "won't do low"
		p.set = true
	case p.listed(t, rest) && p.setting(t, rest):
	case slices.Contains(p.r.l.Settings, t.text) && len(k.words) == 1 && len(rest) > 0 && (rest[0].has(aux) || rest[0].has(joins) && len(p.r.carried) == 0 || rest[0].has(not) || rest[0].has(offMode) || rest[0].has(isVerb)):
		k.strange, k.lost = append(k.strange, t.text), true // "low is off"
	case k.lost && p.np == nil && slices.Contains(p.r.l.Settings, t.text): // "low and medium nothing", of a burner that has no such mode
		k.strange = append(k.strange, t.text)
	case p.prep != 0 && p.np == nil && t.has(filler) && t.has(isVerb): // "on any cycle"
		p.prep = 0
	case t.isNumber && p.np != nil && len(p.np.nouns) > 0 && slices.ContainsFunc(p.r.machine.parts, func(set map[string]bool) bool { return set[t.text] }):
		p.np.where, p.np.words = append(p.np.where, t.text), append(p.np.words, t.text) // "element 2"
		p.np.from.add(t.at)
	case t.isNumber && p.setTo(): // "thermostat set to 80 and both are cold"
		p.r.used.add(t.at)
	case t.isNumber:
		p.closePhrase()
		k.figure = k.figure || t.number == 0 || t.number >= leastDegrees
		p.pending, p.number, p.numberAt = t.number, true, t.at
	case t.code:
		prep := p.prep
		joint := len(rest) > 0 && p.r.l.nounOf(&rest[0]).Joint || p.head != nil && p.head.joint || p.np != nil && p.r.joins(p.np)
		if p.np == nil && len(rest) > 0 && p.r.l.nounOf(&rest[0]).Joint && p.r.isPole(t.text) && !p.partAhead(rest[1:]) { // "L1 lug brown"
			p.where(&token{text: t.text, senses: []sense{{class: isWhere, key: p.r.poleOf(t.text, p.r.l.nounOf(&rest[0]))}}, at: t.at})
			p.r.used.add(t.at)
			break
		}
		next := rest
		for len(next) > 0 && (next[0].has(aux) || next[0].has(filler)) && !next[0].has(isSeen) && next[0].text != p.r.l.Side {
			next = next[1:]
		}
		beside := joint || p.number || p.r.isPole(t.text) && p.r.poles() > 0 && (p.jointAhead(rest) || p.r.told("reads", circuit.None)) || prep != 0 && len(k.said) > 0 && k.said[len(k.said)-1].class == isSeen || prep == placePrep && len(k.words) > 2 || len(next) > 0 && (next[0].has(isSeen) || next[0].text == p.r.l.Side) || // "L2 is burnt"
			len(rest) > 0 && slices.Contains(p.r.l.Meter.Missing, rest[0].text) || // "L2 lost"
			len(rest) > 1 && slices.Contains(p.r.l.Meter.Through, rest[0].text) && slices.Contains(p.r.l.Meter.Ground, rest[1].text) // "L1 to ground"
		if p.closePhrase(); p.neg || (beside || prep != 0 || p.r.poles() > 1 || len(rest) > 0 && (rest[0].code || p.r.isPole(rest[0].text))) && p.r.isPole(t.text) || (beside || p.afterCode || slices.ContainsFunc(rest[:min(2, len(rest))], func(n token) bool { return n.code && p.r.isTerminal(n.text) })) && p.r.isTerminal(t.text) {
			if p.r.used.join(k.at[pending]); joint || p.r.isPole(t.text) && (prep != 0 || p.jointAhead(rest)) {
				p.r.used.add(t.at) // "burnt at L2"
			}
			p.neg, p.prep, k.at[pending] = false, 0, span{} // "no S1 any more", "the lug on L2"
			break
		}
		p.code(t)
	case p.np == nil && slices.Contains(p.r.l.Settings, t.text) && (p.prep == modePrep || len(k.words) > 1 && strings.HasSuffix(k.words[len(k.words)-2], " "+p.r.l.On)): // "nothing on low"
		if !p.setting(t, rest) {
			p.r.aims.add(t.at)
			p.prep = 0
		}
	case p.modeByName(t):
	case p.setting(t, rest):
	case t.has(modePrep) && t.has(isVerb) && content(rest) != nil && (content(rest).has(isNoun) || content(rest).has(isMode)):
		p.small(t, rest) // "para hornear"
	case t.has(isMode) && p.linked && p.prep == 0 && len(k.said) > 0 && len(k.subjects) > 0 && len(k.modes) == 0 && content(rest) == nil:
		was := k.said[len(k.said)-1] // "grill works and top and bottom heat too"
		p.next()
		k = p.k
		s, _ := t.of(isMode)
		k.words, k.said = []string{t.text}, []said{{class: was.class, key: was.key, of: was.of, words: was.words, from: one(t)}}
		k.enter(circuit.ModeID(s.n), one(t))
	case t.has(isMode) && p.joined && p.prep == 0 && len(k.said) == 0 && len(k.subjects) > 0:
		k.odd = true // "grill and top and bottom heat work"
	case t.has(isMode):
		p.closePhrase()
		s, _ := t.of(isMode)
		p.prep = 0
		k.enter(circuit.ModeID(s.n), one(t))
	case t.has(isUnit) && p.number:
		p.unit(t)
	case t.has(someOf) && content(rest) != nil && content(rest).has(isNoun) && p.np == nil:
		p.small(t, rest)
	case t.has(isNoun) && !verb && !(t.has(isSeen) && p.np != nil):
		p.noun(t)
	case p.poorly(t, rest):
	case t.has(isWhere) && p.r.l.skip[t.text] && ended(rest) && p.np != nil && p.prep == 0 && (p.r.isControl(p.np) || p.np.done) && len(k.said) == 0:
		p.put(isState, "normal", t, "") // "clock right", "bake right"
	case t.has(isWhere) && !t.has(isState) && !(t.has(isVerb) && p.np != nil):
		p.where(t)
	case p.standing(t, rest):
	case t.has(cease) && ceasesTo(rest), t.has(takes) && content(rest) != nil && (content(rest).isNumber || content(rest).has(isNumber)):
		p.small(t, rest)
	default:
		p.other(t, rest)
	}
}

// heads reports whether a clause before a colon says something of what is listed behind
// it, and keeps that: "burnt: heater terminal, motor plug".
func (p *parser) heads(rest []token) bool {
	p.closePhrase()
	if end := slices.IndexFunc(rest, func(n token) bool { return n.stop }); end >= 0 {
		rest = rest[:end]
	}
	k := p.k
	if p.sub != nil || len(k.modes)+len(k.places) > 0 || len(k.said) == 0 && !(k.not && len(k.subjects) > 0) ||
		slices.ContainsFunc(k.subjects, func(np *phrase) bool { return len(np.where) > 0 || !np.all && !p.r.everything(np) }) ||
		!slices.ContainsFunc(rest, func(n token) bool { return n.has(isNoun) || n.has(isWhere) }) ||
		slices.ContainsFunc(rest, func(n token) bool {
			return n.has(not) || n.has(aux) || n.has(isUnit) || n.isNumber || n.code || !n.has(isNoun) && !n.has(isWhere) && tells([]token{n})
		}) {
		return false
	}
	if len(k.said) == 0 {
		k.said = []said{{class: isState, key: "dead", words: strings.Join(k.words, " "), from: k.at[pending]}}
	}
	for _, np := range k.subjects {
		k.said[0].from.join(np.from)
	}
	p.r.heading = k.said
	*p = parser{r: p.r, k: p.r.clause(k)}
	return true
}

func (r *reader) trips(np *phrase) string {
	for _, n := range np.nouns {
		if t := r.l.Nouns[n].Trips; t != "" {
			return t
		}
	}
	return ""
}

// bare reports whether a token names a piece of metal, of which a colour is a finding.
func (l *Language) bare(t *token) bool { return l.nounOf(t).Joint && !l.nounOf(t).Coded }

// denies reports whether a phrase begins with a word like "no".
func (l *Language) denies(text string) bool {
	first, _, _ := strings.Cut(text, " ")
	return l.word(first).has(none)
}

// holdsNot reports whether a phrase holds a word that denies.
func (l *Language) holdsNot(text string) bool {
	return slices.ContainsFunc(strings.Fields(text), func(w string) bool { return l.word(w).has(not) })
}

// ended reports whether a clause ends here.
func ended(rest []token) bool {
	return len(rest) == 0 || rest[0].stop || rest[0].has(ends) || rest[0].has(joins)
}

// articled reports whether tokens begin with an article.
func articled(rest []token) bool { return len(rest) > 0 && rest[0].has(article) }
