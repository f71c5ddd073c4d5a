package complaints

import (
	"slices"
	"strings"
)

// runsOn puts a comma where a sentence without one goes on with a subject of its own:
// "no heat drum turns". Where a noun stands before its verb alone, that is two of them
// with nothing between.
func (l *Language) runsOn(tokens []token) []token {
	if l.HeadFirst {
		return tokens
	}
	out, depends := make([]token, 0, len(tokens)), false
	for i := range tokens {
		t := &tokens[i]
		switch {
		case t.stop || t.has(ends) || t.has(joins):
			depends = false
		case t.has(isSub):
			depends = true // "when it starts the drum turns"
		case !depends && i > 0 && (l.predicate(tokens[:i]) && l.subject(tokens[i:]) || l.isOut(out) && l.standsSo(tokens[i:])):
			out = append(out, token{text: ",", stop: true, comma: true})
		}
		next := *t
		next.at = len(out)
		out = append(out, next)
	}
	return out
}

// isOut reports whether tokens end with a name, and nothing before it, that is out: the first
// of "bake out broil out tops ok".
func (l *Language) isOut(tokens []token) bool {
	from := len(tokens) - 1
	if !tokens[from].is(isStanding, "dead") || tokens[from].has(not) || strings.Contains(tokens[from].text, " ") {
		return false
	}
	for from > 0 && (tokens[from-1].has(isNoun) || tokens[from-1].has(isWhere)) {
		from--
	}
	return from < len(tokens)-1 && (from == 0 || tokens[from-1].stop)
}

// standsSo reports whether tokens begin with a name and no more than how it is.
func (l *Language) standsSo(tokens []token) bool {
	n := slices.IndexFunc(tokens, func(t token) bool { return !t.has(isNoun) && !t.has(isWhere) })
	return n > 0 && (tokens[n].is(isStanding, "dead") && !tokens[n].has(not) || tokens[n].has(isState)) && (ended(tokens[n+1:]) || tokens[n+1].has(isNoun) || tokens[n+1].has(isWhere))
}

// predicate reports whether tokens end with what says how something is.
func (l *Language) predicate(tokens []token) bool {
	n := len(tokens) - 1
	t := &tokens[n]
	if t.has(isNoun) && !t.has(isVerb) || t.has(isSub) {
		return false
	}
	if t.has(isState) && (strings.Contains(t.text, " ") || l.finite(t)) {
		return true
	}
	return t.has(isVerb) && n > 0 && (tokens[n-1].has(not) || tokens[n-1].has(isNoun) && l.finite(t))
}

// subject reports whether tokens begin with a noun and its verb.
func (l *Language) subject(tokens []token) bool {
	noun := false
	for i := range tokens {
		t := &tokens[i]
		switch {
		case t.has(isNoun) && !(noun && l.finite(t)):
			noun = true
		case !noun && (t.has(isWhere) || t.has(article) || t.has(its)), noun && t.has(filler) && !t.has(aux) && !t.has(not) && !t.has(isState) && !t.has(isVerb):
		default:
			return noun && (t.has(aux) || t.has(not) || t.has(cease) || l.finite(t))
		}
	}
	return false
}

// finite reports whether a token is a verb as it stands after its subject: "turns",
// "comes on".
func (l *Language) finite(t *token) bool {
	first, _, _ := strings.Cut(t.text, " ")
	return (t.has(isVerb) || t.has(isState) || t.is(isWhole, "trips")) && !strings.HasSuffix(first, "ing") && len(l.bases(first)) > 0
}

// clauseAhead reports whether tokens begin with a noun and have a verb of being behind it,
// before anything parts them: "the wires in the box are melted".
func (l *Language) clauseAhead(tokens []token) bool {
	noun := false
	for i := range tokens {
		switch t := &tokens[i]; {
		case t.stop, t.has(ends), t.has(joins), t.has(isSub):
			return false
		case t.has(isNoun):
			noun = true
		case noun && t.has(aux):
			return true
		case !noun && !t.has(article) && !t.has(its) && !t.has(isWhere):
			return false
		}
	}
	return false
}

// another reports whether something else is told behind an "and" that stands after what is
// not done, no more of what is not: "won't bake and the clock is dead", not "won't bake or broil".
func (l *Language) another(and *token, rest []token) bool {
	next := content(rest)
	if next == nil || rest[0].has(article) {
		return next != nil
	}
	if and.text != l.And || !next.has(isVerb) {
		return !next.has(isVerb)
	}
	if !next.has(isNoun) { // "and trips the breaker"
		return l.finite(next) || rest[0].at != next.at
	}
	at := slices.IndexFunc(rest, func(n token) bool { return n.at == next.at })
	return slices.ContainsFunc(rest[at+1:min(at+2, len(rest))], func(n token) bool {
		return n.has(aux) || l.finite(&n) || n.has(isState) && !n.has(isVerb)
	})
}
