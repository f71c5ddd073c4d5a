package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// notAmiss are tellings of nothing that was wrong, nor that it still is.
var notAmiss = map[string]bool{"normal": true, "rest_normal": true, "reads": true, "replaced": true, "reset": true, "repair": true, "found_good": true,
	"looks_good": true, "no_trip": true, "since": true, "sudden": true, "gradual": true, "click": true}

// mend keeps that something was done about what had been told by then.
func (r *reader) mend() {
	if !r.mended {
		r.mended, r.mendedAt, r.mending = true, len(r.heard.Statements), r.saying
	}
}

// fuseRenewed reports whether it was told right before that a fuse was replaced.
func (r *reader) fuseRenewed() bool {
	n := len(r.heard.Statements)
	if n == 0 || r.heard.Statements[n-1].What != "replaced" || r.heard.Statements[n-1].Part == circuit.None {
		return false
	}
	kind := r.c.Part(r.heard.Statements[n-1].Part).Kind
	return kind == circuit.KindFuse || kind == circuit.KindThermalFuse
}

// amiss reports whether it was told by now what fails.
func (r *reader) amiss() bool {
	return slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return !notAmiss[s.What] })
}

// cured reports whether a clause that tells that something works tells what came of what
// was done about it: "no heat, replaced the heater, heats fine".
func (r *reader) cured(k *clause, s *said) bool {
	all, at := r.heard.Statements, min(r.mendedAt, len(r.heard.Statements))
	if !r.mended || k.rest || k.others || k.rarely || k.when != "" || k.past || len(k.butOnly) > 0 || len(k.modes) > 0 || slices.ContainsFunc(k.subjects, func(p *phrase) bool { return p.only }) {
		return false
	}
	if r.butNot(s.from) {
		return false // "replaced the fuse, it runs but no heat"
	}
	for _, o := range all[at:] {
		if !notAmiss[o.What] && o.What != "works_again" {
			return false // "replaced the board, still no bake, but it broils"
		}
	}
	var failed []circuit.BranchID
	amiss := slices.ContainsFunc(all, func(o Statement) bool { return o.What == "reset" }) // it had tripped
	for _, o := range all[:at] {
		if notAmiss[o.What] {
			continue
		}
		if amiss = true; o.Load != circuit.None {
			failed = append(failed, o.Load)
		} else if o.Part != circuit.None {
			failed = append(failed, r.machine.loads[o.Part]...)
		}
	}
	for _, q := range r.heard.Questions {
		if notAmiss[q.What] {
			continue
		}
		for _, c := range q.Choices {
			if amiss = true; c.Statements[0].Load != circuit.None {
				failed = append(failed, c.Statements[0].Load)
			}
		}
	}
	of := r.loadsOf(s.of)
	if len(k.subjects) > 0 {
		of = nil
		for _, p := range k.subjects {
			for _, id := range r.parts(p, r.isLoad) {
				of = append(of, r.machine.loads[id]...)
			}
		}
	} else if len(of) == 0 {
		return amiss
	}
	return amiss && (len(failed) == 0 && len(k.subjects) == 0 || anyIn(of, failed))
}

// butNot reports whether a clause is followed by one that denies.
func (r *reader) butNot(after span) bool {
	last := -1
	for i := range r.tokens {
		if after.has(i) {
			last = i
		}
	}
	rest := r.tokens[last+1:]
	for len(rest) > 0 && (rest[0].empty() || rest[0].comma) && !rest[0].has(ends) {
		rest = rest[1:]
	}
	return len(rest) > 1 && (rest[0].has(ends) || rest[0].has(joins)) && !rest[0].stop && (rest[1].has(not) || len(rest) > 2 && rest[1].small() && rest[2].has(not))
}

// renewed is what a bare noun means of which several parts may be called, where one was
// told of, or another at the same place: "right rear receptacle burnt, new block and coil".
func (r *reader) renewed(p *phrase) []circuit.PartID {
	if len(p.where) > 0 && !p.lent || len(p.nouns) != 1 || p.all || p.its || p.count > 0 || r.isMachine(p) || r.region(p) {
		return nil
	}
	like := phrase{nouns: p.nouns, said: p.said, words: p.words, odd: true}
	parts := r.parts(&like, anyPart)
	var told, beside []circuit.PartID
	for _, id := range parts {
		for _, s := range r.heard.Statements {
			switch of := r.partOf(&s); {
			case of == circuit.None || notAmiss[s.What]:
			case of == id:
				told = append(told, id)
			case r.corner(of) != "" && r.corner(of) == r.corner(id):
				beside = append(beside, id)
			}
		}
	}
	if len(told) == 0 {
		told = beside
	}
	slices.Sort(told)
	return slices.Compact(told)
}

// corner is which of a cooktop's places a part belongs to, "" for none.
func (r *reader) corner(id circuit.PartID) string {
	if place := r.placeOf(id); corners[place] {
		return place
	}
	return ""
}

// outlet makes of a new cord or outlet what was put in where such a thing was told of at a
// burner, or what else was put in with it.
func (r *reader) outlet(k *clause, s *said) *said {
	for _, w := range strings.Fields(s.words) {
		noun, is := r.l.alone(singular(w)).of(isNoun)
		if !is {
			continue
		}
		np := &phrase{nouns: []int{noun.n}, said: []string{singular(w)}, words: []string{singular(w)}, from: s.from}
		if of := r.renewed(np); len(of) == 1 && r.corner(of[0]) != "" {
			k.subjects = append([]*phrase{np}, k.subjects...)
			return &said{class: isHistory, key: "replaced", words: s.words, from: s.from}
		}
	}
	if of := slices.DeleteFunc(slices.Clone(k.subjects), func(p *phrase) bool {
		return r.isMachine(p) || r.namesOnly(p, circuit.KindConnector) || len(r.parts(p, anyPart)) == 0
	}); len(of) > 0 && len(k.said) == 1 {
		one := *k
		one.subjects, one.places = of, nil
		r.history(&one, &said{class: isHistory, key: "replaced", words: s.words, from: s.from})
	}
	return s
}

// atFault is the part that was found bad before what was only said to be dead: "the fuse is
// bad so the motor doesn't run, replaced it".
func (r *reader) atFault(k *clause, last []*phrase) []*phrase {
	if anyIn(k.words, r.l.Both) {
		var both []*phrase
		for _, s := range r.heard.Statements {
			if s.What == "found_bad" && s.Part != circuit.None {
				both = append(both, r.phraseOf(s.Part)) // "cutoff and limit both open, replaced both"
			}
		}
		if len(both) == 2 {
			return both
		}
	}
	var dead []circuit.PartID
	for _, s := range r.heard.Statements {
		if id := r.partOf(&s); (s.What == "dead" && s.way == named || s.What == "found_bad" && id != circuit.None && r.isLoad(id)) && !slices.Contains(dead, r.partOf(&s)) {
			dead = append(dead, r.partOf(&s))
		}
	}
	if of := r.partsOf(last); len(dead) == 1 && len(of) > 0 && !slices.ContainsFunc(of, func(id circuit.PartID) bool { return !r.wasSaid(r.machine.loads[id][0], "normal") }) {
		return []*phrase{r.phraseOf(dead[0])} // "lower element open, the upper heats. Replaced"
	}
	for _, s := range slices.Backward(r.heard.Statements) {
		switch {
		case s.What == "found_bad" && s.Part != circuit.None && !r.isLoad(s.Part):
			return []*phrase{r.phraseOf(s.Part)}
		case s.What != "dead":
			return last
		}
	}
	return last
}

// partsOf are the loads that phrases name.
func (r *reader) partsOf(of []*phrase) (out []circuit.PartID) {
	for _, p := range of {
		out = append(out, r.parts(p, r.isLoad)...)
	}
	return out
}

// othersThan puts a state down of all of a kind that was named, but those with which it was
// said to trip, where that was told of a setting: "trips with the right rear, the other
// burners don't". It reports whether it did.
func (r *reader) othersThan(k *clause, s *said, key string) bool {
	if k.kin == nil || len(r.last) > 0 && !r.isMachine(r.last[0]) || !r.tripped {
		return false
	}
	every := phrase{nouns: k.kin.nouns, said: k.kin.said, words: k.kin.words, all: true}
	for _, id := range r.parts(&every, r.isLoad) {
		for _, load := range r.machine.loads[id] {
			if !slices.ContainsFunc(r.heard.Statements, func(o Statement) bool {
				return o.Load == load || o.Load == circuit.None && o.Mode != circuit.None && r.uses(o.Mode, load)
			}) {
				r.put(r.ofLoads(k, s, key, []circuit.BranchID{load})[0].Statements[0])
			}
		}
	}
	return true
}

// lasted reports whether a sentence that tells of a new part tells of weeks or longer: it
// held for so long, and failed anew.
func (r *reader) lasted() bool {
	return r.replaced && slices.ContainsFunc(r.tokens, func(t token) bool {
		return slices.ContainsFunc(strings.Fields(t.text), func(w string) bool { return slices.Contains(r.l.Long, singular(w)) })
	})
}
