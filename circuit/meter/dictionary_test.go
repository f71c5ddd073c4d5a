package meter_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/netlists"
)

// Every entry against the same reading on a machine settled for that fault
// alone.
func TestDictionaryReadsAsIfEachFaultWereSettled(t *testing.T) {
	for _, name := range []string{"range-electronic", "range-mechanical"} {
		x := open(t, name)
		modes := []circuit.ModeID{x.mode("broil"), x.mode("off"), x.mode("bake")}
		if testing.Short() {
			modes = modes[:1]
		}
		d, err := x.b.Dictionary(context.Background(), modes, nil)
		if err != nil {
			t.Fatal(err)
		}
		if want := len(modes) * len(d.Faults) * len(d.Probes); len(d.Entries) != want {
			t.Fatalf("%s: %d entries, expected %d", name, len(d.Entries), want)
		}
		for _, e := range d.Entries {
			p := d.Probes[e.Probes]
			f := []circuit.Fault{d.Faults[e.Fault]}
			settle := x.b.Dead
			if p.Function.Live() {
				settle = x.b.Live
			}
			o, err := settle(e.Mode, f)
			if err != nil {
				t.Fatal(err)
			}
			want := x.b.Quick(o, p.Function, p.P, p.Q)
			// Readings agree to the 1e-9 of the updates, relative, or a
			// microvolt where nothing is left to read.
			same := want.OL == e.Reading.OL && want.Unsteady == e.Reading.Unsteady &&
				math.Abs(want.Value-e.Reading.Value) <= 1e-9*math.Abs(want.Value)+1e-6
			if !same {
				t.Fatalf("%s: %s, %s, %s: %v, settled alone %v", name, x.c.Mode(e.Mode).Label, x.c.Describe(f[0]), p.Name, e.Reading, want)
			}
		}
	}
}

func TestDictionaryKnowsWhatGivesTheBroilersFaultsAway(t *testing.T) {
	x := open(t, "range-electronic")
	d, err := x.b.Dictionary(context.Background(), []circuit.ModeID{x.mode("broil")}, nil)
	if err != nil {
		t.Fatal(err)
	}
	shown := d.Summary()
	for i, f := range d.Faults {
		switch x.c.FaultRef(f) {
		case "broil_element:open", "thermal_fuse:open", "oven_sensor:open", "broil_relay.coil:open", "supply.L1:open", "supply.L2:open":
			if shown[i] == 0 {
				t.Errorf("no listed reading in Broil gives %s away", x.c.Describe(f))
			}
		}
	}
}

func BenchmarkDictionary(b *testing.B) {
	machines := map[string]*circuit.Circuit{}
	var names []string
	add := func(name string, c *circuit.Circuit) {
		machines[name] = c
		names = append(names, name)
	}
	c, err := netlists.Open("range-electronic")
	if err != nil {
		b.Fatal(err)
	}
	add("demo", c)
	for _, parts := range []int{100, 500, 2000} {
		spec := circuittest.SeriesParallel(parts, 1)
		// Every fortieth part can be probed.
		for i := 0; i < len(spec.Wires); i += 2*parts/10 + 1 {
			spec.Points = append(spec.Points, circuit.PointSpec{Name: fmt.Sprint("p", i), At: spec.Wires[i].From})
		}
		add(fmt.Sprint(parts), circuittest.Build(b, spec))
	}
	for _, name := range names {
		c := machines[name]
		b.Run(name, func(b *testing.B) {
			bench := meter.New(c, meter.DefaultInstrument())
			n := 0
			for range b.N {
				d, err := bench.Dictionary(context.Background(), nil, nil)
				if err != nil {
					b.Fatal(err)
				}
				n = len(d.Entries)
			}
			b.ReportMetric(float64(n), "entries")
		})
	}
}
