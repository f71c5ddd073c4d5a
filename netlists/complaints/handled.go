package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// handling is what was moved, pushed or tapped as something came or went.
type handling struct {
	phrases []*phrase
	words   []string
}

// handledAt is the one part by which something came or went as it was moved: of several of
// a name the one at a wire of the load. What is there to be worked tells nothing by it:
// "works when I press start".
func (r *reader) handledAt(h handling, load circuit.BranchID) circuit.PartID {
	var out []circuit.PartID
	for _, np := range h.phrases {
		if r.isMachine(np) || r.region(np) || np.done {
			continue
		}
		parts := r.likeliest(np, r.parts(np, anyPart))
		if own := r.ownPlug(np, parts, load); own != circuit.None {
			parts = []circuit.PartID{own}
		}
		if len(parts) == 1 {
			out = append(out, parts[0])
		}
	}
	if len(out) > 1 && (load != circuit.None || r.c.Part(out[0]).Kind != circuit.KindConnector) {
		out = out[:1] // "the plug under the oven floor"
	} else if len(out) == 2 {
		out = out[1:] // "the plug at the sensor"
	}
	if len(out) == 0 {
		for i := range r.c.Parts() { // "when the door is pushed in"
			if r.c.Part(circuit.PartID(i)).Kind == circuit.KindDoorSwitch && r.interlocks(circuit.PartID(i)) && slices.ContainsFunc(strings.Fields(strings.Join(h.words, " ")), func(w string) bool {
				return r.machine.parts[i][w] && strings.HasPrefix(circuit.KindDoorSwitch.String(), w)
			}) {
				out = append(out, circuit.PartID(i))
			}
		}
	}
	if len(out) != 1 {
		return circuit.None
	}
	switch p := r.c.Part(out[0]); {
	case p.Kind == circuit.KindPushSwitch, p.Kind == circuit.KindSelector, p.Kind == circuit.KindCyclingSwitch, p.Kind == circuit.KindControl, p.Kind == circuit.KindMotor, load != circuit.None && r.c.Branch(load).Part == p.ID,
		load != circuit.None && r.isSurface(r.c.Branch(load).Part) && r.fedByLegs(p.ID): // "left rear works when I push the plug in" is of its own
		return circuit.None
	}
	return out[0]
}

// interlocks reports whether a wire leads from a switch to more than a lamp and what is fed.
func (r *reader) interlocks(id circuit.PartID) bool {
	return slices.ContainsFunc(r.c.Wires(), func(w circuit.Wire) bool {
		from, to := r.c.Terminal(w.From).Part, r.c.Terminal(w.To).Part
		if from != id && to != id || from == circuit.None || to == circuit.None {
			return false
		}
		if to == id {
			to = from
		}
		switch r.c.Part(to).Kind {
		case circuit.KindLamp, circuit.KindTerminalBlock, circuit.KindConnector, circuit.KindControl, circuit.KindSupply:
			return false
		}
		return true
	})
}

// pressed reports whether what was done to a thing that is not there to be worked is to push
// or to pull it: "when the door switch is pressed in", not "when I press start".
func (r *reader) pressed(h handling) bool {
	if !slices.ContainsFunc(h.words, func(w string) bool {
		first, _, _ := strings.Cut(w, " ")
		return r.l.formOf(first, r.l.Presses)
	}) {
		return false
	}
	if len(h.phrases) == 0 {
		return r.handledAt(h, circuit.None) != circuit.None
	}
	return slices.ContainsFunc(h.phrases, func(np *phrase) bool {
		return r.namesOnly(np, circuit.KindSurfaceElement, circuit.KindDoorSwitch, circuit.KindConnector, circuit.KindTerminalBlock, circuit.KindRelay, circuit.KindLimit, circuit.KindThermalFuse)
	})
}

// ownPlug is the one plug at the wires of the part that is named beside it, or of the load.
func (r *reader) ownPlug(np *phrase, parts []circuit.PartID, load circuit.BranchID) circuit.PartID {
	if len(parts) == 0 || slices.ContainsFunc(parts, func(id circuit.PartID) bool { return r.c.Part(id).Kind != circuit.KindConnector }) {
		return circuit.None
	}
	bare := phrase{where: np.where}
	for i, n := range np.nouns {
		if !r.namesOnly(&phrase{nouns: []int{n}, said: np.said[i : i+1]}, circuit.KindConnector) {
			bare.nouns, bare.said = append(bare.nouns, n), append(bare.said, np.said[i])
		}
	}
	of := r.likeliest(&bare, r.parts(&bare, anyPart))
	switch {
	case load != circuit.None && (len(bare.nouns) == 0 || slices.Contains(of, r.c.Branch(load).Part)):
		of = []circuit.PartID{r.c.Branch(load).Part}
	case len(bare.nouns) == 0:
		return circuit.None
	}
	return r.plugBeside(of)
}

// plugBeside is the one plug at the wires of parts, None where there are several.
func (r *reader) plugBeside(of []circuit.PartID) circuit.PartID {
	plug := circuit.PartID(circuit.None)
	for _, w := range r.c.Wires() {
		for _, ends := range [][2]circuit.TerminalID{{w.From, w.To}, {w.To, w.From}} {
			id := r.c.Terminal(ends[1]).Part
			if !slices.Contains(of, r.c.Terminal(ends[0]).Part) || id == circuit.None || r.c.Part(id).Kind != circuit.KindConnector || id == plug {
				continue
			}
			if plug != circuit.None {
				return circuit.None
			}
			plug = id
		}
	}
	return plug
}

// putHandled adds where something came or went as it was moved.
func (r *reader) putHandled(s Statement) {
	h := r.handled
	if words := split(s.Words); len(h.phrases) == 0 {
		at := slices.IndexFunc(words, func(w raw) bool { return r.l.touches(w.word) })
		if at < 0 {
			at = slices.IndexFunc(words, func(w raw) bool { return r.l.alone(w.word).has(isSub) })
		}
		if at >= 0 {
			h.phrases = slices.DeleteFunc(r.named(slices.Clone(words[at:])), func(np *phrase) bool { return len(r.parts(np, r.isNoLoad)) == 0 })
		}
		h.words = strings.Fields(s.Words)
	}
	if at := r.handledAt(h, s.Load); at != circuit.None {
		r.put(Statement{About: OfPlace, What: "touched", Load: circuit.None, Part: at, Mode: circuit.None, Words: s.Words, wording: wording{clause: s.clause}})
	}
}

// jumps takes a clause that tells of a reading which jumps as a part is moved: "jumps to
// OL when the harness at the sensor is moved".
func (r *reader) jumps(words []raw) []raw {
	for from := 0; from < len(words); from++ {
		to := from
		for to < len(words) && words[to].mark == 0 {
			to++
		}
		sub := slices.IndexFunc(words[from:to], func(w raw) bool { return r.l.alone(w.word).has(isSub) })
		jump := slices.IndexFunc(words[from:to], func(w raw) bool { return r.l.formOf(w.word, r.l.Meter.Jumps) })
		if jump >= 0 && sub > jump && r.l.reading(words[from:from+jump]) && !r.strange(words[from:to]) {
			moved := words[from+sub+1 : to]
			h := handling{}
			for _, w := range moved {
				h.words = append(h.words, w.word)
			}
			touched := slices.ContainsFunc(h.words, func(w string) bool { return r.l.touches(w) })
			h.phrases = r.named(slices.Clone(moved))
			if at := r.handledAt(h, circuit.None); (touched || r.pressed(h)) && at != circuit.None {
				r.put(Statement{About: OfPlace, What: "touched", Load: circuit.None, Part: at, Mode: circuit.None, Words: joined(words[from:to])})
				words = slices.Replace(words, from, to, raw{mark: ','})
				to = from
			}
		}
		from = to
	}
	return words
}

// named are the phrases that name something, one by one.
func (r *reader) named(words []raw) (out []*phrase) {
	p := &parser{r: r, k: &clause{}}
	for _, t := range append(r.l.tokens(words, r.machine), token{stop: true}) {
		switch {
		case t.has(isNoun):
			p.noun(&t)
		case t.has(isWhere):
			p.where(&t)
		case p.np != nil && (t.stop || t.has(placePrep) || t.has(modePrep) || t.has(joins)):
			out, p.np = append(out, p.np), nil
		}
	}
	return out
}

// reading reports whether words name what a meter shows, and not what it is of.
func (l *Language) reading(words []raw) bool {
	return slices.ContainsFunc(words, func(w raw) bool {
		unit := l.unitOf(w.word)
		return unit == "ohms" || unit == "volts" || slices.Contains(l.Meter.Volts, w.word) || l.formOf(w.word, l.Meter.Measuring)
	})
}

// strange reports whether words hold one that is not known, and is none of a meter's.
func (r *reader) strange(words []raw) bool {
	m := &r.l.Meter
	return slices.ContainsFunc(r.l.tokens(slices.Clone(words), r.machine), func(t token) bool {
		return t.unknown && !r.l.formOf(t.text, m.Jumps) && !slices.Contains(m.Open, t.text) && !slices.Contains(m.Words, t.text)
	})
}

// touches reports whether a word is of what moves a thing.
func (l *Language) touches(w string) bool {
	return l.alone(w).is(isCircum, "touched") || slices.ContainsFunc(l.bases(w), func(b base) bool { return l.alone(b.word).is(isCircum, "touched") })
}

// touchedThen reports whether a clause goes on to tell of what moves a thing: "worked while I
// wiggled the knob".
func (p *parser) touchedThen(t *token) bool {
	when := false
	for i := t.at + 1; i < len(p.r.tokens) && !p.r.tokens[i].stop && !p.r.tokens[i].has(ends); i++ {
		n, moved := &p.r.tokens[i], false
		if when = when || n.is(isSub, "when"); n.is(isCondition, "touched") {
			moved = n.is(isHistory, "moved")
		} else if !when || !n.is(isCircum, "touched") && !p.r.l.touches(n.text) {
			continue
		}
		return !moved && !n.empty() || p.moves(p.r.tokens[i+1:])
	}
	return false
}

// moves reports whether what is said to be moved is what the clause is about, or a part, and
// not the whole machine.
func (p *parser) moves(rest []token) bool {
	n := content(rest)
	of := p.lastSubject()
	if n != nil && !n.has(pronoun) {
		return n.has(isNoun) && !p.r.l.nounOf(n).Machine && !p.r.l.nounOf(n).Region
	}
	return of != nil && !p.r.isMachine(of) && !p.r.region(of)
}
