package phasor

import (
	"math"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
)

// Line is a condition with one resistance in it that may be of any size: a bad
// joint's, or a leak's to the chassis. Two updates give all sizes: seen from
// the resistance the rest is a source behind an impedance (Thevenin's theorem),
// so that every voltage goes along one and the same curve, with x the ohms of a
// joint or the siemens of a leak,
//
//	v(x) = v(0) + [v(worst) - v(0)] share(x), share(x) = x (worst + w) / (worst (x + w)),
//
// and the second update gives w. Where nothing in the circuit gives power but
// the supply, the size of share lies between 0 and 1 up to the worst.
type Line struct {
	base  *Base
	fault circuit.Fault
	in    Input
	// change is by node; worst and w are in ohms, of a leak in siemens.
	change []complex128
	worst  float64
	w      complex128

	still bool // see [Base.Still]

	state state // of the fault's branch, at the size at hand
	share complex128
}

// Line works out a condition that differs from the base's by one fault, a
// [circuit.HighResistance] or a leak of some ohms, given at its worst: the
// joint's most ohms or the leak's least. It returns false for what no update
// gives. Ask [Line.At] before anything else.
func (b *Base) Line(in Input) (*Line, bool) {
	l := &Line{base: b, in: in, fault: in.Faults[0], still: b.Still(in.Faults[0])}
	l.in.Faults = slices.Clone(in.Faults[:1])
	l.in.Celsius, l.in.DeadOhms = b.in.Celsius, b.in.DeadOhms
	if br := b.n.c.Branch(l.fault.Branch); br.A == circuit.None || br.B == circuit.None {
		return nil, false
	}
	u, ok := l.update(l.fault.Ohms)
	if !ok {
		return nil, false
	}
	at := 0 // where it shows most
	l.change, l.worst = make([]complex128, len(b.volts)), l.x(l.fault.Ohms)
	for k := range l.change {
		if l.change[k] = u.voltsAt(int32(k)) - b.volts[k]; size1(l.change[k]) > size1(l.change[at]) {
			at = k
		}
	}
	if l.still || size1(l.change[at]) < nothing {
		return l, true
	}
	// The nearer the second size is to w, the less its rounding matters; so the
	// first guess is made again.
	second := complex(l.worst/64, 0)
	for range 2 {
		if u, ok = l.update(l.x(real(second))); !ok {
			return nil, false
		}
		share, worst := (u.voltsAt(int32(at))-b.volts[at])/l.change[at], complex(l.worst, 0)
		l.w = worst * second * (1 - share) / (share*worst - second)
		second = complex(min(max(cmplx.Abs(l.w), l.worst*1e-12), l.worst/2), 0)
	}
	return l, !cmplx.IsNaN(l.w)
}

// nothing is what counts as no change, in volts.
const nothing = 1e-12

// Still tells of a ground that carries no current, whatever its ohms: it is all
// that ties one part of the machine to another.
func (b *Base) Still(f circuit.Fault) bool {
	br, node := b.n.c.Branch(f.Branch), b.n.tree.nodeOf
	if f.Kind != circuit.Grounded || br.A == circuit.None {
		return false
	}
	end := br.A
	if br.Role != circuit.Load && f.At >= 0.5 {
		end = br.B
	}
	return b.island[node[end]] != b.island[node[b.n.chassis]]
}

// x is a size as it stands in the formula, and back.
func (l *Line) x(ohms float64) float64 {
	if l.fault.Kind == circuit.Grounded {
		return 1 / ohms
	}
	return ohms
}

// update solves for one size.
func (l *Line) update(ohms float64) (*Update, bool) {
	l.in.Faults[0].Ohms = ohms
	u, err := l.base.Apply(l.in, []circuit.BranchID{l.fault.Branch})
	return u, err == nil && u.sol == nil
}

// At takes a size, from no harm up to the worst.
func (l *Line) At(ohms float64) {
	l.in.Faults[0].Ohms = ohms
	l.state = stateOf(l.base.n.c.Branch(l.fault.Branch), l.in, l.base.dead)
	x, worst := complex(l.x(ohms), 0), complex(l.worst, 0)
	if l.share = x / worst; l.still {
		l.share = 1
	} else if size1(l.w) < math.MaxFloat64 {
		l.share *= (worst + l.w) / (x + l.w)
	}
}

// Volts is [Update.Volts].
func (l *Line) Volts(t circuit.TerminalID) complex128 {
	k := l.base.n.tree.nodeOf[t]
	return l.base.volts[k] + l.share*l.change[k]
}

func (l *Line) stateOf(id circuit.BranchID) *state {
	if id == l.fault.Branch {
		return &l.state
	}
	return &l.base.states[id]
}

// LoadVolts is [Solution.LoadVolts].
func (l *Line) LoadVolts(load circuit.BranchID) float64 {
	b, node := l.base.n.c.Branch(load), l.base.n.tree.nodeOf
	v := complex128(0)
	if l.base.island[node[b.A]] == l.base.island[node[b.B]] {
		v = l.Volts(b.A) - l.Volts(b.B)
	}
	return l.base.n.loadVolts(l, b, l.stateOf(load), v)
}

// Share is [Solution.Share].
func (l *Line) Share(load circuit.BranchID) float64 {
	b := l.base.n.c.Branch(load)
	if b.Watts == 0 {
		return 0
	}
	return l.base.n.watts(l, b, l.stateOf(load)) / b.Watts
}
