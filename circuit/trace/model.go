package trace

import (
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// model is the sound machine in one mode as an and-or graph: nodes are joints,
// edges the conducting chains between them, and causes the coils and controls
// that keep contacts on the edges closed. It exists only where that graph says
// all there is to say: see [Tracer.newModel].
type model struct {
	t      *Tracer
	nNodes int
	number []int32 // node by terminal, none where no edge ends
	edges  []edge
	adj    [][]int32 // edges by node
	roots  []root
	causes []cause
	main   feed
	// onCause marks chains that serve some cause.
	onCause []bool

	removed   []bool // by chain; what the present evaluation opens
	label     []int8 // by node: root that reaches it, or -1
	parent    []int32
	alive     []bool // by cause
	queue     []int32
	pending   [][]int32 // edges by cause that wait for it
	pendingAt [][]int32
	mark      []int32 // by chain: stamp of the support being collected
	causeMark []int32
	stamp     int32
	usual     int // chains of a support

	// order is how the present evaluation came about: nodes as they were
	// reached, and causes, as ^cause, as they came alive.
	order []int32
	spare
}

type edge struct {
	u, v   int32
	chain  int32
	causes []int32
}

// root is one potential of the supply.
type root struct {
	emf  complex128
	node int32
}

// feed is a two-terminal thing that must hang between two potentials.
type feed struct {
	load   circuit.BranchID
	chain  int32
	u, v   int32
	ru, rv int8 // roots
	causes []int32
}

// cause keeps one or more contacts closed: a coil that is fed, or a drive whose
// control is fed and sees what it must.
type cause struct {
	mover circuit.BranchID
	feed  feed
	// needs lists chains that must be intact besides the feed.
	needs []int32
}

// stiffOhms is the largest resistance of a join or contact that graph
// reasoning takes for a plain connection; the machine's loads draw their
// current through it with little loss. The solver checks the result.
const stiffOhms = 0.2

// newModel builds the and-or graph for a load, or returns nil where graph
// reasoning would not be exact: the machine comes out of another mode,
// chatters, or has tripped; the load or a coil it depends on is not fed
// straight from the supply; a normally closed contact could open because an
// open elsewhere made another normally closed contact close.
func (t *Tracer) newModel(mode circuit.ModeID, load circuit.BranchID, base *settle.Outcome) *model {
	if t.c.Mode(mode).After != circuit.None || base.Chatter != nil || len(base.Tripped) > 0 {
		return nil
	}
	m := &model{t: t}
	causeOf := map[circuit.BranchID]int32{}
	released := t.released(base)
	if !m.buildNodes(base) || !m.findCauses(base, released, causeOf) {
		return nil
	}
	m.buildEdges(base, causeOf)
	if m.couldShort(released) {
		return nil
	}
	nC := len(t.chains.list)
	m.removed, m.onCause = make([]bool, nC), make([]bool, nC)
	m.label, m.parent = make([]int8, m.nNodes), make([]int32, m.nNodes)
	m.alive = make([]bool, len(m.causes))
	m.pending, m.pendingAt = make([][]int32, len(m.causes)), make([][]int32, len(m.causes))
	m.mark, m.causeMark = make([]int32, nC), make([]int32, len(m.causes))
	m.spare = newSpare(m.nNodes, nC)
	if !m.fixFeeds(base, load, causeOf) {
		return nil
	}
	return m
}

// released is the outcome with every normally closed contact that is held open
// closed besides: opens make no more than this conduct, as long as the movers
// at rest stay so.
func (t *Tracer) released(base *settle.Outcome) *settle.Outcome {
	out := *base
	out.Conducts = slices.Clone(base.Conducts)
	for i := range out.Conducts {
		b := t.c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Contact && b.Rule.NormallyClosed && base.Acting[b.Rule.By] {
			out.Conducts[i] = true
		}
	}
	return &out
}

// buildNodes makes a node of each of the supply's potentials. Terminals become
// nodes as edges end there.
func (m *model) buildNodes(base *settle.Outcome) bool {
	c := m.t.c
	m.number = make([]int32, len(c.Terminals()))
	for i := range m.number {
		m.number[i] = none
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Source || !base.Conducts[i] {
			continue
		}
		known := false
		for _, r := range m.roots {
			known = known || cmplx.Abs(r.emf-b.EMF) < 1e-9
		}
		if !known {
			m.roots = append(m.roots, root{emf: b.EMF, node: int32(m.nNodes)})
			m.nNodes++
		}
	}
	return len(m.roots) > 0
}

// node maps a chain's end to its node, or none.
func (m *model) node(end int32) int32 {
	nT := int32(len(m.number))
	if end < nT {
		return m.number[end]
	}
	emf := m.t.c.Branch(circuit.BranchID(end - nT)).EMF
	for _, r := range m.roots {
		if cmplx.Abs(r.emf-emf) < 1e-9 {
			return r.node
		}
	}
	return none
}

// newNode is [model.node], making a node of a terminal that has none.
func (m *model) newNode(end int32) int32 {
	if end < int32(len(m.number)) && m.number[end] == none {
		m.number[end] = int32(m.nNodes)
		m.nNodes++
	}
	return m.node(end)
}

// findCauses numbers what moves contacts and refuses the cases that graph
// reasoning cannot take: a mover at rest that an open could set moving, a
// contact whose coil acted but once, or after a delay.
func (m *model) findCauses(base, released *settle.Outcome, causeOf map[circuit.BranchID]int32) bool {
	c := m.t.c
	restsOnCalm, actsOnClosed := false, false
	calm := map[circuit.BranchID]bool{}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Contact || b.Rule.By == circuit.None {
			continue
		}
		if !base.Acting[b.Rule.By] {
			calm[b.Rule.By] = true
			restsOnCalm = restsOnCalm || b.Rule.NormallyClosed
			continue
		}
		if b.Rule.NormallyClosed {
			actsOnClosed = true
			continue
		}
		if _, known := causeOf[b.Rule.By]; known {
			continue
		}
		if c.Branch(b.Rule.By).Start != circuit.None || b.Rule.Timed {
			return false
		}
		causeOf[b.Rule.By] = int32(len(m.causes))
		m.causes = append(m.causes, cause{mover: b.Rule.By})
	}
	for mover := range calm {
		if !m.staysCalm(mover, released) {
			return false
		}
	}
	return !(restsOnCalm && actsOnClosed)
}

// staysCalm reports whether no open can set a resting mover moving. A coil one
// end of which no supply conductor reaches, through contacts or loads, with all
// that is held open released, stays so; one that sees some voltage may see more
// when a neutral is lost.
func (m *model) staysCalm(mover circuit.BranchID, released *settle.Outcome) bool {
	t := m.t
	b := t.c.Branch(mover)
	if b.Role == circuit.Drive {
		return !slices.Contains(t.c.Mode(released.Mode).Drives, mover)
	}
	for _, end := range [2]circuit.TerminalID{b.A, b.B} {
		if _, supplied := t.island(released, end, mover); !supplied {
			return true
		}
	}
	return false
}

// buildEdges makes an edge of every chain of joins and contacts that conducts.
func (m *model) buildEdges(base *settle.Outcome, causeOf map[circuit.BranchID]int32) {
	for k := range m.t.chains.list {
		ch := &m.t.chains.list[k]
		if ch.u == none || ch.v == none {
			continue
		}
		causes, conducts := m.chainCauses(ch, base, causeOf, circuit.None)
		if !conducts {
			continue
		}
		u, v := m.newNode(ch.u), m.newNode(ch.v)
		if u == none || v == none || u == v {
			continue
		}
		m.edges = append(m.edges, edge{u: u, v: v, chain: int32(k), causes: causes})
	}
	m.adj = make([][]int32, m.nNodes)
	for e := range m.edges {
		u, v := m.edges[e].u, m.edges[e].v
		m.adj[u] = append(m.adj[u], int32(e))
		m.adj[v] = append(m.adj[v], int32(e))
	}
}

// couldShort reports whether normally closed contacts that are held open now
// would, all closed, tie two potentials together: then an open could trip the
// breaker.
func (m *model) couldShort(released *settle.Outcome) bool {
	nT := int32(len(m.number))
	at := func(end int32) int32 {
		if end < nT {
			return end
		}
		return nT + m.node(end) // a root
	}
	tied := circuit.NewGroups(int(nT) + m.nNodes)
	for k := range m.t.chains.list {
		ch := &m.t.chains.list[k]
		if ch.u == none || ch.v == none {
			continue
		}
		latent := true
		for _, id := range ch.branches {
			latent = latent && m.t.c.Branch(id).Role != circuit.Load && released.Conducts[id]
		}
		if latent {
			tied.Join(at(ch.u), at(ch.v))
		}
	}
	for i, r := range m.roots {
		for _, s := range m.roots[:i] {
			if tied.Of(nT+r.node) == tied.Of(nT+s.node) {
				return true
			}
		}
	}
	return false
}

// chainCauses lists what holds the chain's contacts closed, and whether every
// branch but the excepted load conducts without loss to speak of.
func (m *model) chainCauses(ch *chain, base *settle.Outcome, causeOf map[circuit.BranchID]int32, except circuit.BranchID) ([]int32, bool) {
	var causes []int32
	for _, id := range ch.branches {
		b := m.t.c.Branch(id)
		if id == except {
			continue
		}
		if !base.Conducts[id] || b.Role == circuit.Load || b.Role != circuit.Source && b.Ohms > stiffOhms {
			return nil, false
		}
		if b.Role == circuit.Contact && b.Rule.By != circuit.None && !b.Rule.NormallyClosed {
			causes = append(causes, causeOf[b.Rule.By])
		}
	}
	return causes, true
}

// fixFeeds resolves the main load's feed and every cause's, in the sound
// machine, and drops causes whose own feed is not straight from the supply
// when nothing depends on them.
func (m *model) fixFeeds(base *settle.Outcome, load circuit.BranchID, causeOf map[circuit.BranchID]int32) bool {
	c := m.t.c
	// With every cause taken as alive, labels tell which potential each node
	// has in the sound machine.
	for i := range m.alive {
		m.alive[i] = true
	}
	m.flood()
	var ok bool
	if m.main, ok = m.newFeed(load, base, causeOf, 0.95*base.AnyState.LoadVolts(load)); !ok {
		return false
	}
	for i := range m.causes {
		ca := &m.causes[i]
		mover := c.Branch(ca.mover)
		if mover.Role != circuit.Drive {
			if ca.feed, ok = m.newFeed(ca.mover, base, causeOf, mover.Pickup); !ok {
				return false
			}
			continue
		}
		ctl := c.ControlOf(ca.mover)
		if ca.feed, ok = m.newFeed(ctl.Supply, base, causeOf, ctl.MinVolts); !ok {
			return false
		}
		ca.needs = append(ca.needs, m.t.chains.of[ca.mover])
		for s, sense := range ctl.Senses {
			if state := base.Controls[m.controlIndex(ctl)].Senses[s]; state.Demanded {
				for _, k := range m.t.senseChains(sense, base.Conducts) {
					if len(m.t.senseCauses(k, causeOf)) > 0 {
						return false // a sense through a relay's contact
					}
					ca.needs = append(ca.needs, k)
				}
			}
		}
	}
	m.evaluate(nil)
	for i := range m.causes {
		if !m.alive[i] {
			return false // acting, yet not by a straight feed: held by itself
		}
		m.stamp++
		m.collectCause(int32(i), func(k int32) { m.onCause[k] = true })
	}
	if _, ok := m.evaluate(nil); !ok {
		return false
	}
	return true
}

func (m *model) controlIndex(ctl *circuit.Control) int {
	for i := range m.t.c.Controls() {
		if &m.t.c.Controls()[i] == ctl {
			return i
		}
	}
	return 0
}

// newFeed resolves how a load hangs between two potentials. It fails when it
// does not, or when their difference falls short of the volts needed.
func (m *model) newFeed(load circuit.BranchID, base *settle.Outcome, causeOf map[circuit.BranchID]int32, needVolts float64) (feed, bool) {
	k := m.t.chains.of[load]
	ch := &m.t.chains.list[k]
	if ch.u == none || ch.v == none {
		return feed{}, false
	}
	f := feed{load: load, chain: k, u: m.node(ch.u), v: m.node(ch.v)}
	var conducts bool
	if f.causes, conducts = m.chainCauses(ch, base, causeOf, load); !conducts || f.u == none || f.v == none {
		return feed{}, false
	}
	f.ru, f.rv = m.label[f.u], m.label[f.v]
	if f.ru < 0 || f.rv < 0 {
		return feed{}, false
	}
	volts := cmplx.Abs(m.roots[f.ru].emf - m.roots[f.rv].emf)
	return f, volts >= needVolts
}

// senseChains lists the chains of everything that conducts between a sense's
// pins, and the whole island they are on: what could change what is seen.
func (t *Tracer) senseChains(sense circuit.Sense, conducts []bool) []int32 {
	seen := map[circuit.TerminalID]bool{sense.Pin1: true}
	have := map[int32]bool{}
	var out []int32
	queue := []circuit.TerminalID{sense.Pin1}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, id := range t.at[at] {
			b := t.c.Branch(id)
			if !conducts[id] {
				continue
			}
			if k := t.chains.of[id]; !have[k] {
				have[k] = true
				out = append(out, k)
			}
			for _, next := range [2]circuit.TerminalID{b.A, b.B} {
				if next != circuit.None && !seen[next] {
					seen[next] = true
					queue = append(queue, next)
				}
			}
		}
	}
	return out
}

func (t *Tracer) senseCauses(k int32, causeOf map[circuit.BranchID]int32) []int32 {
	var out []int32
	for _, id := range t.chains.list[k].branches {
		if by := t.c.Branch(id).Rule.By; by != circuit.None {
			if ca, ok := causeOf[by]; ok {
				out = append(out, ca)
			}
		}
	}
	return out
}
