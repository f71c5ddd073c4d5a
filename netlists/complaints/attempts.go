package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// attempt is something that was tried, of which it was not yet said what came of it.
type attempt struct {
	key    string // "bridged", "pulled"
	on     []*phrase
	words  string
	from   span
	in     *clause
	called bool // what was done names the part: "set to manual"
}

// came tells by what became of an attempt what the two say together.
var came = map[string]map[string]string{
	"bridged": {"normal": "bridged_works", "works_again": "bridged_works", "on": "bridged_works", "dead": "bridged_no_help", "no_help": "bridged_no_help"},
	"pulled":  {"quits": "wire_stops", "dead": "wire_stops"},
	"set":     {"normal": "set_right", "works_again": "set_right"},
	"swapped": {"normal": "like_works_here", "works_again": "like_works_here", "dead": "like_dead_here", "no_help": "like_dead_here"},
}

// attempt keeps what was tried until it is said what came of it.
func (r *reader) attempt(k *clause, s *said) {
	on := append(slices.Clone(k.subjects), k.places...)
	for _, c := range r.machine.called { // "set to manual", which closes the contact that is called so
		if len(c.words) == 1 && strings.HasSuffix(" "+s.words, " "+c.words[0]) {
			on = append([]*phrase{{nouns: []int{c.noun}, said: c.words, words: c.words}}, on...)
		}
	}
	// "set the clock to manual"
	manual := s.key == "bridged" && r.l.formOf(strings.Fields(s.words)[0], r.l.Turned) && !slices.ContainsFunc(on, func(p *phrase) bool { return r.bridges(r.parts(p, anyPart)) })
	if s.key == "set" || manual { // "demonstration mode cleared", "the knob was left at time bake"
		on = []*phrase{r.phraseCalled(r.l.Control)}
		for _, part := range r.c.Parts() {
			if len(r.c.Controls()) == 0 && part.Kind == circuit.KindSwitch && r.machine.parts[part.ID]["timer"] { // of a clock that works it
				on = []*phrase{r.phraseOf(part.ID)}
			}
		}
	}
	switch {
	case len(r.last) == 1 && (s.key == "swapped" || len(on) == 0 && s.key == "bridged" && r.bridges(r.parts(r.last[0], anyPart))):
		on = r.last // "the fuse is open, jumped it", "left front dead, tried the right coil in it"
	case len(on) == 0 && s.key == "bridged":
		on = r.lastBad()
	}
	in := strings.Fields(s.words)
	for i, w := range slices.Backward(in) {
		if slices.Contains(r.l.Meter.In, w) || slices.Contains(r.l.Into, w) {
			in = in[i:]
			break
		}
	}
	if at := r.triedAt(in); s.key == "swapped" && at != "" { // "in the left front"
		if load, err := r.c.FindLoad(at); err == nil {
			on = []*phrase{r.phraseOf(r.c.Branch(load).Part)}
		}
	}
	if d := r.done; d != nil && d.in == k {
		d.from.join(s.from) // "pulling the wire off"
	} else if r.done = nil; len(on) > 0 && !(s.key == "pulled" && r.isMachine(on[0])) { // not "pulled the dryer out"
		r.done = &attempt{s.key, on, s.words, s.from, k, s.key != "swapped" && len(on) > len(k.subjects)+len(k.places)}
	}
}

// bridges reports whether parts are such as may be bridged: none a load, each with a contact.
func (r *reader) bridges(parts []circuit.PartID) bool {
	return len(parts) > 0 && !slices.ContainsFunc(parts, func(id circuit.PartID) bool {
		return r.isLoad(id) || r.fedByLegs(id) || !slices.ContainsFunc(r.c.Branches(), func(b circuit.Branch) bool { return b.Part == id && b.Role == circuit.Contact })
	})
}

// lastBad is what was found bad or measured last and may be bridged: "0 out of the
// thermostat, bypassed it".
func (r *reader) lastBad() []*phrase {
	for _, s := range slices.Backward(r.heard.Statements) {
		if (s.What == "found_bad" || s.What == "reads") && r.bridges([]circuit.PartID{s.Part}) {
			return []*phrase{r.phraseOf(s.Part)}
		}
	}
	return nil
}

// left puts down attempts of which nothing came: "wire off at the heater", "no heat; set to manual".
func (r *reader) left() {
	switch d := r.done; {
	case d == nil:
	case d.key == "pulled" && strings.HasSuffix(d.words, " off") && r.l.alone(strings.Fields(d.words)[0]).has(isNoun):
		r.say(&clause{id: d.in.id, places: d.on, words: d.in.words}, &said{class: isSeen, key: "loose", words: d.words, from: d.from})
	case d.called && slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "dead" }):
		r.cameOf(d.in, &said{class: isState, key: "dead", words: d.words, from: d.from})
	}
}

// cameOf puts down what came of an attempt, and reports whether it did.
func (r *reader) cameOf(k *clause, s *said) bool {
	d := r.done
	if d == nil || came[d.key][s.key] == "" || len(d.on) == 0 {
		return false
	}
	st := k.blank(OfHistory, s)
	st.What, st.Mode, st.When = came[d.key][s.key], circuit.None, ""
	first := func(id circuit.PartID) bool { return !r.isLoad(id) }
	if d.key != "bridged" && len(r.parts(d.on[0], r.isLoad)) > 0 {
		first = r.isLoad
	}
	parts := r.likeliest(d.on[0], r.parts(d.on[0], first))
	r.now.join(d.from)
	for _, p := range slices.Concat(d.on, k.subjects) {
		if of := r.parts(p, r.isLoad); slices.Contains(d.on, p) || len(of) > 0 && (d.key == "pulled" || fits(r.machine.parts[of[0]], heating+"|"+drives)) {
			r.now.join(p.from)
		}
	}
	if d.key == "set" { // "the knob was at time bake, turned to bake it heats"
		r.now.join(k.at[ofMode])
		for _, p := range d.in.subjects {
			r.now.join(p.from)
		}
	}
	r.done = nil
	choices := r.ofParts(st, parts)
	for i := range choices {
		if d.key == "pulled" && r.isLoad(parts[i]) {
			choices[i].Statements[0].Part, choices[i].Statements[0].Load = circuit.None, r.machine.loads[parts[i]][0]
		}
	}
	r.choose(d.on[0], &said{key: st.What, words: d.words}, choices, k)
	return true
}

// exchange is of a coil that failed and of another, each put in the other's place.
type exchange struct {
	failed, other circuit.BranchID
	at            int // so many statements were made
}

// exchange keeps which two were exchanged, "swapped it with the right front one", and
// reports whether they are known.
func (r *reader) exchange(k *clause) bool {
	var others []circuit.BranchID
	for _, p := range k.places {
		for _, id := range r.parts(p, r.isSurface) {
			others = append(others, r.machine.loads[id]...)
		}
	}
	failed := r.deadCoils(others)
	if len(others) != 1 || !r.onSurface(others[0]) || len(failed) != 1 {
		return false
	}
	r.exchanged = &exchange{failed[0], others[0], len(r.heard.Statements)}
	for _, p := range k.places {
		r.now.join(p.from)
	}
	r.used.join(r.now)
	r.used.join(k.at[ofMode])
	k.made = true
	return true
}

// putsIt reports whether a phrase tells where somebody put what was spoken of: "put it in".
func (r *reader) putsIt(said string) bool {
	return slices.ContainsFunc(strings.Fields(said), func(w string) bool { return r.l.alone(w).has(pronoun) })
}

// deadCoils are the surface units that were said to be dead, but for some.
func (r *reader) deadCoils(but []circuit.BranchID) (out []circuit.BranchID) {
	for _, s := range r.heard.Statements {
		if s.About == OfLoad && s.What == "dead" && r.onSurface(s.Load) && !slices.Contains(but, s.Load) {
			out = append(out, s.Load)
		}
	}
	if b := r.before; len(out) == 0 && b != nil && b.dead && r.onSurface(b.load) && !slices.Contains(but, b.load) {
		out = append(out, b.load)
	}
	return out
}

// failedCoil is the one surface unit that was said to be dead, nil where several were.
func (r *reader) failedCoil() []*phrase {
	of := r.deadCoils(nil)
	if len(of) != 1 {
		return nil
	}
	return []*phrase{r.phraseOf(r.c.Branch(of[0]).Part)}
}

// settleExchange makes of what was said since an exchange what it tells of the coil that
// failed: dead in the other's place, its like dead or alive in its own.
func (r *reader) settleExchange() {
	x := r.exchanged
	for i := range r.heard.Statements {
		s := &r.heard.Statements[i]
		if x == nil || i < x.at || s.What != "works_again" && (s.About != OfLoad || s.Load != x.failed && s.Load != x.other) {
			continue
		}
		what := map[string]string{"normal": "like_works_here", "dead": "like_dead_here"}
		if (s.Load == x.other || s.What == "works_again" || s.way.nameless() && s.What == "normal") && !slices.Contains(strings.Fields(s.Words), r.l.Still) {
			what = map[string]string{"normal": "good_elsewhere", "works_again": "good_elsewhere", "dead": "found_bad"} // "and it works"
		}
		of := r.c.Branch(x.failed).Part
		switch {
		case what[s.What] == "":
		case slices.ContainsFunc(r.heard.Statements[x.at:i], func(o Statement) bool { return o.What == what[s.What] && o.Part == of }):
			s.About, s.What = OfLoad, "" // "it works fine" is one thing
		default:
			if what[s.What] == "good_elsewhere" {
				s.there = r.c.Branch(x.other).Ref
			}
			s.About, s.What, s.Part, s.Load, s.Mode = OfHistory, what[s.What], of, circuit.None, circuit.None
		}
	}
}

// elsewhere reports whether what is spoken of is at a place that is another's: "the
// right coils heat in the left sockets".
func (r *reader) elsewhere(k *clause) bool {
	if len(k.subjects) != 1 || len(k.places) != 1 || len(k.subjects[0].where) == 0 && !k.subjects[0].its || len(k.places[0].where) == 0 || len(k.places[0].nouns) == 0 {
		return false
	}
	at := r.parts(k.places[0], func(id circuit.PartID) bool { return r.c.Part(id).Kind == circuit.KindConnector })
	return len(at) > 0 && slices.ContainsFunc(k.places[0].where, func(w string) bool { return !slices.Contains(k.subjects[0].where, w) })
}

// traded are two of a kind that changed places.
type traded struct {
	parts []circuit.PartID
	from  span
}

// trade keeps which two parts changed places: "swapped the bake and broil relays".
func (r *reader) trade(subjects []*phrase, from span) {
	r.traded = nil
	if len(subjects) != 2 || len(subjects[1].nouns) == 0 {
		return
	}
	t, last := traded{from: from}, len(subjects[1].nouns)-1
	for _, p := range subjects {
		one := *p
		if len(p.nouns) == 0 || p.nouns[len(p.nouns)-1] != subjects[1].nouns[last] { // "the bake and" the broil relay
			one.nouns, one.said = append(slices.Clone(p.nouns), subjects[1].nouns[last]), append(slices.Clone(p.said), subjects[1].said[last])
		}
		parts := r.likeliest(&one, r.parts(&one, anyPart))
		if len(parts) != 1 {
			return
		}
		t.parts = append(t.parts, parts[0])
		t.from.join(p.from)
	}
	if a, b := t.parts[0], t.parts[1]; a != b && r.c.Part(a).Kind == r.c.Part(b).Kind {
		r.traded = &t
	}
}

// moved puts down that what failed went with one of two parts that changed places: it is
// the one that was not where it fails now. Where that was not said it is asked.
func (r *reader) moved(k *clause, s *said) bool {
	t := r.traded
	if t == nil {
		return false
	}
	bad := slices.DeleteFunc(slices.Clone(t.parts), func(id circuit.PartID) bool {
		return slices.ContainsFunc(k.words, func(w string) bool {
			return slices.ContainsFunc(strings.Fields(w), func(w string) bool {
				return r.machine.parts[id][w] && !slices.ContainsFunc(t.parts, func(o circuit.PartID) bool { return o != id && r.machine.parts[o][w] })
			})
		})
	})
	if len(bad) == 0 {
		bad = t.parts
	}
	r.now.join(t.from)
	for _, at := range k.at {
		r.now.join(at)
	}
	st := k.blank(OfHistory, s)
	st.Mode = circuit.None
	r.choose(&phrase{words: strings.Fields(s.words)}, s, r.ofParts(st, bad), k)
	return true
}
