package trace

import (
	"context"
	"slices"
)

// hittingSets finds, by size, the minimal sets of chains whose removal leaves
// the main load unfed. Every such set meets every support (Reiter's hitting
// set tree, with supports for conflicts): from a set that leaves the load fed,
// branch on the chains of its support.
//
// A minimal set of more than one chain lies within one block of the graph
// (a cut set is a bond, and a bond lies within a biconnected component), unless
// chains in it serve causes. So a search that starts in a block that serves no
// cause, and none of whose contacts waits for one, stays in it.
func (m *model) hittingSets(ctx context.Context, opt Options) ([][][]int32, error) {
	out := make([][][]int32, opt.Order+1)
	single := map[int32]bool{}
	for _, k := range m.essential() {
		single[k] = true
		out[1] = append(out[1], []int32{k})
	}
	if opt.Order == 1 {
		return out, nil
	}
	blocks := m.findBlocks()
	support, _ := m.evaluate(nil)
	type node struct {
		set     []int32
		support []int32
	}
	seen := map[string]bool{}
	total := len(out[1])
	var frontier []node
	for _, k := range support {
		if single[k] {
			continue
		}
		rest, fed := m.evaluate([]int32{k})
		if !fed {
			continue // essential found it
		}
		frontier = append(frontier, node{[]int32{k}, rest})
		seen[key([]int32{k})] = true
	}
	for order := 2; order <= opt.Order; order++ {
		var next []node
		for _, n := range frontier {
			if err := ctx.Err(); err != nil {
				return out, err
			}
			home, free := blocks.home(n.set[0])
			for _, k := range n.support {
				if single[k] || slices.Contains(n.set, k) || !free && blocks.of[k] != home {
					continue
				}
				set := append(append(make([]int32, 0, order), n.set...), k)
				slices.Sort(set)
				id := key(set)
				if seen[id] || containsAny(out[:order], set) {
					continue
				}
				seen[id] = true
				rest, fed := m.evaluate(set)
				if fed {
					if order < opt.Order {
						next = append(next, node{set, rest})
					}
					continue
				}
				out[order] = append(out[order], set)
				if total++; total > opt.MaxSets {
					return out, ErrTooMany
				}
			}
		}
		frontier = next
	}
	return out, nil
}

// containsAny reports whether set contains one of the smaller sets found that
// shares a chain with it, sets of one chain aside.
func containsAny(byOrder [][][]int32, set []int32) bool {
	for order := 2; order < len(byOrder); order++ {
		for _, f := range byOrder[order] {
			if subset(f, set) {
				return true
			}
		}
	}
	return false
}

// blocks are the biconnected components of the model's edges.
type blocks struct {
	of    []int32 // by chain; none off the graph
	mixed []bool  // by block: it serves a cause, or a contact in it waits for one
}

// home returns the block of a chain, and whether a search from it is free to
// leave the block.
func (b *blocks) home(k int32) (int32, bool) {
	home := b.of[k]
	return home, home == none || b.mixed[home]
}

// findBlocks is Hopcroft and Tarjan's algorithm, without recursion so that a
// long machine does not exhaust the stack.
func (m *model) findBlocks() *blocks {
	out := &blocks{of: make([]int32, len(m.removed))}
	for i := range out.of {
		out.of[i] = none
	}
	number, low := make([]int32, m.nNodes), make([]int32, m.nNodes)
	type frame struct {
		node, by int32 // by: the edge it was entered by
		at       int
	}
	var counter int32
	var edges []int32
	visited := make([]bool, len(m.edges))
	for _, r := range m.roots {
		if number[r.node] != 0 {
			continue
		}
		counter++
		number[r.node], low[r.node] = counter, counter
		stack := []frame{{r.node, none, 0}}
		for len(stack) > 0 {
			f := &stack[len(stack)-1]
			if f.at < len(m.adj[f.node]) {
				e := m.adj[f.node][f.at]
				f.at++
				if visited[e] {
					continue
				}
				visited[e] = true
				edges = append(edges, e)
				far := m.edges[e].u
				if far == f.node {
					far = m.edges[e].v
				}
				if number[far] == 0 {
					counter++
					number[far], low[far] = counter, counter
					stack = append(stack, frame{far, e, 0})
				} else {
					low[f.node] = min(low[f.node], number[far])
				}
				continue
			}
			done := *f
			stack = stack[:len(stack)-1]
			if len(stack) == 0 {
				break
			}
			up := stack[len(stack)-1].node
			low[up] = min(low[up], low[done.node])
			if low[done.node] >= number[up] {
				block := int32(len(out.mixed))
				mixed := false
				for {
					e := edges[len(edges)-1]
					edges = edges[:len(edges)-1]
					out.of[m.edges[e].chain] = block
					mixed = mixed || len(m.edges[e].causes) > 0 || m.onCause[m.edges[e].chain]
					if e == done.by {
						break
					}
				}
				out.mixed = append(out.mixed, mixed)
			}
		}
	}
	m.markCauseBlocks(out)
	return out
}

// markCauseBlocks marks every block on the way of a cause's feed. A support
// passes each block on its way from the root at least once, so a block is on a
// feed's way if and only if some chain of the support lies in it.
func (m *model) markCauseBlocks(b *blocks) {
	for k, on := range m.onCause {
		if on && b.of[k] != none {
			b.mixed[b.of[k]] = true
		}
	}
}
