package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// reader makes statements of tokens, clause by clause.
type reader struct {
	l       *Language
	c       *circuit.Circuit
	machine *vocabulary
	heard   Heard
	record
	// carried are subjects of a list that still wait for what is said of them,
	// carriedMode a mode that does.
	carried     []*phrase
	carriedMode []circuit.ModeID
	carriedWhen string // and a condition
	carriedAt   [roles]span
	// last is what was spoken of before, and what was said of it.
	last     []*phrase
	lastSaid *said
	// lastLoads are those of which something was said without a name.
	lastLoads []circuit.BranchID
	lastMode  circuit.ModeID
	replaced  bool
	lastSeen  []*phrase
	seenAs    string // how it looked
	done      *attempt
	exchanged *exchange // of two like parts
	counted   *said     // of how many, which were not named
	recent    []*clause // of the sentence
	mended    bool      // something was done about it
	mendedAt  int       // as so many statements were made
	mending   *clause   // in which
	none      bool      // of nothing it was so
	headed    bool      // what is carried stood before a colon
	withheld  bool      // the clause before was not understood
	tripped   bool      // the clause before told what trips
	lastTrip  string    // what the clause before told of it, or that it does not
	thing     bool      // something of a household was spoken of in the sentence
	tested    bool      // something was measured
	anyway    bool      // an aside told that it is so whatever is set
	metered   []*phrase // what readings were of
	measured  *phrase   // what a figure stood for right before
	tokens    []token
	began     []Statement // since when, and how
	by        way
	handled   handling // that came before
	heading   []said   // what is said of all in the list behind a colon
	before    *context // of the text, nil where nothing was noted
	topic     *phrase  // what that was of
}

func (r *reader) read(tokens []token) {
	p := &parser{r: r, k: r.clause(nil)}
	r.tokens = tokens
	r.lastMode, r.of = circuit.None, make([]int, len(tokens))
	for i := range tokens {
		t := &tokens[i]
		if t.has(ends) && t.has(filler) && p.np != nil && len(p.k.said) == 0 && p.sub == nil && i+1 < len(tokens) && !tokens[i+1].has(isNoun) && tells(tokens[i+1:i+2]) {
			r.used.add(i) // "the oven now stays cold"
			continue
		}
		if next := slices.IndexFunc(tokens[i+1:], func(n token) bool { return !n.has(isNoun) && !n.has(isWhere) }); t.comma && p.no && p.neg && p.sub == nil && next > 0 && r.l.Nor != "" && (tokens[i+1+next].text == r.l.Nor || tokens[i+1+next].text == r.l.Or) {
			p.take(&token{text: r.l.Nor, senses: []sense{{class: joins}}, at: i}, tokens[i+1:]) // "neither bake, broil nor convection"
			continue
		}
		if t.has(joins) && len(p.k.said) > 0 && p.np == nil && p.sub == nil && i+2 < len(tokens) && tokens[i+1].has(none) && !tokens[i+1].has(isState) && (tokens[i+2].has(isNoun) || tokens[i+2].has(isWhere)) {
			p.end(true) // "display dark and no bake"
			r.of[i] = p.k.id
			continue
		}
		if n := len(p.k.said); t.has(joins) && n > 0 && p.k.said[n-1].class == isCode && p.np == nil && p.sub == nil && i+1 < len(tokens) && tokens[i+1].has(not) && !tokens[i+1].has(none) {
			p.end(true) // "shows S1 and won't bake"
			r.of[i] = p.k.id
			continue
		}
		if t.has(joins) && p.sub == nil && ((p.np == nil || p.prep != 0) && p.heatless(tokens[i+1:]) || p.found(tokens[i+1:]) || p.exchanges(tokens[i+1:]) || p.seenAt() && (p.r.l.subject(tokens[i+1:]) || p.r.l.clauseAhead(tokens[i+1:]))) {
			p.end(true) // "the plug is melted and there's no heat", "dripping from the element and the breaker trips"
			r.of[i] = p.k.id
			continue
		}
		if t.has(joins) && p.k.aux && r.lastSaid != nil && !p.neg && !p.k.not && len(p.k.said) == 0 && p.sub == nil && p.prep == 0 && (p.np != nil || len(p.k.subjects) > 0) && saysMore(tokens[i+1:]) {
			p.end(true) // "the fronts do and so does the oven"
			r.of[i] = p.k.id
			continue
		}
		if t.text == ":" && p.heads(tokens[i+1:]) {
			continue
		}
		if t.comma && len(p.k.said) > 0 && i+1 < len(tokens) && tokens[i+1].has(offMode) && tokens[i+1].text != "off" && ended(tokens[i+2:]) {
			r.of[i] = p.k.id
			continue // "glows at any setting, even off"
		}
		if t.stop || t.has(ends) || t.has(exceptOf) {
			p.asks = t.text == "?"
			all := t.has(ends) && len(p.k.said) == 0 && p.np != nil && (p.np.all || p.r.everything(p.np)) && !p.np.verb && !p.k.not
			was := p.k
			p.end(t.comma || t.text == ":" || all)
			r.headed = t.text == ":"
			p.k.but = all // "every burner but the left rear heats"
			if r.of[i] = p.k.id; t.has(exceptOf) {
				p.k.at[ofClause].add(i)
			}
			butOne := t.has(ends) && r.lastSaid != nil && r.lastSaid.key == "dead" && (r.lastSaid.words == "" || strings.HasPrefix(r.lastSaid.words, r.l.Nothing+" ") && r.l.Nothing != "" || r.l.ofAny(was.words)) && !tells(tokens[i+1:])
			p.k.ahead = slices.Contains(p.r.l.Beforehand, t.text)
			p.k.except, p.k.then = t.has(exceptOf) || butOne, // "nothing works but the clock"
				anyIn(strings.Fields(t.text), p.r.l.Then)
			p.k.now = anyIn(strings.Fields(t.text), p.r.l.Now)
			if t.about != nil {
				r.measured = t.about
			}
			if t.stop && !t.comma && t.text != ":" {
				if t.text == "." && len(was.words)+len(was.subjects) == 0 {
					r.carried = nil // "checked the fuse, 0 ohms. Board is dead."
				}
				if was.subbed && len(was.said) == 0 {
					r.carriedMode, r.carriedWhen = nil, "" // "not sure if bake works."
				}
				r.heading, r.recent, r.thing, r.tested, p.k.from, r.handled = nil, nil, false, false, nil, handling{}
			}
			continue
		}
		p.take(t, tokens[i+1:])
		r.of[i] = p.k.id
	}
	p.end(false)
}
