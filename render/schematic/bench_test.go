package schematic

import (
	"context"
	"fmt"
	"io"
	"testing"
	"time"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
)

// rungs is a machine of n parts: elements behind a relay and a limit each,
// every fourth a lamp behind a switch.
func rungs(t testing.TB, n int) *circuit.Circuit {
	t.Helper()
	spec := circuit.Spec{Name: "rungs", Supply: circuit.SupplySpec{System: "split-phase", Wires: 3}, Modes: []circuit.ModeSpec{{Name: "off"}}}
	wire := func(from, to string) {
		spec.Wires = append(spec.Wires, circuit.WireSpec{From: from, To: to, Colour: "BK"})
	}
	wire("supply.N", "chassis")
	for i := 0; len(spec.Parts) < n; i++ {
		s, l, h := fmt.Sprintf("s%d", i), fmt.Sprintf("load%d", i), fmt.Sprintf("h%d", i)
		spec.Parts = append(spec.Parts, circuit.PartSpec{Name: s, Kind: "switch"})
		wire("supply.L1", s+".1")
		wire(s+".2", l+".1")
		if i%4 == 0 {
			spec.Parts = append(spec.Parts, circuit.PartSpec{Name: l, Kind: "lamp", Volts: 120, Watts: 25})
			wire(l+".2", "supply.N")
			continue
		}
		spec.Parts = append(spec.Parts, circuit.PartSpec{Name: l, Kind: "element", Volts: 240, Watts: 1000}, circuit.PartSpec{Name: h, Kind: "limit"})
		wire(l+".2", h+".1")
		wire(h+".2", "supply.L2")
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	return c
}

func BenchmarkRender(b *testing.B) {
	for _, bench := range []struct {
		name string
		d    func() Drawing
	}{
		{"demo", func() Drawing { return drawn(b, demo(b), 2) }},
		{"parts=150", func() Drawing { return Drawing{Circuit: rungs(b, 150), Load: circuit.None} }},
		{"parts=500", func() Drawing { return Drawing{Circuit: rungs(b, 500), Load: circuit.None} }},
	} {
		b.Run(bench.name, func(b *testing.B) {
			d := bench.d()
			b.ReportAllocs()
			for b.Loop() {
				if err := Render(context.Background(), io.Discard, d); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkGrowth tells how the time of a layout grows with the machine, as so many
// times that of the plain first one: no order is looked for, wires are routed once.
// Random machines are wired as nobody would.
func BenchmarkGrowth(b *testing.B) {
	ctx := context.Background()
	plain := func(c *circuit.Circuit) error {
		cs, err := newColumns(ctx, c, form{})
		if err != nil {
			return err
		}
		rs := newRows(cs, 0, nil)
		s := stacking{bundles: rs.bundles(heuristic{})}
		_, err = route(ctx, rs.place(&s), new(work))
		return err
	}
	for _, kind := range []struct {
		name string
		of   func(n int) *circuit.Circuit
	}{
		{"grouped", func(n int) *circuit.Circuit { return circuittest.Build(b, circuittest.SeriesParallel(n, 1)) }},
		{"random", func(n int) *circuit.Circuit {
			return rapid.Custom(func(t *rapid.T) *circuit.Circuit { return anyMachine(t, n, n) }).Example(1)
		}},
	} {
		for _, n := range []int{25, 50, 100, 200, 400, 1000} {
			b.Run(fmt.Sprintf("%s/parts=%d", kind.name, n), func(b *testing.B) {
				c := kind.of(n)
				var first time.Duration
				crossings := -1 // refused
				for b.Loop() {
					b.StopTimer()
					began := time.Now()
					if err := plain(c); err != nil {
						b.Logf("the plain layout: %v", err)
					}
					first += time.Since(began)
					b.StartTimer()
					if rt, err := arrange(ctx, c, nil, anySize); err == nil {
						crossings = rt.score()[0]
					}
				}
				b.ReportMetric(float64(b.Elapsed())/float64(first), "times-plain")
				b.ReportMetric(float64(crossings), "crossings")
			})
		}
	}
}

// BenchmarkSteps tells where the time of a drawing goes.
func BenchmarkSteps(b *testing.B) {
	d := drawn(b, demo(b), 2)
	ctx := context.Background()
	columned := func(b *testing.B) *columns {
		cs, err := newColumns(ctx, d.Circuit, form{})
		if err != nil {
			b.Fatal(err)
		}
		return cs
	}
	b.Run("prepare", func(b *testing.B) {
		for b.Loop() {
			columned(b)
		}
	})
	rs := newRows(columned(b), 0, nil)
	b.Run("search", func(b *testing.B) {
		for b.Loop() {
			rs.search(ctx)
		}
	})
	pl := rs.place(&rs.search(ctx)[0])
	var rt *routing
	b.Run("route", func(b *testing.B) {
		for b.Loop() {
			var err error
			if rt, err = route(ctx, pl, new(work)); err != nil {
				b.Fatal(err)
			}
		}
	})
	rt.share()
	b.Run("annotate", func(b *testing.B) {
		for b.Loop() {
			annotate(rt, &d)
		}
	})
	done := annotate(rt, &d)
	b.Run("write", func(b *testing.B) {
		for b.Loop() {
			if err := done.write(io.Discard); err != nil {
				b.Fatal(err)
			}
		}
	})
}
