package suspect

import (
	"slices"

	"legtrace/circuit"
)

// MoveShows are the chances of every answer of a move with faults present.
func MoveShows(c *circuit.Circuit, t Test, faults []circuit.Fault, acting func(circuit.BranchID) bool) []float64 {
	if t.Ask == Listen {
		return t.clicks(c, acting)
	}
	return t.shown(c, faults)
}

// ComesAndGoes is the share of a cause that is there now and then.
func ComesAndGoes(k Class) (share float64) {
	for _, c := range k.sizes.cells {
		if c.occasion.when == comesAndGoes {
			share += c.share
		}
	}
	return share
}

// Share is what a load takes with faults, of its rating, as symptoms are weighed.
func (e *Engine) Share(mode circuit.ModeID, load circuit.BranchID, faults ...circuit.Fault) (float64, error) {
	p, err := e.workers[0].predict(Evidence{Symptom: &Symptom{Mode: mode, Load: load}}, faults)
	return p.share, err
}

// ShareAlone is Share with no load standing for others, nor anything kept.
func (e *Engine) ShareAlone(mode circuit.ModeID, load circuit.BranchID, faults ...circuit.Fault) (float64, error) {
	w := *e.workers[0]
	alone := slices.Repeat([]int32{-1}, len(e.c.Branches()))
	w.collapse, w.looks = &collapse{chain: alone, unitOf: alone}, map[lookOf]*look{}
	p, err := w.predict(Evidence{Symptom: &Symptom{Mode: mode, Load: load}}, faults)
	return p.share, err
}

// Forgetful drops all that is kept between pieces of evidence to weigh the next
// sooner.
func (e *Engine) Forgetful() {
	e.hopeless, e.ofLoads = map[setOf]letGo{}, nil
	for _, s := range e.singles {
		s.settled = nil
	}
	for _, w := range e.workers {
		clear(w.looks)
		clear(w.lines)
	}
}

// CornersAnew sums what evidence says of a cell's corner, piece by piece, beside
// what is kept of it, for each cell of each class.
func (e *Engine) CornersAnew(see func(kept, anew float64)) {
	for i := range e.classes {
		for k, cell := range e.classes[i].sizes.cells {
			for at, corner := range cell.corners {
				sum := 0.0
				for _, s := range e.singles {
					if s.corners != nil && !s.even[i][k] {
						sum += s.corners[i][corner]
					}
				}
				see(e.corners[i][k][at], sum)
			}
		}
	}
}

// Reach is what getting at a fault to mend it takes still, in minutes.
func (p *Progress) Reach(c *circuit.Circuit, f circuit.Fault) float64 {
	g := newGround(c)
	to := g.reaching(c, f)
	return g.minutes(&to, g.setup(p))
}

// AsItWas reports whether a test meets what comes and goes as it was read last.
func (e *Engine) AsItWas(t Test) bool { return e.meets(t) == leftAlone }
