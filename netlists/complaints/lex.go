package complaints

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/agnivade/levenshtein"
)

// token is a phrase of the table, a number, a code or an unknown word.
type token struct {
	text   string // as folded
	senses []sense
	// plural says that the noun stood with an s.
	plural bool
	// stop ends a statement: a full stop, a comma; comma alone is a list too.
	stop, comma bool
	number      float64
	isNumber    bool
	code        bool
	mended      string
	unknown     bool
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

var codeWord = regexp.MustCompile(`^([a-z]{1,3}-?[0-9]{1,4}[a-z]?|[a-z][0-9][a-z][0-9])$`)

// raw is a word or a mark of a sentence.
type raw struct {
	word string
	mark rune
}

// split cuts a sentence into folded words and the marks that end statements.
func split(s string) []raw {
	var out []raw
	word := func(w string) {
		if _, err := strconv.ParseFloat(w, 64); err == nil {
			out = append(out, raw{word: w})
			return
		}
		for _, f := range strings.Fields(fold(w)) {
			out = append(out, raw{word: f})
		}
	}
	start := 0
	runes := []rune(s)
	for i, r := range runes {
		mark := strings.ContainsRune(".;,!?:\n()", r)
		if mark && (r == '.' || r == ',') && i > 0 && i+1 < len(runes) && unicode.IsDigit(runes[i-1]) && unicode.IsDigit(runes[i+1]) {
			mark = false // within a figure
		}
		switch {
		case mark:
			word(string(runes[start:i]))
			out = append(out, raw{mark: r})
			start = i + 1
		case unicode.IsSpace(r) || r == '-' || r == '/':
			word(string(runes[start:i]))
			if r == '/' {
				out = append(out, raw{word: "/"})
			}
			start = i + 1
		case r == '°':
			word(string(runes[start:i]))
			out = append(out, raw{word: "deg"})
			start = i + 1
		}
	}
	word(string(runes[start:]))
	return out
}

// tokens finds the longest phrases of the table, and the machine's own words.
func (l *Language) tokens(sentence string, own map[string]bool) []token {
	words := split(sentence)
	var out []token
	for i := 0; i < len(words); {
		if m := words[i].mark; m != 0 {
			out = append(out, token{text: string(m), stop: true, comma: m == ','})
			i++
			continue
		}
		n := 0
		for n < l.longest && i+n < len(words) && words[i+n].mark == 0 {
			n++
		}
		t, used := l.longestAt(words[i:i+n], own)
		out = append(out, t)
		i += used
	}
	return out
}

func (l *Language) longestAt(words []raw, own map[string]bool) (token, int) {
	join := func(n int) string {
		parts := make([]string, n)
		for i := range parts {
			parts[i] = words[i].word
		}
		return strings.Join(parts, " ")
	}
	for n := len(words); n > 0; n-- {
		text := join(n)
		if senses, ok := l.phrases[text]; ok {
			return token{text: text, senses: senses}, n
		}
		if one := singular(text); one != text {
			if senses, ok := l.phrases[one]; ok {
				nouns := slices.DeleteFunc(slices.Clone(senses), func(s sense) bool { return s.class != isNoun })
				if len(nouns) > 0 {
					return token{text: text, senses: nouns, plural: true}, n
				}
			}
		}
	}
	w := words[0].word
	switch {
	case w == "/":
		return token{text: w, senses: []sense{{class: joins}}}, 1
	case own[w]:
		return token{text: w, senses: []sense{{class: isWhere, key: w}}}, 1
	case codeWord.MatchString(w):
		return token{text: w, code: true}, 1
	}
	if x, err := strconv.ParseFloat(strings.ReplaceAll(w, ",", "."), 64); err == nil {
		return token{text: w, number: x, isNumber: true}, 1
	}
	if near := l.near(w); near != "" && near != w {
		if t, _ := l.longestAt(append([]raw{{word: near}}, words[1:]...), own); !t.unknown && t.mended == "" {
			used := len(strings.Fields(t.text))
			t.mended, t.text = near, w+strings.TrimPrefix(t.text, near)
			return t, used
		}
	}
	return token{text: w, unknown: true}, 1
}

// near finds the word of the table that a slip of the pen stands for: one
// letter off in five, two in eight; nothing where two words are as near.
func (l *Language) near(w string) string {
	if len(w) < 5 {
		return ""
	}
	most := 1
	if len(w) >= 8 {
		most = 2
	}
	best, at, tie := most+1, "", false
	for _, have := range l.single {
		if have == at || len(have)-len(w) > most || len(w)-len(have) > most {
			continue
		}
		switch d := levenshtein.ComputeDistance(w, have); {
		case d < best:
			best, at, tie = d, have, false
		case d == best:
			tie = true
		}
	}
	if tie {
		return ""
	}
	return at
}

func singular(s string) string {
	switch {
	case strings.HasSuffix(s, "ss"), !strings.HasSuffix(s, "s"):
		return s
	}
	return strings.TrimSuffix(s, "s")
}
