package trace

import (
	"context"
	"math"
	"math/big"
)

// families holds families of minimal sets of chains as zero-suppressed decision
// diagrams (S. Minato, "Zero-suppressed BDDs for set manipulation in
// combinatorial problems", DAC 1993), with the operations on minimal cut sets of
// A. Rauzy ("New algorithms for fault trees analysis", Reliability Engineering
// and System Safety 40, 1993). Sets larger than order are left out throughout,
// unless it is anyOrder.
type families struct {
	order  int
	nodes  []familyNode
	unique map[familyNode]family
	done   map[familyOp]family
	ctx    context.Context
	// failed is set when the work outgrows maxFamilyOps or the context ends;
	// what is returned from then on means nothing.
	failed bool
}

// family is a family of sets, by its node.
type family int32

const (
	never  family = iota // no set at all
	always               // the empty set alone
)

// maxFamilyOps bounds the work of a search, and its memory to some 60 MiB. Relay
// logic of two hundred coils takes half of it to order 4; long machines with few
// relays, which the search by hitting sets does sooner, outgrow it.
const maxFamilyOps = 1 << 19

// anyOrder leaves no set out.
const anyOrder = math.MaxUint8

// familyNode: the sets without the variable, and those with it, it left out.
type familyNode struct {
	v             int32
	without, with family
}

type familyOp struct {
	what uint8
	room uint8
	f, g family
}

const (
	opUnion uint8 = iota
	opLess
	opProduct
	opAtMost
)

func newFamilies(ctx context.Context, order int) *families {
	return &families{ctx: ctx, order: order, nodes: []familyNode{{v: 1 << 30}, {v: 1 << 30}},
		unique: map[familyNode]family{}, done: map[familyOp]family{}}
}

func (s *families) node(v int32, without, with family) family {
	if with == never {
		return without
	}
	n := familyNode{v, without, with}
	if f, ok := s.unique[n]; ok {
		return f
	}
	f := family(len(s.nodes))
	s.nodes = append(s.nodes, n)
	s.unique[n] = f
	return f
}

// keep remembers the outcome of an operation.
func (s *families) keep(op familyOp, r family) family {
	s.done[op] = r
	if len(s.done)%4096 == 0 && (len(s.done) > maxFamilyOps || s.ctx.Err() != nil) {
		s.failed = true
	}
	return r
}

// single is the family of one set of one chain.
func (s *families) single(v int32) family { return s.node(v, never, always) }

// cofactors are the sets of f without and with the variable.
func (s *families) cofactors(f family, v int32) (without, with family) {
	if n := &s.nodes[f]; n.v == v {
		return n.without, n.with
	}
	return f, never
}

// either is what happens when f does or g does: the minimal sets of both.
func (s *families) either(f, g family) family {
	switch {
	case f == always || g == always:
		return always
	case f == never || f == g:
		return g
	case g == never:
		return f
	case s.failed:
		return never
	}
	if f > g {
		f, g = g, f
	}
	op := familyOp{what: opUnion, f: f, g: g}
	if r, ok := s.done[op]; ok {
		return r
	}
	v := min(s.nodes[f].v, s.nodes[g].v)
	f0, f1 := s.cofactors(f, v)
	g0, g1 := s.cofactors(g, v)
	low := s.either(f0, g0)
	r := s.node(v, low, s.less(s.either(f1, g1), low))
	return s.keep(op, r)
}

// less leaves out of f the sets that contain one of g.
func (s *families) less(f, g family) family {
	switch {
	case f == never || g == always || f == g:
		return never
	case g == never || f == always:
		return f
	case s.failed:
		return never
	}
	op := familyOp{what: opLess, f: f, g: g}
	if r, ok := s.done[op]; ok {
		return r
	}
	v := min(s.nodes[f].v, s.nodes[g].v)
	f0, f1 := s.cofactors(f, v)
	g0, g1 := s.cofactors(g, v)
	r := s.node(v, s.less(f0, g0), s.less(s.less(f1, g1), g0))
	return s.keep(op, r)
}

// both is what happens when f and g both do, in sets of at most room chains.
func (s *families) both(f, g family, room int) family {
	switch {
	case f == never || g == never:
		return never
	case f == always:
		return s.atMost(g, room)
	case g == always:
		return s.atMost(f, room)
	case room == 0 || s.failed:
		return never
	}
	if f > g {
		f, g = g, f
	}
	op := familyOp{what: opProduct, room: uint8(room), f: f, g: g}
	if r, ok := s.done[op]; ok {
		return r
	}
	v := min(s.nodes[f].v, s.nodes[g].v)
	f0, f1 := s.cofactors(f, v)
	g0, g1 := s.cofactors(g, v)
	low := s.both(f0, g0, room)
	less := room - 1
	if room == anyOrder {
		less = room
	}
	var high family
	switch {
	case f1 == g1: // each such set serves both
		high = s.atMost(f1, less)
	case f1 == never:
		high = s.both(f0, g1, less)
	case g1 == never:
		high = s.both(f1, g0, less)
	default:
		high = s.both(f1, s.either(g0, g1), less)
		if high != always {
			high = s.either(high, s.both(f0, g1, less))
		}
	}
	r := s.node(v, low, s.less(high, low))
	return s.keep(op, r)
}

// atMost leaves the sets of at most room chains.
func (s *families) atMost(f family, room int) family {
	switch {
	case f <= always || room >= s.order:
		return f
	case room == 0:
		// A family of minimal sets holds the empty set alone or not at all.
		return never
	}
	op := familyOp{what: opAtMost, room: uint8(room), f: f}
	if r, ok := s.done[op]; ok {
		return r
	}
	n := s.nodes[f]
	r := s.node(n.v, s.atMost(n.without, room), s.atMost(n.with, room-1))
	return s.keep(op, r)
}

// each hands over every set, smallest variable first, until told to stop.
func (s *families) each(f family, see func(vars []int32) bool) bool {
	var walk func(f family, vars []int32) bool
	walk = func(f family, vars []int32) bool {
		switch f {
		case never:
			return true
		case always:
			return see(vars)
		}
		n := s.nodes[f]
		return walk(n.with, append(vars, n.v)) && walk(n.without, vars)
	}
	return walk(f, make([]int32, 0, s.order))
}

// count tells how many sets there are of each size, without listing them.
func (s *families) count(f family) []*big.Int {
	done := map[family][]*big.Int{never: {}, always: {big.NewInt(1)}}
	var count func(f family) []*big.Int
	count = func(f family) []*big.Int {
		if c, ok := done[f]; ok {
			return c
		}
		without, with := count(s.nodes[f].without), count(s.nodes[f].with)
		c := make([]*big.Int, max(len(without), len(with)+1))
		for i := range c {
			c[i] = new(big.Int)
			if i < len(without) {
				c[i].Add(c[i], without[i])
			}
			if i > 0 && i <= len(with) {
				c[i].Add(c[i], with[i-1])
			}
		}
		done[f] = c
		return c
	}
	return count(f)
}

// cutFamily works out, joint by joint and cause by cause, what leaves each
// without supply: a joint is lost when every edge that reaches it is, an edge
// with its chain, the joint before it or a cause it waits for. It starts from
// "all is lost" and repeats until nothing changes, which is the least fixed
// point of what is supplied, so that relays that hold one another are not taken
// for supplied. It reports false when the work grows too large.
func (m *model) cutFamily(ctx context.Context, order int) (*families, family, []int32, bool) {
	m.evaluate(nil)
	s := newFamilies(ctx, order)
	chainOf, variable := m.variables()
	joints, causes := make([]family, m.nNodes), make([]family, len(m.causes))
	for i := range joints {
		joints[i] = always
	}
	for i := range causes {
		causes[i] = always
	}
	for _, r := range m.roots {
		joints[r.node] = never
	}
	lostFeed := func(f *feed) family {
		lost := s.either(s.single(variable[f.chain]), s.either(joints[f.u], joints[f.v]))
		for _, ca := range f.causes {
			lost = s.either(lost, causes[ca])
		}
		return lost
	}
	lostWay := func(e, from int32) family {
		ed := &m.edges[e]
		way := s.either(joints[from], s.single(variable[ed.chain]))
		for _, ca := range ed.causes {
			if !m.alive[ca] {
				return always
			}
			way = s.either(way, causes[ca])
		}
		return way
	}
	lostJoint := func(n int32) family {
		by := m.parent[n]
		lost := lostWay(by, m.edges[by].u+m.edges[by].v-n)
		for _, e := range m.adj[n] {
			from := m.edges[e].u + m.edges[e].v - n
			// A joint that is lost whenever this one is has nothing to give it.
			if e == by || m.label[from] < 0 || joints[from] == always || s.less(lost, joints[from]) == never {
				continue
			}
			lost = s.both(lost, lostWay(e, from), order)
		}
		return lost
	}
	for changed := true; changed && !s.failed; {
		changed = false
		for _, x := range m.order {
			if x >= 0 {
				if lost := lostJoint(x); lost != joints[x] {
					joints[x], changed = lost, true
				}
				continue
			}
			ca := &m.causes[^x]
			lost := lostFeed(&ca.feed)
			for _, k := range ca.needs {
				lost = s.either(lost, s.single(variable[k]))
			}
			if lost != causes[^x] {
				causes[^x], changed = lost, true
			}
		}
	}
	return s, lostFeed(&m.main), chainOf, !s.failed
}

// variables numbers the chains in the order in which the sound machine comes
// alive, which keeps what belongs together together.
func (m *model) variables() (chainOf, variable []int32) {
	variable = make([]int32, len(m.removed))
	for i := range variable {
		variable[i] = none
	}
	number := func(k int32) {
		if variable[k] == none {
			variable[k] = int32(len(chainOf))
			chainOf = append(chainOf, k)
		}
	}
	for _, x := range m.order {
		if x >= 0 {
			for _, e := range m.adj[x] {
				number(m.edges[e].chain)
			}
			continue
		}
		ca := &m.causes[^x]
		number(ca.feed.chain)
		for _, k := range ca.needs {
			number(k)
		}
	}
	number(m.main.chain)
	for i := range m.causes {
		number(m.causes[i].feed.chain)
	}
	for k := range variable {
		number(int32(k))
	}
	return chainOf, variable
}

// cutSetsBottomUp lists the minimal sets of a machine of relays by size. It
// reports false where the search by hitting sets must do it.
func (m *model) cutSetsBottomUp(ctx context.Context, opt Options) ([][][]int32, bool, error) {
	s, f, chainOf, ok := m.cutFamily(ctx, opt.Order)
	if !ok {
		return nil, false, ctx.Err()
	}
	out, room, total := make([][][]int32, opt.Order+1), opt.Order, 0
	counts := s.count(f)
	for _, n := range counts {
		total += int(n.Int64())
	}
	for ; total > opt.MaxSets && room > 1; room-- { // the smallest first
		if room < len(counts) {
			total -= int(counts[room].Int64())
		}
	}
	whole := s.each(s.atMost(f, room), func(vars []int32) bool {
		set := emptySet
		for i, v := range vars {
			set = set.with(chainOf[v], i)
		}
		out[len(vars)] = append(out[len(vars)], set.list())
		return len(out[len(vars)]) <= opt.MaxSets
	})
	if !whole || room < opt.Order {
		return out, true, ErrTooMany
	}
	return out, true, nil
}
