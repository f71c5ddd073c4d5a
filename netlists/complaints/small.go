package complaints

import (
	"slices"
	"strings"
)

// small reads the small words.
func (p *parser) small(t *token, rest []token) {
	k, wasAux := p.k, p.k.aux
	switch {
	case t.has(sometimes) && slices.Contains(strings.Fields(t.text), p.r.l.On) && p.switched(): // "flipped the breaker off and on"
		p.put(isHistory, "reset", t, "")
	case t.has(sometimes) && len(rest) > 0 && rest[0].isNumber: // "sometimes 300 sometimes 450"
		p.r.used.add(t.at)
	case t.has(sometimes):
		p.closePhrase()
		k.rarely = true
		k.at[ofRarely].add(t.at)
	case t.has(always) && p.neg && len(k.said) == 0: // "doesn't always heat"
		p.neg, k.rarely = false, true
		k.at[ofRarely].join(k.at[pending])
		k.at[ofRarely].add(t.at)
		k.at[pending] = span{}
	case t.has(all) && !t.has(not) && p.neg && p.np == nil && len(k.subjects) > 0 && len(k.said) == 0: // "they don't all work"
		of := k.subjects[len(k.subjects)-1]
		of.all, of.odd = false, true
		p.singles.add(t.at)
	case t.has(not) && k.rarely && len(k.said) > 0 && ended(rest):
		p.r.used.add(t.at) // "sometimes it works, sometimes not"
	case t.has(cease) && p.neg: // "won't stop heating"
		p.neg, p.lasting, k.lasting, k.not = false, true, true, false
		k.at[pending].add(t.at)
	case t.has(not) && t.has(all) && len(k.said) > 0 && k.said[len(k.said)-1].class == isSeen && p.np == nil && !tells(rest):
		k.said = k.said[:len(k.said)-1] // "smell nothing"
	case t.has(not), t.has(cease):
		p.closePhrase()
		if p.linked && t.has(all) && len(p.k.said) > 0 && tells(rest) {
			p.next() // "it smells and nothing heats"
		}
		k = p.k
		if len(k.said) > 0 && k.said[len(k.said)-1].key == "dead" && t.has(none) && t.has(all) && !tells(rest) { // "no prende ni una hornilla"
			p.every = true
			p.singles.add(t.at)
			p.begin()
			return
		}
		k.at[pending].add(t.at)
		p.neg, k.not, p.no, k.ceased, k.happened = true, true, t.has(none), t.has(cease), t.has(cease) && p.happened(t)
		k.isNot, k.before = t.has(isNot) && (t.text != p.r.l.Denial || wasAux || k.it), len(k.subjects)
		k.denied = len(k.words)
		k.bare = t.text == p.r.l.Denial && !wasAux && !(len(rest) > 0 && (rest[0].text == p.r.l.Even || len(k.subjects) > 0 && len(k.said) == 0 && p.r.l.going(rest[0].text))) // but for "oven not baking"
		p.every = p.every || t.has(all)
	case t.has(will):
		p.closePhrase()
		k.will = true
	case t.has(past):
		p.closePhrase()
		if slices.Contains(p.r.l.Formerly, t.text) {
			if len(k.said) > 0 { // "takes an hour, used to be ten minutes"
				p.next()
				k = p.k
			}
			k.formerly = true
		}
		k.past, k.odd = true, true
	case t.has(only) && p.np != nil && p.prep == 0 && len(k.said) > 0 && len(k.subjects) > 0 && ended(rest): // "heats the small ring only"
		p.np.only = true
		p.np.from.add(t.at)
	case t.has(only):
		if p.closePhrase(); p.led != nil && len(k.subjects)+len(k.said) == 0 && p.r.singledOut(p.led) > 0 {
			p.r.carried, k.places, k.modes, p.led = []*phrase{p.led}, nil, nil, nil // "on the right front only the small ring glows"
		}
		p.only, p.prep = true, 0
		p.singles.add(t.at)
	case t.has(thinks):
		k.theory = true
	case t.has(keeps):
		p.closePhrase()
		p.lasting, k.lasting = true, true
		k.at[pending].add(t.at)
	case t.has(takes):
		p.closePhrase()
		k.takes = true
		k.at[ofAmount].add(t.at)
	case t.has(someOf) && content(rest) != nil && (content(rest).has(isNoun) || content(rest).has(isWhere)):
		p.closePhrase()
		p.some = true
		p.singles.add(t.at)
	case t.has(little):
		p.closePhrase()
		if n := len(p.k.said); n > 0 && p.k.said[n-1].class == isState && p.k.said[n-1].key == "normal" {
			p.k.said[n-1].key = "weak" // "heats poorly"
			p.k.said[n-1].from.add(t.at)
			return
		}
		p.few = true
		k.at[pending].add(t.at)
	case t.has(same) && p.r.mended && k.it && len(k.subjects)+len(k.said)+len(k.modes) == 0 && p.np == nil && ended(rest):
		p.put(isHistory, "no_help", t, "") // "changed the sensor and it's the same"
	case t.has(same):
		if p.closePhrase(); len(k.said) > 0 && p.linked { // "the oven is dead and so is the clock"
			p.next()
		}
		p.k.same = true
		p.k.at[ofClause].add(t.at)
	case t.has(restOf):
		if p.closePhrase(); len(k.said) > 0 && (len(k.subjects) > 0 || !ended(rest)) { // not "dead otherwise"
			p.next()
		}
		p.k.at[ofClause].add(t.at)
		p.k.rest, p.k.others = true, slices.Contains(strings.Fields(t.text), p.r.l.Others) && len(p.r.last) > 0 && !p.r.isMachine(p.r.last[0])
	case t.has(joins):
		if p.neg && p.np != nil && t.text == p.r.l.And && slices.Contains(k.words, p.r.l.Hear) && tells(rest) { // "never hear the fan and the oven heats"
			p.closePhrase()
			p.next()
			p.neg = false
			return
		}
		if p.np != nil && p.prep == 0 && !p.neg && p.np.finite && len(k.said)+len(k.subjects) == 0 && (p.r.l.subject(rest) || articled(rest) && tells(rest)) { // "it broils and the clock is dead"
			p.closePhrase()
			p.next()
			return
		}
		if p.np != nil && p.prep == 0 && p.neg && len(k.said) == 0 && (p.np.done && !p.no && p.r.l.another(t, rest) || p.no && !p.every && t.text == p.r.l.And && (p.r.l.clauseAhead(rest) || p.r.l.subject(rest) || articled(rest) && tells(rest))) { // "it won't broil and the light is out"
			p.closePhrase()
			p.next()
			p.neg, p.no = false, false
			return
		}
		if p.np != nil && p.prep != 0 && len(k.said) > 0 && (p.r.l.subject(rest) || articled(rest) && k.said[len(k.said)-1].class == isState && tells(rest)) { // "won't heat on bake or broil and the clock quit"
			p.closePhrase()
			p.next()
			return
		}
		p.join()
	case t.has(modePrep), t.has(placePrep):
		if next := content(rest); p.number && p.pending < leastDegrees && p.np == nil && !(k.both && next != nil && next.has(pronoun)) && (len(p.r.last) > 0 || next != nil && next.has(isWhere)) { // "the two in back"
			p.begin()
			if len(p.r.last) > 0 {
				p.np.nouns, p.np.said, p.np.words = p.r.last[0].nouns, p.r.last[0].said, slices.Clone(p.r.last[0].said)
			} else {
				p.np.where = []string{"kind:surface_element"}
			}
		}
		p.closePhrase()
		p.prep, p.with, p.aim = placePrep, t.has(with), t.has(aim)
		if t.has(modePrep) {
			p.prep = modePrep
		}
	case t.has(someOf):
		p.closePhrase()
		p.some = true
		p.singles.add(t.at)
	case t.has(all):
		p.closePhrase()
		if p.every = true; slices.Contains(p.r.l.Both, t.text) {
			k.both = true
			p.number, p.pending, p.numberAt = true, 2, t.at
		}
		p.singles.add(t.at)
	case t.has(pronoun) && len(p.r.last) == 0 && len(k.subjects)+len(k.said) == 0 && p.r.l.ofOne(t):
		k.strange, k.lost = append(k.strange, t.text), true // "that one is dead", of what was not understood
	case t.has(pronoun) && p.prep != 0 && len(k.said) == 0 && p.ofThat(t):
		p.prep = 0
	case t.has(pronoun) && p.prep == placePrep && len(k.strange) > 0 && len(k.said) == 0:
		p.prep = 0 // "the washer beside it is fine"
	case t.has(pronoun):
		object := len(k.said) > 0 && k.said[len(k.said)-1].class != isState && k.said[len(k.said)-1].class != isWhole
		if len(k.said) > 0 && (!object || p.linked) || len(k.strange) > 0 || len(k.modes) > 0 && len(k.subjects) > 0 {
			p.closePhrase()
			p.next()
			p.k.words, p.prep = append(p.k.words, t.text), 0
		}
		p.k.it, p.afterIt = true, true
		p.k.partly, p.some = p.k.partly || p.some, false
	case t.has(its):
		p.its = true
	case t.has(aux):
		k.odd = k.odd || t.has(past) || len(k.subjects) > 0
	case t.text == singular(p.r.l.Others) && (len(p.r.last) > 0 || p.r.tripped) && severalNext(rest) && len(p.r.heard.Questions) == 0:
		p.closePhrase()
		k.rest, k.others = true, true
		k.at[ofClause].add(t.at)
	case t.text == singular(p.r.l.Others):
		p.some, k.other = true, true // which one is asked
		p.singles.add(t.at)
	case t.has(filler) && !p.r.l.skip[t.text] && !t.has(article):
		if words := strings.Fields(t.text); p.aim && p.prep != 0 && p.np == nil && !p.r.l.word(words[len(words)-1]).has(isUnit) {
			p.r.aims.add(t.at) // "hot for a day"
		}
		if k.odd, k.verbless = k.odd || len(k.words) > 1, k.verbless || p.neg && len(k.subjects) > 0 && !k.ceased && !(p.np != nil && p.np.done) && !p.r.l.word(t.text).has(isVerb) && !slices.Contains(p.r.l.Both, t.text); p.np == nil {
			p.prep = 0
		}
	case t.has(filler), t.has(always), t.has(isSide), t.has(isCircum), t.has(isStanding), t.has(offMode), t.has(isUnit):
	default:
		p.closePhrase()
	}
}

// ofThat gives a region the place of what was spoken of, "heat on that one", and reports
// whether it did.
func (p *parser) ofThat(t *token) bool {
	of := p.lastSubject()
	if !p.r.l.ofOne(t) || of == nil || len(of.where) > 0 || !p.r.region(of) || len(p.r.last) != 1 {
		return false
	}
	one := *of
	one.where, one.nouns, one.said = p.r.last[0].where, nil, nil
	if len(one.where) == 0 || len(p.r.parts(&one, p.r.isLoad)) == 0 {
		return false
	}
	one.from.add(t.at)
	*of = one
	return true
}

// ofOne reports whether a phrase stands for one of several: "that one".
func (l *Language) ofOne(t *token) bool {
	words := strings.Fields(t.text)
	return len(words) > 1 && l.standsFor(words[len(words)-1])
}

// severalNext reports whether a number or a plural comes: "other three burners".
func severalNext(rest []token) bool {
	n := content(rest)
	return n != nil && (n.isNumber || n.has(isNumber) || n.plural && n.has(isNoun))
}

// join goes on with the list it stands in: of modes, places or subjects.
func (p *parser) join() {
	if p.np != nil && p.prep != 0 && p.neg && p.k.ceased && len(p.k.said) == 0 { // "the oven quit in the middle of baking and"
		p.closePhrase()
	}
	prep := p.prep
	bare := p.np == nil
	if p.strangeVerb && bare { // "won't unlock and"
		if len(p.k.said) == 0 && len(p.k.subjects) > 0 {
			p.next()
		}
		p.neg, p.few, p.lasting, p.strangeVerb = false, false, false, false
		p.k.at[pending] = span{}
		return
	}
	if bare && !p.neg {
		return
	}
	if np := p.np; p.k.both && np != nil && np.count == 2 && len(p.k.subjects) == 0 { // "both the burners and the oven"
		np.count, np.all = 0, slices.ContainsFunc(np.said, func(w string) bool { return singular(w) != w })
	}
	p.closePhrase()
	p.joined = true
	if bare && p.neg && len(p.k.said) == 0 && len(p.k.subjects) > 0 && !p.no {
		p.k.said = append(p.k.said, said{class: isState, key: "dead", words: strings.Join(p.k.words, " "), from: p.k.at[pending]}) // "the clock stopped and"
		p.k.at[pending] = span{}
		p.neg = false
	}
	if n := len(p.k.places); prep != 0 && n > 0 && len(p.k.said) > 0 && p.r.isControl(p.k.places[n-1]) {
		p.joined = false
		p.next() // "V1 on the screen and the lower oven is dead"
		return
	}
	if !(len(p.k.said) == 0 && p.head == p.lastSubject()) || prep == 0 {
		p.prep = prep
	}
}

func (p *parser) lastSubject() *phrase {
	if n := len(p.k.subjects); n > 0 {
		return p.k.subjects[n-1]
	}
	return nil
}

// code takes what a display shows.
func (p *parser) code(t *token) {
	for i := range p.k.said {
		if s := &p.k.said[i]; s.class == isCode && s.code == "" {
			s.code = t.text
			s.from.add(t.at)
			return
		}
	}
	p.k.said = append(p.k.said, said{class: isCode, code: t.text, words: t.text, from: one(t)})
}
