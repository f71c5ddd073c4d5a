package settle_test

import (
	"fmt"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// BenchmarkDemoDictionary settles every single fault in every mode of the
// electronic range and reads its test points: by sweeps, made anew each time,
// and by the engine.
func BenchmarkDemoDictionary(b *testing.B) {
	c, err := netlists.Open("range-electronic")
	if err != nil {
		b.Fatal(err)
	}
	faults := singles(c)
	b.Run("sweep", func(b *testing.B) {
		runs, back := 0, 0
		for b.Loop() {
			e, net := settle.New(c), phasor.NewNetwork(c)
			runs, back = 0, 0
			for _, m := range c.Modes() {
				s, err := settle.NewSweepOn(e, net, m.ID)
				if err != nil {
					b.Fatal(err)
				}
				for _, f := range faults {
					o, err := s.Run([]circuit.Fault{f})
					if err != nil {
						b.Fatal(err)
					}
					for _, p := range c.Points() {
						o.Volts(p.Terminal)
					}
				}
				runs += s.Stats.Runs
				for _, n := range s.Stats.FellBack {
					back += n
				}
			}
		}
		b.ReportMetric(float64(runs), "runs")
		b.ReportMetric(float64(back), "by-engine")
	})
	b.Run("engine", func(b *testing.B) {
		e := settle.New(c)
		for b.Loop() {
			for _, m := range c.Modes() {
				for _, f := range faults {
					if _, err := e.Run(m.ID, []circuit.Fault{f}); err != nil {
						b.Fatal(err)
					}
				}
			}
		}
	})
}

// BenchmarkSweep settles one fault after another of generated machines in mode
// "on" and reads 24 terminals: by a sweep and by the engine.
func BenchmarkSweep(b *testing.B) {
	for _, wires := range []string{"ideal", "measured"} {
		for _, parts := range []int{100, 500, 2000} {
			spec := circuittest.SeriesParallel(parts, 1)
			if wires == "measured" {
				spec = circuittest.Measured(spec, 14, 0.3)
			}
			c := circuittest.Build(b, spec)
			on, err := c.FindMode("on")
			if err != nil {
				b.Fatal(err)
			}
			faults := singles(c)
			fault := func(k int) []circuit.Fault {
				const stride = 7919
				return faults[k*stride%len(faults):][:1]
			}
			b.Run(fmt.Sprintf("%s/%d/sweep", wires, parts), func(b *testing.B) {
				s, err := settle.NewSweep(settle.New(c), on)
				if err != nil {
					b.Fatal(err)
				}
				terminals := c.Terminals()
				for k := 0; b.Loop(); k++ {
					o, err := s.Run(fault(k))
					if err != nil {
						b.Fatal(err)
					}
					for i := range 24 {
						o.Volts(terminals[i*len(terminals)/24].ID)
					}
				}
				b.ReportMetric(float64(s.Stats.Rounds)/float64(s.Stats.Runs), "rounds")
				back := 0
				for _, n := range s.Stats.FellBack {
					back += n
				}
				b.ReportMetric(float64(back)/float64(s.Stats.Runs), "by-engine/op")
			})
			b.Run(fmt.Sprintf("%s/%d/engine", wires, parts), func(b *testing.B) {
				e := settle.New(c)
				for k := 0; b.Loop(); k++ {
					if _, err := e.Run(on, fault(k)); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
