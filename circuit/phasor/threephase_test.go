package phasor_test

import (
	"math"
	"math/cmplx"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
)

// Three equal elements on a 208 V star service. In star each gets 120 V, in
// delta 208 V and three times the power: Kuphaldt, Lessons In Electric Circuits,
// vol. II (AC), ch. 10, "Three-phase Y and delta configurations": line voltage
// is the square root of 3 times phase voltage in Y, line current the square root
// of 3 times phase current in delta, and a balanced Y needs no neutral current.
func TestThreePhasesInStarAndDelta(t *testing.T) {
	const ohms = 12.0
	for name, x := range map[string]struct {
		wires                  [][]string
		volts, lineAmps, total float64
	}{
		"star":  {[][]string{{"supply.L1", "a", "supply.N"}, {"supply.L2", "b", "supply.N"}, {"supply.L3", "c", "supply.N"}}, 208 / math.Sqrt(3), 208 / math.Sqrt(3) / ohms, 208 * 208 / ohms},
		"delta": {[][]string{{"supply.L1", "a", "supply.L2"}, {"supply.L2", "b", "supply.L3"}, {"supply.L3", "c", "supply.L1"}}, 208, math.Sqrt(3) * 208 / ohms, 3 * 208 * 208 / ohms},
	} {
		m := circuittest.Star(208)
		for _, p := range []string{"a", "b", "c"} {
			m.Part(circuit.PartSpec{Name: p, Kind: "resistor", Ohms: ohms, Volts: 208})
		}
		for _, w := range x.wires {
			m.Series(w...)
		}
		c := m.Build(t)
		o, err := settle.New(c).Run(0, nil)
		if err != nil {
			t.Fatal(err)
		}
		total := 0.0
		for _, load := range c.Loads() {
			total += o.AnyState.Watts(load)
			if v := o.AnyState.LoadVolts(load); math.Abs(v-x.volts) > 1e-9 {
				t.Errorf("%s: %s gets %.3f V, expected %.3f", name, c.Label(load), v, x.volts)
			}
		}
		for _, leg := range c.Supply().Legs {
			if a := cmplx.Abs(o.AnyState.Amps[leg]); math.Abs(a-x.lineAmps) > 1e-9 {
				t.Errorf("%s: leg %s sends %.3f A, expected %.3f", name, c.Branch(leg).Name, a, x.lineAmps)
			}
		}
		if n := cmplx.Abs(o.AnyState.Amps[c.Supply().Neutral]); n > 1e-9 {
			t.Errorf("%s: neutral carries %g A", name, n)
		}
		if math.Abs(total-x.total) > 1e-6 {
			t.Errorf("%s: %.1f W in all, expected %.1f", name, total, x.total)
		}
	}
}

// A 240 V delta service with its neutral in the middle of one winding: 240 V
// between any two legs, 120 V from two of them to neutral, and 208 V from the
// high leg (240 times half the square root of 3; NFPA 70, 110.15, has that leg
// marked orange, value from memory).
func TestTheHighLegOfADeltaService(t *testing.T) {
	m := circuittest.Delta(240)
	pairs := map[string]float64{"L1 L2": 240, "L2 L3": 240, "L1 L3": 240, "L1 N": 120, "L3 N": 120, "L2 N": 240 * math.Sqrt(3) / 2}
	for pair := range pairs {
		m.Load("lamp", "lamp_"+pair[:2]+pair[3:], 240, 40).Series("supply."+pair[:2], "lamp_"+pair[:2]+pair[3:], "supply."+pair[3:])
	}
	c := m.Build(t)
	o, err := settle.New(c).Run(0, nil)
	if err != nil {
		t.Fatal(err)
	}
	for pair, want := range pairs {
		load, err := c.FindLoad("lamp_" + pair[:2] + pair[3:])
		if err != nil {
			t.Fatal(err)
		}
		if v := o.AnyState.LoadVolts(load); math.Abs(v-want) > 1e-9 {
			t.Errorf("%s: %.2f V, expected %.2f", pair, v, want)
		}
	}
}

// With one phase lost a delta of equal elements keeps half its power: the one
// between the two legs left keeps all of its own, the other two, in series
// across the same legs, a quarter each. In star with its neutral two thirds
// are left, without it a half.
func TestWhatALostPhaseLeaves(t *testing.T) {
	sides := map[string][][]string{
		"delta":                {{"supply.L1", "a", "supply.L2"}, {"supply.L2", "b", "supply.L3"}, {"supply.L3", "c", "supply.L1"}},
		"star":                 {{"supply.L1", "a", "supply.N"}, {"supply.L2", "b", "supply.N"}, {"supply.L3", "c", "supply.N"}},
		"star without neutral": {{"supply.L1", "a", "b.2"}, {"supply.L2", "b", "c.2"}, {"supply.L3", "c", "a.2"}},
	}
	for name, want := range map[string]float64{"delta": 0.5, "star": 2.0 / 3, "star without neutral": 0.5} {
		m := circuittest.Star(208)
		for _, p := range []string{"a", "b", "c"} {
			m.Part(circuit.PartSpec{Name: p, Kind: "resistor", Ohms: 12, Volts: 208})
		}
		for _, w := range sides[name] {
			m.Series(w...)
		}
		c := m.Build(t)
		watts := func(fault string) float64 {
			faults, err := c.ParseFault(fault)
			if err != nil {
				t.Fatal(err)
			}
			o, err := settle.New(c).Run(0, faults)
			if err != nil {
				t.Fatal(err)
			}
			sum := 0.0
			for _, load := range c.Loads() {
				sum += o.AnyState.Watts(load)
			}
			return sum
		}
		if got := watts("supply.L3:open") / watts("supply.L3:drifted=1"); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %.3f of the power is left, expected %.3f", name, got, want)
		}
	}
}
