// Package layered lays a directed graph out in layers, from left to right, as
// Sugiyama, Tagawa and Toda proposed: "Methods for Visual Understanding of
// Hierarchical System Structures", IEEE Transactions on Systems, Man, and
// Cybernetics 11(2), 1981.
//
// [Layout] is where to start. Its steps: edges that close a cycle are turned
// round and nodes get their layers (layers.go), each layer gets an order that
// crosses little (order.go), and the order becomes heights (heights.go).
package layered

import "context"

// Edge points from left to right.
type Edge struct {
	From, To int
	// Weight pulls the two ends together, in layer and in height; 0 means 1.
	Weight int
}

// Place is where a node belongs.
type Place struct {
	// Layer counts from the left, from 0.
	Layer int
	// Height orders all nodes from top to bottom; smaller is higher. Nodes of
	// one layer are at least 1 apart.
	Height float64
}

// Layout places the nodes 0 to n-1 so that edges point right, are short and
// cross little. It returns the context's error when that has ended.
func Layout(ctx context.Context, n int, edges []Edge) ([]Place, error) {
	forward := acyclic(n, edges)
	layer := assign(n, forward)
	g := proper(n, forward, layer)
	if err := g.order(ctx); err != nil {
		return nil, err
	}
	height := g.heights()
	out := make([]Place, n)
	for i := range out {
		out[i] = Place{layer[i], height[i]}
	}
	return out, nil
}

// link is an edge seen from one of its ends.
type link struct{ to, weight int }
