package phasor

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// drawMesh draws a mesh of up to 12 nodes, the first one to three with a given
// voltage, every node in reach of the first.
func drawMesh(t *rapid.T, admittance *rapid.Generator[complex128]) *mesh {
	m := &mesh{}
	n := rapid.IntRange(2, 12).Draw(t, "nodes")
	m.reset(n)
	known := rapid.IntRange(1, 3).Draw(t, "known")
	for i := 0; i < known && i < n; i++ {
		m.fix(int32(i), cmplx.Rect(120, rapid.Float64Range(-math.Pi, math.Pi).Draw(t, "angle")))
	}
	for i := 1; i < n; i++ {
		m.connect(int32(rapid.IntRange(0, i-1).Draw(t, "to")), int32(i), admittance.Draw(t, "y"))
	}
	for i := rapid.IntRange(0, 2*n).Draw(t, "more"); i > 0; i-- {
		a, b := rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b")
		m.connect(int32(a), int32(b), admittance.Draw(t, "y"))
	}
	return m
}

// lossy admittances span four decades, up to 84 degrees either way: few enough
// for LU, whose error grows with their ratio, to serve as the reference.
var lossy = rapid.Custom(func(t *rapid.T) complex128 {
	return cmplx.Rect(math.Pow(10, rapid.Float64Range(-2, 2).Draw(t, "decade")), rapid.Float64Range(-1.47, 1.47).Draw(t, "angle"))
})

// lossless admittances are of few sizes, so that they often cancel.
var lossless = rapid.Custom(func(t *rapid.T) complex128 {
	return complex(0, rapid.SampledFrom([]float64{-2, -1, 1, 2}).Draw(t, "susceptance"))
})

// unknown lists the nodes to be solved for.
func (m *mesh) unknown() []int32 {
	var out []int32
	for i, known := range m.known {
		if !known && m.degree[i] > 0 {
			out = append(out, int32(i))
		}
	}
	return out
}

// imbalance is the largest current left over at a node solved for, over that of
// 120 V across the largest admittance.
func imbalance(edges []meshEdge, m *mesh) float64 {
	left := make([]complex128, len(m.known))
	largest := 0.0
	for _, e := range edges {
		i := e.y * (m.volts[e.a] - m.volts[e.b])
		left[e.a] += i
		left[e.b] -= i
		largest = max(largest, 120*cmplx.Abs(e.y))
	}
	worst := 0.0
	for i, known := range m.known {
		if !known {
			worst = max(worst, cmplx.Abs(left[i]))
		}
	}
	if largest == 0 {
		return 0
	}
	return worst / largest
}

func TestEliminationAgreesWithPivotedLU(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t, lossy)
		dense := mesh{known: m.known, adj: append([][]int32(nil), m.adj...), edges: append([]meshEdge(nil), m.edges...),
			volts: append([]complex128(nil), m.volts...)}
		for i := range dense.adj {
			dense.adj[i] = append([]int32(nil), m.adj[i]...)
		}
		if err := dense.solveDense(m.unknown()); err != nil {
			t.Fatal(err)
		}
		if err := m.solve(); err != nil {
			t.Fatal(err)
		}
		for i := range m.volts {
			if off := cmplx.Abs(m.volts[i] - dense.volts[i]); off > 1e-9*120 {
				t.Fatalf("node %d: %v by elimination, %v by LU", i, m.volts[i], dense.volts[i])
			}
		}
		if left := imbalance(dense.edges, m); left > 1e-9 {
			t.Fatalf("imbalance %g", left)
		}
	})
}

// Where inductances and capacitances cancel, the answer is right or refused.
func TestCancellingReactancesAreSolvedOrRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t, lossless)
		edges := append([]meshEdge(nil), m.edges...)
		if err := m.solve(); err != nil {
			if err != ErrSingular {
				t.Fatal(err)
			}
			return
		}
		if left := imbalance(edges, m); left > 1e-9 {
			t.Fatalf("imbalance %g", left)
		}
	})
}

// A source, 10 ohms, then at resonance an inductance and a capacitance to
// ground: their joint, met first, has admittances that cancel. In series they
// are a dead short, so the far end of the resistor is at 0 V, 12 A flow, and
// the joint stands at 12 A times the reactance of the capacitor.
func TestSeriesResonanceIsAShort(t *testing.T) {
	m := &mesh{}
	m.reset(4)
	m.fix(0, 0)
	m.fix(1, 120)
	m.connect(1, 2, 0.1)
	m.connect(2, 3, complex(0, -0.05))
	m.connect(3, 0, complex(0, 0.05))
	if err := m.solve(); err != nil {
		t.Fatal(err)
	}
	want := []complex128{0, 120, 0, complex(0, -240)}
	if diff := cmp.Diff(want, m.volts, cmp.Comparer(func(a, b complex128) bool { return cmplx.Abs(a-b) < 1e-9 })); diff != "" {
		t.Error(diff)
	}
}

// An inductance and a capacitance that cancel, with no resistance anywhere
// between two fixed voltages, draw without limit.
func TestLosslessResonanceAcrossASourceIsRefused(t *testing.T) {
	m := &mesh{}
	m.reset(3)
	m.fix(0, 0)
	m.fix(1, 120)
	m.connect(1, 2, complex(0, -0.05))
	m.connect(2, 0, complex(0, 0.05))
	if err := m.solve(); err != ErrSingular {
		t.Errorf("got %v, want %v", err, ErrSingular)
	}
}

// A grid of unit resistors keeps its elimination sparse: where degrees count
// edges that are gone, 60 by 60 nodes take over a minute.
func TestEliminationOfAGridStaysSparse(t *testing.T) {
	const n = 60
	m := grid(n)
	if err := m.solve(); err != nil {
		t.Fatal(err)
	}
	// A nested-dissection order would leave 31/4 n^2 log2 n terms; minimum
	// degree comes near it on a grid of this size.
	if most := int(31.0 / 4 * n * n * math.Log2(n)); len(m.terms) > most {
		t.Errorf("%d terms, want at most %d", len(m.terms), most)
	}
}

// grid is n by n nodes, opposite corners at 1 and 0 V.
func grid(n int) *mesh {
	m := &mesh{}
	m.reset(n * n)
	m.fix(0, 1)
	m.fix(int32(n*n-1), 0)
	for r := 0; r < n; r++ {
		for c := 0; c < n; c++ {
			if c+1 < n {
				m.connect(int32(r*n+c), int32(r*n+c+1), 1)
			}
			if r+1 < n {
				m.connect(int32(r*n+c), int32((r+1)*n+c), 1)
			}
		}
	}
	return m
}
