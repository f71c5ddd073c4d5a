package complaints

import (
	"cmp"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// instrument is how a language tells of what a meter shows.
type instrument struct {
	// Words may stand beside a reading; Measuring say that it is one.
	Words, Measuring []string
	// Open is shown where nothing conducts, Zero where nothing is live, Missing said
	// of a pole that is not.
	Open, Zero, Missing []string
	// Through stands between two ends. At stands before where volts are read, Volts are words for them without a figure.
	Through, At, Volts []string
	Ground             []string
	// Good is said of volts as they should be, Closed of a contact, Clear of what does
	// not touch metal.
	Good, Closed, Clear []string
	// Legs are those of the supply, Each says that it is read of every one, One and
	// Other of which of two.
	Legs, Each, One, Other []string
	// Apart is said of a part that was read by itself, of Leads; In stands between a
	// part and where it is; Start is the winding that starts a motor. Opened is Open, said
	// of what was read by itself.
	Apart, Leads, In, Start, Cold, Opened []string
}

// readout is what a clause tells of a meter.
type readout struct {
	clamped
	unit         string // "ohms", "volts", or "" where it was not said
	shown        bool   // there is a figure, or what stands for one
	measuring    bool
	zero, lost   bool // nothing is live; a pole is missing
	at, volts    bool
	good, closed bool // without a figure
	reads        bool // the clause itself says that it was read
	figureFirst  bool
	ground, each bool
	clear        bool // of metal
	legs         bool
	one, other   bool // of two legs
	poles        []string
	paired       bool // the poles are two terminals of one part: "com to no"
	rest         []raw
	spoken       *phrase   // of what was spoken of before
	in           bool      // the last preposition tells where what stands before it is
	inside       []*phrase // the place that it tells, bay a word of where parts are
	bay          []string
}

// readings notes what a meter showed, clause by clause, and leaves the other words: a
// clause counts that holds nothing else. Ohms and OL are of the part named, supply
// removed; volts are read where the machine is fed, or at a load in a mode that uses
// it. A figure without a unit is ohms in a sentence that tells of a meter, and volts
// where it is about the supply's and stands after "at".
func (r *reader) readings(words []raw) []raw {
	measuring := slices.ContainsFunc(words, func(w raw) bool {
		u := r.l.unitOf(w.word)
		return u == "ohms" || u == "kilohms" || u == "volts" || slices.Contains(r.l.Meter.Open, w.word) || tenths.MatchString(w.word)
	})
	var before lastRead
	var spoken *phrase
	for from := 0; from < len(words); {
		to := from
		for to < len(words) && !r.anew(words[from:to+1]) && (words[to].mark == ':' || to > 0 && words[to].short && !r.l.vocabulary[words[to-1].word] || !r.l.parting(words[to]) || to > from && r.l.liesBetween(words[:to])) {
			to++
		}
		k, ok := r.alike(words, from, &to, measuring, spoken, before)
		if !ok {
			k, ok = r.readout(words[from:to], measuring, spoken, &before)
		}
		if at := slices.IndexFunc(words[from:to], func(w raw) bool { return w.mark == ':' }); !ok && at >= 0 { // "FOUND: 240 at the block"
			from += at + 1
			k, ok = r.readout(words[from:to], measuring, spoken, &before)
		}
		if !ok {
			at, n := r.figureBehind(words[from:to])
			words = slices.Delete(words, from+at, from+at+n)
			to -= n
		}
		if ok {
			if n := len(r.heard.Questions) - 1; k.other && n >= 0 && len(k.means) == 2 && len(r.heard.Questions[n].Choices) == 2 {
				for i, c := range r.heard.Questions[n].Choices { // "one leg 121, the other 0"
					r.heard.Questions[n].Choices[i].Statements = append(c.Statements, k.means[1-i].Statements...)
				}
			} else if len(k.means) == 1 {
				for _, st := range k.means[0].Statements {
					r.put(st)
				}
			} else {
				r.heard.Questions = append(r.heard.Questions, Question{Words: k.said, What: "reads", About: OfPlace, Choices: k.means})
			}
			for to+1 < len(words) {
				next := words[to+1 : r.l.clauseEnd(words, to+1)]
				if good := len(next) == 1 && slices.Contains(r.l.Meter.Good, next[0].word); !good && !r.l.isApart(next, k.unit == "ohms" && !r.isLoad(k.means[0].Statements[0].Part)) {
					break
				}
				to += 1 + len(next) // "985 ohms, plug apart", "985 ohms, ok"
			}
			words = slices.Replace(words, from, to, raw{mark: ',', about: before.of})
			to = from
		} else if np := r.phraseCalled(joined(words[from:to])); np != nil && (r.singledOut(np) > 0 || len(r.parts(np, r.isLoad)) == 1) {
			spoken = np
		}
		if before.of != nil {
			spoken = before.of
		}
		if from = to; from < len(words) && r.l.parting(words[from]) {
			from++
		}
	}
	return words
}

// clauseEnd is where the clause ends that begins at a word.
func (l *Language) clauseEnd(words []raw, from int) int {
	for from < len(words) && !l.parting(words[from]) {
		from++
	}
	return from
}

// isApart reports whether words tell no more than that a part was read by itself, "both
// wires off", or of a contact that it was cold.
func (l *Language) isApart(words []raw, contact bool) bool {
	apart := false
	for _, w := range words {
		t := l.alone(w.word)
		switch {
		case slices.Contains(l.Meter.Apart, w.word), contact && slices.Contains(l.Meter.Cold, w.word):
			apart = true
		case !slices.Contains(l.Meter.Leads, w.word) && !(apart && t.has(isNoun)) && !t.has(article) && !t.has(filler) && !t.has(its) && !t.has(all) && !t.has(with) && circuit.ColourCode(w.word) == "":
			return false
		}
	}
	return apart
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
		if k, ok := r.readout(clause[begin:at+n], true, nil, &lastRead{}); ok && len(k.means) == 1 && k.unit == "ohms" {
			for _, st := range k.means[0].Statements {
				r.put(st)
			}
			return at, n
		}
	}
	return 0, 0
}

// anew reports whether the last word of a clause begins another reading: "L1 118 L2 0",
// "upper 13 ohms lower 12 ohms".
func (r *reader) anew(clause []raw) bool {
	n := len(clause) - 1
	if n < 2 {
		return false
	}
	shows := func(w raw) bool { return isFigure(w.word) || r.l.unitOf(w.word) != "" }
	figures := slices.ContainsFunc(clause[:n], func(w raw) bool { return isFigure(w.word) })
	poles := slices.ContainsFunc(clause[:n], func(w raw) bool { return r.isPole(w.word) })
	last, prev := clause[n], clause[n-1]
	switch {
	case !figures:
		return false
	case poles && r.isPole(last.word):
		return shows(prev)
	case poles && isFigure(last.word):
		return r.isPole(prev.word)
	}
	return !shows(clause[0]) && shows(prev) && r.l.alone(last.word).has(isWhere)
}

func isFigure(w string) bool {
	x, err := strconv.ParseFloat(w, 64)
	return err == nil && !math.IsInf(x, 0) && !math.IsNaN(x)
}

func (r *reader) readout(clause []raw, measuring bool, spoken *phrase, before *lastRead) (k *readout, ok bool) {
	k = &readout{spoken: spoken, clamped: clamped{r: r, mode: circuit.None, said: joined(clause)}, measuring: measuring, figureFirst: len(clause) > 0 && isFigure(clause[0].word)}
	return k, k.take(clause, before)
}

// alike takes the clause that goes on to behind an "and", of parts that were found
// alike: "thermostats and cut-off closed".
func (r *reader) alike(words []raw, from int, to *int, measuring bool, spoken *phrase, before lastRead) (*readout, bool) {
	told := func(w raw) bool {
		return isFigure(w.word) || slices.Contains(r.l.Meter.Open, w.word) || slices.Contains(r.l.Meter.Closed, w.word)
	}
	if *to == len(words) || words[*to].mark != 0 || slices.ContainsFunc(words[from:*to], told) {
		return nil, false
	}
	end := *to + 1
	for end < len(words) && !r.l.parting(words[end]) {
		end++
	}
	k, ok := r.readout(words[from:end], measuring, spoken, &before)
	if ok {
		*to = end
	}
	return k, ok
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

// tenths is a figure as only a meter shows it.
var tenths = regexp.MustCompile(`^\d+\.\d$`)

// lastRead is of what a clause told last, and in which unit.
type lastRead struct {
	of   *phrase
	unit string
	mode circuit.ModeID
	next bool // what was read there follows
	legs bool // it was of what brings the supply
}

// take reads a clause; before is what the one before told.
func (k *readout) take(clause []raw, before *lastRead) bool {
	to, apart := k.r.aside(clause)
	clause = k.pair(clause[:to])
	for i, w := range clause {
		if next := k.r.l.alone(clause[min(i+1, len(clause)-1)].word); k.r.l.alone(w.word).has(isWhere) && (next.has(isNoun) || next.has(isWhere)) && i+1 < len(clause) {
			k.rest = append(k.rest, w) // "the right front switch"
		} else if !k.word(w, apart) {
			return false
		}
	}
	if k.other && before.legs {
		k.legs, k.shown = true, k.shown || k.zero
	}
	if !k.shown && (k.lost && len(k.poles) == 1 || k.zero && (k.unit == "volts" || k.volts || len(k.poles) == 2 && k.reads || k.at && (len(k.poles) == 1 || before.unit == "volts" || before.unit != "" && !k.ground))) {
		k.shown, k.volts = true, true
	}
	if !k.shown && k.good && k.volts && k.unit == "" {
		k.amps, k.shown = k.r.c.Supply().Volts, true
	}
	if k.zero && !k.shown && k.ground && !k.volts && len(k.poles) == 0 && (k.clear || before.unit == "ohms" || before.unit == "" && k.spoken != nil) { // "13 ohms, clear of the tank"
		k.amps, k.shown, k.zero, k.unit, k.at = math.Inf(1), true, false, "ohms", true
		before.of, before.unit = cmp.Or(before.of, k.spoken), k.unit
	}
	lostLeg := k.lost && k.legs && !k.shown && len(k.poles) == 0
	named, ok := k.phrases(k.rest, false)
	named = slices.DeleteFunc(named, func(p *phrase) bool { // "at its own leads"
		return len(p.where) == 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !k.r.l.Nouns[n].Joint })
	})
	if k.in && len(named) > 1 && !k.closed { // "the limit at the back of the drawer bay"
		k.inside, named = named[1:], named[:1]
	}
	if !ok || len(named) == 1 && len(named[0].nouns) == 0 && k.at && k.unit != "ohms" && k.r.c.StoresHeat() || len(named) > 1 && !k.closed && !math.IsInf(k.amps, 1) {
		return false
	}
	if !k.shown && !lostLeg {
		if len(clause) == 0 {
			return false
		}
		if *before = (lastRead{}); len(named) == 1 && !(named[0].all && len(k.r.parts(named[0], k.r.isLoad)) == 1) && len(k.poles) == 0 && (k.volts || k.reads) { // "checked volts at the outlet, 238"
			*before = lastRead{of: named[0], unit: k.unit, mode: k.mode, next: true}
			if k.volts {
				before.unit = "volts"
			}
		}
		return false
	}
	if len(named) == 0 && before.next && len(k.poles) == 0 && !k.legs && (k.unit == "" || before.unit == "" || k.unit == before.unit) {
		named, k.mode, k.at = []*phrase{before.of}, before.mode, true
		if k.unit == "" {
			k.unit = before.unit
		}
	}
	if len(named) == 0 && k.at && len(k.poles) == 0 && !k.legs && before.of != nil && (k.unit == "" || k.unit == before.unit || k.unit == "volts") { // "and nothing across"
		switch named = []*phrase{before.of}; {
		case k.amps == 0 && before.unit == "volts":
			k.mode, k.unit = before.mode, before.unit
		case k.zero && k.volts: // "10 ohms, nothing across it"
			k.unit = "volts"
		}
	}
	if inner := slices.ContainsFunc(k.poles, func(p string) bool { return !k.r.isPole(p) }); len(named) == 0 && inner && before.of != nil { // "none out at H1"
		named = []*phrase{before.of}
	}
	if ohms := k.unit == "ohms" || k.unit == "" && k.reads && k.amps <= mostOhms; len(named) == 0 && ohms && len(k.poles) == 0 && !k.legs && !k.each && !k.at && k.spoken != nil {
		named = []*phrase{k.spoken} // "the bake element is blistered. Reads 22 ohms"
	}
	if k.paired && len(named) == 0 {
		of := cmp.Or(before.of, k.spoken)
		return of != nil && k.atTerminals(of) || k.atTerminals(&phrase{})
	}
	if len(named) == 0 {
		return (len(k.poles) > 0 || k.legs || k.each && k.ground || k.volts && k.good || k.zero && before.legs) && k.fed(k.r.partKind(circuit.KindTerminalBlock), before)
	}
	if len(named) == 1 {
		return k.of(named[0], before)
	}
	var all []Statement
	for _, np := range named {
		if one := *k; one.of(np, before) && len(one.means) == 1 {
			all = append(all, one.means[0].Statements...)
			continue
		}
		return false
	}
	k.means = []Choice{{"", all}}
	return true
}

// fed takes volts where a part brings the supply.
func (k *readout) fed(part circuit.PartID, before *lastRead) bool {
	ok := k.supply(part)
	if ok {
		*before = lastRead{unit: "volts", legs: true}
	}
	return ok
}

// of takes what was read of what a phrase names.
func (k *readout) of(np *phrase, before *lastRead) bool {
	if full := k.r.c.Supply().Volts; k.r.isMachine(np) && k.at && k.unit != "ohms" && !k.ground && math.Abs(k.amps-full) < full/8 {
		return k.fed(k.r.partKind(circuit.KindTerminalBlock), before) // "240 at the unit"
	}
	if len(np.nouns) == 0 && before.of != nil { // "upper 12 ohms, lower OL"
		np.nouns, np.said = before.of.nouns, before.of.said
	}
	if k.spoken != nil && len(np.where) == 0 && !np.all && len(k.r.parts(np, k.r.isLoad)) > 1 {
		with := *np
		if with.where = k.spoken.where; len(k.r.parts(&with, k.r.isLoad)) > 0 {
			np = &with // "the left front switch is burnt, coil checks 27"
		}
	}
	if k.paired && k.atTerminals(np) {
		*before = lastRead{of: np, unit: k.unit, mode: k.mode}
		return true
	}
	if len(np.nouns) == 0 && k.unit == "" && !k.at && !k.volts && !(k.measuring && k.amps <= mostOhms) || k.r.region(np) || k.r.isMachine(np) {
		return false
	}
	if k.atTerminals(np) {
		*before = lastRead{of: np, unit: k.unit, mode: k.mode}
		return true
	}
	those := []func(circuit.PartID) bool{k.r.fedByLegs, k.r.isLoad, anyPart}
	if k.r.ofContact(np) {
		those = []func(circuit.PartID) bool{k.r.isNoLoad} // a timer's is not its motor
	}
	for _, counts := range those {
		parts := k.standing(k.r.likeliest(np, k.r.parts(np, counts)))
		if len(parts) == 1 && k.r.fedByLegs(parts[0]) {
			if of := k.r.parts(&phrase{where: np.where}, k.r.isSurface); len(of) == 1 && k.at { // "170 volts at the left front receptacle"
				return k.across(np, of, false)
			}
			return k.fed(parts[0], before)
		}
		if len(parts) > 0 {
			ok := k.across(np, parts, np.all && !np.joint || k.each && !k.ground)
			if ok {
				*before = lastRead{of: np, unit: k.unit, mode: k.mode}
			}
			return ok
		}
	}
	return false
}

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
	return parts
}

// word takes a word of a clause. It reports whether it may stand in one.
func (k *readout) word(w raw, apart bool) bool {
	m, l := &k.r.l.Meter, k.r.l
	unit := l.unitOf(w.word)
	switch {
	case isFigure(w.word):
		if k.shown {
			return false
		}
		k.amps, _ = strconv.ParseFloat(w.word, 64)
		k.shown = true
	case slices.Contains(m.Closed, w.word) && !k.shown:
		k.shown, k.closed, k.unit = true, true, "ohms"
	case slices.Contains(m.Open, w.word), (apart || k.paired) && !k.shown && slices.Contains(m.Opened, w.word):
		k.amps, k.shown, k.unit = math.Inf(1), true, "ohms"
	case unit == "megohms" && k.shown && k.unit == "":
		k.amps, k.unit = 1e6*k.amps, "ohms"
	case unit == "kilohms" && k.shown && k.unit == "":
		k.amps, k.unit = 1000*k.amps, "ohms"
	case (unit == "ohms" || unit == "volts") && (k.unit == "" || k.unit == unit):
		k.unit = unit
	case unit != "":
		return false
	case k.sets(w.word):
	case w.word == l.Clamp.Neutral:
		k.poles = append(k.poles, "N")
	case k.r.isPole(w.word):
		k.poles = append(k.poles, strings.ToUpper(w.word))
	case w.mark == 0 && !l.vocabulary[w.word] && !l.skip[w.word] && k.r.isTerminal(w.word): // "the M"
		k.poles = append(k.poles, strings.ToUpper(w.word))
	case slices.Contains(m.At, w.word):
		k.at, k.in = true, slices.Contains(m.In, w.word) && len(k.rest) > 0
		k.rest = append(k.rest, raw{mark: ','})
	case slices.Contains(m.Measuring, w.word):
		k.measuring, k.reads = true, true
	case slices.Contains(m.Clear, w.word):
		k.zero, k.clear = true, true
	case slices.Contains(m.Good, w.word):
		k.good = true
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

// sets takes a word that tells one thing by itself, and reports whether it is one.
func (k *readout) sets(word string) bool {
	m := &k.r.l.Meter
	for _, one := range []struct {
		words []string
		told  *bool
	}{{m.Volts, &k.volts}, {m.Zero, &k.zero}, {m.Missing, &k.lost}, {m.Ground, &k.ground}, {m.Legs, &k.legs}, {m.Each, &k.each}, {m.One, &k.one}, {m.Other, &k.other}} {
		if slices.Contains(one.words, word) {
			*one.told = true
			return true
		}
	}
	return false
}
