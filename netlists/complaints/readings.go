package complaints

import (
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
	// At stands before where volts are read, Volts are words for them without a figure.
	At, Volts []string
	Ground    []string
	// Legs are those of the supply, Each says that it is read of every one.
	Legs, Each []string
}

// readout is what a clause tells of a meter.
type readout struct {
	clamped
	unit         string // "ohms", "volts", or "" where it was not said
	shown        bool   // there is a figure, or what stands for one
	measuring    bool
	zero, lost   bool // nothing is live; a pole is missing
	at, volts    bool
	ground, each bool
	legs         bool
	poles        []string
	rest         []raw
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
	for from := 0; from < len(words); {
		to := from
		for to < len(words) && (words[to].mark == ':' || to > 0 && words[to].short && !r.l.vocabulary[words[to-1].word] || !r.l.parting(words[to]) || to > from && r.l.liesBetween(words[:to])) {
			to++
		}
		k, ok := r.readout(words[from:to], measuring, &before)
		if at := slices.IndexFunc(words[from:to], func(w raw) bool { return w.mark == ':' }); !ok && at >= 0 { // "FOUND: 240 at the block"
			from += at + 1
			k, ok = r.readout(words[from:to], measuring, &before)
		}
		if ok {
			if len(k.means) == 1 {
				for _, st := range k.means[0].Statements {
					r.put(st)
				}
			} else {
				r.heard.Questions = append(r.heard.Questions, Question{Words: k.said, What: "reads", About: OfPlace, Choices: k.means})
			}
			words, to = slices.Delete(words, from, to), from
		}
		from = to + 1
	}
	return words
}

func (r *reader) readout(clause []raw, measuring bool, before *lastRead) (k *readout, ok bool) {
	k = &readout{clamped: clamped{r: r, mode: circuit.None, said: joined(clause)}, measuring: measuring}
	return k, k.take(clause, before)
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
}

// take reads a clause; before is what the one before told.
func (k *readout) take(clause []raw, before *lastRead) bool {
	for _, w := range clause {
		if !k.word(w) {
			return false
		}
	}
	if !k.shown && (k.lost && len(k.poles) == 1 || k.zero && (k.unit == "volts" || k.volts || k.at && (len(k.poles) == 1 || before.unit == "volts"))) {
		k.shown, k.volts = true, true
	}
	if !k.shown || k.zero && k.amps != 0 || k.volts && k.unit == "ohms" {
		return false
	}
	named, ok := k.phrases(k.rest, false)
	named = slices.DeleteFunc(named, func(p *phrase) bool { // "at its own leads"
		return len(p.where) == 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !k.r.l.Nouns[n].Joint })
	})
	if !ok || len(named) > 1 {
		return false
	}
	if len(named) == 0 && k.at && len(k.poles) == 0 && !k.legs && before.of != nil && (k.unit == "" || k.unit == before.unit) { // "and nothing across"
		if named = []*phrase{before.of}; k.amps == 0 {
			k.mode, k.unit = before.mode, before.unit
		}
	}
	if len(named) == 0 {
		return (len(k.poles) > 0 || k.legs || k.each && k.ground) && k.supply(k.r.partKind(circuit.KindTerminalBlock))
	}
	np := named[0]
	if len(np.nouns) == 0 && before.of != nil { // "upper 12 ohms, lower OL"
		np.nouns, np.said = before.of.nouns, before.of.said
	}
	if len(np.nouns) == 0 && k.unit == "" && !k.at && !k.volts && !(k.measuring && k.amps <= mostOhms) || k.r.region(np) || k.r.isMachine(np) {
		return false
	}
	for _, counts := range []func(circuit.PartID) bool{k.r.fedByLegs, k.r.isLoad, anyPart} {
		parts := k.r.likeliest(np, k.r.parts(np, counts))
		if len(parts) == 1 && k.r.fedByLegs(parts[0]) {
			return k.supply(parts[0])
		}
		if len(parts) > 0 {
			ok := k.across(parts, np.all || k.each)
			if ok {
				*before = lastRead{np, k.unit, k.mode}
			}
			return ok
		}
	}
	return false
}

// word takes a word of a clause. It reports whether it may stand in one.
func (k *readout) word(w raw) bool {
	m, l := &k.r.l.Meter, k.r.l
	figure, err := strconv.ParseFloat(w.word, 64)
	unit := l.unitOf(w.word)
	switch {
	case err == nil && !math.IsInf(figure, 0) && !math.IsNaN(figure):
		if k.shown {
			return false
		}
		k.amps, k.shown = figure, true
	case slices.Contains(m.Open, w.word):
		if k.shown {
			return false
		}
		k.amps, k.shown, k.unit = math.Inf(1), true, "ohms"
	case unit == "kilohms" && k.shown && k.unit == "":
		k.amps, k.unit = 1000*k.amps, "ohms"
	case (unit == "ohms" || unit == "volts") && (k.unit == "" || k.unit == unit):
		k.unit = unit
	case unit != "":
		return false
	case slices.Contains(m.Volts, w.word):
		k.volts = true
	case slices.Contains(m.Zero, w.word):
		k.zero = true
	case slices.Contains(m.Missing, w.word):
		k.lost = true
	case slices.Contains(m.Ground, w.word):
		k.ground = true
	case slices.Contains(m.Legs, w.word):
		k.legs = true
	case slices.Contains(m.Each, w.word):
		k.each = true
	case w.word == l.Clamp.Neutral:
		k.poles = append(k.poles, "N")
	case k.r.isPole(w.word):
		k.poles = append(k.poles, strings.ToUpper(w.word))
	case slices.Contains(m.At, w.word):
		k.at = true
		k.rest = append(k.rest, raw{mark: ','})
	case slices.Contains(m.Measuring, w.word):
		k.measuring = true
	case w.mark != 0 || w.word == "/" || slices.Contains(m.Words, w.word):
	default:
		k.rest = append(k.rest, w)
	}
	return true
}

func (r *reader) fedByLegs(part circuit.PartID) bool { return r.fed(part, "L1") != circuit.None }

// supply takes volts between the poles of a part that brings them: those named, each
// leg to neutral, or between the legs; half of the supply's volts may be of either leg.
func (k *readout) supply(part circuit.PartID) bool {
	if part == circuit.None || k.unit == "ohms" || k.ground && len(k.poles) != 1 {
		return false
	}
	full := k.r.c.Supply().Volts
	if k.unit == "" && !k.volts && len(k.poles) == 0 && (!k.at && !k.legs && !k.measuring || k.amps < full/3 && k.amps != 0) {
		return false
	}
	l1, l2, n := k.r.fed(part, "L1"), k.r.fed(part, "L2"), k.r.fed(part, "N")
	if l2 == circuit.None {
		l1, l2 = k.r.fed(part, "L"), n
	}
	between := func(p, q circuit.TerminalID, label string) []Choice {
		return k.read([]circuit.PartID{part}, label, func(circuit.PartID) (circuit.TerminalID, circuit.TerminalID) { return p, q }, "volts", k.r.c.OffMode())
	}
	switch poles := k.poles; {
	case len(poles) == 2 && poles[0] != poles[1]:
		k.means = between(k.r.fed(part, poles[0]), k.r.fed(part, poles[1]), "")
	case len(poles) == 1 && k.ground:
		k.means = between(k.r.fed(part, poles[0]), k.r.c.ChassisTerminal(), "")
	case len(poles) == 1 && poles[0] != "N":
		k.means = between(k.r.fed(part, poles[0]), n, "")
	case len(poles) > 0 && !(len(poles) == 1 && k.each):
		return false
	case k.each:
		one, other := between(l1, n, ""), between(l2, n, "")
		if len(one)+len(other) < 2 {
			return false
		}
		k.means = []Choice{{"", append(one[0].Statements, other[0].Statements...)}}
	case math.Abs(k.amps-full/2) < full/8 && n != circuit.None && l2 != n && !k.legs:
		k.means = slices.Concat(between(l1, n, "L1 to N"), between(l2, n, "L2 to N"), between(l1, l2, "L1 to L2"))
	default:
		k.means = between(l1, l2, "")
	}
	return len(k.means) > 0
}

// across takes a reading between the two ends of a part, or from one of them to the
// machine's metal; of several parts each, or any.
func (k *readout) across(parts []circuit.PartID, all bool) bool {
	full := k.r.c.Supply().Volts
	neutral := len(k.poles) == 1 && k.poles[0] == "N"
	if slices.ContainsFunc(parts, func(id circuit.PartID) bool { return len(k.r.c.Part(id).Terminals) != 2 }) || len(k.poles) > 0 && !neutral || k.legs {
		return false
	}
	live := k.unit == "volts" || k.unit == "" && k.amps > full/3 && k.amps < full*1.2
	if (k.ground || neutral) && live && len(parts) == 1 && k.r.isLoad(parts[0]) {
		k.unit = "volts"
		return k.toNeutral(parts[0])
	}
	if neutral {
		return false
	}
	if k.unit == "" && (k.volts || k.at && !k.ground && k.amps > full/3 && k.amps < full*1.2 && k.r.isLoad(parts[0])) {
		k.unit = "volts"
	}
	mode := k.r.c.OffMode()
	switch sensor := k.r.c.Part(parts[0]).Kind == circuit.KindSensor; {
	case k.unit == "volts" && k.mode == circuit.None && k.r.isLoad(parts[0]):
		mode = k.r.modeHeard(parts[0])
	case k.unit == "volts" && k.mode == circuit.None:
		return false
	case k.unit == "" && !k.measuring && !(sensor && k.amps >= leastOhms):
		return false
	case k.unit == "" && !sensor && k.amps > mostOhms:
		return false
	case k.unit == "":
		k.unit = "ohms"
	}
	ends := func(id circuit.PartID) (circuit.TerminalID, circuit.TerminalID) {
		at := k.r.c.Part(id).Terminals
		if k.ground {
			return at[0], k.r.c.ChassisTerminal()
		}
		return at[0], at[1]
	}
	if all || len(parts) == 1 {
		k.means = k.read(parts, "", ends, k.unit, mode)
		return len(k.means) > 0
	}
	for _, id := range parts {
		k.means = append(k.means, k.read([]circuit.PartID{id}, k.r.c.Part(id).Label, ends, k.unit, mode)...)
	}
	return len(k.means) == len(parts)
}

// toNeutral takes volts between the ends of a load and neutral, of both or of either.
func (k *readout) toNeutral(part circuit.PartID) bool {
	n := k.r.fed(k.r.partKind(circuit.KindTerminalBlock), "N")
	for i, end := range k.r.c.Part(part).Terminals {
		more := k.read([]circuit.PartID{part}, k.r.c.PlaceName(end), func(circuit.PartID) (p, q circuit.TerminalID) { return end, n }, "volts", k.r.modeHeard(part))
		if i > 0 && k.each && len(k.means)*len(more) == 1 {
			k.means[0].Statements = append(k.means[0].Statements, more[0].Statements...)
		} else {
			k.means = append(k.means, more...)
		}
	}
	return len(k.means) > 0
}

// modeHeard is the mode that what is said of a part's load is of, where none is said.
func (r *reader) modeHeard(part circuit.PartID) circuit.ModeID {
	n, err := symptom(r.c, r.machine.loads[part][0], circuit.Dead, circuit.None)
	if err != nil {
		return circuit.None
	}
	m, err := r.c.FindMode(n.Mode)
	if err != nil {
		return circuit.None
	}
	return m
}

// A bare figure beside a sensor is its ohms from here on (a thermometer's stays below,
// in an oven that bakes), beside a heater or a contact up to there.
const leastOhms, mostOhms = 600, 200

// read is one choice, of a reading for each part; none where no meter shows it there.
func (k *readout) read(parts []circuit.PartID, label string, ends func(circuit.PartID) (p, q circuit.TerminalID), unit string, mode circuit.ModeID) []Choice {
	if k.mode != circuit.None {
		mode = k.mode
	}
	var out []Statement
	for _, id := range parts {
		st := k.r.clauses[0].blank(OfPlace, &said{key: "reads"})
		st.Part, st.Mode, st.Amount, st.Unit, st.Words = id, mode, k.amps, unit, k.said
		if st.From, st.To = ends(id); st.From == circuit.None || st.To == circuit.None || mode == circuit.None {
			return nil
		}
		if _, err := reading(k.r.c, &st); err != nil {
			return nil
		}
		out = append(out, st)
	}
	return []Choice{{label, out}}
}
