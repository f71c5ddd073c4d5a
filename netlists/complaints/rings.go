package complaints

import (
	"slices"

	"legtrace/circuit"
)

// ring are words that tell one coil of a burner from another.
var ring = map[string]bool{"inner": true, "within": true, "outer": true, "centre": true, "large": true, "small": true}

// ofRing gives "the outer one" the place of a coil that was spoken of before, where it is
// of the same burner, and reports whether it did.
func (r *reader) ofRing(np, of *phrase) bool {
	last := r.parts(of, r.isLoad)
	if len(last) == 0 || len(np.where) == 0 || slices.ContainsFunc(np.where, func(w string) bool { return !ring[w] }) {
		return false
	}
	for _, id := range r.parts(np, r.isLoad) {
		if r.siblings(id, last[0]) {
			np.where = append(np.where, slices.DeleteFunc(slices.Clone(of.where), func(w string) bool {
				return ring[w] || !r.machine.parts[id][w] && !r.abbreviated(r.machine.parts[id], w)
			})...)
			return true
		}
	}
	return false
}

// rings reports whether a token tells one coil of a burner from another.
func (l *Language) rings(t *token) bool {
	s, ok := t.of(isWhere)
	return ok && ring[s.key]
}

// both keeps of more than two parts that "both" may mean those that were spoken of before,
// or that go with them: of "bake and broil dead, both relays click" their relays.
func (r *reader) both(np *phrase) {
	var of, these []circuit.PartID
	for _, s := range r.heard.Statements {
		if id := r.partOf(&s); s.About == OfLoad && id != circuit.None && !slices.Contains(of, id) {
			of = append(of, id)
		}
	}
	parts := r.parts(np, anyPart)
	if len(of) != 2 && len(parts) > 2 && len(np.where) == 0 && !r.region(np) { // "replaced both elements" of a range: its oven's
		if ovens := slices.DeleteFunc(slices.Clone(parts), func(id circuit.PartID) bool {
			return r.isSurface(id) || !r.isLoad(id) || !r.c.Part(id).Kind.Heats()
		}); len(ovens) == 2 && len(ovens) < len(parts) {
			np.these = ovens
			return
		}
	}
	if len(of) != 2 || len(parts) < 3 || len(np.where) > 0 || r.region(np) {
		return
	}
	for _, id := range of {
		if !slices.Contains(parts, id) {
			id = r.nearest(parts, id)
		}
		if id == circuit.None || slices.Contains(these, id) {
			return
		}
		these = append(these, id)
	}
	np.these = these
}

// bothMetered are the two loads that a meter was put to, where there were two: "bake 22 ohms,
// broil 18, both dead".
func (r *reader) bothMetered() (out []*phrase) {
	var of []circuit.PartID
	for _, s := range r.heard.Statements {
		if s.What == "reads" && s.Part != circuit.None && r.isLoad(s.Part) && !slices.Contains(of, s.Part) {
			of, out = append(of, s.Part), append(out, r.phraseOf(s.Part))
		}
	}
	if len(of) != 2 {
		return nil
	}
	return out
}
