package phasor

import (
	"slices"

	"legtrace/circuit"
)

// Update is a condition solved from a [Base]. It is overwritten by the next
// [Base.Apply] of that base.
type Update struct {
	base *Base
	// sol is set where a full solve stands in.
	sol *Solution

	changed []circuit.BranchID
	states  []state // of the changed branches
	emf     []complex128
	drifted bool // whether emf differs from the base's
	ground  []groundTie
	mark    []uint32 // by branch: changed, when it equals stamp
	index   []int32  // by branch: its place in changed

	queue      []int32 // nodes to eliminate, a heap
	refactored []refactored
	slot       []int32  // by node: its place in fresh
	done       []uint32 // by node: queued or eliminated, when it equals stamp
	tops       []int32  // nodes below which anything may differ from the base

	volts   []complex128
	read    []uint32 // by node: volts is known, when it equals stamp
	island  []int32
	located []uint32
	flow    []complex128
	flowing []uint32
	stamp   uint32
}

// refactored is a node eliminated again.
type refactored struct {
	row  row
	left block
}

// Apply solves the condition in, which may differ from the base's in the
// branches listed and no others: in whether they conduct, or in their faults.
// Temperatures are the base's. Where a node's admittances cancel it solves in
// full; where supply conductors are tied together it returns a *[ShortError].
func (b *Base) Apply(in Input, changed []circuit.BranchID) (*Update, error) {
	if in.Probe != nil {
		return nil, errProbe
	}
	b.Stats.Updates++
	u := &b.now
	in.Celsius, in.DeadOhms = b.in.Celsius, b.in.DeadOhms
	u.begin(b)
	for _, id := range changed {
		u.change(id, in)
	}
	b.work.reset()
	b.work.emf = u.emf
	if err := u.run(); err != nil {
		b.Stats.Full++
		sol, err := b.full(in)
		if err != nil {
			return nil, err
		}
		u.sol = sol
	}
	return u, nil
}

// begin forgets the previous condition.
func (u *Update) begin(b *Base) {
	if u.base == nil {
		nodes, branches := len(b.rows), len(b.states)
		*u = Update{base: b, mark: make([]uint32, branches), index: make([]int32, branches), emf: slices.Clone(b.emf),
			slot: make([]int32, nodes), done: make([]uint32, nodes), volts: make([]complex128, nodes), read: make([]uint32, nodes),
			island: make([]int32, nodes), located: make([]uint32, nodes), flow: make([]complex128, nodes), flowing: make([]uint32, nodes)}
	}
	if u.drifted {
		for _, id := range b.n.supply {
			u.emf[id] = b.emf[id]
		}
		u.drifted = false
	}
	u.sol = nil
	u.stamp++
	u.changed, u.states, u.ground = u.changed[:0], u.states[:0], u.ground[:0]
	u.queue, u.refactored, u.tops = u.queue[:0], u.refactored[:0], u.tops[:0]
}

// change notes what becomes of a branch, and the nodes that this bears on.
func (u *Update) change(id circuit.BranchID, in Input) {
	b := u.base
	if u.mark[id] == u.stamp {
		return
	}
	br := b.n.c.Branch(id)
	if br.Role == circuit.Drive {
		return
	}
	now := stateOf(br, in, b.dead)
	was := &b.states[id]
	if now == *was {
		return
	}
	u.mark[id], u.index[id] = u.stamp, int32(len(u.changed))
	u.changed, u.states = append(u.changed, id), append(u.states, now)
	u.ground = groundTies(u.ground, br, &now, b.n.chassis)
	node := b.n.tree.nodeOf
	if br.Role == circuit.Source {
		if now.emf != b.emf[id] {
			u.emf[id], u.drifted = now.emf, true
		}
		u.enqueue(node[br.B])
	} else {
		u.enqueue(min(node[br.A], node[br.B]))
	}
	if now.grounded() || was.grounded() {
		u.enqueue(node[br.A])
		u.enqueue(node[br.B])
	}
	primary := br
	if br.Primary != circuit.None {
		primary = b.n.c.Branch(br.Primary)
	}
	if primary.Secondary != circuit.None {
		secondary := b.n.c.Branch(primary.Secondary)
		for _, t := range [4]circuit.TerminalID{primary.A, primary.B, secondary.A, secondary.B} {
			u.enqueue(node[t])
		}
	}
}

// enqueue queues a node to be eliminated again.
func (u *Update) enqueue(node int32) {
	if u.done[node] == u.stamp {
		return
	}
	u.done[node] = u.stamp
	u.push(node)
}

// push puts a node on the heap.
func (u *Update) push(node int32) {
	u.queue = append(u.queue, node)
	q := u.queue
	for i := len(q) - 1; i > 0 && q[(i-1)/2] > q[i]; i = (i - 1) / 2 {
		q[i], q[(i-1)/2] = q[(i-1)/2], q[i]
	}
}

// lowest takes the lowest node that waits.
func (u *Update) lowest() int32 {
	q := u.queue
	node, last := q[0], len(q)-1
	q[0] = q[last]
	q = q[:last]
	for i := 0; ; {
		k := 2*i + 1
		if k+1 < last && q[k+1] < q[k] {
			k++
		}
		if k >= last || q[k] >= q[i] {
			break
		}
		q[i], q[k] = q[k], q[i]
		i = k
	}
	u.queue = q
	return node
}

// run eliminates again what the changes bear on, upward until nothing of them
// shows any more. A source's voltage does not show in a block, so one that
// changed is followed to the top.
func (u *Update) run() error {
	b := u.base
	for len(u.queue) > 0 {
		k := u.lowest()
		u.slot[k] = int32(len(u.refactored))
		u.refactored = append(u.refactored, refactored{})
		now := &u.refactored[u.slot[k]]
		if err := u.eliminate(k, &now.row, &now.left); err != nil {
			return err
		}
		b.Stats.Eliminated++
		up := b.n.tree.parent[k]
		switch {
		case up >= 0 && (u.drifted || !now.left.equal(&b.blocks[k])):
			u.enqueue(up)
		default:
			u.tops = append(u.tops, k)
		}
	}
	return nil
}

// refactors tells whether a node has been eliminated again.
func (u *Update) refactors(node int32) bool { return u.done[node] == u.stamp }

func (u *Update) stateOf(id circuit.BranchID) *state {
	if u.mark[id] == u.stamp {
		return &u.states[u.index[id]]
	}
	return &u.base.states[id]
}

func (u *Update) rowOf(node int32) *row {
	if u.refactors(node) {
		return &u.refactored[u.slot[node]].row
	}
	return &u.base.rows[node]
}

// eliminate takes one node out of all that meets there.
func (u *Update) eliminate(k int32, r *row, left *block) error {
	b := u.base
	f := &b.work
	f.begin()
	adds := b.n.tree.terminal[k] < 0
	if !adds {
		f.at(k)
		if err := u.assemble(k); err != nil {
			return err
		}
	}
	for _, child := range b.n.tree.children[k] {
		if child < 0 {
			continue
		}
		below := &b.blocks[child]
		if u.refactors(child) {
			below = &u.refactored[u.slot[child]].left
		}
		if err := f.add(below); err != nil {
			return err
		}
	}
	if adds {
		*left = f.schur(0)
		return nil
	}
	if err := f.eliminate(r); err != nil {
		return err
	}
	*left = f.schur(1)
	return nil
}

// assemble adds the branches, sources and grounds of a node to the front.
func (u *Update) assemble(k int32) error {
	b := u.base
	f := &b.work
	for i := range b.n.own[k] {
		e := &b.n.own[k][i]
		s := u.stateOf(e.branch)
		if e.coupling != plain {
			u.couple(k, e, s)
			continue
		}
		switch s.kind {
		case ideal:
			f.connect(k, e.far, 0, conducts|merges)
		case impedance:
			f.connect(k, e.far, s.y, conducts)
		}
	}
	node, chassis := b.n.tree.nodeOf, b.n.tree.nodeOf[b.n.chassis]
	for _, g := range b.ground {
		if node[g.at] == k && u.mark[g.branch] != u.stamp {
			f.connect(k, chassis, g.tie.y, g.tie.how())
		}
	}
	for _, g := range u.ground {
		if node[g.at] == k {
			f.connect(k, chassis, g.tie.y, g.tie.how())
		}
	}
	for _, id := range b.n.sources[k] {
		s, e := u.stateOf(id), &f.block.ends[0]
		switch s.kind {
		case ideal:
			e.supplied = true
			if err := f.hold(e, int32(id)+1); err != nil {
				return err
			}
		case impedance:
			e.supplied = true
			e.g += s.y
			e.j += s.y * s.emf
		}
	}
	return nil
}

// couple adds one admittance of a transformer, as [Solver.couple] does. An
// ohmmeter's direct current does not pass from one winding to the other.
func (u *Update) couple(k int32, e *element, s *state) {
	if u.base.dead {
		return
	}
	primary := u.base.n.c.Branch(e.branch)
	sec := u.stateOf(primary.Secondary)
	if !coupled(s, sec) {
		return
	}
	a := complex(1/primary.TurnsRatio, 0)
	y := a * sec.y
	switch e.coupling {
	case acrossPrimary:
		y *= a
	case otherEnd:
		y = -y
	}
	u.base.work.connect(k, e.far, y, 0)
}
