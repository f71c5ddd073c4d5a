package complaints

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"sync"
)

func mustLoad(table string) *Language {
	l, err := load(table, nil)
	if err != nil {
		panic(err)
	}
	return l
}

// load reads a table, with phrases of a netlist's own by the row. A key that it has no
// words to tell back is an error.
func load(data string, own map[string][]string) (*Language, error) {
	var f file
	order, err := decode(data, &f)
	if err != nil {
		return nil, err
	}
	phrases, words := len(data)/26, len(data)/44 // as they come: a map that grows is filled twice
	l := &Language{Name: f.Language, phrases: make(map[string]*pattern, phrases), byFirst: make(map[string][]*pattern, words), vocabulary: make(map[string]bool, words), skip: map[string]bool{},
		between: map[string]bool{}, forms: map[string]string{}, below: map[string]bool{}, ofVerb: map[string]string{}, ordinary: map[string]bool{}, short: map[string][]short{}, particles: f.particles}
	figures, about, pieces := f.Figures, f.About, f.Pieces
	l.figures = sync.OnceValue(func() []*regexp.Regexp { return compileFigures(figures, about, pieces) })
	for _, said := range order["contractions"] {
		if err := l.shorten(strings.Fields(said), strings.Fields(f.Contractions[said])); err != nil {
			return nil, err
		}
	}
	in := &loader{Language: l}
	add := in.addAll
	for _, w := range f.Grammar["skip"] {
		l.skip[fold(w)] = true
	}
	for _, w := range f.Between {
		l.between[fold(w)] = true
	}
	for base, forms := range f.Forms {
		for _, form := range forms {
			l.forms[fold(form)] = fold(base)
		}
	}
	// What stands first in the table goes first.
	for _, name := range order["grammar"] {
		phrases := f.Grammar[name]
		c, ok := grammar[name]
		if !ok {
			return nil, fmt.Errorf("unknown key grammar.%s", name)
		}
		add(phrases, sense{class: c})
		if c == house {
			add(phrases, sense{class: things})
		}
	}
	for _, section := range []struct {
		name  string
		class class
		rows  map[string][]string
	}{{"states", isState, f.States}, {"whole", isWhole, f.Whole}, {"seen", isSeen, f.Seen}, {"history", isHistory, f.History},
		{"conditions", isCondition, f.Conditions}, {"when", isSub, f.When}, {"circumstances", isCircum, f.Circum}, {"standing", isStanding, f.Standing},
		{"units", isUnit, f.Units}, {"codes", isCode, f.Codes}, {"where", isWhere, f.Where}} {
		for _, key := range order[section.name] {
			add(section.rows[key], sense{class: section.class, key: key})
			if slices.Contains(addable, section.class) {
				add(own[key], sense{class: section.class, key: key})
			}
			told := section.class == isState || section.class == isWhole || section.class == isSeen || section.class == isHistory
			if told && f.Say[key] == "" {
				return nil, fmt.Errorf("say.%s is missing", key)
			}
			if section.class == isCondition && f.ConditionNames[key] == "" {
				return nil, fmt.Errorf("condition_names.%s is missing", key)
			}
		}
	}
	for _, key := range order["verbs"] {
		v := f.Verbs[key]
		add(v.Say, sense{class: isVerb, key: key})
		for _, w := range append(slices.Clone(v.Say), v.About...) {
			if v.Of != "" {
				l.ofVerb[fold(w)] = v.Of
			}
		}
	}
	for i, n := range f.Nouns {
		add(n.Say, sense{class: isNoun, n: i})
	}
	for _, words := range slices.Sorted(maps.Keys(f.Numbers.Words)) {
		add([]string{words}, sense{class: isNumber, n: f.Numbers.Words[words]})
	}
	for _, p := range f.Numbers.Above {
		add([]string{p}, sense{class: isSide, key: "above"})
	}
	for _, p := range f.Numbers.Below {
		l.below[fold(p)] = true
		add([]string{p}, sense{class: isSide, key: "below"})
	}
	for words, c := range map[string]class{f.Ordinary.Things: things, f.Ordinary.Remarks: filler, f.Ordinary.Others: 0} {
		in.ordinaries(strings.Fields(words), c)
	}
	l.single = slices.DeleteFunc(l.single, func(w string) bool { return l.ordinary[w] })
	return l, in.bad
}

// shorten puts down what is short for others, by each word that it may begin with. What
// it is short for may say "a|b" of words that stand so in it, and of no others.
func (l *Language) shorten(said, full []string) error {
	for _, w := range said {
		lacks := false
		for first := range strings.SplitSeq(w, "|") {
			if lacks = lacks || first == ""; first != "" {
				l.short[first] = append(l.short[first], short{said, full})
			}
		}
		if !lacks {
			break
		}
	}
	for _, f := range full {
		n := strings.Count(f, "|")
		if n > 0 && !slices.ContainsFunc(said, func(w string) bool { return strings.Count(w, "|") == n }) {
			return fmt.Errorf("contractions: %q is none of %q", f, strings.Join(said, " "))
		}
	}
	return nil
}

// loader is a language in the making, with room for what is put down of each phrase. A
// phone runs it: it makes little of its own and goes through a phrase once.
type loader struct {
	*Language
	all, kept, each []string
	rows            []row
	bad             error // the first
}

func (l *loader) addAll(phrases []string, s sense) {
	for _, p := range phrases {
		l.bad = cmp.Or(l.bad, l.add(p, s))
	}
}

// ordinaries adds ordinary words, of a class if they have one.
func (l *loader) ordinaries(words []string, c class) {
	for _, w := range words {
		l.ordinary[w] = true
	}
	if c != 0 {
		l.addAll(words, sense{class: c})
	}
}

// row is a pattern with room for the sense that most have.
type row struct {
	pattern
	one [1]sense
}

// add puts a phrase into the table: words apart by blanks, of each several
// apart by "|". Words that say nothing are left out of it.
func (l *loader) add(phrase string, s sense) error {
	key := foldEach(phrase)
	all := cut(l.all[:0], key, ' ')
	words := l.kept[:0]
	for _, w := range all {
		if !l.skip[w] {
			words = append(words, w)
		}
	}
	l.all, l.kept = all, words
	if len(words) < 2 {
		words = all // "still dead" is more than "dead"
	}
	if len(words) == 0 {
		return fmt.Errorf("an empty phrase")
	}
	each, first, denies := l.each[:0], 0, false
	for i, either := range words {
		from := len(each)
		each = cut(each, either, '|')
		for _, w := range each[from:] {
			if b := l.forms[w]; b == l.Denial && b != "" && !slices.Contains(each[from:], b) {
				words[i], each, denies = either+"|"+b, append(each, b), true // any other denial says as much
			}
		}
		if i == 0 {
			first = len(each)
		}
	}
	l.each = each
	if denies || len(words) <= strings.Count(key, " ") {
		key = strings.Join(words, " ")
	}
	if p := l.phrases[key]; p != nil {
		if !slices.Contains(p.senses, s) { // written with and without an accent, say
			p.senses = append(p.senses, s)
		}
		return nil
	}
	if len(l.rows) == 0 {
		l.rows = make([]row, 256)
	}
	r := &l.rows[0]
	l.rows = l.rows[1:]
	r.one[0] = s
	r.pattern = pattern{key, len(words), r.one[:]}
	l.phrases[key] = &r.pattern
	for _, w := range each[:first] {
		l.byFirst[w] = append(l.byFirst[w], &r.pattern)
	}
	for _, w := range each {
		if !l.vocabulary[w] {
			if l.vocabulary[w] = true; len(w) >= 5 {
				l.single = append(l.single, w)
			}
		}
	}
	return nil
}

// cut appends the words of a text that a mark stands between.
func cut(to []string, s string, mark byte) []string {
	for {
		i := strings.IndexByte(s, mark)
		if i < 0 {
			break
		}
		if i > 0 {
			to = append(to, s[:i])
		}
		s = s[i+1:]
	}
	if s != "" {
		to = append(to, s)
	}
	return to
}

// isOne reports whether a word is one of several apart by "|".
func isOne(of, w string) bool {
	for {
		one, rest, more := strings.Cut(of, "|")
		if one == w || !more {
			return one == w
		}
		of = rest
	}
}

// foldEach folds the words of a phrase, of each those apart by "|".
func foldEach(s string) string {
	if plain(s, '|') {
		return s
	}
	words := strings.Fields(s)
	for i, w := range words {
		if each := strings.Split(w, "|"); len(each) > 1 {
			for j, w := range each {
				each[j] = strings.ReplaceAll(fold(w), " ", "")
			}
			words[i] = strings.Join(each, "|")
		} else {
			words[i] = fold(w)
		}
	}
	return strings.Join(words, " ")
}
