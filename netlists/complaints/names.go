package complaints

import (
	"maps"
	"slices"
	"strings"

	"legtrace/circuit"
)

// vocabulary is what a machine's parts and modes are called: features by part
// and mode, each a word of its name or label, or kind:NAME.
type vocabulary struct {
	parts  []map[string]bool // by part
	modes  []map[string]bool // by mode
	words  map[string]bool   // all of them that are words
	pairs  map[string]bool   // two of them that stand together in the label of a part
	places map[string]bool   // words of where parts are
	// letters are those that end labels and are small words too: "element A".
	letters map[string]bool
	loads   map[circuit.PartID][]circuit.BranchID
	// heads are the names of modes of several words, and what begins their labels.
	heads []head
	// called are what the netlist says that people call its parts.
	called []called
}

// with is the language with a noun for each part that a machine's netlist says what
// people call.
func (l *Language) with(c *circuit.Circuit) *Language {
	l = l.saying(c.Phrases())
	if len(c.Words()) == 0 {
		return l
	}
	own := *l
	own.Nouns = slices.Clone(l.Nouns)
	for _, name := range slices.Sorted(maps.Keys(c.Words())) {
		own.Nouns = append(own.Nouns, noun{Is: []string{"name:" + name}})
	}
	return &own
}

func (l *Language) namedNoun(name string) int {
	return slices.IndexFunc(l.Nouns, func(n noun) bool { return len(n.Is) == 1 && n.Is[0] == "name:"+name })
}

// called is a part by what people call it: a noun of the language beyond its table.
type called struct {
	words []string
	noun  int
}

// head is how a mode is called in a few words.
type head struct {
	words []string
	mode  circuit.ModeID
}

func (l *Language) vocabularyOf(c *circuit.Circuit) *vocabulary {
	v := &vocabulary{words: map[string]bool{}, pairs: map[string]bool{}, places: map[string]bool{}, letters: map[string]bool{}, loads: map[circuit.PartID][]circuit.BranchID{}}
	features := func(names ...string) map[string]bool {
		set := map[string]bool{}
		for _, name := range names {
			for _, w := range strings.Fields(fold(name)) {
				set[singular(w)] = true
				for _, in := range []*Language{English(), l} {
					if p := in.word(w); p != nil {
						for _, s := range p.senses {
							set[s.key] = set[s.key] || s.class == isWhere // "top" for "upper"
						}
					}
				}
				if len(w) > 2 {
					v.words[w] = true
				}
			}
		}
		return set
	}
	for i := range c.Parts() {
		p := c.Part(circuit.PartID(i))
		set := features(p.Name, p.Label)
		label := strings.Fields(fold(p.Label))
		if n := len(label) - 1; n > 0 && len(label[n]) == 1 {
			small := l.vocabulary[label[n]] || l.skip[label[n]]
			v.words[label[n]], v.letters[label[n]] = !small, small // "element B"
		}
		for i := range label[1:] {
			v.pairs[label[i]+" "+label[i+1]] = true
		}
		for _, w := range strings.Fields(fold(p.Place)) {
			v.places[singular(w)] = true
		}
		set["kind:"+p.Kind.String()] = true
		set["large"], set["small"] = set["large"] || set["outer"], set["small"] || set["inner"]
		if !set["upper"] && !set["lower"] && p.Kind == circuit.KindElement { // where they stand in an oven
			set["upper"], set["lower"] = set["broil"], set["bake"]
		}
		v.parts = append(v.parts, set)
	}
	place := func(id int) string { return c.Parts()[id].Name[:max(0, strings.LastIndex(c.Parts()[id].Name, "_"))] }
	coils := map[string]int{} // that a burner has
	for i := range c.Parts() {
		if c.Parts()[i].Kind == circuit.KindSurfaceElement {
			coils[place(i)]++
		}
	}
	for i := range c.Parts() {
		n := coils[place(i)]
		if n == 2 && v.parts[i]["inner"] && !slices.ContainsFunc(v.parts, func(set map[string]bool) bool { return set["centre"] && !set["inner"] }) {
			v.parts[i]["centre"] = true // "the middle of the coil"
		}
		v.parts[i]["within"] = v.parts[i]["inner"] || n == 3 && v.parts[i]["centre"]
		v.parts[i]["dual"], v.parts[i]["triple"] = n == 2 && c.Parts()[i].Kind == circuit.KindSurfaceElement, n == 3 && c.Parts()[i].Kind == circuit.KindSurfaceElement
	}
	for i := range c.Modes() {
		m := c.Mode(circuit.ModeID(i))
		v.modes = append(v.modes, features(m.Name, m.Label))
		label, _, _ := strings.Cut(m.Label, ",")
		label, _, _ = strings.Cut(label, ":")
		for _, name := range []string{m.Name, label} {
			if words := strings.Fields(fold(name)); len(words) > 1 && l.namesMode(words) {
				v.heads = append(v.heads, head{words, m.ID})
			}
		}
	}
	for i := range c.Modes() {
		for _, say := range l.Modes[c.Mode(circuit.ModeID(i)).Name] {
			v.heads = append(v.heads, head{strings.Fields(fold(say)), circuit.ModeID(i)})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(c.Words())) {
		part, _ := c.FindPart(name)
		mode, err := c.FindMode(name)
		for _, say := range c.Words()[name] {
			words := strings.Fields(fold(say))
			if len(words) == 0 {
				continue
			}
			if err == nil {
				v.heads = append(v.heads, head{words, mode})
				continue
			}
			v.parts[part]["name:"+name] = true
			v.called = append(v.called, called{words, l.namedNoun(name)})
		}
	}
	slices.SortStableFunc(v.called, func(a, b called) int { return len(b.words) - len(a.words) })
	slices.SortStableFunc(v.heads, func(a, b head) int { return len(b.words) - len(a.words) })
	for _, id := range c.Loads() {
		p := c.Branch(id).Part
		v.loads[p] = append(v.loads[p], id)
	}
	return v
}

// namesMode reports whether words name a mode rather than a part or a state:
// "timed dry", not "left front" nor "tank cold".
func (l *Language) namesMode(words []string) bool {
	part := true
	for _, w := range words {
		p := l.word(w)
		if p == nil {
			if l.tripped(w) {
				return false // "limit tripped"
			}
			part = false
			continue
		}
		t := token{senses: p.senses}
		if t.has(isState) || t.has(isWhole) || t.has(isSeen) || t.has(isCondition) || t.has(all) {
			return false
		}
		part = part && (t.has(isWhere) || t.has(isNoun))
	}
	return !part
}

// tripped reports whether a word is a form of what devices do that open.
func (l *Language) tripped(w string) bool {
	return slices.ContainsFunc(l.bases(w), func(b base) bool { return l.word(b.word).has(isWhole) || l.word(b.word).is(isVerb, "trip") })
}
