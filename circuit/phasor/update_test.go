package phasor_test

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
)

// near tells whether two figures agree to 1e-9 of the larger, or to 1e-9.
func near(a, b complex128) bool {
	return cmplx.Abs(a-b) <= 1e-9*(1+max(cmplx.Abs(a), cmplx.Abs(b)))
}

// differs says where an update does not read as a full solve; "" if nowhere.
func differs(c *circuit.Circuit, want *phasor.Solution, got *phasor.Update) string {
	terminals := c.Terminals()
	for i := range terminals {
		a := terminals[i].ID
		if want.Floating[a] != got.Floating(a) {
			return fmt.Sprintf("%s floats: %v, want %v", terminals[i].Ref, got.Floating(a), want.Floating[a])
		}
		if v := got.Volts(a); !want.Floating[a] && !near(v, want.Volts[a]) {
			return fmt.Sprintf("%s stands at %v, want %v", terminals[i].Ref, v, want.Volts[a])
		}
		for j := range terminals[:i] {
			b := terminals[j].ID
			v, ok := want.Between(a, b)
			w, also := got.Between(a, b)
			if ok != also || !near(v, w) {
				return fmt.Sprintf("from %s to %s %v %v, want %v %v", terminals[i].Ref, terminals[j].Ref, w, also, v, ok)
			}
		}
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Load {
			v, w := complex(got.LoadVolts(b.ID), got.Watts(b.ID)), complex(want.LoadVolts(b.ID), want.Watts(b.ID))
			if !near(v, w) {
				return fmt.Sprintf("%s gets %v (V, W), want %v", b.Ref, v, w)
			}
			if a := got.Amps(b.ID); a != 0 && !near(a, want.Amps[b.ID]) {
				return fmt.Sprintf("%s carries %v, want %v", b.Ref, a, want.Amps[b.ID])
			}
		}
		if b.Role == circuit.Source {
			if a, _ := got.SupplyAmps(b.ID); !near(a, want.Amps[b.ID]) {
				return fmt.Sprintf("%s sends %v, want %v", b.Ref, a, want.Amps[b.ID])
			}
		}
	}
	return ""
}

// drawFault draws a fault that can befall some branch.
func drawFault(t *rapid.T, c *circuit.Circuit) circuit.Fault {
	return rapid.Custom(func(t *rapid.T) circuit.Fault {
		f := circuit.Fault{
			Kind:   circuit.FaultKind(rapid.IntRange(int(circuit.Open), int(circuit.Grounded)).Draw(t, "kind")),
			Branch: circuit.BranchID(rapid.IntRange(0, len(c.Branches())-1).Draw(t, "branch")),
			At:     rapid.SampledFrom([]float64{0, 0.3, 0.5, 1}).Draw(t, "at"),
		}
		switch f.Kind {
		case circuit.HighResistance:
			f.Ohms = rapid.SampledFrom([]float64{0.05, 4, 1e5}).Draw(t, "ohms")
		case circuit.Grounded:
			f.Ohms = rapid.SampledFrom([]float64{0, 0.5, 1e4}).Draw(t, "ohms")
		case circuit.Drifted:
			f.Factor = rapid.SampledFrom([]float64{0.5, 0.9, 3}).Draw(t, "factor")
		}
		return f
	}).Filter(c.CanFail).Draw(t, "fault")
}

// position draws which branches conduct: every joint and load, some contacts.
func position(t *rapid.T, c *circuit.Circuit, name string) []bool {
	out := make([]bool, len(c.Branches()))
	for i := range out {
		out[i] = c.Branch(circuit.BranchID(i)).Role != circuit.Contact || rapid.Bool().Draw(t, name)
	}
	return out
}

// condition adds faults to a position, and lists what differs from the base.
func condition(base, now []bool, faults []circuit.Fault) (phasor.Input, []circuit.BranchID) {
	in := phasor.Input{Conducts: append([]bool(nil), now...), Faults: faults}
	var changed []circuit.BranchID
	for _, f := range faults {
		changed = append(changed, f.Branch)
		switch f.Kind {
		case circuit.Open:
			in.Conducts[f.Branch] = false
		case circuit.Welded:
			in.Conducts[f.Branch] = true
		}
	}
	for i := range base {
		if in.Conducts[i] != base[i] {
			changed = append(changed, circuit.BranchID(i))
		}
	}
	return in, changed
}

// machine draws a machine, its wires with resistance or without.
func machine(t *rapid.T) *circuit.Circuit {
	spec := circuittest.Random(t, circuittest.Options{Wild: rapid.Bool().Draw(t, "wild")})
	if rapid.Bool().Draw(t, "measured") {
		spec = circuittest.Measured(spec, 14, 0.5)
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatalf("refused: %v", problems)
	}
	return c
}

// A condition reached by an update reads as one solved in full, whatever the
// contacts do and whatever has failed: every terminal, every load, every
// conductor of the supply.
func TestAnUpdateReadsAsAFullSolve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := machine(t)
		healthy := position(t, c, "closed")
		base, err := phasor.NewNetwork(c).Base(phasor.Input{Conducts: healthy})
		solver := phasor.New(c)
		if err != nil {
			if _, want := solver.Solve(phasor.Input{Conducts: healthy}); want == nil {
				t.Fatalf("no base: %v, though the condition can be solved", err)
			}
			return
		}
		for range rapid.IntRange(1, 4).Draw(t, "updates") {
			now := append([]bool(nil), healthy...)
			if rapid.Bool().Draw(t, "contacts move") {
				now = position(t, c, "then closed")
			}
			var faults []circuit.Fault
			for range rapid.IntRange(0, 2).Draw(t, "faults") {
				faults = append(faults, drawFault(t, c))
			}
			if shadowed(faults) {
				continue
			}
			in, changed := condition(healthy, now, faults)
			want, wantErr := solver.Solve(in)
			got, err := base.Apply(in, changed)
			var short, wantShort *phasor.ShortError
			if errors.As(err, &short) != errors.As(wantErr, &wantShort) || (err == nil) != (wantErr == nil) {
				t.Fatalf("update: %v; full solve: %v", err, wantErr)
			}
			if err != nil {
				continue
			}
			if where := differs(c, want, got); where != "" {
				t.Fatalf("%v: %s", faults, where)
			}
		}
		if base.Stats.Full > 0 && len(c.Controls()) < 0 {
			t.Fatal(base.Stats)
		}
	})
}

// shadowed tells of two faults within one load whose shares of its heat are a
// matter of where along it the bad joint lies.
func shadowed(faults []circuit.Fault) bool {
	return len(faults) == 2 && faults[0].Branch == faults[1].Branch && faults[0].Kind != faults[1].Kind &&
		math.Max(float64(faults[0].Kind), float64(faults[1].Kind)) == float64(circuit.Grounded)
}
