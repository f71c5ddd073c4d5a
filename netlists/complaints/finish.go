package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// finish makes statements of a clause.
func (p *parser) finish(comma bool) {
	r, k := p.r, p.k
	if len(k.said) == 0 && k.rarely {
		k.said = append(k.said, said{class: isState, key: "intermittent", words: "sometimes"})
	}
	if len(k.said) == 0 && k.unit != "" {
		k.said = append(k.said, said{class: isState, key: unitState(k.unit), words: strings.Join(k.words, " ")})
	}
	if len(k.said) == 0 && k.not && len(k.subjects) > 0 {
		k.said = append(k.said, said{class: isState, key: "dead", words: strings.Join(k.words, " ")})
	}
	if len(k.said) == 0 && len(k.subjects) > 0 && !slices.ContainsFunc(k.subjects, func(s *phrase) bool { return !s.finite }) {
		k.said = append(k.said, said{class: isState, key: "normal", words: strings.Join(k.words, " ")})
	}
	if len(k.said) == 0 {
		r.wait(k, comma)
		return
	}
	k.subjects = append(r.carried, k.subjects...)
	r.carried = nil
	for i := range k.said {
		r.say(k, &k.said[i])
	}
	if len(k.subjects) > 0 {
		r.last = k.subjects
	}
	if len(k.modes) > 0 {
		r.lastMode = k.modes[0]
	}
}

func unitState(unit string) string {
	if unit == "minutes" {
		return "slow"
	}
	return "off_by"
}

// wait keeps a list's subjects for what is said of them after the comma.
func (r *reader) wait(k *clause, comma bool) {
	if comma {
		r.carried = append(r.carried, k.subjects...)
		return
	}
	for _, list := range [][]*phrase{k.subjects, k.places} {
		for _, p := range list {
			r.heard.Unknown = append(r.heard.Unknown, p.words...)
		}
	}
}

// blank is a statement of a clause, with nothing said yet.
func (k *clause) blank(about About, s *said) Statement {
	st := Statement{About: about, What: s.key, Load: circuit.None, Part: circuit.None, Mode: circuit.None, When: k.when,
		Words: strings.Join(k.words, " ")}
	if len(k.modes) > 0 {
		st.Mode = k.modes[0]
	}
	return st
}

func (r *reader) say(k *clause, s *said) {
	switch s.class {
	case isWhole:
		r.whole(k, s)
	case isCode:
		st := k.blank(OfWhole, s)
		st.What, st.Code = "code", s.code
		if s.key != "" {
			st.Code = s.key
		}
		if st.Code == "" && !slices.ContainsFunc(k.said, func(o said) bool { return o.class != isCode }) {
			r.heard.Questions = append(r.heard.Questions, Question{Words: s.words, What: "code", About: OfWhole})
			return
		}
		switch {
		case st.Code == "":
		case codeMeans(r.c, st.Code) != "":
			r.put(st)
		default:
			r.askCode(st)
		}
	case isSeen:
		r.seen(k, s)
	case isHistory:
		r.history(k, s)
	case isState:
		r.state(k, s)
	}
}

// askCode asks what a code stands for that the netlist does not declare.
func (r *reader) askCode(st Statement) {
	q := Question{Words: strings.ToUpper(st.Code), What: "code", About: OfWhole}
	for _, what := range codeKinds {
		one := st
		one.Code = what
		q.Choices = append(q.Choices, Choice{strings.ReplaceAll(what, "_", " "), one})
	}
	r.heard.Questions = append(r.heard.Questions, q)
}

func (r *reader) put(s Statement) {
	if !slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
		o.Words = s.Words
		return o == s
	}) {
		r.heard.Statements = append(r.heard.Statements, s)
	}
}

func (r *reader) whole(k *clause, s *said) {
	st := k.blank(OfWhole, s)
	if denied, ok := strings.CutPrefix(s.key, "not:"); ok {
		r.heard.Unknown = append(r.heard.Unknown, "not "+denied)
		return
	}
	// "lights dim" of a machine's own lamp is a state of that lamp.
	for _, m := range k.modes[min(1, len(k.modes)):] {
		more := st
		more.Mode = m
		r.put(more)
	}
	if st.Mode == circuit.None && len(k.places) > 0 {
		st.Mode = r.mode(k.places[0])
	}
	r.put(st)
}

// seen puts down what was seen, heard or smelt, at each place named.
func (r *reader) seen(k *clause, s *said) {
	places := append(slices.Clone(k.places), k.subjects...)
	if len(places) == 0 {
		r.put(k.blank(OfPlace, s))
		return
	}
	joint := slices.ContainsFunc(places, func(p *phrase) bool { return p.joint })
	named := slices.DeleteFunc(slices.Clone(places), func(p *phrase) bool {
		return len(p.where) == 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !r.l.nouns[n].Joint })
	})
	if len(named) == 0 {
		st := k.blank(OfPlace, s)
		st.Joint = joint
		r.put(st)
		return
	}
	for _, p := range named {
		parts := r.parts(p, r.isLoad)
		if len(parts) == 0 {
			parts = r.parts(p, func(circuit.PartID) bool { return true })
		}
		r.choose(p, k, s, len(parts), func(i int) Statement {
			st := k.blank(OfPlace, s)
			st.Part, st.Joint = parts[i], joint
			return st
		}, func(i int) string { return r.c.Part(parts[i]).Label })
	}
}

func (r *reader) history(k *clause, s *said) {
	if !slices.Contains([]string{"replaced", "failed_again", "reset", "good_elsewhere", "like_works_here", "like_dead_here"}, s.key) {
		r.put(k.blank(OfHistory, s))
		return
	}
	places := append(slices.Clone(k.subjects), k.places...)
	if len(places) == 0 && s.key != "replaced" && s.key != "reset" {
		places = r.last
	}
	if len(places) == 0 {
		r.put(k.blank(OfHistory, s))
		return
	}
	for _, p := range places {
		parts := r.parts(p, r.isLoad)
		if len(parts) == 0 {
			parts = r.parts(p, func(circuit.PartID) bool { return true })
		}
		parts = r.spokenOf(parts)
		r.choose(p, k, s, len(parts), func(i int) Statement {
			st := k.blank(OfHistory, s)
			st.Part = parts[i]
			return st
		}, func(i int) string { return r.c.Part(parts[i]).Label })
	}
}

// spokenOf keeps of several parts the one that was spoken of before: "its coil".
func (r *reader) spokenOf(parts []circuit.PartID) []circuit.PartID {
	if len(parts) < 2 || len(r.last) != 1 {
		return parts
	}
	if before := r.parts(r.last[0], r.isLoad); len(before) == 1 && slices.Contains(parts, before[0]) {
		return before
	}
	return parts
}

// likeliest keeps of several parts the one whose name holds nothing that was
// not said, or the only one that heats.
func (r *reader) likeliest(p *phrase, parts []circuit.PartID) []circuit.PartID {
	if len(parts) < 2 || p.all || r.region(p) {
		return parts
	}
	said := map[string]bool{}
	for _, w := range p.words {
		for _, f := range strings.Fields(w) {
			said[singular(f)] = true
		}
	}
	var exact, heating []circuit.PartID
	for _, id := range parts {
		extra := false
		for _, w := range strings.Fields(fold(r.c.Part(id).Label)) {
			kind := strings.Contains(r.c.Part(id).Kind.String(), singular(w))
			extra = extra || !said[singular(w)] && !kind
		}
		if !extra {
			exact = append(exact, id)
		}
		if r.c.Part(id).Kind.Heats() {
			heating = append(heating, id)
		}
	}
	switch {
	case len(exact) == 1:
		return exact
	case len(heating) == 1:
		return heating
	}
	return parts
}

// choose puts down one statement, or all where all are meant, or asks which.
func (r *reader) choose(p *phrase, k *clause, s *said, n int, make func(int) Statement, label func(int) string) {
	switch {
	case n == 0:
		r.heard.Unknown = append(r.heard.Unknown, p.words...)
	case n == 1 || p.all || r.region(p):
		for i := range n {
			r.put(make(i))
		}
	default:
		q := Question{Words: strings.Join(p.words, " "), What: s.key, About: make(0).About}
		for i := range n {
			q.Choices = append(q.Choices, Choice{label(i), make(i)})
		}
		r.heard.Questions = append(r.heard.Questions, q)
	}
}

// state puts down how loads behave.
func (r *reader) state(k *clause, s *said) {
	key := r.shade(k, s.key)
	if k.rest {
		st := k.blank(OfWhole, s)
		st.What = "rest_" + key
		r.put(st)
		return
	}
	modes := k.modes
	if len(modes) == 0 {
		modes = []circuit.ModeID{circuit.None}
	}
	subjects := k.subjects
	if len(subjects) == 0 {
		subjects = r.loadPlaces(k)
	}
	if about, ok := ofRegion[key]; ok && len(k.modes) < 2 && !slices.ContainsFunc(subjects, func(p *phrase) bool { return !r.region(p) }) {
		st := k.blank(OfWhole, s)
		st.What, st.Amount, st.Unit = about, r.signed(k, s), k.unit
		if st.Mode == circuit.None && len(subjects) > 0 {
			st.Mode = r.regionMode(key, subjects[0])
		}
		r.put(st)
		return
	}
	for _, m := range modes {
		one := *k
		one.modes = []circuit.ModeID{m}
		if m == circuit.None {
			one.modes = nil
		}
		for _, p := range subjects {
			r.stateOf(&one, s, key, p)
		}
		if len(subjects) == 0 {
			r.stateOfNone(&one, s, key)
		}
	}
}

// ofRegion are states that "the oven" is in as a whole, as told: one of what
// heats there may do it alone.
var ofRegion = map[string]string{"on": "some_on", "slow": "slow", "hot": "off_by", "off_by": "off_by", "runs_out": "runs_out"}

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

// signed is how far off, below zero for too cold.
func (r *reader) signed(k *clause, s *said) float64 {
	for _, w := range strings.Fields(s.words) {
		if r.l.below[w] {
			return -k.amount
		}
	}
	if k.side == "below" {
		return -k.amount
	}
	return k.amount
}

// loadPlaces are places that are loads: "no heat from the broiler".
func (r *reader) loadPlaces(k *clause) []*phrase {
	var out []*phrase
	for _, p := range k.places {
		if len(r.parts(p, r.isLoad)) > 0 {
			out = append(out, p)
		}
	}
	return out
}

// shade joins a state with when it is so, how often, and in which mode.
func (r *reader) shade(k *clause, key string) string {
	off := slices.Contains(k.modes, r.c.OffMode())
	switch {
	case k.rarely && (key == "dead" || key == "normal" || key == "weak"):
		return "intermittent"
	case off && (key == "normal" || key == "hot" || key == "weak"):
		return "on"
	case k.when == "hot" && (key == "dead" || key == "quits"), k.when == "cold" && key == "normal":
		return "fails_hot"
	case k.when == "cold" && key == "dead", k.when == "hot" && key == "normal":
		return "fails_cold"
	case k.when == "touched" && (key == "normal" || key == "intermittent" || key == "dead"):
		return "touched"
	}
	return key
}

func (r *reader) stateOf(k *clause, s *said, key string, p *phrase) {
	parts := r.parts(p, r.isLoad)
	if len(parts) == 0 {
		r.heard.Unknown = append(r.heard.Unknown, p.words...)
		return
	}
	var loads []circuit.BranchID
	for _, id := range r.likeliest(p, parts) {
		loads = append(loads, r.machine.loads[id]...)
	}
	if r.region(p) { // "broiler dead, the oven works": the rest of the oven
		rest := slices.DeleteFunc(slices.Clone(loads), func(id circuit.BranchID) bool {
			return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.Load == id })
		})
		if len(rest) > 0 {
			loads = rest
		}
	}
	r.choose(p, k, s, len(loads), func(i int) Statement { return r.ofLoad(k, s, key, loads[i]) },
		func(i int) string { return r.c.Label(loads[i]) })
}

func (r *reader) ofLoad(k *clause, s *said, key string, load circuit.BranchID) Statement {
	st := k.blank(OfLoad, s)
	st.What, st.Load = key, load
	if key == "slow" || key == "off_by" {
		st.Amount, st.Unit = r.signed(k, s), k.unit
	}
	if key == "fails_hot" || key == "fails_cold" || key == "touched" {
		st.When = ""
	}
	return st
}

// loadsOf lists the loads of parts with the features.
func (r *reader) loadsOf(features string) []circuit.BranchID {
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
		for _, id := range r.parts(p, r.isLoad) {
			if of != "" && !fits(r.machine.parts[id], of) {
				return false
			}
		}
	}
	return true
}

// stateOfNone puts a state down that names no load: of the mode's loads, of
// the subject before, or of all that heats; several are asked.
func (r *reader) stateOfNone(k *clause, s *said, key string) {
	if len(r.last) > 0 && len(k.modes) == 0 && r.lastIs(s.of) {
		for _, p := range r.last {
			r.stateOf(k, s, key, p)
		}
		return
	}
	var loads []circuit.BranchID
	if len(k.modes) > 0 && k.modes[0] != r.c.OffMode() {
		loads = r.mainLoads(k.modes[0])
	} else {
		of := s.of
		if of == "" {
			of = heating
		}
		loads = r.loadsOf(of)
		if len(loads) == 0 {
			loads = r.loadsOf(heating)
		}
	}
	// What heats in one tank, drum or room is meant together.
	together := len(loads) < 4 && len(r.loadsOf("kind:surface_element")) == 0
	r.choose(&phrase{words: []string{s.words}, all: together}, k, s, len(loads), func(i int) Statement { return r.ofLoad(k, s, key, loads[i]) },
		func(i int) string { return r.c.Label(loads[i]) })
}
