package complaints

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit"
)

// figures are patterns of sentences that hold figures which mean something
// together: a thermometer's beside the dial's, volts at rest and under load. A
// pattern is a regular expression over the folded words of a sentence; "{set}"
// is a figure of that name, "about" words before it, "..." a few words, "<loaded>" the
// piece of that name.
//
// The names: set and seen are temperatures, below one that is never passed, reach one
// that is not come to, or volts;
// rest and load are volts between the legs where the machine is fed, before and
// while it heats; l1 and l2 those of each leg to neutral, legs between them; fall and
// rise those of either while it heats, as without a neutral. The
// group at holds the words of the part.
func compileFigures(patterns, about []string, pieces map[string]string) (out []*regexp.Regexp) {
	for _, p := range patterns {
		for name, piece := range pieces {
			p = strings.ReplaceAll(p, "<"+name+">", piece)
		}
		p = figureName.ReplaceAllString(p, `(?:(?:`+strings.Join(about, "|")+`) )?(?P<$1>\d+(?:\.\d+)?|zero|nothing|none|no)(?: ?(?:deg|degrees?|volts?|vac|v|f|c))*`)
		gap := `(?: [^.;?!]+?)? `
		if strings.Contains(p, "<load>") {
			gap = `(?: [^.;?!\d]+?)? ` // "206 leg to leg 119 to neutral, 203 under load"
		}
		p = strings.ReplaceAll(p, " ... ", gap)
		out = append(out, regexp.MustCompile(`\b`+p+`\b`))
	}
	return out
}

var figureName = regexp.MustCompile(`\{(\w+)\}`)

// anyFigure is what each of those patterns has one of at least.
var anyFigure = regexp.MustCompile(`\d|\b(?:zero|nothing|none|no|cero|ningun)\b`)

// figures makes statements of the figures of a text, and leaves the other words.
func (r *reader) figures(words []raw) []raw {
	if !anyFigure.MatchString(joined(words)) {
		return words // as most complaints: the patterns take long to make
	}
	for _, re := range r.l.figures() {
		for again := true; again; {
			words, again = r.figuresOf(re, words)
		}
	}
	return words
}

// figuresOf takes the first figures of a pattern. Again says that there may be more.
func (r *reader) figuresOf(re *regexp.Regexp, words []raw) (left []raw, again bool) {
	text, at := written(words)
	m := re.FindStringSubmatchIndex(text)
	if m == nil {
		return words, false
	}
	group := func(name string) string {
		if i := re.SubexpIndex(name); i >= 0 && m[2*i] >= 0 {
			return text[m[2*i]:m[2*i+1]]
		}
		return ""
	}
	if group("load") != "" && slices.ContainsFunc(words, func(w raw) bool { return slices.Contains(r.l.Meter.Thermal, w.word) }) {
		return words, false // "set to 240, drops to 190 when it is on"
	}
	if amps, ok := figure(group("amps")); ok {
		i := 2 * re.SubexpIndex("amps")
		return r.amps(words, at[m[0]], at[m[i]], at[m[1]-1], amps), true
	}
	if said := r.offBySet(group); said != "" {
		return r.instead(words, at[m[0]], at[m[1]-1]+1, said), true
	}
	said := r.tooHot(group)
	if said == nil {
		said = r.volts(group, text[m[0]:m[1]])
	}
	if said == nil {
		said = r.windings(group)
	}
	for _, st := range said {
		st.Words = strings.TrimSpace(text[m[0]:m[1]])
		r.put(st)
	}
	if said != nil || group("room") != "" { // what the weather is tells nothing
		from := at[m[0]]
		if words = slices.Delete(words, from, at[m[1]-1]+1); from > 0 && from < len(words) && words[from].mark == ',' && words[from-1].mark == 0 {
			words[from].mark = ';' // "the upper never goes over 250, the lower is fine": it was said of no more
		}
	}
	return words, false
}

// isSupply reports whether a figure is what a leg of the supply has, or both together:
// "never gets 240" tells of volts.
func (r *reader) isSupply(x float64) bool {
	const give = 0.03 // of it, as people round
	line := r.c.Supply().Volts
	return math.Abs(x-line) <= give*line || math.Abs(x-line/2) <= give*line/2
}

// written is a text of words and marks, and of each byte which word it is of.
func written(words []raw) (string, []int) {
	var b strings.Builder
	var at []int
	for i, w := range words {
		s := w.word + " "
		if w.mark != 0 {
			s = string(w.mark) + " "
		}
		b.WriteString(s)
		for range len(s) {
			at = append(at, i)
		}
	}
	return b.String(), at
}

// figure reads a figure; a word for none is 0.
func figure(s string) (x float64, ok bool) {
	if s == "" {
		return 0, false
	}
	x, err := strconv.ParseFloat(s, 64)
	return x, err == nil || !strings.ContainsAny(s, "0123456789")
}

// offBySet is what is said of a temperature that is off what was set, or is never come
// to; empty where no figures tell of one.
func (r *reader) offBySet(group func(string) string) string {
	set, isSet := figure(group("set"))
	seen, isSeen := figure(group("seen"))
	if low, ok := figure(group("low")); ok { // what it is kept at is the middle of its swings
		high, _ := figure(group("high"))
		seen, isSeen = (low+high)/2, true
	}
	below, isBelow := figure(group("below"))
	if reach, ok := figure(group("reach")); ok && !r.isSupply(reach) {
		below, isBelow = reach, true
	}
	switch {
	case isBelow && below >= leastDegrees && group("both") != "":
		return r.l.Both[0] + " " + r.l.Under // "neither gets past 300"
	case isBelow && below >= leastDegrees:
		return r.l.Under // "the upper oven never goes over 250"
	case isSet && isSeen && min(set, seen) >= 30 && seen > set:
		return fmt.Sprintf(r.l.HotBy, seen-set)
	case isSet && isSeen && min(set, seen) >= 30 && seen < set:
		return fmt.Sprintf(r.l.ColdBy, set-seen)
	}
	return ""
}

// instead puts what is said in place of words, after what these name of the machine:
// "when I set the top oven to 350 I get 300".
func (r *reader) instead(words []raw, from, to int, said string) []raw {
	var full, where []raw
	for i := from; i < to && words[i].mark == 0; {
		t, used := r.l.longestAt(words[i:to], &vocabulary{})
		used = max(used, 1)
		switch {
		case t.has(isWhere):
			where = append(where, words[i:i+used]...)
		case t.has(isNoun) && r.l.nounOf(&t).Region && r.l.nounOf(&t).Of == "oven":
			full, where = append(where, words[i:i+used]...), nil
		default:
			where = nil
		}
		i += used
	}
	for _, w := range strings.Fields(said) {
		full = append(full, raw{word: w, full: true})
	}
	return slices.Replace(words, from, to, full...)
}

// tooHot is what volts on metal, or a temperature that no thermostat lets be, tell.
func (r *reader) tooHot(group func(string) string) []Statement {
	st := r.clauses[0].blank(OfWhole, &said{key: "off_by"})
	live, isLive := figure(group("live"))
	switch {
	case isLive && live >= 30: // volts that are felt (value from memory)
		st.What = "shock"
	case group("water") != "" && r.c.StoresHeat(), group("vent") != "" && len(r.loadsOf(drives)) > 0: // of a tank, of a dryer
		st.side = "above"
	default:
		return nil
	}
	return []Statement{st}
}

// legs are the ends that a part brings the supply to: both legs and the neutral, or
// of one leg that and the neutral.
func (r *reader) legs(part circuit.PartID) (l1, l2, n circuit.TerminalID) {
	l1, l2, n = r.fed(part, "L1"), r.fed(part, "L2"), r.fed(part, "N")
	if l2 == circuit.None {
		l1, l2 = r.fed(part, "L"), n
	}
	return l1, l2, n
}

// volts are readings where the machine is fed.
func (r *reader) volts(group func(string) string, text string) (out []Statement) {
	on := mainMode(r.c)
	for _, w := range strings.Fields(text) { // "190 in broil"
		if m, err := r.c.FindMode(w); err == nil && heatsIn(r.c, m) {
			on = m
		}
	}
	read := func(name string, p, q circuit.TerminalID, m circuit.ModeID) {
		x, ok := figure(group(name))
		if !ok || p == circuit.None || q == circuit.None || m == circuit.None {
			return
		}
		st := r.clauses[0].blank(OfPlace, &said{key: "reads"})
		st.Part, st.Mode, st.Amount, st.Unit, st.From, st.To = r.c.Terminal(p).Part, m, x, "volts", p, q
		out = append(out, st)
	}
	part := r.partCalled(group("at"))
	if part == circuit.None {
		part = r.partKind(circuit.KindTerminalBlock)
	}
	l1, l2, n := r.legs(part)
	if rest, ok := figure(group("rest")); ok && rest < r.c.Supply().Volts*2/3 {
		return nil // of one leg to neutral
	}
	one, isOne := figure(group("l1"))
	if two, ok := figure(group("l2")); ok && isOne && max(one, two) > r.c.Supply().Volts*2/3 {
		return nil // of both legs
	}
	read("rest", l1, l2, r.c.OffMode())
	read("load", l1, l2, on)
	read("l1", l1, n, r.c.OffMode())
	read("l2", l2, n, r.c.OffMode())
	read("legs", l1, l2, r.c.OffMode())
	read("fall", l1, n, on)
	read("rise", l2, n, on)
	return out
}

// windings are ohms of a motor's two: that which starts it has more (common practice,
// no source).
func (r *reader) windings(group func(string) string) (out []Statement) {
	one, ok := figure(group("one"))
	two, both := figure(group("two"))
	if two == 0 {
		two = math.Inf(1) // "2.4 and OL"
	}
	i := slices.IndexFunc(r.c.Branches(), func(b circuit.Branch) bool { return b.Start != circuit.None })
	if !ok || !both || i < 0 {
		return nil
	}
	main := &r.c.Branches()[i]
	for _, b := range []*circuit.Branch{main, r.c.Branch(main.Start)} {
		ohms := min(one, two)
		if b != main {
			ohms = max(one, two)
		}
		st := r.clauses[0].blank(OfPlace, &said{key: "reads"})
		st.Part, st.Mode, st.Amount, st.Unit, st.From, st.To = b.Part, r.c.OffMode(), ohms, "ohms", b.A, b.B
		out = append(out, st)
	}
	return out
}

// phraseOf is a phrase that names one part and no other.
func (r *reader) phraseOf(part circuit.PartID) *phrase {
	return &phrase{where: r.nameWords(part), words: []string{r.c.Part(part).Name}}
}

// nameWords are the words of a part's name in the netlist.
func (r *reader) nameWords(id circuit.PartID) []string { return strings.Split(r.c.Part(id).Name, "_") }

// phraseCalled is what words that name something make one phrase of, nil for none.
func (r *reader) phraseCalled(words string) *phrase {
	p := &parser{r: r, k: &clause{}}
	for _, t := range r.l.tokens(split(words), r.machine) {
		switch {
		case t.has(isNoun):
			p.noun(&t)
		case t.has(isWhere):
			p.where(&t)
		}
	}
	return p.np
}

// partCalled is the one part that words name.
func (r *reader) partCalled(words string) circuit.PartID {
	np := r.phraseCalled(words)
	if np == nil {
		return circuit.None
	}
	for _, counts := range []func(circuit.PartID) bool{func(id circuit.PartID) bool { return r.fed(id, "L1") != circuit.None }, r.isLoad, anyPart} {
		if parts := r.likeliest(np, r.parts(np, counts)); len(parts) == 1 {
			return parts[0]
		}
	}
	return circuit.None
}

func (r *reader) partKind(k circuit.Kind) circuit.PartID {
	return circuit.PartID(slices.IndexFunc(r.c.Parts(), func(p circuit.Part) bool { return p.Kind == k }))
}

// fed is where a pole of a part is fed, None where it has no such pole.
func (r *reader) fed(part circuit.PartID, pole string) circuit.TerminalID {
	if part == circuit.None {
		return circuit.None
	}
	t, err := r.c.FindTerminal(r.c.Part(part).Name + "." + pole + ".in")
	if err != nil {
		return circuit.None
	}
	return t
}

// inDigits writes numbers in words as figures where a unit follows that is none of time:
// "fifty degrees", "two hundred and forty volts".
func (l *Language) inDigits(words []raw) []raw {
	for i := 0; i < len(words); i++ {
		n, used := l.number(words[i:])
		if used == 0 || i+used == len(words) {
			continue
		}
		if u := l.unitOf(words[i+used].word); u != "" && !slices.Contains([]string{"minutes", "hours", "seconds"}, u) {
			words = slices.Replace(words, i, i+used, raw{word: strconv.Itoa(n), full: true})
		}
	}
	return words
}

// uncounted leaves out figures that are a number of things: "about 150 firings on these
// elements" are no volts.
func (l *Language) uncounted(words []raw) []raw {
	const least = 13 // fewer tell of loads or cycles too many
	for i := 0; i+1 < len(words); i++ {
		if x, err := strconv.ParseFloat(words[i].word, 64); err == nil && x >= least && slices.Contains(l.Counted, words[i+1].word) {
			words = slices.Delete(words, i, i+1)
		}
	}
	return words
}

// number reads a number in words that has two digits or three, and tells how many words
// it takes: 0 where there is none.
func (l *Language) number(words []raw) (n, used int) {
	one := func(at int) int {
		if at < len(words) && words[at].mark == 0 {
			if s, ok := l.alone(words[at].word).of(isNumber); ok {
				return s.n
			}
		}
		return 0
	}
	const hundred = 100
	if n = one(0); n > 0 && n < 10 && one(1) == hundred {
		n, used = n*hundred, 2
		if used < len(words) && words[used].word == l.And {
			used++
		}
		if rest, more := l.number(words[used:]); more > 0 {
			return n + rest, used + more
		}
		return n, 2
	}
	switch more := one(1); {
	case n < 10:
		return 0, 0
	case n >= 20 && n < hundred && n%10 == 0 && more > 0 && more < 10:
		return n + more, 2
	}
	return n, 1
}
