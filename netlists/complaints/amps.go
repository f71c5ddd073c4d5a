package complaints

import (
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

// clamp is how a language tells of amps around a wire.
type clamp struct {
	// Words say that they were read, Not that something else is meant.
	Words []string `toml:"words"`
	Not   []string `toml:"not"`
	// Between begins what lies between two places, Neutral is what the neutral is called.
	Between string `toml:"between"`
	Neutral string `toml:"neutral"`
	Units   []string
	// Leg is what "L-N" is written for where there is more than one leg.
	Leg string
}

// clamped are the statements that a clause about amps may make, with their labels.
type clamped struct {
	r     *reader
	said  string
	amps  float64
	mode  circuit.ModeID
	means []Choice
	wire  bool // it names one
	named []*phrase
	meter bool // the meter is told beside the figure, or tenths, which no rating has
}

// amps notes what was read around one wire, by the clause that the words from
// first to last, its figure, stand in, and leaves the other words. The wire is told
// by its name, by the pole that it brings to the terminal block, or by a load that
// has it alone at an end. What leaves several wires, or the mode, is asked. A clause
// that holds anything else tells nothing, or but for its figure where it names no
// wire and has no word of the clamp, at begin, before that.
func (r *reader) amps(words []raw, begin, first, last int, amps float64) []raw {
	from, to := first, last+1
	for from > 0 && (!r.l.parting(words[from-1]) || r.l.liesBetween(words[:from])) {
		from--
	}
	for to < len(words) && !r.l.parting(words[to]) {
		if to+1 < len(words) && from < first && isFigure(words[to].word) && slices.Contains(r.l.Clamp.Units, words[to+1].word) {
			to = last + 1 // "first element 0 A second 4.2 A"
			break
		}
		to++
	}
	k := &clamped{r: r, said: joined(words[from:to]), amps: amps, mode: circuit.None, meter: last-first > 1 || amps == 0 || amps != math.Trunc(amps)}
	how, _ := r.aside(words[last:to]) // "when it glows"
	does := last+1 < to && r.l.going(words[last+1].word) && r.l.saidOf(&token{text: words[last+1].word}) == heating
	if said := words[min(last+how, to):to]; slices.ContainsFunc(said, func(w raw) bool {
		return r.l.saidOf(&token{text: w.word}) == heating || slices.Contains(r.l.Meter.Calling, w.word)
	}) {
		k.mode = r.usualMode() // "while heating"
	}
	if does {
		how = 1 // "draws 2.5 A glowing dull": how it does is read by itself
	}
	switch ok := k.read(slices.Concat(words[from:first], []raw{{mark: ','}}, words[last+1:last+how]), r.spokenBefore(words[:from])); {
	case !ok || len(k.means) == 0:
		if !k.wire && (begin == first || begin < from) {
			from, to = first, last+1
		}
		r.heard.Unknown = append(r.heard.Unknown, strings.Fields(joined(words[from:to]))...)
	case k.drawsNone():
	case len(k.means) == 1, k.ofEach(words[from:to]):
		for _, c := range k.means {
			r.put(c.Statements[0])
		}
	default:
		r.heard.Questions = append(r.heard.Questions, Question{Words: k.said, What: "reads", About: OfPlace, Choices: k.means})
	}
	if does && len(k.means) > 0 {
		name := slices.DeleteFunc(slices.Clone(words[from:first]), func(w raw) bool { return slices.Contains(r.l.Clamp.Words, w.word) })
		return slices.Replace(words, from, last+1, name...)
	}
	if len(k.named) == 1 && len(k.means) > 0 && to < len(words) {
		switch next := &words[to]; {
		case next.mark == 0:
			return slices.Replace(words, from, to, raw{mark: ',', about: k.named[0]}) // "motor 7.9 amps and hot to the touch"
		case next.mark == ',' && next.about == nil:
			next.about = k.named[0]
		}
	}
	return slices.Delete(words, from, to)
}

// drawsNone puts down of a load that no wire to it bears current, whichever that is: it is
// dead, and reports whether it did.
func (k *clamped) drawsNone() bool {
	if k.amps != 0 || len(k.means) < 2 || len(k.named) != 1 {
		return false
	}
	parts := k.r.likeliest(k.named[0], k.r.parts(k.named[0], k.r.isLoad))
	if len(parts) != 1 || len(k.r.machine.loads[parts[0]]) != 1 {
		return false
	}
	st := k.r.clauses[0].blank(OfLoad, &said{key: "dead"})
	st.Load, st.Mode, st.Words = k.r.machine.loads[parts[0]][0], k.mode, k.said
	k.r.put(st)
	return true
}

// ofEach reports whether words tell that amps are those of each of several parts, "on both
// elements", and not of one or the other.
func (k *clamped) ofEach(words []raw) bool {
	each := slices.IndexFunc(words, func(w raw) bool { return slices.Contains(k.r.l.Meter.Each, w.word) })
	if each < 0 || slices.Contains(k.r.l.Both, words[each].word) && len(k.means) != 2 {
		return false
	}
	for i, c := range k.means {
		if slices.ContainsFunc(k.means[:i], func(o Choice) bool { return o.Statements[0].Part == c.Statements[0].Part }) {
			return false
		}
	}
	return true
}

func joined(words []raw) string {
	var out []string
	for _, w := range words {
		out = append(out, w.word)
	}
	return strings.Join(out, " ")
}

// liesBetween reports whether words end in an "and" that tells what lies between.
func (l *Language) liesBetween(words []raw) bool {
	n := len(words) - 1
	if words[n].mark != 0 {
		return false
	}
	for n--; n >= 0 && !l.parting(words[n]); n-- {
		if words[n].word == l.Clamp.Between {
			return true
		}
	}
	return false
}

// spokenBefore is the load that the last clause before names, in the sentence that words
// end in, nil where none is.
func (r *reader) spokenBefore(words []raw) *phrase {
	for to := len(words) - 1; to > 0 && words[to].mark != '.' && words[to].mark != ';'; {
		from := to
		for from > 0 && !r.l.parting(words[from-1]) {
			from--
		}
		if slices.ContainsFunc(words[from:to], func(w raw) bool { return !r.l.vocabulary[w.word] && !r.l.skip[w.word] && !isFigure(w.word) }) {
			return nil
		}
		named, _ := (&clamped{r: r, mode: circuit.None}).phrases(words[from:to], false)
		if n := slices.IndexFunc(named, r.oneLoad); n >= 0 {
			return named[n]
		}
		to = from - 1
	}
	return r.topic
}

// oneLoad reports whether a phrase names loads of one kind, and no place or machine.
func (r *reader) oneLoad(np *phrase) bool {
	return len(np.nouns) > 0 && !r.l.Nouns[np.nouns[len(np.nouns)-1]].Verb && len(r.parts(np, r.isLoad)) > 0 && !r.region(np) && !r.isMachine(np)
}

// parting reports whether a word stands between what is said apart.
func (l *Language) parting(w raw) bool {
	t := l.alone(w.word)
	return w.mark != 0 || t.has(joins) || t.has(ends)
}

// alone is a word as a phrase of its own.
func (l *Language) alone(w string) *token {
	for _, p := range l.byFirst[w] {
		if p.n == 1 {
			return &token{senses: p.senses}
		}
	}
	return &token{}
}

// read takes the words of a clause without its figure, of what was spoken of before where
// it names nothing. It reports whether all of them were understood.
func (k *clamped) read(clause []raw, spoken *phrase) bool {
	l := k.r.l
	wires := map[circuit.WireID]bool{}
	var rest []raw
	meter := k.meter || slices.ContainsFunc(k.r.heard.Statements, func(s Statement) bool { return s.Unit == "amps" })
	for i, w := range clause {
		if i+1 < len(clause) && i > 0 && (l.alone(clause[i-1].word).has(modePrep) || i > 1 && l.alone(clause[i-1].word).has(article) && l.alone(clause[i-2].word).has(modePrep)) { // "in cold_tank"
			if m, err := k.r.c.FindMode(w.word + "_" + clause[i+1].word); err == nil && k.mode == circuit.None {
				k.mode, clause[i], clause[i+1] = m, raw{mark: ','}, raw{mark: ','}
			}
		}
	}
	bare := !slices.ContainsFunc(clause, func(w raw) bool { return l.nounOf(l.alone(w.word)).Coded }) // not "the white wire w27"
	for i, w := range clause {
		switch id, named := k.r.wireCalled(w.word); {
		case w.mark == 0 && named:
			wires[id], k.wire = true, true
		case w.word == l.Clamp.Between || slices.Contains(l.Clamp.Not, w.word) && !k.atSupply(clause, i):
			return false
		case slices.Contains(l.Clamp.Words, w.word):
			meter = true
		case bare && len(k.r.coloured(w.word)) > 0:
			wires[k.r.coloured(w.word)[0]], k.wire = true, true
		default:
			rest = append(rest, w)
		}
	}
	phrases, ok := k.phrases(rest, len(wires) > 0)
	if ok && spoken != nil && len(wires)+len(phrases) == 0 && meter {
		phrases = []*phrase{spoken}
	}
	k.named = phrases
	if !ok || len(wires) > 1 || len(phrases) > 1 || (len(wires) == 1) == (len(phrases) == 1) || !meter && len(wires) == 0 {
		return false
	}
	for id := range wires {
		k.means = k.at(id, "")
	}
	for _, np := range phrases {
		for _, part := range k.r.likeliest(np, k.r.parts(np, k.r.isLoad)) {
			k.ofLoad(part)
		}
		if parts := k.r.parts(np, anyPart); len(parts) == 1 && k.r.fedByLegs(parts[0]) && k.r.fed(k.r.partKind(circuit.KindTerminalBlock), "N") == circuit.None {
			k.ofSupply(parts[0])
		}
	}
	return true
}

// coloured is the one wire of a colour that brings a pole to the machine: "on the red".
func (r *reader) coloured(word string) (of []circuit.WireID) {
	block, code := r.partKind(circuit.KindTerminalBlock), circuit.ColourCode(word)
	for _, w := range r.c.Wires() {
		from, to := r.c.Terminal(w.From).Part, r.c.Terminal(w.To).Part
		if code != "" && w.Colour == code && (from == block || to == block) && from != circuit.None && to != circuit.None && r.fedByLegs(from) && r.fedByLegs(to) {
			of = append(of, w.ID)
		}
	}
	if len(of) != 1 {
		return nil
	}
	return of
}

// wireCalled is the wire of a name, or the one that brings a pole to the machine.
func (r *reader) wireCalled(word string) (circuit.WireID, bool) {
	for _, w := range r.c.Wires() {
		if word == fold(w.Name) {
			return w.ID, true
		}
	}
	if word == r.l.Clamp.Neutral {
		word = "n"
	}
	pole := r.fed(r.partKind(circuit.KindTerminalBlock), strings.ToUpper(word))
	if word == "" || pole == circuit.None || len(r.c.Terminal(pole).Wires) != 1 {
		return 0, false
	}
	return r.c.Terminal(pole).Wires[0], true
}

// phrases are those that may name a load; one that names the mode is taken.
func (k *clamped) phrases(words []raw, known bool) (out []*phrase, ok bool) {
	p := &parser{r: k.r, k: &clause{}}
	var prep *token
	ok = true
	end := func() {
		np, mode := p.np, circuit.ModeID(circuit.None)
		if p.np = nil; np == nil {
			return
		}
		if prep != nil && (prep.has(modePrep) || prep.has(isSub)) && !(prep.has(placePrep) && len(out) == 0 && (k.r.oneLoad(np) || k.r.namesOnly(np, circuit.KindBreaker))) { // not "on the lower element"
			if heat := k.r.parts(np, k.r.isLoad); k.r.region(np) && len(np.where) == 0 && len(heat) > 0 && (prep.has(isSub) || prep.has(with)) { // "with the oven on"
				mode = k.r.modeHeard(heat[0])
			} else if mode = k.r.modeCalled(np); mode == circuit.None && !prep.has(placePrep) {
				mode = k.r.mode(np)
			}
		}
		switch {
		case mode == circuit.None && !known:
			out = append(out, np)
		case mode == circuit.None, k.mode != circuit.None:
			ok = false
		}
		k.mode = max(k.mode, mode)
	}
	for _, t := range k.r.l.tokens(words, k.r.machine) {
		mode, err := k.r.c.FindMode(t.text)
		switch {
		case t.stop || t.has(joins) || t.has(modePrep) && !t.has(isNoun) || t.has(placePrep) || t.has(isSub):
			end()
			if prep = &t; t.stop {
				prep = nil
			}
		case t.isNumber && p.np != nil: // "element 2"
			p.np.where, p.np.words = append(p.np.where, t.text), append(p.np.words, t.text)
		case t.has(isNoun):
			p.noun(&t)
		case t.has(isWhere):
			p.where(&t)
		case t.has(isMode), t.has(offMode), err == nil:
			if s, is := t.of(isMode); is {
				mode = circuit.ModeID(s.n)
			} else if t.has(offMode) {
				mode = k.r.c.OffMode()
			}
			ok = ok && k.mode == circuit.None
			k.mode = mode
		case !t.empty() && !t.has(article) && !t.has(filler) && !t.has(pronoun) && !t.has(aux) && !t.has(only) && !t.has(all) && !t.has(isNumber) && circuit.ColourCode(t.text) == "":
			ok = false
		}
	}
	end()
	return out, ok
}

// ofLoad adds the wire that an end of a load's part has alone, or all wires there.
func (k *clamped) ofLoad(part circuit.PartID) {
	loads := k.r.machine.loads[part]
	if len(loads) != 1 {
		return
	}
	b := k.r.c.Branch(loads[0])
	ends := []circuit.TerminalID{b.A, b.B}
	if alone := slices.IndexFunc(ends, func(t circuit.TerminalID) bool { return len(k.r.c.Terminal(t).Wires) == 1 }); alone >= 0 {
		ends = ends[alone : alone+1]
	}
	was := k.mode
	if n, err := symptom(k.r.c, loads[0], circuit.Dead, k.mode); err == nil && was == circuit.None {
		k.mode, _ = k.r.c.FindMode(n.Mode) // as where it is said to be dead
	}
	for _, t := range ends {
		for _, id := range k.r.c.Terminal(t).Wires {
			k.means = append(k.means, k.at(id, k.r.c.Part(part).Label+", ")...)
		}
	}
	k.mode = was
}

// atSupply reports whether a word stands behind one of place: "no amps at the breaker", not
// "a 30 amp breaker".
func (k *clamped) atSupply(clause []raw, i int) bool {
	return slices.ContainsFunc(clause[max(0, i-2):i], func(w raw) bool { return slices.Contains(k.r.l.Meter.At, w.word) })
}

// ofSupply adds the first leg behind what feeds a machine all of whose current both legs
// bear.
func (k *clamped) ofSupply(part circuit.PartID) {
	for _, t := range k.r.c.Part(part).Terminals {
		if wires := k.r.c.Terminal(t).Wires; strings.HasSuffix(k.r.c.Terminal(t).Name, ".out") && len(wires) == 1 {
			was := k.mode
			if k.mode == circuit.None {
				k.mode = k.r.usualMode()
			}
			k.means, k.mode = append(k.means, k.at(wires[0], "")...), was
			return
		}
	}
}

// leastOfHeat are amps that nothing draws but what heats (common practice, no source).
const leastOfHeat = 8

// at is a reading around a wire, in each mode that it may be of.
func (k *clamped) at(id circuit.WireID, label string) (out []Choice) {
	w := k.r.c.Wire(id)
	part := k.r.c.Terminal(w.To).Part
	if part == circuit.None {
		part = k.r.c.Terminal(w.From).Part
	}
	if b, err := k.r.c.WireBetween(w.From, w.To); err != nil || b != w.Branch || part == circuit.None {
		return nil // another lies beside it
	}
	var heats [][]circuit.BranchID
	for _, m := range k.r.c.Modes() {
		if k.mode == circuit.None && (k.amps >= leastOfHeat || k.amps == 0) { // none is told of what should draw
			loads := k.r.mainLoads(m.ID)
			if !slices.ContainsFunc(loads, k.r.heats) || slices.ContainsFunc(heats, func(o []circuit.BranchID) bool { return slices.Equal(o, loads) }) {
				continue
			}
			heats = append(heats, loads)
		}
		if m.ID == k.mode || k.mode == circuit.None && m.ID != k.r.c.OffMode() {
			st := k.r.clauses[0].blank(OfPlace, &said{key: "reads"})
			st.Part, st.Mode, st.Amount, st.Unit, st.From, st.To, st.Words = part, m.ID, k.amps, "amps", w.From, w.To, k.said
			out = append(out, Choice{label + w.Name + " (" + m.Label + ")", []Statement{st}})
		}
	}
	return out
}
