package phasor_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
)

// updated reaches a condition by updating the sound machine, every contact
// closed.
func updated(t testing.TB, c *circuit.Circuit, faults ...circuit.Fault) *phasor.Update {
	t.Helper()
	base, err := phasor.NewNetwork(c).Base(input(c))
	if err != nil {
		t.Fatal(err)
	}
	var changed []circuit.BranchID
	for _, f := range faults {
		changed = append(changed, f.Branch)
	}
	u, err := base.Apply(input(c, faults...), changed)
	if err != nil {
		t.Fatal(err)
	}
	if base.Stats.Full > 0 {
		t.Errorf("solved in full: %+v", base.Stats)
	}
	return u
}

// bakeOven is a 240 V 2400 W element, 24 ohms, with its control in L2 and
// the chassis bonded; lamps of 120 V hang on either leg, 60 W and 120 W.
func bakeOven(t testing.TB, supplyOhms float64) *circuit.Circuit {
	m := circuittest.SplitPhase(240).SupplyOhms(supplyOhms).Load("element", "bake", 240, 2400).Switch("control")
	m.Load("lamp", "small", 120, 60).Load("lamp", "large", 120, 120)
	m.Series("supply.L1", "bake", "control", "supply.L2").Wire("chassis", "supply.G")
	return m.Series("supply.L1", "small:1>2", "large", "supply.L2").Wire("supply.N", "small.2").Build(t)
}

// Each case is worked by hand from the ratings: the element has 24 ohms, the
// lamps 240 and 120.
func TestFaultsByUpdate(t *testing.T) {
	read := func(c *circuit.Circuit, faults ...string) map[string]string {
		var all []circuit.Fault
		for _, ref := range faults {
			all = append(all, fault(t, c, ref))
		}
		u := updated(t, c, all...)
		out := map[string]string{}
		for _, ref := range []string{"bake.1", "bake.2", "small.2"} {
			out[ref] = strings.Replace(fmt.Sprintf("%.3f", real(u.Volts(terminal(c, ref)))), "-0.000", "0.000", 1)
			if u.Floating(terminal(c, ref)) {
				out[ref] = "floats"
			}
		}
		out["bake"] = fmt.Sprintf("%.3f V %.2f W", u.LoadVolts(branch(c, "bake")), u.Watts(branch(c, "bake")))
		out["lamps"] = fmt.Sprintf("%.1f V and %.1f V", u.LoadVolts(branch(c, "small")), u.LoadVolts(branch(c, "large")))
		return out
	}
	cases := []struct {
		name   string
		faults []string
		want   map[string]string
	}{
		{"sound", nil,
			map[string]string{"bake.1": "120.000", "bake.2": "-120.000", "small.2": "0.000", "bake": "240.000 V 2400.00 W", "lamps": "120.0 V and 120.0 V"}},
		// Without L2 the element and the large lamp stand in series between
		// L1 and neutral: 144 ohms, of which the element drops a sixth.
		{"L2 lost", []string{"supply.L2:open"},
			map[string]string{"bake.1": "120.000", "bake.2": "100.000", "small.2": "0.000", "bake": "20.000 V 16.67 W", "lamps": "120.0 V and 100.0 V"}},
		// Both ends of the dead element read 120 V to neutral.
		{"control open", []string{"control:open"},
			map[string]string{"bake.1": "120.000", "bake.2": "120.000", "small.2": "0.000", "bake": "0.000 V 0.00 W", "lamps": "120.0 V and 120.0 V"}},
		// 240 V over 24 + 4 ohms: 8.5714 A, 34.286 V lost in the joint.
		{"a 4-ohm burnt joint", []string{"w2:high=4"},
			map[string]string{"bake.1": "120.000", "bake.2": "-85.714", "small.2": "0.000", "bake": "205.714 V 1763.27 W", "lamps": "120.0 V and 120.0 V"}},
		// A quarter of the element, 6 ohms, from L1 to chassis: 20 A, 2400 W;
		// the rest, 18 ohms, hangs at chassis potential.
		{"element grounded, control open", []string{"bake:grounded=0.25", "control:open"},
			map[string]string{"bake.1": "120.000", "bake.2": "0.000", "small.2": "0.000", "bake": "120.000 V 2400.00 W", "lamps": "120.0 V and 120.0 V"}},
		// The lamps share 240 V as 240 to 120 ohms.
		{"neutral lost", []string{"supply.N:open"},
			map[string]string{"bake.1": "120.000", "bake.2": "-120.000", "small.2": "-40.000", "bake": "240.000 V 2400.00 W", "lamps": "160.0 V and 80.0 V"}},
		{"both legs lost and the lamps' wires open", []string{"w1:open", "w2:open"},
			map[string]string{"bake.1": "floats", "bake.2": "floats", "small.2": "0.000", "bake": "0.000 V 0.00 W", "lamps": "120.0 V and 120.0 V"}},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			if diff := cmp.Diff(tc.want, read(bakeOven(t, 0), tc.faults...)); diff != "" {
				t.Error(diff)
			}
			// A microohm in the supply changes none of the digits.
			if diff := cmp.Diff(tc.want, read(bakeOven(t, 1e-6), tc.faults...)); diff != "" {
				t.Errorf("with a supply of a microohm: %s", diff)
			}
		})
	}
}

// A contact that welds puts an element that floated on the line again.
func TestAWeldReachesAnIsland(t *testing.T) {
	c := bakeOven(t, 0)
	in := input(c)
	open := []string{"w1", "control"}
	for _, ref := range open {
		in.Conducts[branch(c, ref)] = false
	}
	base, err := phasor.NewNetwork(c).Base(in)
	if err != nil {
		t.Fatal(err)
	}
	weld := fault(t, c, "control:welded")
	now := phasor.Input{Conducts: append([]bool(nil), in.Conducts...), Faults: []circuit.Fault{weld}}
	floats := func() bool {
		u, err := base.Apply(in, nil)
		if err != nil {
			t.Fatal(err)
		}
		return u.Floating(terminal(c, "bake.1"))
	}
	got := []any{floats()}
	now.Conducts[weld.Branch] = true
	u, err := base.Apply(now, []circuit.BranchID{weld.Branch})
	if err != nil {
		t.Fatal(err)
	}
	got = append(got, u.Floating(terminal(c, "bake.1")), real(u.Volts(terminal(c, "bake.1"))), floats())
	if diff := cmp.Diff([]any{true, false, -120.0, true}, got); diff != "" {
		t.Error(diff)
	}
}

// A leg bonded to the chassis takes it along when the supply runs low, though
// nothing that conducts has changed.
func TestALowSupplyReachesWhatIsBondedToIt(t *testing.T) {
	m := circuittest.SinglePhase(120).Load("lamp", "lamp", 120, 60).Series("supply.L1", "lamp", "supply.N")
	c := m.Wire("supply.L1", "chassis").Build(t)
	u := updated(t, c, fault(t, c, "supply.L1:drifted=0.9"))
	if got := fmt.Sprintf("%.3f", real(u.Volts(c.ChassisTerminal()))); got != "108.000" {
		t.Errorf("the chassis stands at %s V, want 108.000", got)
	}
}

// The secondary of TestATransformerReflectsItsLoad, bonded, loses its bond.
func TestASecondaryFloatsByUpdate(t *testing.T) {
	c := transformer(14.4).Wire("tr.S2", "supply.N").Build(t)
	bonded, open := updated(t, c), updated(t, c, fault(t, c, "w5:open"))
	type reading struct {
		Volts      string
		Determined bool
		Across     string
		Amps       string
	}
	read := func(u *phasor.Update) reading {
		v, ok := u.Between(terminal(c, "tr.S1"), terminal(c, "supply.N"))
		across, _ := u.Between(terminal(c, "load.1"), terminal(c, "load.2"))
		return reading{fmt.Sprintf("%.3f", real(v)), ok, fmt.Sprintf("%.3f", real(across)),
			fmt.Sprintf("%.5f %.4f", real(u.Amps(branch(c, "tr.primary"))), real(u.Amps(branch(c, "tr.secondary"))))}
	}
	want := [2]reading{{"22.857", true, "22.857", "0.33413 -1.5873"}, {"0.000", false, "22.857", "0.33413 -1.5873"}}
	if diff := cmp.Diff(want, [2]reading{read(bonded), read(open)}); diff != "" {
		t.Error(diff)
	}
}

// Windings of next to no resistance and capacitors take turns in a chain. When
// the capacitors drift from 200 ohms to the windings' 100, the admittances at
// every joint cancel, and no order that meets a joint first gets past it.
// Solved in full, and counted: nothing is left against the element's 24 ohms
// but 5 A through 100 ohms of capacitor, 500 V.
func TestResonanceIsSolvedInFull(t *testing.T) {
	farads := 1 / (2 * math.Pi * 60 * 200)
	m := circuittest.SinglePhase(120).Load("element", "bake", 120, 600)
	for _, n := range []string{"1", "2"} {
		m.Part(circuit.PartSpec{Name: "winding" + n, Kind: "solenoid", Volts: 120, Watts: 1.44e-4, PowerFactor: 1e-6},
			circuit.PartSpec{Name: "cap" + n, Kind: "capacitor", Microfarads: farads * 1e6})
	}
	c := m.Series("supply.L1", "bake", "winding1", "cap1", "winding2", "cap2", "supply.N").Build(t)
	base, err := phasor.NewNetwork(c).Base(input(c))
	if err != nil {
		t.Fatal(err)
	}
	in := input(c, fault(t, c, "cap1:drifted=0.5"), fault(t, c, "cap2:drifted=0.5"))
	u, err := base.Apply(in, []circuit.BranchID{branch(c, "cap1"), branch(c, "cap2")})
	if err != nil {
		t.Fatal(err)
	}
	got := fmt.Sprintf("%.1f V %.1f V, %d in full", u.LoadVolts(branch(c, "bake")), u.LoadVolts(branch(c, "cap1")), base.Stats.Full)
	if got != "120.0 V 500.0 V, 1 in full" {
		t.Error(got)
	}
}

func TestUpdatesRefuseWhatTheyCannotTake(t *testing.T) {
	c := bakeOven(t, 0)
	n := phasor.NewNetwork(c)
	base, err := n.Base(input(c))
	if err != nil {
		t.Fatal(err)
	}
	probe := input(c)
	probe.Probe = &phasor.Probe{A: 0, B: 1, Ohms: 1e7}
	short := input(c, fault(t, c, "bake:short"))
	_, shortWhole := n.Base(short)
	_, shortUpdate := base.Apply(short, []circuit.BranchID{branch(c, "bake")})
	_, probed := base.Apply(probe, nil)
	_, few := n.Base(phasor.Input{Conducts: make([]bool, 3)})
	got := []string{fmt.Sprint(shortWhole), fmt.Sprint(shortUpdate), fmt.Sprint(probed), fmt.Sprint(few)}
	want := []string{"two supply conductors are shorted together", "two supply conductors are shorted together",
		"updates take no probe; solve in full", fmt.Sprintf("conducts has 3 branches, the circuit has %d", len(c.Branches()))}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
