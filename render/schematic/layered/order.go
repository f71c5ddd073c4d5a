package layered

import (
	"cmp"
	"context"
	"slices"
)

// graph is a proper layered graph: long edges are chains of stand-ins, one in
// each layer that they cross, so that every edge leads to the next layer. Nodes
// from real on are stand-ins.
type graph struct {
	real     int
	layers   [][]int // nodes from top to bottom
	at       []int   // where a node is in its layer
	out, in  [][]link
	wish     []float64 // scratch: where a node's neighbours are
	crossing []int     // scratch: a Fenwick tree
}

// sweeps is how often the layers are put in order, once each way; it stops
// earlier after patience sweeps without a gain. Some 24 are usual: Gansner,
// Koutsofios, North and Vo, "A Technique for Drawing Directed Graphs", IEEE
// Transactions on Software Engineering 19(3), 1993, section 3.
const sweeps, patience = 24, 6

// proper adds the stand-ins. Layers begin in the order of the nodes' numbers.
func proper(n int, edges []Edge, layer []int) *graph {
	g := &graph{real: n, out: make([][]link, n), in: make([][]link, n)}
	last := -1
	for _, l := range layer {
		last = max(last, l)
	}
	g.layers = make([][]int, last+1)
	for v, l := range layer {
		g.layers[l] = append(g.layers[l], v)
	}
	join := func(a, b, weight int) {
		g.out[a] = append(g.out[a], link{b, weight})
		g.in[b] = append(g.in[b], link{a, weight})
	}
	for _, e := range edges {
		from := e.From
		for l := layer[e.From] + 1; l < layer[e.To]; l++ {
			v := len(g.out)
			g.out, g.in = append(g.out, nil), append(g.in, nil)
			g.layers[l] = append(g.layers[l], v)
			join(from, v, e.Weight)
			from = v
		}
		join(from, e.To, e.Weight)
	}
	g.at = make([]int, len(g.out))
	g.wish = make([]float64, len(g.out))
	for _, l := range g.layers {
		g.number(l)
	}
	return g
}

func (g *graph) number(layer []int) {
	for i, v := range layer {
		g.at[v] = i
	}
}

// order looks for an order of each layer that crosses little: by the mean place
// of the neighbours in the layer before, then exchanging neighbours where that
// helps, to the right and to the left in turn.
func (g *graph) order(ctx context.Context) error {
	best, least, stale := g.copied(), g.crossings(), 0
	for i := 0; i < sweeps && least > 0 && stale < patience; i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		for k := range g.layers {
			if i%2 == 0 {
				g.sortLayer(g.layers[k], g.in)
			} else {
				g.sortLayer(g.layers[len(g.layers)-1-k], g.out)
			}
		}
		g.exchange()
		stale++
		if n := g.crossings(); n < least {
			best, least, stale = g.copied(), n, 0
		}
	}
	g.layers = best
	for _, l := range g.layers {
		g.number(l)
	}
	return ctx.Err()
}

func (g *graph) copied() [][]int {
	out := make([][]int, len(g.layers))
	for i, l := range g.layers {
		out[i] = slices.Clone(l)
	}
	return out
}

// sortLayer sorts a layer by the mean place of each node's neighbours on one
// side. Nodes without any stay where they are.
func (g *graph) sortLayer(layer []int, side [][]link) {
	var tied []int
	for _, v := range layer {
		sum, weight := 0.0, 0.0
		for _, e := range side[v] {
			sum += float64(e.weight * g.at[e.to])
			weight += float64(e.weight)
		}
		if weight > 0 {
			g.wish[v] = sum / weight
			tied = append(tied, v)
		}
	}
	slices.SortStableFunc(tied, func(a, b int) int { return cmp.Compare(g.wish[a], g.wish[b]) })
	for i, v := range layer {
		if len(side[v]) > 0 {
			layer[i], tied = tied[0], tied[1:]
		}
	}
	g.number(layer)
}

// exchange swaps neighbours as long as that takes crossings away.
func (g *graph) exchange() {
	for better := true; better; {
		better = false
		for _, l := range g.layers {
			for i := 0; i+1 < len(l); i++ {
				v, w := l[i], l[i+1]
				if g.inverted(g.in[v], g.in[w])+g.inverted(g.out[v], g.out[w]) >
					g.inverted(g.in[w], g.in[v])+g.inverted(g.out[w], g.out[v]) {
					l[i], l[i+1] = w, v
					g.at[w], g.at[v] = i, i+1
					better = true
				}
			}
		}
	}
}

// inverted counts the crossings of two nodes' edges, the first being above.
func (g *graph) inverted(above, below []link) int {
	n := 0
	for _, a := range above {
		for _, b := range below {
			if g.at[a.to] > g.at[b.to] {
				n++
			}
		}
	}
	return n
}

// crossings counts all of them, each layer's edges by how many that come before
// end further down: Barth, Mutzel and Juenger, "Simple and Efficient Bilayer
// Cross Counting", Journal of Graph Algorithms and Applications 8(2), 2004.
func (g *graph) crossings() int {
	total := 0
	for i := 1; i < len(g.layers); i++ {
		g.crossing = append(g.crossing[:0], make([]int, len(g.layers[i])+1)...)
		seen := 0
		for _, v := range g.layers[i-1] {
			for _, e := range g.out[v] {
				total += seen
				for k := g.at[e.to] + 1; k > 0; k &= k - 1 {
					total -= g.crossing[k]
				}
			}
			for _, e := range g.out[v] {
				seen++
				for k := g.at[e.to] + 1; k < len(g.crossing); k += k & -k {
					g.crossing[k]++
				}
			}
		}
	}
	return total
}
