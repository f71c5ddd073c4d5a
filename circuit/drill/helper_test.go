package drill_test

import (
	"context"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/drill"
	"legtrace/netlists"
)

func machine(t testing.TB, name string) *circuit.Circuit {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// heater is a machine small enough to try everything on: an element behind a
// fuse and a switch on one leg and a limit on the other, and a lamp.
func heater(t testing.TB) *circuit.Circuit {
	t.Helper()
	spec := circuittest.SplitPhase(240).
		Part(circuit.PartSpec{Kind: "thermal_fuse", Name: "fuse", Place: "back"}, circuit.PartSpec{Kind: "limit", Name: "limit", Place: "back"},
			circuit.PartSpec{Kind: "switch", Name: "switch", Place: "front"},
			circuit.PartSpec{Kind: "element", Name: "element", Volts: 240, Watts: 2400, Place: "inside"},
			circuit.PartSpec{Kind: "lamp", Name: "lamp", Volts: 120, Watts: 60, Place: "front"}).
		Series("supply.L1", "fuse", "switch", "element", "limit", "supply.L2").
		Wire("lamp.1", "switch.2").Wire("lamp.2", "supply.N").Wire("supply.G", "chassis").
		Mode("off").Mode("heat", "switch", "closed").Spec()
	point := func(name, at, place string, minutes float64) circuit.PointSpec {
		return circuit.PointSpec{Name: name, At: at, Place: place, Minutes: minutes}
	}
	spec.Points = []circuit.PointSpec{point("fuse_1", "fuse.1", "back", 4), point("fuse_2", "fuse.2", "back", 4), point("sw_1", "switch.1", "front", 2), point("sw_2", "switch.2", "front", 2),
		point("el_1", "element.1", "inside", 7), point("el_2", "element.2", "inside", 7), point("limit_2", "limit.2", "back", 4), point("lamp_2", "lamp.2", "front", 2)}
	return circuittest.Build(t, spec)
}

// hide hides a fault written as the command line has it.
func hide(t testing.TB, c *circuit.Circuit, refs ...string) *drill.Drill {
	t.Helper()
	d, err := drill.With(c, drill.Options{Level: drill.Journeyman, Number: 3}, circuittest.Faults(t, c, refs...))
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func draw(t testing.TB, c *circuit.Circuit, opt drill.Options) *drill.Drill {
	t.Helper()
	d, err := drill.New(context.Background(), c, opt)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// play makes moves, and fails on one that cannot be made.
func play(t testing.TB, s *drill.Session, lines ...string) []*drill.Step {
	t.Helper()
	var out []*drill.Step
	for _, line := range lines {
		if name, ok := strings.CutPrefix(line, "fit "); ok { // named with the machine made safe first
			safe(t, s)
			line = "name " + name
		}
		m, err := drill.Parse(s.Drill().Circuit(), line)
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		step, err := s.Play(m)
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		out = append(out, step)
	}
	return out
}

// safe plays what belongs before a hand goes in.
func safe(t testing.TB, s *drill.Session) {
	t.Helper()
	if s.On() {
		play(t, s, "off", "prove", "dead")
	}
}
