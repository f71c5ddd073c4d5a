package phasor

import (
	"math"
	"math/cmplx"

	"legtrace/circuit"
)

type branchKind uint8

const (
	absent branchKind = iota
	ideal
	impedance
)

// state is what one branch is to the network, faults applied.
type state struct {
	kind   branchKind
	y      complex128 // of an impedance
	emf    complex128 // of a source
	series float64    // ohms that a fault adds to a load
	// A ground fault ties the ends to the chassis, besides kind and y.
	ground [2]tie
	// split tells that a ground within a load has parted it: the admittances
	// of its halves, from A and from B, and of the leak to chassis, which is 0
	// where the point is the chassis itself.
	split bool
	halfY [2]complex128
	leak  complex128
}

// tie leads from one end of a branch to the chassis.
type tie struct {
	ideal bool
	y     complex128
}

func (t tie) none() bool { return !t.ideal && t.y == 0 }

// groundTie is one end of a branch tied to the chassis by a fault.
type groundTie struct {
	branch circuit.BranchID
	at     circuit.TerminalID
	tie    tie
}

// groundTies adds what ties a branch to the chassis.
func groundTies(ties []groundTie, b *circuit.Branch, s *state, chassis circuit.TerminalID) []groundTie {
	for i, at := range [2]circuit.TerminalID{b.A, b.B} {
		if !s.ground[i].none() && at != chassis {
			ties = append(ties, groundTie{b.ID, at, s.ground[i]})
		}
	}
	return ties
}

func (t tie) how() linkKind {
	if t.ideal {
		return conducts | merges
	}
	return conducts
}

// grounded tells whether either end is tied to the chassis.
func (s *state) grounded() bool { return !s.ground[0].none() || !s.ground[1].none() }

// inTurn is the order that faults are applied in, whatever order they are
// given in: a drifted load's bad joint does not drift with it.
var inTurn = [...]circuit.FaultKind{circuit.Fed, circuit.Drifted, circuit.HighResistance, circuit.Short, circuit.Grounded}

// stateOf works out one branch.
func stateOf(b *circuit.Branch, in Input, dead bool) state {
	var s state
	if in.Conducts[b.ID] {
		s.intact(b, in, dead)
	}
	for _, kind := range inTurn {
		for i := range in.Faults {
			if f := &in.Faults[i]; f.Branch == b.ID && f.Kind == kind {
				s.apply(b, f)
			}
		}
	}
	return s
}

// intact sets what a conducting branch is without faults.
func (s *state) intact(b *circuit.Branch, in Input, dead bool) {
	switch b.Role {
	case circuit.Join, circuit.Contact:
		s.conduct(b.Ohms)
	case circuit.Source:
		if !dead {
			s.emf = b.EMF
			s.conduct(b.Ohms)
		}
	case circuit.Load:
		z := b.Z
		if b.Sensor != nil {
			if t, ok := in.Celsius[b.ID]; ok {
				if ohms, err := b.Sensor.Ohms(t); err == nil {
					z = complex(ohms, 0)
				}
			}
		}
		if dead {
			z = complex(real(z), 0)
			if ohms, ok := in.DeadOhms[b.ID]; ok {
				z = complex(ohms, 0)
			}
			if real(z) == 0 {
				return // a capacitor passes no direct current
			}
		}
		s.kind, s.y = impedance, 1/z
	}
}

func (s *state) conduct(ohms float64) {
	s.kind = ideal
	if ohms > 0 {
		s.kind, s.y = impedance, complex(1/ohms, 0)
	}
}

// apply does to the branch what a fault does. Open and welded are a matter of
// whether it conducts.
func (s *state) apply(b *circuit.Branch, f *circuit.Fault) {
	if s.kind == absent && !(f.Kind == circuit.Grounded && b.Role != circuit.Load) || s.split {
		return
	}
	switch f.Kind {
	case circuit.HighResistance:
		z := complex(f.Ohms, 0)
		if s.kind == impedance {
			z += 1 / s.y
		}
		s.kind, s.y = impedance, 1/z
		if b.Role == circuit.Load {
			s.series += f.Ohms
		}
	case circuit.Fed:
		s.emf = cmplx.Rect(f.Volts, f.Degrees*math.Pi/180)
	case circuit.Drifted:
		if b.Role == circuit.Source {
			s.emf *= complex(f.Factor, 0)
		} else if s.kind == impedance {
			s.y /= complex(f.Factor, 0)
		}
	case circuit.Short:
		s.kind, s.y, s.series = ideal, 0, 0
	case circuit.Grounded:
		s.goToGround(b, f)
	}
}

// goToGround ties a point of the branch to the chassis. A leak within a load
// is a star of three admittances; eliminating its middle leaves a triangle.
func (s *state) goToGround(b *circuit.Branch, f *circuit.Fault) {
	end := 0
	switch {
	case b.Role == circuit.Load && s.kind == impedance && f.At > 0 && f.At < 1:
		s.split = true
		s.halfY = [2]complex128{s.y / complex(f.At, 0), s.y / complex(1-f.At, 0)}
		if f.Ohms == 0 {
			s.kind, s.y = absent, 0
			s.ground[0].y += s.halfY[0]
			s.ground[1].y += s.halfY[1]
			return
		}
		s.leak = complex(1/f.Ohms, 0)
		total := s.halfY[0] + s.halfY[1] + s.leak
		s.y = s.halfY[0] * s.halfY[1] / total
		s.ground[0].y += s.halfY[0] * s.leak / total
		s.ground[1].y += s.halfY[1] * s.leak / total
		return
	case f.At >= 0.5:
		end = 1
	}
	if f.Ohms > 0 {
		s.ground[end].y += complex(1/f.Ohms, 0)
		return
	}
	s.ground[end].ideal = true
}
