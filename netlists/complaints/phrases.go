package complaints

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"legtrace/circuit"
)

// addable are the tables that a netlist may add phrases to: what a load does, the whole,
// what is seen, what happened, what a code stands for. No key stands in two of them.
var addable = []class{isState, isWhole, isSeen, isHistory, isCode}

// saying is the language with the phrases that a netlist adds to its tables.
func (l *Language) saying(given map[string]map[string][]string) *Language {
	for _, in := range languages {
		if own := given[in.code]; len(own) > 0 && l == in.words() {
			if more, err := load(*in.table, own); err == nil { // else CheckPhrases told
				return more
			}
		}
	}
	return l
}

// rows lists the keys of the tables that may be added to.
func (l *Language) rows() []string {
	keys := map[string]bool{}
	for _, p := range l.phrases {
		for _, s := range p.senses {
			if slices.Contains(addable, s.class) {
				keys[s.key] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(keys))
}

// CheckPhrases reports phrases that a netlist adds for a language or a row that there is
// not, and those that the language has for something else.
func CheckPhrases(given map[string]map[string][]string) (out []circuit.Problem) {
	var codes []string
	for _, in := range languages {
		codes = append(codes, in.code)
	}
	for _, code := range slices.Sorted(maps.Keys(given)) {
		at := slices.Index(codes, code)
		if at < 0 {
			out = append(out, circuit.Problem{Path: "phrases." + code, Message: fmt.Sprintf("%q is no language that is read", code), Hint: circuit.NearestHint(code, codes)})
			continue
		}
		l := languages[at].words()
		rows := l.rows()
		for _, key := range slices.Sorted(maps.Keys(given[code])) {
			path := "phrases." + code + "." + key
			if !slices.Contains(rows, key) {
				out = append(out, circuit.Problem{Path: path, Message: fmt.Sprintf("%q is nothing that is told", key), Hint: circuit.NearestHint(key, rows)})
				continue
			}
			for i, said := range given[code][key] {
				p := l.phrases[foldEach(said)]
				switch {
				case fold(said) == "" && strings.TrimSpace(said) != "":
					out = append(out, circuit.Problem{Path: fmt.Sprintf("%s[%d]", path, i), Message: fmt.Sprintf("%q has no word in it", said)})
				case p != nil && !slices.ContainsFunc(p.senses, func(s sense) bool { return s.key == key }):
					out = append(out, circuit.Problem{Path: fmt.Sprintf("%s[%d]", path, i), Message: fmt.Sprintf("%q says something else already", said), Hint: "add words to it"})
				}
			}
		}
	}
	return out
}
