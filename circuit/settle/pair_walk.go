package settle

import (
	"context"
	"encoding/binary"
	"fmt"
	"maps"
	"slices"
	"strings"

	"legtrace/circuit"
)

// node is a state of the machine in a stage of the mode: what acts, what
// tripped, and the table of the position that its contacts are in.
type node struct {
	stage int
	state state
	table *table
	next  []next // by fault, and last without any
}

// next is what follows a state: another, itself when settled, or unknown.
type next int32

const (
	unknown next = -1 // too near a limit or otherwise not for tables
	settled next = -2
)

// maxSteps bounds the states that a pair is followed through.
const maxSteps = 24

// walk follows all pairs through the states, level by level.
func (x *Pairs) walk(ctx context.Context) error {
	x.loop.rest(nil)
	start := int32(x.node(0, &x.loop.state))
	level := map[int32][]pair{}
	for j := range x.all.faults {
		for i := range j + 1 {
			level[start] = append(level[start], pair{uint16(i), uint16(j)})
		}
	}
	for step := 0; len(level) > 0; step++ {
		order := slices.Sorted(maps.Keys(level))
		coming := map[int32][]pair{}
		for _, at := range order {
			if err := ctx.Err(); err != nil {
				return err
			}
			x.advance(at, level[at], step < maxSteps, coming)
		}
		level = coming
	}
	return x.settleChatter()
}

// advance moves pairs on from a node.
func (x *Pairs) advance(at int32, pairs []pair, more bool, coming map[int32][]pair) {
	nd := x.nodes[at]
	if nd.table == nil && more {
		x.open(nd, len(pairs))
	}
	for _, p := range pairs {
		i, j := int(p.i), int(p.j)
		f := &x.results[index(i, j)]
		if !more || nd.table == nil || nd.table.refused {
			f.how = bySweep
			continue
		}
		switch to, how := x.follow(nd, i, j); to {
		case unknown:
			f.how = bySweep
		case settled:
			f.node, f.how = at, how
		default:
			coming[int32(to)] = append(coming[int32(to)], p)
		}
	}
}

// evaluate finds what follows a node under two faults, given the solution.
func (x *Pairs) evaluate(nd *node, i, j int, c combination) next {
	v := &x.view
	v.faults = v.faults[:0]
	if i >= 0 {
		v.faults = append(v.faults, x.all.faults[i])
	}
	if j >= 0 && j != i {
		v.faults = append(v.faults, x.all.faults[j])
	}
	v.i, v.j, v.t, v.combination = i, j, nd.table, c
	if c.base.doubt || c.a != nil && (c.a.doubt || c.b.doubt) {
		return unknown
	}
	l := x.loop
	l.fail(v.faults)
	l.enter(x.stages[nd.stage])
	l.state.copyFrom(&nd.state)
	tripped, err := l.overcurrent()
	if err != nil {
		return unknown
	}
	if tripped {
		return x.node(nd.stage, &l.state)
	}
	still, err := l.step()
	if err != nil {
		return unknown
	}
	if !still || l.timeOut() {
		l.next.tripFrom(&l.state)
		return x.node(nd.stage, &l.next)
	}
	if nd.stage+1 < len(x.stages) {
		return x.node(nd.stage+1, &l.state)
	}
	return settled
}

// node finds or makes the node of a state.
func (x *Pairs) node(stage int, s *state) next {
	l := x.loop
	key := binary.AppendUvarint(nil, uint64(stage))
	for _, ids := range [3][]circuit.BranchID{l.coils, l.drives, l.protection} {
		for _, id := range ids {
			bits := byte(0)
			if s.acting[id] {
				bits |= 1
			}
			if s.late[id] {
				bits |= 2
			}
			if s.tripped[id] {
				bits |= 4
			}
			key = append(key, bits)
		}
	}
	if at, ok := x.nodeOf[string(key)]; ok {
		return next(at)
	}
	nd := &node{stage: stage, state: newState(len(s.acting))}
	nd.state.copyFrom(s)
	x.nodes = append(x.nodes, nd)
	at := int32(len(x.nodes) - 1)
	x.nodeOf[string(key)] = at
	return next(at)
}

// open gives a node its table, unless it is one that few need, and finds what
// follows under every single fault.
func (x *Pairs) open(nd *node, pairs int) {
	if 2*pairs < len(x.all.faults) {
		return
	}
	l := x.loop
	l.fail(nil)
	l.enter(x.stages[nd.stage])
	l.state.copyFrom(&nd.state)
	c := x.all.e.c
	conducts := make([]bool, len(c.Branches()))
	var key strings.Builder
	for i := range conducts {
		conducts[i] = l.closed(c.Branch(circuit.BranchID(i)))
		if conducts[i] {
			key.WriteByte(1)
		} else {
			key.WriteByte(0)
		}
	}
	celsius := l.mode.Celsius
	for _, id := range slices.Sorted(maps.Keys(celsius)) {
		fmt.Fprintf(&key, ";%d=%x", id, celsius[id])
	}
	x.all.mu.Lock()
	have := x.all.tables[key.String()]
	if have == nil {
		have = &tableOnce{}
		x.all.tables[key.String()] = have
	}
	x.all.mu.Unlock()
	have.once.Do(func() { have.t = x.builder.table(conducts, celsius) })
	nd.table = have.t
	if nd.table.refused {
		return
	}
	n := len(x.all.faults)
	nd.next = make([]next, n+1)
	nd.next[n] = x.evaluate(nd, -1, -1, single(&nd.table.base))
	for i := range n {
		switch r := nd.table.rows[i]; {
		case r != nil && r.doubt:
			nd.next[i] = unknown
		case r == nil && !x.logic[i]:
			nd.next[i] = nd.next[n]
		default:
			nd.next[i] = x.evaluate(nd, i, i, nd.table.alone(i))
		}
	}
}
