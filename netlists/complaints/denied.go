package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// deniedFinding is what the denial of a finding, or of what was done, says: of most
// nothing.
var deniedFinding = map[string]string{"found_bad": "found_good", "found_good": "found_bad", "welded": "found_good", "shorted": "", "crossed": "",
	"self_clean": "", "moved": "", "storm": "", "spill": "", "repair": "", "new_cord": "", "kitchen": "", "meddled": "", "dry": "", "replaced": ""}

// justDenied reports whether the word before, but for small ones, denies.
func (p *parser) justDenied() bool {
	words := p.k.words[min(p.k.denied, len(p.k.words)):]
	return len(words) > 0 && !p.k.ceased && !slices.ContainsFunc(words[:len(words)-1], func(w string) bool { return !p.r.l.skip[w] && !p.r.l.alone(w).has(pronoun) })
}

// denies takes the denial of what says nothing where it is denied.
func (p *parser) denies(t *token) {
	p.r.used.add(t.at)
	p.r.used.join(p.k.at[pending])
	p.neg, p.no, p.k.at[pending] = false, false, span{}
	p.k.unsaid, p.k.not = true, false
	for _, np := range p.k.subjects {
		p.r.used.join(np.from)
	}
}

// keepsGoing reports whether a phrase tells that what heats keeps doing something.
func (p *parser) keepsGoing(t *token) bool {
	first, _, _ := strings.Cut(t.text, " ")
	of := p.lastSubject()
	return slices.ContainsFunc(p.r.l.bases(first), func(b base) bool { return p.r.l.alone(b.word).has(keeps) }) && of != nil &&
		slices.ContainsFunc(p.r.parts(of, p.r.isLoad), func(id circuit.PartID) bool { return p.r.c.Part(id).Kind.Heats() })
}

// ofDay reports whether a condition is only a time of the day.
func (l *Language) ofDay(text string) bool {
	words := strings.Fields(text)
	return len(words) < 4 && slices.Contains(l.Times, singular(words[len(words)-1]))
}

// switched reports whether what stands before was done by somebody to what feeds the
// machine, or to it.
func (p *parser) switched() bool {
	words := strings.Fields(strings.Join(p.k.words, " "))
	for i, w := range words {
		if p.r.l.formOf(w, p.r.l.ByHand) || i > 0 && slices.Contains(p.r.l.People, words[i-1]) && p.r.l.formOf(w, p.r.l.Turned) {
			return true
		}
	}
	return false
}

// partAhead reports whether what follows in a clause names a part, not the machine.
func (p *parser) partAhead(rest []token) bool {
	for i := range rest {
		switch n := &rest[i]; {
		case n.stop, n.has(ends), n.has(joins):
			return false
		case n.has(isNoun):
			s, _ := n.of(isNoun)
			np := &phrase{nouns: []int{s.n}, said: []string{n.text}}
			return !p.r.l.nounOf(n).Machine && !(p.r.region(np) && len(p.r.parts(np, p.r.isLoad)) == len(p.r.loadsOf(heating))) // "no power at the cooktop"
		case n.has(isWhere), n.has(isMode):
			return true
		}
	}
	return false
}

// isControl reports whether a phrase names what controls the machine.
func (r *reader) isControl(p *phrase) bool {
	parts := r.parts(p, anyPart)
	return len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindControl
}

// spokenOfPart reports whether something is spoken of that is not the whole, nor
// what shows figures.
func (p *parser) spokenOfPart(key string, t *token, rest []token) bool {
	p.closePhrase()
	if key == "all_dead" && len(p.k.subjects)+len(p.r.carried) == 0 && len(rest) > 1 && rest[0].has(modePrep) && p.settingOf(&rest[1]) != circuit.None {
		return true // "heats on high, but it is stone dead on warm"
	}
	if len(p.k.subjects) == 0 && len(p.r.carried) > 0 { // "left front: nothing at all"
		return key == "all_dead" && !p.r.isMachine(p.r.carried[0])
	}
	of := p.k.subjects
	if glows := p.r.lastSaid != nil && p.r.lastSaid.of == heating; len(of) == 0 && key == "dark" && (glows || !p.k.it || len(p.r.last) == 1 && len(p.r.parts(p.r.last[0], p.r.isLoad)) == 1) {
		if of = p.r.last; len(of) == 0 && glows { // "the burner glows, goes dark", "it glows, it goes dark"
			return true
		}
	}
	if len(of) == 0 || p.r.isMachine(of[0]) || key == "dark" && len(p.r.c.Controls()) > 0 && p.r.region(of[0]) && len(of[0].where) == 0 && len(p.r.parts(of[0], p.r.isSurface)) == 0 {
		return false // "the oven went blank": what shows figures
	}
	for _, w := range strings.Fields(t.text) {
		if one := p.r.l.alone(w); one.has(isNoun) && !p.r.l.nounOf(one).Region {
			return false // "the clock is dead" names it, not "doesn't do anything"
		}
	}
	parts := p.r.parts(of[0], anyPart)
	return key != "dark" || len(parts) > 0 && (p.r.c.Part(parts[0]).Kind.Heats() || p.r.c.Part(parts[0]).Kind == circuit.KindLamp)
}
