package complaints

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// standing are those parts that are where it was told, all where that tells none apart.
func (k *readout) standing(parts []circuit.PartID) []circuit.PartID {
	words := k.bay
	for _, np := range k.inside {
		words = slices.Concat(words, np.where, np.said)
	}
	for _, w := range strings.Fields(strings.Join(words, " ")) {
		there := slices.DeleteFunc(slices.Clone(parts), func(id circuit.PartID) bool {
			return !k.r.machine.parts[id][w] && !slices.Contains(strings.Fields(fold(k.r.c.Part(id).Place)), w)
		})
		if len(there) > 0 {
			parts = there
		}
	}
	for _, np := range k.inside { // "the limit of the far heater"
		if of := k.r.parts(np, k.r.isLoad); len(of) == 1 {
			if alike := k.r.nearest(parts, of[0]); alike != circuit.None {
				return []circuit.PartID{alike}
			}
		}
	}
	return parts
}

// nearest is the one of several parts that has most of another's name, None where two do.
func (r *reader) nearest(parts []circuit.PartID, to circuit.PartID) circuit.PartID {
	best, most := circuit.PartID(circuit.None), 0
	for _, id := range parts {
		n := 0
		for w := range r.machine.parts[to] {
			if r.machine.parts[id][w] {
				n++
			}
		}
		switch {
		case n > most:
			best, most = id, n
		case n == most:
			best = circuit.None
		}
	}
	return best
}

// word takes a word of a clause. It reports whether it may stand in one.
func (k *readout) word(w raw, apart bool) bool {
	m, l := &k.r.l.Meter, k.r.l
	unit := l.unitOf(w.word)
	denies := k.denies
	lacked := k.lacks
	k.lacks = slices.Contains(m.Lacking, w.word) && !k.shown
	k.denies = denies && (slices.Contains(m.Words, w.word) || slices.Contains(m.Measuring, w.word))
	switch {
	case (l.denies(w.word) || l.alone(w.word).has(not)) && !slices.Contains(m.Zero, w.word) && !slices.Contains(m.Clear, w.word) && !k.shown:
		k.not, k.denies = true, true
	case l.alone(w.word).has(pronoun) && k.at:
		k.it = true
	case k.winding(w.word):
	case isFigure(w.word) && k.shown:
		x, _ := strconv.ParseFloat(w.word, 64)
		k.more = append(k.more, x)
	case isFigure(w.word):
		k.amps, _ = strconv.ParseFloat(w.word, 64)
		k.shown = true
		if (denies || lacked) && k.amps >= k.r.legVolts()*3/4 {
			k.amps, k.denied = 0, true // "no 240 at the heater"
		}
	case slices.Contains(l.Has, w.word), slices.Contains(m.Gets, w.word) && len(k.rest) > 0: // "the element gets 240"
		k.at = true
	case slices.Contains(m.Closed, w.word) && !k.shown:
		k.shown, k.closed, k.unit = true, true, "ohms"
	case slices.Contains(m.Open, w.word), (apart || k.paired || k.ground && k.to || k.r.l.ofStart(k.rest)) && !k.shown && slices.Contains(m.Opened, w.word):
		k.amps, k.shown, k.unit = math.Inf(1), true, "ohms"
	case unit == "megohms" && k.shown && k.unit == "":
		k.amps, k.unit, k.megohms = 1e6*k.amps, "ohms", true
	case unit == "kilohms" && k.shown && k.unit == "":
		k.amps, k.unit = 1000*k.amps, "ohms"
	case slices.Contains(m.Low, w.word) && !k.shown:
		k.low = true
	case (unit == "ohms" || unit == "volts") && (k.unit == "" || k.unit == unit):
		k.unit = unit
	case unit != "":
		return false
	case k.sets(w.word):
		k.denies = slices.Contains(m.Zero, w.word)
	case w.word == l.Clamp.Neutral:
		k.poles = append(k.poles, "N")
	case k.r.isPole(w.word):
		k.poles = append(k.poles, strings.ToUpper(w.word))
	case w.mark == 0 && !l.vocabulary[w.word] && !l.skip[w.word] && k.r.isTerminal(w.word): // "the M"
		k.poles = append(k.poles, strings.ToUpper(w.word))
	case slices.Contains(m.At, w.word):
		k.to = k.to || slices.Contains(m.Through, w.word)
		k.at, k.in = true, slices.Contains(m.In, w.word) && len(k.rest) > 0
		k.rest = append(k.rest, raw{mark: ','})
	case slices.Contains(m.Measuring, w.word):
		k.measuring, k.reads = true, true
	case slices.Contains(m.Clear, w.word):
		k.zero, k.clear = true, true
	case slices.Contains(m.Good, w.word):
		k.good = true
	case w.mark == ',' && len(k.rest) > 0 && !k.shown:
		k.rest = append(k.rest, w) // "top, ring and grill all over 20 meg"
	case w.mark != 0 || w.word == "/" || slices.Contains(m.Words, w.word):
	case k.in && k.r.machine.places[singular(w.word)] && !l.alone(w.word).has(isNoun) && !l.alone(w.word).has(isWhere): // "in the drawer bay"
		k.bay = append(k.bay, singular(w.word))
	default:
		k.at = k.at || k.shown && l.alone(w.word).has(placePrep) // "240 in the box"
		k.in = slices.Contains(m.In, w.word) && len(k.rest) > 0 || k.in && !l.alone(w.word).has(modePrep) && !l.alone(w.word).has(isSub)
		k.rest = append(k.rest, w)
	}
	return true
}

// ofStart reports whether words end in the name of the winding that starts a motor.
func (l *Language) ofStart(words []raw) bool {
	return slices.ContainsFunc(l.Meter.Start, func(say string) bool {
		f := strings.Fields(say)
		return len(words) >= len(f) && startsWith(words[len(words)-len(f):], f)
	})
}

// sets takes a word that tells one thing by itself, and reports whether it is one.
func (k *readout) sets(word string) bool {
	m := &k.r.l.Meter
	for _, one := range []struct {
		words []string
		told  *bool
	}{{m.Volts, &k.volts}, {m.Live, &k.live}, {m.Zero, &k.zero}, {m.Missing, &k.lost}, {m.Ground, &k.ground}, {m.Legs, &k.legs}, {m.Each, &k.each}, {m.One, &k.one}, {m.Other, &k.other}} {
		if slices.Contains(one.words, word) {
			*one.told = true
			k.nought = k.nought || slices.Contains(m.Nought, word)
			return true
		}
	}
	return false
}

// secondary are the terminals of a transformer's.
var secondary = []string{"S1", "S2"}

// winding takes a word for a winding of a transformer.
func (k *readout) winding(word string) bool {
	if !k.r.isWinding(word) {
		return false
	}
	k.poles, k.paired = secondary, true
	if slices.Contains(k.r.l.Meter.Primary, word) {
		k.poles = []string{"P1", "P2"}
	}
	return true
}

// isWinding reports whether a word is of a winding that the machine has.
func (r *reader) isWinding(word string) bool {
	return r.partKind(circuit.KindTransformer) >= 0 && (slices.Contains(r.l.Meter.Primary, word) || slices.Contains(r.l.Meter.Secondary, word))
}

// toMetal takes of a part that it reads low to the machine's metal: it is shorted to it.
func (k *readout) toMetal(named []*phrase, before *lastRead) bool {
	if len(named) == 0 && k.spoken != nil {
		named = []*phrase{k.spoken} // "it is grounded, low reading to ground"
	}
	if !k.ground || k.shown || k.unit == "volts" || k.volts || len(named) != 1 || len(k.poles) > 0 {
		return false
	}
	for _, id := range k.near(named[0], k.r.likeliest(named[0], k.r.parts(named[0], k.r.isLoad)), before.of) {
		st := k.r.clauses[0].blank(OfPlace, &said{key: "shorted"})
		st.Part, st.Words = id, k.said
		k.means = append(k.means, Choice{k.r.c.Part(id).Label, []Statement{st}})
	}
	k.unit = "ohms"
	*before = lastRead{of: named[0], unit: k.unit}
	return len(k.means) > 0
}

// leastOfLeg are volts above which a bare figure of one of two sides is of a leg, where the
// neutral floats (common practice, no source).
const leastOfLeg = 40

// leastOfContact are ohms below which a contact is closed (common practice, no source).
const leastOfContact = 1

// contact takes of a protective contact, of which no two ends are told apart, that it reads
// open or closed: it is bad or good.
func (k *readout) contact(np *phrase, before *lastRead) bool {
	k.closed = k.closed || k.unit == "ohms" && k.amps < leastOfContact
	if !k.closed && !math.IsInf(k.amps, 1) || k.ground || len(k.poles) > 0 || len(np.nouns) == 0 || k.unsure || k.ranges {
		return false
	}
	parts := slices.DeleteFunc(k.r.parts(np, k.r.isNoLoad), func(id circuit.PartID) bool {
		kind := k.r.c.Part(id).Kind
		return kind != circuit.KindLimit && kind != circuit.KindThermostat && kind != circuit.KindThermalFuse
	})
	about := "found_bad"
	if k.closed {
		about = "found_good"
	}
	for _, id := range k.near(np, k.r.likeliest(np, parts), before.of) {
		st := k.r.clauses[0].blank(OfPlace, &said{key: about})
		st.Part, st.Words = id, k.said
		k.means = append(k.means, Choice{k.r.c.Part(id).Label, []Statement{st}})
	}
	if np.all && len(k.means) > 1 {
		all := Choice{}
		for _, c := range k.means {
			all.Statements = append(all.Statements, c.Statements...)
		}
		k.means = []Choice{all}
	}
	k.unit = "ohms"
	*before = lastRead{of: np, unit: k.unit}
	return len(k.means) > 0
}
