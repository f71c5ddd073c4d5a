package trace_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/trace"
)

// A 24 V coil hangs on a transformer: its feed is that of the transformer, by
// way of the windings, and what is open ahead of the primary is named.
func TestALoadBehindATransformerIsFedThroughIt(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("solenoid", "valve", 24, 10).Switch("door")
	m.Part(circuit.PartSpec{Name: "step_down", Kind: "transformer", Volts: 120, SecondaryVolts: 24, Watts: 40})
	m.Part(circuit.PartSpec{Name: "fuse", Kind: "fuse", Amps: 2})
	m.Wire("supply.L1", "door.1").Wire("door.2", "step_down.P1").Wire("step_down.P2", "supply.N")
	m.Wire("step_down.S1", "fuse.1").Wire("fuse.2", "valve.1").Wire("valve.2", "step_down.S2")
	m.Mode("open").Mode("shut", "door", "closed")
	c := m.Build(t)
	load, err := c.FindLoad("valve")
	if err != nil {
		t.Fatal(err)
	}
	tracer := trace.New(c)
	for _, k := range []struct {
		mode string
		fed  bool
		open string
	}{{"shut", true, ""}, {"open", false, "door"}} {
		mode, err := c.FindMode(k.mode)
		if err != nil {
			t.Fatal(err)
		}
		out, err := tracer.Engine().Run(mode, nil)
		if err != nil {
			t.Fatal(err)
		}
		f := tracer.Feed(out, load)
		var ways, open []string
		for i := range f.Ends {
			var steps []string
			for _, h := range f.Ends[i].Hops {
				if b := c.Branch(h.Branch); b.Wire == circuit.None {
					steps = append(steps, b.Ref)
				}
				if tracer.IsAcross(h) {
					steps = append(steps, "across to "+c.Terminal(h.To).Ref)
				}
			}
			ways = append(ways, strings.Join(steps, ", "))
			for _, id := range f.Ends[i].Missing {
				open = append(open, c.Branch(id).Ref)
			}
		}
		want := []string{
			"supply.L1, door, step_down.secondary, across to step_down.S1, fuse",
			"supply.N, step_down.secondary, across to step_down.S2",
		}
		if diff := cmp.Diff(want, ways); diff != "" {
			t.Errorf("door %s:\n%s", k.mode, diff)
		}
		if got := strings.Join(open, ", "); f.Fed() != k.fed || got != k.open {
			t.Errorf("door %s: fed %v, open %q; want %v, %q", k.mode, f.Fed(), got, k.fed, k.open)
		}
	}
}
