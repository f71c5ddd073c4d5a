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
	apart  bool    // what is read there was read with its wires off
	code   bool    // a code, whatever else the word may be
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
		if i+1 < len(words) && words[i+1].short && (!l.vocabulary[words[i].word] && !l.skip[words[i].word] || l.shortPlace(words[i:])) {
			words = slices.Delete(words, i+1, i+2) // "el. dead"
		}
		if words[i].hyphen && i+1 < len(words) && l.vocabulary[words[i].word+words[i+1].word] { // "cut-off"
			words = slices.Replace(words, i, i+2, raw{word: words[i].word + words[i+1].word})
		}
		var full []raw
		n := 0
		short := l.short[words[i].word]
		if l.namesPart(words[i:]) > 0 {
			short = slices.Concat(short, l.short[aPart])
		}
		for _, s := range short {
			if means, used := l.inFull(s, words[i:]); used > n {
				full, n = means, used
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

// shortPlace reports whether words begin with a place written short, "rt. rear".
func (l *Language) shortPlace(words []raw) bool {
	isPlace := func(w raw) bool { t := l.alone(w.word); return w.mark == 0 && t.has(isWhere) }
	return len(words) > 2 && len(words[0].word) <= 3 && isPlace(words[0]) && isPlace(words[2])
}

// short is what words are short for: of "a|b c" and "d|e" each where the other stands at
// the same place, of "a|b|" one of them or none, of "," a comma or a colon or
// none, of ":" a colon or none, and of aPart whatever names one.
type short struct{ said, full []string }

const aPart = "PART"

// inFull is what words mean that begin with short ones, and how many those are: none
// where they do not.
func (l *Language) inFull(s short, words []raw) (means []raw, used int) {
	full := slices.Clone(s.full)
	for _, w := range s.said {
		if used >= len(words) {
			if strings.HasSuffix(w, "|") {
				continue
			}
			return nil, 0
		}
		if w == "," || w == ":" { // or none
			if words[used].mark == ':' || words[used].mark == ',' && w == "," {
				used++
			}
			continue
		}
		if w == aPart {
			n := l.namesPart(words[used:])
			if n == 0 {
				return nil, 0
			}
			if j := slices.Index(full, aPart); j >= 0 {
				var named []string
				for _, word := range words[used : used+n] {
					named = append(named, word.word)
				}
				full = slices.Replace(full, j, j+1, named...)
			}
			used += n
			continue
		}
		if l.named[words[used].word] && slices.Contains(s.said, aPart) {
			return nil, 0 // "0 A on the second heater's lead": it is called so
		}
		either := strings.Split(w, "|")
		at, empty := -1, slices.Index(either, "")
		if words[used].mark == 0 {
			at = slices.Index(either, words[used].word)
		}
		if at < 0 && empty < 0 {
			return nil, 0
		}
		if at < 0 {
			at, used = empty, used-1 // "the|my|" may lack
		}
		if j := slices.IndexFunc(full, func(f string) bool {
			return strings.Count(f, "|") == len(either)-1 && strings.HasSuffix(f, "|") == strings.HasSuffix(w, "|") // what may lack is no one of several
		}); j >= 0 && len(either) > 1 {
			full[j] = strings.Split(full[j], "|")[at]
		}
		used++
	}
	for _, w := range full {
		switch w {
		case "":
		case ",":
			means = append(means, raw{mark: ','})
		default:
			means = append(means, raw{word: w, full: true})
		}
	}
	return means, used
}

// namesPart is how many words at the beginning name a part that may be replaced.
func (l *Language) namesPart(words []raw) (most int) {
	for n := 0; n < len(words) && words[n].mark == 0; {
		t, used := l.longestAt(words[n:], &vocabulary{})
		row := l.nounOf(&t)
		isPart := t.has(isNoun) && !row.Machine && !row.Region && !row.Pronoun
		if !isPart && !t.has(isWhere) || used == 0 {
			break
		}
		if n += used; isPart || l.HeadFirst && most > 0 {
			most = n // "termostato de abajo"
		}
	}
	return most
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
		known := w.mark != 0 || w.full || w.code || own.words[w.word] || codeWord.MatchString(w.word) || l.knows(w.word)
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
		} else if anyway := strings.Fields(t.text); t.has(aside) && slices.Contains(r.l.Chosen, anyway[len(anyway)-1]) && slices.ContainsFunc(anyway, func(w string) bool { return r.l.word(w).has(all) }) {
			r.anyway = true // "no heat on any setting"
		} else if when && !slices.ContainsFunc(r.began, func(o Statement) bool { return o.What == s.key }) {
			r.began = append(r.began, Statement{About: OfHistory, What: s.key, Load: circuit.None, Part: circuit.None, Mode: circuit.None, Words: t.text})
		}
		if end := r.l.clauseEnd(words, used); slices.Contains(r.l.Why, t.text) && end < len(words) && words[end].mark == '?' {
			words[end].mark = '.' // "why won't it heat?": it does not
		}
		words = words[used:]
	}
	return kept
}
