package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// device keeps of a token what it means of what trips, where such a thing is
// spoken of, and takes it away elsewhere: "the breaker goes", "pops the breaker".
func (p *parser) device(t *token, rest []token) *token {
	says := func(s sense) bool { return s.class == isVerb && p.r.l.Verbs[s.key].Device }
	if !slices.ContainsFunc(t.senses, says) {
		return t
	}
	one := *t
	next := content(rest)
	s, _ := t.of(isVerb)
	it := next != nil && next.has(pronoun) && slices.ContainsFunc(p.r.last, func(np *phrase) bool { return p.r.trips(np) != "" })
	holds := p.r.l.Verbs[s.key].Yes == "no_trip" && p.r.l.formOf(t.text, p.r.l.Verbs[s.key].Say[:1]) && slices.ContainsFunc(p.r.heard.Statements, func(s Statement) bool { return strings.HasPrefix(s.What, "trips") }) // "trips on bake; holds on broil"
	words := strings.Fields(strings.Join(p.k.words, " "))
	byHand := len(words) > 0 && slices.Contains(p.r.l.People, words[len(words)-1]) && p.r.l.formOf(t.text, p.r.l.ByHand)
	if !byHand && (p.guards() != "" || it || holds || p.r.l.Verbs[s.key].Yes != "no_trip" && next != nil && p.r.l.nounOf(next).Trips != "") { // not "had to throw the breaker"
		one.senses = slices.DeleteFunc(slices.Clone(t.senses), func(s sense) bool { return !says(s) })
	} else {
		one.senses = slices.DeleteFunc(slices.Clone(t.senses), says)
	}
	for _, b := range p.r.l.bases(t.text) {
		if base := p.r.l.word(b.word); base != nil && len(one.senses) == 0 {
			one.senses = slices.DeleteFunc(slices.Clone(base.senses), says)
		}
	}
	one.unknown = len(one.senses) == 0
	return &one
}

// guards tells what the subject of a clause does where it opens, if it is a breaker
// or the like.
func (p *parser) guards() string {
	np := p.np
	if of := p.lastSubject(); np == nil || p.prep != 0 && of != nil && (p.r.isMachine(np) || p.r.region(np)) {
		np = of // "the breaker of the dryer"
	}
	if np == nil && (p.k.it || len(p.k.words) < 3 && len(p.k.said) == 0) && len(p.r.last) == 1 {
		np = p.r.last[0] // "replaced the fuse and it blew", "swapped the breaker, still pops"
	}
	if np == nil {
		return ""
	}
	return p.r.trips(np)
}

// readsVerb reports whether a word that is noun and verb is a verb here: "the
// burners heat", "the bulb doesn't light"; "it won't bake" speaks of bake.
func (p *parser) readsVerb(t *token, rest []token) bool {
	k, row := p.k, p.r.l.nounOf(t)
	switch {
	case len(rest) > 0 && rest[0].has(isNoun) && p.r.machine.pairs[t.text+" "+rest[0].text]:
		return false // "heat lamp"
	case t.has(isVerb) && p.afterIt:
		return !row.merges() || !strings.HasSuffix(t.text, "s") // "it broils" speaks of broil
	case t.has(isVerb) && k.aux && p.np != nil && len(p.np.nouns) == 0:
		return true // "right rear does heat"
	case t.has(isVerb) && !t.plural && !p.neg && p.np != nil && len(p.np.nouns) == 0 && len(p.np.where) > 0 && p.np.linked && p.prep == 0 && len(k.subjects) > 0 && len(k.said) == 0 && !row.merges() && (len(rest) == 0 || rest[0].stop || rest[0].has(ends)):
		return true // "top and bottom heat, middle doesn't"
	case !t.has(isVerb) || p.np != nil && len(p.np.nouns) == 0 && len(p.np.where) > 0:
		return false
	case row.Verb && !row.merges() && p.np != nil && len(p.np.nouns) > 0 && p.prep == 0 && strings.HasSuffix(t.text, "s") && !tells(rest):
		return true // "the bulb lights"
	case !row.Verb && (p.np != nil || len(k.subjects) > 0 && len(k.said) == 0 && p.prep == 0):
		return true
	case p.lasting && row.merges() && p.np == nil && p.prep == 0 && len(k.subjects) > 0:
		return true // "the oven keeps baking"
	case p.np != nil || p.prep != 0 || t.plural && !(k.rarely && !tells(rest)) && !(p.neg && !p.no && !p.every) || row.merges():
		return false
	}
	return k.past || k.will && t.text == singular(p.r.l.Lights) && p.r.lightsGas() || p.few || p.lasting || k.rarely || p.neg && !p.no || k.aux && (len(k.subjects) > 0 || !row.Verb)
}

// merges reports whether a noun is what is done by what it names: "bake".
func (n noun) merges() bool {
	return n.Verb && slices.ContainsFunc(n.Is, func(f string) bool { return strings.Contains(f, "kind:element") })
}

// content is the next token that is not small, nil at the end of a clause.
func content(rest []token) *token {
	for i := range rest {
		switch n := &rest[i]; {
		case n.stop || n.has(ends):
			return nil
		case n.empty():
			continue
		default:
			return n
		}
	}
	return nil
}

// tells reports whether something is said in what comes of a clause.
func tells(rest []token) bool {
	for i := range rest {
		n := &rest[i]
		if n.stop || n.has(ends) || n.has(isSub) {
			return false
		}
		if n.has(isVerb) || n.has(isState) || n.has(isWhole) || n.has(isSeen) || n.has(not) || n.has(aux) || n.has(isStanding) || n.has(little) || n.has(isHistory) {
			return true
		}
	}
	return false
}

// saysMore reports whether something is said of another in what comes of a clause, or that
// it is as was said before: "and so does the clock".
func saysMore(rest []token) bool {
	end := slices.IndexFunc(rest, func(n token) bool { return n.stop || n.has(ends) || n.has(isSub) })
	if end < 0 {
		end = len(rest)
	}
	names := func(n token) bool { return n.has(isNoun) || n.has(isWhere) || n.has(pronoun) || n.has(same) }
	at := slices.IndexFunc(rest[:end], names)
	return at >= 0 && !slices.ContainsFunc(rest[:at], func(n token) bool { return n.has(isState) || n.has(isSeen) || n.has(isHistory) }) &&
		(tells(rest[at:]) || slices.ContainsFunc(rest[:end], func(n token) bool { return n.has(same) }))
}

// ceasesTo reports whether what comes is that which ceases: "stopped heating".
func ceasesTo(rest []token) bool {
	n := content(rest)
	return n != nil && (n.has(isVerb) || n.has(isNoun) && !n.has(isSub))
}

// turnsOff reports whether a word begins what was done to turn something off: "turned
// the dial to off".
func (p *parser) turnsOff(t *token, rest []token) bool {
	turned := p.r.l.formOf(t.text, p.r.l.Turned)
	if !turned || p.sub != nil || p.np != nil || len(p.k.subjects)+len(p.k.said) > 0 || p.lasting || p.k.it {
		return false
	}
	named := false
	for i := range rest {
		switch n := &rest[i]; {
		case n.stop, n.has(ends), n.has(joins), n.has(not):
			return false
		case n.has(offMode), slices.Contains(p.r.l.Down, n.text):
			return named
		case n.has(isNoun), n.has(isWhere):
			named = true
		}
	}
	return false
}

// turnsOn reports whether a word begins what was done to turn something on: "turn it
// on and nothing", "turned the power on".
func (p *parser) turnsOn(t *token, rest []token) bool {
	words := strings.Fields(t.text)
	if !p.r.l.formOf(words[0], p.r.l.Turned) || p.sub != nil || p.np != nil || len(p.k.subjects)+len(p.k.said) > 0 || p.lasting || p.few || p.k.it || p.k.will {
		return false
	}
	if len(words) == 3 {
		return p.r.l.alone(words[1]).has(pronoun) && words[2] == p.r.l.On
	}
	named := false
	for i := range rest {
		switch n := &rest[i]; {
		case n.stop, n.has(ends), n.has(joins), n.has(not), n.has(with), n.has(always):
			return false // "ran all night with the heat on"
		case n.has(isVerb) && strings.HasSuffix(n.text, " "+p.r.l.On):
			return true
		case n.text == p.r.l.On && !ended(rest[i:]):
			return named && ended(rest[i+1:])
		case n.has(isNoun), n.has(isWhere):
			named = true
		}
	}
	return false
}

// isAsIs reports whether a phrase tells by a noun and "is" what something is set to: "switch is on".
func (l *Language) isAsIs(text string) bool {
	words := strings.Fields(text)
	return len(words) == 3 && l.alone(words[0]).has(isNoun) && l.alone(words[1]).has(aux) && words[2] == l.On
}

func (p *parser) verb(t *token, rest []token, v verb, of string) bool {
	if of == p.r.l.Verbs["turn"].Of && !p.neg && len(rest) > 0 && rest[0].has(isSeen) && circuit.ColourCode(rest[0].text) != "" {
		p.r.used.add(t.at)
		return true // "it's turning brown"
	}
	key := v.Yes
	switch {
	case p.neg:
		key = v.No
	case p.few:
		key = v.Little
	case p.lasting && key == "normal" && !(len(rest) > 0 && rest[0].is(isState, "dead") && of != heating): // but for "keeps tumbling cold"
		key = "on"
	}
	switch key {
	case "trips", "no_trip":
		return p.put(isWhole, key, t, of)
	case "click", "no_click":
		return p.put(isSeen, key, t, of)
	case "":
		return false
	}
	return p.put(isState, key, t, of)
}

// poorly takes a word of how well something is done that it is denied with, which is not to
// say that it is not done: "doesn't heat properly", "not baking right".
func (p *parser) poorly(t *token, rest []token) bool {
	n := content(rest)
	if !slices.Contains(p.r.l.Properly, t.text) || t.has(isWhere) && n != nil && (n.has(isNoun) || n.has(isWhere)) {
		return false
	}
	said := p.k.said
	switch last := len(said) - 1; {
	case last >= 0 && p.denied && p.just && p.np == nil && said[last].class == isState && said[last].key == "dead":
		said[last].key = "weak"
		said[last].from.add(t.at)
		return true
	case last < 0 && p.neg && p.np != nil && p.np.done:
		return p.put(isState, "weak", t, "")
	}
	return false
}

// happened reports whether a word tells what its one subject did on an occasion.
func (p *parser) happened(t *token) bool {
	of := p.lastSubject()
	return p.r.l.isPast(t.text) && !(of != nil && of.all)
}

// isPast reports whether a verb stands in the past.
func (l *Language) isPast(text string) bool {
	first, _, _ := strings.Cut(text, " ")
	return slices.Contains(l.Happened, first) || slices.ContainsFunc(l.bases(first), func(b base) bool { return slices.Contains(l.Past, b.by) })
}

// saidOf is what a phrase can only be said of: what heats, where it speaks of
// heat; what turns, where it hums.
func (l *Language) saidOf(t *token) string {
	for _, s := range t.senses {
		if s.class == isVerb && l.Verbs[s.key].Of != "" {
			return l.Verbs[s.key].Of
		}
		if s.class == isVerb {
			return ""
		}
	}
	state, _ := t.of(isState)
	if state.key == "touched" || state.key == "fails_hot" && l.word(strings.Fields(t.text)[0]).is(isState, "quits") {
		return "" // "works if I push on it" turns nothing, "stops when hot" is not of its heat
	}
	for _, w := range strings.Fields(t.text) {
		// "turn down" turns nothing
		down := state.key == "full" || state.key == "on" || state.key == "quits" || state.key == "intermittent"
		for _, b := range append([]base{{w, ""}}, l.bases(w)...) {
			if of := l.ofVerb[b.word]; of != "" && (!down || of == heating || l.Verbs[b.word].Of == "") {
				return of
			}
		}
	}
	return ""
}

func negated(state string) string { return denied[state] }

// denied is what the denial of a state says; of others it says nothing.
var denied = map[string]string{"normal": "dead", "hot": "weak", "dead": "normal", "quits": "on", "on": "dead", "full": "normal", "hums": "dead"}

// lessened reports whether a phrase tells of a tank's thermostat that it was set lower,
// which is not off.
func (r *reader) lessened(text string) bool {
	words := strings.Fields(text)
	return r.c.StoresHeat() && len(words) > 1 && slices.Contains(r.l.Down, words[len(words)-1])
}
