package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// state puts down how loads behave.
func (r *reader) state(k *clause, s *said) {
	r.lastSaid = s
	for _, p := range slices.Concat(k.subjects, k.places) {
		if k.rest || r.region(p) {
			r.now.join(p.from) // "the rest of the oven", "hot water runs out"
		}
	}
	if s.key == "hums" && r.humsAt(k, s) {
		return
	}
	if first, _, _ := strings.Cut(s.words, " "); s.key == "off_by" && slices.Contains(r.l.Baking.Burnt, first) && slices.ContainsFunc(slices.Concat(k.subjects, k.places), func(p *phrase) bool {
		return len(p.nouns) > 0 && !r.region(p) && !r.isMachine(p) && len(r.parts(p, anyPart)) > 0
	}) {
		r.seen(k, &said{class: isSeen, key: "burnt", words: s.words, from: s.from}) // "bake element burnt at the back" is no cake
		return
	}
	if len(k.strange) > 0 && len(k.subjects) == 0 && s.key == "hot" {
		s.key, k.side = "off_by", "above"
	}
	if at := slices.IndexFunc(r.heard.Statements, func(s Statement) bool {
		return (s.What == "slow" || s.What == "weak") && s.Load != circuit.None && r.onSurface(s.Load)
	}); s.key == "slow" && len(k.subjects) == 0 && r.thing && at >= 0 {
		r.put(r.ofLoad(k, s, s.key, r.heard.Statements[at].Load)) // "the left front is weak, a pot takes half an hour"
		return
	}
	if len(k.strange) > 0 && len(k.subjects) == 0 && (s.key == "slow" || s.key == "off_by") { // "the cakes take ages"
		st := k.blank(OfWhole, s)
		st.Amount, st.Unit = k.amount, k.unit
		r.put(st)
		return
	}
	if r.offBy(k, s) {
		return
	}
	if low := r.lowMode(); s.key == "full" && low != circuit.None && r.l.singles(s.words) { // "only heats on high", of what has no other step
		one, is, not := *k, *s, *s
		one.modes, is.key, not.key, is.of, not.of = []circuit.ModeID{low}, "normal", "dead", heating, heating
		r.state(&one, &not)
		r.state(k, &is)
		return
	}
	key := r.shade(k, s.key)
	if key == "on" && len(k.modes) > 0 && r.c.Mode(k.modes[0]).Brief {
		key = "normal" // "keeps turning as long as I hold the button"
	}
	if key == "fails_cold" && s.key == "normal" && len(k.subjects) > 0 && r.isLamp(k.subjects[0]) {
		key = "normal" // "its lamp still comes on when the glass is hot"
	}
	if key == "fails_cold" && s.key == "normal" && len(k.subjects) == 0 && !k.it {
		r.withheld = true // "sizzles when the hot is running"
		return
	}
	if slices.Contains(k.modes, r.c.OffMode()) && (key == "dead" || key == "quits") {
		return // "it does go out when it is off"
	}
	if key == "dead" && slices.Contains(r.l.Meter.Opened, s.words) && len(k.modes) == 0 && len(k.subjects) > 0 && !slices.ContainsFunc(k.subjects, func(p *phrase) bool { return r.region(p) || len(r.parts(p, r.isLoad)) == 0 }) && !slices.ContainsFunc(k.said, func(o said) bool { return o.class == isSeen }) {
		for _, p := range k.subjects {
			r.ofPart(k, s, "found_bad", p) // "upper element open"
		}
		return
	}
	if key == "dead" && r.isOnThough(k, s) {
		r.used.join(r.now) // "its lamp stays on though no burner is hot"
		return
	}
	if there := map[string]string{"normal": "good_elsewhere", "dead": "found_bad"}[key]; there != "" && r.elsewhere(k) {
		one := *k
		if key == "dead" {
			r.now.join(k.places[0].from)
			one.places = nil // what is dead there too is the part itself
		}
		r.history(&one, &said{class: isHistory, key: there, words: s.words, from: s.from})
		return
	}
	if (k.others || k.other) && s.implied && key == "dead" && (slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What != "normal" }) ||
		slices.ContainsFunc(r.heard.Questions, func(q Question) bool { return q.What != "normal" })) {
		key = "normal" // "left front quits, the others never do that"
	}
	if k.others {
		r.by = others
		r.stateOfOthers(k, s, key)
		return
	}
	if k.rest && key != "hums" { // "otherwise it hums"
		if r.by = others; key == "dead" && slices.Contains(r.l.Answers, s.words) && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool { return o.What == "trips" }) {
			key = "normal" // "con las otras no"
		}
		st := k.blank(OfWhole, s)
		st.What = "rest_" + key
		if r.l.Say[st.What] == "" {
			return
		}
		r.put(st)
		return
	}
	if k.partly && len(k.subjects) == 0 {
		loads := r.loadsOf(heating)
		r.choose(&phrase{words: k.words, odd: true}, s, r.ofLoads(k, s, key, loads), k)
		return
	}
	if at := slices.IndexFunc(k.said, func(o said) bool { return o.class == isSeen }); s.of == heating && at >= 0 && key == "dead" && len(k.subjects) == 1 && len(r.parts(k.subjects[0], r.isLoad)) == 0 && len(r.parts(k.subjects[0], anyPart)) > 0 {
		one := *k
		one.subjects, one.places, r.last = nil, nil, nil // "el enchufe está quemado y no calienta"
		r.state(&one, s)
		return
	}
	if key == "normal" && r.cured(k, s) {
		for _, p := range k.subjects {
			r.now.join(p.from)
		}
		r.put(k.blank(OfHistory, &said{key: "works_again"}))
		return
	}
	modes := k.modes
	if len(modes) == 0 {
		modes = []circuit.ModeID{circuit.None}
	}
	subjects := k.subjects
	if len(subjects) == 0 {
		subjects = r.loadPlaces(k, s.of)
	}
	if tried := k.tried; len(subjects) == 0 && r.l.Nothing != "" && strings.HasPrefix(s.words, r.l.Nothing+" ") {
		if len(tried) == 0 && k.from != nil {
			tried = k.from.tried
		}
		subjects = tried // "nothing happens when I turn on the upper oven"
	}
	if r.thing && !slices.ContainsFunc(k.subjects, func(p *phrase) bool { return len(p.nouns) > 0 || len(p.where) > 1 }) && (key == "off_by" || key == "lacks") {
		subjects = nil // "bread raw on top"
	}
	of := subjects
	if len(of) == 0 && len(k.modes) == 0 {
		of = r.last
	}
	dish := r.thing && len(r.loadsOf(drives)) == 0 && slices.ContainsFunc(of, func(p *phrase) bool { // "the broiler glows a bit, takes an hour to do a chicken"
		parts := r.parts(p, r.isLoad)
		return len(parts) == 1 && (r.wasSaid(r.machine.loads[parts[0]][0], "dead") || r.wasSaid(r.machine.loads[parts[0]][0], "weak"))
	})
	gone := len(of) > 0 && len(subjects) == 0 && !r.thing && !slices.ContainsFunc(of, func(p *phrase) bool { // "the bottom ones are out and it takes forever"
		return slices.ContainsFunc(r.parts(p, r.isLoad), func(id circuit.PartID) bool { return !r.wasSaid(r.machine.loads[id][0], "dead") })
	})
	if key == "slow" && len(subjects) == 0 && (dish || gone || !(len(of) > 0 && r.lastIs(heating))) {
		st := k.blank(OfWhole, s) // "the clothes stay wet", of a drum that turns
		st.Amount, st.Unit = k.amount, k.unit
		r.put(st)
		return
	}
	if key == "lacks" {
		if key = "weak"; len(subjects) == 1 && len(r.loadsOf(drives)) == 0 && (r.region(subjects[0]) || r.isMachine(subjects[0])) && (len(subjects[0].where) == 0 || len(subjects[0].nouns) > 0) && !slices.ContainsFunc(r.parts(subjects[0], r.isLoad), r.isSurface) {
			key, k.side = "off_by", "below" // of an oven it is the temperature
		}
	}
	whole := func() bool {
		return !slices.ContainsFunc(of, func(p *phrase) bool {
			return !r.region(p) && !r.isMachine(p) && (len(subjects) > 0 || len(r.parts(p, r.isLoad)) > 0)
		})
	}
	switch stores := r.c.StoresHeat(); {
	case key == "runs_out" && !stores && r.l.formOf(strings.Fields(s.words)[0], []string{r.l.Denial}):
		key = "weak" // "can't keep up"
	case key == "runs_out" && stores:
		subjects, of = nil, nil
	case key == "dead" && stores && k.then && !(s.past && len(r.began) > 0) && whole() && !slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What != "normal" }) && len(r.heard.Questions) == 0:
		key, subjects, of = "runs_out", nil, nil // "we have hot water, then it goes cold"
	case (key == "fails_hot" || key == "quits") && stores && whole():
		key, subjects, of = "runs_out", nil, nil // "hot at first, then cold"
	case key == "runs_out":
		key = "quits" // "a few minutes, then it's cold"
	case key == "weak" && stores && whole():
		key, k.side = "off_by", "below" // what is felt is the water
		if !slices.ContainsFunc(of, func(p *phrase) bool { return r.region(p) || r.isMachine(p) }) {
			of = nil
		}
	}
	if key == "hot" && r.c.StoresHeat() && len(subjects) == 1 && len(subjects[0].nouns) == 0 {
		r.withheld = true // "top half scalding" is the water, not its element
		return
	}
	if (key == "hot" || key == "off_by") && s.of == "" && len(subjects) == 1 && len(subjects[0].where) > 0 && len(strings.Fields(s.words)) > 1 {
		if parts := r.parts(subjects[0], r.isLoad); len(parts) == 1 && !subjects[0].own && r.c.Part(parts[0]).Kind == circuit.KindElement {
			r.withheld = true // "the top burns everything"
			return
		}
	}
	if key == "hot" && len(subjects) == 1 && len(subjects[0].nouns) == 0 && slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "off_by" }) {
		return // "cooks unevenly, the left side burns"
	}
	if key == "slow" && len(subjects) > 0 && !slices.ContainsFunc(subjects, func(p *phrase) bool { return !r.turning(p) }) {
		key = "weak" // "the clock runs slow"
	}
	if key == "slow" && len(subjects) > 0 && !slices.ContainsFunc(subjects, func(p *phrase) bool { return !r.everything(p) }) {
		key = "weak" // "everything slow": each of them, not what heats the oven alone
	}
	if about, ok := ofRegion[key]; ok && (key == "hot" || len(r.loadsOf(heating)) > 1) && len(k.modes) < 2 && whole() {
		if about != "" {
			st := k.blank(OfWhole, s)
			st.What, st.Amount, st.Unit, st.side = about, r.signed(k, s), k.unit, r.sideOf(k, s)
			for _, p := range subjects {
				st.of = strings.Join(p.words, " ")
				r.now.join(p.from)
				if about == "some_on" && !r.everything(p) && !r.isMachine(p) {
					st.among = r.heatersOf(p)
				}
			}
			if st.Mode == circuit.None && len(subjects) > 0 {
				if st.Mode = r.regionMode(key, subjects[0]); st.Mode != circuit.None && r.c.StoresHeat() {
					st.Mode = mainMode(r.c)
				}
			}
			r.put(st)
			return
		}
	}
	for _, m := range modes {
		one := *k
		one.modes = []circuit.ModeID{m}
		if m == circuit.None {
			one.modes = nil
		}
		for i, p := range subjects {
			switch {
			case len(k.subjects) == 0:
				r.by = placed
			case i < k.waited:
				r.by = listed
			default:
				r.by = named
			}
			if s.implied {
				if r.by = implied; key == "dead" && k.not {
					r.by = byDenial
				}
			}
			r.stateOf(&one, s, key, p)
		}
		if len(subjects) == 0 {
			r.stateOfNone(&one, s, key)
		}
	}
}

// isOnThough reports whether a word of cold, or that nothing is on, tells only that nothing
// heats while something stays on that should not.
func (r *reader) isOnThough(k *clause, s *said) bool {
	on := slices.Contains(strings.Fields(s.words), r.l.On)
	if !on && !slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return slices.Contains(r.l.Meter.Cold, w) || slices.Contains(r.l.Warm, w) }) {
		return false
	}
	whole := !slices.ContainsFunc(k.subjects, func(p *phrase) bool { return !r.isMachine(p) && !r.isTop(p) && !r.isEveryBurner(p) })
	for i := range r.heard.Statements {
		o := &r.heard.Statements[i]
		if o.About != OfLoad || r.c.Part(r.partOf(o)).Kind != circuit.KindLamp {
			continue
		}
		if o.What == "on" {
			return true
		}
		if o.What == "normal" && on && whole && r.tellsOfBurners(o.Load) {
			o.What, o.Mode = "on", r.c.OffMode() // "the surface light is on but no burners are on"
			return true
		}
	}
	return whole && (slices.ContainsFunc(r.heard.Statements, func(o Statement) bool { return o.What == "door_locked" }) ||
		slices.ContainsFunc(r.heard.Questions, func(q Question) bool { // which of two fans runs on
			return q.What == "on" && q.About == OfLoad && !slices.ContainsFunc(q.Choices, func(c Choice) bool { return r.heats(c.Statements[0].Load) })
		}))
}

// isEveryBurner reports whether a phrase names all surface units.
func (r *reader) isEveryBurner(p *phrase) bool {
	return len(p.where) == 0 && len(r.parts(p, r.isSurface)) > 1 && len(r.parts(p, r.isSurface)) == len(r.parts(p, r.isLoad)) &&
		!slices.ContainsFunc(r.c.Parts(), func(part circuit.Part) bool {
			return r.isSurface(part.ID) && !slices.Contains(r.parts(p, r.isSurface), part.ID)
		})
}

// tellsOfBurners reports whether a lamp lights with burners, and with nothing else.
func (r *reader) tellsOfBurners(lamp circuit.BranchID) bool {
	lit := false
	for _, m := range r.c.Modes() {
		if r.uses(m.ID, lamp) {
			if lit = slices.ContainsFunc(r.mainLoads(m.ID), r.onSurface); !lit {
				return false
			}
		}
	}
	return lit
}

// ofLights are states that "the lights" of a house are in.
var ofLights = map[string]string{"weak": "lights_dim", "intermittent": "lights_dim", "hot": "lights_bright"}

// loadPlaces are places that are loads: "no heat from the broiler".
func (r *reader) loadPlaces(k *clause, of string) []*phrase {
	var out []*phrase
	for _, p := range k.places {
		fits := of == "" && (len(r.last) == 0 || slices.Contains(k.words, r.l.Nothing)) || of != "" && slices.ContainsFunc(r.loadsOf(of), func(id circuit.BranchID) bool { return slices.Contains(r.parts(p, r.isLoad), r.c.Branch(id).Part) })
		if fits && len(r.parts(p, r.isLoad)) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// shade joins a state with when it is so, how often, and in which mode.
func (r *reader) shade(k *clause, key string) string {
	off := slices.Contains(k.modes, r.c.OffMode())
	switch {
	case k.when == "late" && key == "dead" && !r.c.StoresHeat() && (r.l.denies(k.firstWord()) || slices.Contains(k.words, r.l.Still)) && !slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "normal" }):
		return key // "no flame after two minutes": it was waited for
	case k.rarely && (key == "dead" || key == "normal" || key == "weak"):
		return "intermittent"
	case off && (key == "normal" || key == "hot" || key == "weak"):
		return "on"
	case k.when == "hot" && (key == "dead" || key == "quits" || key == "weak"), k.when == "cold" && key == "normal", k.when == "late" && key == "dead":
		return "fails_hot"
	case k.when == "cold" && key == "dead", k.when == "hot" && key == "normal":
		return "fails_cold"
	case k.when == "pushed" && (key == "normal" || key == "dead"):
		return "pushed"
	case k.when == "touched" && anyIn(k.words, r.l.Touch) && anyIn(k.words, r.l.Warm): // "feels hot when you touch it"
	case k.when == "touched" && (key == "normal" || key == "weak" || key == "intermittent" || key == "dead" || key == "quits"):
		return "touched"
	}
	return key
}
