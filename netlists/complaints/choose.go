package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// spokenOf keeps of several parts the one that was spoken of before: "its coil".
func (r *reader) spokenOf(p *phrase, parts []circuit.PartID) []circuit.PartID {
	if len(r.last) != 1 || len(parts) < 2 && (len(p.where) > 0 || len(p.nouns) != 1 || p.all || p.joint) {
		return parts
	}
	before := r.parts(r.last[0], r.isLoad)
	if of := r.parts(r.last[0], anyPart); len(before) == 0 && len(of) == 1 && r.corner(of[0]) != "" && len(p.where) == 0 {
		before = slices.DeleteFunc(slices.Clone(parts), func(id circuit.PartID) bool { return r.corner(id) != r.corner(of[0]) }) // "240 at the left front receptacle, burner dead"
	}
	if len(before) == 1 && (slices.Contains(parts, before[0]) || len(p.nouns) == 1 && len(p.where) == 0 && slices.ContainsFunc(r.l.Nouns[p.nouns[0]].Is, func(is string) bool { return fits(r.machine.parts[before[0]], is) })) {
		return before // "the timer motor does not turn, its winding is open"
	}
	return parts
}

// companion is the plug or socket, named by that alone, of the part that was spoken of
// last: "the sensor reads open, plug is good". None where there is none.
func (r *reader) companion(p *phrase) circuit.PartID {
	last := r.last
	if len(last) == 0 {
		last = r.metered[max(0, len(r.metered)-1):]
	}
	bare := *p
	if bare.nouns, bare.said = nil, nil; p.joint { // "pins in the plug"
		for i, n := range p.nouns {
			if !r.l.Nouns[n].Joint {
				bare.nouns, bare.said = append(bare.nouns, n), append(bare.said, p.said[i])
			}
		}
		p = &bare
	}
	if len(last) != 1 || len(p.where) > 0 && !p.lent || len(p.nouns) != 1 || p.all || !r.namesOnly(p, circuit.KindConnector) {
		return circuit.None
	}
	of := r.partsFirst(last[0], r.isLoad)
	if len(of) != 1 {
		return circuit.None
	}
	own := r.nameWords(of[0])
	var those []circuit.PartID
	for i, set := range r.machine.parts {
		id := circuit.PartID(i)
		if r.c.Part(id).Kind == circuit.KindConnector && id != of[0] && set[singular(p.said[0])] && anyIn(r.nameWords(id), own) {
			those = append(those, id)
		}
	}
	return r.nearest(those, of[0])
}

// failed are the parts that a bare noun may mean and that were said not to work,
// beside what does: "no bake, broil works; element replaced".
func (r *reader) failed(p *phrase) []circuit.PartID {
	if len(p.where) > 0 && !p.lent || p.its || p.odd || p.count > 0 || r.isMachine(p) {
		return nil
	}
	bare := *p
	bare.where = nil
	if bad := slices.DeleteFunc(r.parts(&bare, r.isLoad), func(id circuit.PartID) bool { return !r.told("found_bad", id) }); len(bad) > 0 {
		return bad // "upper element open, the lower gets no power, element replaced"
	}
	return slices.DeleteFunc(r.parts(&bare, r.isLoad), func(id circuit.PartID) bool {
		return !slices.ContainsFunc(r.machine.loads[id], func(load circuit.BranchID) bool { return r.wasSaid(load, "dead") || r.wasSaid(load, "weak") })
	})
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
	for i, n := range p.nouns { // "foco del horno", in another language than the labels'
		if is := r.l.Nouns[n].Is; len(is) > 0 && strings.Contains(p.said[i], " ") {
			for _, f := range strings.Split(is[0], "+") {
				said[f] = true
			}
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
	case p.odd && !(len(exact) == 1 && fold(r.c.Part(exact[0]).Label) == strings.Join(p.words, " ")):
	case len(exact) == 1:
		return exact
	case len(heating) == 1:
		return heating
	}
	return parts
}

// ofParts are a statement of each part, with its label.
func (r *reader) ofParts(st Statement, parts []circuit.PartID) (out []Choice) {
	for _, st.Part = range parts {
		out = append(out, Choice{r.c.Part(st.Part).Label, []Statement{st}})
	}
	return out
}

// ofLoads are a state of each load, with its label.
func (r *reader) ofLoads(k *clause, s *said, key string, loads []circuit.BranchID) (out []Choice) {
	for _, load := range loads {
		out = append(out, Choice{r.c.Label(load), []Statement{r.ofLoad(k, s, key, load)}})
	}
	return out
}

// asks reports whether it was asked already which of these, or of some of them, is meant.
func (r *reader) asks(choices []Choice) bool {
	n := len(r.heard.Questions)
	return n > 0 && !slices.ContainsFunc(r.heard.Questions[n-1].Choices, func(a Choice) bool {
		return !slices.ContainsFunc(choices, func(b Choice) bool { return a.Label == b.Label })
	})
}

// inQuestion reports whether it was asked last if this is meant.
func (r *reader) inQuestion(c Choice) bool {
	n := len(r.heard.Questions)
	return n > 0 && slices.ContainsFunc(r.heard.Questions[n-1].Choices, func(o Choice) bool { return o.Label == c.Label })
}

// besides puts down with each answer to what was asked last how the others of it behave.
func (r *reader) besides(others []Choice) {
	if len(others) == 0 {
		return
	}
	q := &r.heard.Questions[len(r.heard.Questions)-1]
	for i, c := range q.Choices {
		for _, o := range others {
			if o.Label != c.Label && r.inQuestion(o) {
				r.count(&o.Statements[0])
				q.Choices[i].Statements = append(q.Choices[i].Statements, o.Statements[0])
			}
		}
	}
}

// choose puts down one statement, or all where all are meant, or asks which.
func (r *reader) choose(p *phrase, s *said, choices []Choice, k *clause) {
	r.means(p)
	choices = r.ofMode(choices, k)
	switch {
	case len(choices) == 0:
	case p.trail != "" && slices.Contains(append(k.places, k.subjects...), p) && len(choices) == 1 && (choices[0].Statements[0].Load == circuit.None || len(p.nouns) == 0): // "wire at the upper doodad"
		r.count(&choices[0].Statements[0])
		r.heard.Questions = append(r.heard.Questions, Question{Words: strings.Join(p.words, " "), What: s.key, About: choices[0].Statements[0].About, Choices: choices, Doubt: p.trail})
	case k.other && len(choices) > 1 && r.asks(choices): // "one is dead, the other works": which was asked
		r.besides(choices)
	case len(choices) == 1 || (p.all || r.region(p)) && !p.odd:
		for _, c := range choices {
			r.put(c.Statements[0])
		}
	default:
		if len(choices) > mostChoices && len(p.nouns) == 0 && choices[0].Statements[0].Load != circuit.None {
			if of := r.grouped(choices); len(of) > 1 {
				choices = of
			}
		}
		for _, c := range choices {
			r.count(&c.Statements[0])
		}
		r.heard.Questions = append(r.heard.Questions, Question{Words: strings.Join(p.words, " "), What: s.key, About: choices[0].Statements[0].About, Choices: choices, of: p,
			others: k.other && slices.ContainsFunc(p.words, func(w string) bool { return singular(w) != w })})
	}
}

// ofMode keeps of several choices the one that is called as a mode that is spoken of: "the fan
// does not run on convection" is of the convection fan.
func (r *reader) ofMode(choices []Choice, k *clause) []Choice {
	if len(choices) < 2 || len(k.modes) != 1 || slices.ContainsFunc(choices, func(c Choice) bool { return c.Statements[0].Load == circuit.None || r.heats(c.Statements[0].Load) }) {
		return choices // what heats in one mode may do so in others
	}
	called := strings.Fields(fold(r.c.Mode(k.modes[0]).Label))
	those := slices.DeleteFunc(slices.Clone(choices), func(c Choice) bool {
		own := slices.DeleteFunc(strings.Fields(fold(c.Label)), func(w string) bool {
			return slices.ContainsFunc(choices, func(o Choice) bool { return o.Label != c.Label && slices.Contains(strings.Fields(fold(o.Label)), w) })
		})
		return !anyIn(own, called)
	})
	if len(those) == 1 {
		return those
	}
	return choices
}

// mostChoices is of how many one is asked at most where none was named.
const mostChoices = 5

// grouped makes of one choice for each load one for the oven and one for the cooktop.
func (r *reader) grouped(choices []Choice) []Choice {
	groups := []Choice{{Label: r.l.Say["the_oven"]}, {Label: r.l.Say["the_cooktop"]}}
	for _, c := range choices {
		g := &groups[0]
		if r.onSurface(c.Statements[0].Load) {
			g = &groups[1]
		}
		g.Statements = append(g.Statements, c.Statements...)
	}
	return slices.DeleteFunc(groups, func(c Choice) bool { return len(c.Statements) == 0 })
}

// thatQuit are the loads that were said to stop by themselves, or to be dead as well.
func (r *reader) thatQuit(dead bool) (out []circuit.BranchID) {
	for _, s := range r.heard.Statements {
		switch {
		case s.Load != circuit.None && (s.What == "quits" || dead && s.What == "dead"):
			out = append(out, s.Load)
		case dead && s.What == "dark" && len(r.c.Controls()) > 0:
			out = append(out, r.c.Controls()[0].Supply)
		}
	}
	return out
}
