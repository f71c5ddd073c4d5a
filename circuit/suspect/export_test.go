package suspect

import "legtrace/circuit"

// MoveShows are the chances of every answer of a move with faults present.
func MoveShows(c *circuit.Circuit, t Test, faults []circuit.Fault, acting func(circuit.BranchID) bool) []float64 {
	if t.Ask == Listen {
		return t.clicks(c, acting)
	}
	return t.shown(c, faults)
}

// ComesAndGoes reports whether a cause may be there now and then.
func ComesAndGoes(k Class) bool {
	for _, c := range k.sizes.cells {
		if c.occasion.when == comesAndGoes {
			return true
		}
	}
	return false
}
