package settle_test

import (
	"context"
	"math/rand/v2"
	"runtime"
	"sync"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// BenchmarkPairs settles every single fault and every pair of the electronic
// range in every mode, two modes at a time. "tables" tells pairs that do as one
// alone from the rest; "readings" also takes from every other pair, swept ones
// included, what each load gets and where each test point stands. "sweep" and
// "engine" do a sample of pairs one by one; their time for all is in ms-all.
func BenchmarkPairs(b *testing.B) {
	c, err := netlists.Open("range-electronic")
	if err != nil {
		b.Fatal(err)
	}
	faults := meter.SingleFaults(c)
	all := len(faults) * (len(faults) + 1) / 2 * len(c.Modes())
	for _, readings := range []bool{false, true} {
		b.Run(map[bool]string{false: "tables", true: "readings"}[readings], func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				benchPairs(b, c, faults, readings)
			}
		})
	}
	r := rand.New(rand.NewPCG(1, 2))
	drawn := func() []circuit.Fault {
		return []circuit.Fault{faults[r.IntN(len(faults))], faults[r.IntN(len(faults))]}
	}
	b.Run("sweep", func(b *testing.B) {
		net := phasor.NewNetwork(c)
		var sweeps []*settle.Sweep
		for _, m := range c.Modes() {
			s, err := settle.NewSweepOn(settle.New(c), net, m.ID)
			if err != nil {
				b.Fatal(err)
			}
			sweeps = append(sweeps, s)
		}
		for k := 0; b.Loop(); k++ {
			if _, err := sweeps[k%len(sweeps)].Run(drawn()); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N)*float64(all), "ms-all")
	})
	b.Run("engine", func(b *testing.B) {
		e := settle.New(c)
		for k := 0; b.Loop(); k++ {
			if _, err := e.Run(circuit.ModeID(k%len(c.Modes())), drawn()); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N)*float64(all), "ms-all")
	})
}

func benchPairs(b *testing.B, c *circuit.Circuit, faults []circuit.Fault, readings bool) {
	tables := settle.NewPairTables(settle.New(c), phasor.NewNetwork(c), faults)
	modes := make(chan circuit.ModeID, len(c.Modes()))
	for _, m := range c.Modes() {
		modes <- m.ID
	}
	close(modes)
	var mu sync.Mutex
	var sum settle.PairStats
	engine := 0
	var group sync.WaitGroup
	for range 2 {
		group.Go(func() {
			for mode := range modes {
				pairs, err := tables.Mode(context.Background(), mode)
				if err != nil {
					b.Error(err)
					return
				}
				back := 0
				for j := range faults {
					for i := range j + 1 {
						if _, one := pairs.Single(i, j); one && i != j || !readings {
							continue
						}
						o, err := pairs.Outcome(i, j)
						if err != nil {
							b.Error(err)
							return
						}
						if o.FellBack() {
							back++
						}
						for _, load := range c.Loads() {
							o.LeastShare(load)
						}
						for k := range c.Points() {
							o.Volts(c.Points()[k].Terminal)
						}
					}
				}
				mu.Lock()
				sum.AsOne, sum.Both, sum.Swept = sum.AsOne+pairs.Stats.AsOne, sum.Both+pairs.Stats.Both, sum.Swept+pairs.Stats.Swept
				engine += back
				mu.Unlock()
			}
		})
	}
	group.Wait()
	all := float64(sum.AsOne + sum.Both + sum.Swept)
	b.ReportMetric(all, "pairs")
	b.ReportMetric(100*float64(sum.AsOne)/all, "%as-one")
	b.ReportMetric(100*float64(sum.Both)/all, "%both")
	b.ReportMetric(100*float64(sum.Swept)/all, "%swept")
	b.ReportMetric(float64(tables.Tables()), "tables")
	if readings {
		b.ReportMetric(100*float64(engine)/all, "%engine")
	}
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	b.ReportMetric(float64(m.HeapInuse)/(1<<20), "MiB-heap")
}
