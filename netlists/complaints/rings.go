package complaints

import "slices"

// ring are words that tell one coil of a burner from another.
var ring = map[string]bool{"inner": true, "outer": true, "centre": true, "large": true, "small": true}

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
