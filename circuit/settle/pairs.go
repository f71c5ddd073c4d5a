package settle

import (
	"context"
	"encoding/binary"
	"fmt"
	"slices"
	"sort"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// PairTables settles every single fault of a list and every pair of them, with
// the result of [Engine.Run] at a small part of its cost:
//
//	tables := settle.NewPairTables(engine, network, faults)
//	pairs, err := tables.Mode(ctx, mode)
//	...
//	o, err := pairs.Outcome(i, j) // i == j: that fault alone
//	watts := o.LeastShare(load) * rated
//
// Most pairs do what one of the two does alone: where a branch carries no
// current it may open, where there is no voltage across it it may be shorted.
// What is left is worked out from the solutions of the two alone
// ([table.combine]), position by position of the contacts as the machine
// settles. Too near a limit, or with too few digits, a pair is left to a
// [Sweep], and what that cannot do to the engine.
//
// Tables of positions are shared by modes, which goroutines may settle at the
// same time; a [Pairs] belongs to one goroutine.
type PairTables struct {
	e      *Engine
	net    *phasor.Network
	faults []circuit.Fault

	mu     sync.Mutex
	tables map[string]*tableOnce
}

type tableOnce struct {
	once sync.Once
	t    *table
}

// NewPairTables prepares tables of a circuit for a list of faults.
func NewPairTables(e *Engine, net *phasor.Network, faults []circuit.Fault) *PairTables {
	return &PairTables{e: e, net: net, faults: faults, tables: map[string]*tableOnce{}}
}

// Tables counts the positions of contacts solved so far.
func (p *PairTables) Tables() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.tables)
}

// Pairs is every single fault and every pair in one mode.
type Pairs struct {
	Stats PairStats

	all    *PairTables
	mode   circuit.ModeID
	sweep  *Sweep
	loop   *loop // of the walk; its network is view
	view   view
	maker  *maker
	stages []circuit.ModeID
	nodes  []*node
	nodeOf map[string]int32
	fates  []fate
	// logic tells, by fault, that it may matter though nothing flows.
	logic []bool
	// chatters holds, by fault, those that never settle.
	chatters map[int]*chatterer
	one      PairOutcome
}

// PairStats counts pairs, each single fault among them, by how they are
// settled.
type PairStats struct {
	// AsOne do what one of the two does alone; Both need both; Swept are left to
	// a [Sweep], of which some go to the engine when asked for.
	AsOne, Both, Swept int
	// States is the number of states of the contacts that were met.
	States int
}

// fate is how a pair ends. Where one chatters the node is -1.
type fate struct {
	node int32
	how  how
}

type how uint8

const (
	walking  how = iota
	asFirst      // as the first alone, in the node
	asSecond     // as the second alone
	asBoth       // by combination
	bySweep
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

// pair is two faults by their places in the list, i <= j.
type pair struct{ i, j uint16 }

// maxPairFaults bounds the faults of a list.
const maxPairFaults = 1 << 14

// index numbers pairs, i <= j.
func index(i, j int) int32 { return int32(j*(j+1)/2 + i) }

// Mode settles every pair in a mode.
func (p *PairTables) Mode(ctx context.Context, mode circuit.ModeID) (*Pairs, error) {
	e := New(p.e.c)
	s, err := NewSweepOn(e, p.net, mode)
	if err != nil {
		return nil, err
	}
	x := &Pairs{all: p, mode: mode, sweep: s, loop: newLoop(e.c), maker: newMaker(p.net, p.faults), nodeOf: map[string]int32{}}
	x.loop.net, x.loop.margin = &x.view, tooNear
	x.view.x = x
	for m := mode; m != circuit.None; m = e.c.Mode(m).After {
		x.stages = append([]circuit.ModeID{m}, x.stages...)
	}
	n := len(p.faults)
	if n > maxPairFaults {
		return nil, fmt.Errorf("pairs of %d faults are too many: at most %d", n, maxPairFaults)
	}
	x.fates = make([]fate, n*(n+1)/2)
	for i := range p.faults {
		x.logic = append(x.logic, x.logical(i))
	}
	if err := x.walk(ctx); err != nil {
		return nil, err
	}
	for _, f := range x.fates {
		switch f.how {
		case asFirst, asSecond:
			x.Stats.AsOne++
		case asBoth:
			x.Stats.Both++
		default:
			x.Stats.Swept++
		}
	}
	x.Stats.States = len(x.nodes)
	return x, nil
}

const (
	// maxSteps bounds the states that a pair is followed through.
	maxSteps = 24
	// fewPairs are not worth a table of their own.
	fewPairs = 200
)

// walk follows all pairs through the states, level by level.
func (x *Pairs) walk(ctx context.Context) error {
	x.loop.rest(nil)
	start, err := x.node(0, &x.loop.state)
	if err != nil {
		return err
	}
	level := map[int32][]pair{}
	for j := range x.all.faults {
		for i := range j + 1 {
			level[start] = append(level[start], pair{uint16(i), uint16(j)})
		}
	}
	for step := 0; len(level) > 0; step++ {
		var order []int32
		for at := range level {
			order = append(order, at)
		}
		sort.Slice(order, func(a, b int) bool { return order[a] < order[b] })
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
		f := &x.fates[index(i, j)]
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

// chatterer is a fault that leaves contacts moving for ever.
type chatterer struct {
	outcome *Outcome
	// inert tells, by fault, that it changes nothing in any state the machine
	// goes through.
	inert []bool
}

// settleChatter decides what chatters by one fault alone once for all the pairs
// that it settles.
func (x *Pairs) settleChatter() error {
	x.chatters = map[int]*chatterer{}
	n := len(x.all.faults)
	for i := range n {
		if x.fates[index(i, i)].how != bySweep {
			continue
		}
		ch := &chatterer{inert: make([]bool, n)}
		for k := range ch.inert {
			ch.inert[k] = !x.logic[k] && x.all.faults[k].Branch != x.all.faults[i].Branch
		}
		e := x.sweep.e
		e.Observe = func(conducts, _ []bool, sol *phasor.Solution) {
			r := row{volts: sol.Volts, amps: sol.Amps, island: make([]int32, len(sol.Volts))}
			for t := range r.island {
				r.island[t] = sol.Island(circuit.TerminalID(t))
			}
			for k := range ch.inert {
				if ch.inert[k] {
					p := newPort(x.all.e.c, x.all.faults[k], conducts)
					acts, _ := p.acts(&r)
					ch.inert[k] = !acts
				}
			}
		}
		var err error
		ch.outcome, err = e.Run(x.mode, x.all.faults[i:i+1])
		e.Observe = nil
		if err != nil {
			return err
		}
		if ch.outcome.Chatter == nil {
			continue
		}
		for k := range ch.inert {
			ch.inert[k] = ch.inert[k] && !slices.Contains(ch.outcome.Chatter.Contacts, x.all.faults[k].Branch)
		}
		x.chatters[i] = ch
	}
	for i, ch := range x.chatters {
		for k := range n {
			f := &x.fates[index(min(i, k), max(i, k))]
			if f.how != bySweep || k != i && !ch.inert[k] {
				continue
			}
			f.node, f.how = -1, asFirst
			if k < i {
				f.how = asSecond
			}
		}
	}
	return nil
}

// follow tells what follows a node under a pair, and by which solution.
func (x *Pairs) follow(nd *node, i, j int) (next, how) {
	t := nd.table
	if i == j {
		return nd.next[i], asFirst
	}
	if y := x.sameBranch(t, i, j); y != 0 {
		if y == bySweep {
			return unknown, 0
		}
		if y == asFirst {
			return nd.next[i], asFirst
		}
		return nd.next[j], asSecond
	}
	if t.looped(i) && t.looped(j) || t.tiesTogether(i, j) {
		return unknown, 0
	}
	second, sure := t.actsUnder(j, i)
	if !sure {
		return unknown, 0
	}
	if !second {
		if !x.logic[j] {
			return nd.next[i], asFirst
		}
		return x.evaluate(nd, i, j, t.alone(i)), asFirst
	}
	first, sure := t.actsUnder(i, j)
	if !sure {
		return unknown, 0
	}
	if !first {
		if !x.logic[i] {
			return nd.next[j], asSecond
		}
		return x.evaluate(nd, i, j, t.alone(j)), asSecond
	}
	if t.rows[i] == nil || t.rows[j] == nil || t.rows[i].doubt || t.rows[j].doubt {
		return unknown, 0
	}
	c, ok := t.combine(i, j)
	if !ok {
		return unknown, 0
	}
	return x.evaluate(nd, i, j, c), asBoth
}

// alone is the solution of one fault.
func (t *table) alone(i int) combination {
	if t.rows[i] == nil {
		return single(&t.base)
	}
	return single(t.rows[i])
}

// looped tells of a fault in a loop of ideal joins.
func (t *table) looped(i int) bool {
	return t.ports[i].kind == series && slices.Contains(t.base.loops, t.ports[i].branch)
}

// tiesTogether tells of two faults that each tie the same floating island, so
// that both together carry a current.
func (t *table) tiesTogether(i, j int) bool {
	p, q := &t.ports[i], &t.ports[j]
	if p.kind != shunt || q.kind != shunt {
		return false
	}
	a, also := p.tie(&t.base)
	b, ok := q.tie(&t.base)
	if !ok || !also {
		return false
	}
	if a.island == b.island {
		return a.other != b.other || size1(a.by-b.by) > noFigure
	}
	return a.island == b.other || a.other == b.island || a.other == b.other && a.other >= 0
}

// tie is how a fault joins a floating island to another island.
type tie struct {
	island, other int32
	by            complex128 // volts that the island shifts by
}

// tie tells how a fault joins islands; false where it joins none.
func (p *port) tie(r *row) (tie, bool) {
	if p.kind != shunt {
		return tie{}, false
	}
	v, known := p.figure(r)
	a, b := r.island[p.a], r.island[p.b]
	switch {
	case known:
		return tie{}, false
	case a >= 0:
		return tie{a, b, -v}, true
	}
	return tie{b, a, v}, true
}

// actsUnder tells whether fault i changes the solution with fault j.
func (t *table) actsUnder(i, j int) (acts, sure bool) {
	r := &t.base
	if t.rows[j] != nil {
		r = t.rows[j]
	}
	p := &t.ports[i]
	if r.doubt {
		return true, false
	}
	return p.acts(r)
}

// sameBranch tells what comes of two faults of one branch: 0 where they act
// apart.
func (x *Pairs) sameBranch(t *table, i, j int) how {
	f, g := &x.all.faults[i], &x.all.faults[j]
	if f.Branch != g.Branch {
		return 0
	}
	load := x.all.e.c.Branch(f.Branch).Role == circuit.Load
	// beats tells that nothing of the other is left.
	beats := func(f, g circuit.FaultKind) bool {
		return f == circuit.Open && (load || g != circuit.Grounded) || f == circuit.Short && (g == circuit.Drifted || g == circuit.HighResistance)
	}
	apart := func(f, g circuit.FaultKind) bool {
		return !load && (f == circuit.Grounded || f == circuit.Welded && t.conducts[x.all.faults[i].Branch]) && f != g
	}
	switch {
	case beats(f.Kind, g.Kind):
		return asFirst
	case beats(g.Kind, f.Kind):
		return asSecond
	case apart(f.Kind, g.Kind) || apart(g.Kind, f.Kind):
		return 0
	}
	return bySweep
}

// logical tells of a fault that may matter though nothing flows: what drives a
// relay, a motor's shaft, what a sense can feel, a weld of what trips.
func (x *Pairs) logical(i int) bool {
	f := &x.all.faults[i]
	b := x.all.e.c.Branch(f.Branch)
	if b.Role == circuit.Drive || f.Kind == circuit.Seized || x.trips(b) {
		return true
	}
	for k := range x.all.e.c.Controls() {
		for s := range x.all.e.c.Controls()[k].Senses {
			if feels(x.all.e.c, x.maker.reach, f.Branch, &x.all.e.c.Controls()[k].Senses[s]) {
				return true
			}
		}
	}
	return false
}

func (x *Pairs) trips(b *circuit.Branch) bool {
	return b.Role != circuit.Source && b.Part != circuit.None && (b.Amps > 0 || b.Residual > 0 || x.all.e.c.Part(b.Part).Kind.Guards())
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
		return x.to(nd.stage, &l.state)
	}
	still, err := l.step()
	if err != nil {
		return unknown
	}
	if !still || l.timeOut() {
		l.next.tripFrom(&l.state)
		return x.to(nd.stage, &l.next)
	}
	if nd.stage+1 < len(x.stages) {
		return x.to(nd.stage+1, &l.state)
	}
	return settled
}

func (x *Pairs) to(stage int, s *state) next {
	at, err := x.node(stage, s)
	if err != nil {
		return unknown
	}
	return next(at)
}

// node finds or makes the node of a state; its table is made when there are
// enough pairs in it.
func (x *Pairs) node(stage int, s *state) (int32, error) {
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
		return at, nil
	}
	nd := &node{stage: stage, state: newState(len(s.acting))}
	nd.state.copyFrom(s)
	x.nodes = append(x.nodes, nd)
	at := int32(len(x.nodes) - 1)
	x.nodeOf[string(key)] = at
	return at, nil
}

// open gives a node its table, unless it is one that few need and nobody has
// made, and finds what follows under every single fault.
func (x *Pairs) open(nd *node, pairs int) {
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
	ids := make([]int, 0, len(celsius))
	for id := range celsius {
		ids = append(ids, int(id))
	}
	sort.Ints(ids)
	for _, id := range ids {
		key.WriteString(circuitKey(id, celsius[circuit.BranchID(id)]))
	}
	x.all.mu.Lock()
	have := x.all.tables[key.String()]
	if have == nil {
		if pairs < fewPairs {
			x.all.mu.Unlock()
			return
		}
		have = &tableOnce{}
		x.all.tables[key.String()] = have
	}
	x.all.mu.Unlock()
	have.once.Do(func() { have.t = x.maker.table(conducts, celsius) })
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
