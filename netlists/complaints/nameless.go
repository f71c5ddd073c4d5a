package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// onSurface reports whether a load is worked by a switch of its own.
func (r *reader) onSurface(load circuit.BranchID) bool {
	return r.isSurface(r.c.Branch(load).Part)
}

func (r *reader) isSurface(id circuit.PartID) bool {
	return r.c.Part(id).Kind == circuit.KindSurfaceElement
}

// loadsOf lists the loads of parts with the features.
func (r *reader) loadsOf(features string) []circuit.BranchID {
	features, _, _ = strings.Cut(features, ";")
	var out []circuit.BranchID
	for _, id := range r.c.Loads() {
		if p := r.c.Branch(id).Part; p != circuit.None && fits(r.machine.parts[p], features) {
			out = append(out, id)
		}
	}
	return out
}

// heating are the features of what heats.
const heating = "kind:element|kind:surface_element"

// lastIs reports whether what was spoken of before is such a thing.
func (r *reader) lastIs(of string) bool {
	for _, p := range r.last {
		parts := r.partsThat(of, p)
		if len(parts) == 0 {
			return false
		}
		for _, id := range r.likeliest(p, parts) {
			if of != "" && !fits(r.machine.parts[id], strings.ReplaceAll(of, ";", "|")) {
				return false
			}
		}
	}
	return true
}

// isMachine reports whether the whole machine is meant.
func (r *reader) isMachine(p *phrase) bool {
	if len(p.nouns) != 1 || len(p.where) > 0 || p.some || p.count > 0 {
		return false
	}
	row, said := r.l.Nouns[p.nouns[0]], strings.Fields(p.said[0])
	if _, err := circuit.ParseKind(p.said[0]); err == nil {
		return false // "element", though a title tells how many there are
	}
	return row.Machine || !row.Pronoun && slices.Equal(row.Is, []string{heating}) && len(said) == 1 && !p.odd && !p.all && !r.thing && slices.ContainsFunc(strings.Fields(fold(r.c.Title())), func(w string) bool { return singular(w) == said[0] })
}

// drives are the features of what turns in a machine that has it.
const drives = "drive+kind:motor"

// stateOfMachine puts down a state of the machine: of what it can be said of,
// what turns in it or else all that heats.
func (r *reader) stateOfMachine(k *clause, s *said, key string, p *phrase) {
	if key == "dead" && s.of == "" && r.l.opened(s.words) {
		return // "read at the plug: open": of something that was measured, not of the machine
	}
	if r.by = ofMachine; s.of != "" {
		r.by = ofVerb
	}
	of := s.of
	switch {
	case key == "dead" && r.l.opened(s.words):
		r.withheld = true // no machine is open
		return
	case of == "" && r.kindles(s):
		of = "kind:solenoid" // "it won't light"
	case key == "dead" && of == "" && len(k.modes) == 0 && !r.kindles(s):
		st := k.blank(OfWhole, s)
		st.What = "all_dead"
		r.put(st)
		return
	case of == "" && len(r.loadsOf(drives)) > 0 && key != "weak" && key != "hot" && key != "slow" && key != "off_by":
		of = drives
	case of == "" && key == "quits" && r.lightsGas():
		of = "kind:solenoid" // "it lights, then goes out"
	case of == "":
		of = heating
	}
	loads := r.loadsOf(of)
	all := &phrase{words: p.words, all: key == "weak" || len(r.loadsOf("kind:surface_element")) == 0}
	r.choose(all, s, r.ofLoads(k, s, key, loads), k)
}

// openOf puts down that what was measured or spoken of last is open: "0 V on the load side of
// the fuse, pulled it and it's open". A machine is not, nor all that heats in it.
func (r *reader) openOf(k *clause, s *said) {
	of := r.last
	if n := len(r.metered); n > 0 && (k.it && r.makes(r.metered[n-1]) || len(of) == 0) {
		of = r.metered[n-1:]
	}
	door := slices.ContainsFunc(k.words, func(w string) bool {
		return slices.ContainsFunc(r.c.Parts(), func(p circuit.Part) bool {
			return p.Kind == circuit.KindDoorSwitch && r.machine.parts[p.ID][w] && strings.HasPrefix(p.Kind.String(), w)
		})
	})
	if door || len(of) != 1 || r.isMachine(of[0]) || r.region(of[0]) || len(r.likeliest(of[0], r.parts(of[0], anyPart))) != 1 {
		r.withheld = true
		return
	}
	r.means(of[0])
	r.ofPart(k, s, "found_bad", of[0])
}

// stateOfNone puts a state down that names no load: of the subject before, of
// the mode's loads, or of all that heats; several are asked.
func (r *reader) stateOfNone(k *clause, s *said, key string) {
	if key == "dead" && r.l.opened(s.words) && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool { return o.What == "found_bad" && o.Part != circuit.None }) {
		r.used.join(r.now)
		return // "the fuse tests bad, open"
	}
	if key == "dead" && r.l.opened(s.words) {
		r.openOf(k, s)
		return
	}
	if key == "weak" && len(k.said) == 1 && slices.Contains(r.l.Meter.Low, s.words) && (len(r.last) == 0 || r.told("off_by", circuit.None)) {
		r.withheld = true // its temperature, or what was not understood
		return
	}
	r.by = k.carriesOn()
	if r.replaced && slices.Contains(strings.Fields(strings.Join(k.words, " ")), r.l.Still) && len(k.modes) == 0 && slices.ContainsFunc(r.heard.Statements, func(o Statement) bool { return o.What == key && o.Load != circuit.None }) {
		r.used.join(r.now)
		return // "quits after ten minutes, replaced the limit, still quits"
	}
	if key == "quits" && len(k.modes) > 0 && r.c.Mode(k.modes[0]).Brief {
		k.modes = nil // "it quits when I let go of start"
	}
	if key == "fails_cold" && s.of == "" {
		if was := r.thatQuit(true); len(was) > 0 {
			for _, load := range was { // "no heat on cold mornings, after a while it kicks in"
				r.put(r.ofLoad(k, s, key, load))
			}
			return
		}
	}
	if from := k.from; key == "dead" && s.of == heating && len(k.modes) == 0 && from != nil && from.subbed && len(from.modes) == 1 {
		one := *k
		k, one.modes = &one, from.modes // "when I turn on bake it clicks but there is no heat"
	}
	inMode := len(k.modes) > 0 && k.modes[0] != r.c.OffMode()
	if key == "quits" && s.of == "" && len(r.last)+len(k.modes) == 0 && slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "code" }) {
		r.used.join(r.now)
		return // "says T1 and shuts down"
	}
	if k.it && (key == "quits" || key == "intermittent") && len(r.last) == 1 && !r.isMachine(r.last[0]) && r.was("dead") {
		r.stateOfMachine(k, s, key, &phrase{words: []string{s.words}}) // "the fan doesn't come on and it cuts out"
		return
	}
	if key == "normal" && k.it && s.plain && r.tested && len(r.last) == 1 && !r.isMachine(r.last[0]) && len(r.parts(r.last[0], r.isLoad)) == 0 && len(r.parts(r.last[0], anyPart)) > 0 {
		r.means(r.last[0])
		r.ofPart(k, s, "found_good", r.last[0]) // "checked the fuses, they are fine"
		return
	}
	if key == "dead" && (s.of == heating || s.of == "" && r.replaced) && len(k.modes) == 0 && !r.c.StoresHeat() && !slices.ContainsFunc(r.last, func(p *phrase) bool { return r.region(p) || r.isMachine(p) || len(r.parts(p, r.isLoad)) > 0 }) {
		if of := r.workedBySaid(); len(of) > 0 {
			for _, load := range of {
				r.put(r.ofLoad(k, s, key, load)) // "the bake relay clicks but there is no heat"
			}
			return
		}
	}
	if key == "normal" && len(k.words) == 1 && slices.Contains(r.l.Warm, s.words) && r.lately(OfPlace) && len(r.last) == 1 && r.joins(r.last[0]) {
		r.ofPart(k, s, "feels_hot", r.last[0]) // "the breaker is loose, hot"
		return
	}
	if at := r.partKind(circuit.KindBreaker); key == "normal" && r.lately(OfWhole) && r.heard.Statements[len(r.heard.Statements)-1].What == "trips" && at >= 0 && anyIn(strings.Fields(strings.Join(k.words, " ")), r.l.Touch) && anyIn(strings.Fields(s.words), r.l.Warm) {
		r.ofPart(k, s, "feels_hot", r.phraseOf(at)) // "trips after an hour, feels warm to the touch"
		return
	}
	nothing := r.l.Nothing != "" && strings.HasPrefix(s.words, r.l.Nothing)
	heats := func(id circuit.PartID) bool { return r.isLoad(id) && r.c.Part(id).Kind.Heats() }
	if key != "normal" && !inMode && !k.every && !r.c.StoresHeat() && len(r.last) == 1 && len(r.last[0].where) > 0 && len(r.parts(r.last[0], heats)) == 0 {
		if at := (&phrase{words: r.last[0].words, where: r.last[0].where, from: r.last[0].from}); len(r.parts(at, heats)) > 0 && (s.of == heating || len(r.parts(r.last[0], r.isLoad)) == 0) {
			r.stateOf(k, s, key, at) // "left front switch replaced, still dead"
			return
		}
	}
	if key == "dead" && s.of == "" && !inMode && s.plain && !k.it && !k.then && len(k.words) == 1 && r.was("normal") {
		r.stateOfMachine(k, s, key, &phrase{words: []string{s.words}}) // "the light works, dead"
		return
	}
	drive := slices.ContainsFunc(r.loadsOf(drives), func(id circuit.BranchID) bool { return inMode && r.uses(k.modes[0], id) })
	if nothing && len(r.last) > 0 && len(r.parts(r.last[0], r.isLoad)) > 0 && !inMode && (r.replaced || r.region(r.last[0])) { // "changed the bulb, still nothing"
		for _, p := range r.last {
			r.stateOf(k, s, key, p)
		}
		return
	}
	if nothing && (!inMode || drive) {
		one := *s
		if one.of = drives; len(r.loadsOf(drives)) == 0 {
			one.of = ""
		}
		r.stateOfMachine(k, &one, key, &phrase{words: []string{s.words}})
		return
	}
	if drive := r.loadsOf(drives); k.it && (key == "on" || key == "quits") && len(drive) > 0 && s.of == "" && len(r.last) == 1 && r.region(r.last[0]) { // "heat's fine, it never stops"
		loads := append(drive, r.loadsOf(heating)...)
		r.choose(&phrase{words: k.words, odd: true}, s, r.ofLoads(k, s, key, loads), k)
		return
	}
	if drive := r.loadsOf(drives); (key == "normal" || key == "on") && s.of == r.l.Verbs["turn"].Of && len(drive) == 1 && !inMode && !k.it && !r.wasSaid(drive[0], "dead") && r.was("dead") {
		r.put(r.ofLoad(k, s, "on", drive[0])) // "the timer never advances, runs all night"
		return
	}
	if beside := r.heatedBeside(); s.of == heating && !inMode && len(beside) > 0 {
		for _, load := range beside {
			r.put(r.ofLoad(k, s, key, load)) // "the drawer light comes on but it doesn't get warm"
		}
		return
	}
	water := r.l.alone(s.words[strings.LastIndex(s.words, " ")+1:])
	tank := s.of == heating && key == "dead" && !k.it && r.c.StoresHeat() && (r.lately(OfPlace) || r.l.nounOf(water).Region && strings.Contains(s.words, " ")) // "the top element leaks, no hot water"
	if len(r.last) > 0 && r.lastIs(s.of) && !tank && !(key == "dead" && !k.it && s.of == r.l.Verbs["turn"].Of && r.otherRuns()) && (!inMode || r.lastUsed(k.modes[0]) && (key == "normal" || !r.was("normal") || r.lastIs("kind:lamp"))) {
		for _, p := range r.last {
			r.stateOf(k, s, key, p)
		}
		return
	}
	of := s.of
	switch {
	case inMode:
		loads := r.mainLoads(k.modes[0])
		r.by = ofSetting
		if !drive && key == "quits" && !slices.ContainsFunc(loads, r.heats) {
			r.withheld = true // "self clean quits": of a mode in which the door is locked
			return
		}
		if !drive && key == "on" && len(r.loadsOf(drives)) > 0 && !slices.ContainsFunc(loads, r.heats) {
			loads = r.loadsOf(drives) // "it doesn't stop when I open the door"
		}
		if on := r.loadsOf(drives); drive && (key == "dead" || key == "on") && of == "" && !s.implied {
			loads = on // "dead on timed dry": it does not run, "doesn't shut off on automatic": it does
		}
		if of != "" {
			with := slices.DeleteFunc(r.loadsOf(of), func(id circuit.BranchID) bool { return !r.uses(k.modes[0], id) })
			switch {
			case len(with) > 0:
				loads = with
			case of == heating || of == r.l.Verbs["ends"].Of || !slices.ContainsFunc(loads, r.heats): // "heats even in cool-down"
				loads = r.loadsOf(of)
			}
		}
		if other := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool { return r.wasSaid(id, "normal") }); key != "normal" && len(other) > 0 {
			loads = other // "works on bake, cuts out on convection"
		}
		r.choose(&phrase{words: []string{s.words}, all: len(loads) < 4 || len(r.loadsOf("kind:surface_element")) == 0}, s, r.ofLoads(k, s, key, loads), k)
		return
	case of == "" && key != "normal" && len(r.lastLoads) > 0 && !nothing:
		for _, load := range r.lastLoads { // "hums and won't start"
			r.put(r.ofLoad(k, s, key, load))
		}
		return
	case of == "":
		r.stateOfMachine(k, s, key, &phrase{words: []string{s.words}})
		return
	}
	r.by = ofVerb
	loads := r.loadsOf(of)
	if len(loads) == 0 {
		loads = r.loadsOf(heating)
	}
	if with := slices.DeleteFunc(slices.Clone(loads), func(load circuit.BranchID) bool { return !r.besideFan(load) }); len(with) > 0 && !r.inAny(k) {
		loads = with // "the fan runs but no heat"
	}
	if with := slices.DeleteFunc(slices.Clone(loads), func(load circuit.BranchID) bool { return !r.beside(Statement{About: OfLoad, Load: load}) }); len(with) > 0 {
		loads = with // "the broiler won't light, no glow"
	}
	if key == "normal" && len(loads) > 3 && len(r.last) > 0 && !r.region(r.last[0]) {
		st := k.blank(OfWhole, s) // "but it cooks fine"
		st.What = "rest_normal"
		r.put(st)
		return
	}
	// What heats in one tank, drum or room is meant together.
	together := k.every || len(r.loadsOf("kind:surface_element")) == 0
	if !together && len(r.c.Controls()) > 0 && (slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "code" }) || slices.ContainsFunc(r.heard.Questions, func(q Question) bool { return q.What == "code" })) {
		loads, together = r.loadsOf("kind:element"), true // the control's codes are of the oven
	}
	if r.lastLoads = nil; key != "dead" && (together || len(loads) <= mostChoices) {
		r.lastLoads = loads
	}
	choices := r.ofLoads(k, s, key, loads)
	any := 0
	if key == "normal" && len(loads) > 1 && of != heating {
		any = len(r.heard.Statements) + 1 // "it blows", with two fans
	}
	for i := range choices {
		choices[i].Statements[0].unnamed, choices[i].Statements[0].Any = true, any
	}
	r.choose(&phrase{words: []string{s.words}, all: together}, s, choices, k)
}

// was reports whether the one load of what was spoken of is in a state.
func (r *reader) was(state string) bool {
	return len(r.last) == 1 && slices.ContainsFunc(r.parts(r.last[0], r.isLoad), func(id circuit.PartID) bool {
		return len(r.parts(r.last[0], r.isLoad)) == 1 && r.wasSaid(r.machine.loads[id][0], state)
	})
}

// wasSaid reports whether a state was said of a load.
func (r *reader) wasSaid(load circuit.BranchID, state string) bool {
	return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.Load == load && s.What == state })
}

// uses reports whether a mode should use a load.
func (r *reader) uses(m circuit.ModeID, load circuit.BranchID) bool { return uses(r.c, m, load) }

func uses(c *circuit.Circuit, m circuit.ModeID, load circuit.BranchID) bool {
	return slices.ContainsFunc(c.Mode(m).Expect, func(x circuit.Expectation) bool { return x.Load == load && x.Share > 0 })
}

// lastUsed reports whether a mode uses something of what was spoken of before.
func (r *reader) lastUsed(m circuit.ModeID) bool {
	return slices.ContainsFunc(r.last, func(p *phrase) bool { return r.usedIn(m, p) })
}

// usedIn reports whether a mode uses something that a phrase names.
func (r *reader) usedIn(m circuit.ModeID, p *phrase) bool {
	return slices.ContainsFunc(r.parts(p, r.isLoad), func(id circuit.PartID) bool {
		return slices.ContainsFunc(r.machine.loads[id], func(load circuit.BranchID) bool { return r.uses(m, load) })
	})
}

// together reports whether loads are several that heat in one place, with no mode that
// uses one without the others.
func (r *reader) together(loads []circuit.BranchID) bool {
	return len(loads) > 1 && !slices.ContainsFunc(loads, func(id circuit.BranchID) bool {
		return !r.heats(id) || r.onSurface(id) || slices.ContainsFunc(r.c.Modes(), func(m circuit.Mode) bool { return r.uses(m.ID, id) != r.uses(m.ID, loads[0]) })
	})
}

// burners counts loads, the coils of one burner as one.
func (r *reader) burners(loads []circuit.BranchID) (n int) {
	for i, load := range loads {
		if !slices.ContainsFunc(loads[:i], func(o circuit.BranchID) bool { return r.siblings(r.c.Branch(load).Part, r.c.Branch(o).Part) }) {
			n++
		}
	}
	return n
}

// places counts those that loads stand in by their names: the rows of a kiln, two ovens.
func (r *reader) places(loads []circuit.BranchID) int {
	in := map[string]bool{}
	for _, load := range loads {
		in[r.placeOf(r.c.Branch(load).Part)] = true
	}
	return len(in)
}

// placeOf is what a part's name begins with, but for its last word.
func (r *reader) placeOf(id circuit.PartID) string {
	name := r.c.Part(id).Name
	return name[:max(0, strings.LastIndex(name, "_"))]
}

// siblings reports whether two parts are coils of one burner.
func (r *reader) siblings(a, b circuit.PartID) bool {
	return a != b && r.isSurface(a) && r.placeOf(a) == r.placeOf(b)
}

// turning reports whether a phrase names what turns.
func (r *reader) turning(p *phrase) bool {
	parts := r.parts(p, r.isLoad)
	return len(parts) > 0 && r.turns(r.machine.loads[parts[0]])
}

// turns reports whether loads are motors and fans.
func (r *reader) turns(loads []circuit.BranchID) bool {
	return !slices.ContainsFunc(loads, func(id circuit.BranchID) bool {
		k := r.c.Part(r.c.Branch(id).Part).Kind
		return k != circuit.KindMotor && k != circuit.KindFan
	})
}

// heatsRoom reports whether what heats in a machine heats a room: it has no oven, burner,
// tank or drum.
func (r *reader) heatsRoom() bool {
	return !r.c.StoresHeat() && len(r.c.Controls())+len(r.loadsOf(drives))+len(r.loadsOf("kind:surface_element")) == 0 && !r.machine.words["oven"]
}

// kindles reports whether a word tells of a burner of gas that it lights, or does not.
func (r *reader) kindles(s *said) bool {
	return r.lightsGas() && r.l.formOf(strings.Fields(s.words)[0], []string{singular(r.l.Lights)})
}
