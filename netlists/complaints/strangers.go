package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// unknown keeps a word that is not in the table, or that tells nothing of the
// machine, and makes of where it stands what it costs. Words that deny or make less
// of are few and in the table: an unknown one takes nothing away but what is said
// of itself.
func (p *parser) unknown(t *token) {
	if p.linked && p.np == nil && len(p.k.said) > 0 {
		p.next() // "it heats and the towels are white"
	}
	k, prep := p.k, p.prep
	if slices.Contains(p.r.l.Times, t.text) && p.prep == 0 && (len(k.said) > 0 || p.np != nil || p.neg) {
		p.closePhrase()
		return
	}
	k.lost = k.lost || t.unknown || t.has(house)
	if p.r.thing = p.r.thing || t.has(things); t.has(things) {
		p.number = false // "with two pots on"
	}
	k.verbless = k.verbless || t.unknown && (p.neg || p.few || p.lasting)
	p.strangeVerb = t.unknown && (p.neg || p.few || p.lasting || k.aux || p.np != nil && len(p.np.nouns) > 0)
	// "has a hot spot", no "a tingle when"; of is of "the element gasket"
	of := p.np != nil && len(p.np.nouns) > 0
	if n := len(k.said); p.described && n > 0 && !warns[k.said[n-1].key] {
		k.said = k.said[:n-1]
	}
	switch {
	case t.unknown && p.r.l.tellsHow(t.text): // how it does so
		return
	case p.prep != 0 && p.np == nil:
		if p.head != nil && !(p.head.all && slices.Contains(p.r.l.Warmed, t.text)) && !(p.r.isMachine(p.head) && (p.r.c.StoresHeat() || p.r.l.Nouns[p.head.nouns[0]].Machine)) {
			p.head.odd = true // "the heater by the couch"
		}
		p.prep, p.joined = 0, false
		if p.aim {
			p.r.aims.add(t.at) // "okay for hands"
		} else {
			p.r.when.add(t.at)
		}
		p.inThing = p.with
		return
	case p.np != nil && t.has(things) && (len(p.np.nouns) == 0 || p.r.stands(p.np)):
		if p.r.stands(p.np) {
			p.r.used.join(p.np.from) // "one finger"
		}
		p.np = nil // "a big pot"
	case p.np != nil:
		if p.np.odd = true; t.unknown { // "the left thingy", "the light that tells"
			p.np.trail = t.text
		}
	}
	p.closePhrase()
	p.odd, p.joined = p.prep == 0, p.joined && len(k.said) == 0
	if p.prep != 0 {
		p.prep = 0
		return
	}
	k.odd = true
	if len(k.said) == 0 && len(k.subjects) == 0 {
		k.strange, k.house = append(k.strange, t.text), k.house || t.has(house)
	}
	before := max(0, t.at-1)
	for before > 0 && p.r.tokens[before].has(article) {
		before--
	}
	if n := len(k.said); n > 0 && k.said[n-1].key == "replaced" && t.unknown && p.r.tokens[before].text == k.said[n-1].words {
		k.object = true // "replaced doodad"
	} else if n > 0 && (k.said[n-1].key == "replaced" || k.said[n-1].key == "moved") && t.has(things) && (len(k.subjects) == 0 || k.said[n-1].key == "moved") && !of && (content(p.r.tokens[t.at+1:]) == nil || !content(p.r.tokens[t.at+1:]).has(isNoun)) {
		k.said = k.said[:n-1] // "put in a load", "moved the pan"
		return
	}
	if n := len(k.said); n > 0 && k.said[n-1].class == isSeen && len(k.subjects) == 0 && !of && prep == 0 {
		k.strange = append(k.strange, t.text) // "melted a dish"
		k.object = true
	}
}

// ofAny reports whether words speak of all there is: "no heat on any function".
func (l *Language) ofAny(words []string) bool {
	return slices.ContainsFunc(words, func(w string) bool { return l.word(w).has(all) })
}

// weighStranger tells what an unknown word, that bears on a clause, may do there.
func (r *reader) weighStranger(tokens []token, i, of int, w weight) weight {
	k, before, first := r.clauses[r.of[i]], &tokens[max(0, i-1)], &tokens[max(0, i-2)]
	switch {
	case before.has(isSeen) && ended(tokens[i+1:]), before.has(article) && first.trips(r.l): // "burned doodad", "trips the doodad"
		return denies
	case k.made && (k.not || r.l.holdsNot(before.text)) && !r.l.denies(before.text) && !r.l.denies(first.text) && (before.has(isVerb) || before.has(isState) || before.has(not) && !ended(tokens[i+1:])):
		return bounds // "won't heat doodad"
	case of == k.id || follows(tokens, i, r.l): // "heats, then doodads"
		return max(w, limits)
	}
	return w
}

// strangers are the words that are known to nobody and of which nothing was made, but
// for those that name a thing by themselves: "the xylophone does not".
func (in *Listener) strangers(tokens []token, unknown []string) (out []string) {
	for i, t := range tokens {
		if t.unknown && !names(tokens, i) && !in.l.vocabulary[t.text] && slices.Contains(unknown, t.text) {
			out = append(out, t.text)
		}
	}
	return out
}

// follows reports whether an unknown word stands where a verb does that tells what
// comes of what was said before.
func follows(tokens []token, i int, l *Language) bool {
	if i == 0 {
		return false
	}
	t := &tokens[i-1]
	return t.has(not) || t.has(joins) && i > 1 && !tokens[i-2].unknown || slices.Contains(l.Then, t.text)
}

// names reports whether an unknown word names a thing by itself: "the xylophone does not".
func names(tokens []token, i int) bool {
	place := func(t token) bool { return t.has(isNoun) || t.has(isWhere) }
	from := i - 1
	if from > 0 && !tokens[from].has(article) && !place(tokens[from]) {
		from-- // "a hot xylophone"
	}
	return from >= 0 && tokens[from].has(article) && (i+1 == len(tokens) || !place(tokens[i+1]))
}

// agree asks of what was heard what is not said as well without the strangers in it:
// what they stand beside may be something else for them.
func (h *Heard) agree(in *Listener, without Heard, strangers string) {
	same := func(s Statement) func(Statement) bool {
		return func(o Statement) bool {
			return o.What == s.What && o.Load == s.Load && (o.Part == s.Part || s.Part == circuit.None) && o.Code == s.Code && (o.Mode == s.Mode || o.Mode == circuit.None || s.Mode == circuit.None)
		}
	}
	ask := func(of, by []Statement) (kept []Statement) {
		var asked []Statement
		for _, s := range of {
			if i := slices.IndexFunc(by, same(s)); i < 0 {
				asked = append(asked, s)
			} else {
				if by[i].Mode == circuit.None {
					s.Mode = circuit.None
				}
				kept = append(kept, s)
			}
		}
		h.doubt(in.l, in.c, asked, strangers)
		return kept
	}
	before := slices.Clone(h.Statements)
	for _, q := range h.Questions {
		for _, c := range q.Choices {
			before = append(before, c.Statements...)
		}
	}
	h.Statements = ask(h.Statements, without.Statements)
	ask(slices.DeleteFunc(without.Statements, func(s Statement) bool {
		return s.Load != circuit.None && slices.ContainsFunc(before, func(o Statement) bool { return o.Load == s.Load })
	}), before)
}

// neighbours takes words for what they are beside this machine: it makes of appliances that the machine is none of things of the house: of a
// dryer's, "the stove works".
func (in *Listener) neighbours(tokens []token) []token {
	title := fold(in.c.Title())
	ours := slices.IndexFunc(English().Appliances, func(kind string) bool {
		return slices.ContainsFunc(strings.Split(kind, "|"), func(name string) bool { return strings.Contains(title, name) })
	})
	if ours < 0 {
		return tokens
	}
	if slices.ContainsFunc(in.c.Parts(), func(p circuit.Part) bool { return p.Kind == circuit.KindSolenoid }) {
		tokens = in.l.kindled(tokens)
	}
	for i := range tokens {
		if in.c.StoresHeat() && in.l.pushesStart(&tokens[i]) {
			tokens[i].senses = []sense{{class: isHistory, key: "reset"}} // "push the button", of a tank
		}
		for kind, names := range in.l.Appliances {
			if t := &tokens[i]; kind != ours && t.has(isNoun) && (isOne(names, t.text) || isOne(names, singular(t.text))) {
				t.senses = []sense{{class: things}, {class: house}}
			}
		}
	}
	return tokens
}

// kindled makes of what "the oven lights" names where it burns gas what it does, where
// nothing else is said of it: "the oven lights, then goes out".
func (l *Language) kindled(tokens []token) (out []token) {
	for i, t := range tokens {
		of, lights := strings.CutSuffix(t.text, " "+l.Lights)
		if noun := l.alone(of); lights && t.has(isNoun) && noun.has(isNoun) && i+1 < len(tokens) && (slices.Contains(l.Meter.Good, tokens[i+1].text) && ended(tokens[i+2:]) || tokens[i+1].stop || tokens[i+1].has(joins) || tokens[i+1].has(ends)) {
			one := *noun
			one.text, one.at = of, len(out)
			out = append(out, one)
			t = token{text: l.Lights, senses: l.alone(l.Lights).senses}
		}
		if t.text == l.Lights && t.has(isVerb) && (i == 0 || tokens[i-1].has(pronoun) || tokens[i-1].has(joins) || lights) && i+1 < len(tokens) && (tokens[i+1].stop || tokens[i+1].has(joins) || tokens[i+1].has(ends)) {
			t.senses = slices.DeleteFunc(slices.Clone(t.senses), func(s sense) bool { return s.class == isNoun })
			t.plural = false
		}
		t.at = len(out)
		out = append(out, t)
	}
	return out
}

// pushesStart reports whether a token tells no more than that somebody pushed the button.
func (l *Language) pushesStart(t *token) bool {
	words := strings.Fields(t.text)
	last := l.alone(words[len(words)-1])
	return t.has(filler) && len(words) > 1 && l.formOf(words[0], l.Turned) && (slices.Contains(l.nounOf(last).Is, "start") || words[len(words)-1] != l.On && last.is(isVerb, "turn"))
}
