package trace

import (
	"context"
	"errors"
	"fmt"
	"math/big"
	"slices"

	"legtrace/circuit"
)

// ErrNotCounted is returned for a machine whose minimal sets only a search can
// find: an open could help as well as harm there, or it is too entangled.
var ErrNotCounted = errors.New("the sets can be listed, not counted")

// Count tells how many minimal sets of opens cut a load's feed in a mode, by
// order and without a limit of order, one open out of each chain, without
// listing them: [2] is the number of sets of two chains. They are those of the
// graph that leave the load unfed; none is asked of the solver. It returns
// [ErrNotEnergised] where there is nothing to cut.
func (t *Tracer) Count(ctx context.Context, mode circuit.ModeID, load circuit.BranchID) ([]*big.Int, error) {
	s, err := t.newStarver(ctx, mode, load, Options{Order: 1, Share: DefaultShare})
	if err != nil {
		return nil, err
	}
	refused := fmt.Errorf("%w: %s", ErrNotCounted, t.c.Branch(load).Ref)
	m := s.model
	if m == nil {
		return nil, refused
	}
	support, _ := m.evaluate(nil)
	if slices.ContainsFunc(support, func(k int32) bool { return m.onCause[k] }) {
		families, all, _, ok := m.cutFamily(ctx, anyOrder)
		if ok {
			return families.count(all), nil
		}
	} else {
		sum := []*big.Int{new(big.Int), big.NewInt(1)} // the load's own chain
		ends, ok := [2]int32{m.main.u, m.main.v}, true
		for i, root := range [2]int8{m.main.ru, m.main.rv} {
			ok = ok && m.countBonds(ctx, m.roots[root].node, ends[i], &sum)
		}
		if ok {
			return sum, nil
		}
	}
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	return nil, refused
}

// What a frontier may grow to, in states and in nodes, before it is given up.
const (
	maxBondStates = 1 << 14
	maxFrontier   = 100
)

// countBonds adds the minimal cuts between two nodes that no cause has part in.
// Such a cut parts the nodes that are reached in two, each half connected. Nodes
// are put into one half or the other in the order in which they were reached,
// and of those done only what the rest can touch is remembered, which half and
// what of it is connected so far: the frontier method (K. Sekine, H. Imai and S.
// Tani, "Computing the Tutte polynomial of a graph of moderate size", ISAAC
// 1995, from memory), whose states are the nodes of the decision diagram.
func (m *model) countBonds(ctx context.Context, from, to int32, sum *[]*big.Int) bool {
	if from == to {
		return true
	}
	nodes := []int32{from}
	for _, n := range m.order {
		if n >= 0 && m.label[n] == m.label[from] {
			nodes = append(nodes, n)
		}
	}
	place, last := make([]int, m.nNodes), make([]int, m.nNodes)
	for i := range place {
		place[i] = -1
	}
	for i, n := range nodes {
		place[n] = i
	}
	for _, n := range nodes {
		last[n] = place[n]
		for _, e := range m.adj[n] {
			last[n] = max(last[n], place[m.edges[e].u+m.edges[e].v-n])
		}
	}
	states := map[string][]*big.Int{string([]byte{0, 0}): {big.NewInt(1)}}
	var frontier []int32
	for i, n := range nodes {
		if ctx.Err() != nil || len(states) > maxBondStates || len(frontier) > maxFrontier {
			return false
		}
		var near []int // places in the frontier of what an edge leads to, one each
		for _, e := range m.adj[n] {
			if at := slices.Index(frontier, m.edges[e].u+m.edges[e].v-n); at >= 0 {
				near = append(near, at)
			}
		}
		grown := append(slices.Clone(frontier), n)
		next := map[string][]*big.Int{}
		for state, counts := range states {
			for half := range byte(2) {
				if n == from && half == 1 || n == to && half == 0 {
					continue
				}
				if b, cut, ok := bond(state).put(half, near, grown, last, i); ok {
					addCounts(next, string(b), counts, cut)
				}
			}
		}
		states = next
		frontier = slices.DeleteFunc(grown, func(n int32) bool { return last[n] <= i })
	}
	for _, counts := range states {
		for i, c := range counts {
			for len(*sum) <= i {
				*sum = append(*sum, new(big.Int))
			}
			(*sum)[i].Add((*sum)[i], c)
		}
	}
	return true
}

// bond is a state: for either half whether it is complete, then for each node of
// the frontier the part that it is in, twice a number and the half.
type bond string

// put adds a node to a half and lets go of the nodes that nothing more touches.
// It tells how many edges that cuts, and false where a half would fall apart.
func (b bond) put(half byte, near []int, grown []int32, last []int, now int) ([]byte, int, bool) {
	if b[half] == 1 {
		return nil, 0, false
	}
	out := append([]byte(b), 2*byte(len(grown))+half)
	parts := out[2:]
	own, cut := parts[len(parts)-1], 0
	for _, at := range near {
		if other := parts[at]; other&1 != half {
			cut++
		} else if other != own {
			for i := range parts {
				if parts[i] == other {
					parts[i] = own
				}
			}
		}
	}
	for at := 0; at < len(parts); {
		if last[grown[at]] > now {
			at++
			continue
		}
		gone := parts[at]
		grown = slices.Delete(slices.Clone(grown), at, at+1)
		parts = slices.Delete(parts, at, at+1)
		if slices.Contains(parts, gone) {
			continue
		}
		if slices.ContainsFunc(parts, func(p byte) bool { return p&1 == gone&1 }) {
			return nil, 0, false
		}
		out[gone&1] = 1
	}
	// Parts are numbered as they come.
	named := map[byte]byte{}
	for i, p := range parts {
		if _, ok := named[p]; !ok {
			named[p] = 2*byte(len(named)) + p&1
		}
		parts[i] = named[p]
	}
	return out[:2+len(parts)], cut, true
}

func addCounts(into map[string][]*big.Int, state string, counts []*big.Int, cut int) {
	sum := into[state]
	for i, c := range counts {
		for len(sum) <= i+cut {
			sum = append(sum, new(big.Int))
		}
		sum[i+cut].Add(sum[i+cut], c)
	}
	into[state] = sum
}
