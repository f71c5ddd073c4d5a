package complaints

import "slices"

// planned is how a language tells what somebody means to do or has on order, as opposed to
// what was done.
type planned struct {
	// Does begin a clause as an order: "replace the element". Will stand before that, or
	// before Done, Be between them: "will replace", "needs to be replaced".
	Does, Done, Will, Be []string
	// Past tell that it was done after all: "had to be replaced".
	Past []string
	// Ordered end a clause: "new block and cord ordered".
	Ordered []string
	// Rules begin a sentence of machines of a kind; If do so where behind it Do begin what
	// to look at then, or Is what it is: "if it is a little hot water, then cold, it is the
	// lower element".
	Rules, If, Do, Is []string
}

// rules leaves out what is said of machines of a kind, and not of this one: "on these it is
// mostly the igniter", "if there is no hot water at all, look up top first".
func (l *Language) rules(words []raw) []raw {
	for from := 0; from < len(words); {
		to := from
		for to < len(words) && (words[to].mark == 0 || words[to].mark == ',' || words[to].mark == ':') {
			to++
		}
		if l.isRule(words[from:to]) {
			words = slices.Delete(words, from, to)
			to = from
		}
		from = to + 1
	}
	return words
}

// isRule reports whether a sentence is of machines of a kind.
func (l *Language) isRule(sentence []raw) bool {
	p := &l.Planned
	holds := func(at int, phrases []string) bool {
		return l.says(sentence[at:], phrases) > 0
	}
	if len(sentence) == 0 || !holds(0, p.If) {
		return len(sentence) > 0 && holds(0, p.Rules)
	}
	for i := 1; i < len(sentence); i++ {
		if sentence[i-1].mark != 0 && holds(i, p.Do) || holds(i, p.Is) && (sentence[i-1].mark != 0 || l.namesPart(l.unarticled(sentence[i+1:])) == len(l.unarticled(sentence[i+1:]))) {
			return true
		}
	}
	return false
}

// plans leaves out what is yet to be done: it tells what somebody thinks, nothing that was
// seen. "Bake element open, replace element" is of an element that nobody replaced.
func (l *Language) plans(words []raw) []raw {
	for from := 0; from < len(words); from++ {
		to := from
		for to < len(words) && words[to].mark == 0 && !l.alone(words[to].word).has(joins) {
			to++
		}
		if clause := words[from:to]; l.isPlan(clause) {
			for from > 1 && words[from-1].mark == 0 { // "new block and cord ordered"
				at := from - 1
				for at > 0 && words[at-1].mark == 0 && !l.alone(words[at-1].word).has(joins) {
					at--
				}
				if !slices.Contains(l.Planned.Be, words[at].word) {
					break
				}
				from = at
			}
			if to < len(words) && words[to].mark == 0 {
				to++ // "and"
			}
			words = slices.Delete(words, from, to)
			from--
			continue
		}
		from = to
	}
	return words
}

// isPlan reports whether a clause tells what is to be done.
func (l *Language) isPlan(clause []raw) bool {
	p := &l.Planned
	if slices.ContainsFunc(clause, func(w raw) bool { return slices.Contains(p.Past, w.word) }) {
		return false
	}
	if len(clause) < 2 {
		return len(clause) == 1 && slices.Contains(p.Does, clause[0].word)
	}
	if slices.Contains(p.Does, clause[0].word) && l.namesPart(l.unarticled(clause[1:])) > 0 || slices.Contains(p.Ordered, clause[len(clause)-1].word) {
		return true
	}
	for i, w := range clause {
		if !slices.Contains(p.Will, w.word) {
			continue
		}
		for j := i + 1; j < len(clause); j++ {
			if slices.Contains(p.Does, clause[j].word) || slices.Contains(p.Done, clause[j].word) {
				return true
			}
			if !slices.Contains(p.Be, clause[j].word) && !l.skip[clause[j].word] {
				break
			}
		}
	}
	return false
}

// unarticled is a clause without the small words that it begins with: "the new element".
func (l *Language) unarticled(clause []raw) []raw {
	for len(clause) > 0 && (l.skip[clause[0].word] || slices.Contains(l.Planned.Be, clause[0].word)) {
		clause = clause[1:]
	}
	return clause
}
