package layered

// straightenings is how often heights are drawn towards the neighbours'.
const straightenings = 16

// heights keeps every layer's order and brings each node as near to its
// neighbours as the distance of 1 between nodes of a layer lets it: to the
// right and to the left in turn, each layer by least squares.
func (g *graph) heights() []float64 {
	y := make([]float64, len(g.out))
	for _, l := range g.layers {
		for i, v := range l {
			y[v] = float64(i) - float64(len(l))/2
		}
	}
	for range straightenings {
		for i := range g.layers {
			g.straighten(g.layers[i], y)
		}
		for i := range g.layers {
			g.straighten(g.layers[len(g.layers)-1-i], y)
		}
	}
	return y
}

// block is a run of nodes exactly 1 apart: where its first wants to be, and how
// strongly.
type block struct {
	wish, weight float64
	nodes        int
}

// straighten solves one layer: the heights nearest to the means of the
// neighbours, kept apart. Blocks that want to overlap become one: the pool
// adjacent violators algorithm (Barlow, Bartholomew, Bremner and Brunk,
// "Statistical Inference under Order Restrictions", 1972).
func (g *graph) straighten(layer []int, y []float64) {
	var blocks []block
	for _, v := range layer {
		b := block{nodes: 1}
		for _, side := range [][]link{g.in[v], g.out[v]} {
			for _, e := range side {
				b.wish += float64(e.weight) * y[e.to]
				b.weight += float64(e.weight)
			}
		}
		if b.weight > 0 {
			b.wish /= b.weight
		} else {
			b.wish, b.weight = y[v], 1e-3
		}
		for len(blocks) > 0 {
			above := blocks[len(blocks)-1]
			if above.wish+float64(above.nodes) <= b.wish {
				break
			}
			blocks = blocks[:len(blocks)-1]
			moved := b.wish - float64(above.nodes)
			b.wish = (above.weight*above.wish + b.weight*moved) / (above.weight + b.weight)
			b.weight += above.weight
			b.nodes += above.nodes
		}
		blocks = append(blocks, b)
	}
	for _, b := range blocks {
		for i := range b.nodes {
			y[layer[i]] = b.wish + float64(i)
		}
		layer = layer[b.nodes:]
	}
}
