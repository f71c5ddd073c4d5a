package trace_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/netlists"
)

// benchMachine is a machine, a mode and the load to trace.
type benchMachine struct {
	name string
	c    *circuit.Circuit
	mode circuit.ModeID
	load circuit.BranchID
}

func demo(b testing.TB) benchMachine {
	b.Helper()
	c, err := netlists.Open("range-electronic")
	if err != nil {
		b.Fatal(err)
	}
	return pick(b, "demo", c, "broil", "broil_element")
}

func generated(b testing.TB, parts int) benchMachine {
	b.Helper()
	c := circuittest.Build(b, circuittest.SeriesParallel(parts, 1))
	return pick(b, fmt.Sprint(parts), c, "on", circuittest.MainLoad)
}

func pick(b testing.TB, name string, c *circuit.Circuit, mode, load string) benchMachine {
	b.Helper()
	m, err := c.FindMode(mode)
	if err != nil {
		b.Fatal(err)
	}
	l, err := c.FindLoad(load)
	if err != nil {
		b.Fatal(err)
	}
	return benchMachine{name, c, m, l}
}

func BenchmarkPath(b *testing.B) {
	for _, m := range []benchMachine{demo(b), generated(b, 100), generated(b, 1000), generated(b, 10000)} {
		tracer := trace.New(m.c)
		out := settled(b, tracer.Engine(), m.mode, nil)
		b.Run(m.name, func(b *testing.B) {
			b.ReportAllocs()
			for range b.N {
				if !tracer.Feed(out, m.load).Fed() {
					b.Fatal("not fed")
				}
			}
		})
	}
}

// BenchmarkPathNaive finds the same two ways as shortest paths over the whole
// machine, all branches weighed (Dijkstra's algorithm, in gonum).
func BenchmarkPathNaive(b *testing.B) {
	for _, m := range []benchMachine{demo(b), generated(b, 100), generated(b, 1000), generated(b, 10000)} {
		out := settled(b, settle.New(m.c), m.mode, nil)
		b.Run(m.name, func(b *testing.B) {
			for range b.N {
				g := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
				for i := range m.c.Branches() {
					br := m.c.Branch(circuit.BranchID(i))
					if br.A < 0 || br.B < 0 || br.A == br.B || !out.Conducts[i] || br.Role == circuit.Load {
						continue
					}
					g.SetWeightedEdge(simple.WeightedEdge{F: simple.Node(br.A), T: simple.Node(br.B), W: 1})
				}
				load := m.c.Branch(m.load)
				for i, end := range []circuit.TerminalID{load.A, load.B} {
					leg := m.c.Branch(m.c.Supply().Legs[i])
					if nodes, _ := path.DijkstraFrom(simple.Node(end), g).To(int64(leg.B)); len(nodes) == 0 {
						b.Fatal("not fed")
					}
				}
			}
		})
	}
}

func BenchmarkStarve(b *testing.B) {
	for _, m := range []benchMachine{demo(b), generated(b, 100), generated(b, 1000), generated(b, 10000)} {
		for order := 1; order <= 3; order++ {
			if order > 2 && len(m.c.Parts()) > 5000 {
				continue // minutes
			}
			for _, unconfirmed := range []bool{true, false} {
				if !unconfirmed && order > 1 && len(m.c.Parts()) > 5000 {
					continue // minutes
				}
				what := "confirmed"
				if unconfirmed {
					what = "graph"
				}
				b.Run(fmt.Sprintf("%s/order%d/%s", m.name, order, what), func(b *testing.B) {
					b.ReportAllocs()
					tracer := trace.New(m.c)
					n := 0
					for range b.N {
						sets, err := tracer.Starve(context.Background(), m.mode, m.load, trace.Options{Order: order, Unconfirmed: unconfirmed, MaxSets: 1 << 20})
						if err != nil {
							b.Fatal(err)
						}
						n = len(sets)
					}
					b.ReportMetric(float64(n), "sets")
				})
			}
		}
	}
}

// BenchmarkGrowth is how long sets of two take as machines of a kind grow: ladders,
// tangled grids of contacts, relay logic; beside each as far as that goes, every
// pair opened and settled in turn.
func BenchmarkGrowth(b *testing.B) {
	type grown struct {
		of   string
		n    int
		spec circuit.Spec
	}
	var machines []grown
	for _, n := range []int{10, 100, 1000, 3333} {
		machines = append(machines, grown{"ladder", n, circuittest.Ladder(n)})
	}
	for _, n := range []int{4, 8, 16, 32} {
		machines = append(machines, grown{"grid", n, circuittest.Grid(n, n)})
	}
	for _, n := range []int{10, 50, 200} {
		machines = append(machines, grown{"relays", n, circuittest.RandomFaultTree(n, n/2, 7).RelayLogic()})
	}
	for _, g := range machines {
		m := pick(b, g.of, circuittest.Build(b, g.spec), "on", circuittest.MainLoad)
		b.Run(fmt.Sprintf("%s/%d", g.of, g.n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := trace.New(m.c).Starve(context.Background(), m.mode, m.load, trace.Options{Order: 2, Unconfirmed: true, MaxSets: 1 << 24})
				if err != nil {
					b.Fatal(err)
				}
			}
		})
		if len(m.c.Branches()) < 200 {
			b.Run(fmt.Sprintf("%s/%d/naive", g.of, g.n), func(b *testing.B) {
				for b.Loop() {
					bruteStarve(b, m.c, m.mode, m.load, 2)
				}
			})
		}
	}
}

// BenchmarkStarveNaive opens every branch, or pair, in turn and settles.
func BenchmarkStarveNaive(b *testing.B) {
	for _, m := range []benchMachine{demo(b), generated(b, 100), generated(b, 1000)} {
		for order := 1; order <= 2; order++ {
			if order > 1 && len(m.c.Parts()) > 500 {
				continue
			}
			b.Run(fmt.Sprintf("%s/order%d", m.name, order), func(b *testing.B) {
				for range b.N {
					bruteStarve(b, m.c, m.mode, m.load, order)
				}
			})
		}
	}
}

func BenchmarkSettle(b *testing.B) {
	for _, m := range []benchMachine{demo(b), generated(b, 100), generated(b, 1000), generated(b, 10000)} {
		e := settle.New(m.c)
		b.Run(m.name, func(b *testing.B) {
			b.ReportAllocs()
			for range b.N {
				settled(b, e, m.mode, nil)
			}
		})
	}
}
