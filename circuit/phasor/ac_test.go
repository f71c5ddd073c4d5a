package phasor_test

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
)

// inductor is a solenoid whose winding has next to no resistance.
func inductor(name string, henries float64) circuit.PartSpec {
	const volts, powerFactor = 100, 1e-6
	reactance := 2 * math.Pi * 60 * henries
	return circuit.PartSpec{Name: name, Kind: "solenoid", Volts: volts, PowerFactor: powerFactor,
		Watts: volts * volts * powerFactor / reactance}
}

func capacitor(name string, microfarads float64) circuit.PartSpec {
	return circuit.PartSpec{Name: name, Kind: "capacitor", Microfarads: microfarads}
}

// Kuphaldt, Lessons In Electric Circuits, vol. II (AC), ch. 5, series R, L and
// C: 120 V 60 Hz, 250 ohms, 650 mH, 1.5 uF.
func TestSeriesResistanceInductanceCapacitance(t *testing.T) {
	m := circuittest.SinglePhase(120).Resistor("r", 250).Part(inductor("l", 0.650), capacitor("c", 1.5))
	s := solve(t, m.Series("supply.L1", "r", "l", "c", "supply.N").Build(t))
	want := map[string]string{
		"VR": "19.43", "VR angle": "80.68", "VL": "19.05", "VL angle": "170.7", "VC": "137.46", "VC angle": "-9.320",
		"I mA": "77.73", "I angle": "80.68",
	}
	got := printed(want, map[string]float64{
		"VR": size(s.across("r")), "VR angle": degrees(s.across("r")),
		"VL": size(s.across("l")), "VL angle": degrees(s.across("l")),
		"VC": size(s.across("c")), "VC angle": degrees(s.across("c")),
		"I mA": 1000 * size(s.amps("r")), "I angle": degrees(s.amps("r")),
	})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Kuphaldt, vol. II, ch. 5, parallel R, L and C: the same parts side by side.
func TestParallelResistanceInductanceCapacitance(t *testing.T) {
	m := circuittest.SinglePhase(120).Resistor("r", 250).Part(inductor("l", 0.650), capacitor("c", 1.5))
	m.Wire("supply.L1", "r.1", "l.1", "c.1").Wire("supply.N", "r.2", "l.2", "c.2")
	s := solve(t, m.Build(t))
	want := map[string]string{"I mA": "639.0", "I angle": "-41.31", "IR mA": "480.0", "IL mA": "489.7", "IL angle": "-90.00",
		"IC mA": "67.86", "IC angle": "90.00"}
	got := printed(want, map[string]float64{
		"I mA": 1000 * size(s.amps("supply.L1")), "I angle": degrees(s.amps("supply.L1")), "IR mA": 1000 * size(s.amps("r")),
		"IL mA": 1000 * size(s.amps("l")), "IL angle": degrees(s.amps("l")),
		"IC mA": 1000 * size(s.amps("c")), "IC angle": degrees(s.amps("c")),
	})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Kuphaldt, vol. II, ch. 5, series-parallel R, L and C: 4.7 uF in series with
// 470 ohms across 650 mH and 1.5 uF.
func TestSeriesParallelResistanceInductanceCapacitance(t *testing.T) {
	m := circuittest.SinglePhase(120).Resistor("r", 470).Part(inductor("l", 0.650), capacitor("c1", 4.7), capacitor("c2", 1.5))
	m.Series("supply.L1", "c1", "l", "c2", "supply.N").Series("c1.2", "r", "supply.N")
	s := solve(t, m.Build(t))
	want := map[string]string{
		"Z": "818.34", "Z angle": "-58.371", "I mA": "146.6", "I angle": "58.37",
		"C1 V": "82.76", "C1 angle": "-31.63", "L V": "10.59", "L angle": "-138.8", "L mA": "43.23", "L mA angle": "131.2",
		"C2 V": "76.45", "C2 angle": "41.22", "R V": "65.86", "R angle": "41.22", "R mA": "140.1",
	}
	z := 120 / s.amps("c1")
	got := printed(want, map[string]float64{
		"Z": size(z), "Z angle": degrees(z), "I mA": 1000 * size(s.amps("c1")), "I angle": degrees(s.amps("c1")),
		"C1 V": size(s.across("c1")), "C1 angle": degrees(s.across("c1")),
		"L V": size(s.across("l")), "L angle": degrees(s.across("l")),
		"L mA": 1000 * size(s.amps("l")), "L mA angle": degrees(s.amps("l")),
		"C2 V": size(s.across("c2")), "C2 angle": degrees(s.across("c2")),
		"R V": size(s.across("r")), "R angle": degrees(s.across("r")), "R mA": 1000 * size(s.amps("r")),
	})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// A motor of 120 V, 300 W, power factor 0.6 lagging takes 300/(120*0.6) =
// 4.167 A at -53.13 degrees, and 300 W (derived).
func TestAMotorsCurrentLags(t *testing.T) {
	m := circuittest.SinglePhase(120).Part(circuit.PartSpec{Name: "motor", Kind: "motor", Volts: 120, Watts: 300, PowerFactor: 0.6})
	s := solve(t, m.Series("supply.L1", "motor", "supply.N").Build(t))
	want := map[string]string{"A": "4.167", "angle": "-53.13", "W": "300.00"}
	got := printed(want, map[string]float64{"A": size(s.amps("motor")), "angle": degrees(s.amps("motor")), "W": s.watts("motor")})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
