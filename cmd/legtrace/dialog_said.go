package main

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists/complaints"
)

// saidAs is an English sentence of the engine with what stands for its pieces, and how it
// is said in another language.
type saidAs struct {
	english *regexp.Regexp
	as      string
}

// spanishSaid are the sentences in Spanish, those first of which most is given.
var spanishSaid = sync.OnceValue(func() []saidAs {
	patterns := spanishTable().Said
	english := make([]string, 0, len(patterns))
	for s := range patterns {
		english = append(english, s)
	}
	slices.SortFunc(english, func(a, b string) int { return cmp.Or(given(b)-given(a), strings.Compare(a, b)) })
	var out []saidAs
	for _, s := range english {
		out = append(out, saidAs{regexp.MustCompile("^" + strings.ReplaceAll(regexp.QuoteMeta(s), "%s", "([^;]+?)") + "$"), patterns[s]})
	}
	return out
})

// given is how much of a sentence is no piece.
func given(s string) int { return len(strings.ReplaceAll(s, "%s", "")) }

// spanishWords are words that stand alone, and what is told.
var spanishWords = sync.OnceValue(func() map[string]string {
	words := spanishTable().Words
	for _, t := range suspect.Tales() {
		if say := complaints.Spanish().Say[t.What]; say != "" && words[t.Words] == "" {
			words[t.Words] = say
		}
	}
	return words
})

// translator says in another language what the engine says in English. What the netlist
// calls its parts, modes and places stays as it is there.
type translator struct {
	names []string // longest first
}

func newTranslator(c *circuit.Circuit) *translator {
	seen := map[string]bool{}
	var t translator
	add := func(forms ...string) {
		for _, s := range forms {
			s = strings.Join(strings.Fields(s), " ")
			if len(s) > 1 && !seen[s] {
				seen[s] = true
				t.names = append(t.names, s)
			}
		}
	}
	for _, p := range c.Parts() {
		add(p.Place, p.Spec.Note)
		if p.Kind != circuit.KindSupply && p.Label != "Chassis" { // which have words of their own
			add(p.Label)
			if strings.Contains(p.Label, " ") {
				add(circuit.LowerFirst(p.Label))
			}
		}
		for _, id := range p.Terminals {
			add(c.PlaceOf(id))
			if c.PointAt(id) != nil {
				add(c.PlaceLabel(id), c.PlaceName(id))
			}
		}
	}
	for _, m := range c.Modes() {
		add(m.Label, m.How)
	}
	slices.SortStableFunc(t.names, func(a, b string) int { return len(b) - len(a) })
	return &t
}

// Names stand as runes that no text has while the rest is translated.
const nameRune = '\uE000'

const mostNames = 6000

func isName(r rune) bool { return r >= nameRune && r < nameRune+mostNames }

// says translates a text; what there are no words for stays.
func (t *translator) says(text string) string {
	text, names := t.mask(text)
	said, _ := translate(text)
	var b strings.Builder
	for _, r := range said {
		if isName(r) && int(r-nameRune) < len(names) {
			b.WriteString(names[r-nameRune])
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

// mask puts a rune for each name in a text.
func (t *translator) mask(text string) (string, []string) {
	var names []string
	for _, name := range t.names {
		for at := 0; len(names) < mostNames; {
			i := strings.Index(text[at:], name)
			if i < 0 {
				break
			}
			i += at
			before, _ := utf8.DecodeLastRuneInString(text[:i])
			after, _ := utf8.DecodeRuneInString(text[i+len(name):])
			if at = i + len(name); inWord(before) || inWord(after) {
				continue
			}
			mark := string(rune(nameRune + len(names)))
			text, at = text[:i]+mark+text[at:], i+len(mark)
			names = append(names, name)
		}
	}
	return text, names
}

func inWord(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '_' }

// joints stand between the pieces of a list.
var joints = [][2]string{{"; ", "; "}, {". ", ". "}, {", and ", ", y "}, {", or ", ", o "}, {", ", ", "}, {" and ", " y "}, {" or ", " o "}, {": ", ": "}}

// translate reports as well whether all of a text is said.
func translate(text string) (string, bool) {
	if bare(text) {
		return text, true
	}
	if said, ok := spanishWords()[text]; ok {
		return said, true
	}
	if said, ok := eachOf(text); ok {
		return said, true
	}
	for _, p := range spanishSaid() {
		m := p.english.FindStringSubmatch(text)
		if m == nil {
			continue
		}
		args, all := make([]any, len(m)-1), true
		for i, piece := range m[1:] {
			said, ok := translate(piece)
			args[i], all = said, all && (ok || len(strings.Fields(piece)) <= mostOfName)
		}
		return fmt.Sprintf(p.as, args...), all
	}
	if lower := circuit.LowerFirst(text); lower != text {
		if said, ok := translate(lower); ok {
			return circuit.UpperFirst(said), true
		}
	}
	if s, dot := strings.CutSuffix(text, "."); dot {
		said, ok := translate(s)
		return said + ".", ok
	}
	if pieces := strings.Split(text, "; "); len(pieces) > 1 {
		for i := range pieces {
			pieces[i], _ = translate(pieces[i])
		}
		return strings.Join(pieces, "; "), false
	}
	return text, false
}

// mostOfName is how many words a piece may have that is taken for a name.
const mostOfName = 2

// eachOf translates a list whose pieces can all be said.
func eachOf(text string) (string, bool) {
	for _, j := range joints {
		pieces := strings.Split(text, j[0])
		all := len(pieces) > 1
		for i := 0; all && i < len(pieces); i++ {
			pieces[i], all = translate(pieces[i])
		}
		if all {
			return strings.Join(pieces, j[1]), true
		}
	}
	return "", false
}

// bare reports whether a text has no word in it: names, figures with their units, and what
// is called by letters and figures.
func bare(text string) bool {
	return !slices.ContainsFunc(strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;:()", r) }), func(w string) bool {
		return !strings.ContainsFunc(w, isName) && w != "min" && !strings.ContainsAny(w, "0123456789_%~≈<>=+-–.|") && w != strings.ToUpper(w)
	})
}
