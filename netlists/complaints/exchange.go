package complaints

import (
	"cmp"
	"slices"
	"strings"

	"legtrace/circuit"
)

// exchange is of two like parts that changed places, or of one that failed where its like
// was not named.
type exchange struct {
	parts  []circuit.PartID
	failed circuit.PartID // the one that was at fault, None where that was not told yet
	at     int            // so many statements were made
	from   span
}

// exchange keeps which parts were exchanged, "swapped it with the right front one", "swapped the
// bake and broil relays", and reports whether they are known.
func (r *reader) exchange(k *clause, s *said) bool {
	of := slices.Concat(k.subjects, k.places)
	if len(k.subjects) == 2 {
		of = k.subjects // "swapped the two thermostats and the fault moved to the lower"
	}
	if slices.ContainsFunc(of, func(p *phrase) bool { return p.joint }) {
		return false // "swapped the bake and broil wires"
	}
	x := exchange{parts: r.exchangeable(of), failed: circuit.None, at: len(r.heard.Statements), from: s.from}
	switch n := len(x.parts); {
	case n == 2 && r.c.Part(x.parts[0]).Kind == r.c.Part(x.parts[1]).Kind:
	case n == 1 && len(k.places) > 0 && r.isSurface(x.parts[0]):
		failed := r.deadCoils(r.machine.loads[x.parts[0]])
		if len(failed) != 1 {
			return false
		}
		x.parts = []circuit.PartID{r.c.Branch(failed[0]).Part, x.parts[0]}
	case n == 0 && len(of) == 1 && len(r.parts(of[0], anyPart)) > 1 && !r.region(of[0]) && of[0].plural(): // "swapped the burners"
		x.parts = r.parts(of[0], anyPart)
	default:
		return false
	}
	for _, id := range x.parts {
		if !r.saidToFail(id) {
			continue
		}
		if x.failed != circuit.None { // both
			x.failed = circuit.None
			break
		}
		x.failed = id
	}
	if len(x.parts) > 2 {
		if x.failed == circuit.None {
			return false
		}
		x.parts = []circuit.PartID{x.failed} // with some other
	}
	for _, p := range of {
		x.from.join(p.from)
	}
	x.from.join(k.at[ofMode])
	r.exchanged, k.made = &x, true
	r.used.join(x.from)
	return true
}

// exchanges reports whether a clause tells of an exchange, and what comes tells what one
// place does since: "swapped the top relay with the bottom one and the top works".
func (p *parser) exchanges(rest []token) bool {
	n, named := len(p.k.said), false
	if n == 0 || p.np == nil || p.k.said[n-1].key != "replaced" || p.r.l.Swap == "" || !strings.HasPrefix(p.k.said[n-1].words, p.r.l.Swap) {
		return false
	}
	for i := range rest {
		switch t := &rest[i]; {
		case t.stop, t.has(joins), t.has(isSub):
			return false
		case t.is(isHistory, "like_works_here"), t.is(isHistory, "like_dead_here"):
			return true
		case t.has(isWhere), t.has(isNoun) && !(named && p.r.l.finite(t)):
			named = true
		case !t.has(article) && !t.has(its) && (!t.has(filler) || t.has(isState) || t.has(aux)):
			return named && (t.has(isState) || t.has(isVerb) || t.has(not) || t.has(aux) || t.has(cease))
		}
	}
	return false
}

// plural reports whether a phrase names several.
func (p *phrase) plural() bool {
	return len(p.where) == 0 && slices.ContainsFunc(p.said, func(w string) bool { return singular(w) != w })
}

// exchangeable are the parts that phrases name one each; what has no name of its own is
// called as the other: "the bake and broil relays", "the left front coil with the left rear".
func (r *reader) exchangeable(of []*phrase) (out []circuit.PartID) {
	named := slices.IndexFunc(of, func(p *phrase) bool { return len(p.nouns) > 0 && !r.stands(&phrase{nouns: p.nouns}) })
	if last := len(of) - 1; last > 0 && len(of[last].nouns) > 0 && !r.stands(&phrase{nouns: of[last].nouns}) {
		named = last
	}
	for i, p := range of {
		parts := r.parts(p, r.isSurface)
		if len(parts) != 1 && named >= 0 && len(of) == 2 {
			one, noun := *p, len(of[named].nouns)-1
			if i != named && !slices.Contains(p.nouns, of[named].nouns[noun]) {
				one.nouns, one.said = append(slices.Clone(p.nouns), of[named].nouns[noun]), append(slices.Clone(p.said), of[named].said[noun])
			}
			parts = r.likeliest(&one, r.parts(&one, anyPart))
		}
		if len(parts) == 1 && !slices.Contains(out, parts[0]) {
			out = append(out, parts[0])
		}
	}
	return out
}

// failsWith are the loads that fail where a part does: its own, or what a relay works.
func (r *reader) failsWith(id circuit.PartID) []circuit.BranchID {
	if loads := r.machine.loads[id]; len(loads) > 0 && r.c.Part(id).Kind != circuit.KindRelay {
		return loads
	}
	return r.workedBy(id)
}

// saidToFail reports whether it was told by now that what depends on a part fails.
func (r *reader) saidToFail(id circuit.PartID) bool {
	of := r.failsWith(id)
	return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.About == OfLoad && s.What == "dead" && slices.Contains(of, s.Load) }) ||
		r.before != nil && r.before.dead && slices.Contains(of, r.before.load)
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

// settleExchange makes of what was said since an exchange what it tells of the part that
// failed: dead in the other's place, its like dead or alive in its own.
func (r *reader) settleExchange() {
	x := r.exchanged
	if x == nil {
		return
	}
	for i := x.at; i < len(r.heard.Statements); i++ {
		s := &r.heard.Statements[i]
		if what := r.afterExchange(x, s); what != "" {
			if slices.ContainsFunc(r.heard.Statements[x.at:i], func(o Statement) bool { return o.What == what && o.Part == x.failed }) {
				s.About, s.What = OfLoad, "" // "it works fine" is one thing
				continue
			}
			if what == "good_elsewhere" && len(x.parts) == 2 {
				s.there = r.c.Branch(r.machine.loads[x.parts[slices.IndexFunc(x.parts, func(id circuit.PartID) bool { return id != x.failed })]][0]).Ref
			}
			s.About, s.What, s.Part, s.Load, s.Mode = OfHistory, what, x.failed, circuit.None, circuit.None
		}
	}
	if x.failed == circuit.None || r.saidToFail(x.failed) {
		return
	}
	for _, s := range r.heard.Statements[x.at:] {
		if s.About == OfHistory && s.Part == x.failed && s.What != "good_elsewhere" { // "swapped the two, now the left rear is dead": the other was
			for _, load := range r.failsWith(x.failed) {
				dead := s
				dead.About, dead.What, dead.Part, dead.Load = OfLoad, "dead", circuit.None, load
				r.heard.Statements = append(r.heard.Statements, dead)
			}
			return
		}
	}
}

// afterExchange is what a statement made since an exchange tells of the part that failed, and
// which that is where it tells so; empty where it tells nothing of it.
func (r *reader) afterExchange(x *exchange, s *Statement) string {
	of, still := circuit.PartID(circuit.None), slices.Contains(strings.Fields(s.Words), r.l.Still)
	coil := r.isSurface(x.parts[0])
	switch {
	case s.What == "works_again", s.About == OfLoad && s.What == "normal" && s.way.nameless() && coil:
		if x.failed = cmp.Or(x.failed+1, x.parts[0]+1) - 1; !coil {
			return "like_works_here"
		} else if !still {
			return "good_elsewhere" // "and it works"
		}
	case s.What == "no_help" && s.Part == circuit.None:
		return map[bool]string{true: "like_dead_here"}[x.failed != circuit.None]
	case s.About != OfLoad:
		return ""
	}
	for _, p := range r.c.Parts() {
		if (slices.Contains(x.parts, p.ID) || len(x.parts) == 1 && p.Kind == r.c.Part(x.parts[0]).Kind) && slices.Contains(r.failsWith(p.ID), s.Load) {
			of = p.ID
		}
	}
	switch {
	case of == circuit.None:
		return ""
	case x.failed != circuit.None:
	case s.What == "dead" && !still && len(x.parts) == 2: // it moved there
		x.failed = x.parts[0]
		if of == x.failed {
			x.failed = x.parts[1]
		}
	case s.What == "normal", s.What == "dead":
		x.failed = of
	}
	what := map[string]string{"normal": "like_works_here", "dead": "like_dead_here"}
	if of != x.failed && !still {
		what = map[string]string{"normal": "good_elsewhere", "dead": "found_bad"}
	}
	if what[s.What] == "good_elsewhere" && !coil {
		return "found_good"
	}
	return what[s.What]
}

// stayed puts down that what failed stayed where it was after an exchange, or went with the
// part, where that is known, and reports whether it did: "swapped with left rear, the fault
// followed the burner".
func (r *reader) stayed(k *clause, s *said) bool {
	x := r.exchanged
	if x == nil || !anyIn(strings.Fields(s.words), r.l.Faults) {
		return false
	}
	for _, p := range slices.Concat(k.subjects, k.places) {
		r.now.join(p.from)
	}
	if x.failed == circuit.None {
		return s.key == "like_works_here" && r.moved(k, s)
	}
	st := k.blank(OfHistory, s)
	if st.Mode, st.When, st.Part = circuit.None, "", x.failed; s.key == "like_works_here" {
		st.What = "found_bad"
	}
	r.put(st)
	return true
}

// moved puts down that what failed went with one of two parts that changed places: it is
// the one that was not where it fails now. Where that was not said it is asked.
func (r *reader) moved(k *clause, s *said) bool {
	t := r.exchanged
	if len(t.parts) != 2 {
		return false
	}
	bad := t.parts
	for _, w := range slices.Backward(strings.Fields(strings.Join(k.words, " "))) { // "from the upper to the lower"
		if a, b := r.machine.parts[t.parts[0]][w], r.machine.parts[t.parts[1]][w]; a != b {
			bad = t.parts[:1]
			if a {
				bad = t.parts[1:]
			}
			break
		}
	}
	r.now.join(t.from)
	for _, at := range k.at {
		r.now.join(at)
	}
	st := k.blank(OfHistory, s)
	st.Mode = circuit.None
	if code := "sensor"; len(bad) == 1 && anyIn(strings.Fields(s.words), r.l.Coded) && slices.Contains(codedKinds[code], r.c.Part(bad[0]).Kind) {
		shown := k.blank(OfWhole, &said{key: "code"}) // "the code moved from upper to lower"
		shown.Mode, shown.Code, shown.Part = circuit.None, code, t.parts[1]
		if bad[0] == t.parts[1] {
			shown.Part = t.parts[0]
		}
		r.put(shown)
	}
	r.choose(&phrase{words: strings.Fields(s.words)}, s, r.ofParts(st, bad), k)
	return true
}
