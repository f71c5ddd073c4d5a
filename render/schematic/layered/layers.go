package layered

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/graph/topo"
)

// acyclic turns round the edges that close a cycle, drops loops, and gives
// every edge its weight. Within a cycle the nodes' own numbers decide: an edge
// from a higher to a lower one is turned, so that the result follows the order
// in which the caller lists things.
func acyclic(n int, edges []Edge) []Edge {
	g := simple.NewDirectedGraph()
	for i := range n {
		g.AddNode(simple.Node(i))
	}
	for _, e := range edges {
		if e.From != e.To {
			g.SetEdge(simple.Edge{F: simple.Node(e.From), T: simple.Node(e.To)})
		}
	}
	component := make([]int, n)
	for i, nodes := range topo.TarjanSCC(g) {
		for _, v := range nodes {
			component[v.ID()] = i
		}
	}
	out := make([]Edge, 0, len(edges))
	for _, e := range edges {
		e.Weight = max(e.Weight, 1)
		if component[e.From] == component[e.To] && e.From > e.To {
			e.From, e.To = e.To, e.From
		}
		if e.From != e.To {
			out = append(out, e)
		}
	}
	return out
}

// assign gives every node its layer: the longest path first, then sets of
// nodes are shifted as long as that makes the edges shorter, by weight.
func assign(n int, edges []Edge) []int {
	out, in := make([][]link, n), make([][]link, n)
	for _, e := range edges {
		out[e.From] = append(out[e.From], link{e.To, e.Weight})
		in[e.To] = append(in[e.To], link{e.From, e.Weight})
	}
	layer := longestPath(out, in)
	s := shifter{layer: layer, out: out, in: in, moving: make([]bool, n)}
	for moved := true; moved; {
		moved = false
		for v := range n {
			moved = s.shift(v, 1) || s.shift(v, -1) || moved
		}
	}
	s.balance()
	if n > 0 {
		first := slices.Min(layer)
		for v := range layer {
			layer[v] -= first
		}
	}
	return layer
}

// balance moves nodes that are pulled as much to the left as to the right to
// the layer of those open to them that has fewest nodes.
func (s *shifter) balance() {
	count := map[int]int{}
	for _, l := range s.layer {
		count[l]++
	}
	for v := range s.layer {
		pull, first, last := 0, math.MinInt, math.MaxInt
		for _, e := range s.in[v] {
			pull -= e.weight
			first = max(first, s.layer[e.to]+1)
		}
		for _, e := range s.out[v] {
			pull += e.weight
			last = min(last, s.layer[e.to]-1)
		}
		if pull != 0 || first == math.MinInt || last == math.MaxInt {
			continue
		}
		count[s.layer[v]]--
		for l := first; l <= last; l++ {
			if count[l] < count[s.layer[v]] {
				s.layer[v] = l
			}
		}
		count[s.layer[v]]++
	}
}

// longestPath puts every node one layer right of the last that leads to it.
func longestPath(out, in [][]link) []int {
	layer := make([]int, len(out))
	waits := make([]int, len(out))
	var ready []int
	for v := range out {
		if waits[v] = len(in[v]); waits[v] == 0 {
			ready = append(ready, v)
		}
	}
	for ; len(ready) > 0; ready = ready[1:] {
		v := ready[0]
		for _, e := range out[v] {
			layer[e.to] = max(layer[e.to], layer[v]+1)
			if waits[e.to]--; waits[e.to] == 0 {
				ready = append(ready, e.to)
			}
		}
	}
	return layer
}

// shifter moves nodes between layers.
type shifter struct {
	layer   []int
	out, in [][]link
	moving  []bool
	set     []int
}

// shift moves a node to the right (by 1) or to the left (by -1), with all that
// is in its way, as far as that makes edges shorter, and tells whether it did.
func (s *shifter) shift(v, by int) bool {
	ahead, behind := s.out, s.in
	if by < 0 {
		ahead, behind = s.in, s.out
	}
	s.set = append(s.set[:0], v)
	s.moving[v] = true
	for i := 0; i < len(s.set); i++ {
		for _, e := range ahead[s.set[i]] {
			if by*(s.layer[e.to]-s.layer[s.set[i]]) == 1 && !s.moving[e.to] {
				s.moving[e.to] = true
				s.set = append(s.set, e.to)
			}
		}
	}
	gain, room := 0, -1
	for _, u := range s.set {
		for _, e := range ahead[u] {
			if !s.moving[e.to] {
				gain += e.weight
				if slack := by*(s.layer[e.to]-s.layer[u]) - 1; room < 0 || slack < room {
					room = slack
				}
			}
		}
		for _, e := range behind[u] {
			if !s.moving[e.to] {
				gain -= e.weight
			}
		}
	}
	for _, u := range s.set {
		s.moving[u] = false
		if gain > 0 {
			s.layer[u] += by * room
		}
	}
	return gain > 0
}
