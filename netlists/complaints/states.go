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
	if key == "dead" && r.isOnThough(s) {
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
	if key == "slow" && len(subjects) == 0 && (dish || !(len(of) > 0 && r.lastIs(heating))) {
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
	case key == "dead" && stores && k.then && whole() && !slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What != "normal" }) && len(r.heard.Questions) == 0:
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
	if key == "slow" && len(subjects) > 0 && !slices.ContainsFunc(subjects, func(p *phrase) bool { return !r.everything(p) }) {
		key = "weak" // "everything slow": each of them, not what heats the oven alone
	}
	if about, ok := ofRegion[key]; ok && (key == "hot" || len(r.loadsOf(heating)) > 1) && len(k.modes) < 2 && whole() {
		if about != "" {
			st := k.blank(OfWhole, s)
			st.What, st.Amount, st.Unit, st.side = about, r.signed(k, s), k.unit, k.sideOf(s)
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

// isOnThough reports whether a word of cold tells only that nothing heats while something
// stays on that should not.
func (r *reader) isOnThough(s *said) bool {
	return slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return slices.Contains(r.l.Meter.Cold, w) || slices.Contains(r.l.Warm, w) }) &&
		slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
			return o.What == "on" && o.Load != circuit.None && r.c.Part(r.c.Branch(o.Load).Part).Kind == circuit.KindLamp
		})
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
	case k.when == "late" && key == "dead" && !r.c.StoresHeat() && len(k.words) > 0 && (r.l.denies(k.words[0]) || slices.Contains(k.words, r.l.Still)) && !slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "normal" }):
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

func (r *reader) stateOf(k *clause, s *said, key string, p *phrase) {
	r.means(p)
	if key == "on" && s.key == "on" && len(k.modes) == 0 && !k.not && r.isLamp(p) && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
		return o.What == "quits" || o.What == "fails_hot"
	}) {
		key = "normal" // "turns and stops, the lights stay on"
	}
	if n := len(p.words); n > 0 && p.words[n-1] != r.l.Lights && strings.HasSuffix(p.words[n-1], " "+r.l.Lights) && r.lightsGas() {
		r.withheld = true // "the oven lights", which is what its burner does
		return
	}
	if about := ofLights[key]; about != "" && len(p.where) == 0 && len(p.nouns) == 1 && len(p.words) > 0 && p.words[len(p.words)-1] == r.l.Lights {
		st := k.blank(OfWhole, s)
		st.What = about
		r.put(st)
		return
	}
	if r.isMachine(p) {
		r.stateOfMachine(k, s, key, p)
		return
	}
	if p.own && len(p.nouns) == 0 && key == "dead" && slices.Contains(r.l.Ajar, s.words) {
		r.used.join(r.now) // "door open:"
		return
	}
	parts := r.partsThat(s.of, p)
	if key == "dead" && p.none && len(p.where) == 0 && len(parts) == 1 &&
		(p.words[0] == r.l.Lights || p.words[0] == singular(r.l.Lights) && slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "all_dead" })) {
		r.withheld = true // "no lights": no sign of life, not the one lamp
		return
	}
	if on := r.loadsOf("kind:surface_element"); r.isTop(p) && len(parts) == 1 && !r.onSurface(r.machine.loads[parts[0]][0]) {
		if r.spoken(func(n noun) bool { return n.Of == "oven" && n.Region }) && !r.spoken(func(n noun) bool {
			return slices.ContainsFunc(n.Is, func(is string) bool { return fits(r.machine.parts[parts[0]], is) }) && !n.Region
		}) {
			for _, load := range on {
				r.put(r.ofLoad(k, s, key, load)) // "the oven is dead, the top is fine"
			}
			return
		}
		q := Question{Words: p.words[0], What: s.key, About: OfLoad, Choices: []Choice{{r.c.Part(parts[0]).Label, []Statement{r.ofLoad(k, s, key, r.machine.loads[parts[0]][0])}}}}
		all := Choice{Label: r.c.Part(r.c.Branch(on[0]).Part).Label + " …"}
		for _, load := range on {
			all.Statements = append(all.Statements, r.ofLoad(k, s, key, load))
		}
		r.count(&all.Statements[0])
		q.Choices = append(q.Choices, all)
		r.heard.Questions = append(r.heard.Questions, q)
		return
	}
	if key == "hot" && slices.Contains(r.l.Lit, s.words) && len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindLamp {
		key = "normal" // "the drum light burns"
	}
	words := strings.Fields(strings.Join(k.words, " "))
	if key == "normal" && (s.words == r.l.On || slices.Contains(r.l.Lit, s.words)) && len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindLamp &&
		anyIn(words, r.l.Shut) {
		key = "on" // "the light burns with the door shut"
	}
	if (key == "quits" || key == "dead") && len(parts) > 0 && r.c.Part(parts[0]).Kind == circuit.KindLamp && r.l.Verbs["outs"].Yes != "" &&
		anyIn(words, r.l.Shut) && slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return w == "out" || w == "off" }) {
		key = "normal" // "the light goes out when the door is shut"
	}
	if looks := anyIn(k.words, r.l.Looks); key == "normal" && looks &&
		!slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !r.c.Part(id).Kind.Heats() }) {
		r.ofPart(k, s, "looks_good", p) // "the element looks fine"
		return
	}
	if key == "normal" && r.isSound(k, s, p, parts) {
		r.ofPart(k, s, "found_good", p) // "both elements are good, the limit is open"
		return
	}
	if key == "dead" && len(parts) > 0 && len(k.modes) == 0 && k.when == "" && !r.region(p) && slices.Contains(r.l.Meter.Opened, s.words) && len(p.said) > 0 && r.l.isPart(p.said[0]) && !slices.ContainsFunc(parts, func(id circuit.PartID) bool {
		return !r.c.Part(id).Kind.Heats() || !r.wasSaid(r.machine.loads[id][0], "dead")
	}) {
		r.ofPart(k, s, "found_bad", p) // "right rear dead, the element is open"
		return
	}
	felt := anyIn(words, r.l.Touch)
	if len(parts) == 0 && key != "dead" && anyIn(words, r.l.Warm) && (r.joins(p) || felt && len(r.parts(p, anyPart)) > 0 && !r.namesOnly(p, circuit.KindCyclingSwitch, circuit.KindSelector)) { // a knob is warm of what is beside it
		r.ofPart(k, s, "feels_hot", p) // "the plug gets hot", "the thermostat feels hot"
		return
	}
	if p.own && len(parts)+len(p.nouns) == 0 && slices.ContainsFunc(r.parts(p, anyPart), func(id circuit.PartID) bool { return r.c.Part(id).Kind == circuit.KindDoorSwitch }) {
		r.withheld = true // the door is open, not its switch
		return
	}
	if about := ofPart[key]; len(parts) == 0 && about != "" && s.plain && !(key == "dead" && s.of == heating) { // not "the sensor, cold"
		r.ofPart(k, s, about, p)
		return
	}
	if key == "on" && len(parts) == 0 && (r.opens(p) || r.namesOnly(p, circuit.KindRelay)) {
		r.ofPart(k, s, "welded", p) // "the thermostat never shuts off"
		return
	}
	if len(parts) == 0 {
		return
	}
	if r.c.Part(parts[0]).Kind == circuit.KindRelay && (key == "on" || key == "full") {
		r.ofPart(k, s, "welded", p) // what is stuck are its contacts
		return
	}
	var loads []circuit.BranchID
	for _, id := range r.likeliest(p, parts) {
		loads = append(loads, r.machine.loads[id]...)
	}
	if hot := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return !r.heats(id) }); s.of == heating && len(hot) > 0 {
		loads = hot // "the warm zone is cold": not its lamp
	}
	if alone := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return len(k.modes) == 0 || r.onSurface(id) || !r.uses(k.modes[0], id) }); len(alone) == 1 && !p.all && !p.odd {
		loads = alone // "the igniter does not glow on bake"
	}
	if len(k.modes) > 0 && k.modes[0] != r.c.OffMode() && (r.region(p) || k.sized || key == "dead" && len(p.where) > 0 && !slices.ContainsFunc(loads, func(id circuit.BranchID) bool { return !r.onSurface(id) })) {
		if used := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return !r.uses(k.modes[0], id) }); len(used) > 0 {
			loads = used
		}
	}
	if len(k.modes) == 0 && len(k.subjects) == 0 && r.lastMode != circuit.None && r.region(p) {
		if used := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return !r.uses(r.lastMode, id) }); len(used) > 0 {
			loads = used
		}
	}
	if r.region(p) && len(k.subjects) > 0 { // "broiler dead, the oven works": the rest of the oven
		rest := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool {
			return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.Load == id })
		})
		if len(rest) > 0 {
			loads = rest
		}
	}
	if key == "normal" && felt && slices.Contains(r.l.Warm, s.words) && r.turns(loads) {
		r.ofPart(k, s, "feels_hot", p) // "motor 7.9 amps and hot to the touch"
		return
	}
	if (key == "hot" || key == "off_by") && r.turns(loads) {
		if r.l.formOf(strings.Fields(s.words)[0], r.l.Baking.Burnt) {
			r.withheld = true // "burns everything no matter what I set the dial to"
			return
		}
		r.ofPart(k, s, "feels_hot", p) // a motor that gets hot does not get too much
		return
	}
	if s.of == r.l.Verbs["heat"].Of && (r.turns(loads) || len(k.subjects) == 1 && r.isControl(p)) {
		r.withheld = true // "the fan does not heat"
		return
	}
	if turned := r.loadsOf(drives + "|kind:fan"); key == "pushed" && len(r.loadsOf(drives)) > 0 && !slices.Contains(turned, loads[0]) {
		r.used.join(r.now) // "you have to turn the timer by hand"
		return
	}
	if key == "pushed" && r.heats(loads[0]) {
		return // what heats is not helped by hand
	}
	if last := r.lastPart(p, parts); last != circuit.None && !r.wasSaid(r.machine.loads[last][0], negated(key)) {
		loads = r.machine.loads[last] // "the broiler ... the element"
	}
	if p.some && len(loads) == 1 && r.heats(loads[0]) && (key == "normal" || key == "dead") {
		key = "weak" // "only half of the broil element glows"
	}
	if near := slices.DeleteFunc(slices.Clone(loads), r.onSurface); p.count > 1 && p.count == len(near) {
		loads = near // "both elements glow"
	}
	if p.count > 1 && p.count != len(loads) && (r.region(p) || p.count != r.burners(loads)) && p.count != r.places(loads) {
		one := *p
		one.odd, one.all = true, false
		r.choose(&one, s, r.ofLoads(k, s, key, loads), k)
		if r.counted = (&said{key: key, of: s.of}); p.only && key == "normal" {
			one.where, one.count, one.only = nil, 0, false
			r.counted.only = &one
		}
		return
	}
	if p.only && key == "normal" && len(k.butOnly) == 0 && len(p.where) > 0 {
		kind := *p
		kind.where = nil
		k.butOnly = []*phrase{&kind}
	} else if p.only && key == "normal" && len(k.butOnly) == 0 && r.heats(loads[0]) && !r.onSurface(loads[0]) {
		k.butOnly = []*phrase{{}} // "only broil works"
	}
	for _, of := range k.butOnly {
		others := r.parts(of, r.isLoad)
		if len(of.nouns)+len(of.where) == 0 { // "only the top half heats"
			for _, load := range r.loadsOf("kind:" + r.c.Part(parts[0]).Kind.String()) {
				others = append(others, r.c.Branch(load).Part)
			}
		}
		if near := slices.DeleteFunc(slices.Clone(others), func(id circuit.PartID) bool { return !r.siblings(id, parts[0]) }); len(near) > 0 {
			others = near // "the triple burner: only the middle ring"
		}
		for _, id := range others {
			if slices.ContainsFunc(k.subjects, func(o *phrase) bool { return o != p && o != of && slices.Contains(r.parts(o, r.isLoad), id) }) {
				continue // "only the left front and the right rear work"
			}
			for _, load := range r.machine.loads[id] {
				if (key == "normal" || key == "dead") && !slices.Contains(loads, load) && (len(k.modes) == 0 || r.uses(k.modes[0], load)) && (r.heats(load) || !r.heats(loads[0])) && (len(p.where) == 0 || r.onSurface(load) == r.onSurface(loads[0])) {
					r.put(r.ofLoad(k, s, negated(key), load))
				}
			}
		}
	}
	one := *p
	one.odd = p.odd || len(p.where) > 0 && len(p.nouns) > 0 && len(loads) > 1 && !slices.ContainsFunc(p.where, r.singlesOut)
	one.all = p.all || p.none && !p.odd && r.heats(loads[0]) || (len(p.nouns) == 0 || r.l.Nouns[p.nouns[0]].Pronoun && (slices.Contains(p.where, "upper") || slices.Contains(p.where, "lower")) && !slices.ContainsFunc(loads, r.onSurface)) && !p.odd && !slices.ContainsFunc(loads, func(id circuit.BranchID) bool { return !r.heats(id) }) || r.singledOut(p) > 1 && !p.odd && !slices.ContainsFunc(loads, func(id circuit.BranchID) bool {
		part := r.c.Branch(id).Part
		return part == circuit.None || r.c.Part(part).Kind != circuit.KindSurfaceElement // the coils of one place
	})
	if r.region(p) && len(loads) > 1 && r.by == named {
		r.by = region
	}
	choices := r.ofLoads(k, s, key, loads)
	any := 0
	if len(p.where) > 0 && (one.all || r.region(p)) && !p.all && key == "weak" && r.together(loads) {
		if any = len(r.heard.Statements) + 1; slices.ContainsFunc(strings.Fields(s.words), func(w string) bool { return r.l.word(w).has(restOf) }) {
			st := k.blank(OfWhole, &said{key: "rest_normal"}) // "the top is darker than the rest"
			r.put(st)
		}
	}
	for i := range choices {
		st := &choices[i].Statements[0]
		st.Any = any
		st.loosely, st.of = r.region(p), strings.Join(p.words, " ")
		st.driven = slices.ContainsFunc(p.nouns, func(n int) bool { return r.l.Nouns[n].Driven })
		for _, load := range loads {
			if p.only && !one.all && key == "normal" && len(p.where) == 0 && r.heats(load) && load != st.Load && !r.siblings(r.c.Branch(load).Part, r.c.Branch(st.Load).Part) {
				choices[i].Statements = append(choices[i].Statements, r.ofLoad(k, s, "dead", load)) // "only one burner works"
			}
		}
	}
	r.choose(&one, s, choices, k)
}

// isSound reports whether a phrase names what heats as the part that it is, or what nobody
// sees heat, and it is said to be good: it was tested.
func (r *reader) isSound(k *clause, s *said, p *phrase, parts []circuit.PartID) bool {
	if len(k.modes) > 0 || len(parts) == 0 || len(p.nouns) != 1 || r.region(p) || p.only || k.when != "" || k.rarely || slices.Index(r.l.Meter.Good, s.words) != 0 {
		return false
	}
	unseen := r.c.StoresHeat() || len(r.loadsOf(drives)) > 0
	return !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !r.c.Part(id).Kind.Heats() }) && (unseen || r.l.isPart(p.said[0]))
}

// isPart reports whether a noun is of a kind of part that heats, as "element" is, not of
// what is seen of it, as "burner".
func (l *Language) isPart(said string) bool {
	words := strings.Fields(said)
	s, ok := l.alone(singular(words[len(words)-1])).of(isNoun)
	return ok && len(strings.Join(l.Nouns[s.n].Is, "|")) == len(heating) && fits(map[string]bool{"kind:element": true}, strings.Join(l.Nouns[s.n].Is, "|")) && !l.Nouns[s.n].Region && !l.Nouns[s.n].Pronoun && !l.Nouns[s.n].Machine
}

// lightsGas reports whether it is a burner of gas that lights.
func (r *reader) lightsGas() bool { return len(r.loadsOf("kind:solenoid")) > 0 }

// ofPart are states told of what is no load: a fuse that is good, a limit that
// is open.
var ofPart = map[string]string{"normal": "found_good", "dead": "found_bad", "weak": "found_bad"}

func (r *reader) ofPart(k *clause, s *said, about string, p *phrase) {
	parts := r.likeliest(p, r.parts(p, anyPart))
	if own := r.companion(p); own != circuit.None {
		parts = []circuit.PartID{own}
	}
	st := k.blank(OfPlace, s)
	st.What = about
	r.choose(p, s, r.ofParts(st, parts), k)
}

// stateOfOthers puts a state down of all others of the kind spoken of.
func (r *reader) stateOfOthers(k *clause, s *said, key string) {
	told, asked := r.heard.Statements, []Choice(nil) // "one does not heat, the others do"
	defer func() { r.besides(asked) }()
	if r.othersThan(k, s, key) {
		return
	}
	for _, p := range r.last {
		parts := r.parts(p, r.isLoad)
		if len(parts) == 0 {
			continue
		}
		for id := range r.c.Parts() {
			if r.c.Part(circuit.PartID(id)).Kind != r.c.Part(parts[0]).Kind {
				continue
			}
			for _, load := range r.machine.loads[circuit.PartID(id)] {
				switch one := r.ofLoads(k, s, key, []circuit.BranchID{load})[0]; {
				case slices.ContainsFunc(told, func(s Statement) bool { return s.Load == load }):
				case r.inQuestion(one):
					asked = append(asked, one)
				default:
					r.put(one.Statements[0])
				}
			}
		}
	}
}

func (r *reader) ofLoad(k *clause, s *said, key string, load circuit.BranchID) Statement {
	st := k.blank(OfLoad, s)
	st.What, st.Load, st.general = key, load, s.of == "" && !s.plain
	if part := r.c.Branch(load).Part; key == "on" && part != circuit.None && (r.c.Part(part).Kind == circuit.KindControl || r.machine.parts[part]["clock"]) {
		st.What = "normal" // "the clock is still on"
	}
	if other := st.Mode != circuit.None && r.heats(load) && !r.uses(st.Mode, load); other && key != "dead" && st.Mode != r.c.OffMode() && r.onSurface(load) {
		st.Mode = circuit.None // what is on beside it is another's
	} else if other && key == "normal" {
		st.What = "on" // it should not, there
	}
	if key == "slow" || key == "off_by" {
		st.Amount, st.Unit, st.side = r.signed(k, s), k.unit, k.sideOf(s)
	}
	if key == "fails_hot" || key == "fails_cold" || key == "touched" {
		st.When = ""
	}
	return st
}
