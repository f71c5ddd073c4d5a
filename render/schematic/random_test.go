package schematic

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
)

// anyPart draws a part of any kind and the terminals it will have.
func anyPart(t *rapid.T, i int) (circuit.PartSpec, []string) {
	p := circuit.PartSpec{Name: fmt.Sprintf("p%d", i)}
	two := []string{"1", "2"}
	kind := rapid.SampledFrom([]string{"element", "lamp", "motor", "fan", "solenoid", "transformer", "resistor", "capacitor",
		"switch", "push_switch", "selector", "cycling_switch", "thermostat", "limit", "thermal_fuse", "fuse", "relay",
		"coil_relay", "start_motor", "changeover", "door_switch", "latch", "sensor", "connector", "terminal_block"}).Draw(t, "kind")
	p.Kind = kind
	switch kind {
	case "element", "lamp", "motor", "fan", "solenoid":
		p.Volts, p.Watts = 120, 100
		return p, two
	case "start_motor":
		p.Kind, p.Volts, p.Watts, p.StartOhms = "motor", 120, 200, 10
		return p, []string{"1", "2", "3"}
	case "transformer":
		p.Volts, p.Watts, p.SecondaryVolts = 120, 20, 24
		return p, []string{"P1", "P2", "S1", "S2"}
	case "resistor":
		p.Ohms = 1000
	case "capacitor":
		p.Microfarads = 10
	case "selector":
		p.Positions = []string{"off", "a", "b"}
		p.Chart = map[string][][]string{"a": {{"W", "X"}, {"Y", "Z"}}, "b": {{"X", "Y", "V"}}}
		return p, []string{"V", "W", "X", "Y", "Z"}
	case "cycling_switch":
		return p, []string{"L1", "L2", "H1", "H2", "P"}
	case "relay":
		p.DrivenBy, p.Contact = "control", rapid.SampledFrom([]string{"no", "nc", "changeover"}).Draw(t, "form")
		out := []string{"com"}
		if p.Contact != "nc" {
			out = append(out, "no")
		}
		if p.Contact != "no" {
			out = append(out, "nc")
		}
		return p, out
	case "coil_relay":
		p.Kind, p.Volts, p.Watts, p.Contact = "relay", 120, 5, "no"
		return p, []string{"A1", "A2", "com", "no"}
	case "changeover":
		p.Kind, p.Contact = "switch", "changeover"
		return p, []string{"com", "nc", "no"}
	case "latch":
		p.Volts, p.Watts = 120, 5
		return p, []string{"M1", "M2", "1", "2"}
	case "sensor":
		p.Curve, p.OhmsAt = "pt3850", 1000
	case "connector", "terminal_block":
		p.Poles = []string{"A", "B"}
		return p, []string{"A.in", "A.out", "B.in", "B.out"}
	}
	return p, two
}

// anyMachine draws a machine wired at random: nothing a person would build,
// which is the point.
func anyMachine(t *rapid.T, least, most int) *circuit.Circuit {
	spec := circuit.Spec{Name: "random", Modes: []circuit.ModeSpec{{Name: "off"}}}
	spec.Supply.System = rapid.SampledFrom([]string{"split-phase", "wye", "single-phase"}).Draw(t, "system")
	ends := []string{"supply.L1", "supply.N", "chassis"}
	if spec.Supply.System != "single-phase" {
		ends = append(ends, "supply.L2")
		if rapid.Bool().Draw(t, "earth") {
			spec.Supply.Wires = 4
			ends = append(ends, "supply.G")
		} else {
			spec.Supply.Wires = 3
		}
	} else {
		spec.Supply.Wires = 2
	}
	spec.Parts = append(spec.Parts, circuit.PartSpec{Name: "control", Kind: "control", Volts: 120, Watts: 5,
		Senses: []circuit.SenseSpec{{Name: "s", Pins: []string{"S1", "S2"}, MaxOhms: 100}}})
	for _, pin := range []string{"L", "N", "S1", "S2"} {
		ends = append(ends, "control."+pin)
	}
	n := rapid.IntRange(least, most).Draw(t, "parts")
	for i := range n {
		p, terminals := anyPart(t, i)
		spec.Parts = append(spec.Parts, p)
		for _, name := range terminals {
			ends = append(ends, p.Name+"."+name)
		}
	}
	ends = rapid.Permutation(ends).Draw(t, "ends")
	for len(ends) > 1 {
		size := min(len(ends), rapid.SampledFrom([]int{2, 2, 2, 3, 4, 6}).Draw(t, "node"))
		if len(ends)-size == 1 {
			size++
		}
		for i := 1; i < size; i++ {
			from := rapid.IntRange(0, i-1).Draw(t, "from")
			spec.Wires = append(spec.Wires, circuit.WireSpec{From: ends[from], To: ends[i], Colour: "BK"})
		}
		ends = ends[size:]
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatalf("the machine was not accepted: %v", problems)
	}
	return c
}

func TestGeometryOfRandomMachines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if !circuittest.Sampled(rapid.IntRange(0, 2).Draw(t, "sample"), 3) {
			return
		}
		c := anyMachine(t, 1, 40)
		d := Drawing{Circuit: c, Load: circuit.None, Volts: make([]NodeVolts, len(c.Terminals()))}
		for i := range c.Branches() {
			if i%4 == 0 {
				d.Marks = append(d.Marks, Mark{Number: len(d.Marks) + 1, Branch: circuit.BranchID(i)})
			}
		}
		var b bytes.Buffer
		if err := Render(context.Background(), &b, d); err != nil {
			t.Fatal(err)
		}
		if flaws := readSheet(t, b.Bytes()).flaws(c); len(flaws) > 0 {
			t.Fatalf("%d parts, %d wires:\n%s", len(c.Parts()), len(c.Wires()), strings.Join(flaws, "\n"))
		}
	})
}
