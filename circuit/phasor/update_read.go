package phasor

import (
	"math"

	"legtrace/circuit"
)

// Volts returns a terminal's voltage to the supply's neutral point. On a
// floating terminal only differences within its own island mean anything, and
// they may differ from [Solution.Volts] by what is common to the island.
func (u *Update) Volts(t circuit.TerminalID) complex128 {
	if u.sol != nil {
		return u.sol.Volts[t]
	}
	return u.voltsAt(u.base.n.tree.nodeOf[t])
}

// Floating reports whether a terminal is tied to no supply conductor.
func (u *Update) Floating(t circuit.TerminalID) bool {
	if u.sol != nil {
		return u.sol.Floating[t]
	}
	return u.islandAt(u.base.n.tree.nodeOf[t]) >= 0
}

// Between is [Solution.Between].
func (u *Update) Between(a, b circuit.TerminalID) (complex128, bool) {
	if u.sol != nil {
		return u.sol.Between(a, b)
	}
	x, y := u.base.n.tree.nodeOf[a], u.base.n.tree.nodeOf[b]
	if u.islandAt(x) != u.islandAt(y) {
		return 0, false
	}
	return u.voltsAt(x) - u.voltsAt(y), true
}

// LoadVolts is [Solution.LoadVolts].
func (u *Update) LoadVolts(load circuit.BranchID) float64 {
	if u.sol != nil {
		return u.sol.LoadVolts(load)
	}
	b := u.base.n.c.Branch(load)
	v, _ := u.Between(b.A, b.B)
	return u.base.n.loadVolts(u, b, u.stateOf(load), v)
}

// Watts is [Solution.Watts].
func (u *Update) Watts(load circuit.BranchID) float64 {
	if u.sol != nil {
		return u.sol.Watts(load)
	}
	return u.base.n.watts(u, u.base.n.c.Branch(load), u.stateOf(load))
}

// Share is [Solution.Share].
func (u *Update) Share(load circuit.BranchID) float64 {
	b := u.base.n.c.Branch(load)
	if b.Watts == 0 {
		return 0
	}
	return u.Watts(load) / b.Watts
}

// Amps is the current of [Solution.Amps] through a branch that has an
// impedance; 0 through any other. For ideal joins see [Update.SupplyAmps].
func (u *Update) Amps(id circuit.BranchID) complex128 {
	if u.sol != nil {
		return u.sol.Amps[id]
	}
	return u.base.n.amps(u, u.base.n.c.Branch(id), u.stateOf(id))
}

// Untouched tells that a terminal's voltage and island are the base's.
func (u *Update) Untouched(t circuit.TerminalID) bool {
	return u.sol == nil && !u.touched(u.base.n.tree.nodeOf[t])
}

// touched tells whether a node may differ from the base.
func (u *Update) touched(k int32) bool {
	for _, top := range u.tops {
		if k <= top && k >= u.base.n.tree.first[top] {
			return true
		}
	}
	return false
}

func (u *Update) voltsAt(k int32) complex128 {
	if u.read[k] == u.stamp {
		return u.volts[k]
	}
	if !u.touched(k) {
		return u.base.volts[k]
	}
	r := u.rowOf(k)
	v := r.volts
	switch r.kind {
	case weighted:
		for _, t := range r.terms {
			v += t.weight * u.voltsAt(t.node)
		}
	case joined:
		v = u.voltsAt(r.up)
	}
	u.read[k], u.volts[k] = u.stamp, v
	return v
}

// islandAt gives the reference of a node's floating island, or -1 when it
// conducts to the supply.
func (u *Update) islandAt(k int32) int32 {
	if u.located[k] == u.stamp {
		return u.island[k]
	}
	if !u.touched(k) {
		return u.base.island[k]
	}
	r := u.rowOf(k)
	at := int32(-1)
	switch {
	case r.kind == reference:
		at = k
	case !r.supplied && r.up >= 0:
		at = u.islandAt(r.up)
	}
	u.located[k], u.island[k] = u.stamp, at
	return at
}

// Ohms is [Solver.Resistance] for an update of a [Network.DeadBase]: an ampere
// is sent in at a and out at b, and what it dissipates on its way is added up.
func (u *Update) Ohms(a, b circuit.TerminalID) (float64, bool) {
	x, y := u.base.n.tree.nodeOf[a], u.base.n.tree.nodeOf[b]
	if u.islandAt(x) != u.islandAt(y) {
		return math.Inf(1), false
	}
	u.queue = u.queue[:0]
	u.send(x, 1)
	u.send(y, -1)
	ohms := 0.0
	for len(u.queue) > 0 {
		k := u.lowest()
		amps, r := u.flow[k], u.rowOf(k)
		u.flowing[k] = 0
		switch {
		case amps == 0:
		case r.kind == joined:
			u.send(r.up, amps)
		case r.kind == weighted:
			ohms += real(amps * amps / r.total)
			for _, t := range r.terms {
				u.send(t.node, amps*t.weight)
			}
		}
	}
	return ohms, true
}

// send adds a current at a node.
func (u *Update) send(k int32, amps complex128) {
	if u.flowing[k] == u.stamp {
		u.flow[k] += amps
		return
	}
	u.flowing[k], u.flow[k] = u.stamp, amps
	u.push(k)
}

// Island tells floating islands apart: -1 for a terminal that conducts to the
// supply, else the same number for all terminals of one island.
func (u *Update) Island(t circuit.TerminalID) int32 {
	if u.sol != nil {
		return u.sol.Island(t)
	}
	return u.islandAt(u.base.n.tree.nodeOf[t])
}
