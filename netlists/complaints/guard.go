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
		ofWhen:   s.When != "" && s.About != OfLoad || onOccasion[s.What] || s.What == "pushed" || s.What == "runs_out",
		ofAmount: s.Unit != "" || s.What == "slow",
		ofRarely: s.What == "intermittent",
		ofClause: true,
	} {
		if holds {
			r.used.join(k.at[role])
		}
	}
}

// enter adds a mode to those that a clause speaks of.
func (k *clause) enter(m circuit.ModeID, from span) {
	k.modes = append(k.modes, m)
	k.at[ofMode].join(from)
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
	bounds            // it may tell how far, or at what times, this is so
	restricts         // it may tell of what, or unless what, this is so
	denies            // it may reverse it
)

// weigh tells what a word may do. What names the whole machine, and what only joins,
// does nothing.
func (r *reader) weigh(t *token) weight {
	sub, _ := t.of(isSub)
	switch {
	case t.empty(), t.unknown, t.has(things), t.has(isNumber) && !t.has(isUnit):
		return weightless
	case t.has(not) && t.has(all): // "nothing"
		return speaks
	case t.has(not), t.has(cease):
		return denies
	case sub.key == "only", sub.key == "unless":
		return restricts
	case t.has(only):
		return limits
	case r.when.has(t.at):
		if t.has(isNoun) || t.has(isWhere) || t.has(isUnit) || t.has(isCircum) {
			return limits
		}
		return weightless
	case t.has(isWhere) && !t.has(filler):
		return restricts
	case t.has(little), t.has(someOf), t.has(sometimes) && !t.has(ends), t.has(exceptOf), t.has(isCondition), t.has(isMode), t.has(isUnit), sub.key == "until",
		t.has(offMode) && r.l.nothing != "" && strings.HasPrefix(t.text, r.l.nothing):
		return bounds
	case t.has(isNoun):
		s, _ := t.of(isNoun)
		if r.l.nouns[s.n].Machine || r.isMachine(&phrase{nouns: []int{s.n}, said: []string{t.text}}) {
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

// asked is the least weight of a word that takes a statement back: most states tell
// of a limit by themselves, and what is seen or remembered is so but for a denial.
func (s *Statement) asked() weight {
	switch {
	case s.What == "normal", s.What == "rest_normal":
		return limits
	case s.What == "dead", s.What == "all_dead", s.What == "rest_dead":
		return bounds
	case s.About == OfLoad:
		return restricts
	}
	return denies
}

// guard accounts for every word of weight. One of which nothing was made is told;
// what it may reverse or restrict of its own clause is asked.
func (r *reader) guard(tokens []token) {
	timed := slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return onOccasion[s.What] || s.What == "runs_out" || s.What == "slow" })
	doubts, worst := make([][]string, len(r.clauses)), make([]weight, len(r.clauses))
	for i := range tokens {
		t := &tokens[i]
		if t.stop || r.used.has(i) {
			continue
		}
		of, w := r.bears(r.of[i], t)
		if w == weightless || t.has(isUnit) && timed {
			continue
		}
		if w >= limits {
			doubts[of], worst[of] = append(doubts[of], t.text), max(worst[of], w)
		}
		if r.when.has(i) && !r.doubtful(of, w) {
			continue // "trips when I turn on a burner"
		}
		for _, word := range strings.Fields(t.text) {
			if !r.l.isSmall(word) && !r.told(word) {
				r.lose(word)
			}
		}
	}
	for k := range r.clauses {
		r.doubt(k, worst[k], doubts[k])
	}
}

// bears tells which clause a word of one bears on, and how much: where the clause
// names nothing, and nothing was made of it, the one that it goes on from. What
// is denied there takes back no more than that something works.
func (r *reader) bears(clause int, t *token) (int, weight) {
	k, w := r.clauses[clause], r.weigh(t)
	for k.from != nil && !k.made && (len(k.strange) == 0 || w != denies) && !slices.ContainsFunc(k.subjects, func(p *phrase) bool { return len(r.parts(p, anyPart)) > 0 }) {
		switch k = k.from; {
		case t.has(isWhere), t.has(isMode):
			w = min(w, speaks)
		case w == restricts, w == denies, t.has(isUnit):
			w = min(w, limits)
		}
	}
	return k.id, w
}

// told reports whether a word is among those that nothing was made of.
func (r *reader) told(word string) bool {
	return slices.ContainsFunc(r.heard.Unknown, func(u string) bool { return slices.Contains(strings.Fields(u), word) })
}

// bounded reports whether of what works it was said as well what it does otherwise.
func (r *reader) bounded(s *Statement) bool {
	return s.What == "normal" && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool { return o.Load == s.Load && o.What != "normal" })
}

// doubtful reports whether a word of a clause takes back something said in it.
func (r *reader) doubtful(clause int, w weight) bool {
	return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.clause == clause && w >= s.asked() })
}

// doubt asks whether what a clause was taken to say is so, for words of which
// nothing was made.
func (r *reader) doubt(clause int, w weight, words []string) {
	var kept, asked []Statement
	for _, s := range r.heard.Statements {
		if s.clause == clause && w >= s.asked() && !(w < denies && r.bounded(&s)) {
			asked = append(asked, s)
		} else {
			kept = append(kept, s)
		}
	}
	if len(asked) == 0 {
		return
	}
	var labels []string
	for _, s := range asked {
		labels = append(labels, r.l.Tell(r.c, s))
	}
	r.heard.Statements = kept
	r.heard.Questions = append(r.heard.Questions, Question{Words: asked[0].Words, What: asked[0].What, About: asked[0].About,
		Doubt: strings.Join(words, " "), Choices: []Choice{{strings.Join(labels, "; "), asked}}})
}
