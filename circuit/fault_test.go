package circuit

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func ovenCircuit(t testing.TB) *Circuit {
	t.Helper()
	c, problems := Build(oven())
	if c == nil {
		t.Fatal(said(problems))
	}
	return c
}

func TestParseFault(t *testing.T) {
	c := ovenCircuit(t)
	type reading struct{ Ref, Says string }
	want := map[string][]reading{
		"bake:open":             {{"bake:open", "Bake open"}},
		"bake:short":            {{"bake:short", "Bake shorted"}},
		"bake:grounded":         {{"bake:grounded", "Bake grounded to chassis"}},
		"bake:grounded=0.25":    {{"bake:grounded=0.25", "Bake grounded to chassis"}},
		"bake:grounded=0.3/2e3": {{"bake:grounded=0.3/2000", "Bake leaks to chassis, 2000 ohms"}},
		"bake:drifted=1.5":      {{"bake:drifted=1.5", "Bake drifted to 150 %"}},
		"w4:high=4":             {{"w4:high=4", "wire w4 high resistance, 4 ohms"}},
		"relay:welded":          {{"relay.contact:welded", "Relay contact welded"}},
		"relay:open":            {{"relay.coil:open", "Relay coil open"}, {"relay.contact:open", "Relay contact open"}},
		"breaker.L1:open":       {{"breaker.L1:open", "Breaker pole L1 open"}},
		"supply.L1:open":        {{"supply.L1:open", "Supply L1 lost"}},
		"supply:drifted=0.9":    {{"supply.L1:drifted=0.9", "Supply L1 at 90 % of its voltage"}, {"supply.L2:drifted=0.9", "Supply L2 at 90 % of its voltage"}},
		"knob.L-1:high=0.5":     {{"knob.L-1:high=0.5", "Knob L-1 high resistance, 0.5 ohms"}},
		"control:drifted=1e-3":  {{"control:drifted=0.001", "Control drifted to 0 %"}},
	}
	got := map[string][]reading{}
	for ref := range want {
		faults, err := c.ParseFault(ref)
		if err != nil {
			t.Errorf("%s: %v", ref, err)
		}
		for _, f := range faults {
			got[ref] = append(got[ref], reading{c.FaultRef(f), c.Describe(f)})
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestParseFaultRefuses(t *testing.T) {
	c := ovenCircuit(t)
	want := map[string]string{
		"bake":                    `fault "bake": write it as part:open, part:welded, wire:high=4`,
		"bake:opne":               `fault "bake:opne": unknown kind "opne" (did you mean "open"?)`,
		"bake:xyzzyx":             `fault "bake:xyzzyx": unknown kind "xyzzyx" (one of open, short, high, welded, drifted, grounded, seized, driven, fed, moved)`,
		"bale:open":               `fault "bale:open": unknown part or wire "bale": did you mean "bake"?`,
		"bake:welded":             `fault "bake:welded": bake cannot be welded`,
		"w1:short":                `fault "w1:short": w1 cannot be short`,
		"supply.N:drifted=0.9":    `fault "supply.N:drifted=0.9": supply.N cannot be drifted`,
		"supply.L1:grounded":      `fault "supply.L1:grounded": supply.L1 cannot be grounded`,
		"relay.coil:high=3":       `fault "relay.coil:high=3": relay.coil cannot be high`,
		"w1:high":                 `fault "w1:high": give its ohms, as in w1:high=4`,
		"w1:high=0":               `fault "w1:high=0": give its ohms, as in w1:high=4`,
		"w1:high=-3":              `fault "w1:high=-3": "-3" is not a number from 0 to 1e+07`,
		"w1:high=lots":            `fault "w1:high=lots": "lots" is not a number from 0 to 1e+07`,
		"w1:high=NaN":             `fault "w1:high=NaN": "NaN" is not a number from 0 to 1e+07`,
		"w1:high=Inf":             `fault "w1:high=Inf": "Inf" is not a number from 0 to 1e+07`,
		"bake:drifted":            `fault "bake:drifted": give its factor, as in bake:drifted=1.5`,
		"bake:grounded=1.5":       `fault "bake:grounded=1.5": the grounded point lies from 0 to 1`,
		"bake:grounded=0.5/-1":    `fault "bake:grounded=0.5/-1": "-1" is not a number from 0 to 1e+07`,
		"bake:grounded=0.5/1e-12": `fault "bake:grounded=0.5/1e-12": a leak of so few ohms is a ground: leave them out`,
		"supply.L1:fed":           `fault "supply.L1:fed": give its volts and degrees, as in supply.L1:fed=120/180`,
		"supply.L1:fed=120/400":   `fault "supply.L1:fed=120/400": give its volts and degrees, as in supply.L1:fed=120/180`,
		"bake:fed=120/0":          `fault "bake:fed=120/0": bake cannot be fed`,
		"bake:driven":             `fault "bake:driven": bake cannot be driven`,
		"bake:open=3":             `fault "bake:open=3": open takes no figure`,
	}
	got := map[string]string{}
	for ref := range want {
		_, err := c.ParseFault(ref)
		if err == nil {
			t.Errorf("%s is accepted", ref)
			continue
		}
		got[ref] = err.Error()
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// What FaultRef writes, ParseFault reads back as the same one fault.
func TestFaultsRoundTrip(t *testing.T) {
	c := ovenCircuit(t)
	rapid.Check(t, func(t *rapid.T) {
		f := Fault{At: 0.5, Branch: BranchID(rapid.IntRange(0, len(c.Branches())-1).Draw(t, "branch")),
			Kind: rapid.SampledFrom([]FaultKind{Open, Short, HighResistance, Welded, Drifted, Grounded}).Draw(t, "kind")}
		figure := rapid.Float64Range(smallest, 1).Draw(t, "figure")
		switch f.Kind {
		case HighResistance:
			f.Ohms = figure * largest
		case Drifted:
			f.Factor = figure * 4
		case Grounded:
			f.At = figure
			if rapid.Bool().Draw(t, "leaks") {
				f.Ohms = rapid.Float64Range(smallest, largest).Draw(t, "leak")
			}
		}
		if !c.CanFail(f) || f.Kind == HighResistance && f.Ohms < smallest {
			t.Skip("cannot fail so")
		}
		ref := c.FaultRef(f)
		got, err := c.ParseFault(ref)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff([]Fault{f}, got); diff != "" {
			t.Fatalf("%s: %s", ref, diff)
		}
	})
}

// Whatever is typed, ParseFault answers without harm.
func FuzzParseFault(f *testing.F) {
	for _, seed := range []string{"bake:open", "w1:high=4", "supply:drifted=0.9", "bake:grounded=", "bake:grounded=0.2/5k", ":", "=", "bake:high=1e400"} {
		f.Add(seed)
	}
	c := ovenCircuit(f)
	f.Fuzz(func(t *testing.T, ref string) {
		faults, err := c.ParseFault(ref)
		if (err == nil) != (len(faults) > 0) {
			t.Fatalf("%d faults, %v", len(faults), err)
		}
		for _, fault := range faults {
			again, err := c.ParseFault(c.FaultRef(fault))
			if err != nil || len(again) != 1 || !cmp.Equal(again[0], fault) {
				t.Fatalf("%+v is read back as %+v (%v)", fault, again, err)
			}
		}
	})
}

func TestNearest(t *testing.T) {
	names := []string{"bake_element", "broil_element", "broil_relay", "L1"}
	want := map[string]string{
		"bake_elment": "bake_element", "BROIL_RELAY": "broil_relay", "broil_relai": "broil_relay", "L2": "L1",
		"convection_fan": "", "": "", strings.Repeat("x", 500): "",
	}
	got := map[string]string{}
	for name := range want {
		got[name] = Nearest(name, names)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// No size that a netlist may give a fault is one that its name cannot be read with.
func TestEverySizeOfAFaultCanBeRead(t *testing.T) {
	for _, r := range Ranges() {
		if _, err := faultFigure(fmt.Sprint(r.Most)); err != nil {
			t.Errorf("%s: %v", r.Name, err)
		}
	}
}
