package phasor

import (
	"math/cmplx"

	"legtrace/circuit"
)

// solved is a network with its node voltages found, in full or by an update.
type solved interface {
	Volts(circuit.TerminalID) complex128
	stateOf(circuit.BranchID) *state
}

// wiring is what currents and powers are read by, given the voltages.
type wiring struct {
	c       *circuit.Circuit
	chassis circuit.TerminalID
}

func newWiring(c *circuit.Circuit) wiring { return wiring{c: c, chassis: c.ChassisTerminal()} }

// through is the current through a branch's own impedance, from terminal A to
// B; for a source, out of the supply. A ground's share is not in it.
func (w *wiring) through(n solved, b *circuit.Branch, s *state) complex128 {
	switch {
	case s.kind != impedance:
		return 0
	case b.Role == circuit.Source:
		return s.y * (s.emf - n.Volts(b.B))
	}
	amps := s.y * (n.Volts(b.A) - n.Volts(b.B))
	if p := b.Primary; p != circuit.None && coupled(n.stateOf(p), s) {
		amps = -w.reflected(n, w.c.Branch(p), b, s)
	}
	if b.Secondary != circuit.None {
		if sec := n.stateOf(b.Secondary); coupled(s, sec) {
			amps += w.reflected(n, b, w.c.Branch(b.Secondary), sec) / complex(b.TurnsRatio, 0)
		}
	}
	return amps
}

// coupled tells whether a transformer's windings work on each other.
func coupled(primary, secondary *state) bool {
	return primary.kind == impedance && secondary.kind == impedance && !primary.split && !secondary.split
}

// reflected is the current that a transformer's secondary drives out of S1.
func (w *wiring) reflected(n solved, primary, secondary *circuit.Branch, s *state) complex128 {
	induced := (n.Volts(primary.A) - n.Volts(primary.B)) / complex(primary.TurnsRatio, 0)
	return s.y * (induced - (n.Volts(secondary.A) - n.Volts(secondary.B)))
}

// amps is the current into a branch at terminal A; 0 through an ideal join.
func (w *wiring) amps(n solved, b *circuit.Branch, s *state) complex128 {
	if s.split {
		v, point := w.halves(n, b, s)
		return s.halfY[0] * (v[0] - point)
	}
	return w.through(n, b, s)
}

// watts is the real power a load takes, without what a bad joint in it does.
func (w *wiring) watts(n solved, b *circuit.Branch, s *state) float64 {
	if b.Role != circuit.Load || s.kind != impedance && !s.split {
		return 0
	}
	amps, joint := w.amps(n, b, s), 0.0
	if s.series != 0 {
		size := cmplx.Abs(amps)
		joint = size * size * s.series
	}
	if s.split {
		return w.splitWatts(n, b, s) - joint
	}
	return real((n.Volts(b.A)-n.Volts(b.B))*cmplx.Conj(amps)) - joint
}

// splitWatts is what the halves of a load that a ground parts take.
func (w *wiring) splitWatts(n solved, b *circuit.Branch, s *state) float64 {
	v, point := w.halves(n, b, s)
	a, z := v[0]-point, point-v[1]
	return real(a*cmplx.Conj(s.halfY[0]*a)) + real(z*cmplx.Conj(s.halfY[1]*z))
}

// halves gives the voltages at the ends of a load that a ground parts, and at
// the grounded point.
func (w *wiring) halves(n solved, b *circuit.Branch, s *state) (v [2]complex128, point complex128) {
	v = [2]complex128{n.Volts(b.A), n.Volts(b.B)}
	point = n.Volts(w.chassis)
	if s.leak != 0 {
		point = (v[0]*s.halfY[0] + v[1]*s.halfY[1] + point*s.leak) / (s.halfY[0] + s.halfY[1] + s.leak)
	}
	return v, point
}

// loadVolts is the size of the voltage a load gets, given that between its
// terminals: less what a bad joint in it drops.
func (w *wiring) loadVolts(n solved, b *circuit.Branch, s *state, between complex128) float64 {
	if s.series != 0 {
		between -= w.amps(n, b, s) * complex(s.series, 0)
	}
	return cmplx.Abs(between)
}
