package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// openSub begins a clause that tells when.
func (p *parser) openSub(t *token) {
	although := p.r.l.Even != "" && strings.HasPrefix(t.text, p.r.l.Even) || p.sub != nil && p.sub.although
	p.closeSub()
	p.closePhrase()
	s, _ := t.of(isSub)
	if k := p.k; s.key == "after" && k.ceased && p.neg && len(k.said) == 0 && !k.verbless && (len(k.subjects) > 0 || len(p.r.last)+len(p.r.carried) == 0 && len(p.r.loadsOf(drives)) > 0) {
		quit := said{class: isState, key: "dead", words: strings.Join(k.words, " "), from: k.at[pending]} // "left rear quit after a pot boiled over"
		if len(k.subjects) == 0 {
			quit.of = p.r.l.Verbs["turn"].Of
		}
		k.said, p.neg, k.at[pending] = append(k.said, quit), false, span{}
	}
	p.k.words = append(p.k.words, t.text)
	p.sub = &circumstance{although: although, until: s.key == "until", only: s.key == "only" || s.key == "unless", unless: s.key == "unless", like: s.key == "like", after: s.key == "after", words: []string{t.text}, begin: t.at}
	p.prep, p.head = 0, nil
}

// contrasts reports whether a word that tells when sets something else beside what was
// said, which does or does not: "the oven is dead while the burners aren't".
func (p *parser) contrasts(t *token, rest []token) bool {
	if p.sub != nil || len(p.k.said) == 0 || !slices.Contains(p.r.l.Contrast, t.text) {
		return false
	}
	named := false
	var last *token
	for i := range rest {
		n := &rest[i]
		if n.stop || n.has(ends) || n.has(joins) {
			break
		}
		if n.has(pronoun) || n.has(offMode) || n.has(isSub) {
			return false
		}
		named = named || n.has(isNoun) || n.has(isWhere)
		if !n.empty() || n.has(aux) {
			last = n
		}
	}
	return named && (last.has(aux) || last.has(not))
}

// gerund reports whether a word begins what somebody does to a thing and what comes of it:
// "tapping the panel brings it back".
func (p *parser) gerund(t *token, rest []token) bool {
	s, ok := t.of(isCircum)
	if !ok || s.key != "touched" || p.sub != nil || len(p.k.words) > 0 || !p.r.l.going(t.text) {
		return false
	}
	for i := range rest {
		if rest[i].stop {
			break
		}
		if p.r.brings(&rest[i]) {
			return true
		}
	}
	return false
}

// going reports whether a word is of a verb and tells what goes on: "baking".
func (l *Language) going(w string) bool {
	first, _, _ := strings.Cut(w, " ") // "turning on"
	return slices.ContainsFunc(l.bases(first), func(b base) bool { return b.by == "ing" })
}

// moved reports whether a word begins what somebody did to a thing, which came back or
// works since: "moved the harness and it came back".
func (p *parser) moved(t *token, rest []token) bool {
	moves := t.is(isCircum, "touched") && !slices.ContainsFunc(p.k.words, func(w string) bool { return !slices.Contains(p.r.l.People, w) && !p.r.l.skip[w] }) || slices.ContainsFunc(p.r.l.bases(t.text), func(b base) bool { return p.r.l.word(b.word).is(isCircum, "touched") })
	if !moves || p.sub != nil || p.np != nil || len(p.k.subjects)+len(p.k.said) > 0 || p.neg {
		return false
	}
	for i := 1; i+1 < len(rest) && !rest[i].stop; i++ {
		if rest[i].has(joins) {
			return rest[i+1].has(pronoun) && tells(rest[i+1:]) || rest[i+1].is(isHistory, "works_again")
		}
	}
	return false
}

// brings reports whether a word tells that something comes of what was done.
func (r *reader) brings(t *token) bool {
	first, _, _ := strings.Cut(t.text, " ") // "makes it heat"
	return slices.Contains(r.l.Brings, t.text) || slices.Contains(r.l.Makes, first)
}

// leavesSub reports whether a token belongs to the main clause again: "if I
// wiggle the coil it comes on".
func (p *parser) leavesSub(t *token, rest []token) bool {
	s := p.sub
	if s.like {
		return t.has(joins)
	}
	if s.gerund {
		return p.r.brings(t)
	}
	if t.is(isState, "pushed") { // "until I give it a push by hand"
		p.r.used.add(s.begin)
		return true
	}
	if t.is(isHistory, "looks_good") && slices.Contains(p.r.l.People, s.words[len(s.words)-1]) {
		return false // "when we try to clean it"
	}
	if t.has(isHistory) && !s.any && p.r.l.formOf(strings.Fields(t.text)[0], p.r.l.Presses) && slices.ContainsFunc(p.k.said, func(o said) bool { return o.key == "normal" }) {
		return false // "only works if I lift the coil"
	}
	if t.has(isHistory) || t.has(isWhole) || t.has(isCode) {
		return true
	}
	if t.has(isSeen) && s.after && p.np != nil { // "after the belt snapped"
		p.sub = nil
		if len(p.k.said) > 0 {
			p.next()
			p.k.words = append(p.k.words, s.words...)
		}
		return true
	}
	if !s.any {
		return false
	}
	if t.is(isState, "hums") && anyIn(s.words, p.r.l.People) {
		return true // "when I push start it only hums"
	}
	if t.is(isState, "dead") && p.r.l.Nothing != "" && strings.HasPrefix(t.text, p.r.l.Nothing+" ") {
		return true // "when I press start nothing happens"
	}
	if last := s.words[len(s.words)-1]; len(strings.Fields(last)) > 2 && t.has(article) && len(s.phrases)+len(s.modes) == 0 && p.np == nil && strings.HasSuffix(last, " "+p.r.l.On) && len(rest) > 0 && rest[0].has(isNoun) && tells(rest) {
		return true // "when we turned it back on the water stayed cold"
	}
	if t.has(article) && len(s.phrases)+len(s.modes) > 0 && len(rest) > 0 && p.r.l.nounOf(&rest[0]).Trips != "" {
		return true // "every time we bake something the breaker goes"
	}
	named := s.acted && p.np != nil && p.np.verb && len(s.words) == len(p.np.words)+1 // "when bake and broil are on"
	if t.has(joins) && (!s.acted || named) && p.np != nil && tells(rest) && !rest[0].has(pronoun) {
		return false // "when two burners and the oven are on"
	}
	if t.has(joins) || t.has(isWhere) && p.np != nil && len(p.np.nouns) > 0 && p.r.mode(p.np) != circuit.None {
		return true
	}
	if s.told && t.has(none) && content(rest) != nil && content(rest).has(isNoun) {
		return true // "after the power went out it has no lights"
	}
	if t.has(article) && s.acted && p.np != nil && len(p.np.nouns) > 0 && tells(rest) {
		return true // "every time I use the broiler the breaker goes"
	}
	if s.told && p.np == nil && (t.has(article) || t.has(isNoun) || t.has(isWhere)) && tells(rest) {
		return true // "when bake is on the broiler glows"
	}
	return t.has(pronoun) && len(rest) > 0 && (rest[0].has(isVerb) || rest[0].has(isState) || rest[0].has(not) || rest[0].has(little) || rest[0].has(keeps) || rest[0].has(cease) || rest[0].has(aux) && rest[0].text != "is")
}

func (p *parser) takeSub(t *token) {
	s := p.sub
	p.k.words, s.words = append(p.k.words, t.text), append(s.words, t.text)
	if !t.unknown || s.like || p.r.l.formOf(t.text, p.r.l.Turned) || p.r.l.formOf(t.text, p.r.l.Presses) {
		s.from.add(t.at)
	}
	if s.like {
		p.r.like.add(t.at)
		return
	}
	if p.r.when.add(t.at); s.although && !t.has(not) && !t.unknown {
		p.r.used.add(t.at) // "even when the glass is cold"
	}
	circum, isC := t.of(isCircum)
	if t.empty() && !s.until && !s.after && p.r.l.touches(t.text) && p.moves(p.r.tokens[min(t.at+1, len(p.r.tokens)):]) {
		circum.key, isC = "touched", true // "while I moved it"
	}
	s.acted = s.acted || isC || t.has(isVerb) || t.has(isStanding) || t.has(aux) || t.has(pronoun) || slices.Contains(p.r.l.People, t.text)
	s.thing = s.thing || t.has(things)
	s.told = s.told || (s.thing || len(s.phrases) > 0 || p.np != nil && len(p.np.nouns) > 0) && (t.has(isVerb) && !t.has(isNoun) || t.has(isStanding) && t.has(offMode) || t.has(isStanding))
	mode, err := p.r.c.FindMode(t.text)
	switch {
	case t.is(isState, "touched") && !isC: // "unless I lean on the door"
		p.closeSubPhrase()
		s.when, s.any = "touched", true
	case err == nil && !t.has(isNoun) && !t.has(isMode) && !t.has(offMode): // "when I start it"
		p.closeSubPhrase()
		s.any = true
		s.modes = append(s.modes, mode)
	case t.has(not):
		p.closeSubPhrase()
		s.any, s.loose = true, true // "when the drum does not move"
	case t.has(things):
		p.closeSubPhrase()
		s.any = true
	case t.unknown:
		p.closeSubPhrase()
		s.any, s.loose = true, s.loose || !p.r.l.formOf(t.text, p.r.l.Turned)
	case t.has(isMode):
		m, _ := t.of(isMode)
		s.any = true
		s.modes = append(s.modes, circuit.ModeID(m.n))
	case t.has(offMode):
		s.off, s.any = !p.r.lessened(t.text), true
	case isC:
		p.closeSubPhrase()
		s.when, s.any = circum.key, true
	case t.isNumber, t.has(isNumber):
		p.closeSubPhrase()
		p.pending, p.number, s.any = 1, true, true
		if s.after && p.r.l.Hours != "" && strings.Contains(t.text, p.r.l.Hours) && p.k.trips() && !p.r.c.StoresHeat() {
			s.when, s.told = "late", true // "trips after an hour"
		}
	case t.has(isUnit) && p.number:
		p.number = false
		if long := t.is(isUnit, "hours") && p.r.c.StoresHeat(); long {
			s.told = true // a tank that is cold after six hours did not run out
		} else if s.after {
			s.when, s.told = "late", true
		}
	case t.has(isNoun):
		if p.np != nil && len(p.np.nouns) > 0 && (p.r.isKnob(p.np) || p.r.region(p.np)) && p.r.l.nounOf(t).merges() {
			p.closeSubPhrase() // "when I turn the knob to bake"
		}
		p.noun(t)
		s.any = true
	case t.has(isWhere):
		p.where(t)
		s.any = true
	case t.has(joins), t.has(modePrep), t.has(placePrep), t.has(filler), t.has(aux), t.has(pronoun):
		s.told = s.told || s.after && p.number // "after thirty years"
		if !t.has(filler) {
			p.closeSubPhrase()
		}
		s.any = s.any || t.has(filler) && !p.r.l.skip[t.text]
	case t.has(isVerb), t.has(isState), t.has(isCondition), t.has(isSeen):
		s.any, s.stated = true, s.stated || t.has(isState) && !t.has(isVerb) && (p.np != nil || len(s.phrases) > 0)
		p.closeSubPhrase()
		if c, ok := t.of(isCondition); ok {
			s.when = c.key
		}
	}
}

func (p *parser) closeSubPhrase() {
	if p.np != nil {
		p.sub.phrases, p.np = append(p.sub.phrases, p.np), nil
	}
	p.number, p.every, p.some = false, false, false
}

// opposite is what a state of heat is until it becomes the other.
var opposite = map[string]string{"hot": "cold", "cold": "hot"}

// closeSub puts what a circumstance tells into its clause: when, in which mode.
func (p *parser) closeSub() {
	s := p.sub
	if s == nil {
		return
	}
	p.closeSubPhrase()
	if s.on && len(s.phrases) > 0 || s.off && p.r.l.formOf(strings.Fields(s.words[0])[0], p.r.l.Turned) && len(s.phrases) == 1 && len(p.r.parts(s.phrases[0], p.r.isSurface)) > 0 {
		p.r.last = s.phrases // "I turned the burner on and it sparked", "I turned it off and it stays on"
		if s.off {
			p.r.used.join(s.from)
		}
	}
	p.sub, p.k.subbed = nil, true
	p.neg, p.few, p.lasting = false, false, false
	when := s.when
	pressed := p.r.pressed(handling{s.phrases, s.words}) && (slices.ContainsFunc(p.k.said, func(o said) bool { return o.key == "normal" }) ||
		!slices.ContainsFunc(s.phrases, func(np *phrase) bool { return p.r.namesOnly(np, circuit.KindSurfaceElement) })) // not "when I press the left front nothing happens"
	if (when == "" || when == "pushed") && pressed {
		when = "touched"
	}
	if s.loose && !pressed || s.like || s.unless && !p.k.not && when != "touched" {
		return
	}
	if s.until && !s.any && !p.k.not && slices.ContainsFunc(p.k.said, func(s said) bool { return s.key == "normal" }) {
		p.k.formerly = true // "it worked fine until yesterday"
		p.r.used.add(s.begin)
		return
	}
	if !s.only || when != "" || p.k.trips() {
		s.from.add(s.begin) // "only when": what it does otherwise was not said, but for what trips
	}
	if (s.until || s.unless) && opposite[when] != "" {
		when = opposite[when]
	}
	if s.until && when == "" && (s.off || p.k.lasting || slices.ContainsFunc(p.k.said, func(s said) bool { return s.key == "on" })) {
		p.r.used.join(s.from)
		p.k.tillOff = s.off && !slices.ContainsFunc(s.phrases, func(np *phrase) bool { return p.r.trips(np) != "" })
		return // "won't shut off until I turn the knob off", "won't stop until I open the door"
	}
	for _, m := range s.modes {
		p.k.enter(m, s.from)
	}
	p.turnsKnob(s)
	if when == "touched" && (len(s.modes) > 0 || slices.ContainsFunc(s.phrases, func(np *phrase) bool {
		return np.done || p.r.modeCalled(np) != circuit.None && slices.ContainsFunc(p.r.parts(np, p.r.isLoad), func(id circuit.PartID) bool { return p.r.c.Part(id).Kind.Heats() && !p.r.isSurface(id) })
	})) {
		when = "" // "the minute I hit bake"
	}
	switch {
	case when != "":
		if p.k.when = when; when == "touched" {
			p.r.handled = handling{s.phrases, s.words}
		}
		p.k.at[ofWhen].join(s.from)
		if when != "late" {
			return
		}
	case s.off && slices.ContainsFunc(s.phrases, func(np *phrase) bool { return !p.setsOff(np) }):
		return // "if the left front is off"
	case s.off:
		p.k.enter(p.r.c.OffMode(), s.from)
		return
	}
	for _, np := range s.phrases {
		if anyIn(s.words, p.r.l.Shut) {
			p.r.used.join(s.from)
			break // "even when the door is closed"
		}
		if s.stated {
			break // "when the top is stone cold"
		}
		if p.r.region(np) || p.r.isMachine(np) { // "when the oven kicks on"
			if m, err := p.r.c.FindMode(strings.Join(np.words, "_")); err == nil {
				p.k.enter(m, s.from) // "when the heat comes on"
			} else if both := slices.IndexFunc(s.words, func(w string) bool { return slices.Contains(p.r.l.Both, w) }); both >= 0 && p.k.trips() {
				if m := p.r.modeNamed(circuit.None, s.words[both:both+1]); m != circuit.None {
					p.k.enter(m, s.from) // "when I use both ovens"
				}
			}
			np.from.join(s.from)
			p.k.tried = append(p.k.tried, np)
			continue
		}
		if turned := func(w string) bool {
			return p.r.l.formOf(strings.Fields(w)[0], p.r.l.Turned) || p.r.tripped && p.r.l.formOf(w, p.r.l.Handles)
		}; len(p.r.parts(np, p.r.isLoad)) > 0 && slices.ContainsFunc(s.words, turned) {
			p.k.tried = append(p.k.tried, np) // "when I turn on the front burners nothing happens"
		}
		m := p.mode(np)
		for _, w := range s.words { // "when I open the door"
			if with := *np; m == circuit.None && slices.ContainsFunc(p.r.machine.modes, func(set map[string]bool) bool { return set[w] }) {
				with.where = append(slices.Clone(np.where), w)
				m = p.r.modeCalled(&with)
			}
		}
		if own := p.lastSubject(); own != nil && len(np.where) == 0 && p.r.isPartOf(np, own) {
			continue // "left rear works if I push the coil in"
		}
		if m != circuit.None && !slices.Contains(p.k.modes, m) {
			p.k.enter(m, s.from)
		}
	}
	if p.k.trips() && len(p.k.modes) == 0 && len(p.r.loadsOf(drives)) > 0 && slices.ContainsFunc(s.words, func(w string) bool { return p.r.l.saidOf(p.r.l.alone(w)) == heating }) {
		p.k.enter(mainMode(p.r.c), s.from) // "trips right when the heat kicks in", of what tumbles without heat too
	}
}

// aboutWhat are the subjects of a clause, but of what trips as a burner is turned on that
// burner: "the stove blows the breaker when you turn on the left rear, the others are okay".
func (r *reader) aboutWhat(k *clause) []*phrase {
	if k.trips() && len(k.tried) == 1 && len(k.tried[0].where) > 0 && (r.isMachine(k.subjects[0]) || r.trips(k.subjects[0]) != "") && len(r.parts(k.tried[0], r.isSurface)) > 0 {
		return k.tried
	}
	return k.subjects
}

// turnsKnob makes of a burner's knob that somebody turns its burner, and keeps it as what is
// spoken of where nothing else was: "when I turn the left rear knob it pops", "when I turn on
// the left rear it trips, the other three are okay".
func (p *parser) turnsKnob(s *circumstance) {
	if s.off || len(s.phrases) != 1 || !slices.ContainsFunc(s.words, func(w string) bool { return p.r.l.formOf(strings.Fields(w)[0], p.r.l.Turned) }) {
		return
	}
	np := s.phrases[0]
	of := &phrase{where: np.where, words: np.words, from: np.from}
	knob := len(np.where) > 0 && p.r.isKnob(np)
	if n := len(p.r.parts(of, p.r.isSurface)); n == 0 || n > 1 && !knob {
		return
	}
	if last := p.r.last; knob {
		s.phrases[0], p.r.last = of, []*phrase{of}
	} else if len(last) == 0 || p.r.isMachine(last[0]) || p.r.trips(last[0]) != "" || len(p.k.subjects)+len(p.k.said) == 0 && (p.k.from == nil || len(p.k.from.words) == 0) {
		p.r.last = []*phrase{np} // also of a sentence that begins with it
	}
}
