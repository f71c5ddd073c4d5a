package complaints

import (
	"cmp"
	"slices"

	"legtrace/circuit"
)

// inTurn takes a figure of each of several parts: "both elements 38.5 and 58".
func (k *readout) inTurn(np *phrase, before *lastRead) bool {
	parts := k.r.parts(np, k.r.isLoad)
	if len(parts) != 1+len(k.more) || k.unit == "volts" {
		return false
	}
	var all []Statement
	for i, ohms := range append([]float64{k.amps}, k.more...) {
		one := *k
		if one.amps = ohms; !one.across(np, parts[i:i+1], true) {
			return false
		}
		all = append(all, one.means[0].Statements...)
	}
	k.unit, k.means = "ohms", []Choice{{"", all}}
	every := *np
	every.all = true
	*before = lastRead{of: &every, unit: k.unit}
	return true
}

// lists reports whether the word that parts a clause stands between two figures, of
// several parts each: "both elements 38.5 and 58".
func (r *reader) lists(words []raw, from, to int) bool {
	each := slices.ContainsFunc(words[from:to], func(w raw) bool {
		t := r.l.alone(singular(w.word))
		return slices.Contains(r.l.Meter.Each, w.word) || t.has(isNoun) && singular(w.word) != w.word
	})
	more := words[to].mark == ',' && to+3 < len(words) && r.l.parting(words[to+2]) && isFigure(words[to+3].word) // "coils 55, 50 and 72"
	return each && (words[to].mark == 0 || more) && to+1 < len(words) && isFigure(words[to+1].word) && (isFigure(words[to-1].word) || r.l.unitOf(words[to-1].word) != "")
}

// sideOnly reports whether a clause tells volts on one side of a part that it does not
// name.
func (r *reader) sideOnly(clause []raw) bool {
	side := false
	for i, w := range clause {
		at := r.sideAt(clause, i) != ""
		if side = side || at; !at && !isFigure(w.word) && r.l.unitOf(w.word) == "" && !slices.Contains(r.l.Meter.Words, w.word) {
			return false
		}
	}
	return side
}

// isTankTop reports whether a phrase tells no more than the top of a tank, where it is fed.
func (r *reader) isTankTop(np *phrase) bool {
	return r.c.StoresHeat() && len(np.nouns) == 0 && slices.Equal(np.where, []string{"upper"})
}

// lettered is what a letter names that no other load has by itself in its name: element B.
func (r *reader) lettered(word string) *phrase {
	if len(word) != 1 {
		return nil
	}
	np := &phrase{where: []string{word}, words: []string{word}, own: true}
	if len(r.parts(np, r.isLoad)) != 1 {
		return nil
	}
	return np
}

// near keeps of several parts the one that has a word of its name from what was spoken of
// before: "convection element 36 ohms, limit OL".
func (k *readout) near(np *phrase, parts []circuit.PartID, before *phrase) []circuit.PartID {
	metered := before != nil
	before = cmp.Or(before, k.spoken)
	if len(parts) < 2 || np.all || k.each || before == nil {
		return parts
	}
	of := k.r.partsFirst(before, k.r.isLoad)
	if len(of) == 0 {
		return parts
	}
	if topic := before == k.r.topic; (metered || topic || !k.r.c.Part(of[0]).Kind.Heats()) && len(of) == 1 && (len(np.where) == 0 || topic) && slices.Contains(parts, of[0]) {
		return of // "convection fan 37 ohms, 120 at the fan"
	}
	words := k.r.nameWords(of[0])
	words = slices.DeleteFunc(words, func(w string) bool { // of "middle elements" what both have
		return slices.ContainsFunc(of, func(id circuit.PartID) bool { return !slices.Contains(k.r.nameWords(id), w) })
	})
	those := slices.DeleteFunc(slices.Clone(parts), func(id circuit.PartID) bool {
		return slices.Contains(of, id) || !slices.ContainsFunc(words, func(w string) bool { return k.r.machine.parts[id][w] })
	})
	if len(those) == 1 {
		return those
	}
	return parts
}

// carries reports whether nouns that were said before go with what singles out another: of
// "upper element, lower" they do, of "igniter, valve" not.
func (r *reader) carries(before, np *phrase) bool {
	with := *np
	with.nouns, with.said = before.nouns, before.said
	return !np.own || slices.ContainsFunc(r.parts(&with, anyPart), func(id circuit.PartID) bool {
		return !slices.ContainsFunc(np.where, func(w string) bool { return !r.machine.parts[id][w] })
	})
}

// placed reports whether a small word leads to where volts were read: "0 on the element".
func (r *reader) placed(clause []raw, i int) bool {
	return slices.Contains(r.l.Meter.In, clause[i].word) && i+1 < len(clause) &&
		(r.l.alone(clause[i+1].word).has(article) || slices.Contains(r.l.Meter.Each, clause[i+1].word))
}
