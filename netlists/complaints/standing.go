package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// standing reads "on" and "out" where they end a clause: "the clock is on".
func (p *parser) standing(t *token, rest []token) bool {
	if n := len(p.k.said); t.text == p.r.l.Nothing && ended(rest) && n > 0 && p.linked && p.np == nil && (p.k.said[n-1].key == "replaced" || p.k.said[n-1].key == "reset") {
		if p.r.amiss() {
			return p.put(isHistory, "no_help", t, "") // "replaced the switch and nothing"
		}
		p.closePhrase()
		p.next()
		p.k.words = []string{t.text}
		return p.put(isState, "dead", t, "")
	}
	if t.text == p.r.l.Nothing && ended(rest) && len(p.k.words) == 1 && p.r.mended && p.r.lately(OfHistory) {
		return p.put(isHistory, "no_help", t, "") // "flipped the breaker, nothing"
	}
	if t.text == p.r.l.Nothing && ended(rest) && len(p.k.words) == 1 && !p.k.then && slices.ContainsFunc(p.r.heard.Statements, func(s Statement) bool { return s.About != OfHistory && s.What != "beeps" }) &&
		(p.r.lastSaid == nil || p.r.lastSaid.key != "normal") {
		p.r.used.add(t.at)
		return true // "dead. Nothing."
	}
	if t.text == p.r.l.Nothing && ended(rest) && len(p.k.words) == 1 && !p.r.mended && p.r.lastSaid != nil && p.r.lastSaid.key == "normal" && len(p.r.last) == 1 {
		p.k.subjects = p.r.last // "broil on, nothing"
		return p.put(isState, "dead", t, "")
	}
	if from := p.k.from; t.text == p.r.l.Nothing && ended(rest) && len(p.k.words) == 1 && p.r.lastSaid == nil && from != nil && len(from.words) > 0 && !from.made && !p.r.withheld {
		return p.put(isState, "dead", t, "") // "push start, nothing"
	}
	if t.text == p.r.l.Nothing && ended(rest) && len(p.k.words) == 1 && p.r.mended {
		return p.put(isHistory, "no_help", t, "") // "pushed reset, nothing"
	}
	if n := p.np; n != nil && t.text == p.r.l.Still && t.text != "" && ended(rest) && len(p.k.said) == 0 && slices.ContainsFunc(n.nouns, func(i int) bool { return p.r.l.Nouns[i].Driven }) {
		return p.put(isState, "dead", t, "") // "motor runs, drum still"
	}
	if len(p.k.said) > 0 && slices.Contains(p.r.l.Answers, t.text) && ended(rest) && (p.np == nil || !p.np.linked) {
		p.k.said, p.r.withheld = nil, true // "warm and low yes, high no"
		return true
	}
	if t.text == p.r.l.Nothing && len(rest) > 0 && rest[0].text == p.r.l.On || !t.has(isStanding) || p.strangeVerb || p.np == nil && len(p.k.subjects) == 0 && !p.k.rest && (len(p.r.last) == 0 || len(p.k.said)+len(p.k.strange) > 0) {
		return false
	}
	if p.number && p.pending == 0 {
		p.k.verbless, p.k.lost = true, true // "240 in, 0 out"
		return true
	}
	if p.with && p.prep == modePrep && p.np != nil { // "with bake on"
		n, from := len(p.k.places), p.np.from
		if p.closePhrase(); len(p.k.places) > n {
			p.k.places = p.k.places[:n]
			p.r.when.join(from)
		}
		return true
	}
	if t.has(none) && (!ended(rest) || p.np == nil && len(p.k.subjects) == 0) {
		return false // "no visible damage"
	}
	for i := range rest {
		switch n := &rest[i]; {
		case n.has(placePrep) && ended(rest[i+1:]), n.stop, n.has(ends), n.has(exceptOf), n.has(joins), n.has(isSub), n.has(modePrep) && !n.has(isNoun), n.has(isHistory):
			return p.stands(t)
		case n.empty(), n.has(always), n.has(all) && !n.has(not): // "las hornillas sí todas"
			continue
		default:
			return false
		}
	}
	return p.stands(t)
}

func (p *parser) stands(t *token) bool {
	s, _ := t.of(isStanding)
	p.closePhrase()
	if len(p.k.subjects) == 0 && (t.text == p.r.l.Gone || len(p.k.places) > 0) {
		return true // "then it was gone", "trips in bake, with the burners no"
	}
	if len(p.k.said) > 0 || s.key == "dead" && slices.ContainsFunc(strings.Fields(strings.Join(p.k.words, " ")), func(w string) bool { return p.r.l.formOf(w, p.r.l.Taken) }) {
		return true // a particle: "comes on", "took the element out"
	}
	key := s.key
	switch {
	case p.neg && key == "dead" && p.r.l.Nothing != "" && slices.Contains(p.k.words, p.r.l.Nothing):
		p.k.verbless = true
		return true // "240 in, nothing out"
	case p.neg && t.text == p.r.l.On && slices.ContainsFunc(p.r.heard.Statements, func(s Statement) bool { return s.What == "on" }):
		p.k.verbless = true
		return true // "the light stays on, none of the burners on"
	case p.neg:
		key = negated(key)
	case p.few && key == "normal":
		key = "weak" // "only half red"
	}
	if p.guards() != "" && key == "normal" {
		return p.put(isWhole, "no_trip", t, "") // "the breaker is on"
	}
	p.put(isState, key, t, p.r.l.saidOf(t))
	return true
}

// setTo takes what a knob is set to, which tells nothing of it, and reports whether it
// did.
func (p *parser) setTo() bool {
	k := p.k
	of := slices.Concat(k.places, k.subjects)
	if p.prep != modePrep || p.np != nil || len(k.said) > 0 || len(of) != 1 || !p.r.isKnob(of[0]) {
		return false
	}
	p.r.used.join(of[0].from)
	k.subjects, k.places, p.head, p.prep = nil, nil, nil, 0
	return true
}

// isKnob reports whether a phrase names what somebody sets.
func (r *reader) isKnob(p *phrase) bool {
	return r.namesOnly(p, circuit.KindThermostat, circuit.KindSelector, circuit.KindCyclingSwitch)
}
