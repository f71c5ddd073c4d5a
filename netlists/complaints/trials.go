package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// trial is how a language tells that a coil was tried in another's place.
type trial struct {
	// Put is what somebody does, At leads to where, Here is the place spoken of.
	Put, At, Here []string
	// Old is said of the coil that failed, Good of one that is known to work.
	Old, Good []string
	// Works and Dead are what came of it.
	Works, Dead []string
	// Small words may stand beside.
	Small []string
}

// tries takes what a coil did in another's place, or another in its own, after one was
// complained of: "tried it in the right front: heats", "a good coil in there is dead too".
// Where it was put and what came of it have to be told, and nothing else.
func (r *reader) tries(words []raw) []raw {
	b := r.before
	if b == nil || !b.dead || !r.onSurface(b.load) || len(r.l.Trial.At) == 0 {
		return words
	}
	for from := 0; from < len(words); {
		to := from
		for to < len(words) && words[to].mark != '.' && words[to].mark != ';' {
			to++
		}
		if st := r.tried(words[from:to]); st != nil {
			r.put(*st)
			words = slices.Delete(words, from, to)
			to = from
		}
		from = to + 1
	}
	return words
}

// tried is what one sentence tells by it, nil where it does not.
func (r *reader) tried(words []raw) *Statement {
	t := &r.l.Trial
	at, place, past := -1, circuit.BranchID(circuit.None), 0
	for i := range words {
		if slices.Contains(t.At, words[i].word) {
			if load, n := r.putAt(words[i+1:]); n > 0 {
				at, place, past = i, load, i+1+n
				break
			}
		}
	}
	if at < 0 {
		return nil
	}
	own := r.before.load
	coil, like := circuit.BranchID(circuit.None), false
	works, dead := false, false
	var name []string
	rest := slices.Concat(words[:at], []raw{{mark: ','}}, words[past:])
	for i, w := range rest {
		tok := r.l.alone(w.word)
		switch {
		case slices.Contains(t.Dead, w.word), tok.has(not), r.l.denies(w.word):
			dead = true
		case slices.Contains(t.Works, w.word):
			works = true
		case i < at && slices.Contains(t.Good, w.word):
			like = true
		case i < at && (tok.has(isNoun) || tok.has(isWhere)):
			name = append(name, w.word)
		case w.mark != 0, slices.Contains(t.Put, w.word), slices.Contains(t.Old, w.word), slices.Contains(t.Small, w.word), slices.Contains(t.Here, w.word), tok.has(article), tok.has(pronoun), tok.has(joins), tok.has(filler), tok.has(aux):
		default:
			return nil
		}
	}
	if len(name) > 0 {
		np := r.phraseCalled(strings.Join(name, " "))
		if np == nil {
			return nil
		}
		if len(np.where) > 0 {
			of := r.parts(&phrase{where: np.where}, r.isSurface)
			if len(of) != 1 || len(r.machine.loads[of[0]]) != 1 {
				return nil
			}
			coil = r.machine.loads[of[0]][0]
		} else if !slices.ContainsFunc(r.parts(np, r.isLoad), r.isSurface) {
			return nil
		}
	}
	if coil == circuit.None && !like {
		coil = own
	}
	if place == circuit.None { // "in its place", "in there"
		if place = own; coil == own {
			return nil
		}
	}
	st := &Statement{About: OfHistory, Load: circuit.None, Part: r.c.Branch(own).Part, Mode: circuit.None, Words: joined(words)}
	switch {
	case works == dead && !dead:
		return nil
	case coil == own && place != own && dead:
		st.What = "found_bad"
	case coil == own && place != own:
		st.What, st.there = "good_elsewhere", r.c.Branch(place).Ref
	case coil != own && place == own && dead:
		st.What = "like_dead_here"
	case coil != own && place == own:
		st.What = "like_works_here"
	default:
		return nil
	}
	return st
}

// putAt is the surface unit whose place words begin with, None for the one spoken of, and how
// many words name it; none where they name no such place.
func (r *reader) putAt(words []raw) (load circuit.BranchID, n int) {
	here := func(w raw) bool { return slices.Contains(r.l.Trial.Here, w.word) }
	for n < len(words) && (r.l.alone(words[n].word).has(article) || r.l.alone(words[n].word).has(its)) {
		n++
	}
	if n < len(words) && here(words[n]) {
		return circuit.None, n + 1
	}
	from := n
	for n < len(words) && words[n].mark == 0 {
		t := r.l.alone(words[n].word)
		if !t.has(isWhere) && !t.has(isNoun) || slices.Contains(r.l.Trial.Works, words[n].word) || slices.Contains(r.l.Trial.Dead, words[n].word) {
			break
		}
		n++
	}
	np := r.phraseCalled(joined(words[from:n]))
	if np == nil || len(np.where) == 0 {
		return circuit.None, 0
	}
	of := r.parts(&phrase{where: np.where}, r.isSurface)
	if len(of) != 1 || len(r.machine.loads[of[0]]) != 1 {
		return circuit.None, 0
	}
	return r.machine.loads[of[0]][0], n
}
