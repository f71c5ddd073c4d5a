package meter

import (
	"math"

	"legtrace/circuit"
)

// deadLine tells what is read between two places with a bad joint of any size, at
// nominal, lowest and highest cold ohms.
type deadLine struct {
	ohms, change, w [3]float64
	joined          [3]bool
	worst           float64
}

// lineAt is where a joint is, and what is read with it.
type lineAt struct {
	branch circuit.BranchID
	p, q   circuit.TerminalID
}

// maxDeadLines bounds how many lines are kept.
const maxDeadLines = 4096

// Along is [DeadSweep.Ohms] with one bad joint, of up to the worst ohms, and no wire
// lifted: three updates give all sizes, for with x the ohms of the joint and w those
// that it sees (Thevenin's theorem; see [phasor.Line]),
//
//	r(x) = r(0) + [r(worst) - r(0)] share(x), share(x) = x (worst + w) / (worst (x + w)).
func (s *DeadSweep) Along(f circuit.Fault, worst float64, p, q circuit.TerminalID) (Reading, error) {
	at := lineAt{f.Branch, p, q}
	l := s.lines[at]
	if l == nil {
		var err error
		if l, err = s.line(f, worst, p, q); err != nil {
			return Reading{}, err
		}
		if s.lines == nil || len(s.lines) >= maxDeadLines {
			s.lines = map[lineAt]*deadLine{}
		}
		s.lines[at] = l
	}
	if f.Ohms > l.worst {
		if err := s.Set([]circuit.Fault{f}, nil); err != nil {
			return Reading{}, err
		}
		return s.Ohms(p, q), nil
	}
	var ohms [3]float64
	for i := range ohms {
		share := f.Ohms / l.worst
		if f.Ohms > 0 && !math.IsInf(l.w[i], 1) {
			share *= (l.worst + l.w[i]) / (f.Ohms + l.w[i])
		}
		ohms[i] = l.ohms[i] + l.change[i]*share
	}
	return s.b.resistance(ohms, l.joined), nil
}

// noChange is the share of what is read below which a joint does not bear on it.
const noChange = 1e-13

func (s *DeadSweep) line(f circuit.Fault, worst float64, p, q circuit.TerminalID) (*deadLine, error) {
	read := func(ohms float64) (out [3]float64, joined [3]bool, err error) {
		var faults []circuit.Fault
		if f.Ohms = ohms; ohms > 0 {
			faults = []circuit.Fault{f}
		}
		if err = s.Set(faults, nil); err != nil {
			return out, joined, err
		}
		for i, u := range s.now {
			out[i], joined[i] = u.Ohms(p, q)
		}
		return out, joined, nil
	}
	l := &deadLine{worst: worst}
	var err error
	if l.ohms, l.joined, err = read(0); err != nil {
		return nil, err
	}
	most, joined, err := read(worst)
	if err != nil {
		return nil, err
	}
	if joined != l.joined {
		l.worst = -1 // none holds: each size by itself
		return l, nil
	}
	second := worst / 64
	for i := range most {
		if l.joined[i] && most[i]-l.ohms[i] > noChange*most[i] {
			l.change[i] = most[i] - l.ohms[i]
		}
	}
	// The nearer the second size is to w, the less its rounding matters; so the first
	// guess is made again.
	for range 2 {
		some, _, err := read(second)
		if err != nil {
			return nil, err
		}
		for i := range some {
			if l.change[i] == 0 {
				continue
			}
			share := (some[i] - l.ohms[i]) / l.change[i]
			if l.w[i] = worst * second * (1 - share) / (share*worst - second); !(l.w[i] >= 0) || share <= second/worst {
				l.w[i] = math.Inf(1) // along a straight line
			}
		}
		if l.change[0] != 0 && !math.IsInf(l.w[0], 1) {
			second = min(max(l.w[0], worst*1e-12), worst/2)
		}
	}
	return l, nil
}
