package settle_test

import (
	"fmt"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
)

// BenchmarkRun settles generated machines in mode "on": once with wires that
// are ideal joins, and once with every wire's resistance in the network.
func BenchmarkRun(b *testing.B) {
	for _, n := range []int{100, 1000, 10000} {
		for _, wires := range []string{"ideal", "measured"} {
			b.Run(fmt.Sprintf("%d/%s", n, wires), func(b *testing.B) {
				spec := circuittest.SeriesParallel(n, 1)
				if wires == "measured" {
					spec = circuittest.Measured(spec, 14, 0.3)
				}
				e := settle.New(circuittest.Build(b, spec))
				on, err := e.Circuit().FindMode("on")
				if err != nil {
					b.Fatal(err)
				}
				b.ReportAllocs()
				var o *settle.Outcome
				for b.Loop() {
					if o, err = e.Run(on, nil); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(float64(o.Rounds), "rounds")
			})
		}
	}
}
