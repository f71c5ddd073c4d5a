package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// heatedBeside is what heats in the place of the lamp that was spoken of: "warming zone".
func (r *reader) heatedBeside() (out []circuit.BranchID) {
	if len(r.last) != 1 || !r.isLamp(r.last[0]) {
		return nil
	}
	for _, id := range r.parts(r.last[0], r.isLoad) {
		for _, load := range r.c.Loads() {
			if part := r.c.Branch(load).Part; part != circuit.None && part != id && r.heats(load) && r.placeOf(part) == r.placeOf(id) {
				out = append(out, load)
			}
		}
		if len(out) == 0 {
			out = r.litWith(r.machine.loads[id])
		}
	}
	return out
}

// litWith is what heats in every mode in which a lamp lights that tells of it: an oven's
// elements by its cycle lamp; nothing where it lights for burners too.
func (r *reader) litWith(lamps []circuit.BranchID) (out []circuit.BranchID) {
	for _, m := range r.c.Modes() {
		if len(lamps) != 1 || !r.uses(m.ID, lamps[0]) {
			continue
		}
		if !heatsIn(r.c, m.ID) {
			return nil
		}
		for _, load := range r.mainLoads(m.ID) {
			if r.heats(load) && r.onSurface(load) {
				return nil
			}
			if r.heats(load) && !slices.Contains(out, load) {
				out = append(out, load)
			}
		}
	}
	return out
}

// workedBySaid are the loads that heat by what works them and was told of last, by its
// name: the bake relay's, the left front switch's, those of the oven's thermostat.
func (r *reader) workedBySaid() (out []circuit.BranchID) {
	n := len(r.heard.Statements)
	for i := n - 1; i >= 0 && r.heard.Statements[i].clause == r.heard.Statements[n-1].clause; i-- {
		part := r.heard.Statements[i].Part
		if part == circuit.None || r.isLoad(part) {
			return nil
		}
		out = append(r.workedBy(part), out...) // "all relays click but nothing glows"
	}
	return out
}

// workedBy are the loads that are called most like a part that works them.
func (r *reader) workedBy(part circuit.PartID) (out []circuit.BranchID) {
	called, most := r.nameWords(part), 1
	for _, load := range r.loadsOf(heating) {
		n := 0
		for _, w := range r.nameWords(r.c.Branch(load).Part) {
			if slices.Contains(called, w) {
				n++
			}
		}
		if n > most {
			most, out = n, nil
		}
		if n == most {
			out = append(out, load)
		}
	}
	if at := r.phraseCalled(called[0]); len(out) == 0 && at != nil && r.region(at) {
		for _, id := range r.parts(at, r.isLoad) {
			if r.c.Part(id).Kind.Heats() {
				out = append(out, r.machine.loads[id]...)
			}
		}
	}
	return out
}

// besideFan reports whether a mode uses a load with the fan that was spoken of.
func (r *reader) besideFan(load circuit.BranchID) bool {
	for _, p := range r.last {
		for _, id := range r.parts(p, r.isLoad) {
			if r.c.Part(id).Kind == circuit.KindFan && slices.ContainsFunc(r.c.Modes(), func(m circuit.Mode) bool { return r.uses(m.ID, load) && r.uses(m.ID, r.machine.loads[id][0]) }) {
				return true
			}
		}
	}
	return false
}

// besideWorks is the one of several parts of a bare name that goes with what was told of
// last, which works it: "the bake relay clicks, the element is open". None where none does.
func (r *reader) besideWorks(p *phrase, parts []circuit.PartID) circuit.PartID {
	n := len(r.heard.Statements)
	if n == 0 || len(parts) < 2 || len(p.where) > 0 || len(p.nouns) != 1 || p.all || p.count > 0 || r.region(p) || !r.l.isPart(p.said[0]) {
		return circuit.None
	}
	last := r.heard.Statements[n-1].Part
	if last == circuit.None || r.isLoad(last) && r.c.Part(last).Kind != circuit.KindRelay {
		return circuit.None
	}
	called := r.nameWords(last)
	those := slices.DeleteFunc(slices.Clone(parts), func(id circuit.PartID) bool { return !anyIn(r.nameWords(id), called) })
	if len(those) != 1 {
		return circuit.None
	}
	return those[0]
}

// inAny reports whether a clause speaks of whatever is set: "no heat on any function".
func (r *reader) inAny(k *clause) bool {
	return r.anyway || k.every || anyIn(strings.Fields(strings.Join(k.words, " ")), r.l.Chosen)
}
