package phasor

import (
	"slices"

	"legtrace/circuit"
)

// Flow finds the current through every branch of an update, ideal joins
// included, without losing digits in low resistances: over a milliohm the
// difference of two voltages near 240 V has few left. Currents through loads
// are taken from their voltages; those through joins, contacts and the supply
// follow from them by Kirchhoff's current law along a spanning tree of the
// lowest resistances, leaves first. It must not be used by two goroutines at
// once.
type Flow struct {
	n *Network
	// low are the branches that the tree is made of, lowest resistance first.
	low []circuit.BranchID

	groups circuit.Groups // nodes: terminals, and last the supply's neutral point
	edges  []flowEdge
	degree []int32
	xor    []int32 // of the tree edges at a node
	draw   []complex128
	leaves []int32 // nodes in the order they are cut off the tree
	cut    []int32 // by node: when it was, counted from 1; 0 is never
	ring   []flowEdge
}

type flowEdge struct {
	branch circuit.BranchID // or None for a ground
	a, b   int32
}

// NewFlow makes a flow for updates of the network.
func NewFlow(n *Network) *Flow {
	nodes := len(n.c.Terminals()) + 1
	f := &Flow{n: n, groups: circuit.NewGroups(nodes), degree: make([]int32, nodes), xor: make([]int32, nodes),
		draw: make([]complex128, nodes), cut: make([]int32, nodes)}
	for i := range n.c.Branches() {
		if b := n.c.Branch(circuit.BranchID(i)); b.Role == circuit.Join || b.Role == circuit.Contact || b.Role == circuit.Source {
			f.low = append(f.low, b.ID)
		}
	}
	slices.SortStableFunc(f.low, func(x, y circuit.BranchID) int {
		switch a, b := n.c.Branch(x).Ohms, n.c.Branch(y).Ohms; {
		case a < b:
			return -1
		case a > b:
			return 1
		}
		return 0
	})
	return f
}

// Amps sets amps, by branch, to the current from terminal A to B, of a source
// out of the supply. Chords gets, by branch, whether the current had to be
// taken from the voltage over a low resistance. It returns the branches of
// loops that ideal joins form, between which the split is not determined.
func (f *Flow) Amps(u *Update, amps []complex128, chords []bool) []circuit.BranchID {
	n := f.n
	f.begin()
	tie := func(b circuit.BranchID, from, to int32, how branchKind) bool {
		x, y := f.groups.Of(from), f.groups.Of(to)
		if x == y {
			if how == ideal {
				f.ring = append(f.ring, flowEdge{b, from, to})
			}
			return how == ideal
		}
		f.groups.Join(x, y)
		e := int32(len(f.edges))
		f.edges = append(f.edges, flowEdge{b, from, to})
		for _, v := range [2]int32{from, to} {
			f.degree[v]++
			f.xor[v] ^= e
		}
		return true
	}
	for id := range amps {
		amps[id], chords[id] = 0, false
	}
	ground := func(g groundTie) {
		if g.tie.ideal {
			tie(circuit.None, int32(n.chassis), int32(g.at), ideal)
			return
		}
		i := g.tie.y * (u.Volts(g.at) - u.Volts(n.chassis))
		f.draw[g.at] += i
		f.draw[n.chassis] -= i
	}
	for _, g := range u.base.ground {
		if u.mark[g.branch] != u.stamp {
			ground(g)
		}
	}
	for _, g := range u.ground {
		ground(g)
	}
	// Ideal joins first, so that a loop of them is told from one with
	// resistance in it.
	for i := range amps {
		b := n.c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Drive && u.stateOf(b.ID).kind == ideal {
			tie(b.ID, f.from(b), int32(b.B), ideal)
		}
	}
	for _, id := range f.low {
		s := u.stateOf(id)
		b := n.c.Branch(id)
		if s.kind != impedance || tie(id, f.from(b), int32(b.B), impedance) {
			continue
		}
		amps[id], chords[id] = n.through(u, b, s), true
		f.draw[f.from(b)] += amps[id]
		f.draw[b.B] -= amps[id]
	}
	for i := range amps {
		b := n.c.Branch(circuit.BranchID(i))
		s := u.stateOf(b.ID)
		if b.Role != circuit.Load || s.kind == ideal {
			continue
		}
		through := n.through(u, b, s)
		f.draw[b.A] += through
		f.draw[b.B] -= through
		amps[i] = n.amps(u, b, s)
	}
	f.push(amps)
	return f.loops()
}

// from is the node that a branch leads from: a source, the neutral point.
func (f *Flow) from(b *circuit.Branch) int32 {
	if b.Role == circuit.Source {
		return int32(len(f.degree) - 1)
	}
	return int32(b.A)
}

func (f *Flow) begin() {
	for i := range f.groups {
		f.groups[i] = int32(i)
	}
	f.edges, f.leaves, f.ring = f.edges[:0], f.leaves[:0], f.ring[:0]
	clear(f.cut)
	clear(f.degree)
	clear(f.xor)
	clear(f.draw)
}

// push sends what is drawn at every node along the tree, leaves first.
func (f *Flow) push(amps []complex128) {
	point := int32(len(f.degree) - 1)
	for v := range point {
		if f.degree[v] == 1 {
			f.leaves = append(f.leaves, v)
		}
	}
	for head := 0; head < len(f.leaves); head++ {
		v := f.leaves[head]
		if f.degree[v] != 1 {
			continue
		}
		e := &f.edges[f.xor[v]]
		w, sign := e.a, complex128(1)
		if v == e.a {
			w, sign = e.b, -1
		}
		if e.branch != circuit.None {
			amps[e.branch] = sign * f.draw[v]
		}
		f.draw[w] += f.draw[v]
		f.degree[v], f.cut[v] = 0, int32(head+1)
		f.degree[w]--
		f.xor[w] ^= f.xor[v]
		if f.degree[w] == 1 && w != point {
			f.leaves = append(f.leaves, w)
		}
	}
}

// loops lists the branches of the loops that ideal joins left out of the tree
// close. After [Flow.push] a node cut off the tree still knows the edge that it
// hung by.
func (f *Flow) loops() []circuit.BranchID {
	var out []circuit.BranchID
	add := func(id circuit.BranchID) {
		if id != circuit.None && !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	for _, e := range f.ring {
		add(e.branch)
		for v, w := e.a, e.b; v != w; {
			if f.cut[w] != 0 && (f.cut[v] == 0 || f.cut[w] < f.cut[v]) {
				v, w = w, v
			}
			up := &f.edges[f.xor[v]]
			add(up.branch)
			v = up.a + up.b - v
		}
	}
	return out
}
