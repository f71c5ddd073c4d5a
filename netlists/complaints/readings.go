package complaints

import (
	"cmp"
	"math"
	"regexp"
	"slices"

	"legtrace/circuit"
)

// readings notes what a meter showed, clause by clause, and leaves the other words: a
// clause counts that holds nothing else. Ohms and OL are of the part named, supply
// removed; volts are read where the machine is fed, or at a load in a mode that uses
// it. A figure without a unit is ohms in a sentence that tells of a meter, and volts
// where it is about the supply's and stands after "at".
func (r *reader) readings(words []raw) []raw {
	words = r.partTold(words)
	measuring := slices.ContainsFunc(words, func(w raw) bool {
		u := r.l.unitOf(w.word)
		return u == "ohms" || u == "kilohms" || u == "volts" || slices.Contains(r.l.Meter.Open, w.word) || tenths.MatchString(w.word)
	})
	var before lastRead
	spoken, doubted := r.topic, false
	words = r.prepared(words)
	for from := 0; from < len(words); {
		to := from
		for to < len(words) && !r.anew(words, from, to) && (words[to].mark == ':' || to > 0 && words[to].short && !r.l.vocabulary[words[to-1].word] || !r.l.parting(words[to]) || to > from && r.lists(words, from, to) || to > from && words[to].mark == 0 && r.l.liesBetween(words[:to])) {
			to++
		}
		if next := r.l.clauseEnd(words, min(to+1, len(words))); to < len(words) && before.of == nil && r.sideOnly(words[from:to]) { // "243 in, 0 out of the reset"
			ahead := lastRead{}
			if n, is := r.readout(words[to+1:next], measuring, spoken, &ahead); is && n.side != "" {
				before = ahead
			}
		}
		was := before
		k, ok := r.alike(words, from, &to, measuring, spoken, before)
		if !ok {
			k, ok = r.readout(words[from:to], measuring, spoken, &before)
		}
		if m := &r.l.Meter; !ok && was.dead && from > 0 && from < to && r.names(words[from:to]) && len(m.Zero) > 0 && len(m.At) > 1 { // "no voltage at bake or broil"
			k, ok = r.readout(slices.Concat([]raw{{word: m.Zero[0]}, {word: m.Volts[0]}, {word: m.At[1]}}, words[from:to]), measuring, spoken, &before)
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
			for to+1 < len(words) {
				next := words[to+1 : r.l.clauseEnd(words, to+1)]
				good := len(next) > 0 && !slices.ContainsFunc(next, func(w raw) bool {
					return !slices.Contains(r.l.Meter.Good, w.word) && !slices.Contains(r.l.Meter.Each, w.word) && !slices.Contains(r.l.Meter.Words, w.word)
				})
				if doubts, again := r.l.doubts(next); doubts || again { // "OL, not sure", "measured it twice"
					k.unsure, to = k.unsure || doubts, to+1+len(next)
					k.repeated = k.repeated || again
					continue
				}
				if !good && !r.l.isApart(next, k.unit == "ohms" && !r.isLoad(k.means[0].Statements[0].Part)) {
					break
				}
				k.apart = k.apart || !good
				to += 1 + len(next) // "985 ohms, plug apart", "22, broil 17, both ok"
			}
			for _, c := range k.means {
				for i := range c.Statements {
					c.Statements[i].apart, c.Statements[i].hedge.unsure = k.apart, k.unsure || doubted
				}
			}
			if k.repeated && len(k.means) == 1 {
				for _, st := range k.means[0].Statements {
					st.hedge.again = true
					k.means[0].Statements = append(k.means[0].Statements, st)
				}
			}
			if n := len(r.heard.Questions) - 1; (k.other || k.side != "" && was.legs) && n >= 0 && len(k.means) == 2 && len(r.heard.Questions[n].Choices) == 2 {
				for i, c := range r.heard.Questions[n].Choices {
					of := i // "120 in, 0 out"
					if k.other {
						of = 1 - i // "one leg 121, the other 0"
					}
					r.heard.Questions[n].Choices[i].Statements = append(c.Statements, k.means[of].Statements...)
				}
			} else if len(k.means) == 1 {
				for _, st := range k.means[0].Statements {
					r.put(st)
				}
			} else {
				r.heard.Questions = append(r.heard.Questions, Question{Words: k.said, What: "reads", About: OfPlace, Choices: k.means})
			}
			before.dead = k.zero && k.at && k.unit == "volts" && len(k.means) == 1 && to < len(words) && words[to].mark == 0 && r.l.alone(words[to].word).has(joins)
			words = slices.Replace(words, from, to, raw{mark: ',', about: before.of})
			to = from
		} else if np := r.phraseCalled(joined(r.l.before(words[from:to]))); np != nil && !(r.namesOnly(np, circuit.KindRelay) && slices.ContainsFunc(words[from:to], func(w raw) bool { return isFigure(w.word) })) && (r.singledOut(np) > 0 || len(np.nouns) > 0 && (len(r.parts(np, r.isLoad)) > 0 || r.namesOnly(np, circuit.KindThermalFuse, circuit.KindLimit, circuit.KindFuse, circuit.KindSensor, circuit.KindBreaker, circuit.KindRelay) && len(r.parts(np, anyPart)) == 1) && !r.region(np) && !r.isMachine(np)) {
			if spoken == nil || len(np.where) > 0 || len(spoken.where) == 0 || r.namesOnly(np, circuit.KindRelay) {
				spoken = np // "left rear block burnt, coil prong rusty" is of that coil still
			}
			if before.of == was.of {
				before = lastRead{} // of another place
			}
		}
		if before.of != nil {
			spoken = before.of
			if ok {
				r.metered = append(r.metered, before.of)
			}
		}
		doubted, _ = r.l.doubts(words[from:to])
		if from = to; from < len(words) && r.l.parting(words[from]) {
			from++
		}
	}
	return words
}

// before is what stands in a clause before "with", which is beside what it tells of.
func (l *Language) before(clause []raw) []raw {
	if at := slices.IndexFunc(clause, func(w raw) bool { return l.alone(w.word).has(with) }); at > 0 {
		return clause[:at]
	}
	return clause
}

func (r *reader) readout(clause []raw, measuring bool, spoken *phrase, before *lastRead) (k *readout, ok bool) {
	k = &readout{spoken: spoken, clamped: clamped{r: r, mode: circuit.None, said: joined(clause)}, measuring: measuring, figureFirst: len(clause) > 0 && isFigure(clause[0].word)}
	return k, k.take(clause, before)
}

// tenths is a figure as only a meter shows it.
var tenths = regexp.MustCompile(`^\d+\.\d$`)

// take reads a clause; before is what the one before told.
func (k *readout) take(clause []raw, before *lastRead) bool {
	clause, k.hedge = k.r.l.hedged(k.under(clause))
	k.measuring = k.measuring || before.unit == "ohms"
	for len(clause) > 1 && k.r.l.alone(clause[len(clause)-1].word).has(with) {
		clause = clause[:len(clause)-1]
	}
	to, apart := k.r.aside(clause)
	apart = apart || len(clause) > 0 && clause[0].apart
	k.apart = apart
	clause = k.pair(clause[:to])
	var letter *phrase
	if behind := clause[min(1, len(clause)):]; len(behind) > 0 && (isFigure(behind[0].word) || slices.Contains(k.r.l.Meter.Open, behind[0].word) || len(behind) > 1 && slices.Contains(k.r.l.Meter.Measuring, behind[0].word) && isFigure(behind[1].word)) {
		if letter = k.r.lettered(clause[0].word); letter != nil {
			clause = clause[1:]
		}
	}
	for i, w := range clause {
		if side := k.r.sideAt(clause, i); side != "" {
			k.side, k.at, k.rest = side, true, append(k.rest, raw{mark: ','})
		} else if (k.shown || k.zero) && k.r.placed(clause, i) && joined(k.rest) == "" {
			k.at, k.rest = true, append(k.rest, raw{mark: ','}) // "0 on the upper element"
		} else if next := k.r.l.alone(clause[min(i+1, len(clause)-1)].word); k.r.l.alone(w.word).has(isWhere) && (next.has(isNoun) || next.has(isWhere)) && i+1 < len(clause) {
			k.rest = append(k.rest, w) // "the right front switch"
		} else if k.numbers(clause, i) || k.r.l.ordinal(clause, i) || i > 0 && k.r.l.alone(clause[i-1].word).has(isNoun) && k.r.lettered(w.word) != nil {
			k.rest = append(k.rest, w) // "middle 1 32 ohms", "element C 16 ohms"
		} else if !k.word(w, apart) {
			return false
		}
	}
	if k.not && !k.denied || k.denied && k.unit == "ohms" {
		return false
	}
	if k.denied {
		k.unit = "volts"
	}
	if k.side != "" && len(k.poles) > 1 {
		k.side = "" // "240 in at L1 L2"
	}
	if k.other && before.legs {
		k.legs, k.shown = true, k.shown || k.zero
	}
	empty := k.zero && !k.shown && k.unit == "" && !k.volts
	if bare := joined(k.rest) == "" && len(k.poles) == 0; k.at && (k.shown || k.zero) && k.amps == 0 && k.unit != "ohms" && (before.legs && bare || !k.shown && (k.legs || len(k.poles) == 2)) { // "120 on each leg, none across"
		k.shown, k.volts, k.legs = true, true, k.legs || bare
	}
	k.legs = k.legs || k.each && k.shown && before.legs && k.unit != "ohms" && joined(k.rest) == "" // "240 at the block, 120 each"
	if !k.shown && k.zero && k.reads && before.unit == "volts" && joined(k.rest) == "" {
		k.at = true // "no 240 at the element, reads zero"
	}
	if !k.shown && (k.lost && len(k.poles) == 1 || k.zero && (k.unit == "volts" || k.volts || len(k.poles) == 2 && k.reads || k.at && (len(k.poles) == 1 || before.unit == "volts" || before.unit != "" && !k.ground))) {
		k.shown, k.volts = true, true
	}
	if !k.shown && k.live && k.side == "" && len(k.poles) == 1 {
		k.amps, k.shown, k.volts = k.r.legVolts(), true, true
	}
	if !k.shown && k.good && k.volts && k.unit == "" {
		k.amps, k.shown = k.r.c.Supply().Volts, true
	}
	if k.nought && !k.shown && k.ground && !k.volts && !k.clear && len(k.poles) == 0 {
		k.shown, k.zero, k.unit = true, false, "ohms" // "reads zero to ground"
	}
	if k.zero && !k.shown && k.ground && !k.volts && len(k.poles) == 0 && (k.clear || k.each && len(k.rest) > 0 || before.unit == "ohms" || before.unit == "" && k.spoken != nil) { // "13 ohms, clear of the tank"
		k.amps, k.shown, k.zero, k.unit, k.at = math.Inf(1), true, false, "ohms", true
		before.of, before.unit = cmp.Or(before.of, k.spoken), k.unit
	}
	if (k.one || k.other) && k.unit == "" && k.shown && !k.volts && k.amps > leastOfLeg && k.amps < k.r.c.Supply().Volts && joined(k.rest) == "" && len(k.poles) == 0 {
		k.legs, k.volts, k.at = true, true, true // "reads 90 one side and 150 the other"
	}
	if k.shown && k.unit == "" && before.megohms && !k.at && !k.volts && len(k.poles) == 0 {
		k.amps, k.unit, k.megohms, k.ground = 1e6*k.amps, "ohms", true, true // "0.2 meg to earth, the others over 50"
	}
	if k.other && (k.zero || k.lost) && !k.shown && before.of != nil && before.unit == "volts" && len(k.poles) == 0 {
		k.amps, k.shown, k.at = 0, true, true // "120 at one side of the heater, nothing on the other"
	}
	if of := before.of; of != nil && k.each && k.shown && !before.legs && !k.legs && k.unit != "ohms" && joined(k.rest) == "" && len(k.r.parts(of, k.r.isLoad)) == 1 {
		k.rest = nil
		return k.across(of, k.r.parts(of, k.r.isLoad), false) // "across the element 0, each end to neutral 120"
	}
	lostLeg := k.lost && k.legs && !k.shown && len(k.poles) == 0
	named, ok := k.phrases(k.rest, false)
	if empty && before.of == nil && len(named) == 1 && k.r.isControl(named[0]) {
		return false // "nothing on the display"
	}
	if k.closed && len(named) == 1 && len(named[0].nouns) == 0 {
		return false // "the door is closed"
	}
	if k.shown && k.zero && k.unit == "volts" && len(named)+len(k.poles) == 0 && k.r.rated(secondary, k.amps) { // "24 VAC none"
		k.amps, k.poles, k.paired = 0, secondary, true
	}
	if letter != nil && len(named)+len(k.poles) == 0 {
		named = []*phrase{letter}
	}
	if k.each && (k.clear || k.ground && math.IsInf(k.amps, 1) && len(k.r.metered) > 1) && len(named) == 0 { // "upper 12.7, lower 12.8, both clear to the tank"
		named = slices.Clone(k.r.metered)
	}
	ends := len(named)
	named = slices.DeleteFunc(named, func(p *phrase) bool { // "at its own leads"
		return len(p.where) == 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !k.r.l.Nouns[n].Joint })
	})
	if k.low && ok {
		return k.toMetal(named, before)
	}
	if k.in && len(named) > 1 && !k.closed { // "the limit at the back of the drawer bay"
		k.inside, named = named[1:], named[:1]
	}
	if ok && k.shown && len(named) == 1 && k.r.isTankTop(named[0]) && slices.Equal(named[0].words, []string{k.r.l.Top}) && k.at && k.unit != "ohms" && (k.denied || k.zero && (k.volts || k.unit == "volts") || math.Abs(k.amps-k.r.c.Supply().Volts) < k.r.c.Supply().Volts/8) {
		return k.fed(k.r.partKind(circuit.KindTerminalBlock), before) // "240 at the top"
	}
	if !ok || len(named) == 1 && len(named[0].nouns) == 0 && k.at && k.unit != "ohms" && k.r.c.StoresHeat() || len(named) > 1 && !k.closed && !k.each && !math.IsInf(k.amps, 1) {
		return false
	}
	if k.unit == "" && k.shown && k.amps == 0 && k.at && before.unit == "volts" {
		k.unit = "volts" // "240 in, 0 at the upper element"
	}
	if len(k.more) > 0 && (k.side != "" || k.zero || k.paired) {
		return false
	}
	if k.side == "" && before.side != "" && len(named) == 0 && len(k.poles) == 1 && !slices.Equal(k.poles, before.poles) {
		k.side, named = before.side, []*phrase{before.of} // "L1 121 out of the breaker, L2 0"
	}
	if k.side != "" {
		for _, np := range []*phrase{before.of, k.spoken} {
			if len(named) == 0 && np != nil && len(k.r.parts(np, k.r.isNoLoad)) > 0 {
				named = []*phrase{np}
			}
		}
		if k.zero || k.lost {
			k.amps, k.shown = 0, true
		} else if !k.shown && (k.live || len(k.poles) == 1) {
			k.amps, k.shown = k.r.legVolts(), true
		}
		if k.unit == "" && k.amps > 0 && k.amps < k.r.legVolts()/2 && !k.volts {
			return false // "cleared the vent, 11 in"
		}
		if len(named) > 0 || k.side == "out" {
			return k.shown && k.unit != "ohms" && len(named) == 1 && k.atSide(named[0], before)
		}
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
	if len(named) == 0 && before.next && k.side == "" && len(k.poles) == 0 && !k.legs && (k.unit == "" || before.unit == "" || k.unit == before.unit) {
		named, k.mode, k.at = []*phrase{before.of}, before.mode, true
		if k.unit == "" {
			k.unit = before.unit
		}
	}
	if len(named) == 0 && k.at && k.side == "" && len(k.poles) == 0 && !k.legs && before.of != nil && (k.unit == "" || k.unit == before.unit || k.unit == "volts") { // "and nothing across"
		switch named = []*phrase{before.of}; {
		case k.amps == 0 && before.unit == "volts":
			k.mode, k.unit = before.mode, before.unit
		case k.zero && k.volts: // "10 ohms, nothing across it"
			k.unit = "volts"
		}
	} else if none := k.zero && k.volts; len(named) == 0 && (k.at || none) && before.of == nil && (k.it || ends > 0 || none) && (k.unit == "volts" || none || k.unit == "" && math.Abs(k.amps-k.r.c.Supply().Volts) < k.r.c.Supply().Volts/8) && !k.ground && k.side == "" && len(k.poles) == 0 && !k.legs && k.spoken != nil {
		named, k.unit = []*phrase{k.spoken}, "volts" // "the fan does not run with 120 V on it"
	}
	if len(named) == 0 && k.reads && !k.at && k.unit != "ohms" && k.spoken != nil && k.r.joins(k.spoken) && len(k.poles) == 0 && !k.legs && k.amps >= k.r.legVolts()*3/4 {
		named = []*phrase{k.spoken} // "breaker is not tripped but only reads 120"
	}
	if inner := slices.ContainsFunc(k.poles, func(p string) bool { return !k.r.isPole(p) }); len(named) == 0 && inner { // "none out at H1", "LS 0"
		if k.lost || k.zero {
			k.amps, k.shown, k.volts = 0, true, true
		}
		if before.of != nil && k.shown && k.atTerminals(before.of) {
			*before = lastRead{of: before.of, unit: k.unit, mode: k.mode}
			return true
		}
		return k.shown && k.atTerminals(&phrase{})
	}
	if ohms := k.unit == "ohms" || k.unit == "" && k.reads && k.amps <= mostOhms; len(named) == 0 && ohms && len(k.poles) == 0 && !k.legs && !k.each && (!k.at || k.ground) && k.spoken != nil {
		named = []*phrase{k.spoken} // "the bake element is blistered. Reads 22 ohms"
	}
	if k.paired && len(named) == 0 {
		of := cmp.Or(before.of, k.spoken)
		return of != nil && k.atTerminals(of) || k.atTerminals(&phrase{})
	}
	if len(k.more) > 0 {
		return len(named) == 1 && len(k.poles) == 0 && k.inTurn(named[0], before)
	}
	if len(named) == 0 {
		return (len(k.poles) > 0 || k.legs || k.side == "in" && k.amps > 0 && (k.spoken == nil || !k.r.namesOnly(k.spoken, circuit.KindRelay)) || k.each && (k.ground || before.legs) || k.volts && k.good || k.zero && before.legs) && k.fed(k.supplying(before), before)
	}
	if len(named) == 1 {
		return k.of(named[0], before) || k.contact(named[0], before)
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
