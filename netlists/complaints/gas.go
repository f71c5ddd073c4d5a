package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// burning is how a language tells of gas that is to light.
type burning struct {
	// Glows is what an igniter does, Dull how it does that is worn, Fire what does not come of
	// it, as a noun, Lights as a verb.
	Glows, Dull, Fire, Lights []string
	// Seen may stand before, of who saw it and what; Igniters are names of what glows.
	Seen, Igniters []string
}

// flames takes what is told of a gas oven that glows and does not light: "I see the thing glow
// orange but no fire" is of an igniter and of the valve that it is to open. Of two it is that
// of a word before, else the first.
func (r *reader) flames(words []raw) []raw {
	f := &r.l.Burning
	valves := r.loadsOf("kind:" + circuit.KindSolenoid.String())
	if len(f.Glows) == 0 || len(valves) == 0 {
		return words
	}
	for i := range words {
		if !slices.Contains(f.Glows, words[i].word) {
			continue
		}
		from := i
		for from > 0 && words[from-1].mark == 0 && r.goesWithGlow(words[from-1].word) {
			from--
		}
		if from > 0 && words[from-1].mark == 0 && !r.l.alone(words[from-1].word).has(joins) && !r.l.alone(words[from-1].word).has(ends) {
			continue // "no glow"
		}
		no, past := r.unlit(words[i+1:])
		if no < 0 || from == i || slices.ContainsFunc(words[:from], func(w raw) bool { return slices.Contains(f.Igniters, w.word) }) { // said of that one
			continue
		}
		if np := r.phraseCalled(joined(words[from:i])); np != nil && len(r.parts(np, r.isLoad)) == 1 && slices.ContainsFunc(words[from:i], func(w raw) bool { return slices.Contains(f.Igniters, w.word) }) {
			continue // "bake igniter glows, no flame" is plain
		}
		said := words[from : i+1+past]
		valve, igniter := r.burnerOf(said, valves)
		if igniter == circuit.None {
			continue
		}
		glows := "normal"
		if slices.ContainsFunc(words[from:i+1+no], func(w raw) bool { return slices.Contains(f.Dull, w.word) }) {
			glows = "weak"
		}
		r.put(Statement{About: OfLoad, What: glows, Load: igniter, Part: circuit.None, Mode: circuit.None, Words: joined(said)})
		r.put(Statement{About: OfLoad, What: "dead", Load: valve, Part: circuit.None, Mode: circuit.None, Words: joined(said)})
		return slices.Replace(words, from, i+1+past, raw{mark: ',', about: r.phraseOf(r.c.Branch(igniter).Part)})
	}
	return words
}

// goesWithGlow reports whether a word may stand before "glows": of what does, or of who saw it.
func (r *reader) goesWithGlow(w string) bool {
	t := r.l.alone(w)
	return slices.Contains(r.l.Burning.Seen, w) || slices.Contains(r.l.Burning.Dull, w) || t.has(isNoun) && !r.l.denies(w) || t.has(isWhere) || t.has(article) || t.has(pronoun) || t.has(filler)
}

// unlit is where behind "glows" it is told that it does not light, and where that ends; -1 where
// something else is told before.
func (r *reader) unlit(words []raw) (no, past int) {
	f := &r.l.Burning
	denied := -1
	for i, w := range words {
		t := r.l.alone(w.word)
		switch {
		case w.mark == '.' || w.mark == ';' || i > longestGlow:
			return -1, 0
		case denied >= 0 && (slices.Contains(f.Fire, w.word) || slices.Contains(f.Lights, w.word)):
			return denied, i + 1
		case t.has(not), r.l.denies(w.word):
			denied = i
		case w.mark != 0, t.has(joins), t.has(ends), r.goesWithGlow(w.word):
		default:
			return -1, 0
		}
	}
	return -1, 0
}

// longestGlow is within how many words it is told what came of a glow.
const longestGlow = 12

// burnerOf is the valve that words are of and the igniter in series with it.
func (r *reader) burnerOf(said []raw, valves []circuit.BranchID) (valve, igniter circuit.BranchID) {
	valve = valves[0]
	for _, v := range valves {
		first := r.nameWords(r.c.Branch(v).Part)[0]
		if slices.ContainsFunc(said, func(w raw) bool { return strings.HasPrefix(w.word, first) }) { // "broiler"
			valve = v
		}
	}
	first := r.nameWords(r.c.Branch(valve).Part)[0]
	for _, load := range r.c.Loads() {
		if p := r.c.Branch(load).Part; p != circuit.None && load != valve && r.c.Part(p).Kind.Heats() && strings.HasPrefix(r.c.Part(p).Name, first+"_") {
			return valve, load
		}
	}
	return valve, circuit.None
}
