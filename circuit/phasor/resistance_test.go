package phasor_test

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
)

// edge is one resistor of a network of numbered nodes.
type edge struct {
	A, B int
	Ohms float64
}

// ohmmeter builds the network, unconnected to the supply, and returns what an
// ohmmeter reads between two of its nodes.
func ohmmeter(t testing.TB, edges []edge) func(a, b int) float64 {
	t.Helper()
	m := circuittest.SinglePhase(120)
	list := ""
	at := map[string]string{}
	for i, e := range edges {
		list += fmt.Sprintf("r%d %d-%d %g\n", i, e.A, e.B, e.Ohms)
		for _, node := range [2]int{e.A, e.B} {
			name := fmt.Sprint(node)
			if at[name] == "" {
				at[name] = "node" + name + ".in"
				m.Part(circuit.PartSpec{Name: "node" + name, Kind: "connector"})
			}
		}
	}
	c := resistors(m, at, list).Build(t)
	s := phasor.New(c)
	return func(a, b int) float64 {
		ohms, ok := s.Resistance(input(c), terminal(c, at[fmt.Sprint(a)]), terminal(c, at[fmt.Sprint(b)]))
		if !ok {
			t.Fatalf("nodes %d and %d are not connected", a, b)
		}
		return ohms
	}
}

// The table and the script that made it stand in testdata/resistance.
func TestResistanceAgreesWithThePseudoInverse(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "resistance", "networks.json"))
	if err != nil {
		t.Fatal(err)
	}
	var table struct {
		Networks []struct {
			Name           string
			Edges, Between [][3]float64 // node, node, ohms
		}
	}
	if err := json.Unmarshal(text, &table); err != nil {
		t.Fatal(err)
	}
	if len(table.Networks) != 23 {
		t.Fatalf("%d networks, want 20 random ones and 3 grids", len(table.Networks))
	}
	for _, n := range table.Networks {
		t.Run(n.Name, func(t *testing.T) {
			var edges []edge
			for _, e := range n.Edges {
				edges = append(edges, edge{int(e[0]), int(e[1]), e[2]})
			}
			read := ohmmeter(t, edges)
			var got [][3]float64
			for _, p := range n.Between {
				got = append(got, [3]float64{p[0], p[1], read(int(p[0]), int(p[1]))})
			}
			if diff := cmp.Diff(n.Between, got, cmpopts.EquateApprox(1e-9, 0)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// Between any two nodes of a complete graph of n unit resistors lie 2/n ohms.
func TestResistanceOfACompleteGraph(t *testing.T) {
	for n := 2; n <= 12; n++ {
		var edges []edge
		for a := 0; a < n; a++ {
			for b := a + 1; b < n; b++ {
				edges = append(edges, edge{a, b, 1})
			}
		}
		if got, want := ohmmeter(t, edges)(0, n-1), 2/float64(n); math.Abs(got-want) > 1e-12 {
			t.Errorf("%d nodes: %g ohms, want %g", n, got, want)
		}
	}
}

// Between nodes k apart on a cycle of n unit resistors lie k(n-k)/n ohms.
func TestResistanceOfACycle(t *testing.T) {
	const n = 9
	var edges []edge
	for a := 0; a < n; a++ {
		edges = append(edges, edge{a, (a + 1) % n, 1})
	}
	read := ohmmeter(t, edges)
	for k := 1; k < n; k++ {
		if got, want := read(0, k), float64(k*(n-k))/n; math.Abs(got-want) > 1e-12 {
			t.Errorf("%d apart: %g ohms, want %g", k, got, want)
		}
	}
}

// An endless ladder of unit resistors, each section one out, one across and
// one back, has R = 1 + (1 in parallel with R) + 1, that is 1 + sqrt 3. A
// section takes off the error about (2 + sqrt 3)^2 = 14 times, so that 20 do.
func TestResistanceOfALongLadder(t *testing.T) {
	var edges []edge
	for i := 0; i < 20; i++ {
		edges = append(edges, edge{2 * i, 2*i + 2, 1}, edge{2*i + 2, 2*i + 3, 1}, edge{2*i + 3, 2*i + 1, 1})
	}
	if got, want := ohmmeter(t, edges)(0, 1), 1+math.Sqrt(3); math.Abs(got-want) > 1e-12 {
		t.Errorf("%.15g ohms, want %.15g", got, want)
	}
}

var connectedNetwork = rapid.Custom(func(t *rapid.T) []edge {
	ohms := func() float64 { return math.Pow(10, rapid.Float64Range(-1, 4).Draw(t, "decade")) }
	n := rapid.IntRange(2, 10).Draw(t, "nodes")
	var edges []edge
	for i := 1; i < n; i++ {
		edges = append(edges, edge{rapid.IntRange(0, i-1).Draw(t, "to"), i, ohms()})
	}
	for i := rapid.IntRange(0, 2*n).Draw(t, "more"); i > 0 && n > 2; i-- {
		a := rapid.IntRange(0, n-1).Draw(t, "a")
		b := (a + rapid.IntRange(1, n-1).Draw(t, "apart")) % n
		edges = append(edges, edge{a, b, ohms()})
	}
	return edges
})

// R. M. Foster, "The average impedance of an electrical network", Contributions to
// Applied Mechanics, Reissner Anniversary Volume (1949) (from memory): over all resistors of a connected network of n nodes,
// the resistance between a resistor's ends over its own sums to n - 1.
func TestFostersTheorem(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		edges := connectedNetwork.Draw(rt, "network")
		read := ohmmeter(t, edges)
		sum, nodes := 0.0, 0
		for _, e := range edges {
			sum += read(e.A, e.B) / e.Ohms
			nodes = max(nodes, e.A+1, e.B+1)
		}
		if math.Abs(sum-float64(nodes-1)) > 1e-9*float64(nodes) {
			rt.Fatalf("%d nodes: the sum is %.12g", nodes, sum)
		}
	})
}

// Swapping the probes does not change a reading, and adding a resistor never
// raises one (Rayleigh's monotonicity law).
func TestResistanceIsSymmetricAndMonotonic(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		edges := connectedNetwork.Draw(rt, "network")
		nodes := 0
		for _, e := range edges {
			nodes = max(nodes, e.A+1, e.B+1)
		}
		a := rapid.IntRange(0, nodes-1).Draw(rt, "probe")
		b := (a + rapid.IntRange(1, nodes-1).Draw(rt, "other probe")) % nodes
		forward, back := ohmmeter(t, edges)(a, b), ohmmeter(t, edges)(b, a)
		more := ohmmeter(t, append(edges, edge{a, b, 100}))(a, b)
		if want := 1 / (1/forward + 1.0/100); math.Abs(forward-back) > 1e-9*forward || math.Abs(more-want) > 1e-9*want {
			rt.Fatalf("%g ohms one way, %g the other, %g with 100 beside it, want %g", forward, back, more, want)
		}
	})
}

// A 240 V 2400 W element is 24 ohms; beside it, through a closed contact, a
// 240 V 1200 W one is 48: 16 in parallel. The capacitor passes no direct current.
func TestResistanceInCircuitAndWithTheLeadLifted(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "bake", 240, 2400).Load("element", "broil", 240, 1200).
		Switch("link").Part(capacitor("filter", 10))
	m.Series("supply.L1", "bake", "supply.L2").Series("supply.L1", "link", "broil", "supply.L2").Series("supply.L1", "filter", "supply.N")
	c := m.Build(t)
	s := phasor.New(c)
	read := func(a, b string, faults ...circuit.Fault) string {
		ohms, ok := s.Resistance(input(c, faults...), terminal(c, a), terminal(c, b))
		return fmt.Sprintf("%.3f %v", ohms, ok)
	}
	// The wire from the supply to the bake element is the first.
	lifted := fault(t, c, "w1:open")
	got := map[string]string{
		"in circuit":        read("bake.1", "bake.2"),
		"lead lifted":       read("bake.1", "bake.2", lifted),
		"other, lifted":     read("broil.1", "broil.2", lifted),
		"joint of 4 ohms":   read("bake.1", "bake.2", lifted, fault(t, c, "bake:high=4")),
		"drifted":           read("bake.1", "bake.2", lifted, fault(t, c, "bake:drifted=1.5")),
		"shorted":           read("bake.1", "bake.2", fault(t, c, "bake:short")),
		"contact of 2 ohms": read("link.1", "link.2", fault(t, c, "link:high=2"), fault(t, c, "broil:open")),
		"capacitor":         read("filter.1", "filter.2"),
		"to itself":         read("bake.1", "supply.L1"),
		"to chassis":        read("bake.1", "chassis"),
		// Element to chassis at a quarter of 24 ohms, with 18 + 48 beyond: 6.
		"grounded": read("bake.1", "chassis", lifted, fault(t, c, "bake:grounded=0.25"), fault(t, c, "broil:open")),
		// From its other end: 18.
		"grounded, far": read("bake.2", "chassis", lifted, fault(t, c, "bake:grounded=0.25"), fault(t, c, "broil:open")),
		// Through a joint of 100 ohms to chassis: 6 + 100.
		"leaking": read("bake.1", "chassis", lifted, fault(t, c, "broil:open"),
			circuit.Fault{Kind: circuit.Grounded, Branch: branch(c, "bake"), At: 0.25, Ohms: 100}),
		"grounded wire": read("supply.L2", "chassis", fault(t, c, "w2:grounded")),
	}
	want := map[string]string{
		"in circuit": "16.000 true", "lead lifted": "24.000 true", "other, lifted": "48.000 true",
		"joint of 4 ohms": "28.000 true", "drifted": "36.000 true", "shorted": "0.000 true",
		"contact of 2 ohms": "2.000 true", "capacitor": "+Inf false", "to itself": "0.000 true",
		"to chassis": "+Inf false", "grounded": "6.000 true", "grounded, far": "18.000 true",
		"leaking": "106.000 true", "grounded wire": "0.000 true",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
