package complaints

import (
	"slices"
	"strconv"
	"strings"
)

// pattern is a phrase of the table: words apart by blanks, of each what may stand for it
// apart by "|". A table has thousands, of which a complaint takes a few: they stay as
// they are written.
type pattern struct {
	words  string
	n      int // of words
	senses []sense
}

func (p *pattern) has(c class) bool {
	return p != nil && slices.ContainsFunc(p.senses, func(s sense) bool { return s.class == c })
}

// is reports whether a pattern has a class by a key.
func (p *pattern) is(c class, key string) bool {
	return p != nil && slices.Contains(p.senses, sense{class: c, key: key})
}

// word is the phrase of one word by itself, nil where the table has none.
func (l *Language) word(w string) *pattern { return l.phrases[w] }

// match tells how many words a pattern takes from the first, 0 for none. Words
// that carry nothing may stand between. Exact counts words as written in the
// table; bent says that one is an inflected form, other than a plural.
func (l *Language) match(p *pattern, words []raw) (used, exact int, bent bool) {
	at, either, left := 0, "", p.words
	for i := range p.n {
		passed := at
		either, left, _ = strings.Cut(left, " ")
		for i > 0 && at < len(words) && l.passes(words[at].word) && !isOne(either, words[at].word) {
			at++
		}
		if last := i+1 == p.n; at == len(words) || last && at > passed && !p.has(isNoun) && l.alone(words[at-1].word).has(article) && l.qualifies(words[at:]) {
			return 0, 0, false
		}
		w := words[at].word
		switch {
		case isOne(either, w):
			exact++
		default:
			how := ""
			for _, b := range l.bases(w) {
				if isOne(either, b.word) || p.n > 1 && b.by == "ing" && slices.ContainsFunc(strings.Split(either, "|"), func(a string) bool { return l.isForm(a, b.word) }) {
					how = b.by
					break
				}
			}
			if how == "" {
				return 0, 0, false
			}
			bent = bent || how != "s" || i+1 < p.n // "the burners light" is no burner light
		}
		at++
	}
	return at, exact, bent
}

// qualifies reports whether the first of words tells which or what like, and goes with a
// noun behind it: "so the far heater" does not begin with "so far".
func (l *Language) qualifies(words []raw) bool {
	has := func(at int, c class) bool {
		return at < len(words) && slices.ContainsFunc(append(l.bases(words[at].word), base{word: words[at].word}), func(b base) bool { return l.word(b.word).has(c) })
	}
	which := has(0, isWhere) || has(0, isState)
	return which && !has(0, isNoun) && (has(1, isNoun) || has(1, isWhere)) ||
		(which || l.going(words[0].word)) && slices.ContainsFunc(l.byFirst[words[0].word], func(p *pattern) bool {
			n := 0
			if p.n > 1 && p.has(isNoun) {
				n, _, _ = l.match(p, words)
			}
			return n > 0 // "just the warming drawer"
		})
}

// isForm reports whether a word comes from another.
func (l *Language) isForm(w, of string) bool {
	return strings.HasPrefix(w, of) && slices.ContainsFunc(l.bases(w), func(b base) bool { return b.word == of })
}

// passes reports whether a word may stand within a phrase: small ones, those of
// becoming, and unknown ones that tell how.
func (l *Language) passes(w string) bool {
	return l.skip[w] || l.between[w] || !l.vocabulary[w] && l.tellsHow(w)
}

// tellsHow reports whether a word ends as those that tell how something is done.
func (l *Language) tellsHow(w string) bool {
	return l.Manner != "" && strings.HasSuffix(w, l.Manner)
}

// base is what an inflected word comes from, and by which ending.
type base struct{ word, by string }

// bases lists what a word may be a form of, among the words of the table.
func (l *Language) bases(w string) []base {
	var out []base
	if b, ok := l.forms[w]; ok {
		out = append(out, base{b, "form"})
	}
	for _, ending := range l.Endings {
		stem, ok := strings.CutSuffix(w, ending)
		if !ok || len(stem) < 3 || ending == "s" && strings.HasSuffix(stem, "s") {
			continue
		}
		tries := []string{stem, stem + "e"}
		if n := len(stem); stem[n-1] == stem[n-2] {
			tries = append(tries, stem[:n-1])
		}
		if strings.HasSuffix(stem, "i") {
			tries = append(tries, stem[:len(stem)-1]+"y")
		}
		by := ending
		if ending == "es" && (strings.HasSuffix(stem, "ch") || strings.HasSuffix(stem, "x")) {
			by = "s" // "switches"
		}
		for _, b := range tries {
			if l.vocabulary[b] {
				out = append(out, base{b, by})
			}
		}
	}
	return out
}

// formOf reports whether a word is one of a list, or a form of it.
func (l *Language) formOf(w string, list []string) bool {
	return slices.Contains(list, w) || slices.ContainsFunc(l.bases(w), func(b base) bool { return slices.Contains(list, b.word) })
}

// longestAt takes the phrase with most words, then most of them as written.
// Phrases alike in this are one token of several senses.
func (l *Language) longestAt(words []raw, own *vocabulary) (token, int) {
	first := words[0].word
	if words[0].code {
		return token{text: first, code: true}, 1
	}
	if own.letters[first] && l.isLetter(words) {
		return token{text: first, senses: []sense{{class: isWhere, key: first}}, own: true}, 1
	}
	starts := []string{first}
	for _, b := range l.bases(first) {
		starts = append(starts, b.word)
	}
	named := own.words[first] && len(words) > 1 && l.standsFor(words[1].word) // "the second one is cold", of two heaters
	var t token
	most, best, used := 0, -1, 0
	for _, start := range starts {
		for _, p := range l.byFirst[start] {
			n, exact, bent := l.match(p, words)
			if n == 0 || p.n > 1 && named && !p.has(isNoun) || p.n < most || p.n == most && (exact < best || exact == best && n < used) {
				continue
			}
			senses := p.senses
			if bent {
				senses = slices.DeleteFunc(slices.Clone(senses), func(s sense) bool { return s.class == isNoun || s.class == isWhere })
			}
			if len(senses) == 0 {
				continue
			}
			if p.n > most || exact > best || n > used {
				most, best, used, t = p.n, exact, n, token{}
			}
			for _, s := range senses {
				if !slices.Contains(t.senses, s) {
					t.senses = append(t.senses, s)
				}
			}
		}
	}
	for _, h := range own.heads {
		if n := len(h.words); (n > most || n == most && !t.has(isNoun)) && n <= len(words) && startsWith(words, h.words) {
			return token{text: strings.Join(h.words, " "), senses: []sense{{class: isMode, n: int(h.mode)}}}, n
		}
	}
	for _, c := range own.called {
		if n := len(c.words); n >= most && n <= len(words) && startsWith(words, c.words) {
			return token{text: strings.Join(c.words, " "), senses: []sense{{class: isNoun, n: c.noun}}}, n
		}
	}
	for _, h := range own.heads {
		if used > 1 && len(h.words) >= used && len(h.words) < len(words) && startsWith(words[1:], h.words) && l.alone(first).has(placePrep) {
			return l.longestAt(words[:1], own) // "on top and bottom", which is a mode
		}
	}
	if used > 0 {
		parts := make([]string, used)
		for i := range parts {
			parts[i] = words[i].word
		}
		t.text = strings.Join(parts, " ")
		if used == 1 && slices.ContainsFunc(own.parts, func(set map[string]bool) bool { return set[first] }) && !t.has(isWhere) && (t.has(isUnit) || t.has(isNumber)) {
			t.senses = append(t.senses, sense{class: isWhere, key: first}) // "the second heater"
		}
		if used == 1 && len(words) > 1 && t.has(things) && own.pairs[first+" "+words[1].word] {
			t.senses, t.own = []sense{{class: isWhere, key: first}}, true // "the fabric switch"
		}
		head := parts[used-1]
		if l.HeadFirst {
			head = parts[0]
		}
		t.plural = t.has(isNoun) && singular(head) != head
		return t, used
	}
	w := first
	switch {
	case w == "/":
		return token{text: w, senses: []sense{{class: joins}}}, 1
	case own.words[w]:
		return token{text: w, senses: []sense{{class: isWhere, key: w}}, own: true}, 1
	case codeWord.MatchString(w):
		return token{text: w, code: true}, 1
	}
	if x, err := strconv.ParseFloat(strings.ReplaceAll(w, ",", "."), 64); err == nil {
		return token{text: w, number: x, isNumber: true}, 1
	}
	return token{text: w, unknown: true}, 1
}

// isLetter reports whether the first of words, which is a small word too, stands for what
// ends in that letter, as an article cannot: "A and C read 16".
func (l *Language) isLetter(words []raw) bool {
	if len(words) == 1 || words[1].mark != 0 {
		return true
	}
	next := l.alone(words[1].word)
	return isFigure(words[1].word) || next.has(joins) || next.has(aux) || next.has(not) || next.has(all) || l.finite(next) || slices.Contains(l.Meter.Measuring, words[1].word) ||
		next.has(isState) && !next.has(isNoun) && (len(words) == 2 || words[2].mark != 0)
}

func startsWith(words []raw, with []string) bool {
	for i, w := range with {
		if words[i].word != w && !slices.Contains(strings.Split(w, "|"), words[i].word) {
			return false
		}
	}
	return true
}
