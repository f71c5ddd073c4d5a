package netlists_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/netlists"
)

// shareTolerance is what the expectations of a netlist may be off by: a load
// at full power loses a per cent or so in the supply's resistance.
const shareTolerance = 0.02

func TestEveryCatalogMachineDoesWhatItsModesExpect(t *testing.T) {
	for _, entry := range netlists.Catalog() {
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		engine := settle.New(c)
		for _, mode := range c.Modes() {
			out, err := engine.Run(mode.ID, nil)
			if err != nil {
				t.Fatalf("%s in %s: %v", entry.Name, mode.Name, err)
			}
			if out.Chatter != nil || len(out.Tripped) > 0 {
				t.Errorf("%s in %s: chatters %v, trips %v, with nothing broken", entry.Name, mode.Name, out.Chatter, out.Tripped)
			}
			said := map[circuit.BranchID]bool{}
			for _, e := range mode.Expect {
				said[e.Load] = true
				if got := out.LeastShare(e.Load); math.Abs(got-e.Share) > shareTolerance {
					t.Errorf("%s in %s: %s is at %.4f of its power, expected %.4f", entry.Name, mode.Name, c.Label(e.Load), got, e.Share)
				}
			}
			for _, load := range c.Loads() {
				if !said[load] {
					t.Errorf("%s in %s: nothing is expected of %s", entry.Name, mode.Name, c.Label(load))
				}
			}
		}
	}
}

// For every load of every machine, in the first mode that calls for it: the
// single opens found are those, and all those, that starve it when tried one
// by one.
func TestSingleOpensOfEveryCatalogLoadAreThoseFoundByTrying(t *testing.T) {
	for _, entry := range netlists.Catalog() {
		t.Run(entry.Name, func(t *testing.T) {
			c, err := netlists.Open(entry.Name)
			if err != nil {
				t.Fatal(err)
			}
			tracer, engine := trace.New(c), settle.New(c)
			for _, load := range c.Loads() {
				mode, ok := firstWith(c, load)
				if !ok {
					t.Errorf("no mode calls for %s", c.Label(load))
					continue
				}
				sets, err := tracer.Starve(context.Background(), mode.ID, load, trace.Options{Order: 1})
				if err != nil {
					t.Fatalf("%s in %s: %v", c.Label(load), mode.Name, err)
				}
				found := map[circuit.BranchID]bool{}
				for _, s := range sets {
					if !s.Confirmed {
						t.Errorf("%s in %s: a set of %s is not confirmed", c.Label(load), mode.Name, c.Label(s.Members[0].Branches[0]))
					}
					for _, b := range s.Members[0].Branches {
						found[b] = true
					}
				}
				sound := leastShare(t, engine, mode.ID, load)
				for i := range c.Branches() {
					f := circuit.Fault{Kind: circuit.Open, Branch: circuit.BranchID(i)}
					if !c.CanFail(f) {
						continue
					}
					starves := leastShare(t, engine, mode.ID, load, f) < trace.DefaultShare*sound
					if starves != found[f.Branch] {
						t.Errorf("%s in %s: %s open starves it %v, found %v", c.Label(load), mode.Name, c.Label(f.Branch), starves, found[f.Branch])
					}
				}
			}
		})
	}
}

// firstWith returns the first mode that expects power at a load.
func firstWith(c *circuit.Circuit, load circuit.BranchID) (circuit.Mode, bool) {
	for _, m := range c.Modes() {
		if slices.ContainsFunc(m.Expect, func(e circuit.Expectation) bool { return e.Load == load && e.Share > 0 }) {
			return m, true
		}
	}
	return circuit.Mode{}, false
}

func leastShare(t *testing.T, engine *settle.Engine, mode circuit.ModeID, load circuit.BranchID, faults ...circuit.Fault) float64 {
	t.Helper()
	out, err := engine.Run(mode, faults)
	if err != nil {
		t.Fatal(err)
	}
	return out.LeastShare(load)
}

// Each of these leaves the broiler cold by itself. Those of the second list
// leave bake alone, and nothing else of the broiler's does.
func TestWhatStarvesTheBroilElement(t *testing.T) {
	c, err := netlists.Open("range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	broil, _ := c.FindMode("broil")
	bake, _ := c.FindMode("bake")
	broilElement, _ := c.FindLoad("broil_element")
	bakeElement, _ := c.FindLoad("bake_element")
	engine := settle.New(c)
	share := func(mode circuit.ModeID, load circuit.BranchID, f circuit.Fault) float64 {
		out, err := engine.Run(mode, []circuit.Fault{f})
		if err != nil {
			t.Fatal(err)
		}
		return out.LeastShare(load)
	}
	both := map[string]bool{"supply.L1": true, "supply.L2": true, "oven_sensor": true, "thermal_fuse": true, "control": true}
	broilOnly := map[string]bool{"broil_element": true, "broil_relay.coil": true, "broil_relay.contact": true,
		"w15": true, "w19": true}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		f := circuit.Fault{Kind: circuit.Open, Branch: b.ID}
		starved := share(broil, broilElement, f) < 0.5
		bakes := share(bake, bakeElement, f) > 0.9
		switch {
		case both[b.Ref] && (!starved || bakes):
			t.Errorf("%s open: broil starved %v, bake works %v; expected neither to heat", b.Ref, starved, bakes)
		case broilOnly[b.Ref] != (starved && bakes):
			t.Errorf("%s open: broil starved %v, bake works %v", b.Ref, starved, bakes)
		}
	}
}
