package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// span is a set of words of a sentence, by their place in it. Words beyond its
// size count as understood.
type span [MaxSentence / 2 / 64]uint64

func (s *span) add(at int) {
	if at/64 < len(s) {
		s[at/64] |= 1 << (at % 64)
	}
}

func (s *span) join(o span) {
	for i := range s {
		s[i] |= o[i]
	}
}

func (s *span) has(at int) bool { return at/64 >= len(s) || s[at/64]>>(at%64)&1 == 1 }

// role is what words of a clause tell of what is said in it.
type role uint8

const (
	pending role = iota // how it is said of what follows: "not", "barely"
	ofClause
	ofMode
	ofWhen
	ofAmount
	ofRarely
	roles
)

// record is of which words of a sentence something was made.
type record struct {
	used    span
	clauses []*clause
	of      []int   // by word, the clause it stands in
	when    span    // those of circumstances
	like    span    // those of comparisons
	aims    span    // those that tell what for
	now     span    // those of what is being said
	saying  *clause // and the clause it stands in
}

// clause begins one, after another of the same sentence or none.
func (r *reader) clause(from *clause) *clause {
	k := &clause{id: len(r.clauses), from: from}
	r.clauses = append(r.clauses, k)
	return k
}

// means puts down the words of a phrase as those of what is being said of it. What
// singles nothing out is no loss where there is only one.
func (r *reader) means(p *phrase) {
	if r.now.join(p.from); len(p.nouns) > 0 && len(r.parts(p, anyPart)) == 1 {
		r.now.join(p.idle)
	}
}

// count puts down the words that a statement was made of.
func (r *reader) count(s *Statement) {
	r.used.join(r.now)
	r.clauses[s.clause].made = true
	k := r.saying
	if k == nil {
		return
	}
	for role, holds := range [roles]bool{
		ofMode:   s.Mode != circuit.None,
		ofWhen:   s.When != "" && s.About != OfLoad || s.When == "once" || s.What == "on" || onOccasion[s.What] || s.What == "pushed" || s.What == "runs_out",
		ofAmount: s.Unit != "" || s.What == "slow" || s.What == "found_bad" || s.What == "welded",
		ofRarely: s.What == "intermittent" || s.What == "no_trip" || s.About == OfPlace && s.Unit == "" || s.What == "gas" || s.What == "smell" || s.What == "shock",
		ofClause: true,
	} {
		if holds {
			r.used.join(k.at[role])
		}
	}
}

// one is the span of a word.
func one(t *token) (s span) {
	s.add(t.at)
	return s
}

// weight is what a word may do to what is said beside it.
type weight uint8

const (
	weightless weight = iota
	speaks            // it tells something by itself
	limits            // it may tell that no more than this is so
	within            // it may tell under what this is so
	bounds            // it may tell how far, or at what times, this is so
	restricts         // it may tell of what, or unless what, this is so
	denies            // it may reverse it
)

// weigh tells what a word may do. What names the whole machine, and what only joins,
// does nothing.
func (r *reader) weigh(t *token) weight {
	sub, _ := t.of(isSub)
	switch {
	case r.like.has(t.at):
		return weightless
	case slices.Contains(r.l.Settings, t.text):
		return bounds
	case r.aims.has(t.at):
		return limits
	case r.when.has(t.at) && (t.unknown || t.has(not)):
		return within
	case t.code, t.isNumber && tenths.MatchString(t.text):
		return speaks
	case t.empty(), t.unknown, t.has(things), t.has(isNumber) && !t.has(isUnit):
		return weightless
	case t.has(not) && t.has(all): // "nothing"
		return speaks
	case t.has(not), t.has(cease):
		return denies
	case sub.key == "only", sub.key == "unless", t.has(thinks):
		return restricts
	case t.has(only), t.has(isCondition) && r.l.ofDay(t.text):
		return limits
	case r.when.has(t.at):
		if t.has(isNoun) || t.has(isWhere) || t.has(isUnit) || t.has(isCircum) {
			return within
		}
		return weightless
	case t.has(isWhere) && (!t.has(filler) || t.at > 0 && r.tokens[t.at-1].has(article)): // "on the right"
		return restricts
	case t.has(little), t.has(someOf), t.has(sometimes) && !t.has(ends), t.has(exceptOf), t.has(isCondition), t.has(isMode), t.has(isUnit), sub.key == "until",
		t.has(offMode) && r.l.Nothing != "" && strings.HasPrefix(t.text, r.l.Nothing):
		return bounds
	case t.has(isNoun):
		s, _ := t.of(isNoun)
		if r.l.Nouns[s.n].Machine || r.isMachine(&phrase{nouns: []int{s.n}, said: []string{t.text}}) {
			return weightless
		}
		return speaks
	case t.has(filler), t.has(isSub):
		return weightless
	case t.has(isVerb), t.has(isState), t.has(isSeen), t.has(isWhole), t.has(isHistory), t.has(isCode):
		return speaks
	}
	return weightless
}

// takenBack reports whether a word of a weight may take a statement back. Most states
// tell of a limit by themselves; what is seen or remembered is so but for a denial.
func (s *Statement) takenBack(by weight) bool {
	works := s.What == "normal" || s.What == "rest_normal"
	dead := s.What == "dead" || s.What == "all_dead" || s.What == "rest_dead"
	switch by {
	case limits:
		return works
	case within:
		return works || s.About == OfLoad && (s.What == "on" || s.What == "weak" || s.What == "hot")
	case bounds:
		return works || dead
	case restricts:
		return works || dead || s.About == OfLoad
	}
	return by == denies
}

// doubt is a word of weight that nothing was made of.
type doubt struct {
	word  string
	by    weight
	where bool             // it may tell of which
	of    []circuit.PartID // what it names
	verb  bool             // it tells what is done
}

// guard accounts for every word of weight. One of which nothing was made is told;
// what it may take back of its own clause is asked.
func (r *reader) guard(tokens []token) {
	timed := slices.ContainsFunc(r.heard.Statements, func(s Statement) bool {
		return onOccasion[s.What] || slices.Contains([]string{"runs_out", "slow", "trips", "trips_residual"}, s.What)
	})
	doubts := make([][]doubt, len(r.clauses))
	for i := range tokens {
		t := &tokens[i]
		if t.stop || r.used.has(i) {
			continue
		}
		of, w := r.bears(r.of[i], t)
		if t.has(isUnit) && timed || r.spot(of, tokens[:i+1]) || slices.Contains(r.l.Meter.Ground, t.text) && r.told("shock", circuit.None) ||
			r.l.nounOf(t).Machine && w == weightless && !t.has(isVerb) { // "dispatch: range, no bake"
			continue
		}
		if t.unknown && !r.l.tellsHow(t.text) {
			if w = r.weighStranger(tokens, i, of, w); !ended(tokens[i+1:]) && r.of[i+1] != r.of[i] {
				doubts[r.of[i+1]] = append(doubts[r.of[i+1]], doubt{word: t.text, by: limits}) // "trips doodad it heats"
			}
		}
		one := doubt{word: t.text, by: w, where: t.has(isWhere), verb: w == speaks && t.has(isVerb) && !t.has(isNoun) && !t.has(filler) && r.l.saidOf(t) != heating}
		if s, ok := t.of(isNoun); ok && (w == speaks || w == within) {
			one.of = r.parts(&phrase{nouns: []int{s.n}, said: []string{t.text}}, anyPart)
		}
		doubts[of] = append(doubts[of], one)
		// "trips when I turn on a burner", "only glows a little" lack nothing.
		harmless := w == weightless || w == limits || r.clauses[r.of[i]].formerly && w != denies || r.when.has(i) && !t.has(isWhere)
		if t.unknown || r.like.has(i) && !t.small() || !r.clauses[r.of[i]].made && !r.clauses[r.of[i]].formerly && !t.small() || !harmless ||
			slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.clause == of && r.takes(one, &s) }) {
			r.heard.Unknown = append(r.heard.Unknown, t.written())
		}
	}
	for of := range r.clauses {
		r.ask(of, doubts[of])
	}
}

// spot reports whether the last of words tells where on the part that its clause is about
// something was seen: "split near the middle", "off its lug".
func (r *reader) spot(clause int, words []token) bool {
	t := &words[len(words)-1]
	noun, is := t.of(isNoun)
	if k := r.clauses[clause]; len(k.subjects) == 0 || !t.has(isWhere) && !(is && r.l.Nouns[noun.n].Joint) ||
		!slices.ContainsFunc(words[max(0, len(words)-longestName):], func(o token) bool { return o.has(placePrep) }) {
		return false
	}
	seen := 0
	for _, s := range r.heard.Statements {
		if s.clause == clause {
			if seen++; s.Part == circuit.None || s.About != OfPlace && s.What != "found_bad" {
				return false
			}
		}
	}
	return seen > 0
}

// bears tells which clause a word of one bears on, and how much: where the clause
// names nothing, and nothing was made of it, the one that follows on a circumstance,
// else the one that it goes on from. What is denied there takes back no more than that
// something works.
func (r *reader) bears(clause int, t *token) (int, weight) {
	k, w := r.clauses[clause], r.weigh(t)
	if !k.made && k.subbed && k.next != nil {
		return k.next.id, w
	}
	for k.from != nil && !k.made && (len(k.strange) == 0 || w != denies || k.bare) && !slices.ContainsFunc(k.subjects, func(p *phrase) bool { return len(r.parts(p, anyPart)) > 0 }) {
		switch k = k.from; {
		case t.has(isWhere), t.has(isMode):
			w = min(w, speaks)
		case w == restricts, w == denies, t.has(isUnit):
			w = min(w, limits)
		}
	}
	return k.id, w
}

// takes reports whether a word takes a statement back. Of what works it may have been
// said as well what it does otherwise.
func (r *reader) takes(d doubt, s *Statement) bool {
	otherwise := s.What == "normal" && d.by != denies && !d.where &&
		slices.ContainsFunc(r.heard.Statements, func(o Statement) bool { return o.Load == s.Load && o.What != "normal" })
	if d.verb && s.What == "dead" && r.clauses[s.clause].not {
		return true // "won't hold heat"
	}
	return !otherwise && s.takenBack(d.by) || len(d.of) > 0 && len(r.clauses[s.clause].subjects) == 0 &&
		(d.by == speaks && s.About == OfLoad && !slices.Contains(d.of, r.partOf(s)) || s.way == ofMachine && s.What == "all_dead") // "the lights in both ovens work", "open when I read it at the control"
}

// ask asks whether what a clause was taken to say is so, for words of which nothing
// was made.
func (r *reader) ask(clause int, doubts []doubt) {
	var kept, asked []Statement
	var words []string
	for _, s := range r.heard.Statements {
		by := slices.DeleteFunc(slices.Clone(doubts), func(d doubt) bool { return !r.takes(d, &s) })
		for _, w := range r.strays(&s) { // it may be said of what that is
			by = append(by, doubt{word: w})
		}
		if s.clause != clause || len(by) == 0 {
			kept = append(kept, s)
			continue
		}
		asked, words = append(asked, s), words[:0]
		for _, d := range by {
			words = append(words, d.word)
		}
	}
	r.heard.Statements = kept
	r.heard.doubt(r.l, r.c, asked, strings.Join(words, " "))
}

// doubt asks whether statements are so, for some words; nothing where there are none.
func (h *Heard) doubt(l *Language, c *circuit.Circuit, of []Statement, words string) {
	if len(of) == 0 {
		return
	}
	var labels []string
	for _, s := range of {
		labels = append(labels, l.Tell(c, s))
	}
	h.Questions = append(h.Questions, Question{Words: of[0].Words, What: of[0].What, About: of[0].About,
		Doubt: words, Choices: []Choice{{strings.Join(labels, "; "), of}}})
}
