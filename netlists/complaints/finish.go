package complaints

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// finish makes statements of a clause.
func (p *parser) finish(comma bool) {
	r, k := p.r, p.k
	if p.r.reading(k) {
		r.last = k.subjects
		return
	}
	k.idle = (k.idle || p.neg || p.few || p.lasting) && len(k.said) > 0
	if len(k.said) == 0 {
		if key, of := p.implied(); key != "" {
			k.said = append(k.said, said{class: isState, key: key, words: strings.Join(k.words, " "), of: of})
		}
	}
	if len(k.said) == 0 {
		if k.not || k.unsaid {
			if r.withhold(k, p.lost); k.verbless && len(k.subjects) > 0 {
				r.last = k.subjects
			}
		} else if !k.same {
			r.wait(k, comma)
		}
		return
	}
	r.withheld = false
	k.subjects = append(r.carried, k.subjects...)
	if len(k.modes) == 0 && !slices.ContainsFunc(k.subjects, r.isMachine) {
		k.modes = r.carriedMode
	}
	r.carried, r.carriedMode = nil, nil
	if k.except {
		for _, p := range k.subjects {
			for _, id := range r.parts(p, r.isLoad) {
				r.heard.Statements = slices.DeleteFunc(r.heard.Statements, func(s Statement) bool { return slices.Contains(r.machine.loads[id], s.Load) })
			}
		}
	}
	if k.theory || p.asks && len(k.subjects) == 0 && !k.it { // "is that normal?"
		r.lose(k.words...)
		return
	}
	if n := len(k.said); k.doubtful() && len(r.heard.Unknown) > p.lost || k.idle {
		k.said = slices.DeleteFunc(k.said, func(s said) bool {
			return s.class == isState || (s.class == isWhole || s.class == isSeen) && !warns[s.key] || s.key == "replaced" && len(k.subjects)+len(k.places) == 0
		})
		if len(k.said) < n || k.idle {
			r.withhold(k, p.lost)
		}
	}
	for i := range k.said {
		r.say(k, &k.said[i])
	}
	r.recent = append(r.recent, k)
	if len(k.subjects) > 0 && !slices.ContainsFunc(k.said, func(s said) bool { return s.key == "click" || s.key == "no_click" }) {
		r.last, r.lastMode = k.subjects, circuit.None
		if len(k.modes) > 0 {
			r.lastMode = k.modes[0]
		}
	} else if len(k.subjects) == 0 && len(k.places) > 0 {
		r.last = k.places
	}
	if r.replaced && r.l.still != "" && slices.Contains(strings.Fields(strings.Join(k.words, " ")), r.l.still) {
		st := k.blank(OfHistory, &said{key: "no_help"})
		st.Mode, st.When = circuit.None, ""
		r.put(st)
	}
}

// doubtful reports whether what was not understood of a clause takes away the
// rest: what is said of something unknown, and what works under an unknown
// condition.
func (k *clause) doubtful() bool {
	works := slices.ContainsFunc(k.said, func(s said) bool { return s.key == "normal" })
	return len(k.strange) > 0 && len(k.subjects) == 0 || works && (k.within || k.unclear)
}

// warns tells what is never withheld: it may hurt somebody.
var warns = map[string]bool{"shock": true, "smell": true, "noise": true}

// withhold makes nothing of a clause of which a word was not understood, and
// tells it word by word.
func (r *reader) withhold(k *clause, lost int) {
	told := slices.Clone(r.heard.Unknown[lost:])
	for _, w := range k.words {
		if !slices.Contains(told, w) && !r.l.isSmall(w) {
			r.lose(w)
		}
	}
	r.withheld = true
}

// isSmall reports whether a word tells nothing by itself.
func (l *Language) isSmall(w string) bool {
	p := l.phrases[fmt.Sprint([][]string{{w}})]
	return l.skip[w] || p != nil && !slices.ContainsFunc(p.senses, func(s sense) bool { return s.class > placePrep || s.class == not })
}

// implied is what a clause says without a word for it: "no oven", "but the
// broiler does", "takes 40 minutes", "the second is the same".
func (p *parser) implied() (key, of string) {
	k := p.k
	named := len(k.subjects) > 0
	k.unsaid = p.r.withheld && (k.aux || k.same) || k.isNot && len(k.subjects) > k.before
	switch {
	case k.unsaid, k.verbless: // "broil is", of nothing understood; "it isn't the element"
		return "", ""
	case k.rarely:
		return "intermittent", ""
	case k.unit == "minutes" && k.takes:
		return "slow", ""
	case k.unit != "" && k.unit != "minutes" && k.side != "":
		return "off_by", ""
	case k.same && p.r.lastSaid != nil && !named && len(k.modes) > 0:
		for _, was := range p.r.recent {
			one := *k
			one.subjects = was.subjects
			one.said = was.said
			for i := range one.said {
				p.r.say(&one, &one.said[i])
			}
		}
		return "", ""
	case k.same && p.r.lastSaid != nil && named:
		return p.r.lastSaid.key, p.r.lastSaid.of
	case k.same && p.r.replaced:
		k.said = append(k.said, said{class: isHistory, key: "no_help", words: strings.Join(k.words, " ")})
		return "", ""
	case k.lasting && named && !k.not:
		return "on", ""
	case k.except && named && p.r.lastSaid != nil:
		return negated(p.r.lastSaid.key), ""
	case named && p.r.counted != nil && !k.odd && len(p.r.heard.Questions) > 0:
		q := p.r.counted // "two zones are dead, left rear and right rear"
		p.r.counted = nil
		p.r.heard.Questions = p.r.heard.Questions[:len(p.r.heard.Questions)-1]
		return q.key, q.of
	case k.ceased && !k.verbless && (!named && !k.rest && len(p.r.loadsOf(drives)) > 0 && len(p.r.last) == 0 || named && p.r.isMachine(k.subjects[0])):
		return "dead", p.r.l.verbs["turn"].Of
	case k.not && k.it && !named && p.r.lastSaid != nil && p.r.lastSaid.key == "normal" && len(k.modes) > 0:
		return "dead", p.r.lastSaid.of // "on delicate it doesn't"
	case k.bare && p.r.lastSaid != nil && (named || len(k.modes) > 0):
		return negated(p.r.lastSaid.key), p.r.lastSaid.of
	case k.bare:
		k.unsaid = true
		return "", ""
	case k.also && named && !k.odd && p.r.lastSaid != nil:
		return p.r.lastSaid.key, p.r.lastSaid.of
	case k.not && (named || k.rest):
		return "dead", ""
	case k.aux && (named || k.rest || k.it && p.r.lastSaid != nil), k.will && named && !slices.ContainsFunc(k.subjects, func(s *phrase) bool { return !s.verb }):
		return "normal", "" // "the broiler does", "it will broil"
	case named && !slices.ContainsFunc(k.subjects, func(s *phrase) bool { return !s.finite && !(s.verb && s.all && len(s.nouns) == 1) }):
		return "normal", ""
	}
	return "", ""
}

// wait keeps a list's subjects for what is said of them after the comma.
func (r *reader) wait(k *clause, comma bool) {
	k.subjects = slices.DeleteFunc(k.subjects, func(p *phrase) bool { return r.isMachine(p) })
	if comma && !k.odd {
		r.carried, r.carriedMode = append(r.carried, k.subjects...), append(r.carriedMode, k.modes...)
		return
	}
	r.carriedMode = k.modes
	for _, p := range slices.Concat(k.subjects, k.places) {
		r.lose(p.words...)
	}
	if len(k.subjects) > 0 {
		r.last = k.subjects
	}
}

// blank is a statement of a clause, with nothing said yet.
func (k *clause) blank(about About, s *said) Statement {
	st := Statement{About: about, What: s.key, Load: circuit.None, Part: circuit.None, Mode: circuit.None, When: k.when,
		Words: strings.Join(k.words, " "), then: k.then}
	if len(k.modes) > 0 {
		st.Mode = k.modes[0]
	}
	return st
}

func (r *reader) say(k *clause, s *said) {
	if (s.class == isState || s.class == isHistory) && r.cameOf(k, s) {
		return
	}
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
		o.Words, o.loosely, o.of, o.side, o.then = s.Words, s.loosely, s.of, s.side, s.then
		return o == s
	}) {
		r.heard.Statements = append(r.heard.Statements, s)
	}
}

func (r *reader) whole(k *clause, s *said) {
	if s.key == "all_dead" {
		r.lastSaid = &said{class: isState, key: "dead"}
	}
	st := k.blank(OfWhole, s)
	if denied, ok := strings.CutPrefix(s.key, "not:"); ok {
		r.lose("not " + denied)
		return
	}
	// "lights dim" of a machine's own lamp is a state of that lamp.
	for _, m := range k.modes[min(1, len(k.modes)):] {
		more := st
		more.Mode = m
		r.put(more)
	}
	of := append(slices.Clone(k.subjects), k.places...)
	if k.it && len(of) == 0 {
		of = r.last
	}
	if len(of) > 0 && s.trips() && r.trips(of[0]) != "" {
		if s.key == "trips" {
			st.What = r.trips(of[0])
		}
	} else if st.Mode == circuit.None && len(of) > 0 && !r.region(of[0]) && s.key != "dark" && s.key != "flashing" {
		st.Mode = r.mode(of[0])
	}
	if s.key == "dark" && len(r.c.Controls()) == 0 {
		for _, load := range r.loadsOf("clock") {
			r.put(r.ofLoad(k, s, "dead", load))
		}
		return
	}
	r.put(st)
}

// seen puts down what was seen, heard or smelt, at each place named.
func (r *reader) seen(k *clause, s *said) {
	places := slices.DeleteFunc(append(slices.Clone(k.places), k.subjects...), r.isMachine)
	if (k.object || len(k.strange) > 0 && len(k.subjects) == 0) && s.key != "smell" && s.key != "noise" {
		r.lose(strings.Fields(s.words)...) // "melted a dish"
		return
	}
	if slices.Contains(ofMatter, s.key) && (k.rest || slices.ContainsFunc(k.subjects, func(p *phrase) bool { return r.region(p) && !p.joint })) {
		r.withhold(k, len(r.heard.Unknown)) // "the oven scorches the bread"
		return
	}
	if len(places) == 0 && len(k.subjects) == 0 {
		if places = r.lastSeen; k.it || len(places) == 0 && s.key == "noise" {
			places = r.last
		}
	}
	if len(places) == 0 {
		r.put(k.blank(OfPlace, s))
		return
	}
	joint := slices.ContainsFunc(places, func(p *phrase) bool { return p.joint })
	places = slices.DeleteFunc(slices.Clone(places), func(p *phrase) bool {
		if len(p.nouns) > 0 || p.own || len(k.subjects) > 0 && p == k.subjects[0] {
			return false
		}
		r.lose(p.words...) // "at the back"
		return true
	})
	if len(places) == 0 {
		r.put(k.blank(OfPlace, s))
		return
	}
	named := slices.DeleteFunc(slices.Clone(places), func(p *phrase) bool {
		return len(p.where) == 0 && !slices.ContainsFunc(p.nouns, func(n int) bool { return !r.l.nouns[n].Joint })
	})
	if len(named) == 0 {
		if named = r.last; len(named) == 0 {
			st := k.blank(OfPlace, s)
			st.Joint = joint
			r.put(st)
			return
		}
	}
	r.lastSeen = named
	for _, p := range named {
		first := r.isLoad
		if s.key == "noise" {
			first = func(id circuit.PartID) bool {
				k := r.c.Part(id).Kind
				return k == circuit.KindFan || k == circuit.KindMotor
			}
			if len(r.parts(p, first)) == 0 {
				first = r.isLoad
			}
		}
		if s.key == "click" || s.key == "no_click" {
			first = func(id circuit.PartID) bool { return !r.isLoad(id) }
		}
		parts := r.parts(p, first)
		if len(parts) == 0 {
			parts = r.parts(p, anyPart)
		}
		parts = r.likeliest(p, r.clicking(s.key, parts))
		if len(parts) == 0 {
			r.lose(p.words...)
			r.put(k.blank(OfPlace, s))
			continue
		}
		r.choose(p, k, s, len(parts), func(i int) Statement {
			st := k.blank(OfPlace, s)
			st.Part, st.Joint = parts[i], joint
			return st
		}, func(i int) string { return r.c.Part(parts[i]).Label })
	}
}

// ofMatter is what is seen of a thing itself.
var ofMatter = []string{"burnt", "melted", "discoloured", "parted", "blistered"}

// clicking keeps of several relays the one that feeds what was spoken of.
func (r *reader) clicking(key string, parts []circuit.PartID) []circuit.PartID {
	if len(parts) < 2 || key != "click" && key != "no_click" {
		return parts
	}
	for _, p := range r.last {
		for _, w := range strings.Fields(fold(strings.Join(p.words, " "))) {
			for _, id := range parts {
				if r.machine.parts[id][singular(w)] {
					return []circuit.PartID{id}
				}
			}
		}
	}
	return parts
}

func (r *reader) history(k *clause, s *said) {
	if s.key == "works_again" && k.when == "cold" {
		one := *s
		one.key = "fails_hot"
		k.when = ""
		r.state(k, &one)
		return
	}
	if came[s.key] != nil {
		r.deed(k, s)
		return
	}
	if !slices.Contains([]string{"replaced", "failed_again", "reset", "good_elsewhere", "like_works_here", "like_dead_here", "found_good", "found_bad"}, s.key) {
		r.put(k.blank(OfHistory, s))
		return
	}
	places := append(slices.Clone(k.subjects), k.places...)
	if s.key == "replaced" && len(k.places) > 0 && strings.HasPrefix(s.words, r.l.swap) && r.l.swap != "" {
		return // tried in each other's place: what came of it follows
	}
	r.replaced = r.replaced || s.key == "replaced"
	r.mended = r.mended || s.key == "replaced" || s.key == "reset" || s.key == "repair"
	if len(places) == 0 && s.key != "reset" {
		places = r.last
	}
	if len(places) == 0 {
		r.put(k.blank(OfHistory, s))
		return
	}
	for _, p := range places {
		if len(p.nouns) == 1 && r.l.nouns[p.nouns[0]].Pronoun && len(p.where) == 0 && len(r.last) > 0 && !r.last[0].all {
			p = r.last[0] // "a new one"
		}
		parts := r.parts(p, r.isLoad)
		if len(parts) == 0 {
			parts = r.parts(p, anyPart)
		}
		parts = r.likeliest(p, r.spokenOf(parts))
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
	case p.odd:
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
		r.lose(p.words...)
	case n == 1 || (p.all || r.region(p)) && !p.odd:
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
