package phasor_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
)

// bookCase is a worked example: its circuit, and what the book prints.
type bookCase struct {
	source string
	make   func(t *testing.T) solved
	read   func(s solved) map[string]float64
	want   map[string]string
}

var twoRails = map[string]string{"1": "supply.L1", "0": "supply.N"}

// dc makes a circuit on one battery between nodes 1 and 0.
func dc(volts float64, list string) func(*testing.T) solved {
	return func(t *testing.T) solved {
		return solve(t, resistors(circuittest.SinglePhase(volts), twoRails, list).Build(t))
	}
}

// twoBatteries makes a circuit on two batteries, from nodes a and b to 0.
func twoBatteries(a string, voltsA float64, b string, voltsB float64, list string) func(*testing.T) solved {
	return func(t *testing.T) solved {
		m := circuittest.SplitPhase(2 * voltsA)
		c := resistors(m, map[string]string{a: "supply.L1", b: "supply.L2", "0": "supply.N"}, list).Build(t)
		return solve(t, c, battery(c, voltsB))
	}
}

var bookCases = map[string]bookCase{
	"branch current method": {
		source: "T. R. Kuphaldt, Lessons In Electric Circuits, vol. I (DC), ch. 10 DC Network Analysis",
		make:   twoBatteries("1", 28, "3", 7, "r1 1-2 4\nr2 2-0 2\nr3 2-3 1"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{
				"V(1,2)": real(s.across("r1")), "V(2)": real(s.across("r2")), "V(2,3)": real(s.across("r3")),
				"I1": real(s.amps("r1")), "I2": real(s.amps("r2")), "I into 7 V": real(s.amps("r3")),
			}
		},
		want: map[string]string{"V(1,2)": "20", "V(2)": "8", "V(2,3)": "1", "I1": "5", "I2": "4", "I into 7 V": "1"},
	},
	"unbalanced Wheatstone bridge": {
		source: "Kuphaldt, vol. I, ch. 10, mesh current method; currents from the same chapter's solution in mA",
		make:   dc(24, "r1 1-2 150\nr2 1-3 50\nr3 2-3 100\nr4 2-0 300\nr5 3-0 250"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{
				"V(1,2)": real(s.across("r1")), "V(1,3)": real(s.across("r2")), "V(3,2)": -real(s.across("r3")),
				"V(2)": real(s.across("r4")), "V(3)": real(s.across("r5")),
				"I r1": 1000 * real(s.amps("r1")), "I r2": 1000 * real(s.amps("r2")), "I r3": -1000 * real(s.amps("r3")),
				"I r4": 1000 * real(s.amps("r4")), "I r5": 1000 * real(s.amps("r5")), "I battery": 1000 * real(s.amps("supply.L1")),
			}
		},
		want: map[string]string{
			"V(1,2)": "6.345", "V(1,3)": "4.690", "V(3,2)": "1.655", "V(2)": "17.66", "V(3)": "19.31",
			"I r1": "42.299", "I r2": "93.793", "I r3": "16.552", "I r4": "58.851", "I r5": "77.241", "I battery": "136.092",
		},
	},
	"balanced Wheatstone bridge": {
		source: "derived: 100/200 = 150/300, so nothing flows across",
		make:   dc(24, "r1 1-2 100\nr2 1-3 150\nr3 2-3 40\nr4 2-0 200\nr5 3-0 300"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{"V(2)": real(s.across("r4")), "V(3)": real(s.across("r5")), "I r3": 1e6 * size(s.amps("r3"))}
		},
		want: map[string]string{"V(2)": "16.000000", "V(3)": "16.000000", "I r3": "0.000000"},
	},
	"node voltage method": {
		source: "Kuphaldt, vol. I, ch. 10, node voltage method",
		make:   twoBatteries("11", 10, "22", -4, "r1 11-1 2\nr2 1-0 4\nr3 1-2 2.5\nr4 2-0 5\nr5 2-22 1"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{"V(1)": real(s.across("r2")), "V(2)": real(s.across("r4"))}
		},
		want: map[string]string{"V(1)": "3.809524", "V(2)": "-1.547619"},
	},
	"delta-wye bridge": {
		source: "Kuphaldt, vol. I, ch. 10, delta-Y conversions; current of the bridge derived",
		make:   dc(10, "r1 1-2 12\nr2 1-3 18\nr3 2-3 6\nr4 2-0 18\nr5 3-0 12"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{
				"V(1,2)": real(s.across("r1")), "V(1,3)": real(s.across("r2")), "V(2,3)": real(s.across("r3")),
				"V(2)": real(s.across("r4")), "V(3)": real(s.across("r5")), "I r3": real(s.amps("r3")),
			}
		},
		want: map[string]string{"V(1,2)": "4.706", "V(1,3)": "5.294", "V(2,3)": "0.5882", "V(2)": "5.294", "V(3)": "4.706", "I r3": "0.09804"},
	},
	"two meshes": {
		source: "OpenStax University Physics vol. 2, sec. 10.3 Kirchhoff's Rules, two-source circuit of the running text",
		make:   twoBatteries("a", 24, "d", 29, "R1 a-b 3\nR2 b-0 3\nR3 b-c 3\nR4 c-d 4"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{
				"I1": real(s.amps("R1")), "I2": real(s.amps("R2")), "I3": real(s.amps("R3")),
				"P": s.watts("R1") + s.watts("R2") + s.watts("R3") + s.watts("R4"), "P of V2": 29 * real(s.amps("supply.L2")),
			}
		},
		want: map[string]string{"I1": "3.00", "I2": "5.00", "I3": "-2.00", "P": "130", "P of V2": "58"},
	},
	"three sources": {
		// The book's V1 and V3 stand on V2, which the common point leaves at
		// 0.6 V above the end of R3: 0.5 + 0.6 and 2.3 + 0.6 V. R1 is 1 ohm, as
		// the book's equations and powers have it.
		source: "OpenStax University Physics vol. 2, sec. 10.3, example on calculating current by Kirchhoff's rules",
		make:   twoBatteries("p", 1.1, "q", 2.9, "R1 p-x 1\nR4 x-c 2\nR2 q-y 5\nR5 y-z 1\nR6 z-c 2\nR3 c-0 1"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{
				"I1": real(s.amps("R1")), "I2": real(s.amps("R2")), "I3": real(s.amps("R3")),
				"P1": s.watts("R1"), "P2": s.watts("R2"), "P3": s.watts("R3"), "P4": s.watts("R4"), "P5": s.watts("R5"), "P6": s.watts("R6"),
			}
		},
		want: map[string]string{"I1": "0.20", "I2": "0.30", "I3": "0.50",
			"P1": "0.04", "P2": "0.45", "P3": "0.25", "P4": "0.08", "P5": "0.09", "P6": "0.18"},
	},
	"two sources opposed in one loop": {
		source: "OpenStax University Physics vol. 2, sec. 10.3, example with V1 = 12 V against V2 = 24 V",
		make:   twoBatteries("a", 24, "b", 12, "R1 a-x 10\nR2 x-y 30\nR3 y-b 20"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{"I": real(s.amps("R1")), "P1": s.watts("R1"), "P2": s.watts("R2"), "P3": s.watts("R3"),
				"into V1": -12 * real(s.amps("supply.L2")), "from V2": 24 * real(s.amps("supply.L1"))}
		},
		want: map[string]string{"I": "0.20", "P1": "0.40", "P2": "1.20", "P3": "0.80", "into V1": "2.40", "from V2": "4.80"},
	},
	"series-parallel combination": {
		source: "NEETS module 1, NAVEDTRA 14173 (1998), ch. 3, fig. 3-54",
		make:   dc(60, "R1 1-A 8\nR2 A-0 20\nR3 A-0 30"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{"E1": real(s.across("R1")), "E2": real(s.across("R2")), "I": real(s.amps("R1")),
				"I2": real(s.amps("R2")), "I3": real(s.amps("R3")), "P1": s.watts("R1"), "P3": s.watts("R3")}
		},
		want: map[string]string{"E1": "24", "E2": "36", "I": "3", "I2": "1.8", "I3": "1.2", "P1": "72", "P3": "43.2"},
	},
	"practice circuit": {
		source: "NEETS module 1, NAVEDTRA 14173 (1998), ch. 3, fig. 3-55",
		make:   dc(300, "R4 1-A 1000\nR3 A-0 400\nR1 A-B 300\nR2 B-0 100"),
		read: func(s solved) map[string]float64 {
			return map[string]float64{"I": 1000 * real(s.amps("R4")), "E3": real(s.across("R3")),
				"I1": 1000 * real(s.amps("R1")), "E1": real(s.across("R1"))}
		},
		want: map[string]string{"I": "250", "E3": "50", "I1": "125", "E1": "37.5"},
	},
}

func TestWorkedExamples(t *testing.T) {
	for name, b := range bookCases {
		t.Run(name, func(t *testing.T) {
			s := b.make(t)
			if diff := cmp.Diff(b.want, printed(b.want, b.read(s))); diff != "" {
				t.Errorf("-printed +solved (%s):\n%s", b.source, diff)
			}
		})
	}
}

// NEETS module 1, NAVEDTRA 14173 (1998), ch. 3, figs 3-61 and 3-62, pp. 3-90 to
// 3-92: opens and shorts in 20 ohms in series with 100 and 25 in parallel.
func TestOpensAndShortsInACombination(t *testing.T) {
	c := resistors(circuittest.SinglePhase(120), twoRails, "R1 1-A 20\nR2 A-0 100\nR3 A-0 25").Build(t)
	type amps struct{ Total, R2 string }
	want := map[string]amps{
		"":         {"3.0", "0.6"},
		"R1:open":  {"0.0", "0.0"},
		"R3:open":  {"1.0", "1.0"},
		"R1:short": {"6.0", "1.2"},
		"R3:short": {"6.0", "0.0"},
	}
	got := map[string]amps{}
	for ref := range want {
		var s solved
		if ref == "" {
			s = solve(t, c)
		} else {
			s = solve(t, c, fault(t, c, ref))
		}
		r := printed(map[string]string{"t": "0.0", "2": "0.0"},
			map[string]float64{"t": size(s.amps("supply.L1")), "2": size(s.amps("R2"))})
		got[ref] = amps{r["t"], r["2"]}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// NEETS module 1, NAVEDTRA 14173 (1998), ch. 3, p. 3-44: across an open in a
// series circuit the meter reads the full applied voltage.
func TestAnOpenInSeriesReadsTheFullVoltage(t *testing.T) {
	c := resistors(circuittest.SinglePhase(90), twoRails, "R1 1-A 5\nR2 A-B 10\nR3 B-0 15").Build(t)
	s := solve(t, c, fault(t, c, "R2:open"))
	want := map[string]string{"R1": "0.000", "R2": "90.000", "R3": "0.000"}
	got := printed(want, map[string]float64{"R1": size(s.across("R1")), "R2": size(s.across("R2")), "R3": size(s.across("R3"))})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Kuphaldt, vol. I, ch. 10, Thevenin's, Norton's and maximum power transfer
// theorems on the two-battery circuit: 11.2 V, 14 A, 0.8 ohm; 39.2 W into
// 0.8 ohm, less into 0.5 and 1.1 ohm (37.11 and 38.22 W derived).
func TestWhatTheLoadSeesOfTwoBatteries(t *testing.T) {
	c := resistors(circuittest.SplitPhase(56), map[string]string{"1": "supply.L1", "3": "supply.L2", "0": "supply.N"},
		"r1 1-2 4\nr2 2-0 2\nr3 2-3 1").Build(t)
	second, load := battery(c, 7), branch(c, "r2")
	into := func(ohms float64) float64 {
		return solve(t, c, second, circuit.Fault{Kind: circuit.Drifted, Branch: load, Factor: ohms / 2}).watts("r2")
	}
	open := solve(t, c, second, fault(t, c, "r2:open")).across("r2")
	short := solve(t, c, second, fault(t, c, "r2:short")).amps("r2")
	want := map[string]string{"E": "11.2", "I": "14", "R": "0.8", "into 0.8": "39.2", "into 0.5": "37.11", "into 1.1": "38.22"}
	got := printed(want, map[string]float64{"E": real(open), "I": real(short), "R": real(open / short),
		"into 0.8": into(0.8), "into 0.5": into(0.5), "into 1.1": into(1.1)})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// NEETS module 1, NAVEDTRA 14173 (1998), ch. 3, fig. 3-36: 100 V behind 5 ohms,
// halved here over both conductors. Terminal volts as printed; watts derived,
// the table multiplying rounded figures, but for the 500 W of matched loads.
func TestMaximumPowerTransfer(t *testing.T) {
	want := map[string][2]string{
		"1": {"16.7", "277.8"}, "5": {"50.0", "500.0"}, "10": {"66.7", "444.4"}, "20": {"80.0", "320.0"}, "50": {"90.9", "165.3"},
	}
	got := map[string][2]string{}
	for ohms := range want {
		c := resistors(circuittest.SinglePhase(100).SupplyOhms(2.5), twoRails, "RL 1-0 "+ohms).Build(t)
		s := solve(t, c)
		r := printed(map[string]string{"E": "0.0", "P": "0.0"}, map[string]float64{"E": size(s.across("RL")), "P": s.watts("RL")})
		got[ohms] = [2]string{r["E"], r["P"]}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
