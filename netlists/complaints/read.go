package complaints

import (
	"fmt"
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
	// carried are subjects of a list that still wait for what is said of them,
	// carriedMode a mode that does.
	carried     []*phrase
	carriedMode []circuit.ModeID
	// last is what was spoken of before, and what was said of it.
	last     []*phrase
	lastSaid *said
	lastMode circuit.ModeID
	replaced bool
	lastSeen []*phrase
	done     *deed
	counted  *said     // of how many, which were not named
	recent   []*clause // of the sentence
	mended   bool      // something was done about it
}

// said is what a clause says of its subjects.
type said struct {
	class class
	key   string
	words string
	code  string
	plain bool   // an adjective
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
	others   bool // all others of the kind
	same     bool // as what was spoken of before
	amount   float64
	unit     string
	side     string // above or below
	takes    bool
	words    []string
	not      bool
	// strange are unknown words where a subject should stand.
	strange []string
	butOnly []*phrase // of which only the subject is so
	after   bool      // the last subject came after what is said: "replaced the fuse"
	it      bool      // it was spoken of
	lasting bool
	// aux is the last word, where it is one like "does"; past says that it was so.
	aux, past bool
	ceased    bool
	every     bool
	odd       bool // it has words that are not known
	except    bool
	unclear   bool // when it is so was not understood
	theory    bool // what somebody thinks is no evidence
}

func (r *reader) read(tokens []token) {
	p := &parser{r: r, k: &clause{}}
	r.lastMode = circuit.None
	for i := range tokens {
		t := &tokens[i]
		if t.stop || t.has(ends) || t.has(exceptOf) {
			p.end(t.comma)
			p.k.except = t.has(exceptOf)
			if t.stop && !t.comma && t.text != ":" {
				r.recent = nil
			}
			continue
		}
		p.take(t, tokens[i+1:])
	}
	p.end(false)
	r.dropCarried()
}

func (r *reader) dropCarried() {
	for _, p := range r.carried {
		r.lose(p.words...)
	}
	r.carried, r.carriedMode = nil, nil
}

// lose puts down words that nothing was made of.
func (r *reader) lose(words ...string) { r.heard.Unknown = append(r.heard.Unknown, words...) }

// parser walks the tokens of a sentence.
type parser struct {
	r *reader
	k *clause
	// np is the noun phrase that is being read, head the one before it that a
	// place may single out: "the light in the upper oven".
	np, head *phrase
	prep     class // modePrep, placePrep: of the next noun phrase; 0: none
	neg      bool
	few      bool // little
	lasting  bool // keeps
	every    bool
	its      bool
	some     bool // one of, half of
	pending  float64
	number   bool
	sub      *circumstance
	odd      bool // an unknown word stands before
	joined   bool // after "and"
	only     bool
	afterIt  bool // the word before is "it"
	just     bool // the word before said something: "a dead panel"
	no       bool // it was denied by a word that goes with nouns
}

// circumstance is a clause that tells when: "when I open the door".
type circumstance struct {
	until, after, any bool
	off               bool
	when              string
	phrases           []*phrase
	words             []string
	loose             []string // words that nothing was made of
}

// end closes a clause at a stop.
func (p *parser) end(comma bool) {
	p.closeSub()
	if p.closePhrase(); len(p.k.words)+len(p.k.subjects) > 0 {
		p.finish(comma)
	}
	*p = parser{r: p.r, k: &clause{}}
}

// next ends what is said of these subjects and begins the same anew.
func (p *parser) next() {
	p.finish(false)
	p.k = &clause{}
}

// take reads one token; rest are those after it.
func (p *parser) take(t *token, rest []token) {
	if t.has(isSub) && !(t.has(isUnit) && p.number) {
		p.openSub(t)
		return
	}
	if p.sub != nil && !p.leavesSub(t, rest) {
		p.takeSub(t)
		return
	}
	p.closeSub()
	k := p.k
	k.words = append(k.words, t.text)
	just := p.just
	defer func() {
		k.aux = t.has(aux) && !t.has(not)
		p.odd = p.odd && t.unknown
		p.afterIt = t.has(pronoun)
		p.only = p.only && (t.has(only) || t.has(filler) || t.has(isVerb))
		p.just = p.just && !just || p.just && (t.has(isWhere) || t.has(filler))
	}()
	if p.joined && t.has(not) {
		p.joined = false
	}
	if t.has(offMode) && t.text == "off" && p.neg && (p.np != nil || len(k.subjects) > 0) && ended(rest) {
		p.put(isState, "on", t, "") // "cannot shut the left front off"
		return
	}
	verb := p.readsVerb(t)
	own := p.ownWord(t, rest)
	switch {
	case own != "": // "the cycle light"
		p.where(&token{text: t.text, senses: []sense{{class: isWhere, key: own}}})
	case t.has(same) && p.r.lastSaid != nil && len(k.said) == 0 && (p.np != nil || len(k.subjects)+len(k.modes) > 0):
		p.small(t, rest)
	case t.has(isVerb) && !p.neg && !p.few && (content(rest) != nil && content(rest).isNumber || len(k.words) > 1 && k.words[len(k.words)-2] == p.r.l.infinitive):
		// "runs 50 degrees hot", "takes long to heat"
		p.closePhrase()
	case t.has(isHistory) && t.text == "new" && (len(rest) == 0 || !rest[0].has(isNoun) && !rest[0].has(isWhere)):
	case t.unknown, t.has(things):
		p.unknown(t)
	case t.isNumber && p.np != nil && len(p.np.nouns) > 0 && slices.ContainsFunc(p.r.machine.parts, func(set map[string]bool) bool { return set[t.text] }):
		p.np.where, p.np.words = append(p.np.where, t.text), append(p.np.words, t.text) // "element 2"
	case t.isNumber:
		p.closePhrase()
		p.pending, p.number = t.number, true
	case t.code:
		p.closePhrase()
		p.code(t.text)
	case p.setting(t):
	case t.has(isMode):
		p.closePhrase()
		s, _ := t.of(isMode)
		k.modes, p.prep = append(k.modes, circuit.ModeID(s.n)), 0
	case t.has(isUnit) && p.number:
		p.unit(t)
	case t.has(someOf) && content(rest) != nil && content(rest).has(isNoun) && p.np == nil:
		p.small(t, rest)
	case t.has(isNoun) && !verb && !(t.has(isSeen) && p.np != nil):
		p.noun(t)
	case t.has(isWhere) && !t.has(isState) && !(t.has(isVerb) && p.np != nil):
		p.where(t)
	case p.standing(t, rest):
	case t.has(cease) && ceasesTo(rest):
		p.small(t, rest)
	default:
		p.other(t, rest)
	}
}

// readsVerb reports whether a word that is noun and verb is a verb here: "the
// burners heat", "the bulb doesn't light"; "it won't bake" speaks of bake.
func (p *parser) readsVerb(t *token) bool {
	k, row := p.k, p.r.l.nounOf(t)
	switch {
	case t.has(isVerb) && p.afterIt:
		return true
	case !t.has(isVerb) || p.np != nil && len(p.np.nouns) == 0 && len(p.np.where) > 0:
		return false
	case !row.Verb && (p.np != nil || len(k.subjects) > 0 && len(k.said) == 0 && p.prep == 0):
		return true
	case p.np != nil || p.prep != 0 || t.plural || row.merges():
		return false
	}
	return k.past || p.few || p.lasting || (p.neg && !p.no || k.aux) && (len(k.subjects) > 0 || !row.Verb)
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
		case n.has(filler) && len(n.senses) == 1:
			continue
		default:
			return n
		}
	}
	return nil
}

// ceasesTo reports whether what comes is that which ceases: "stopped heating".
func ceasesTo(rest []token) bool {
	n := content(rest)
	return n != nil && (n.has(isVerb) || n.has(isNoun) && !n.has(isSub))
}

// unknown keeps a word that is not in the table. Where a subject should stand
// it takes what follows away from what was spoken of before.
func (p *parser) unknown(t *token) {
	if p.np != nil && len(p.np.nouns) == 0 { // "the left thingy"
		p.np.odd = true
	}
	if p.prep != 0 && p.head != nil {
		p.head.odd = true // "the heater by the couch"
	}
	if p.np != nil {
		p.np.odd = true // "the light that tells"
	}
	if p.np != nil && len(p.np.nouns) == 0 && t.has(things) {
		p.np = nil // "a big pot"
	}
	p.closePhrase()
	p.odd, p.joined = p.prep == 0, false
	if p.prep != 0 {
		p.prep = 0
		p.loseWord(t)
		return
	}
	p.k.odd = true
	if len(p.k.said) == 0 && len(p.k.subjects) == 0 && p.prep == 0 {
		p.k.strange = append(p.k.strange, t.text)
	}
	if n := len(p.k.said); n > 0 && p.k.said[n-1].class == isSeen && len(p.k.subjects) == 0 {
		p.k.strange = append(p.k.strange, t.text) // "melted a dish"
	}
	p.loseWord(t)
}

// loseWord puts down a word that is not known; a thing that tells nothing of
// the machine is known for what it is.
func (p *parser) loseWord(t *token) {
	if t.unknown {
		p.r.lose(t.text)
	}
}

// setting reads a mode by a word of its name after "on", "in", "at", or beside
// what it is of: "on warm", "timed dry".
func (p *parser) setting(t *token) bool {
	if p.prep != modePrep || p.np != nil || t.has(isNoun) || t.has(isWhere) && !t.own || t.has(filler) || t.has(same) {
		return false
	}
	want := []string{singular(t.text)}
	subjects := p.k.subjects
	if len(subjects) == 0 {
		subjects = p.r.last
	}
	for _, s := range subjects {
		for _, part := range p.r.parts(s, p.r.isLoad) {
			for _, load := range p.r.machine.loads[part] {
				if m := p.r.modeNamed(load, want); m != circuit.None {
					p.k.modes, p.prep = append(p.k.modes, m), 0
					return true
				}
			}
		}
	}
	return false
}

func (l *Language) nounOf(t *token) noun {
	if s, ok := t.of(isNoun); ok {
		return l.nouns[s.n]
	}
	return noun{}
}

func (p *parser) noun(t *token) {
	s, _ := t.of(isNoun)
	row := p.r.l.nouns[s.n]
	if p.np == nil {
		p.begin()
	} else if n := len(p.np.nouns); n > 0 && p.r.l.nouns[p.np.nouns[n-1]].Machine && !row.Machine {
		p.np.nouns, p.np.said = nil, nil // "the range clock"
	} else if len(p.np.nouns) > 0 && row.Machine != p.r.l.nouns[p.np.nouns[0]].Machine && row.Machine {
		p.closePhrase()
		p.begin()
	}
	p.np.nouns = append(p.np.nouns, s.n)
	p.np.words = append(p.np.words, t.text)
	p.np.said = append(p.np.said, t.text)
	p.np.all = p.np.all || t.plural && !p.np.odd && !p.np.some
	p.np.joint = p.np.joint || row.Joint
	p.np.verb = row.merges()
	p.np.finite = row.merges() && t.has(isVerb) && strings.HasSuffix(t.text, "s") || p.np.finite
}

func (p *parser) where(t *token) {
	s, _ := t.of(isWhere)
	if p.np == nil || len(p.np.nouns) > 0 && !p.r.l.nouns[p.np.nouns[len(p.np.nouns)-1]].Joint && p.prep != 0 {
		p.closePhrase()
		p.begin()
	}
	p.np.where, p.np.own = append(p.np.where, s.key), p.np.own || t.own
	p.np.words = append(p.np.words, t.text)
}

func (p *parser) begin() {
	p.np = &phrase{all: p.every, odd: p.odd || p.some, some: p.some, its: p.its, just: p.just, only: p.only}
	p.its, p.only = false, false
	if p.number && p.pending > 1 {
		p.np.all, p.np.count = true, int(p.pending)
	}
	p.every, p.number, p.odd, p.some = false, false, false, false
}

// closePhrase puts a noun phrase where it belongs: a mode, a place, a subject.
func (p *parser) closePhrase() {
	np, k := p.np, p.k
	p.odd = false
	if np == nil {
		return
	}
	p.np = nil
	prep := p.prep
	if prep == 0 || np.its {
		p.r.pronoun(np, p.k.subjects)
	}
	p.prep = 0
	if prep != 0 {
		p.placed(np, prep)
		return
	}
	list := p.joined && k.after && p.isThing(np) // "replaced the fuse and the heater"
	list = list || np.just && len(k.subjects) == 0 && len(k.said) > 0 && k.said[len(k.said)-1].class == isState
	p.joined = false
	if np.only && len(k.subjects) > 0 { // "only heats the inner ring"
		k.butOnly = k.subjects
		np.where = append(np.where, k.subjects[0].where...)
		k.subjects = []*phrase{np}
		return
	}
	if len(k.said) > 0 && !list && (len(k.subjects) > 0 || len(k.strange) > 0 || !p.isThing(np)) {
		p.next()
		k = p.k
		k.words = slices.Clone(np.words)
	}
	if n := len(k.subjects); np.verb && n > 0 && (p.r.region(k.subjects[0]) || k.subjects[0].base != nil) {
		of := k.subjects[0] // "the upper oven won't bake or broil"
		if of.base == nil {
			k.subjects = nil
		} else {
			of = of.base
		}
		np.base, np.where = of, append(np.where, of.where...)
		np.nouns, np.said = append(slices.Clone(of.nouns), np.nouns...), append(slices.Clone(of.said), np.said...)
	}
	k.subjects, k.after = append(k.subjects, np), len(k.said) > 0
	p.head = np
}

// pronoun gives "the lower one" the noun of what was spoken of before, and
// "the burner", of several, its place.
func (r *reader) pronoun(np *phrase, before []*phrase) {
	if len(before) == 0 {
		before = r.last
	}
	if len(before) == 0 {
		return
	}
	of := before[0]
	if of.base != nil {
		of = of.base
	}
	as := *np
	switch {
	case len(np.where) == 0 && len(np.nouns) > 0 && !np.all && !np.odd && len(of.where) > 0 && len(r.parts(np, anyPart)) > 1:
		if as.where = of.where; len(r.parts(&as, anyPart)) > 0 {
			np.where = as.where
		}
	case len(np.where) == 0 && !r.region(np) && (np.its || len(np.nouns) > 0 && !np.all && !np.odd && !np.joint && len(r.parts(np, anyPart)) > 1):
		if as.where = of.where; len(as.where) > 0 && len(r.parts(&as, anyPart)) > 0 {
			np.where = as.where
			return
		}
		for _, w := range strings.Fields(strings.Join(of.words, " ")) {
			if as.where = []string{singular(w)}; len(r.parts(&as, anyPart)) > 0 {
				np.where = as.where
				return
			}
		}
	case len(np.where) > 0 && (len(np.nouns) == 0 || len(np.nouns) == 1 && r.l.nouns[np.nouns[0]].Pronoun):
		as.nouns, as.said = nil, nil
		for i, n := range of.nouns {
			if !r.l.nouns[n].Machine {
				as.nouns, as.said = append(as.nouns, n), append(as.said, of.said[i])
			}
		}
		if len(as.nouns) > 0 && len(r.partsAt(&as, np.where, r.isLoad)) > 0 {
			np.nouns, np.said = as.nouns, as.said
		}
	}
}

func anyPart(circuit.PartID) bool { return true }

// ownWord is a verb that a part is called by: "the cycling light".
func (p *parser) ownWord(t *token, rest []token) string {
	if !t.has(isVerb) || t.has(isNoun) || len(rest) == 0 || !rest[0].has(isNoun) {
		return ""
	}
	for _, b := range append(p.r.l.bases(t.text), base{t.text, ""}) {
		if p.r.machine.words[b.word] && p.r.ownsWord(b.word, &rest[0]) {
			return b.word
		}
	}
	return ""
}

// ownsWord reports whether a word of the machine's own singles out what a noun
// after it names.
func (r *reader) ownsWord(word string, t *token) bool {
	s, _ := t.of(isNoun)
	return len(r.parts(&phrase{where: []string{word}, nouns: []int{s.n}, said: []string{t.text}}, anyPart)) > 0
}

// ended reports whether a clause ends here.
func ended(rest []token) bool {
	return len(rest) == 0 || rest[0].stop || rest[0].has(ends) || rest[0].has(joins)
}

// isThing reports whether a phrase can follow what is said of it: "burnt wire".
func (p *parser) isThing(np *phrase) bool {
	s := p.k.said[len(p.k.said)-1]
	return s.class == isSeen || s.class == isHistory || s.class == isCode
}

// placed puts a phrase after a preposition where it belongs.
func (p *parser) placed(np *phrase, prep class) {
	k := p.k
	if p.head != nil && p.r.qualify(p.head, np) {
		return
	}
	seen := np.joint || slices.ContainsFunc(k.said, func(s said) bool { return s.class == isSeen || s.class == isHistory })
	if plain := len(np.nouns) == 0 && !np.own; plain && !seen { // "on the left"
		p.r.lose(np.words...)
		return
	}
	if m := p.mode(np); m != circuit.None && !seen && (prep == modePrep || len(p.r.parts(np, p.r.isLoad)) == 0) {
		k.modes = append(k.modes, m)
		return
	}
	k.places, k.odd = append(k.places, np), true
}

// mode is the mode of a phrase, singled out by what is spoken of: "the upper
// oven quits on bake".
func (p *parser) mode(np *phrase) circuit.ModeID {
	if m := p.r.mode(np); m != circuit.None {
		return m
	}
	for _, s := range append(slices.Clone(p.k.subjects), p.r.last...) {
		with := *np
		with.where = append(slices.Clone(np.where), s.where...)
		if m := p.r.mode(&with); m != circuit.None && len(s.where) > 0 {
			return m
		}
	}
	return circuit.None
}

// qualify singles out a phrase by the place that follows it: "the light in the
// upper oven", "a wire at the bake element".
func (r *reader) qualify(head, place *phrase) bool {
	if head.joint && !slices.ContainsFunc(head.nouns, func(n int) bool { return !r.l.nouns[n].Joint }) && len(place.nouns)+len(place.where) > 0 {
		head.nouns, head.said = append(head.nouns, place.nouns...), append(head.said, place.said...)
		head.where = append(head.where, place.where...)
		return true
	}
	var tries [][]string
	for _, n := range place.nouns {
		for _, of := range strings.Split(r.l.nouns[n].Of, "|") {
			if of != "" {
				tries = append(tries, append(slices.Clone(place.where), of))
			}
		}
	}
	if len(place.where) > 0 {
		tries = append(tries, place.where)
	}
	was := r.parts(head, anyPart)
	for _, want := range tries {
		with := *head
		with.where = append(slices.Clone(with.where), want...)
		parts := r.parts(&with, anyPart)
		if len(parts) > 0 && !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !slices.Contains(was, id) }) {
			head.where = with.where
			return true
		}
	}
	region := slices.ContainsFunc(place.nouns, func(n int) bool { return r.l.nouns[n].Region })
	return region && len(head.nouns) > 0 && len(was) > 0 && len(place.where) == 0 && r.mode(place) == circuit.None
}

// standing reads "on" and "out" where they end a clause: "the clock is on".
func (p *parser) standing(t *token, rest []token) bool {
	if !t.has(isStanding) || p.np == nil && len(p.k.subjects) == 0 && !p.k.rest && (len(p.r.last) == 0 || len(p.k.said)+len(p.k.strange) > 0) {
		return false
	}
	for i := range rest {
		switch n := &rest[i]; {
		case n.stop, n.has(ends), n.has(joins), n.has(isSub), n.has(modePrep) && !n.has(isNoun), n.has(isHistory):
			return p.stands(t)
		case n.has(filler) && len(n.senses) == 1:
			continue
		default:
			return false
		}
	}
	return p.stands(t)
}

func (p *parser) stands(t *token) bool {
	s, _ := t.of(isStanding)
	p.closePhrase()
	if len(p.k.subjects) == 0 && t.text == p.r.l.gone {
		return true // "then it was gone": who knows what
	}
	if len(p.k.said) > 0 {
		return true // a particle: "comes on"
	}
	key := s.key
	switch {
	case p.neg:
		key = negated(key)
	case p.lasting && key == "normal":
		key = "on"
	}
	p.put(isState, key, t, "")
	return true
}

func (p *parser) put(c class, key string, t *token, of string) bool {
	p.closePhrase()
	if n := len(p.k.said); p.just && key == "normal" && c == isState && !t.has(isVerb) && n > 0 && p.k.said[n-1].class == isState {
		return true // "dries great"
	}
	p.prep, p.head, p.joined = 0, nil, false
	if p.k.past && key == "normal" || t.has(isVerb) && key == "normal" && p.r.l.isPast(t.text) {
		key, c = "since", isHistory // it was so once
		if p.r.mended {
			key = "works_again"
		}
	}
	p.k.every = p.k.every || p.every
	p.every = false
	p.k.said = append(p.k.said, said{class: c, key: key, words: t.text, of: of, plain: !t.has(isVerb) && !t.has(isStanding)})
	p.neg, p.few, p.lasting, p.just = false, false, false, true
	return true
}

func (p *parser) unit(t *token) {
	s, _ := t.of(isUnit)
	k := p.k
	k.amount, k.unit, p.number = p.pending, s.key, false
	switch s.key {
	case "hours":
		k.amount, k.unit = k.amount*60, "minutes"
	case "seconds":
		k.amount, k.unit = k.amount/60, "minutes"
	case "kilohms":
		k.amount, k.unit = k.amount*1000, "ohms"
	}
}

// other reads all that is neither noun nor number.
func (p *parser) other(t *token, rest []token) {
	k := p.k
	if t.has(offMode) && !(p.neg && t.has(isVerb)) && (p.prep == modePrep || t.text != "off") && (p.np != nil || len(k.said)+len(k.subjects) > 0) {
		p.closePhrase()
		p.prep = 0
		k.modes = append(k.modes, p.r.c.OffMode())
		return
	}
	if s, ok := t.of(isSide); ok && k.unit != "" && k.unit != "minutes" && k.side == "" {
		k.side = s.key
		return
	}
	if s, ok := t.of(isNumber); ok {
		if p.r.l.hours != "" && strings.Contains(t.text, p.r.l.hours) {
			k.amount, k.unit = float64(s.n), "minutes"
			return
		}
		if p.np != nil { // "the left one"
			return
		}
		p.closePhrase()
		p.pending, p.number = float64(s.n), true
		return
	}
	if p.predicate(t) {
		return
	}
	p.small(t, rest)
}

// predicate reads a word that says something, and reports whether it did.
func (p *parser) predicate(t *token) bool {
	k := p.k
	of := p.r.l.saidOf(t)
	if s, ok := t.of(isHistory); ok && !(p.neg && (s.key == "works_again" || s.key == "replaced")) {
		return p.put(isHistory, s.key, t, of)
	}
	if t.has(isWhole) && (t.has(isState) || t.has(isVerb)) {
		p.closePhrase()
	}
	if s, ok := t.of(isState); ok && s.key == "hums" && t.has(isWhole) && !slices.ContainsFunc(p.r.c.Parts(), func(part circuit.Part) bool { return part.Kind == circuit.KindRelay }) {
		return p.put(isState, "hums", t, of)
	}
	if s, ok := t.of(isWhole); ok && (s.key == "all_dead" || s.key == "dark") && p.spokenOfPart(s.key, t) {
		return p.put(isState, "dead", t, of)
	}
	if s, ok := t.of(isWhole); ok && !(p.np != nil && t.has(isVerb) && s.key == "lights_dim") && !(t.has(isState) && len(k.subjects) > 0) {
		if p.neg {
			return p.put(isWhole, "not:"+s.key, t, of)
		}
		return p.put(isWhole, s.key, t, of)
	}
	if s, ok := t.of(isCode); ok {
		if p.neg {
			p.neg = false
			return true
		}
		p.closePhrase()
		if s.key == "say" && slices.ContainsFunc(k.said, func(o said) bool { return o.class == isCode && o.code != "" }) {
			return true // "H1 code"
		}
		if s.key == "say" {
			k.said = append(k.said, said{class: isCode, words: t.text})
			return true
		}
		return p.put(isCode, s.key, t, of)
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
		if key == "" {
			p.neg = false
			p.r.lose("not", t.text)
			return true
		}
		return p.put(isState, key, t, of)
	}
	if isSeen_ && !p.neg {
		return p.put(isSeen, seen.key, t, of)
	}
	if s, ok := t.of(isVerb); ok {
		return p.verb(t, p.r.l.verbs[s.key], of)
	}
	return false
}

// spokenOfPart reports whether something is spoken of that is not the whole, nor
// what shows figures.
func (p *parser) spokenOfPart(key string, t *token) bool {
	p.closePhrase()
	if len(p.k.subjects) == 0 || p.r.isMachine(p.k.subjects[0]) {
		return false
	}
	for _, w := range strings.Fields(t.text) {
		if one := p.r.l.phrases[fmt.Sprint([][]string{{w}})]; one != nil && (&token{senses: one.senses}).has(isNoun) {
			return false // "the clock is dead" names it
		}
	}
	parts := p.r.parts(p.k.subjects[0], anyPart)
	return key != "dark" || len(parts) > 0 && p.r.c.Part(parts[0]).Kind.Heats()
}

func (p *parser) verb(t *token, v verb, of string) bool {
	key := v.Yes
	switch {
	case p.neg:
		key = v.No
	case p.few:
		key = v.Little
	case p.lasting && key == "normal":
		key = "on"
	}
	switch key {
	case "trips":
		return p.put(isWhole, key, t, of)
	case "click", "no_click":
		return p.put(isSeen, key, t, of)
	case "":
		return false
	}
	return p.put(isState, key, t, of)
}

// isPast reports whether a verb stands in the past.
func (l *Language) isPast(text string) bool {
	first, _, _ := strings.Cut(text, " ")
	return slices.ContainsFunc(l.bases(first), func(b base) bool { return slices.Contains(l.past, b.by) })
}

// saidOf is what a phrase can only be said of: what heats, where it speaks of
// heat; what turns, where it hums.
func (l *Language) saidOf(t *token) string {
	for _, s := range t.senses {
		if s.class == isVerb && l.verbs[s.key].Of != "" {
			return l.verbs[s.key].Of
		}
		if s.class == isVerb {
			return ""
		}
	}
	state, _ := t.of(isState)
	for _, w := range strings.Fields(t.text) {
		// "turn down" turns nothing
		down := state.key == "full" || state.key == "on" || state.key == "quits" || state.key == "intermittent"
		for _, b := range append([]base{{w, ""}}, l.bases(w)...) {
			if of := l.ofVerb[b.word]; of != "" && (!down || of == heating) {
				return of
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

func negated(state string) string { return denied[state] }

// denied is what the denial of a state says; of others it says nothing.
var denied = map[string]string{"normal": "dead", "hot": "weak", "dead": "normal", "quits": "on", "on": "dead", "full": "normal"}

// small reads the small words.
func (p *parser) small(t *token, rest []token) {
	k := p.k
	switch {
	case t.has(cease) && p.neg: // "won't stop heating"
		p.neg, p.lasting = false, true
	case t.has(not), t.has(cease):
		p.closePhrase()
		if len(k.said) > 0 && k.said[len(k.said)-1].class == isState && t.text == "not" {
			return
		}
		p.neg, k.not, p.no, k.ceased = true, true, t.has(none), t.has(cease)
		p.every = p.every || t.has(all)
	case t.has(past):
		p.closePhrase()
		k.past, k.odd = true, true
	case t.has(only):
		p.closePhrase()
		p.only, p.prep = true, 0
	case t.has(thinks):
		k.theory = true
	case t.has(keeps):
		p.closePhrase()
		p.lasting, k.lasting = true, true
	case t.has(takes):
		p.closePhrase()
		k.takes = true
	case t.has(someOf) && content(rest) != nil && (content(rest).has(isNoun) || content(rest).has(isWhere)):
		p.closePhrase()
		p.some = true
	case t.has(little) && p.np == nil && content(rest) != nil && content(rest).has(isNoun) && !content(rest).has(isState) && t.has(adjective):
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
	case t.has(same):
		p.closePhrase()
		k.same = true
	case t.has(restOf):
		p.closePhrase()
		if len(k.said) > 0 {
			p.next()
		}
		p.k.rest, p.k.others = true, slices.Contains(strings.Fields(t.text), p.r.l.others) && len(p.r.last) > 0 && !p.r.isMachine(p.r.last[0])
	case t.has(joins):
		p.join()
	case t.has(modePrep), t.has(placePrep):
		if p.number && p.np == nil && len(p.r.last) > 0 { // "the two in back"
			p.begin()
			p.np.nouns, p.np.said = p.r.last[0].nouns, p.r.last[0].said
		}
		p.closePhrase()
		p.prep = placePrep
		if t.has(modePrep) {
			p.prep = modePrep
		}
	case t.has(someOf):
		p.closePhrase()
		p.some = true
	case t.has(all):
		p.closePhrase()
		p.every = true
	case t.has(pronoun):
		object := len(k.said) > 0 && k.said[len(k.said)-1].class != isState && k.said[len(k.said)-1].class != isWhole
		if len(k.said) > 0 && !object || len(k.strange) > 0 || len(k.modes) > 0 && len(k.subjects) > 0 {
			p.closePhrase()
			p.next()
			p.k.words = append(p.k.words, t.text)
		}
		p.k.it, p.afterIt = true, true
	case t.has(its):
		p.its = true
	case t.has(aux):
		k.odd = k.odd || t.has(past) || len(k.subjects) > 0
	case t.has(filler) && !p.r.l.skip[t.text]:
		if k.odd = true; p.np == nil {
			p.prep = 0
		}
	case t.has(filler), t.has(always), t.has(isSide), t.has(isCircum), t.has(isStanding), t.has(offMode), t.has(isUnit):
	case t.has(isWhere):
		p.where(t)
	default:
		p.closePhrase()
		p.r.lose(t.text)
	}
}

// join goes on with the list it stands in: of modes, places or subjects.
func (p *parser) join() {
	prep := p.prep
	bare := p.np == nil
	if bare && !p.neg {
		return
	}
	p.closePhrase()
	p.joined = true
	if bare && p.neg && len(p.k.said) == 0 && len(p.k.subjects) > 0 && !p.no {
		p.k.said = append(p.k.said, said{class: isState, key: "dead", words: strings.Join(p.k.words, " ")}) // "the clock stopped and"
		p.neg = false
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
func (p *parser) code(text string) {
	for i := range p.k.said {
		if s := &p.k.said[i]; s.class == isCode && s.code == "" {
			s.code = text
			return
		}
	}
	p.k.said = append(p.k.said, said{class: isCode, code: text, words: text})
}
