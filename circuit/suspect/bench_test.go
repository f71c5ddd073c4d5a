package suspect_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

func complained(b *testing.B, order int) *suspect.Engine {
	b.Helper()
	c := machine(b, "range-electronic")
	e, err := suspect.New(c, suspect.Options{Order: order})
	if err != nil {
		b.Fatal(err)
	}
	for _, n := range []suspect.Note{coldBroiler, bakeWorks} {
		ev, err := n.Resolve(c)
		if err != nil {
			b.Fatal(err)
		}
		if err := e.Add(context.Background(), ev); err != nil {
			b.Fatal(err)
		}
	}
	return e
}

func BenchmarkComplaint(b *testing.B) {
	for order := 1; order <= 2; order++ {
		b.Run(fmt.Sprint("order", order), func(b *testing.B) {
			for range b.N {
				complained(b, order)
			}
		})
	}
}

func BenchmarkNext(b *testing.B) {
	for order := 1; order <= 2; order++ {
		b.Run(fmt.Sprint("order", order), func(b *testing.B) {
			e := complained(b, order)
			for b.Loop() {
				if next, err := e.Next(context.Background(), nil, 3); err != nil || len(next) == 0 {
					b.Fatal(next, err)
				}
			}
		})
	}
}

func BenchmarkPlan(b *testing.B) {
	for order := 1; order <= 2; order++ {
		b.Run(fmt.Sprint("order", order), func(b *testing.B) {
			e := complained(b, order)
			for b.Loop() {
				if _, err := e.Plan(context.Background(), nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkHidden hides every single fault of both ranges, and 500 random
// pairs, in turn, follows the advice to the end and reports how it went.
func BenchmarkHidden(b *testing.B) {
	for _, name := range []string{"range-electronic", "range-mechanical"} {
		c := machine(b, name)
		singles := meter.SingleFaults(c)
		var sets [][]circuit.Fault
		for i := range singles {
			sets = append(sets, singles[i:i+1])
		}
		b.Run(name+"/singles", func(b *testing.B) { trial(b, c, sets, 1) })
		r := rand.New(rand.NewPCG(1, 1))
		var pairs [][]circuit.Fault
		for len(pairs) < 500 {
			i, j := r.IntN(len(singles)), r.IntN(len(singles))
			if singles[i].Branch != singles[j].Branch {
				pairs = append(pairs, []circuit.Fault{singles[i], singles[j]})
			}
		}
		b.Run(name+"/pairs", func(b *testing.B) { trial(b, c, pairs, 2) })
	}
}

func trial(b *testing.B, c *circuit.Circuit, sets [][]circuit.Fault, order int) {
	for range b.N {
		var n, right, tests, live, minutes float64
		for i, truth := range sets {
			v := find(b, c, truth, order, uint64(i))
			if v.skipped {
				continue
			}
			n++
			tests, live, minutes = tests+float64(v.tests), live+float64(v.live), minutes+v.minutes
			if v.right {
				right++
			} else {
				var names []string
				for _, f := range truth {
					names = append(names, c.FaultRef(f))
				}
				b.Logf("%v: said%s", names, v.said)
			}
		}
		b.ReportMetric(100*right/n, "%named")
		b.ReportMetric(n, "faults")
		b.ReportMetric(tests/n, "tests")
		b.ReportMetric(live/n, "live")
		b.ReportMetric(minutes/n, "minutes")
	}
}
