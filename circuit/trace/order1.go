package trace

import (
	"gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/flow"
)

// essential lists the chains that starve the main load by themselves. On the
// feed they are the dominators of the load's ends (Lengauer and Tarjan's
// algorithm, in gonum); a chain off those that serves a coil or control is
// tried by opening it, since it may move several contacts at once.
func (m *model) essential() []int32 {
	support, _ := m.evaluate(nil)
	dominates := map[int32]bool{m.main.chain: true}
	for _, end := range [2]struct {
		node int32
		root int8
	}{{m.main.u, m.main.ru}, {m.main.v, m.main.rv}} {
		for _, k := range m.dominators(m.roots[end.root].node, end.node) {
			dominates[k] = true
		}
	}
	var out []int32
	for _, k := range support {
		switch {
		case dominates[k]:
			out = append(out, k)
		case m.onCause[k]:
			if _, fed := m.evaluate([]int32{k}); !fed {
				out = append(out, k)
			}
		}
	}
	return out
}

// dominators lists the chains that lie on every way from a root to a node.
func (m *model) dominators(root, node int32) []int32 {
	if root == node {
		return nil
	}
	g := splitGraph{m}
	tree := flow.Dominators(g.Node(int64(root)), g)
	var out []int32
	for d := tree.DominatorOf(int64(node)); d != nil; d = tree.DominatorOf(d.ID()) {
		if e := int32(d.ID()) - int32(m.nNodes); e >= 0 {
			out = append(out, m.edges[e].chain)
		}
	}
	return out
}

// splitGraph shows the model to gonum as a directed graph in which edges are
// nodes too, numbered after the joints, so that they can dominate.
type splitGraph struct{ m *model }

type splitNode int64

func (n splitNode) ID() int64 { return int64(n) }

type splitEdge struct{ from, to splitNode }

func (e splitEdge) From() graph.Node         { return e.from }
func (e splitEdge) To() graph.Node           { return e.to }
func (e splitEdge) ReversedEdge() graph.Edge { return splitEdge{e.to, e.from} }

func (g splitGraph) size() int64 { return int64(g.m.nNodes + len(g.m.edges)) }

func (g splitGraph) Node(id int64) graph.Node {
	if id < 0 || id >= g.size() {
		return nil
	}
	return splitNode(id)
}

func (g splitGraph) Nodes() graph.Nodes {
	all := make([]int64, g.size())
	for i := range all {
		all[i] = int64(i)
	}
	return &splitNodes{ids: all}
}

func (g splitGraph) From(id int64) graph.Nodes {
	n := int64(g.m.nNodes)
	if id >= n {
		e := g.m.edges[id-n]
		return &splitNodes{ids: []int64{int64(e.u), int64(e.v)}}
	}
	out := make([]int64, len(g.m.adj[id]))
	for i, e := range g.m.adj[id] {
		out[i] = int64(e) + n
	}
	return &splitNodes{ids: out}
}

func (g splitGraph) To(id int64) graph.Nodes { return g.From(id) }

func (g splitGraph) HasEdgeFromTo(u, v int64) bool {
	for it := g.From(u); it.Next(); {
		if it.Node().ID() == v {
			return true
		}
	}
	return false
}

func (g splitGraph) HasEdgeBetween(u, v int64) bool { return g.HasEdgeFromTo(u, v) }

func (g splitGraph) Edge(u, v int64) graph.Edge {
	if !g.HasEdgeFromTo(u, v) {
		return nil
	}
	return splitEdge{splitNode(u), splitNode(v)}
}

// splitNodes iterates over a list of node numbers.
type splitNodes struct {
	ids []int64
	at  int
}

func (it *splitNodes) Next() bool {
	if it.at >= len(it.ids) {
		return false
	}
	it.at++
	return true
}

func (it *splitNodes) Len() int         { return len(it.ids) - it.at }
func (it *splitNodes) Reset()           { it.at = 0 }
func (it *splitNodes) Node() graph.Node { return splitNode(it.ids[it.at-1]) }
