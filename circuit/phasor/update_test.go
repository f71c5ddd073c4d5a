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

// machine draws a machine, its wires with resistance or without, sometimes
// with a transformer, a fan and a capacitor between any places.
func machine(t *rapid.T) *circuit.Circuit {
	spec := circuittest.Random(t, circuittest.Options{Wild: rapid.Bool().Draw(t, "wild")})
	if rapid.Bool().Draw(t, "reactive") {
		places := spec.Wires
		land := func(terminals ...string) {
			for _, terminal := range terminals {
				spec.Wires = append(spec.Wires, circuit.WireSpec{From: rapid.SampledFrom(places).Draw(t, "place").From, To: terminal})
			}
		}
		spec.Parts = append(spec.Parts,
			circuit.PartSpec{Name: "tr", Kind: "transformer", Volts: 120, Watts: 40, SecondaryVolts: 24},
			circuit.PartSpec{Name: "bell", Kind: "lamp", Volts: 24, Watts: 10},
			circuit.PartSpec{Name: "fan", Kind: "fan", Volts: 120, Watts: 25, PowerFactor: 0.6},
			circuit.PartSpec{Name: "cap", Kind: "capacitor", Microfarads: 7})
		land("tr.P1", "tr.P2", "fan.1", "fan.2", "cap.1", "cap.2")
		if rapid.Bool().Draw(t, "bell on a place") {
			land("bell.1")
		}
		spec.Wires = append(spec.Wires, circuit.WireSpec{From: "tr.S1", To: "bell.1"}, circuit.WireSpec{From: "tr.S2", To: "bell.2"})
	}
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
		shorts := 0
		for range rapid.IntRange(1, 4).Draw(t, "updates") {
			now := append([]bool(nil), healthy...)
			if rapid.Bool().Draw(t, "contacts move") {
				now = position(t, c, "then closed")
			}
			var faults []circuit.Fault
			for range rapid.IntRange(0, 2).Draw(t, "faults") {
				faults = append(faults, circuittest.DrawFault(t, c))
			}
			in, changed := condition(healthy, now, faults)
			want, wantErr := solver.Solve(in)
			got, err := base.Apply(in, changed)
			var short, wantShort *phasor.ShortError
			if errors.As(err, &short) != errors.As(wantErr, &wantShort) || (err == nil) != (wantErr == nil) {
				t.Fatalf("update: %v; full solve: %v", err, wantErr)
			}
			if err != nil {
				shorts++
				continue
			}
			if where := differs(c, want, got); where != "" {
				t.Fatalf("%v: %s", faults, where)
			}
		}
		// Random machines have resistors only, whose admittances never cancel.
		if base.Stats.Full > shorts {
			t.Fatalf("%+v, of which %d shorts", base.Stats, shorts)
		}
	})
}

// An ohmmeter on a condition reached by an update reads what it reads on one
// solved in full.
func TestAnUpdateMeasuresAsAFullSolve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := machine(t)
		healthy := position(t, c, "closed")
		base, err := phasor.NewNetwork(c).DeadBase(phasor.Input{Conducts: healthy})
		if err != nil {
			t.Fatal(err)
		}
		faults := []circuit.Fault{circuittest.DrawFault(t, c), circuittest.DrawFault(t, c)}
		in, changed := condition(healthy, position(t, c, "then closed"), faults)
		u, err := base.Apply(in, changed)
		if err != nil {
			t.Fatal(err)
		}
		solver := phasor.New(c)
		for range 6 {
			a := circuit.TerminalID(rapid.IntRange(0, len(c.Terminals())-1).Draw(t, "probe"))
			b := circuit.TerminalID(rapid.IntRange(0, len(c.Terminals())-1).Draw(t, "probe"))
			want, ok := solver.Resistance(in, a, b)
			got, also := u.Ohms(a, b)
			// The full solve takes its ampere from a drop over milliohms, which
			// has fewer digits.
			if ok != also || ok && math.Abs(got-want) > 1e-7*(want+1e-3) {
				t.Fatalf("%s to %s: %g ohms %v, want %g %v", c.Terminal(a).Ref, c.Terminal(b).Ref, got, also, want, ok)
			}
		}
	})
}

// Every single fault of a machine whose wires have milliohms and whose coils
// have kilohms: no digit that counts is lost between them.
func TestUpdatesKeepTheirDigits(t *testing.T) {
	for _, spec := range []circuit.Spec{
		circuittest.SeriesParallel(100, 1),
		circuittest.Measured(circuittest.SeriesParallel(100, 1), 6, 0.01),
		circuittest.Measured(circuittest.Grid(5, 6), 14, 0.3),
	} {
		c := circuittest.Build(t, spec)
		healthy := input(c)
		base, err := phasor.NewNetwork(c).Base(healthy)
		if err != nil {
			t.Fatal(err)
		}
		solver := phasor.New(c)
		for i := range c.Branches() {
			for _, f := range singles(circuit.BranchID(i)) {
				if !c.CanFail(f) {
					continue
				}
				in, changed := condition(healthy.Conducts, healthy.Conducts, []circuit.Fault{f})
				want, err := solver.Solve(in)
				if err != nil {
					t.Fatal(err)
				}
				got, err := base.Apply(in, changed)
				if err != nil {
					t.Fatal(err)
				}
				for k := range want.Volts {
					id := circuit.TerminalID(k)
					if want.Floating[k] != got.Floating(id) || !want.Floating[k] && !near(want.Volts[k], got.Volts(id)) {
						t.Fatalf("%s: %s at %v, want %v", c.Describe(f), c.Terminal(id).Ref, got.Volts(id), want.Volts[k])
					}
				}
			}
		}
		if base.Stats.Full > 0 {
			t.Errorf("%+v", base.Stats)
		}
	}
}
