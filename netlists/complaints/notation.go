package complaints

import (
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// notation writes in full what is short for something only beside a figure, "mid 16",
// "L1-2 208".
func (r *reader) notation(words []raw) []raw {
	m := &r.l.Meter
	words = r.ofLegs(r.metering(r.should(words)))
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
		if next+1 < len(words) && isFigure(words[i].word) && words[i].word == words[next+1].word && (words[next].word == "/" || r.l.alone(words[next].word).has(joins)) && len(m.Each) > 0 && len(m.Legs) > 0 { // "120/120 to neutral"
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
		if end := i + 2; end < len(words) && slices.Contains(m.Enters, words[i].word) && r.l.alone(words[next].word).has(joins) && slices.Contains(m.Leaves, words[end].word) {
			if at := slices.IndexFunc(words[:i], func(w raw) bool { return isFigure(w.word) }); at >= 0 {
				words = slices.Replace(words, next, end, raw{mark: ','}, words[at]) // "240 in and out of the reset"
				continue
			}
		}
		if to := r.l.clauseEnd(words, next); words[i].mark == ',' && to > next && to+1 < len(words) && words[to].mark == ',' && i > 0 && (isFigure(words[to+1].word) || slices.Contains(m.Open, words[to+1].word)) && r.l.isApart(words[next:to], false) {
			words = slices.Delete(words, i, to+1) // "element to metal, wires off, 12 k"
			i--
			continue
		}
		if full := m.Behind[words[i].word]; full != "" && i > 0 && next < len(words) && words[next].mark == 0 && r.showsBefore(words[:i]) {
			words = slices.Replace(words, i, next, split(full)...) // "240 into the switch"
			continue
		}
		if end := i + 4; r.c.StoresHeat() && words[i].word == r.l.Top && end <= len(words) && slices.Contains(m.At, words[next].word) && r.l.nounOf(r.l.alone(words[end-1].word)).Machine && slices.ContainsFunc(words[:i], func(w raw) bool { return isFigure(w.word) }) {
			words = slices.Delete(words, next, end) // "240 at the top of the tank"
			continue
		}
		if both, n := r.eachOf(words[i:]); n > 0 && (i == 0 || r.l.parting(words[i-1])) {
			words = slices.Replace(words, i, i+n, both...)
			continue
		}
		if n := r.ofOther(words, i); n > 0 {
			words = slices.Concat(words[:i], words[n:r.l.clauseEnd(words, n)], words[i:n], words[r.l.clauseEnd(words, n):])
			continue
		}
		if full := m.Beside[words[i].word]; full != "" && next < len(words) && (isFigure(words[next].word) || slices.Contains(m.Open, words[next].word)) && !r.isTerminal(words[i].word) {
			words = slices.Replace(words, i, next, split(full)...)
			continue
		}
	}
	return words
}

// metering leaves out, where it was said first what was measured and then what was read,
// that it was: "ohmed the sensor, 1100", "element to ground, low ohms".
func (r *reader) metering(words []raw) []raw {
	m := &r.l.Meter
	shows := func(w raw) bool {
		return isFigure(w.word) || slices.Contains(m.Open, w.word) || slices.Contains(m.Zero, w.word) || slices.Contains(m.Low, w.word)
	}
	for i := 0; i < len(words); i++ {
		to := r.l.clauseEnd(words, i)
		said := slices.Contains(r.l.Tested, words[i].word) && (i == 0 || words[i-1].mark != 0 || slices.Contains(r.l.People, words[i-1].word))
		toMetal := i > 0 && to == i+1 && slices.Contains(m.Ground, words[i].word) && slices.Contains(m.Through, words[i-1].word)
		if !said && !toMetal {
			continue
		}
		next := to + 1
		for next < len(words) && slices.Contains(m.Gets, words[next].word) {
			next++
		}
		if toMetal && (next >= len(words) || !slices.Contains(m.Low, words[next].word)) {
			continue
		}
		if said && to-i < 2 || next >= len(words) || words[to].mark != ',' || !shows(words[next]) || slices.ContainsFunc(words[i:to], shows) {
			continue
		}
		reads := words[i]
		if x, _ := strconv.ParseFloat(words[next].word, 64); x >= r.legVolts()*3/4 && x <= r.c.Supply().Volts*1.2 && (next+1 == len(words) || r.l.unitOf(words[next+1].word) == "") && len(r.l.Has) > 0 {
			reads = raw{word: r.l.Has[0]} // "checked the element, 240 there"
		}
		if !said {
			words = slices.Delete(words, to, next)
			continue
		}
		words = slices.Replace(words, to, next, reads)
		words = slices.Delete(words, i, i+1)
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
		}{{m.Loaded, k.r.usualMode()}, {m.Unloaded, k.r.c.OffMode()}, {m.AsOff, k.r.c.OffMode()}, {m.AsFound, circuit.None}} {
			for _, say := range state.say {
				if f := strings.Fields(say); n == 0 && len(f) <= len(clause)-i && startsWith(clause[i:], f) {
					if n = len(f); state.mode != circuit.None {
						k.mode, k.calling = state.mode, state.mode != k.r.c.OffMode()
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

// ordinal reports whether a word that is a unit of something else stands with no figure before
// it: "the second limit".
func (l *Language) ordinal(words []raw, i int) bool {
	unit := l.unitOf(words[i].word)
	return unit != "" && unit != "ohms" && unit != "kilohms" && unit != "megohms" && unit != "volts" && (i == 0 || !isFigure(words[i-1].word)) && i+1 < len(words) && l.alone(words[i+1].word).has(isNoun)
}

// eachOf writes of parts that are named together each what is read of all: "A and C read
// 18", "upper and lower elements both 13 ohms". It tells how many words it takes.
func (r *reader) eachOf(words []raw) (each []raw, n int) {
	var names [][]raw
	at := 0
	for {
		from := at
		for at < len(words) && words[at].mark == 0 && (r.names([]raw{{word: singular(words[at].word)}}) || r.lettered(words[at].word) != nil) {
			at++
		}
		if at == from || at > from+1 && r.l.alone(words[at-1].word).has(isVerb) && singular(words[at-1].word) != words[at-1].word {
			return nil, 0
		}
		names = append(names, words[from:at])
		if at == len(words) || !r.l.alone(words[at].word).has(joins) && words[at].mark != ',' && words[at].word != "/" {
			break
		}
		for at < len(words) && (words[at].mark == ',' || r.l.parting(words[at])) {
			at++
		}
	}
	end := r.l.clauseEnd(words, at)
	tail := words[at:end]
	for len(tail) > 0 && (slices.Contains(r.l.Meter.Each, tail[0].word) || r.l.alone(tail[0].word).has(aux) || slices.Contains(r.l.Expected.About, tail[0].word) && len(tail) > 1 && isFigure(tail[1].word)) {
		tail = tail[1:]
	}
	shows := func(w raw) bool { return isFigure(w.word) || slices.Contains(r.l.Meter.Open, w.word) }
	if len(names) < 2 || !slices.ContainsFunc(tail, shows) || !shows(tail[0]) && !slices.Contains(r.l.Meter.Measuring, tail[0].word) && !slices.Contains(r.l.Clamp.Words, tail[0].word) {
		return nil, 0
	}
	var noun []raw // which all of them are: "upper and lower elements", "elements A and C"
	for _, name := range names {
		for i, w := range name {
			if one := singular(w.word); one != w.word && r.l.alone(one).has(isNoun) && (i == 0) != (i+1 == len(name)) {
				noun, name[i].word = []raw{{word: one}}, one
			}
		}
	}
	for i, name := range names {
		if i > 0 {
			each = append(each, raw{mark: ','})
		}
		each = append(each, name...)
		if noun != nil && !slices.ContainsFunc(name, func(w raw) bool { return r.l.alone(w.word).has(isNoun) }) {
			if r.lettered(name[len(name)-1].word) != nil {
				each = slices.Insert(each, len(each)-len(name), noun...)
			} else {
				each = append(each, noun...)
			}
		}
		each = append(each, tail...)
	}
	return each, end
}

// ofOther is where behind "0 on the other" it is told where both legs were read, for the
// end of the clause on the one leg before it; 0 elsewhere.
func (r *reader) ofOther(words []raw, end int) int {
	l := r.l
	if !l.parting(words[end]) || words[end].mark == '.' {
		return 0
	}
	from := end
	for from > 0 && !l.parting(words[from-1]) {
		from--
	}
	has := func(clause []raw, list []string) int {
		return slices.IndexFunc(clause, func(w raw) bool { return slices.Contains(list, w.word) })
	}
	before, next := words[from:end], words[end+1:l.clauseEnd(words, min(end+1, len(words)))]
	other := has(next, l.Meter.Other)
	pole := func(w raw) bool { return r.isPole(w.word) }
	switch one := slices.IndexFunc(before, pole); {
	case has(before, l.Meter.One) >= 0 && has(before, l.Meter.Legs) >= 0 && other >= 0:
	case one >= 0 && one+2 >= len(before) && slices.ContainsFunc(before, func(w raw) bool { return isFigure(w.word) }): // "120 on L1 and 0 on L2 at the breaker"
		if other = slices.IndexFunc(next, pole); other < 0 {
			return 0
		}
		for other+1 < len(next) && (isFigure(next[other+1].word) || l.unitOf(next[other+1].word) != "") {
			other++
		}
	default:
		return 0
	}
	at := end + 1 + other + 1
	if at < len(words) && slices.Contains(l.Meter.Legs, words[at].word) {
		at++
	}
	if at+1 < l.clauseEnd(words, end+1) && (slices.Contains(l.Meter.At, words[at].word) || slices.Contains(l.Meter.In, words[at].word)) {
		return at
	}
	return 0
}

// showsBefore reports whether words end in what a meter shows, or in that and a small word:
// "240 going" into.
func (r *reader) showsBefore(words []raw) bool {
	for n := len(words) - 1; n >= max(0, len(words)-2); n-- {
		switch w := words[n]; {
		case isFigure(w.word), slices.Contains(r.l.Meter.Zero, w.word), r.isElectric(w):
			return true
		case !slices.Contains(r.l.Meter.Words, w.word):
			return false
		}
	}
	return false
}
