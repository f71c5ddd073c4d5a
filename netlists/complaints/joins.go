package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// way is how what is said came to what it is said of.
type way uint8

const (
	named     way = iota // its clause names it
	listed               // a clause before names it, and says nothing of it
	placed               // it stands where it is said to be: "no heat from the broiler"
	region               // all that heats in a place
	ofIt                 // "it"
	goesOn               // what was spoken of last
	ofSetting            // what a mode is for
	ofVerb               // all that it can be said of: "no heat"
	ofMachine            // the machine
	others               // the rest, or all of a kind but one
	byDenial             // it is not, and no word tells what: "no bake"
	implied              // what was said last is said, or denied, of it as well
)

var wayNames = [...]string{"named", "listed", "placed", "a region", "it", "spoken of last", "a setting", "a verb", "the machine", "the others", "by denial", "implied"}

func (w way) String() string { return wayNames[w] }

// nameless reports whether a way is of no name in the clause itself.
func (w way) nameless() bool { return w == ofIt || w == goesOn || w == ofVerb || w == ofMachine }

// carriesOn is how a clause that names nothing is joined to what was spoken of before.
func (k *clause) carriesOn() way {
	if k.it {
		return ofIt
	}
	return goesOn
}

// strays are words of whose thing a statement may be said that names nothing itself. Of
// what is joined so one in six is not meant where they stand, and else one in forty
// (TestSentencesWrittenApart): words of no language right before it, of the machine any,
// and what it was asked about before which one it is.
func (r *reader) strays(s *Statement) (out []string) {
	k := r.clauses[s.clause]
	if !s.way.nameless() && !s.driven {
		return nil
	}
	for i, t := range r.tokens {
		o := r.clauses[r.of[i]]
		dead := s.What == "all_dead" && s.nameless && (!o.made || o == k)
		before := s.About == OfLoad && o == k.from && !o.made && (s.driven || s.nameless && len(o.subjects) == 0)
		if k.it && s.way == ofVerb && o == k.from && !o.made && t.has(isWhere) && !r.used.has(i) {
			out = append(out, t.text) // "240 at the splices in the second heater but it stays cold"
		}
		if t.unknown && (dead || before) && !r.l.vocabulary[t.text] && !r.l.tellsHow(t.text) {
			out = append(out, t.text)
		}
	}
	for _, q := range r.heard.Questions {
		if s.way == ofMachine && k.it && len(q.Choices) > 1 && q.Choices[0].Statements[0].clause < s.clause && !slices.Contains(out, q.Words) {
			out = append(out, q.Words) // "a burner sparked, and now it is dead"
		}
	}
	return out
}

// notSo is what is said of what does not do as was said last: "right front stays on, left
// front doesn't".
func (p *parser) notSo() string {
	if key := p.r.lastSaid.key; key != "on" {
		return negated(key)
	}
	return "normal"
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
	case k.rarely && len(k.strange) == 0:
		return "intermittent", ""
	case named && !k.not && len(k.subjects) == 1 && k.subjects[0].done && p.r.l.word(k.words[len(k.words)-1]).has(only):
		k.butOnly = []*phrase{{}}
		p.r.used.join(p.singles)
		return "normal", "" // "bake only, no broil"
	case len(k.butOnly) > 0 && named && !k.not:
		return "normal", "" // "the left front only does the small ring"
	case len(k.subjects) == 1 && k.subjects[0].only && !k.not && !k.odd && p.r.lastSaid != nil && p.r.lastSaid.key == "dead" && !slices.ContainsFunc(p.r.parts(k.subjects[0], p.r.isLoad), func(id circuit.PartID) bool { return p.r.wasSaid(p.r.machine.loads[id][0], "dead") }):
		return "normal", "" // "cannot get the big ring, only the inner one"
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
	case k.lasting && named && !k.not, named && k.unit != "" && k.unit != "minutes" && anyIn(k.words, p.r.l.Meter.Closed):
		return "on", "" // "the thermostat is closed at 160 F"
	case p.few && named && !k.not: // "burners get warm, oven barely"
		return "weak", ""
	case k.except && named && p.r.lastSaid != nil:
		return p.notSo(), ""
	case named && p.r.counted != nil && !k.odd && !k.not && len(p.r.heard.Questions) > 0:
		q := p.r.counted // "two zones are dead, left rear and right rear"
		if p.r.counted = nil; q.only != nil {
			k.butOnly = []*phrase{q.only} // "only two burners work, the fronts"
		}
		p.r.heard.Questions = p.r.heard.Questions[:len(p.r.heard.Questions)-1]
		return q.key, q.of
	case k.ceased && !k.verbless && !named && len(k.strange) == 0 && slices.ContainsFunc(p.r.heard.Statements, func(s Statement) bool { return s.What == "dead" }):
		p.r.used.join(k.at[pending]) // "no bake, quit while a pie was in"
		return "", ""
	case k.ceased && !k.verbless && (!named && !k.rest && len(p.r.loadsOf(drives)) > 0 && len(p.r.last) == 0 || named && p.r.isMachine(k.subjects[0])):
		return "dead", p.r.l.Verbs["turn"].Of
	case k.it && !named && p.r.lastSaid != nil && p.r.lastSaid.key == map[bool]string{true: "normal", false: "dead"}[k.not] && len(k.modes) > 0:
		return p.notSo(), p.r.lastSaid.of // "on timed it does", "on auto it doesn't"
	case k.not && k.it && !named && len(k.modes)+len(k.places)+len(k.strange) == 0 && k.denied == len(k.words) && k.afterFormerly() && len(p.r.last) == 1:
		return "dead", "" // "it used to come on with the oven, now it doesn't"
	case k.bare && p.r.tripped && p.triedWhat():
		return "normal", "" // "trips when I bake but not when I broil"
	case k.bare && named && p.r.lastSaid != nil && (p.r.none || p.r.listed()): // "nothing heats, not the oven, not the burners"
		return p.r.lastSaid.key, p.r.lastSaid.of
	case k.bare && p.r.lastSaid != nil && (named || len(k.modes)+len(k.places) > 0):
		if !named {
			k.subjects, k.places = k.places, nil // "heats on top but not on the bottom"
		}
		return p.notSo(), p.r.lastSaid.of
	case k.bare:
		k.unsaid = true
		return "", ""
	case k.also && named && !k.not && !k.odd && !k.aux && p.r.lastSaid != nil && !(len(p.r.recent) > 0 && !slices.ContainsFunc(p.r.recent[len(p.r.recent)-1].said, func(s said) bool { return s.class != isHistory })):
		return p.r.lastSaid.key, p.r.lastSaid.of
	case named && !k.not && len(k.modes)+len(k.places)+len(k.strange) == 0 && slices.Contains(p.r.l.Too, k.lastWord()) && p.r.lastSaid != nil && p.r.lastSaid.class == isState && k.goesOn():
		return p.r.lastSaid.key, p.r.lastSaid.of // "the oven quit and now the burners too"
	case k.not && k.rest && p.r.tripped && !p.no && len(k.said) == 0:
		return "normal", "" // "trips with the right rear, with the others not"
	case k.not && p.r.tripped && !p.no && len(k.said) == 0 && !k.deniedVerb(p.r.l) && p.triedWhat():
		return "normal", "" // "trips on bake, the burners never do it", "never in broil"
	case k.not && !k.ceased && !slices.ContainsFunc(k.subjects[min(k.before, len(k.subjects)):], func(s *phrase) bool { return !p.r.stands(s) }) && anyIn(k.words[min(k.denied, len(k.words)):], p.r.l.Has): // "electric ones don't have one"
		k.unsaid = true
		return "", ""
	case k.not && !p.no && slices.ContainsFunc(k.words[min(k.denied, len(k.words)):], func(w string) bool { return p.r.l.formOf(strings.Fields(w)[0], p.r.l.Handles) }) && !k.it:
		k.unsaid = true // "the top one I didn't touch"
		return "", ""
	case k.not && named && !p.no && p.r.lastSaid != nil && p.r.lastSaid.key == "on" && !slices.ContainsFunc(k.words[min(k.denied, len(k.words)):], func(w string) bool { return p.r.l.saidOf(p.r.l.alone(w)) == heating }):
		return p.notSo(), "" // "right front stays on, left front doesn't"
	case k.not && named && k.denied == len(k.words) && !p.no && p.r.lastSaid != nil && (p.r.lastSaid.key == "quits" || p.r.lastSaid.key == "intermittent" || p.r.lastSaid.key == "dead" && p.r.lastSaid.past):
		return "normal", "" // "the oven quits, the burners don't"
	case k.not && (named || k.rest):
		return "dead", ""
	case k.not && len(k.modes) > 0 && len(p.r.last)+len(p.r.carried) > 0 && len(k.strange) == 0 && p.r.l.Nothing != "" && k.firstWord() == p.r.l.Nothing:
		return "dead", "" // "works on warm, nothing on high"
	case k.not && len(k.places)+len(k.modes) == 1 && len(k.strange) == 0 && p.r.l.Nothing != "" && strings.HasPrefix(k.firstWord(), p.r.l.Nothing):
		k.subjects, k.places = k.places, nil // "nothing on the clock"
		return "dead", ""
	case named && !k.not && p.r.l.Hear != "" && slices.Contains(k.words, p.r.l.Hear) && !slices.ContainsFunc(k.subjects, func(s *phrase) bool { return !p.r.turning(s) }):
		return "normal", ""
	case k.aux && (named || k.rest || k.it && p.r.lastSaid != nil), k.will && named && !slices.ContainsFunc(k.subjects, func(s *phrase) bool { return !s.verb }):
		return "normal", "" // "the broiler does", "it will broil"
	case k.will && named && !k.odd && len(k.strange) == 0 && p.r.l.word(k.lastWord()).has(will) && p.r.lastSaid != nil && p.r.lastSaid.key == "dead":
		return "normal", "" // "the oven won't heat, the burners will"
	case named && !slices.ContainsFunc(k.subjects, func(s *phrase) bool { return !s.finite && !(s.verb && s.all && len(s.nouns) == 1) }):
		return "normal", ""
	}
	return "", ""
}

// afterFormerly reports whether the clause right before tells how it used to be.
func (k *clause) afterFormerly() bool {
	was := k.from
	for was != nil && len(was.words) == 0 {
		was = was.from
	}
	return was != nil && was.formerly
}

// triedWhat reports whether a clause tells what does not make it trip, and makes that its
// subject: "never with the burners", "not when I use the left front".
func (p *parser) triedWhat() bool {
	if k := p.k; len(k.subjects) == 0 {
		if k.subjects, k.places = k.places, nil; len(k.subjects)+len(k.modes) == 0 {
			k.subjects = k.tried
		}
	}
	return len(p.k.subjects)+len(p.k.modes) > 0
}

// deniedVerb reports whether what is denied is a verb that names as well what it is of: "it
// tripped, now the oven won't bake", not "the bake never does".
func (k *clause) deniedVerb(l *Language) bool {
	return k.denied > 0 && k.denied < len(k.words) && l.word(k.words[k.denied]).has(isVerb) && l.word(k.words[k.denied]).has(isNoun)
}

// goesOn reports whether what was spoken of right before was understood.
func (k *clause) goesOn() bool {
	was := k.from
	for was != nil && len(was.words) == 0 {
		was = was.from
	}
	return was == nil || was.made
}

// listed reports whether one after another is denied, as was said of the first, or of no
// part by its name: "no heat, not bake, not broil".
func (r *reader) listed() bool {
	if len(r.recent) == 0 {
		return false
	}
	was, n := r.recent[len(r.recent)-1], 0
	for i := range r.tokens {
		if r.tokens[i].text == r.l.Denial {
			n++
		}
	}
	return was.bare || n > 1 && r.lastSaid.key == "dead" && !slices.ContainsFunc(was.subjects, func(p *phrase) bool { return !r.region(p) })
}

// wait keeps a list's subjects for what is said of them after the comma.
func (r *reader) wait(k *clause, comma bool) {
	if r.tells(k) {
		for r.tells(k) { // "one glows and then quits, left rear"
			continue
		}
		return
	}
	k.subjects = slices.DeleteFunc(k.subjects, func(p *phrase) bool { return r.isMachine(p) })
	if comma && r.apposed(k) {
		for _, p := range k.subjects {
			r.used.join(p.from)
		}
		return
	}
	if n := len(r.carried); comma && n > 0 && len(k.subjects) == 1 && len(k.subjects[0].nouns) == 0 && len(r.carried[n-1].nouns) > 0 {
		with := *r.carried[n-1] // "the burner in back, left, stays warm"
		if with.where = slices.Concat(with.where, k.subjects[0].where); len(r.carried[n-1].where) > 0 && len(r.parts(&with, r.isSurface)) > 0 {
			with.from.join(k.subjects[0].from)
			r.carried[n-1] = &with
			return
		}
	}
	if comma && k.trails && len(k.subjects) == 1 {
		r.withheld = true // "won't turn on convection, bake is fine"
		return
	}
	if comma && !k.odd && !k.it {
		r.carried = slices.DeleteFunc(r.carried, func(p *phrase) bool { // "one of the burners, the left front, is dead"
			named := p.some && r.within(k.subjects, p)
			if named {
				r.used.join(p.from)
			}
			return named
		})
		r.carried, r.carriedMode = append(r.carried, k.subjects...), append(r.carriedMode, k.modes...)
		if len(k.subjects) == 0 {
			r.carriedWhen = k.when
		}
		r.carriedAt = k.at
		return
	}
	if k.subbed && len(k.words) > 1 && len(k.subjects)+len(k.places) == 0 {
		r.withheld = true // "only when I use it"
	}
	r.carriedMode, r.carriedAt = k.modes, k.at
	if len(k.subjects) > 0 {
		r.last = k.subjects
	}
}

// apposed reports whether a clause only names what belongs to a region of which
// something was just said: "oven totally dead, both bake and broil".
func (r *reader) apposed(k *clause) bool {
	if len(r.last) != 1 || r.lastSaid == nil || len(r.carried) > 0 || !r.region(r.last[0]) || len(k.subjects) < 2 || len(k.places)+len(k.modes) > 0 {
		return false
	}
	return r.within(k.subjects, r.last[0])
}

// tells reports whether places or parts by themselves tell which ones were meant in the
// question before, and puts down so: "a burner won't go off. Back left."
func (r *reader) tells(k *clause) bool {
	n := len(r.heard.Questions)
	if n == 0 || len(k.subjects) == 0 {
		return false
	}
	q := &r.heard.Questions[n-1]
	if q.Doubt != "" {
		return false
	}
	var at []circuit.PartID
	var from span
	all := len(k.subjects) > 1
	for _, p := range k.subjects {
		switch named := len(p.where) < len(p.words) && !(len(p.where) > 0 && slices.ContainsFunc(p.words, r.l.standsFor)); {
		case named && (len(k.subjects) < 2 || !r.region(p) && !p.all):
			return false
		case named:
			at = append(at, r.parts(p, anyPart)...)
		default:
			at = append(at, r.partsAt(&phrase{}, p.where, anyPart)...)
		}
		from.join(p.from)
		all = all || p.all
	}
	var kept []Choice
	for _, c := range q.Choices {
		if alike := !slices.ContainsFunc(c.Statements, func(s Statement) bool { return s.What != c.Statements[0].What }); alike { // of the oven or the cooktop
			c.Statements = slices.DeleteFunc(slices.Clone(c.Statements), func(s Statement) bool { return !slices.Contains(at, r.partOf(&s)) })
		}
		if len(c.Statements) > 0 && slices.Contains(at, r.partOf(&c.Statements[0])) {
			kept = append(kept, c)
		}
	}
	if len(kept) == 0 || len(kept) == len(q.Choices) && len(k.subjects) < 2 {
		return false
	}
	r.used.join(from)
	one := !slices.ContainsFunc(kept[1:], func(c Choice) bool { return !r.siblings(r.partOf(&c.Statements[0]), r.partOf(&kept[0].Statements[0])) })
	if q.Choices = kept; one || all || len(k.subjects) == 1 && k.subjects[0].count == len(kept) {
		r.heard.Questions = r.heard.Questions[:n-1]
		for _, c := range kept {
			for _, s := range c.Statements {
				r.put(s)
			}
		}
	}
	return true
}
