package complaints

import (
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// notation writes in full what is short for something only beside a figure, "mid 16",
// "L1-2 208", and leaves out what a meter should show: "spec 3.2-3.6".
func (r *reader) notation(words []raw) []raw {
	m := &r.l.Meter
	words = r.ofLegs(words)
	for i := 0; i < len(words); i++ {
		next := i + 1
		if r.l.Clamp.Leg != "" && !r.isPole("l") && next < len(words) && words[i].word == "l" && words[i].hyphen && words[next].word == "n" {
			words = slices.Replace(words, i, next+1, split(r.l.Clamp.Leg)...) // whichever
			continue
		}
		if next+1 < len(words) && isFigure(words[i].word) && words[i].word == words[next].word && words[i].word == words[next+1].word && len(m.Each) > 0 && len(m.Legs) > 0 { // "208 208 208"
			words = slices.Replace(words, next, next+2, raw{word: m.Each[0]}, raw{word: m.Legs[0]})
			continue
		}
		if next < len(words) && words[i].hyphen && r.isPole(words[i].word) && r.isPole("l"+words[next].word) {
			words[next].word = "l" + words[next].word
			continue
		}
		if next+1 < len(words) && isFigure(words[i].word) && (words[next].hyphen || slices.Contains(m.Through, words[next+1].word)) && r.isTerminal(words[i].word+words[next].word) { // "1a-1b"
			words = slices.Replace(words, i, next+1, raw{word: words[i].word + words[next].word, hyphen: words[next].hyphen})
			continue
		}
		if to := r.l.clauseEnd(words, next); words[i].mark == ',' && to > next && to+1 < len(words) && words[to].mark == ',' && i > 0 && (isFigure(words[to+1].word) || slices.Contains(m.Open, words[to+1].word)) && r.l.isApart(words[next:to], false) {
			words = slices.Delete(words, i, to+1) // "element to metal, wires off, 12 k"
			i--
			continue
		}
		if full := m.Beside[words[i].word]; full != "" && next < len(words) && (isFigure(words[next].word) || slices.Contains(m.Open, words[next].word)) && !r.isTerminal(words[i].word) {
			words = slices.Replace(words, i, next, split(full)...)
			continue
		}
		for _, say := range m.Should {
			should := strings.Fields(say)
			if len(words)-i <= len(should) || !startsWith(words[i:], should) || !slices.ContainsFunc(words, r.isElectric) {
				continue
			}
			to := i + len(should)
			for to < len(words) && (isFigure(words[to].word) || r.l.unitOf(words[to].word) != "" || slices.Contains(r.l.Meter.Through, words[to].word)) {
				to++
			}
			if isFigure(words[to-1].word) || r.l.unitOf(words[to-1].word) != "" {
				words = slices.Delete(words, i, to)
				i--
			}
			break
		}
	}
	return words
}

// ofLegs writes amps behind bare figures that two poles or more have each, and that are
// too few for volts: "L1 31 L2 18 L3 18".
func (r *reader) ofLegs(words []raw) []raw {
	var out []raw
	n := 0
	for i, w := range words {
		out = append(out, w)
		x, err := strconv.ParseFloat(w.word, 64)
		if err != nil || i == 0 || !r.isPole(words[i-1].word) || words[i-1].hyphen {
			continue
		}
		if i+1 < len(words) && words[i+1].mark == 0 && !r.isPole(words[i+1].word) && !r.l.alone(words[i+1].word).has(modePrep) || x <= 0 || x >= r.c.Supply().Volts/4 {
			return words
		}
		if n++; i+1 < len(words) && words[i+1].mark == 0 {
			out = append(out, raw{word: letters["A"]}, raw{mark: ','})
		} else {
			out = append(out, raw{word: letters["A"]})
		}
	}
	if n < 2 || len(r.l.Clamp.Units) == 0 {
		return words
	}
	return out
}

// isElectric reports whether a word is a unit of what a technician's meter shows.
func (r *reader) isElectric(w raw) bool {
	switch r.l.unitOf(w.word) {
	case "ohms", "kilohms", "megohms", "volts":
		return true
	}
	return slices.Contains(r.l.Clamp.Units, w.word)
}

// under takes out of a clause in which state of the machine it was read: "no load", "cold
// oven", "at 75 F".
func (k *readout) under(clause []raw) []raw {
	m := &k.r.l.Meter
	for i := 0; i < len(clause); i++ {
		n := 0
		for _, state := range []struct {
			say  []string
			mode circuit.ModeID
		}{{m.Loaded, mainMode(k.r.c)}, {m.Unloaded, k.r.c.OffMode()}, {m.AsOff, k.r.c.OffMode()}, {m.AsFound, circuit.None}} {
			for _, say := range state.say {
				if f := strings.Fields(say); n == 0 && len(f) <= len(clause)-i && startsWith(clause[i:], f) {
					if n = len(f); state.mode != circuit.None {
						k.mode = state.mode
					}
				}
			}
		}
		if n == 0 && i+1 < len(clause) && isRoom(clause[i].word, k.r.l.unitOf(clause[i+1].word)) {
			for n = 2; i+n < len(clause) && k.r.l.unitOf(clause[i+n].word) != ""; n++ {
			}
			for i > 0 && (slices.Contains(m.At, clause[i-1].word) || slices.Contains(m.Words, clause[i-1].word)) {
				i, n = i-1, n+1
			}
		}
		if n > 0 {
			clause = slices.Delete(slices.Clone(clause), i, i+n)
			i--
		}
	}
	return clause
}

// isRoom reports whether a figure is of a room's warmth, as a thermometer there shows it.
func isRoom(figure, unit string) bool {
	x, err := strconv.ParseFloat(figure, 64)
	return err == nil && (unit == "celsius" && x < 40 || (unit == "fahrenheit" || unit == "degrees") && x < 100)
}

// unitOf is the key of a unit, "" for any other word.
func (l *Language) unitOf(w string) string {
	for _, of := range []string{w, singular(w)} {
		if s, ok := l.alone(of).of(isUnit); ok {
			return s.key
		}
	}
	return ""
}
