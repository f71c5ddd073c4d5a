package phasor_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit/circuittest"
)

// Kuphaldt, Lessons In Electric Circuits, vol. II (AC), ch. 10, Single-phase
// power systems: two loads of 10 kW, in parallel on 120 V (166.67 A; the text
// drops the last digit to 166.66), in parallel on 240 V, in series on 240 V,
// and each on its own leg of a three-wire service. 41.67 A derived.
func TestSinglePhasePowerSystems(t *testing.T) {
	type amps struct{ Load1, Load2, Leg, Neutral string }
	ten := func(m *circuittest.Machine, volts float64) *circuittest.Machine {
		return m.Load("element", "load1", volts, 10000).Load("element", "load2", volts, 10000)
	}
	want := map[string]amps{
		"120 V parallel": {"83.33", "83.33", "166.67", "166.67"},
		"240 V parallel": {"41.67", "41.67", "83.33", "83.33"},
		"240 V series":   {"83.33", "83.33", "83.33", "83.33"},
		"three-wire":     {"83.33", "83.33", "83.33", "0.00"},
	}
	machines := map[string]*circuittest.Machine{
		"120 V parallel": ten(circuittest.SinglePhase(120), 120).Series("supply.L1", "load1", "supply.N").Series("supply.L1", "load2", "supply.N"),
		"240 V parallel": ten(circuittest.SinglePhase(240), 240).Series("supply.L1", "load1", "supply.N").Series("supply.L1", "load2", "supply.N"),
		"240 V series":   ten(circuittest.SinglePhase(240), 120).Series("supply.L1", "load1", "load2", "supply.N"),
		"three-wire":     ten(circuittest.SplitPhase(240), 120).Series("supply.L1", "load1", "supply.N").Series("supply.L2", "load2", "supply.N"),
	}
	got := map[string]amps{}
	for name, m := range machines {
		s := solve(t, m.Build(t))
		read := func(ref string) string {
			return printed(map[string]string{"": "0.00"}, map[string]float64{"": size(s.amps(ref))})[""]
		}
		got[name] = amps{read("load1"), read("load2"), read("supply.L1"), read("supply.N")}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// lostNeutral is two loads on one leg each, and the voltages on them, as
// printed, when the neutral is lost.
type lostNeutral struct {
	watts1, watts2 float64
	Volts1, Volts2 string
}

// With the neutral lost two loads stand in series across both legs.
//
//   - 40 W and 100 W at 120 V are 360 and 144 ohms: 240 V * 360/504 = 171 V on
//     the lamp, 240 V * 144/504 = 69 V on the other load (derived).
//   - 10 A and 5 A at 120 V are 12 and 24 ohms: 80 V and 160 V (derived from the
//     question of R. C. Mullin, Electrical Wiring: Residential, 18th ed., ch. 17,
//     review problem 4; author from memory).
//   - 100 W and 200 W at 120 V are 144 and 72 ohms: 160 V and 80 V (derived).
func TestALostNeutralPutsLoadsInSeries(t *testing.T) {
	cases := map[string]lostNeutral{
		"40 W lamp and 100 W": {40, 100, "171", "69"},
		"10 A and 5 A":        {1200, 600, "80", "160"},
		"100 W and 200 W":     {100, 200, "160", "80"},
	}
	for name, want := range cases {
		t.Run(name, func(t *testing.T) {
			m := circuittest.SplitPhase(240).Load("lamp", "one", 120, want.watts1).Load("element", "two", 120, want.watts2)
			c := m.Series("supply.L1", "one", "supply.N").Series("supply.N", "two", "supply.L2").Build(t)
			sound, lost := solve(t, c), solve(t, c, fault(t, c, "supply.N:open"))
			volts := func(s solved) [2]string {
				r := printed(map[string]string{"1": "0", "2": "0"}, map[string]float64{"1": size(s.across("one")), "2": size(s.across("two"))})
				return [2]string{r["1"], r["2"]}
			}
			got := [2][2]string{volts(sound), volts(lost)}
			if diff := cmp.Diff([2][2]string{{"120", "120"}, {want.Volts1, want.Volts2}}, got); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// (208/240)^2 = 0.751 and (120/240)^2 = 0.25 of rated power.
func TestAnElementOnLessThanItsVoltage(t *testing.T) {
	want := map[string]string{"208 V": "75.1", "120 V": "25.0", "240 V": "100.0"}
	legs := map[string]*circuittest.Machine{
		"208 V": circuittest.Wye(208), "240 V": circuittest.SplitPhase(240), "120 V": circuittest.SinglePhase(120),
	}
	percent := map[string]float64{}
	for name, m := range legs {
		other := "supply.L2"
		if name == "120 V" {
			other = "supply.N"
		}
		c := m.Load("element", "bake", 240, 2600).Series("supply.L1", "bake", other).Build(t)
		s := solve(t, c)
		percent[name] = 100 * s.sol.Share(branch(c, "bake"))
	}
	if diff := cmp.Diff(want, printed(want, percent)); diff != "" {
		t.Error(diff)
	}
}

// On two legs of a wye equal loads to neutral do not cancel there: the sum of
// two equal currents 120 degrees apart is as large as either (derived).
func TestTheNeutralOfAWyeCarriesAsMuchAsALeg(t *testing.T) {
	m := circuittest.Wye(208).Load("lamp", "one", 120, 1200).Load("lamp", "two", 120, 1200)
	s := solve(t, m.Series("supply.L1", "one", "supply.N").Series("supply.L2", "two", "supply.N").Build(t))
	// 208/sqrt(3) = 120.09 V over 12 ohms.
	want := map[string]string{"L1": "10.007", "L2": "10.007", "N": "10.007", "L1-L2": "208.000"}
	got := printed(want, map[string]float64{"L1": size(s.amps("supply.L1")), "L2": size(s.amps("supply.L2")),
		"N": size(s.amps("supply.N")), "L1-L2": size(s.volts("supply.L1", "supply.L2"))})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Both ends of an element with one leg lost read that of the other leg to
// neutral, and nothing across: a single reading does not tell it is fed.
func TestBothEndsReadLineVoltageWithALegLost(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "bake", 240, 2400).Load("lamp", "lamp", 120, 40)
	c := m.Series("supply.L1", "bake", "supply.L2").Series("supply.L1", "lamp", "supply.N").Build(t)
	s := solve(t, c, fault(t, c, "supply.L2:open"))
	want := map[string]string{"1 to N": "120.0", "2 to N": "120.0", "across": "0.0"}
	got := printed(want, map[string]float64{"1 to N": size(s.volts("bake.1", "supply.N")),
		"2 to N": size(s.volts("bake.2", "supply.N")), "across": size(s.across("bake"))})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
