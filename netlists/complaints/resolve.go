package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// phrase is a noun with the words that single it out: "left front burner".
type phrase struct {
	words  []string
	where  []string
	nouns  []int
	count  int      // how many there are, 0 where it was not said
	said   []string // the nouns as they were said
	its    bool
	of     bool // it belongs to what was spoken of before: "its light"
	borrow bool // its nouns are those of what was spoken of before
	lent   bool // what singles it out is that of what was spoken of before
	only   bool
	own    bool // singled out by a word of the machine's own
	just   bool // it stands right after what is said of it
	all    bool // all of them, or spoken of as several
	linked bool // it stands after "and"
	joint  bool
	finite bool   // "bakes": the noun may be the verb as well
	done   bool   // it names what is done: "bake", not "broiler"
	verb   bool   // "won't bake": so is its last noun
	odd    bool   // singled out by a word that is not known
	trail  string // which stood right behind it
	some   bool   // one of them, some of them
	none   bool   // none of them: "no burner"
	base   *phrase
	within *phrase          // what it is in, which is not in its name: "element in the oven"
	from   span             // the words it was made of
	idle   span             // those that single out no part, but may a mode
	these  []circuit.PartID // the two of them that were spoken of: "both elements"
}

// fits reports whether a set of features has one of "a+b|c" for every word.
func fits(set map[string]bool, alternative string) bool {
	for _, either := range strings.Split(alternative, "|") {
		if !slices.ContainsFunc(strings.Split(either, "+"), func(f string) bool { return !set[f] }) {
			return true
		}
	}
	return false
}

// parts lists the parts a phrase may mean, among those that count. The
// alternatives of its nouns are tried in order.
func (r *reader) parts(p *phrase, counts func(circuit.PartID) bool) []circuit.PartID {
	if p.these != nil {
		return slices.DeleteFunc(slices.Clone(p.these), func(id circuit.PartID) bool { return !counts(id) })
	}
	if p.within != nil {
		one, all := *p, r.parts(p.within, anyPart)
		one.within = nil
		if in := r.parts(&one, func(id circuit.PartID) bool { return counts(id) && slices.Contains(all, id) }); len(in) > 0 {
			return in
		}
	}
	where := slices.DeleteFunc(slices.Clone(p.where), func(w string) bool { return !r.singlesOut(w) })
	if len(where)+len(p.nouns) == 0 {
		return nil
	}
	out := r.partsAt(p, where, counts)
	if len(p.nouns) == 0 { // "both fronts": what heats there
		if heat := slices.DeleteFunc(slices.Clone(out), func(id circuit.PartID) bool { return !r.c.Part(id).Kind.Heats() }); len(heat) > 0 && !p.own {
			return heat
		}
	}
	if len(out) == 1 && r.isAnothers(p, out[0]) {
		return nil
	}
	if len(out) > 0 || len(p.nouns) == 0 {
		return out
	}
	if head := (&phrase{nouns: p.nouns[len(p.nouns)-1:], said: p.said[max(0, len(p.said)-1):], words: p.words}); len(where) > 1 || len(where) == 1 && len(r.partsAt(head, where, anyPart)) == 0 {
		at := r.partsAt(&phrase{words: p.words}, where, r.isSurface)
		if len(at) == 1 && counts(at[0]) && len(r.partsAt(p, where, anyPart)) == 0 && (r.isSocket(p) || r.namesOnly(&phrase{nouns: p.nouns, said: p.said, words: p.words}, circuit.KindConnector, circuit.KindTerminalBlock)) {
			return at // "the left front receptacle", which the netlist has no part for
		}
	}
	if out := r.partsAt(p, nil, counts); len(out) == 1 && !p.joint {
		return out // it is the only one
	}
	if n := len(p.nouns); n > 2 && r.l.Nouns[p.nouns[n-1]].Joint && !r.l.HeadFirst && len(r.partsAt(p, where, anyPart)) == 0 { // "the limiter's lamp contact"
		head := *p
		head.nouns, head.said = p.nouns[:1], p.said[:1]
		return r.parts(&head, counts)
	}
	if n := len(p.nouns); n > 1 && !r.l.HeadFirst && slices.Contains(r.l.Meter.Coil, p.said[n-1]) { // "the relay's coil"
		of := *p
		of.nouns, of.said = p.nouns[:n-1], p.said[:n-1]
		if out := r.parts(&of, func(id circuit.PartID) bool { return counts(id) && r.c.Part(id).Kind == circuit.KindRelay }); len(out) > 0 || len(r.parts(&of, func(id circuit.PartID) bool { return r.c.Part(id).Kind == circuit.KindRelay })) > 0 {
			return out
		}
	}
	if n := len(p.nouns); n > 1 && !p.joint && !r.l.Nouns[p.nouns[n-1]].Verb { // "burner indicator": the head of the two
		head := *p
		if head.nouns, head.said = p.nouns[n-1:], p.said[n-1:]; r.l.HeadFirst {
			head.nouns, head.said = p.nouns[:1], p.said[:1]
		}
		return r.parts(&head, counts)
	}
	return nil
}

// isAnothers reports whether a bare "thermostat" means none that the machine has: where its
// heat is told by a sensor, what a fan's thermostat works was not spoken of.
func (r *reader) isAnothers(p *phrase, id circuit.PartID) bool {
	return r.c.Part(id).Kind == circuit.KindThermostat && len(p.where) == 0 && len(r.tokens) > 0 && r.partKind(circuit.KindSensor) >= 0 &&
		slices.ContainsFunc(r.nameWords(id), func(w string) bool { return w == "fan" }) && !slices.ContainsFunc(r.tokens, func(t token) bool { return slices.Contains(strings.Fields(t.text), "fan") })
}

// isSocket reports whether a phrase names what a coil or a cord plugs into.
func (r *reader) isSocket(p *phrase) bool {
	return slices.ContainsFunc(p.nouns, func(n int) bool { return slices.Contains(r.l.Nouns[n].Is, "receptacle") })
}

// partsThat are the loads that a phrase may mean where something is said of it that can
// only be said of some: "the convection blows" of its fan.
func (r *reader) partsThat(of string, p *phrase) []circuit.PartID {
	parts := r.parts(p, r.isLoad)
	of, _, _ = strings.Cut(of, ";")
	is := func(id circuit.PartID) bool { return fits(r.machine.parts[id], of) }
	if of == "" || of == heating || len(p.nouns) == 0 || slices.ContainsFunc(parts, is) {
		return parts
	}
	like := *p
	like.odd = true
	if those := r.parts(&like, func(id circuit.PartID) bool { return r.isLoad(id) && is(id) }); len(those) > 0 {
		return those
	}
	return parts
}

// singlesOut reports whether a word is in the name of a part.
func (r *reader) singlesOut(w string) bool {
	return slices.ContainsFunc(r.machine.parts, func(set map[string]bool) bool { return set[w] || r.abbreviated(set, w) })
}

// singled reports whether a token singles out a part.
func (r *reader) singled(t *token) bool {
	s, ok := t.of(isWhere)
	return ok && r.singlesOut(s.key)
}

// isPole reports whether a word is a pole of the supply.
func (r *reader) isPole(w string) bool {
	return r.fed(r.partKind(circuit.KindTerminalBlock), strings.ToUpper(w)) != circuit.None
}

// poleOf tells by its kind the part whose lug or contact a pole's is.
func (r *reader) poleOf(pole string, of noun) string {
	for _, t := range r.c.Terminals() {
		if name, side, _ := strings.Cut(t.Name, "."); of.Itself && t.Part != circuit.None && strings.EqualFold(name, pole) && side == "com" {
			return "kind:" + r.c.Part(t.Part).Kind.String()
		}
	}
	return "kind:" + circuit.KindTerminalBlock.String()
}

// isTerminal reports whether a word is a pole of the supply or a terminal of a switch.
func (r *reader) isTerminal(w string) bool {
	return r.isPole(w) || slices.ContainsFunc(r.c.Terminals(), func(t circuit.Terminal) bool {
		return t.Part != circuit.None && r.c.Part(t.Part).Kind != circuit.KindControl && strings.EqualFold(t.Name, w)
	})
}

// poles counts those that a text names, but for one that tells what a display shows.
func (r *reader) poles() (n int) {
	for i := range r.tokens {
		switch t := &r.tokens[i]; {
		case t.has(isCode):
			return 0
		case r.isPole(t.text):
			n++
		}
	}
	return n
}

// jointAhead reports whether a wire's end, or what brings the supply, is named in the rest of
// a clause, or told to be burnt or off: "L2 broken off at the block".
func (p *parser) jointAhead(rest []token) bool {
	for i := range rest {
		t := &rest[i]
		if t.stop {
			return false
		}
		noun, is := t.of(isNoun)
		if t.has(isSeen) || is && (p.r.l.Nouns[noun.n].Joint || p.r.joins(&phrase{nouns: []int{noun.n}, said: []string{t.text}})) {
			return true
		}
	}
	return false
}

// singledOut counts the words of a phrase that do.
func (r *reader) singledOut(p *phrase) (n int) {
	for _, w := range p.where {
		if r.singlesOut(w) {
			n++
		}
	}
	return n
}

func (r *reader) partsAt(p *phrase, where []string, counts func(circuit.PartID) bool) []circuit.PartID {
	tries := [][]string{nil}
	region := true
	for i, n := range p.nouns {
		row := r.l.Nouns[n]
		if row.Joint {
			continue
		}
		region = region && row.Region
		words := strings.Fields(p.said[i])
		for i, w := range words {
			words[i] = singular(w)
		}
		var next [][]string
		for _, alternative := range append(slices.Clone(row.Is), strings.Join(words, "+")) {
			for _, t := range tries {
				next = append(next, append(slices.Clone(t), alternative))
			}
		}
		tries = next
	}
	if region && len(p.nouns) > 0 && !slices.ContainsFunc(where, func(w string) bool { return strings.HasPrefix(w, "kind:") }) {
		was := counts
		counts = func(id circuit.PartID) bool { return was(id) && r.c.Part(id).Kind.Heats() }
	}
	var every []circuit.PartID
	for _, t := range tries {
		if len(t)+len(where) == 0 {
			continue
		}
		var out []circuit.PartID
		for i, set := range r.machine.parts {
			if !counts(circuit.PartID(i)) {
				continue
			}
			ok := !slices.ContainsFunc(t, func(a string) bool { return !fits(set, a) })
			ok = ok && !slices.ContainsFunc(where, func(w string) bool { return !set[w] && !r.abbreviated(set, w) })
			if ok {
				out = append(out, circuit.PartID(i))
			}
		}
		if len(out) > 0 && !p.odd {
			return out
		}
		every = append(every, out...)
	}
	slices.Sort(every)
	return slices.Compact(every)
}

// abbreviated takes "lf" for left front.
func (r *reader) abbreviated(set map[string]bool, w string) bool {
	names := map[byte][]string{'l': {"left"}, 'r': {"right", "rear"}, 'f': {"front"}}
	if len(w) != 2 {
		return false
	}
	for _, a := range names[w[0]] {
		for _, b := range names[w[1]] {
			if a != b && set[a] && set[b] {
				return true
			}
		}
	}
	return false
}

// region reports whether a phrase means all that heats in a place.
func (r *reader) region(p *phrase) bool {
	return len(p.nouns) > 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !r.l.Nouns[n].Region })
}

// everything reports whether a phrase means all that heats.
func (r *reader) everything(p *phrase) bool {
	return r.region(p) && len(p.where) == 0 && slices.ContainsFunc(p.nouns, func(n int) bool { return slices.Equal(r.l.Nouns[n].Is, []string{heating}) })
}

func (r *reader) isLoad(id circuit.PartID) bool   { return len(r.machine.loads[id]) > 0 }
func (r *reader) isNoLoad(id circuit.PartID) bool { return !r.isLoad(id) }

// partsFirst are the parts that a phrase names: of a sort or, where none is, any.
func (r *reader) partsFirst(p *phrase, sort func(circuit.PartID) bool) []circuit.PartID {
	if parts := r.parts(p, sort); len(parts) > 0 {
		return parts
	}
	return r.parts(p, anyPart)
}

// ofContact reports whether a phrase names what a part has of its own, as a contact.
func (r *reader) ofContact(p *phrase) bool {
	return slices.ContainsFunc(p.nouns, func(n int) bool { return r.l.Nouns[n].Itself })
}

// isTop reports whether a phrase is "top" alone, where it may be a cooktop and no lower
// part is spoken of.
func (r *reader) isTop(p *phrase) bool {
	return len(p.nouns) == 0 && len(p.words) == 1 && (p.words[0] == r.l.Top || strings.HasSuffix(p.words[0], " "+r.l.Top)) && len(r.loadsOf("kind:surface_element")) > 0 && !r.belowToo()
}

// spoken reports whether a noun of a sort stands anywhere in the text.
func (r *reader) spoken(of func(noun) bool) bool {
	return slices.ContainsFunc(r.tokens, func(t token) bool { return t.has(isNoun) && of(r.l.nounOf(&t)) })
}

// belowToo reports whether a lower part is spoken of.
func (r *reader) belowToo() bool {
	return slices.ContainsFunc(r.tokens, func(t token) bool {
		return slices.ContainsFunc(strings.Fields(t.text), func(w string) bool { return r.l.word(w).is(isWhere, "lower") })
	})
}

// lastPart is the one part of those that a bare noun may mean that was spoken of
// before, else None.
func (r *reader) lastPart(p *phrase, parts []circuit.PartID) circuit.PartID {
	if len(r.likeliest(p, parts)) < 2 || len(r.last) != 1 || len(p.where) > 0 && !p.lent || len(p.nouns) != 1 || p.all || p.some || p.count > 0 || r.region(p) || r.isMachine(p) || r.l.Nouns[p.nouns[0]].Pronoun {
		return circuit.None
	}
	last := r.likeliest(r.last[0], r.parts(r.last[0], r.isLoad))
	if len(last) != 1 || !slices.Contains(parts, last[0]) {
		return circuit.None
	}
	return last[0]
}

// isPartOf reports whether a phrase may name the one load that another names.
func (r *reader) isPartOf(p, of *phrase) bool {
	parts := r.parts(of, r.isLoad)
	return len(parts) == 1 && len(p.nouns) > 0 && slices.Contains(r.parts(p, r.isLoad), parts[0])
}

// joins reports whether a phrase names what joins the supply to the machine, or a
// part to its plug.
func (r *reader) joins(p *phrase) bool {
	return r.namesOnly(p, circuit.KindBreaker, circuit.KindConnector, circuit.KindTerminalBlock)
}

// namesOnly reports whether a phrase names parts, and none but of some kinds.
func (r *reader) namesOnly(p *phrase, kinds ...circuit.Kind) bool {
	parts := r.parts(p, anyPart)
	return len(parts) > 0 && !slices.ContainsFunc(parts, func(id circuit.PartID) bool { return !slices.Contains(kinds, r.c.Part(id).Kind) })
}

// isPronounOf reports whether a phrase names no part but the kind of what was
// spoken of before.
func (r *reader) isPronounOf(p *phrase) bool {
	if len(r.last) != 1 || len(r.last[0].where) == 0 {
		return false
	}
	last := r.parts(r.last[0], r.isLoad)
	return len(last) == 1 && slices.Contains(r.parts(p, r.isLoad), last[0])
}
