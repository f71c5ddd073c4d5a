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
	// carried are subjects of a list that still wait for what is said of them.
	carried []*phrase
	// last is the subject and mode spoken of before.
	last     []*phrase
	lastMode circuit.ModeID
}

// said is what a clause says of its subjects.
type said struct {
	class class
	key   string
	words string
	code  string
	of    string // features of what it can only be said of
}

// clause is a piece of a sentence between stops.
type clause struct {
	subjects []*phrase
	places   []*phrase
	modes    []circuit.ModeID
	said     []said
	when     string
	rarely   bool // sometimes
	rest     bool // everything else
	amount   float64
	unit     string
	side     string // above or below
	words    []string
	not      bool
}

func (r *reader) read(tokens []token) {
	r.lastMode = circuit.None
	start := 0
	for i := range tokens {
		t := &tokens[i]
		if t.stop || t.has(ends) {
			r.clause(tokens[start:i], t.comma)
			start = i + 1
		}
	}
	r.clause(tokens[start:], false)
	r.dropCarried()
}

func (r *reader) dropCarried() {
	for _, p := range r.carried {
		r.heard.Unknown = append(r.heard.Unknown, p.words...)
	}
	r.carried = nil
}

// parser walks the tokens of one clause.
type parser struct {
	r       *reader
	k       *clause
	np      *phrase
	prep    class // modePrep, placePrep: of the next noun phrase; 0: none
	neg     bool
	few     bool // little
	every   bool
	whole   bool
	pending float64
	number  bool
}

// clause reads the tokens between two stops. A list of subjects before a comma
// waits for the clause after it.
func (r *reader) clause(tokens []token, comma bool) {
	if len(tokens) == 0 {
		return
	}
	p := &parser{r: r, k: &clause{}}
	for i := range tokens {
		p.take(&tokens[i])
	}
	p.closePhrase()
	p.finish(comma)
}

// take reads one token.
func (p *parser) take(t *token) {
	k := p.k
	k.words = append(k.words, t.text)
	switch {
	case t.unknown:
		p.closePhrase()
		p.r.heard.Unknown = append(p.r.heard.Unknown, t.text)
	case t.isNumber:
		p.closePhrase()
		p.pending, p.number = t.number, true
	case t.code:
		p.closePhrase()
		p.code(t.text)
	case t.has(isNoun):
		p.noun(t)
	case t.has(isWhere) && !t.has(isState):
		p.where(t)
	default:
		p.other(t)
	}
}

func (p *parser) noun(t *token) {
	s, _ := t.of(isNoun)
	if p.np == nil {
		p.begin()
	}
	p.np.nouns = append(p.np.nouns, s.n)
	p.np.words = append(p.np.words, t.text)
	p.np.all = p.np.all || t.plural
	p.np.joint = p.np.joint || p.r.l.nouns[s.n].Joint
	p.np.finite = t.has(isVerb) && strings.HasSuffix(t.text, "s") || p.np.finite
}

func (p *parser) where(t *token) {
	s, _ := t.of(isWhere)
	if p.np == nil || len(p.np.nouns) > 0 && !p.r.l.nouns[p.np.nouns[len(p.np.nouns)-1]].Joint && p.prep != 0 {
		p.closePhrase()
		p.begin()
	}
	p.np.where = append(p.np.where, s.key)
	p.np.words = append(p.np.words, t.text)
}

func (p *parser) begin() {
	p.np = &phrase{all: p.every, whole: p.every && p.whole}
	if p.number && p.pending > 1 {
		p.np.all = true
	}
	p.every, p.number = false, false
}

// closePhrase puts a noun phrase where it belongs: a mode, a place, a subject.
func (p *parser) closePhrase() {
	np, k := p.np, p.k
	if np == nil {
		return
	}
	p.np = nil
	prep := p.prep
	p.prep = 0
	if prep != 0 {
		seen := np.joint || slices.ContainsFunc(k.said, func(s said) bool { return s.class == isSeen || s.class == isHistory })
		if m := p.r.mode(np); m != circuit.None && !seen && (prep == modePrep || len(p.r.parts(np, p.r.isLoad)) == 0) {
			k.modes = append(k.modes, m)
			return
		}
		k.places = append(k.places, np)
		return
	}
	if len(k.said) > 0 && len(k.subjects) > 0 {
		p.next()
		k = p.k
	}
	k.subjects = append(k.subjects, np)
}

// next ends what is said of these subjects and begins the same anew.
func (p *parser) next() {
	p.finish(false)
	p.k = &clause{}
}

// other reads all that is neither noun nor number.
func (p *parser) other(t *token) {
	k := p.k
	if t.has(offMode) && (p.prep == modePrep && p.np == nil || t.text != "off") && len(k.said)+len(k.subjects) > 0 {
		p.closePhrase()
		p.prep = 0
		k.modes = append(k.modes, p.r.c.OffMode())
		return
	}
	if s, ok := t.of(isUnit); ok && p.number {
		k.amount, k.unit, p.number = p.pending, s.key, false
		switch s.key {
		case "hours":
			k.amount, k.unit = k.amount*60, "minutes"
		case "seconds":
			k.amount, k.unit = k.amount/60, "minutes"
		}
		return
	}
	if s, ok := t.of(isSide); ok && k.unit != "" && k.unit != "minutes" && k.side == "" {
		k.side = s.key
		return
	}
	if s, ok := t.of(isNumber); ok {
		p.closePhrase()
		p.pending, p.number = float64(s.n), true
		return
	}
	if p.predicate(t) {
		return
	}
	p.small(t)
}

// predicate reads a word that says something, and reports whether it did.
func (p *parser) predicate(t *token) bool {
	k := p.k
	of := p.r.l.saidOf(t)
	put := func(c class, key string) bool {
		p.closePhrase()
		p.prep = 0
		p.k.said = append(p.k.said, said{class: c, key: key, words: t.text, of: of})
		p.neg, p.few = false, false
		return true
	}
	if s, ok := t.of(isHistory); ok {
		return put(isHistory, s.key)
	}
	if s, ok := t.of(isWhole); ok && !(p.np != nil && t.has(isVerb) && s.key == "lights_dim") {
		if p.neg {
			p.neg = false
			return put(isWhole, "not:"+s.key)
		}
		return put(isWhole, s.key)
	}
	if s, ok := t.of(isCode); ok {
		p.closePhrase()
		if s.key == "say" {
			k.said = append(k.said, said{class: isCode, words: t.text})
			return true
		}
		return put(isCode, s.key)
	}
	if s, ok := t.of(isCondition); ok {
		p.closePhrase()
		k.when = s.key
		return true
	}
	seen, isSeen_ := t.of(isSeen)
	if s, ok := t.of(isState); ok && !(isSeen_ && p.seenHere()) && !(p.neg && t.has(isVerb)) {
		if s.key == "off_by" && k.unit == "" && !p.number && len(strings.Fields(t.text)) == 1 {
			return false
		}
		key := s.key
		if p.neg {
			key = negated(key)
		}
		if p.few && key == "normal" {
			key = "weak"
		}
		return put(isState, key)
	}
	if isSeen_ && !p.neg {
		return put(isSeen, seen.key)
	}
	if s, ok := t.of(isVerb); ok {
		v := p.r.l.verbs[s.key]
		key := v.Yes
		switch {
		case p.neg:
			key = v.No
		case p.few:
			key = v.Little
		}
		switch key {
		case "trips":
			return put(isWhole, key)
		case "click", "no_click":
			return put(isSeen, key)
		case "":
			return false
		}
		return put(isState, key)
	}
	return false
}

// saidOf is what a phrase can only be said of: what heats, where it speaks of
// heat; what turns, where it hums.
func (l *Language) saidOf(t *token) string {
	for _, w := range append([]string{t.text}, strings.Fields(t.text)...) {
		for _, s := range l.phrases[w] {
			if s.class == isVerb && l.verbs[s.key].Of != "" {
				return l.verbs[s.key].Of
			}
		}
	}
	return ""
}

// seenHere tells that a word like "burnt" speaks of what is seen: of a joint,
// at a place.
func (p *parser) seenHere() bool {
	if p.np != nil {
		return p.np.joint
	}
	return len(p.k.subjects) == 0 || slices.ContainsFunc(p.k.subjects, func(s *phrase) bool { return s.joint })
}

func negated(state string) string {
	switch state {
	case "normal":
		return "dead"
	case "hot":
		return "weak"
	case "dead", "weak":
		return "normal"
	}
	return state
}

// small reads the small words.
func (p *parser) small(t *token) {
	k := p.k
	switch {
	case t.has(not):
		p.closePhrase()
		p.neg, k.not = true, true
		p.every = p.every || t.has(all)
	case t.has(little):
		p.closePhrase()
		if n := len(p.k.said); n > 0 && p.k.said[n-1].class == isState && p.k.said[n-1].key == "normal" {
			p.k.said[n-1].key = "weak" // "heats poorly"
			return
		}
		p.few = true
	case t.has(sometimes):
		p.closePhrase()
		k.rarely = true
	case t.has(rest):
		p.closePhrase()
		if len(k.said) > 0 {
			p.next()
		}
		p.k.rest = true
	case t.has(joins):
		p.join()
	case t.has(modePrep), t.has(placePrep):
		p.closePhrase()
		p.prep = placePrep
		if t.has(modePrep) {
			p.prep = modePrep
		}
	case t.has(all):
		p.closePhrase()
		p.every, p.whole = true, t.text != "both" && t.text != "neither"
	case t.has(filler), t.has(always), t.has(isSide):
	case t.has(isWhere):
		p.where(t)
	default:
		p.closePhrase()
		p.r.heard.Unknown = append(p.r.heard.Unknown, t.text)
	}
}

// join goes on with the list it stands in: of modes, places or subjects.
func (p *parser) join() {
	prep := p.prep
	if p.np == nil {
		return
	}
	p.closePhrase()
	p.prep = prep
}

// code takes what a display shows.
func (p *parser) code(text string) {
	for i := range p.k.said {
		if s := &p.k.said[i]; s.class == isCode && s.code == "" {
			s.code = text
			return
		}
	}
	p.k.said = append(p.k.said, said{class: isCode, code: text, words: text})
}
