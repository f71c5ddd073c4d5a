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
	// Burners are what else such a place is called after "another".
	Burners []string
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
	if len(r.l.Trial.At) == 0 {
		return words
	}
	for from := 0; from < len(words); {
		to := from
		for to < len(words) && words[to].mark != '.' && words[to].mark != ';' {
			to++
		}
		for begin := from; begin < to; begin++ {
			if begin > from && !slices.Contains(r.l.Trial.Put, words[begin].word) {
				continue
			}
			for begin > from && slices.Contains(r.l.People, words[begin-1].word) {
				begin-- // "I put"
			}
			if own := r.failedCorner(words[:begin]); own != circuit.None {
				if st := r.tried(words[begin:to], own); st != nil {
					r.put(*st)
					words = slices.Delete(words, begin, to)
					to = begin
					break
				}
			}
			for begin < to && slices.Contains(r.l.People, words[begin].word) {
				begin++
			}
		}
		from = to + 1
	}
	return words
}

// failedCorner is the surface unit that failed before something was tried: that which was
// complained of, else the only one that words name, if they tell that it does not work; None
// where there is none.
func (r *reader) failedCorner(words []raw) circuit.BranchID {
	if b := r.before; b != nil && b.dead && r.onSurface(b.load) {
		return b.load
	}
	own, dead := circuit.BranchID(circuit.None), false
	for i, w := range words {
		t := r.l.alone(w.word)
		dead = dead || slices.Contains(r.l.Trial.Dead, w.word) || t.has(not) || t.has(cease) || t.is(isState, "dead") || t.is(isState, "quits") || t.is(isStanding, "dead")
		n := 1
		if i+1 < len(words) && r.l.alone(words[i+1].word).has(isWhere) {
			n = 2
		}
		if !t.has(isWhere) || i > 0 && r.l.alone(words[i-1].word).has(isWhere) {
			continue
		}
		load := r.corneredBy(joined(words[i:i+n]), circuit.None)
		if load == circuit.None || own != circuit.None && own != load {
			return circuit.None
		}
		own = load
	}
	if !dead {
		return circuit.None
	}
	return own
}

// corneredBy is the one surface unit that stands where words say, of several the one that is
// on the side of another; None where that tells none apart.
func (r *reader) corneredBy(words string, beside circuit.BranchID) circuit.BranchID {
	np := r.phraseCalled(words)
	if np == nil || len(np.where) == 0 {
		return circuit.None
	}
	of := r.parts(&phrase{where: np.where}, r.isSurface)
	if len(of) > 1 && beside != circuit.None {
		if near := r.nearest(of, r.c.Branch(beside).Part); near != circuit.None {
			of = []circuit.PartID{near} // "moved it to the back"
		}
	}
	if len(of) != 1 || len(r.machine.loads[of[0]]) != 1 {
		return circuit.None
	}
	return r.machine.loads[of[0]][0]
}

// tried is what one sentence tells by it of the one that failed, nil where it does not.
func (r *reader) tried(words []raw, own circuit.BranchID) *Statement {
	t := &r.l.Trial
	at, past, place := -1, 0, circuit.BranchID(circuit.None)
	other := false
	for i := range words {
		if slices.Contains(t.At, words[i].word) {
			if load, n := r.putAt(words[i+1:], own); n > 0 {
				at, place, past = i, load, i+1+n
				other = load == circuit.None && slices.ContainsFunc(words[i+1:past], func(w raw) bool { return slices.Contains(t.Good, w.word) })
				break
			}
		}
	}
	if at < 0 || r.before == nil && !slices.ContainsFunc(words[:at], func(w raw) bool { return slices.Contains(t.Put, w.word) }) {
		return nil
	}
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
			if coil = r.corneredBy(strings.Join(name, " "), circuit.None); coil == circuit.None {
				return nil
			}
		} else if !slices.ContainsFunc(r.parts(np, r.isLoad), r.isSurface) {
			return nil
		}
	}
	if coil == circuit.None && !like {
		coil = own
	}
	if place == circuit.None && !other { // "in its place", "in there"
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
		if st.What = "good_elsewhere"; place != circuit.None {
			st.there = r.c.Branch(place).Ref
		}
	case coil != own && place == own && dead:
		st.What = "like_dead_here"
	case coil != own && place == own:
		st.What = "like_works_here"
	default:
		return nil
	}
	return st
}

// putAt is the surface unit whose place words begin with, None for the one spoken of or for
// another that is not named, and how many words name it; none where they name no such place.
func (r *reader) putAt(words []raw, own circuit.BranchID) (load circuit.BranchID, n int) {
	here := func(w raw) bool { return slices.Contains(r.l.Trial.Here, w.word) }
	for n < len(words) && (r.l.alone(words[n].word).has(article) || r.l.alone(words[n].word).has(its)) {
		n++
	}
	if n < len(words) && here(words[n]) {
		return circuit.None, n + 1
	}
	if n+1 < len(words) && slices.Contains(r.l.Trial.Good, words[n].word) && (here(words[n+1]) || slices.Contains(r.l.Trial.Burners, words[n+1].word)) {
		return circuit.None, n + 2 // "in another burner"
	}
	from := n
	for n < len(words) && words[n].mark == 0 {
		t := r.l.alone(words[n].word)
		if !t.has(isWhere) && !t.has(isNoun) || slices.Contains(r.l.Trial.Works, words[n].word) || slices.Contains(r.l.Trial.Dead, words[n].word) {
			break
		}
		n++
	}
	if load = r.corneredBy(joined(words[from:n]), own); load == circuit.None {
		return circuit.None, 0
	}
	return load, n
}
