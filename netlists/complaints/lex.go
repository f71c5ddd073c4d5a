package complaints

import (
	"cmp"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"legtrace/circuit"
)

// token is a phrase of the table, a number, a code or an unknown word.
type token struct {
	text   string // as folded
	senses []sense
	// plural says that the noun stood with an s.
	plural bool
	// stop ends a statement: a full stop, a comma; comma alone is a list too.
	stop, comma bool
	about       *phrase // of what a reading was, that stood here
	number      float64
	isNumber    bool
	code        bool
	mended      string
	unknown     bool
	own         bool // a word of the machine's own
	at          int  // which one it is
}

func (t *token) has(c class) bool {
	return slices.ContainsFunc(t.senses, func(s sense) bool { return s.class == c })
}

func (t *token) of(c class) (sense, bool) {
	for _, s := range t.senses {
		if s.class == c {
			return s, true
		}
	}
	return sense{}, false
}

// written is a token as it stood.
func (t *token) written() string {
	if slip, _, ok := strings.Cut(t.mended, ": "); ok && !strings.Contains(t.text, " ") {
		return slip
	}
	return t.text
}

// is reports whether a token has a class by a key.
func (t *token) is(c class, key string) bool {
	return slices.Contains(t.senses, sense{class: c, key: key})
}

// trips reports whether a token tells that something trips.
func (t *token) trips(l *Language) bool {
	s, ok := t.of(isVerb)
	return t.is(isWhole, "trips") || ok && l.Verbs[s.key].Yes == "trips"
}

// empty reports whether a token says nothing.
func (t *token) empty() bool {
	return t.has(filler) && !slices.ContainsFunc(t.senses, func(s sense) bool { return s.class != filler && s.class != article })
}

// small reports whether a token tells nothing by itself.
func (t *token) small() bool {
	return !t.unknown && !t.has(not) && !t.has(cease) && (t.has(filler) || !slices.ContainsFunc(t.senses, func(s sense) bool {
		return s.class > offMode && s.class != isStanding && s.class != isSide && s.class != isSub
	}))
}

var codeWord = regexp.MustCompile(`^([a-z]{1,3}-?[0-9]{1,4}[a-z]?|[a-z][0-9][a-z][0-9])$`)

var roomNumber = regexp.MustCompile(`^[a-z]?[0-9]+[a-z]?$`)

// flatNumber is such a number that is no other.
var flatNumber = regexp.MustCompile(`^[0-9]+[b-h]$`)

// raw is a word or a mark of a sentence.
type raw struct {
	word   string
	mark   rune
	hyphen bool    // one stands behind it
	full   bool    // written in full for a shorter one
	slip   string  // what was written, where it is read as another word
	about  *phrase // of a mark in place of a reading: of what it was
	short  bool    // of a full stop: what goes on is no new sentence, as after "el."
}

// glued is a figure with its unit: "240V", "17ohm", "1.09k".
var glued = regexp.MustCompile(`^(\d+(?:\.\d+)?)((?i:vac|volts?|v|kohms?|k|megs?|ohms?|r|Ω|amps?|a|deg|f|mins?|hrs?)|M)$`)

// letters are units of which nothing but a figure before tells that they are none's name.
var letters = map[string]string{"R": "ohm", "r": "ohm", "M": "megohm", "A": "amp"}

// shortWord is how long an abbreviation is at most.
const shortWord = 5

// split cuts a sentence into folded words and the marks that end statements.
func split(s string) []raw {
	var out []raw
	start := 0
	runes := []rune(strings.NewReplacer("%", " percent ", "@", " at ", " - ", "; ", " -- ", "; ", "—", "; ", " – ", "; ").Replace(s))
	word := func(to int) {
		w := string(runes[start:to])
		if _, err := strconv.ParseFloat(w, 64); err == nil {
			out = append(out, raw{word: w})
			return
		}
		if m := glued.FindStringSubmatch(w); m != nil && m[2] == "A" && len(m[1]) < 2 {
			out = append(out, raw{word: m[1]}, raw{word: "a"}) // "apartment 2A"
			return
		} else if m != nil {
			out = append(out, raw{word: m[1]}, raw{word: cmp.Or(letters[m[2]], strings.ToLower(m[2]))})
			return
		}
		if unit := letters[w]; unit != "" && len(out) > 0 && isFigure(out[len(out)-1].word) {
			if next := strings.TrimLeft(string(runes[to:]), " "); next == "" || !unicode.IsDigit([]rune(next)[0]) { // "T 230 R 0"
				out = append(out, raw{word: unit})
				return
			}
		}
		for _, end := range []string{"'s", "’s"} {
			w = strings.TrimSuffix(w, end)
		}
		for _, f := range strings.Fields(fold(w)) {
			out = append(out, raw{word: f})
		}
	}
	for i, r := range runes {
		mark := strings.ContainsRune(".;,!?:\n()", r)
		if mark && (r == '.' || r == ',') && i > 0 && i+1 < len(runes) && unicode.IsDigit(runes[i-1]) && unicode.IsDigit(runes[i+1]) {
			mark = false // within a figure
		}
		switch {
		case mark:
			word(i)
			next := strings.TrimLeft(string(runes[i+1:min(i+3, len(runes))]), " ")
			out = append(out, raw{mark: r, short: r == '.' && i-start <= shortWord && next != "" && strings.ToLower(next) == next && unicode.IsLetter([]rune(next)[0])})
			start = i + 1
		case unicode.IsSpace(r) || r == '-' || r == '/' || r == '&' || r == '+':
			word(i)
			if r != '-' && !unicode.IsSpace(r) {
				out = append(out, raw{word: "/"})
			} else if n := len(out); r == '-' && n > 0 {
				out[n-1].hyphen = true
			}
			start = i + 1
		case r == '°':
			word(i)
			out = append(out, raw{word: "deg"})
			start = i + 1
		}
	}
	word(len(runes))
	return out
}

// expand writes short words in full: "will not" is "wont", "nh" is "no heat".
func (l *Language) expand(words []raw) []raw {
	for i := 0; i < len(words); i++ {
		if words[i].mark != 0 {
			continue
		}
		if w := &words[i]; w.word == l.AndShort && w.word != "" && i > 0 && i+1 < len(words) && l.joinable(words[i-1]) && l.joinable(words[i+1]) {
			*w = raw{word: l.And, full: true} // "bake n broil", not "L1-N 120"
		}
		if i+1 < len(words) && words[i+1].short && !l.vocabulary[words[i].word] && !l.skip[words[i].word] {
			words = slices.Delete(words, i+1, i+2) // "el. dead"
		}
		if words[i].hyphen && i+1 < len(words) && l.vocabulary[words[i].word+words[i+1].word] { // "cut-off"
			words = slices.Replace(words, i, i+2, raw{word: words[i].word + words[i+1].word})
		}
		var full []raw
		n := 0
		for _, s := range l.short[words[i].word] {
			if len(s.said) > n {
				if means := s.inFull(words[i:]); means != nil {
					full, n = means, len(s.said)
				}
			}
		}
		if n == 0 {
			continue
		}
		words = slices.Replace(words, i, i+n, full...)
		i += len(full) - 1
	}
	return words
}

// short is what words are short for: of "a|b c" and "d|e" each where the other stands at
// the same place.
type short struct{ said, full []string }

// inFull is what words mean that begin with short ones, nil where they do not.
func (s short) inFull(words []raw) (means []raw) {
	if len(words) < len(s.said) {
		return nil
	}
	full := slices.Clone(s.full)
	for i, w := range s.said {
		either := strings.Split(w, "|")
		at := slices.Index(either, words[i].word)
		if at < 0 {
			return nil
		}
		if j := slices.IndexFunc(full, func(f string) bool { return strings.Count(f, "|") == len(either)-1 }); j >= 0 && len(either) > 1 {
			full[j] = strings.Split(full[j], "|")[at]
		}
	}
	for _, w := range full {
		means = append(means, raw{word: w, full: true})
	}
	return means
}

// joinable reports whether a short "and" may stand beside a word: no pole and no figure.
func (l *Language) joinable(w raw) bool {
	return w.mark == 0 && len(w.word) > 2 && !w.hyphen && !codeWord.MatchString(w.word) && (l.vocabulary[w.word] || l.skip[w.word] || len(l.bases(w.word)) > 0)
}

// tokens finds the longest phrases of the table, and the machine's own words.
func (l *Language) tokens(words []raw, own *vocabulary) []token {
	words = l.expand(words)
	for i := range words {
		w := &words[i]
		known := w.mark != 0 || w.full || l.vocabulary[w.word] || l.skip[w.word] || l.between[w.word] || l.ordinary[w.word] || own.words[w.word] || codeWord.MatchString(w.word) ||
			len(l.bases(w.word)) > 0
		if near := l.near(w.word); !known && near != "" && singular(near) != w.word {
			w.word, w.slip = near, w.word
		}
	}
	var out []token
	for i := 0; i < len(words); {
		if m := words[i].mark; m != 0 {
			out = append(out, token{text: string(m), stop: true, comma: m == ',', about: words[i].about})
			i++
			continue
		}
		n := i
		for n < len(words) && words[n].mark == 0 {
			n++
		}
		t, used := l.longestAt(words[i:n], own)
		if i+1 < n && slices.Contains(l.Rooms, words[i].word) && roomNumber.MatchString(words[i+1].word) {
			t, used = token{text: words[i].word + " " + words[i+1].word, senses: []sense{{class: filler}}}, 2
		}
		if i+1 < n && flatNumber.MatchString(words[i+1].word) && used == 1 && (t.has(placePrep) || t.has(modePrep)) { // "tenant in 2B"
			t, used = token{text: words[i].word + " " + words[i+1].word, senses: []sense{{class: filler}}}, 2
		}
		for _, w := range words[i : i+used] {
			if w.slip != "" {
				t.mended = strings.TrimPrefix(t.mended+", "+w.slip+": "+w.word, ", ")
			}
		}
		t.at = len(out)
		out = append(out, t)
		i += used
	}
	return l.runsOn(out)
}

// began are the histories that tell when or how it began and nothing else.
var began = map[string]bool{"since": true, "sudden": true, "gradual": true}

// asides takes out of a sentence what may stand anywhere in it and changes nothing of
// what is said: "for some reason", and when it began, which is told by itself.
func (r *reader) asides(words []raw) (kept []raw) {
	for len(words) > 0 {
		n := max(slices.IndexFunc(words, func(w raw) bool { return w.mark != 0 }), 0)
		if n == 0 && words[0].mark == 0 {
			n = len(words)
		}
		t, used := token{}, 1
		if n > 0 {
			t, used = r.l.longestAt(words[:n], r.machine)
		}
		s, _ := t.of(isHistory)
		if when := began[s.key]; !when && !t.has(aside) {
			kept = append(kept, words[:used]...)
		} else if when && !slices.ContainsFunc(r.began, func(o Statement) bool { return o.What == s.key }) {
			r.began = append(r.began, Statement{About: OfHistory, What: s.key, Load: circuit.None, Part: circuit.None, Mode: circuit.None, Words: t.text})
		}
		words = words[used:]
	}
	return kept
}

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
		for _, b := range tries {
			if l.vocabulary[b] {
				out = append(out, base{b, ending})
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
	starts := []string{first}
	for _, b := range l.bases(first) {
		starts = append(starts, b.word)
	}
	var t token
	most, best, used := 0, -1, 0
	for _, start := range starts {
		for _, p := range l.byFirst[start] {
			n, exact, bent := l.match(p, words)
			if n == 0 || p.n < most || p.n == most && (exact < best || exact == best && n < used) {
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

func startsWith(words []raw, with []string) bool {
	for i, w := range with {
		if words[i].word != w && !slices.Contains(strings.Split(w, "|"), words[i].word) {
			return false
		}
	}
	return true
}
