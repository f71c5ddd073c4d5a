package complaints

import (
	"math"
	"slices"
	"strconv"

	"legtrace/circuit"
)

// clauseEnd is where the clause ends that begins at a word.
func (l *Language) clauseEnd(words []raw, from int) int {
	for from < len(words) && !l.parting(words[from]) {
		from++
	}
	return from
}

// partTold parts what was said of one place from a reading that follows on "and", at
// another: "the breaker is fine and I have 240 at the outlet".
func (r *reader) partTold(words []raw) []raw {
	figure := func(w raw) bool { return isFigure(w.word) }
	for i := 1; i+1 < len(words); i++ {
		before := r.l.alone(words[i-1].word)
		if words[i].word != r.l.And || words[i-1].mark != 0 || r.isPole(words[i-1].word) || before.has(isNoun) || before.has(isWhere) || isFigure(words[i-1].word) || r.l.unitOf(words[i-1].word) != "" {
			continue
		}
		begin := i
		for begin > 0 && !r.l.parting(words[begin-1]) {
			begin--
		}
		next := words[i+1 : r.l.clauseEnd(words, i+1)]
		if at := slices.IndexFunc(next, figure); at >= 0 && !slices.ContainsFunc(words[begin:i], figure) && slices.ContainsFunc(next[at:], func(w raw) bool { return slices.Contains(r.l.Meter.At, w.word) }) {
			words[i] = raw{mark: ','}
		}
	}
	return words
}

// isApart reports whether words tell no more than that a part was read by itself, "both
// wires off", or of a contact that it was cold.
func (l *Language) isApart(words []raw, contact bool) bool {
	apart := false
	for _, w := range words {
		t := l.alone(w.word)
		switch {
		case slices.Contains(l.Meter.Zero, w.word): // "240 in, nothing out"
			return false
		case slices.Contains(l.Meter.Apart, w.word), contact && slices.Contains(l.Meter.Cold, w.word):
			apart = true
		case !slices.Contains(l.Meter.Leads, w.word) && !(apart && t.has(isNoun)) && !t.has(article) && !t.has(filler) && !t.has(its) && !t.has(all) && !t.has(with) && circuit.ColourCode(w.word) == "":
			return false
		}
	}
	return apart
}

// prepared takes out of each sentence that tells of a meter what was done so that it could be
// read, "breaker off, leads off:", and marks what was read of a part by itself.
func (r *reader) prepared(words []raw) []raw {
	for from := 0; from < len(words); {
		to := from
		for to < len(words) && words[to].mark != '.' && words[to].mark != ';' {
			to++
		}
		kept := r.unprepared(slices.Clone(words[from:to]))
		words = slices.Replace(words, from, to, kept...)
		from += len(kept) + 1
	}
	return words
}

// unprepared is a sentence without what was done before it was read; all of it where nothing
// was read by ohms.
func (r *reader) unprepared(words []raw) []raw {
	m, apart := &r.l.Meter, false
	read := func(w raw) bool {
		return r.l.unitOf(w.word) == "ohms" || tenths.MatchString(w.word) || slices.ContainsFunc([][]string{m.Open, m.Opened, m.Closed}, func(of []string) bool { return slices.Contains(of, w.word) })
	}
	for from := 0; from < len(words); {
		to := r.l.clauseEnd(words, from)
		clause := words[from:to]
		lifted := r.l.isApart(clause, false) && slices.ContainsFunc(clause, func(w raw) bool { return r.l.nounOf(r.l.alone(singular(w.word))).Joint })
		if !(lifted || slices.Contains(m.Prepared, joined(clause))) || len(clause) == 0 || to == len(words) || !slices.ContainsFunc(words[to:], read) {
			for i := range clause {
				clause[i].apart = apart
			}
			from = to + 1
			continue
		}
		if apart = apart || lifted; from > 0 && words[to].mark == 0 { // "power off and wires off, OL"
			to--
		}
		words = slices.Delete(words, from, to+1)
	}
	return words
}

// aside is where in a clause begins what tells how it was read: "with its plug off",
// "while it tries"; its length where nothing does. Apart says that it was read by itself.
func (r *reader) aside(clause []raw) (begin int, apart bool) {
	for i, w := range clause {
		t := r.l.alone(w.word)
		if i == 0 || !t.has(with) && !t.has(isSub) {
			continue
		}
		if r.l.isApart(clause[i:], false) {
			return i, true
		}
		if says := i + 2; says < len(clause) && r.l.alone(clause[i+1].word).has(pronoun) && singular(clause[says].word) == r.l.Speak { // "while it says lock"
			return i, false
		}
		runs := i+1 < len(clause) && r.l.alone(clause[i+1].word).has(pronoun) || slices.ContainsFunc(clause[i+1:], func(w raw) bool { return r.l.alone(w.word).has(isVerb) })
		if runs && !slices.ContainsFunc(clause[i+1:], func(w raw) bool {
			t := r.l.alone(w.word)
			return isFigure(w.word) || t.has(isNoun) && !t.has(isVerb) && !r.l.nounOf(t).Driven || t.has(isWhere) || t.has(isCircum) || t.has(joins)
		}) {
			return i, false
		}
	}
	return len(clause), false
}

// longestName is of how many words what a figure is of is named at most.
const longestName = 4

// figureBehind takes ohms that stand right behind the one part that they are of, in a
// clause that says more of it: "new upper element 12.8". It tells which words they are.
func (r *reader) figureBehind(clause []raw) (at, n int) {
	for i := 1; i+1 < len(clause); i++ { // "no heat, 240 at the top"
		if volts := r.l.unitOf(clause[i+1].word) == "volts"; isFigure(clause[i].word) && (volts || r.c.StoresHeat() && slices.Contains(r.l.Meter.At, clause[i+1].word)) {
			if k, ok := r.readout(clause[i:], true, nil, &lastRead{}); ok && len(k.means) == 1 && k.unit != "ohms" {
				for _, st := range k.means[0].Statements {
					r.put(st)
				}
				return i, len(clause) - i
			}
		}
	}
	for at, n = 1, 1; at < len(clause) && !tenths.MatchString(clause[at].word) && (at+1 == len(clause) || r.l.unitOf(clause[at+1].word) != "ohms"); {
		at++
	}
	if at+1 < len(clause) && r.l.unitOf(clause[at+1].word) != "" {
		n = 2
	}
	if at+n < len(clause) && slices.Contains(r.l.Meter.At, clause[at+n].word) {
		return 0, 0 // "10 ohms to ground"
	}
	for begin := max(0, at-longestName); begin < at && at < len(clause); begin++ {
		if begin > 0 && r.withinName(clause, begin) {
			continue // "door switch 0 ohms" is of no other switch
		}
		if k, ok := r.readout(clause[begin:at+n], true, nil, &lastRead{}); ok && len(k.means) == 1 && k.unit == "ohms" {
			for _, st := range k.means[0].Statements {
				r.put(st)
			}
			return at, n
		}
	}
	return 0, 0
}

// withinName reports whether what is named from a word on is named by the word before it too.
func (r *reader) withinName(words []raw, at int) bool {
	_, used := r.l.longestAt(words[at-1:], r.machine)
	t := r.l.alone(words[at-1].word)
	return used > 1 || t.has(isWhere) || t.has(isNoun) || t.has(things)
}

// anew reports whether the last word of a clause begins another reading: "L1 118 L2 0",
// "upper 13 ohms lower 12 ohms".
func (r *reader) anew(words []raw, from, to int) bool {
	clause, n := words[from:to+1], to-from
	if n < 2 || r.l.parting(words[to]) {
		return false
	}
	shows := func(w raw) bool { return isFigure(w.word) || r.l.unitOf(w.word) != "" }
	has := func(is func(raw) bool) bool { return slices.ContainsFunc(clause[:n], is) }
	figures, poles := has(func(w raw) bool { return isFigure(w.word) }), has(func(w raw) bool { return r.isPole(w.word) })
	last, prev := clause[n], clause[n-1]
	side, winding := has(func(w raw) bool { return r.sideAt([]raw{w}, 0) != "" }), has(func(w raw) bool { return r.isWinding(w.word) })
	switch {
	case r.l.alone(prev.word).has(with) && isFigure(last.word): // "does not run with 120 V on it"
		return to+1 < len(words) && r.l.unitOf(words[to+1].word) == "volts"
	case r.l.alone(prev.word).has(with) && r.isTerminal(last.word): // "LS dead with L live"
		return has(func(w raw) bool { return isFigure(w.word) || slices.Contains(r.l.Meter.Missing, w.word) })
	case !figures:
		return false
	case side && (isFigure(last.word) || r.sideAt(words, to) != ""), winding && r.isWinding(last.word): // "in 120 out 0"
		return true
	case poles && r.isPole(last.word):
		return shows(prev)
	case (poles || has(func(w raw) bool { return slices.Contains(r.l.Meter.Legs, w.word) })) && isFigure(last.word): // "206 leg to leg 119 to neutral"
		return !isFigure(prev.word) && !slices.Contains(r.l.Meter.At, prev.word) && !slices.Contains(r.l.Meter.Measuring, prev.word)
	case slices.Contains(r.l.Meter.Each, last.word):
		return shows(prev) && !shows(clause[0]) && slices.ContainsFunc(words[to:r.l.clauseEnd(words, to)], shows) // not "block 120 each leg"
	}
	if to+1 < len(words) && shows(prev) && !shows(clause[0]) && r.lettered(last.word) != nil && (isFigure(words[to+1].word) || slices.Contains(r.l.Meter.Open, words[to+1].word)) {
		return true // "A 11.7 B 11.7"
	}
	names, _ := r.l.longestAt(words[to:r.l.clauseEnd(words, to)], r.machine)
	if noun := r.l.nounOf(&names); names.has(isNoun) && !noun.Joint && !noun.Machine && !noun.Region {
		rest := words[to:r.l.clauseEnd(words, to)]
		names.senses = append(names.senses, sense{class: isWhere})
		if !slices.ContainsFunc(rest, func(w raw) bool { return isFigure(w.word) || slices.Contains(r.l.Meter.Open, w.word) }) {
			return false
		}
	}
	return !shows(clause[0]) && shows(prev) && names.has(isWhere)
}

func isFigure(w string) bool {
	x, err := strconv.ParseFloat(w, 64)
	return err == nil && !math.IsInf(x, 0) && !math.IsNaN(x)
}

// names reports whether words do no more than name parts.
func (r *reader) names(words []raw) bool {
	return !slices.ContainsFunc(words, func(w raw) bool {
		t := r.l.alone(w.word)
		return w.mark != ',' && !t.has(isNoun) && !t.has(isWhere) && !t.has(article)
	})
}

// alike takes the clause that goes on to behind an "and", of parts that were found
// alike: "thermostats and cut-off closed".
func (r *reader) alike(words []raw, from int, to *int, measuring bool, spoken *phrase, before lastRead) (*readout, bool) {
	told := func(w raw) bool {
		return isFigure(w.word) || slices.Contains(r.l.Meter.Open, w.word) || slices.Contains(r.l.Meter.Closed, w.word)
	}
	end := *to
	for end < len(words) && words[end].mark == ',' && r.names(words[from:end]) { // "top, ring and grill"
		end = r.l.clauseEnd(words, end+1)
	}
	if end == len(words) || words[end].mark != 0 || slices.ContainsFunc(words[from:end], func(w raw) bool { return told(w) || slices.Contains(r.l.Looks, w.word) }) {
		return nil, false
	}
	end++
	for end < len(words) && !r.l.parting(words[end]) {
		end++
	}
	k, ok := r.readout(words[from:end], measuring, spoken, &before)
	if ok {
		*to = end
	}
	return k, ok
}
