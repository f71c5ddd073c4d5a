package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// mode is the mode of a phrase, singled out by what is spoken of: "the upper
// oven quits on bake".
func (p *parser) mode(np *phrase) circuit.ModeID {
	if len(np.where) == 0 && len(p.r.parts(np, p.r.isLoad)) == 0 && len(p.r.parts(np, anyPart)) > 1 && !slices.ContainsFunc(slices.Concat(p.k.subjects, p.r.last), p.r.isLamp) {
		return circuit.None // "240 at the switch", of which one mode has it in its name
	}
	for _, of := range [][]*phrase{slices.Concat(p.k.subjects, p.r.carried), {{}}, p.r.last} {
		for _, s := range of {
			with := *np
			with.where = append(slices.Clone(np.where), s.where...)
			if m := p.r.mode(&with); m != circuit.None && (len(s.where) > 0 || len(s.nouns) == 0) {
				return m
			}
		}
	}
	return circuit.None
}

// modeByName reads a verb's form that is a mode's own name where it tells what is
// spoken of: "firing takes too long", "trips partway through firing".
func (p *parser) modeByName(t *token) bool {
	m, err := p.r.c.FindMode(t.text)
	if err != nil || t.has(isNoun) || !t.has(isVerb) || p.r.l.word(t.text) != nil || len(p.k.words) > 1 && p.prep != modePrep {
		return false
	}
	p.prep = 0
	p.k.enter(m, one(t))
	return true
}

// setting reads a mode by a word of its name after "on", "in", "at", or beside
// what it is of: "on warm", "timed dry".
func (p *parser) setting(t *token, rest []token) bool {
	sized := ring[t.text] && (len(rest) == 0 || !rest[0].has(isNoun) && !rest[0].has(isWhere)) // "cold on small and large"
	if p.listed(t, rest) {
		p.closePhrase()
		p.prep = modePrep
	}
	if p.prep != modePrep || p.np != nil || t.has(modePrep) || t.has(isNoun) || t.has(isWhere) && !t.own && !sized || t.has(filler) && t.text != p.r.l.High || t.has(same) || t.has(all) && content(rest) != nil && content(rest).has(isNoun) {
		return false
	}
	m, err := p.r.c.FindMode(t.text) // "on delicate"
	if err != nil || t.has(isVerb) {
		m = p.settingOf(t)
	}
	if m == circuit.None {
		return false
	}
	p.prep, p.set, p.k.sized = 0, true, sized
	p.k.enter(m, one(t))
	return true
}

// listed reports whether a word is a setting that stands by itself before what is said of
// it, alone or with others: "hi and medium good, low dead".
func (p *parser) listed(t *token, rest []token) bool {
	if p.prep != 0 || p.sub != nil || len(p.k.said) > 0 || p.neg || p.few || p.k.aux || t.has(isNoun) || t.has(isWhere) && !t.own || t.has(not) || t.has(joins) {
		return false
	}
	if m := p.settingOf(t); m == circuit.None || !slices.ContainsFunc(p.r.mainLoads(m), p.r.onSurface) {
		return false
	}
	for i := range rest {
		switch n := &rest[i]; {
		case n.has(joins), n.has(aux), (!n.has(isWhere) || n.own) && p.settingOf(n) != circuit.None:
		default:
			return n.has(isState) && !n.has(isVerb) || n.has(isStanding) && !n.has(modePrep)
		}
	}
	return false
}

// settingOf is the mode that a word of its name tells of what is spoken of; the highest
// of a knob is that in which a surface unit is used, where none is called so.
func (p *parser) settingOf(t *token) circuit.ModeID {
	subjects := slices.Concat(p.k.subjects, p.r.carried)
	if p.np != nil && p.prep == 0 {
		subjects = append(subjects, p.np)
	}
	if len(subjects) == 0 {
		subjects = p.r.last
	}
	for _, s := range subjects {
		for _, part := range p.r.parts(s, p.r.isLoad) {
			for _, load := range p.r.machine.loads[part] {
				if m := p.r.modeNamed(load, []string{singular(t.text)}); m != circuit.None && (!p.r.isSurface(part) || slices.ContainsFunc(p.r.mainLoads(m), func(o circuit.BranchID) bool {
					return o == load || p.r.siblings(part, p.r.c.Branch(o).Part)
				})) { // and no other burner's "low"
					return m
				}
				if t.text == p.r.l.High && p.r.onSurface(load) {
					return p.r.modeUsing(load)
				}
			}
		}
	}
	return circuit.None
}

// mode finds the one mode a phrase names, or that a load it names is used in.
func (r *reader) mode(p *phrase) circuit.ModeID {
	if r.region(p) && len(p.where) == 0 { // "when I put the oven on", not its light
		if main := mainMode(r.c); slices.ContainsFunc(r.parts(p, r.isLoad), func(id circuit.PartID) bool { return r.uses(main, r.machine.loads[id][0]) }) {
			return main
		}
	}
	if r.isMachine(p) {
		return circuit.None // "dryer" is no "dry"
	}
	if m := r.modeCalled(p); m != circuit.None {
		return m
	}
	for _, n := range p.nouns {
		for _, w := range r.l.Nouns[n].Is { // "by its button"
			for i, set := range r.machine.modes {
				if set[w] && len(p.nouns) == 1 && len(p.where) == 0 && len(r.parts(p, r.isLoad)) == 0 && len(r.parts(p, anyPart)) < 2 {
					return circuit.ModeID(i)
				}
			}
		}
	}
	parts := r.parts(p, r.isLoad)
	if n := len(parts); n > 1 && !slices.ContainsFunc(parts[1:], func(id circuit.PartID) bool { return !r.siblings(id, parts[0]) }) {
		parts = parts[n-1:] // with its outer coil the others are on
	}
	if len(parts) == 1 && (r.c.Part(parts[0]).Kind.Heats() || r.c.Part(parts[0]).Kind == circuit.KindLamp) {
		return r.modeUsing(r.machine.loads[parts[0]][0])
	}
	return circuit.None
}

// modeCalled finds the one mode that has a phrase's words in its name.
func (r *reader) modeCalled(p *phrase) circuit.ModeID {
	words := append(slices.Clone(p.where), r.keywords(p)...)
	if m, err := r.c.FindMode(strings.Join(words, "_")); err == nil {
		return m // "in bake", where another is up to temperature
	}
	return r.modeNamed(circuit.None, words)
}

// modeNamed is the mode that uses a load, or any, and has all the words in its name; of
// several the one with fewest others, None where two have as few.
func (r *reader) modeNamed(load circuit.BranchID, want []string) circuit.ModeID {
	best, least, tie := circuit.ModeID(circuit.None), 0, false
	for i, set := range r.machine.modes {
		uses := load == circuit.None || slices.ContainsFunc(r.c.Mode(circuit.ModeID(i)).Expect, func(x circuit.Expectation) bool { return x.Load == load })
		if !uses || len(want) == 0 || slices.ContainsFunc(want, func(w string) bool { return !set[w] }) {
			continue
		}
		switch extra := len(set); {
		case best == circuit.None || extra < least:
			best, least, tie = circuit.ModeID(i), extra, false
		case extra == least:
			tie = true
		}
	}
	if tie {
		return circuit.None
	}
	return best
}

// keywords are a phrase's words as a mode's name may hold them.
func (r *reader) keywords(p *phrase) []string {
	var out []string
	for _, w := range p.words {
		for _, f := range strings.Fields(w) {
			f = singular(f)
			if base, ok := strings.CutSuffix(f, "ing"); ok && !slices.ContainsFunc(r.machine.modes, func(m map[string]bool) bool { return m[f] }) {
				f = base
				if slices.ContainsFunc(r.machine.modes, func(m map[string]bool) bool { return m[base+"e"] }) {
					f = base + "e"
				}
			}
			out = append(out, f)
		}
	}
	return out
}

// modeUsing is the mode that should use a load and the fewest others.
func (r *reader) modeUsing(load circuit.BranchID) circuit.ModeID {
	best, least := circuit.ModeID(circuit.None), 0
	for i := range r.c.Modes() {
		if circuit.ModeID(i) == r.c.OffMode() {
			continue
		}
		on, used := 0, false
		for _, x := range r.c.Mode(circuit.ModeID(i)).Expect {
			if x.Share > 0 {
				on++
				used = used || x.Load == load
			}
		}
		if used && (best == circuit.None || on < least) {
			best, least = circuit.ModeID(i), on
		}
	}
	return best
}

// regionMode is the mode that such a state is told of: off, or the mode that
// uses the first of what heats there.
func (r *reader) regionMode(key string, p *phrase) circuit.ModeID {
	if key == "on" {
		return circuit.None
	}
	if parts := r.parts(p, r.isLoad); len(parts) > 0 {
		return r.modeUsing(r.machine.loads[parts[0]][0])
	}
	return circuit.None
}

// heatersOf names what heats of a region.
func (r *reader) heatersOf(p *phrase) string {
	var names []string
	for _, part := range r.parts(p, r.isLoad) {
		if r.c.Part(part).Kind.Heats() {
			for _, load := range r.machine.loads[part] {
				names = append(names, r.c.Branch(load).Ref)
			}
		}
	}
	return strings.Join(names, " ")
}

// mainLoads are the heating loads that a mode should use, or all that it uses.
func (r *reader) mainLoads(m circuit.ModeID) []circuit.BranchID {
	var heating, rest []circuit.BranchID
	for _, x := range r.c.Mode(m).Expect {
		if x.Share <= 0 {
			continue
		}
		if r.heats(x.Load) {
			heating = append(heating, x.Load)
			continue
		}
		rest = append(rest, x.Load)
	}
	if own := slices.DeleteFunc(slices.Clone(rest), func(id circuit.BranchID) bool { return r.uses(r.c.OffMode(), id) }); len(own) > 0 {
		rest = own // not the control, which is always on
	}
	if len(heating) > 0 {
		return heating
	}
	return rest
}

// mainMode is the first mode that should heat something.
func mainMode(c *circuit.Circuit) circuit.ModeID {
	return circuit.ModeID(max(0, slices.IndexFunc(c.Modes(), func(m circuit.Mode) bool { return heatsIn(c, m.ID) })))
}

// heatsIn reports whether a mode should heat something.
func heatsIn(c *circuit.Circuit, m circuit.ModeID) bool {
	return slices.ContainsFunc(c.Mode(m).Expect, func(x circuit.Expectation) bool { return x.Share > 0 && heats(c, x.Load) })
}

// heats reports whether a load is of what heats.
func heats(c *circuit.Circuit, load circuit.BranchID) bool {
	p := c.Branch(load).Part
	return p != circuit.None && c.Part(p).Kind.Heats()
}

// laterIn is the mode that uses a load and that another comes to of itself; the other
// where there is none.
func laterIn(c *circuit.Circuit, m circuit.ModeID, load circuit.BranchID) circuit.ModeID {
	for i := range c.Modes() {
		if later := circuit.ModeID(i); c.Earlier(later) == m && uses(c, later, load) {
			return later
		}
	}
	return m
}

// onceHot is the mode in which a load comes on as heat has moved a thermostat, where
// it is on from the start in another; None where there is none: a timer that runs all
// the time in one setting, and once all is warm in another.
func onceHot(c *circuit.Circuit, load circuit.BranchID, from circuit.ModeID) circuit.ModeID {
	for i := range c.Modes() {
		m := circuit.ModeID(i)
		if later := laterIn(c, m, load); !uses(c, m, load) && later != m && later != from && uses(c, from, load) {
			return later
		}
	}
	return circuit.None
}

// lowMode is the mode that is called by its low heat, where what heats has no knob of its
// own to step it; None where there is none.
func (r *reader) lowMode() circuit.ModeID {
	if len(r.l.Settings) == 0 || len(r.loadsOf("kind:surface_element")) > 0 {
		return circuit.None
	}
	for _, h := range r.machine.heads {
		if h.words[0] == r.l.Settings[0] {
			return h.mode
		}
	}
	return circuit.None
}

// singles reports whether a phrase begins with a word of what alone is so.
func (l *Language) singles(text string) bool {
	first, _, _ := strings.Cut(text, " ")
	return l.word(first).has(only)
}

// modeOfAll is the first mode that uses all of some parts, which are coils of one burner.
func (r *reader) modeOfAll(parts []circuit.PartID) circuit.ModeID {
	for _, m := range r.c.Modes() {
		if len(parts) > 1 && !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !r.uses(m.ID, r.machine.loads[id][0]) }) {
			return m.ID
		}
	}
	return r.modeUsing(r.machine.loads[parts[0]][0])
}
