package phasor

import (
	"fmt"
	"testing"

	"legtrace/circuit/circuittest"
)

// BenchmarkSolve solves generated machines with every contact closed and every
// wire's resistance in the network: by elimination, and by dense LU of the same
// network as far as is bearable.
func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{100, 300, 1000, 10000} {
		c := circuittest.Build(b, circuittest.Measured(circuittest.SeriesParallel(n, 1), 14, 0.3))
		in := Input{Conducts: make([]bool, len(c.Branches()))}
		for i := range in.Conducts {
			in.Conducts[i] = true
		}
		b.Run(fmt.Sprintf("%d/elimination", n), func(b *testing.B) {
			s := New(c)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := s.Solve(in); err != nil {
					b.Fatal(err)
				}
			}
		})
		if n > 300 {
			continue
		}
		b.Run(fmt.Sprintf("%d/dense", n), func(b *testing.B) {
			s := New(c)
			for b.Loop() {
				s.classify(in, false)
				s.merge(nil)
				s.buildMesh()
				if err := s.mesh.solveDense(s.mesh.unknown()); err != nil {
					b.Fatal(err)
				}
				s.solution()
			}
		})
	}
}
