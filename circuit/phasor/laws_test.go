package phasor_test

import (
	"errors"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
)

// drawCondition draws a machine, which of its branches conduct, and faults.
func drawCondition(t *rapid.T) (*circuit.Circuit, phasor.Input) {
	spec := circuittest.Random(t, circuittest.Options{})
	if rapid.Bool().Draw(t, "measured wires") {
		spec = circuittest.Measured(spec, 14, 0.5)
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatalf("the machine is refused: %v", problems)
	}
	in := phasor.Input{Conducts: make([]bool, len(c.Branches()))}
	for i := range in.Conducts {
		in.Conducts[i] = true
	}
	for i := rapid.IntRange(0, 6).Draw(t, "opens"); i > 0; i-- {
		in.Conducts[rapid.IntRange(0, len(in.Conducts)-1).Draw(t, "open")] = false
	}
	for i := rapid.IntRange(0, 3).Draw(t, "faults"); i > 0; i-- {
		f := circuit.Fault{
			Kind:   rapid.SampledFrom([]circuit.FaultKind{circuit.HighResistance, circuit.Drifted, circuit.Short}).Draw(t, "fault"),
			Branch: circuit.BranchID(rapid.IntRange(0, len(c.Branches())-1).Draw(t, "branch")),
			Ohms:   rapid.Float64Range(0.1, 1000).Draw(t, "ohms"),
			Factor: rapid.Float64Range(0.5, 2).Draw(t, "factor"),
		}
		if c.CanFail(f) {
			in.Faults = append(in.Faults, f)
		}
	}
	return c, in
}

// Tellegen's theorem, and Kirchhoff's current law at every terminal by itself:
// what the supply gives is what the branches take, in watts and in vars.
func TestPowerAndCurrentBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, in := drawCondition(t)
		sol, err := phasor.New(c).Solve(in)
		var short *phasor.ShortError
		if errors.As(err, &short) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		var given, taken complex128
		amps, volts := 1.0, 120.0
		left := make([]complex128, len(c.Terminals()))
		for i := range c.Branches() {
			b, amp := c.Branch(circuit.BranchID(i)), sol.Amps[i]
			switch b.Role {
			case circuit.Drive:
			case circuit.Source:
				given += sol.Volts[b.B] * cmplx.Conj(amp)
				left[b.B] += amp
			default:
				taken += (sol.Volts[b.A] - sol.Volts[b.B]) * cmplx.Conj(amp)
				left[b.A] -= amp
				left[b.B] += amp
			}
			amps = max(amps, cmplx.Abs(amp))
		}
		if off := cmplx.Abs(given - taken); off > 1e-9*amps*volts {
			t.Fatalf("the supply gives %v, the branches take %v", given, taken)
		}
		for i, amp := range left {
			if cmplx.Abs(amp) > 1e-9*amps {
				t.Fatalf("%v A are left over at %s", amp, c.Terminals()[i].Ref)
			}
		}
		if sol.Residual > 1e-9 {
			t.Fatalf("residual %g", sol.Residual)
		}
	})
}

// The order that faults are given in does not matter.
func TestFaultsInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, in := drawCondition(t)
		other := in
		other.Faults = rapid.Permutation(in.Faults).Draw(t, "order")
		one, err1 := phasor.New(c).Solve(in)
		two, err2 := phasor.New(c).Solve(other)
		if (err1 == nil) != (err2 == nil) {
			t.Fatalf("%v in one order, %v in the other", err1, err2)
		}
		if err1 != nil {
			return
		}
		for i := range one.Amps {
			if off := cmplx.Abs(one.Amps[i] - two.Amps[i]); off > 1e-9*(1+cmplx.Abs(one.Amps[i])) {
				t.Fatalf("%s carries %v A in one order, %v in the other", c.Branches()[i].Ref, one.Amps[i], two.Amps[i])
			}
		}
	})
}

// Reciprocity: with a source in leg L1 alone the current in L2 is that which
// the same source in L2 alone would drive in L1. The network between the two
// and neutral is of resistors, capacitors, coils and a transformer.
func TestReciprocity(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m := circuittest.SplitPhase(240)
		places := []string{"supply.L1", "supply.L2", "supply.N"}
		for _, name := range []string{"a", "b", "c", "d"} {
			m.Part(circuit.PartSpec{Name: name, Kind: "connector"})
			places = append(places, name+".in")
		}
		place := rapid.SampledFrom(places)
		between := func(one, two string) {
			m.Wire(place.Draw(rt, "from"), one)
			m.Wire(place.Draw(rt, "to"), two)
		}
		for i := rapid.IntRange(2, 12).Draw(rt, "parts"); i > 0; i-- {
			name := string(rune('e' + i))
			switch rapid.IntRange(0, 2).Draw(rt, "part") {
			case 0:
				m.Resistor(name, math.Pow(10, rapid.Float64Range(0, 3).Draw(rt, "decade")))
			case 1:
				m.Part(capacitor(name, math.Pow(10, rapid.Float64Range(0, 2).Draw(rt, "decade"))))
			default:
				m.Part(circuit.PartSpec{Name: name, Kind: "motor", Volts: 120, Watts: 200, PowerFactor: 0.6})
			}
			between(name+".1", name+".2")
		}
		m.Part(circuit.PartSpec{Name: "transformer", Kind: "transformer", Volts: 120, Watts: 40, SecondaryVolts: 24})
		between("transformer.P1", "transformer.P2")
		between("transformer.S1", "transformer.S2")
		for _, p := range places[3:] {
			m.Resistor("tie-"+p[:1], 50)
			m.Series(p, "tie-"+p[:1], rapid.SampledFrom(places[:3]).Draw(rt, "tie"))
		}
		c, problems := circuit.Build(m.Spec())
		if c == nil {
			rt.Fatalf("the machine is refused: %v", problems)
		}
		legs := c.Supply().Legs
		alone := func(silent int) (complex128, error) {
			sol, err := phasor.New(c).Solve(input(c, circuit.Fault{Kind: circuit.Drifted, Branch: legs[silent]}))
			if err != nil {
				return 0, err
			}
			return sol.Amps[legs[silent]] / c.Branch(legs[1-silent]).EMF, nil
		}
		inL2, err2 := alone(1)
		inL1, err1 := alone(0)
		if err1 != nil || err2 != nil {
			rt.Fatal(err1, err2)
		}
		if off := cmplx.Abs(inL1 - inL2); off > 1e-9*(1+cmplx.Abs(inL1)) {
			rt.Fatalf("%v S one way, %v S the other", inL2, inL1)
		}
	})
}
