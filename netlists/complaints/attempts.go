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
	case s.key == "bridged" && (len(on) == 0 || len(on) == 1 && r.ofContact(on[0]) && len(on[0].where) == 0):
		if last := r.lastBad(); len(last) > 0 || len(on) == 0 {
			for _, p := range on {
				s.from.join(p.from)
			}
			on = last // "its coil gets its volts, bridging the contact makes it heat"
		}
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
		if (s.What == "found_bad" || s.What == "reads" || s.What == "coil_fed") && r.bridges([]circuit.PartID{s.Part}) {
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

// elsewhere reports whether what is spoken of is at a place that is another's: "the
// right coils heat in the left sockets".
func (r *reader) elsewhere(k *clause) bool {
	if len(k.subjects) != 1 || len(k.places) != 1 || len(k.subjects[0].where) == 0 && !k.subjects[0].its || len(k.places[0].where) == 0 || len(k.places[0].nouns) == 0 {
		return false
	}
	at := r.parts(k.places[0], func(id circuit.PartID) bool { return r.c.Part(id).Kind == circuit.KindConnector })
	return len(at) > 0 && slices.ContainsFunc(k.places[0].where, func(w string) bool { return !slices.Contains(k.subjects[0].where, w) })
}
