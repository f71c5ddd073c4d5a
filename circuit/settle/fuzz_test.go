package settle_test

import (
	"errors"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// drawFaults draws up to three faults, each on a branch of its own.
func drawFaults(t *rapid.T, c *circuit.Circuit) []circuit.Fault {
	var out []circuit.Fault
	taken := map[circuit.BranchID]bool{}
	for i := rapid.IntRange(0, 3).Draw(t, "faults"); i > 0; i-- {
		f := circuit.Fault{
			Kind:   circuit.FaultKind(rapid.IntRange(int(circuit.Open), int(circuit.Grounded)).Draw(t, "kind")),
			Branch: circuit.BranchID(rapid.IntRange(0, len(c.Branches())-1).Draw(t, "branch")),
			Ohms:   rapid.SampledFrom([]float64{0.01, 4, 1000, 1e6}).Draw(t, "ohms"),
			Factor: rapid.SampledFrom([]float64{0.3, 0.9, 1.5}).Draw(t, "factor"),
			At:     rapid.SampledFrom([]float64{0, 0.3, 0.5, 1}).Draw(t, "at"),
		}
		within := c.Branch(f.Branch).Role == circuit.Load && f.At > 0 && f.At < 1
		if f.Kind == circuit.Grounded && (within || rapid.Bool().Draw(t, "bolted")) {
			f.Ohms = 0
		}
		if c.CanFail(f) && !taken[f.Branch] {
			taken[f.Branch] = true
			out = append(out, f)
		}
	}
	return out
}

// settles draws a machine of so much that can break (0 as circuittest has it),
// wild ones that short their supply included, and faults, and settles every mode:
// without harm or hanging, with currents and power in balance, every coil where
// its voltage puts it, and the same again when asked again.
func settles(t *rapid.T, breakable int) {
	spec := circuittest.Random(t, circuittest.Options{MaxBreakable: breakable, Wild: rapid.Bool().Draw(t, "wild")})
	if rapid.Bool().Draw(t, "bonded") {
		spec.Wires = append(spec.Wires, circuit.WireSpec{From: "supply.G", To: "chassis"})
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatalf("the machine is refused: %v", problems)
	}
	faults := drawFaults(t, c)
	e := settle.New(c)
	for _, m := range c.Modes() {
		o, err := e.Run(m.ID, faults)
		if errors.Is(err, phasor.ErrSingular) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if o.AnyState.Residual > 1e-9 {
			t.Fatalf("%s: residual %g", m.Name, o.AnyState.Residual)
		}
		balance(t, c, o)
		if o.Chatter == nil {
			coilsAgree(t, c, o)
		} else if len(o.Chatter.Contacts) == 0 {
			t.Fatalf("%s: it chatters and no contact moves", m.Name)
		}
		again, err := e.Run(m.ID, faults)
		if err != nil {
			t.Fatal(err)
		}
		anew, err := settle.NewForgetful(c).Run(m.ID, faults)
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range c.Loads() {
			if o.LeastShare(id) != anew.LeastShare(id) || o.MostShare(id) != anew.MostShare(id) {
				t.Fatalf("%s: states kept and states solved anew give another share", m.Name)
			}
		}
		if !reflect.DeepEqual(o.Controls, anew.Controls) || !reflect.DeepEqual(o.Acting, anew.Acting) || o.Rounds != anew.Rounds || !reflect.DeepEqual(o.Chatter, anew.Chatter) {
			t.Fatalf("%s: states kept and states solved anew differ", m.Name)
		}
		if first, second := find(c, o), find(c, again); !reflect.DeepEqual(first, second) {
			t.Fatalf("%s, asked again: %s", m.Name, cmp.Diff(first, second))
		}
	}
}

// balance holds the supply's power against what everything turns to heat.
func balance(t *rapid.T, c *circuit.Circuit, o *settle.Outcome) {
	joints := map[circuit.BranchID]float64{}
	for _, f := range o.Faults {
		if f.Kind == circuit.HighResistance {
			joints[f.Branch] = f.Ohms
		}
	}
	given, taken, leaked := 0.0, 0.0, 0.0
	largest := 1.0
	for i, b := range c.Branches() {
		amps := o.AnyState.Amps[i]
		largest = max(largest, cmplx.Abs(amps))
		switch b.Role {
		case circuit.Drive:
		case circuit.Source:
			given += real(o.AnyState.Volts[b.B] * cmplx.Conj(amps))
		case circuit.Load:
			taken += o.AnyState.Watts(b.ID) + joints[b.ID]*real(amps*cmplx.Conj(amps))
		default:
			taken += real((o.AnyState.Volts[b.A] - o.AnyState.Volts[b.B]) * cmplx.Conj(amps))
		}
	}
	for _, f := range o.Faults {
		leaked += leak(c, o, f)
	}
	if off := math.Abs(given - taken - leaked); off > 1e-9*240*largest {
		t.Fatalf("the supply gives %g W, the machine takes %g and leaks %g", given, taken, leaked)
	}
}

// leak is what the resistance of a ground at either end of a branch takes. Those
// within a load are drawn bolted: their leak has no terminal to read it at.
func leak(c *circuit.Circuit, o *settle.Outcome, f circuit.Fault) float64 {
	b := c.Branch(f.Branch)
	if f.Kind != circuit.Grounded || f.Ohms == 0 || b.Role == circuit.Load && !o.Conducts[f.Branch] {
		return 0
	}
	at := b.A
	if f.At >= 0.5 {
		at = b.B
	}
	v := cmplx.Abs(o.AnyState.Volts[at] - o.AnyState.Volts[c.ChassisTerminal()])
	return v * v / f.Ohms
}

// coilsAgree checks that no coil is pulled in below its dropout, nor out at
// its pickup or above.
func coilsAgree(t *rapid.T, c *circuit.Circuit, o *settle.Outcome) {
	for _, contact := range c.Branches() {
		by := contact.Rule.By
		if contact.Role != circuit.Contact || by == circuit.None || contact.Rule.Actuator != circuit.ByCoil {
			continue
		}
		coil, volts := c.Branch(by), 0.0
		if o.Conducts[by] {
			volts = o.AnyState.LoadVolts(by)
		}
		if o.Acting[by] && volts < coil.Dropout || !o.Acting[by] && volts >= coil.Pickup {
			t.Fatalf("%s pulled in: %v, at %g V", coil.Ref, o.Acting[by], volts)
		}
	}
}

func TestRandomMachinesSettle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { settles(t, 0) })
}

// FuzzSettle reads a small machine and faults off the bytes; the seeds are just
// long enough for whole ones.
func FuzzSettle(f *testing.F) {
	r := rand.NewChaCha8([32]byte{})
	for range 20 {
		seed := make([]byte, 1536)
		r.Read(seed)
		f.Add(seed)
	}
	f.Fuzz(rapid.MakeFuzz(func(t *rapid.T) { settles(t, 8) }))
}
