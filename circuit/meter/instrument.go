// Package meter says what an instrument shows between two probes, and what it
// should show on a sound machine: volts live, ohms and continuity with the
// supply removed, amps in a clamp.
//
// [New] makes a [Bench] for a circuit and an [Instrument]. [Bench.Live] and
// [Bench.Dead] settle the machine for a test; [Bench.Volts], [Bench.Ohms] and
// [Bench.Amps] take readings on it. A reading is an interval with reasons,
// never a bare number: see [Reading]. [Bench.Dictionary] holds the readings of
// every single fault at every test point, [Bench.LiveParts] the points that
// stay live.
package meter

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Function is what the instrument is set to.
type Function uint8

const (
	// Volts is AC volts with a high-impedance input.
	Volts Function = iota
	// LowZVolts is AC volts with an input that pulls stray readings down.
	LowZVolts
	// Ohms is resistance, supply removed.
	Ohms
	// Continuity sounds below a threshold, supply removed.
	Continuity
	// Amps is AC amps by a clamp around one wire.
	Amps
)

var functionNames = [...]string{"volts", "lowz", "ohms", "continuity", "amps"}

func (f Function) String() string { return functionNames[f] }

// Unit returns the unit the function reads in.
func (f Function) Unit() string { return [...]string{"V", "V", "ohms", "ohms", "A"}[f] }

// Live reports whether the function is used with the machine on.
func (f Function) Live() bool { return f == Volts || f == LowZVolts || f == Amps }

// ParseFunction returns the function of that name.
func ParseFunction(name string) (Function, error) {
	for i, n := range functionNames {
		if n == name {
			return Function(i), nil
		}
	}
	return 0, fmt.Errorf("unknown meter function %q: one of %s", name, strings.Join(functionNames[:], ", "))
}

// Accuracy is an instrument's error: a percentage of the reading plus a number
// of counts of the last digit.
type Accuracy struct {
	Percent, Counts float64
}

// ParseAccuracy reads "0.5+2": per cent of the reading plus counts of the last
// digit.
func ParseAccuracy(s string) (Accuracy, error) {
	percent, counts, ok := strings.Cut(s, "+")
	p, errP := strconv.ParseFloat(strings.TrimSpace(percent), 64)
	c, errC := strconv.ParseFloat(strings.TrimSpace(counts), 64)
	if !ok || errP != nil || errC != nil {
		return Accuracy{}, fmt.Errorf("%q: write it as per cent of reading plus counts, as in 0.5+2", s)
	}
	return Accuracy{p, c}, nil
}

func (a Accuracy) String() string { return fmt.Sprintf("%g+%g", a.Percent, a.Counts) }

// Instrument is a meter with its clamp.
type Instrument struct {
	Name string
	// InputOhms is the input of [Volts], LowZOhms that of [LowZVolts].
	InputOhms, LowZOhms float64
	// ContinuityOhms is the threshold below which it sounds.
	ContinuityOhms float64
	// MaxOhms is the largest resistance it shows; above it, over range.
	MaxOhms float64
	// LeadOhms is the most that the two leads and their grip add to a resistance
	// where they were not zeroed.
	LeadOhms float64
	// Counts is the display, such as 6000.
	Counts                     float64
	VoltsAcc, OhmsAcc, AmpsAcc Accuracy
}

// DefaultInstrument is an ordinary handheld multimeter with a clamp (common
// practice, no source).
func DefaultInstrument() Instrument {
	return Instrument{
		Name:      "ordinary handheld, 6000 counts",
		InputOhms: 10e6, LowZOhms: 3e3, ContinuityOhms: 30, MaxOhms: 40e6, LeadOhms: 0.3, Counts: 6000,
		VoltsAcc: Accuracy{1.0, 3}, OhmsAcc: Accuracy{0.9, 2}, AmpsAcc: Accuracy{2.5, 5},
	}
}

// Check reports an instrument that could not exist.
func (in Instrument) Check() error {
	for _, f := range []struct {
		what      string
		v, lo, hi float64
	}{
		{"input ohms", in.InputOhms, 1e3, 1e12}, {"low-impedance input ohms", in.LowZOhms, 100, 1e7},
		{"continuity threshold", in.ContinuityOhms, 0.1, 1e4}, {"largest ohms", in.MaxOhms, 1e3, 1e12},
		{"ohms of the leads", in.LeadOhms, 0, 5}, {"display counts", in.Counts, 200, 1e7},
		{"volts accuracy, per cent", in.VoltsAcc.Percent, 0, 20}, {"ohms accuracy, per cent", in.OhmsAcc.Percent, 0, 20},
		{"amps accuracy, per cent", in.AmpsAcc.Percent, 0, 20},
		{"volts accuracy, counts", in.VoltsAcc.Counts, 0, 100}, {"ohms accuracy, counts", in.OhmsAcc.Counts, 0, 100},
		{"amps accuracy, counts", in.AmpsAcc.Counts, 0, 100},
	} {
		if !(f.v >= f.lo && f.v <= f.hi) {
			return fmt.Errorf("%s of %g: it lies between %g and %g", f.what, f.v, f.lo, f.hi)
		}
	}
	return nil
}

// input is the resistance a voltage function puts on the circuit.
func (in Instrument) input(f Function) float64 {
	if f == LowZVolts {
		return in.LowZOhms
	}
	return in.InputOhms
}

// Accuracy is the instrument's on a function, to read or to set.
func (in *Instrument) Accuracy(f Function) *Accuracy {
	switch f {
	case Ohms, Continuity:
		return &in.OhmsAcc
	case Amps:
		return &in.AmpsAcc
	}
	return &in.VoltsAcc
}

// count returns the size of the last digit when v is shown: the ranges go by
// tens from the display's full scale over ten thousand.
func (in Instrument) count(v float64) float64 {
	full := in.Counts / 1e4 // 0.6000 on a 6000-count display
	for full < math.Abs(v) && full < 1e12 {
		full *= 10
	}
	return full / in.Counts
}

// Spread returns what the instrument may show for a true value.
func (in Instrument) Spread(f Function, v float64) (low, high float64) {
	acc := *in.Accuracy(f)
	off := acc.Percent/100*math.Abs(v) + acc.Counts*in.count(v)
	if f == Ohms || f == Continuity {
		return max(0, v-off), v + off + in.LeadOhms
	}
	return max(0, v-off), v + off
}
