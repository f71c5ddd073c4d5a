package settle_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// ohmsOfFaults are sizes of bad joints and leaks, the mildest joint first.
var ohmsOfFaults = []float64{0.05, 0.3, 2, 15, 120, 1000, 8e3, 1e5, 1e6}

// along compares every bad joint and leak of the faults given, by its line, with
// the engine's figure at each size.
func along(t rapid.TB, c *circuit.Circuit, mode circuit.ModeID, faults []circuit.Fault) (held, all int) {
	e := settle.New(c)
	s, err := settle.NewSweep(e, mode)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		sizes := ohmsOfFaults
		if f.Kind == circuit.Grounded {
			sizes = slices.Clone(ohmsOfFaults)
			slices.Reverse(sizes)
		} else if f.Kind != circuit.HighResistance {
			continue
		}
		line, err := s.Line(f, sizes)
		if err != nil {
			t.Fatal(err)
		}
		if f.Kind == circuit.Grounded {
			sizes = append(sizes, 0) // one that carries nothing may be a bare contact
		}
		for _, f.Ohms = range sizes {
			all++
			if line == nil || !line.At(f.Ohms) {
				continue
			}
			held++
			want, err := e.Run(mode, []circuit.Fault{f})
			if err != nil {
				t.Fatal(err)
			}
			if len(want.Tripped) > 0 || want.Chatter != nil {
				t.Fatalf("%s in %s: trips %v, chatters %v; the line tells of neither", c.FaultRef(f), c.Mode(mode).Name, want.Tripped, want.Chatter)
			}
			for _, load := range c.Loads() {
				got, should := line.LeastShare(load), want.LeastShare(load)
				if math.Abs(got-should) > 1e-9*(1+should) {
					t.Fatalf("%s in %s: %s takes %.15g of its rating, want %.15g", c.FaultRef(f), c.Mode(mode).Name, c.Label(load), got, should)
				}
				if line.Motion(load) != e.Motion(want, load) || line.Hums(load) != want.Hums(load) {
					t.Fatalf("%s in %s: %s %s, want %s", c.FaultRef(f), c.Mode(mode).Name, c.Label(load), line.Motion(load), e.Motion(want, load))
				}
			}
		}
	}
	return held, all
}

// ohmic lists a bad joint and leaks of every branch that can have them.
func ohmic(c *circuit.Circuit) []circuit.Fault {
	var out []circuit.Fault
	for i := range c.Branches() {
		id := circuit.BranchID(i)
		for _, f := range []circuit.Fault{{Kind: circuit.HighResistance, Branch: id, Ohms: 1}, {Kind: circuit.Grounded, Branch: id, At: 0.02, Ohms: 1},
			{Kind: circuit.Grounded, Branch: id, At: 0.5, Ohms: 1}, {Kind: circuit.Grounded, Branch: id, At: 1, Ohms: 1}} {
			if c.CanFail(f) {
				out = append(out, f)
			}
		}
	}
	return out
}

// A line gives at every size what the engine settles, of every bad joint and leak
// of every shipped machine and mode, by turns; it holds three in four.
func TestALineIsEverySizeAsTheEngineSettlesIt(t *testing.T) {
	held, all := 0, 0
	for i, entry := range netlists.Catalog() {
		if testing.Short() && i%4 > 0 || !circuittest.Sampled(i, 3) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		faults := ohmic(c)
		for i := range c.Modes() {
			some := faults
			if step := 7; len(faults) > 40 { // the engine takes its time
				some = nil
				for k := i % step; k < len(faults); k += step {
					some = append(some, faults[k])
				}
			}
			h, n := along(t, c, circuit.ModeID(i), some)
			held, all = held+h, all+n
		}
	}
	t.Logf("%d of %d", held, all)
	if held*4 < all*3 {
		t.Errorf("lines hold %d of %d sizes", held, all)
	}
}

// The same of random machines, with relays, controls and what trips.
func TestALineOfRandomMachines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := randomMachine(t, 0.006)
		mode := circuit.ModeID(rapid.IntRange(0, len(c.Modes())-1).Draw(t, "mode"))
		f := rapid.SampledFrom(ohmic(c)).Draw(t, "fault")
		along(t, c, mode, []circuit.Fault{f})
	})
}

// BenchmarkSizes is a bad joint of 18 sizes in every wire, on feeds of so many
// parts, by lines, by a sweep of each size and, of a few, by the engine.
func BenchmarkSizes(b *testing.B) {
	var sizes []float64
	for k := range 18 {
		sizes = append(sizes, 0.05*math.Pow(2e6, float64(k)/17))
	}
	for _, n := range []int{100, 1000, 10000} {
		c := circuittest.Build(b, circuittest.SeriesParallel(n, 1))
		mode, err := c.FindMode("on")
		if err != nil {
			b.Fatal(err)
		}
		e := settle.New(c)
		s, err := settle.NewSweep(e, mode)
		if err != nil {
			b.Fatal(err)
		}
		var joints []circuit.Fault
		for _, f := range meter.SingleFaults(c) {
			if f.Kind == circuit.HighResistance {
				joints = append(joints, f)
			}
		}
		sum := 0.0
		each := func(k int, look func(circuit.Fault) bool) {
			f := joints[k*7919%len(joints)]
			for _, f.Ohms = range sizes {
				if !look(f) {
					b.Fatal("does not settle")
				}
			}
		}
		bySweep := func(f circuit.Fault) bool {
			o, err := s.Run([]circuit.Fault{f})
			for _, load := range c.Loads() {
				sum += o.LeastShare(load)
			}
			return err == nil
		}
		b.Run(fmt.Sprint(n, "/lines"), func(b *testing.B) {
			for k := 0; b.Loop(); k++ {
				var line *settle.Line
				var of circuit.BranchID = circuit.None
				each(k, func(f circuit.Fault) bool {
					if of != f.Branch {
						of = f.Branch
						line, _ = s.Line(f, sizes)
					}
					if line == nil || !line.At(f.Ohms) {
						return bySweep(f)
					}
					for _, load := range c.Loads() {
						sum += line.LeastShare(load)
					}
					return true
				})
			}
		})
		b.Run(fmt.Sprint(n, "/sweep"), func(b *testing.B) {
			for k := 0; b.Loop(); k++ {
				each(k, bySweep)
			}
		})
		if n > 1000 {
			continue // minutes
		}
		b.Run(fmt.Sprint(n, "/engine"), func(b *testing.B) {
			for k := 0; b.Loop(); k++ {
				each(k, func(f circuit.Fault) bool {
					_, err := e.Run(mode, []circuit.Fault{f})
					return err == nil
				})
			}
		})
	}
}
