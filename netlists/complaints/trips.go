package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// worksTillItTrips drops what works until the breaker trips on it, and says in what it
// does: "starting bake knocks the breaker out", "the oven runs a few minutes, then trips".
func (r *reader) worksTillItTrips() {
	all := r.heard.Statements
	for i := range all {
		t := &all[i]
		if t.What != "trips" && t.What != "trips_residual" {
			continue
		}
		var works []*Statement
		for k := range all {
			n := &all[k]
			if n.About != OfLoad || n.What != "normal" || n.Load == circuit.None || !r.heats(n.Load) || t.Mode != circuit.None && !r.uses(t.Mode, n.Load) {
				continue
			}
			if t.Mode != circuit.None && r.modeUsing(n.Load) == t.Mode {
				works = append(works, n) // "all is fine; the left rear trips the breaker"
				continue
			}
			late := t.When == "late" || t.then || slices.ContainsFunc(strings.Fields(n.Words), r.l.minutes)
			if n.clause == t.clause || k < i && n.clause == t.clause-1 && t.nameless && late {
				works = append(works, n)
			}
		}
		for _, n := range works {
			if n.What = ""; n.clause != t.clause && t.When == "" && t.Mode == circuit.None {
				t.When = "late"
			}
		}
		switch main := mainMode(r.c); {
		case len(works) == 0 || t.Mode != circuit.None:
		case slices.ContainsFunc(works, func(n *Statement) bool { return r.uses(main, n.Load) }):
			t.Mode = main
		default:
			t.Mode = r.modeUsing(works[0].Load)
		}
	}
	tripped, rest := r.told("trips", circuit.None), r.told("rest_normal", circuit.None)
	r.heard.Statements = slices.DeleteFunc(all, func(s Statement) bool {
		return s.What == "" || tripped && rest && (s.What == "rest_dead" || s.What == "all_dead") // "nothing else does, and the rest works"
	})
}
