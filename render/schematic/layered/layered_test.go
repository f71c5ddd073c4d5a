package layered

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func layersOf(t *testing.T, n int, edges []Edge) []int {
	t.Helper()
	places, err := Layout(context.Background(), n, edges)
	if err != nil {
		t.Fatal(err)
	}
	out := make([]int, n)
	for i, p := range places {
		out[i] = p.Layer
	}
	return out
}

func TestLayersFollowTheEdges(t *testing.T) {
	for _, test := range []struct {
		name  string
		edges []Edge
		want  []int
	}{
		{"two ways to one end", []Edge{{From: 0, To: 1}, {From: 1, To: 2}, {From: 0, To: 3}, {From: 3, To: 2}, {From: 2, To: 4}}, []int{0, 1, 2, 1, 3}},
		{"a short way waits for the long one", []Edge{{From: 0, To: 1}, {From: 1, To: 2}, {From: 2, To: 4}, {From: 3, To: 4}}, []int{0, 1, 2, 2, 3}},
		{"the heavier edge is the shorter", []Edge{{From: 0, To: 1}, {From: 1, To: 2}, {From: 0, To: 3, Weight: 4}, {From: 3, To: 2}, {From: 2, To: 4}}, []int{0, 1, 2, 1, 3}},
		{"a set shifts together", []Edge{{From: 0, To: 1}, {From: 1, To: 2}, {From: 2, To: 3}, {From: 4, To: 5}, {From: 5, To: 3}}, []int{0, 1, 2, 3, 1, 2}},
		{"a ring is cut where numbers fall", []Edge{{From: 0, To: 1}, {From: 1, To: 2}, {From: 2, To: 3}, {From: 3, To: 0}, {From: 4, To: 4}}, []int{0, 1, 2, 3, 0}},
	} {
		t.Run(test.name, func(t *testing.T) {
			if diff := cmp.Diff(test.want, layersOf(t, len(test.want), test.edges)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestNothingCrossesThatNeedNot lays out a tree whose leaves are listed in an
// order that crosses.
func TestNothingCrossesThatNeedNot(t *testing.T) {
	edges := []Edge{{From: 0, To: 1}, {From: 0, To: 2}, {From: 1, To: 5}, {From: 1, To: 3}, {From: 2, To: 4}, {From: 2, To: 6}, {From: 0, To: 6}}
	if n := crossings(t, 7, edges); n != 0 {
		t.Errorf("%d crossings", n)
	}
}

// crossings counts them between the heights that Layout gives, pair by pair.
// It is right for edges between neighbouring layers only.
func crossings(t *testing.T, n int, edges []Edge) int {
	t.Helper()
	places, err := Layout(context.Background(), n, edges)
	if err != nil {
		t.Fatal(err)
	}
	count := 0
	for i, a := range edges {
		for _, b := range edges[i+1:] {
			if places[a.From].Layer == places[b.From].Layer && places[a.To].Layer == places[b.To].Layer &&
				(places[a.From].Height-places[b.From].Height)*(places[a.To].Height-places[b.To].Height) < 0 {
				count++
			}
		}
	}
	return count
}

func TestStoppedBeforeItBegan(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Layout(ctx, 2, []Edge{{From: 0, To: 1}}); err == nil {
		t.Error("laid out after all")
	}
}

func drawEdges(t *rapid.T, n int) []Edge {
	node := rapid.IntRange(0, n-1)
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Edge {
		return Edge{node.Draw(t, "from"), node.Draw(t, "to"), rapid.IntRange(0, 4).Draw(t, "weight")}
	}), 0, 3*n).Draw(t, "edges")
}

func TestEveryGraphIsLaidOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "nodes")
		edges := drawEdges(t, n)
		places, err := Layout(context.Background(), n, edges)
		if err != nil || len(places) != n {
			t.Fatalf("%d places, %v", len(places), err)
		}
		for _, e := range acyclic(n, edges) {
			if places[e.From].Layer >= places[e.To].Layer {
				t.Errorf("%v leads from layer %d to %d", e, places[e.From].Layer, places[e.To].Layer)
			}
		}
		for i, p := range places {
			for _, q := range places[:i] {
				if d := p.Height - q.Height; p.Layer == q.Layer && d < 1-1e-9 && d > 1e-9-1 {
					t.Errorf("two nodes of layer %d are %g apart", p.Layer, d)
				}
			}
		}
	})
}

// TestCountedTwoWays holds the fast count against one pair by pair.
func TestCountedTwoWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 20).Draw(t, "nodes")
		edges := acyclic(n, drawEdges(t, n))
		g := proper(n, edges, assign(n, edges))
		want := 0
		for _, l := range g.layers {
			for i, v := range l {
				for _, w := range l[i+1:] {
					want += g.inverted(g.out[v], g.out[w])
				}
			}
		}
		if got := g.crossings(); got != want {
			t.Errorf("%d crossings counted, there are %d", got, want)
		}
	})
}
