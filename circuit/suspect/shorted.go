package suspect

import (
	"slices"

	"legtrace/circuit"
)

// tripsAnother is how much less likely it is told to trip in a mode by what that does not
// feed: it trips where that is fed as well, and who names one mode has mostly tried the
// other (common practice, no source).
const tripsAnother = 0.3

// tripsByArc is how often a winding that touches its sheath away from its ends trips all
// the same: the arc there eats towards an end, which no solve follows. Above arcOhms it
// mostly leaks and holds (common practice, no source).
const tripsByArc, arcOhms = 0.3, 30

// another reports whether all faults are of loads that a mode does not feed.
func (w *worker) another(mode circuit.ModeID, faults []circuit.Fault) bool {
	c := w.bench.Circuit()
	return mode != circuit.None && mode != c.OffMode() && !slices.ContainsFunc(faults, func(f circuit.Fault) bool {
		return c.Branch(f.Branch).Role != circuit.Load || expects(c, mode, f.Branch)
	})
}

// arcs reports whether what heats in a mode, with None in any, touches its sheath.
func (w *worker) arcs(mode circuit.ModeID, faults []circuit.Fault) bool {
	c := w.bench.Circuit()
	return slices.ContainsFunc(faults, func(f circuit.Fault) bool {
		return f.Kind == circuit.Grounded && f.Ohms <= arcOhms && c.Branch(f.Branch).Role == circuit.Load && kindOf(c, f.Branch).Heats() &&
			(mode == circuit.None || expects(c, mode, f.Branch))
	})
}
