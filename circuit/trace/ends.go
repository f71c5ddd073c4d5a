package trace

import (
	"cmp"
	"maps"
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/iterator"
	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// end finds the way to a terminal from the nearest conductor whose voltage is
// not the one given: by what conducts if it can be, else over as few open
// contacts, and then other loads, as possible. Where no wire leads to the supply
// the way goes across transformers.
func (t *Tracer) end(out *settle.Outcome, load circuit.BranchID, at circuit.TerminalID, not *complex128) End {
	allowed := func(b *circuit.Branch) bool {
		return not == nil || cmplx.Abs(b.EMF-*not) > 1e-9
	}
	e := End{}
	for _, across := range [2]windings{nil, t.windings} {
		made, ok := t.endMade(out, at, across, allowed)
		if ok {
			return made
		}
		if e = t.endBroken(out, load, at, across, allowed); e.Source != circuit.None {
			break
		}
	}
	return e
}

// windings gives every terminal of a transformer's secondary the one of its
// primary that a way goes on from.
type windings map[circuit.TerminalID]winding

type winding struct {
	secondary circuit.BranchID
	primary   circuit.TerminalID
}

func windingsOf(c *circuit.Circuit) windings {
	w := windings{}
	for i := range c.Branches() {
		if p := c.Branch(circuit.BranchID(i)); p.Secondary != circuit.None {
			s := c.Branch(p.Secondary)
			w[s.A], w[s.B] = winding{s.ID, p.A}, winding{s.ID, p.B}
		}
	}
	return w
}

// walk is a breadth-first search, its memory kept from one to the next.
type walk struct {
	turn  int32
	seen  []int32 // turn in which a terminal was reached last
	by    []Hop   // the hop from there back to where it was reached from
	queue []circuit.TerminalID
	done  int // of the queue
}

// begin starts a search among n terminals.
func (w *walk) begin(n int, at circuit.TerminalID) {
	if len(w.seen) != n || w.turn == math.MaxInt32 {
		w.turn, w.seen, w.by = 0, make([]int32, n), make([]Hop, n)
	}
	w.turn++
	w.seen[at] = w.turn
	w.queue, w.done = append(w.queue[:0], at), 0
}

// next returns what was reached first and not gone on from.
func (w *walk) next() (circuit.TerminalID, bool) {
	if w.done == len(w.queue) {
		return circuit.None, false
	}
	w.done++
	return w.queue[w.done-1], true
}

// reach notes a terminal, if it was not reached before.
func (w *walk) reach(at circuit.TerminalID, by Hop) {
	if at != circuit.None && w.seen[at] != w.turn {
		w.seen[at], w.by[at] = w.turn, by
		w.queue = append(w.queue, at)
	}
}

// endMade is a breadth-first search through what conducts.
func (t *Tracer) endMade(out *settle.Outcome, at circuit.TerminalID, across windings, allowed func(*circuit.Branch) bool) (End, bool) {
	from := &t.walk
	from.begin(len(t.at), at)
	for n, more := from.next(); more; n, more = from.next() {
		if w, ok := across[n]; ok {
			from.reach(w.primary, Hop{w.secondary, w.primary, n})
		}
		for _, id := range t.at[n] {
			b := t.c.Branch(id)
			if !out.Conducts[id] || b.Role == circuit.Load {
				continue
			}
			if b.Role == circuit.Source {
				if !allowed(b) {
					continue
				}
				e := End{Terminal: at, Source: id, Hops: []Hop{{id, circuit.None, n}}}
				for n != at {
					h := from.by[n]
					e.Hops = append(e.Hops, h)
					n = h.To
				}
				return e, true
			}
			far := b.Other(n)
			from.reach(far, Hop{id, far, n})
		}
	}
	return End{}, false
}

// Weights of what stands in the way, so large that fewer open contacts always
// beat fewer hops, and any number of open contacts beats another load.
const (
	weightHop  = 1
	weightOpen = 1 << 20
	weightLoad = 1 << 40
)

// inOrder is a graph whose nodes lead on in their order, so that of paths of one
// length the same is found each time.
type inOrder struct {
	*simple.WeightedUndirectedGraph
}

// From returns the nodes that a node leads to.
func (g inOrder) From(id int64) graph.Nodes {
	nodes := graph.NodesOf(g.WeightedUndirectedGraph.From(id))
	slices.SortFunc(nodes, func(a, b graph.Node) int { return cmp.Compare(a.ID(), b.ID()) })
	return iterator.NewOrderedNodes(nodes)
}

// endBroken is a shortest path (Dijkstra's algorithm, in gonum) over weighted
// branches.
func (t *Tracer) endBroken(out *settle.Outcome, load circuit.BranchID, at circuit.TerminalID, across windings, allowed func(*circuit.Branch) bool) End {
	g := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
	best := map[[2]circuit.TerminalID]circuit.BranchID{}
	pair := func(a, b circuit.TerminalID) [2]circuit.TerminalID {
		return [2]circuit.TerminalID{min(a, b), max(a, b)}
	}
	weight := func(b *circuit.Branch) float64 {
		switch {
		case b.Role == circuit.Load:
			return weightLoad
		case !out.Conducts[b.ID]:
			return weightOpen
		}
		return weightHop
	}
	var sources []*circuit.Branch
	for i := range t.c.Branches() {
		b := t.c.Branch(circuit.BranchID(i))
		switch {
		case b.Role == circuit.Source && allowed(b):
			sources = append(sources, b)
		case b.Role == circuit.Drive || b.Role == circuit.Source || b.ID == load || b.A == b.B:
		default:
			p := pair(b.A, b.B)
			if old, ok := best[p]; ok && weight(t.c.Branch(old)) <= weight(b) {
				continue
			}
			best[p] = b.ID
			g.SetWeightedEdge(simple.WeightedEdge{F: simple.Node(b.A), T: simple.Node(b.B), W: weight(b)})
		}
	}
	for _, secondary := range slices.Sorted(maps.Keys(across)) {
		w := across[secondary]
		p := pair(secondary, w.primary)
		best[p] = w.secondary
		g.SetWeightedEdge(simple.WeightedEdge{F: simple.Node(secondary), T: simple.Node(w.primary), W: weightHop})
	}
	e := End{Terminal: at, Source: circuit.None}
	if g.Node(int64(at)) == nil {
		return e
	}
	tree := path.DijkstraFrom(simple.Node(at), inOrder{g})
	least := math.Inf(1)
	for _, s := range sources {
		w := tree.WeightTo(int64(s.B))
		if !out.Conducts[s.ID] {
			w += weightOpen
		}
		if w < least {
			least, e.Source = w, s.ID
		}
	}
	if e.Source == circuit.None {
		return e
	}
	source := t.c.Branch(e.Source)
	nodes, _ := tree.To(int64(source.B))
	e.Hops = append(e.Hops, Hop{e.Source, circuit.None, source.B})
	for i := len(nodes) - 1; i > 0; i-- {
		a, b := circuit.TerminalID(nodes[i].ID()), circuit.TerminalID(nodes[i-1].ID())
		e.Hops = append(e.Hops, Hop{best[pair(a, b)], a, b})
	}
	for _, hop := range e.Hops {
		b := t.c.Branch(hop.Branch)
		switch {
		case t.IsAcross(hop):
		case b.Role == circuit.Load:
			e.Through = append(e.Through, b.ID)
		case !out.Conducts[b.ID]:
			e.Missing = append(e.Missing, b.ID)
		}
	}
	return e
}
