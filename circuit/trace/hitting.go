package trace

import (
	"context"
	"errors"
	"slices"
)

// mostMeshed is the number of edges of a block up to which sets are built bottom
// up, joint by joint: relay logic has blocks of two to four, and where ways mesh
// more, what is lost with each joint outgrows what the search by supports does.
const mostMeshed = 10

// chainSet is a sorted set of at most [MaxOrder] chains, none behind them.
type chainSet [MaxOrder]int32

var emptySet = chainSet{none, none, none, none}

func (s chainSet) list() []int32 {
	out := make([]int32, 0, len(s))
	for _, k := range s {
		if k != none {
			out = append(out, k)
		}
	}
	return out
}

// with adds a chain to a set of n.
func (s chainSet) with(k int32, n int) chainSet {
	i := n
	for ; i > 0 && s[i-1] > k; i-- {
		s[i] = s[i-1]
	}
	s[i] = k
	return s
}

func (s chainSet) has(k int32) bool { return slices.Contains(s[:], k) }

// hittingSets finds, by size, the minimal sets of chains whose removal leaves
// the main load unfed. Every such set meets every support (Reiter's hitting
// set tree, with supports for conflicts): from a set that leaves the load fed,
// branch on the chains of its support. Which of those the load cannot spare any
// more is found for all of them at once ([model.essentialBeside]), so that the
// last level of the tree is never tried one by one.
//
// A minimal set of more than one chain lies within one block of the graph
// (a cut set is a bond, and a bond lies within a biconnected component), unless
// chains in it serve causes. So a search that starts in a block that serves no
// cause, and none of whose contacts waits for one, stays in it.
func (m *model) hittingSets(ctx context.Context, opt Options) ([][][]int32, error) {
	r, members := m.reduced()
	sets, err := r.hit(ctx, opt)
	if err != nil && !errors.Is(err, ErrTooMany) {
		return nil, err
	}
	all, ok := whole(sets, members, opt.MaxSets)
	if !ok {
		err = ErrTooMany
	}
	return all, err
}

// hit is [model.hittingSets] of a reduced model.
func (m *model) hit(ctx context.Context, opt Options) ([][][]int32, error) {
	out := make([][][]int32, opt.Order+1)
	single := make([]bool, len(m.removed)) // by chain
	for _, k := range m.essential() {
		single[k] = true
		out[1] = append(out[1], []int32{k})
	}
	if opt.Order == 1 {
		return out, nil
	}
	support, _ := m.evaluate(nil)
	blocks := m.findBlocks()
	if blocks.largest <= mostMeshed && opt.Order > 2 && slices.ContainsFunc(support, func(k int32) bool { return m.onCause[k] }) {
		if sets, ok, err := m.cutSetsBottomUp(ctx, opt); ok || err != nil {
			return sets, err
		}
		m.evaluate(nil)
	}
	seen, cuts := map[chainSet]bool{}, map[chainSet]bool{}
	total := len(out[1])
	var frontier []chainSet
	for _, k := range support {
		if !single[k] {
			frontier = append(frontier, emptySet.with(k, 0))
		}
	}
	for order := 2; order <= opt.Order; order++ {
		var next []chainSet
		for i, set := range frontier {
			if i%64 == 0 && ctx.Err() != nil {
				return out, ctx.Err()
			}
			support, fed := m.evaluate(set.list())
			if !fed {
				continue // essential found it
			}
			home, free := blocks.home(set[0])
			support = slices.DeleteFunc(support, func(k int32) bool { return single[k] || !free && blocks.of[k] != home || set.has(k) })
			m.essentialBeside(set.list(), support, !free)
			for _, k := range support {
				more := set.with(k, order-1)
				if m.isEssential[k] {
					if !seen[more] && minimal(more, k, order, cuts) {
						cuts[more] = true
						out[order] = append(out[order], more.list())
						total++
					}
					seen[more] = true
				} else if order < opt.Order && !seen[more] {
					seen[more] = true
					next = append(next, more)
				}
				if total > opt.MaxSets {
					return out, ErrTooMany
				}
			}
		}
		frontier = next
	}
	return out, nil
}

// minimal reports whether no proper subset of a cutting set of n cuts: those
// without k are known not to.
func minimal(set chainSet, k int32, n int, cuts map[chainSet]bool) bool {
	for mask := 1; mask < 1<<n-1; mask++ {
		part, size, holds := emptySet, 0, false
		for i := range n {
			if mask&(1<<i) != 0 {
				part[size] = set[i]
				size++
				holds = holds || set[i] == k
			}
		}
		if holds && cuts[part] {
			return false
		}
	}
	return true
}

// blocks are the biconnected components of the model's edges.
type blocks struct {
	of []int32 // by chain; none off the graph
	// largest is the number of edges of the largest block.
	largest int
	mixed   []bool // by block: it serves a cause, or a contact in it waits for one
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
				mixed, size := false, 0
				for {
					size++
					e := edges[len(edges)-1]
					edges = edges[:len(edges)-1]
					out.of[m.edges[e].chain] = block
					mixed = mixed || len(m.edges[e].causes) > 0 || m.onCause[m.edges[e].chain]
					if e == done.by {
						break
					}
				}
				out.mixed, out.largest = append(out.mixed, mixed), max(out.largest, size)
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
