package phasor_test

import (
	"errors"
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
)

// transformer is 120 V to 24 V, 40 W: it feeds a 24 V load of ohms.
func transformer(ohms float64) *circuittest.Machine {
	m := circuittest.SinglePhase(120).Part(circuit.PartSpec{Name: "tr", Kind: "transformer", Volts: 120, Watts: 40, SecondaryVolts: 24})
	m.Resistor("load", ohms).Wire("supply.L1", "tr.P1").Wire("supply.N", "tr.P2")
	return m.Wire("tr.S1", "load.1").Wire("tr.S2", "load.2")
}

// The secondary of 24 V is behind 24^2/40 * 5 % = 0.72 ohm. Into 14.4 ohms it
// drives 24/15.12 = 1.5873 A and holds 22.857 V. The primary takes a fifth of
// that and its magnetising 40*5 %/120 = 0.016667 A: 0.33413 A. From the supply
// 120 V * 0.33413 A = 40.095 W, of which the load takes 36.28.
func TestATransformerReflectsItsLoad(t *testing.T) {
	s := solve(t, transformer(14.4).Build(t))
	want := map[string]string{"volts": "22.857", "load A": "1.5873", "primary A": "0.33413", "secondary A": "-1.5873",
		"load W": "36.281", "supply A": "0.33413"}
	got := printed(want, map[string]float64{
		"volts": real(s.across("load")), "load A": real(s.amps("load")), "primary A": real(s.amps("tr.primary")),
		"secondary A": real(s.amps("tr.secondary")), "load W": size(s.across("load")) * size(s.amps("load")),
		"supply A": real(s.amps("supply.L1")),
	})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// The secondary floats: nothing is determined between it and the supply until
// one side of it is bonded, and the bond carries nothing.
func TestASecondaryIsIsolated(t *testing.T) {
	floating := solve(t, transformer(14.4).Build(t))
	bonded := solve(t, transformer(14.4).Wire("tr.S2", "supply.N").Build(t))
	type reading struct {
		Volts      string
		Determined bool
	}
	read := func(s solved) reading {
		v, ok := s.sol.Between(terminal(s.c, "tr.S1"), terminal(s.c, "supply.N"))
		return reading{fmt.Sprintf("%.3f", real(v)), ok}
	}
	got := map[string]any{
		"floating":  read(floating),
		"bonded":    read(bonded),
		"marked":    [2]bool{floating.sol.Floating[terminal(floating.c, "tr.S1")], bonded.sol.Floating[terminal(bonded.c, "tr.S1")]},
		"bond amps": fmt.Sprintf("%.9f", size(bonded.amps("w5"))),
		"across":    fmt.Sprintf("%.3f", real(floating.across("load"))),
	}
	want := map[string]any{
		"floating": reading{"0.000", false}, "bonded": reading{"22.857", true}, "marked": [2]bool{true, false},
		"bond amps": "0.000000000", "across": "22.857",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A transformer works backward too: with 24 V on its secondary through 0.72
// ohm, the primary stands at 5 times what its 7200 ohms of magnetising, 288
// seen from there, leave: 24 * 288/288.72 * 5 = 119.70 V.
func TestATransformerFedFromItsSecondary(t *testing.T) {
	m := circuittest.SinglePhase(24).Part(circuit.PartSpec{Name: "tr", Kind: "transformer", Volts: 120, Watts: 40, SecondaryVolts: 24})
	m.Resistor("far", 1e6).Wire("supply.L1", "tr.S1").Wire("supply.N", "tr.S2")
	s := solve(t, m.Wire("tr.P1", "far.1").Wire("tr.P2", "far.2").Build(t))
	// The megohm takes the last digits: 1e6/25 beside 288 ohms.
	if got := fmt.Sprintf("%.2f", real(s.across("far"))); got != "119.70" {
		t.Errorf("%s V on the primary, want 119.70", got)
	}
}

func TestPartsTiedToNothingFloat(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "bake", 240, 2400).Switch("one").Switch("two")
	c := m.Series("supply.L1", "one", "bake", "two", "supply.L2").Build(t)
	in := input(c)
	for _, name := range []string{"one", "two"} {
		in.Conducts[branch(c, name)] = false
	}
	sol, err := phasor.New(c).Solve(in)
	if err != nil {
		t.Fatal(err)
	}
	determined := func(a, b string) bool {
		_, ok := sol.Between(terminal(c, a), terminal(c, b))
		return ok
	}
	got := map[string]bool{
		"element floats":     sol.Floating[terminal(c, "bake.1")],
		"supply side floats": sol.Floating[terminal(c, "one.1")],
		"chassis floats":     sol.Floating[c.ChassisTerminal()],
		"across element":     determined("bake.1", "bake.2"),
		"element to neutral": determined("bake.1", "supply.N"),
		"element to chassis": determined("bake.1", "chassis"),
		"leg to leg":         determined("one.1", "two.2"),
		"across the switch":  determined("one.1", "one.2"),
	}
	want := map[string]bool{"element floats": true, "supply side floats": false, "chassis floats": true, "across element": true,
		"element to neutral": false, "element to chassis": false, "leg to leg": true, "across the switch": false}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A 240 V 2400 W element, 24 ohms, fed from L1 alone, grounded a quarter along:
// 6 ohms stand between 120 V and the bonded chassis: 20 A and 2400 W in them.
// With a leak of 4 ohms instead 12 A flow, and 864 W heat the element.
func TestAGroundedElementHeatsFromOneLeg(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "bake", 240, 2400).Switch("control")
	c := m.Series("supply.L1", "bake", "control", "supply.L2").Wire("chassis", "supply.G").Build(t)
	heat := func(ohms float64) map[string]float64 {
		f := circuit.Fault{Kind: circuit.Grounded, Branch: branch(c, "bake"), At: 0.25, Ohms: ohms}
		s := solve(t, c, f, circuit.Fault{Kind: circuit.Open, Branch: branch(c, "control")})
		return map[string]float64{"amps": size(s.amps("bake")), "earth": size(s.amps("supply.G")), "watts": s.watts("bake"),
			"residual": s.sol.Residual}
	}
	want := map[string]string{"amps": "20.000", "earth": "20.000", "watts": "2400.000", "residual": "0.000000000"}
	if diff := cmp.Diff(want, printed(want, heat(0))); diff != "" {
		t.Error(diff)
	}
	want = map[string]string{"amps": "12.000", "earth": "12.000", "watts": "864.000", "residual": "0.000000000"}
	if diff := cmp.Diff(want, printed(want, heat(4))); diff != "" {
		t.Error(diff)
	}
}

// Where ideal joins form a loop the current takes one way round and still
// balances: 10 A into the loop and out of it.
func TestIdealLoopsCarryTheCurrent(t *testing.T) {
	m := circuittest.SinglePhase(120).Load("element", "bake", 120, 1200).Switch("a").Switch("b")
	c := m.Series("supply.L1", "a", "bake", "supply.N").Series("supply.L1", "b", "bake.1").Build(t)
	s := solve(t, c)
	if got := fmt.Sprintf("%.3f %.3f", real(s.amps("a")+s.amps("b")), real(s.amps("bake"))); got != "10.000 10.000" {
		t.Errorf("%s A through the switches and the element, want 10.000 10.000", got)
	}
}

// A 240 V 2400 W element, 24 ohms, with a joint of 24 ohms in it: 5 A, 120 V
// on the element and 600 W in it, a quarter; the joint takes the rest.
func TestABadJointTakesItsShare(t *testing.T) {
	c := circuittest.SplitPhase(240).Load("element", "bake", 240, 2400).Series("supply.L1", "bake", "supply.L2").Build(t)
	s := solve(t, c, fault(t, c, "bake:high=24"))
	want := map[string]string{"amps": "5.000", "volts": "120.000", "watts": "600.000", "share": "0.250", "across": "240.000"}
	got := printed(want, map[string]float64{"amps": size(s.amps("bake")), "volts": s.sol.LoadVolts(branch(c, "bake")),
		"watts": s.watts("bake"), "share": s.sol.Share(branch(c, "bake")), "across": size(s.across("bake"))})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestADeadShortNamesTheJoinsBetween(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "bake", 240, 2400).Switch("a").Switch("b")
	c := m.Series("supply.L1", "a", "bake", "b", "supply.L2").Build(t)
	_, err := phasor.New(c).Solve(input(c, fault(t, c, "bake:short")))
	var short *phasor.ShortError
	if !errors.As(err, &short) {
		t.Fatalf("got %v, want a short", err)
	}
	got := map[string]bool{}
	for _, id := range short.Path {
		got[c.Branch(id).Ref] = true
	}
	want := map[string]bool{"w1": true, "a": true, "w2": true, "bake": true, "w3": true, "b": true, "w4": true}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if ends := [2]string{c.Branch(short.From).Ref, c.Branch(short.To).Ref}; ends != [2]string{"supply.L1", "supply.L2"} {
		t.Errorf("between %v", ends)
	}
}

// The same short behind 0.04 ohm a leg draws 240/0.08 = 3000 A.
func TestAShortBehindTheSupplysResistance(t *testing.T) {
	m := circuittest.SplitPhase(240).SupplyOhms(0.04).Load("element", "bake", 240, 2400)
	c := m.Series("supply.L1", "bake", "supply.L2").Build(t)
	s := solve(t, c, fault(t, c, "bake:short"))
	want := map[string]string{"leg": "3000.0", "element": "3000.0", "volts": "0.0"}
	got := printed(want, map[string]float64{"leg": real(s.amps("supply.L1")), "element": real(s.amps("bake")), "volts": size(s.across("bake"))})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// At 90 % a 240 V supply gives 216 V and 81 % of rated power.
func TestALowSupply(t *testing.T) {
	c := circuittest.SplitPhase(240).Load("element", "bake", 240, 2400).Series("supply.L1", "bake", "supply.L2").Build(t)
	low, err := c.ParseFault("supply:drifted=0.9")
	if err != nil {
		t.Fatal(err)
	}
	s := solve(t, c, low...)
	if got := fmt.Sprintf("%.3f V %.3f", size(s.across("bake")), s.sol.Share(branch(c, "bake"))); got != "216.000 V 0.810" {
		t.Errorf("%s of rated power, want 216.000 V 0.810", got)
	}
}
