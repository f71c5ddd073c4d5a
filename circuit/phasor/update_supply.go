package phasor

import "legtrace/circuit"

// SupplyAmps returns the current that a supply conductor sends into the
// machine. Where ideal joins tie several conductors without resistance
// together, only their sum is determined; it is put on the first, as
// [Solver.Solve] does, and the second result is false.
func (u *Update) SupplyAmps(id circuit.BranchID) (complex128, bool) {
	n := u.base.n
	if u.sol != nil || u.stateOf(id).kind != ideal {
		return u.Amps(id), u.sol == nil
	}
	group := u.tiedRails(id)
	alone := true
	for _, other := range n.supply {
		if other == id || u.stateOf(other).kind != ideal || group&n.railBit(other) == 0 {
			continue
		}
		if other < id {
			return 0, false
		}
		alone = false
	}
	var amps complex128
	for i, k := range n.tree.rails {
		r := u.rowOf(k)
		if group&(1<<i) == 0 || r.kind != fixed {
			continue
		}
		amps += r.total
		for _, t := range r.terms {
			amps += t.weight * (r.volts - u.voltsAt(t.node))
		}
	}
	return amps, alone
}

// tiedRails finds, as a set of bits, the tree's rails that ideal joins tie to a
// supply conductor.
func (u *Update) tiedRails(id circuit.BranchID) uint64 {
	group := u.base.n.railBit(id)
	for grown := true; grown; {
		grown = false
		for i, k := range u.base.n.tree.rails {
			r := u.rowOf(k)
			if r.kind != fixed {
				continue
			}
			if set := r.ideals | 1<<i; set&group != 0 && set&^group != 0 {
				group |= set
				grown = true
			}
		}
	}
	return group
}

// railBit is the bit of a supply conductor's terminal among the tree's rails.
func (n *Network) railBit(source circuit.BranchID) uint64 {
	node := n.tree.nodeOf[n.c.Branch(source).B]
	for i, k := range n.tree.rails {
		if k == node {
			return 1 << i
		}
	}
	return 0
}
