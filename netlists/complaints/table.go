package complaints

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"github.com/BurntSushi/toml"
	"golang.org/x/text/unicode/norm"
)

// Language is a table of words. It must not be changed once made.
type Language struct {
	Name string
	// phrases holds every phrase, its words joined by blanks.
	phrases map[string][]sense
	// longest is the most words of a phrase.
	longest int
	// single lists the words of the table, for the nearest to a slip.
	single         []string
	nouns          []noun
	verbs          map[string]verb
	say            map[string]string
	conditionNames map[string]string
	below          map[string]bool
}

// class is the part of speech of a phrase, as far as it matters here.
type class uint8

const (
	filler class = iota + 1
	ends
	joins
	not
	little
	always
	sometimes
	all
	rest
	modePrep
	placePrep
	offMode
	isVerb
	isState
	isWhole
	isSeen
	isHistory
	isCondition
	isUnit
	isNumber
	isCode
	isNoun
	isWhere
	isSide
)

// sense is one meaning of a phrase: its class and a key within it.
type sense struct {
	class class
	key   string
	n     int // of a noun; of a number
}

// noun is a row of the table of nouns.
type noun struct {
	Say    []string `toml:"say"`
	Is     []string `toml:"is"`
	Region bool     `toml:"region"`
	Joint  bool     `toml:"joint"`
}

type verb struct {
	Say    []string `toml:"say"`
	Yes    string   `toml:"yes"`
	No     string   `toml:"no"`
	Little string   `toml:"little"`
	// Of are the features of what is meant where nothing is named.
	Of string `toml:"of"`
}

// file is a table as written.
type file struct {
	Language   string              `toml:"language"`
	Grammar    map[string][]string `toml:"grammar"`
	Verbs      map[string]verb     `toml:"verbs"`
	States     map[string][]string `toml:"states"`
	Whole      map[string][]string `toml:"whole"`
	Seen       map[string][]string `toml:"seen"`
	History    map[string][]string `toml:"history"`
	Conditions map[string][]string `toml:"conditions"`
	Units      map[string][]string `toml:"units"`
	Numbers    struct {
		Words map[string]int `toml:"words"`
		Above []string       `toml:"above"`
		Below []string       `toml:"below"`
	} `toml:"numbers"`
	Codes          map[string][]string `toml:"codes"`
	Nouns          []noun              `toml:"nouns"`
	Where          map[string][]string `toml:"where"`
	Say            map[string]string   `toml:"say"`
	ConditionNames map[string]string   `toml:"condition_names"`
}

var grammar = map[string]class{"ends": ends, "joins": joins, "not": not, "little": little, "always": always,
	"sometimes": sometimes, "all": all, "rest": rest, "mode": modePrep, "place": placePrep, "off": offMode, "filler": filler}

func mustLoad(name string) *Language {
	data, err := tables.ReadFile(name)
	if err != nil {
		panic(err)
	}
	l, err := load(string(data))
	if err != nil {
		panic(fmt.Errorf("%s: %w", name, err))
	}
	return l
}

// load reads a table. A key that it has no words to tell back is an error.
func load(data string) (*Language, error) {
	var f file
	meta, err := toml.Decode(data, &f)
	if err != nil {
		return nil, err
	}
	if left := meta.Undecoded(); len(left) > 0 {
		return nil, fmt.Errorf("unknown key %s", left[0])
	}
	l := &Language{Name: f.Language, phrases: map[string][]sense{}, nouns: f.Nouns, verbs: f.Verbs, say: f.Say,
		conditionNames: f.ConditionNames, below: map[string]bool{}}
	var bad error
	add := func(phrases []string, s sense) {
		for _, p := range phrases {
			if e := l.add(p, s); e != nil && bad == nil {
				bad = e
			}
		}
	}
	for name, phrases := range f.Grammar {
		c, ok := grammar[name]
		if !ok {
			return nil, fmt.Errorf("unknown key grammar.%s", name)
		}
		add(phrases, sense{class: c})
	}
	for _, section := range []struct {
		class class
		rows  map[string][]string
	}{{isState, f.States}, {isWhole, f.Whole}, {isSeen, f.Seen}, {isHistory, f.History},
		{isCondition, f.Conditions}, {isUnit, f.Units}, {isCode, f.Codes}, {isWhere, f.Where}} {
		for key, phrases := range section.rows {
			add(phrases, sense{class: section.class, key: key})
			told := section.class == isState || section.class == isWhole || section.class == isSeen || section.class == isHistory
			if told && f.Say[key] == "" {
				return nil, fmt.Errorf("say.%s is missing", key)
			}
			if section.class == isCondition && f.ConditionNames[key] == "" {
				return nil, fmt.Errorf("condition_names.%s is missing", key)
			}
		}
	}
	for key, v := range f.Verbs {
		add(v.Say, sense{class: isVerb, key: key})
	}
	for i, n := range f.Nouns {
		add(n.Say, sense{class: isNoun, n: i})
	}
	for words, n := range f.Numbers.Words {
		add([]string{words}, sense{class: isNumber, n: n})
	}
	for _, p := range f.Numbers.Above {
		add([]string{p}, sense{class: isSide, key: "above"})
	}
	for _, p := range f.Numbers.Below {
		l.below[fold(p)] = true
		add([]string{p}, sense{class: isSide, key: "below"})
	}
	return l, bad
}

func (l *Language) add(phrase string, s sense) error {
	key := fold(phrase)
	words := strings.Fields(key)
	if len(words) == 0 {
		return fmt.Errorf("an empty phrase")
	}
	for _, have := range l.phrases[key] {
		if have == s {
			return nil // written with and without an accent, say
		}
	}
	l.phrases[key] = append(l.phrases[key], s)
	l.longest = max(l.longest, len(words))
	for _, w := range words {
		if len(w) >= 5 {
			l.single = append(l.single, w)
		}
	}
	return nil
}

// fold writes a phrase in small letters without accents, apostrophes and
// hyphens, its words one blank apart.
func fold(s string) string {
	var b strings.Builder
	for _, r := range norm.NFD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r), r == '\'', r == '’', r == '`':
		case unicode.IsLetter(r), unicode.IsDigit(r):
			b.WriteRune(r)
		default:
			b.WriteByte(' ')
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func amount(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
