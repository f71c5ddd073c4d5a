package trace

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// Feed is how a load hangs between two supply conductors.
type Feed struct {
	Load circuit.BranchID
	// Ends are the ways to the load's terminals A and B.
	Ends [2]End
	// Holds tell what keeps the contacts on the ends closed, nearest first,
	// then what keeps those, each contact once.
	Holds []Hold
}

// Fed reports whether both ends are made.
func (f *Feed) Fed() bool { return f.Ends[0].Made() && f.Ends[1].Made() }

// End is the way from a supply conductor to one terminal of a load.
type End struct {
	Terminal circuit.TerminalID
	// Source is the conductor the way starts at, or None when no way exists
	// even with every contact closed.
	Source circuit.BranchID
	// Hops lead from the source to the terminal.
	Hops []Hop
	// Missing lists what on the way does not conduct now.
	Missing []circuit.BranchID
	// Through lists other loads on the way: the load is in series with them.
	Through []circuit.BranchID
}

// Made reports whether the way conducts from end to end, through joins and
// contacts alone.
func (e *End) Made() bool {
	return e.Source != circuit.None && len(e.Missing) == 0 && len(e.Through) == 0
}

// Hop is one branch on a way, from one terminal to the next. From is None for
// the source itself.
type Hop struct {
	Branch   circuit.BranchID
	From, To circuit.TerminalID
}

// Hold is what keeps a contact closed.
type Hold struct {
	Contact circuit.BranchID
	// Mover is the coil, motor or drive.
	Mover circuit.BranchID
	// Feed is how the coil, or the drive's control, is fed.
	Feed *Feed
	// Control is set for a drive; Senses are what it must see.
	Control *circuit.Control
	Senses  []SensePath
}

// SensePath is what a control looks through between two pins.
type SensePath struct {
	Sense circuit.Sense
	// Branches conduct between the pins: wires, connectors, the sensor.
	Branches []circuit.BranchID
	Ohms     float64
	OK       bool
}

// Feed finds how the load is fed in the settled machine.
func (t *Tracer) Feed(out *settle.Outcome, load circuit.BranchID) *Feed {
	f := t.feedAlone(out, load)
	seen := map[circuit.BranchID]bool{}
	queue := []*Feed{f}
	for len(queue) > 0 {
		next := queue[0]
		queue = queue[1:]
		for i := range next.Ends {
			for _, hop := range next.Ends[i].Hops {
				b := t.c.Branch(hop.Branch)
				if b.Role != circuit.Contact || b.Rule.By == circuit.None || seen[b.ID] {
					continue
				}
				seen[b.ID] = true
				h := t.hold(out, b)
				f.Holds = append(f.Holds, h)
				queue = append(queue, h.Feed)
			}
		}
	}
	return f
}

func (t *Tracer) hold(out *settle.Outcome, contact *circuit.Branch) Hold {
	h := Hold{Contact: contact.ID, Mover: contact.Rule.By}
	if t.c.Branch(h.Mover).Role != circuit.Drive {
		h.Feed = t.feedAlone(out, h.Mover)
		return h
	}
	h.Control = t.c.ControlOf(h.Mover)
	h.Feed = t.feedAlone(out, h.Control.Supply)
	for i := range t.c.Controls() {
		if &t.c.Controls()[i] != h.Control {
			continue
		}
		for j, sense := range h.Control.Senses {
			state := out.Controls[i].Senses[j]
			if !state.Demanded {
				continue
			}
			p := SensePath{Sense: sense, OK: state.OK, Ohms: math.Inf(1)}
			if state.Connected {
				p.Ohms = state.Ohms
			}
			for _, k := range t.senseChains(sense, out.Conducts) {
				p.Branches = append(p.Branches, t.chains.list[k].branches...)
			}
			h.Senses = append(h.Senses, p)
		}
	}
	return h
}

// Way finds how a terminal hangs on the nearest leg that is not at the neutral
// point's voltage: through what conducts if it can, else through other loads.
func (t *Tracer) Way(out *settle.Outcome, at circuit.TerminalID) End {
	neutral := complex128(0)
	return t.end(out, circuit.None, at, &neutral)
}

// feedAlone finds the two ends, without what holds their contacts.
func (t *Tracer) feedAlone(out *settle.Outcome, load circuit.BranchID) *Feed {
	b := t.c.Branch(load)
	f := &Feed{Load: load}
	f.Ends[0] = t.end(out, load, b.A, nil)
	var other *complex128
	if f.Ends[0].Source != circuit.None {
		emf := t.c.Branch(f.Ends[0].Source).EMF
		other = &emf
	}
	f.Ends[1] = t.end(out, load, b.B, other)
	if other == nil || f.Ends[0].Made() || f.Ends[1].Made() {
		return f
	}
	// Both ends are open; the second may have the shorter way to what the
	// first was given.
	swapped := t.end(out, load, b.B, nil)
	if swapped.Source == circuit.None {
		return f
	}
	if emf := t.c.Branch(swapped.Source).EMF; cmplx.Abs(emf-*other) < 1e-9 {
		if first := t.end(out, load, b.A, &emf); first.Source != circuit.None && len(first.Missing)+len(swapped.Missing) < len(f.Ends[0].Missing)+len(f.Ends[1].Missing) {
			f.Ends = [2]End{first, swapped}
		}
	}
	return f
}

// end finds the way to a terminal from the nearest conductor whose voltage is
// not the one given: by what conducts if it can be, else over as few open
// contacts, and then other loads, as possible.
func (t *Tracer) end(out *settle.Outcome, load circuit.BranchID, at circuit.TerminalID, not *complex128) End {
	allowed := func(b *circuit.Branch) bool {
		return not == nil || cmplx.Abs(b.EMF-*not) > 1e-9
	}
	if e, ok := t.endMade(out, at, allowed); ok {
		return e
	}
	return t.endBroken(out, load, at, allowed)
}

// endMade is a breadth-first search through what conducts.
func (t *Tracer) endMade(out *settle.Outcome, at circuit.TerminalID, allowed func(*circuit.Branch) bool) (End, bool) {
	type step struct {
		branch circuit.BranchID
		toward circuit.TerminalID
	}
	from := map[circuit.TerminalID]step{at: {circuit.None, circuit.None}}
	queue := []circuit.TerminalID{at}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, id := range t.at[n] {
			b := t.c.Branch(id)
			if !out.Conducts[id] || b.Role == circuit.Load {
				continue
			}
			if b.Role == circuit.Source {
				if !allowed(b) {
					continue
				}
				e := End{Terminal: at, Source: id, Hops: []Hop{{id, circuit.None, n}}}
				for n != at {
					s := from[n]
					e.Hops = append(e.Hops, Hop{s.branch, n, s.toward})
					n = s.toward
				}
				return e, true
			}
			far := b.A
			if far == n {
				far = b.B
			}
			if _, seen := from[far]; !seen {
				from[far] = step{id, n}
				queue = append(queue, far)
			}
		}
	}
	return End{}, false
}

// Weights of what stands in the way, so large that fewer open contacts always
// beat fewer hops, and any number of open contacts beats another load.
const (
	weightHop  = 1
	weightOpen = 1 << 20
	weightLoad = 1 << 40
)

// endBroken is a shortest path (Dijkstra's algorithm, in gonum) over weighted
// branches.
func (t *Tracer) endBroken(out *settle.Outcome, load circuit.BranchID, at circuit.TerminalID, allowed func(*circuit.Branch) bool) End {
	g := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
	best := map[[2]circuit.TerminalID]circuit.BranchID{}
	pair := func(a, b circuit.TerminalID) [2]circuit.TerminalID {
		return [2]circuit.TerminalID{min(a, b), max(a, b)}
	}
	weight := func(b *circuit.Branch) float64 {
		switch {
		case b.Role == circuit.Load:
			return weightLoad
		case !out.Conducts[b.ID]:
			return weightOpen
		}
		return weightHop
	}
	var sources []*circuit.Branch
	for i := range t.c.Branches() {
		b := t.c.Branch(circuit.BranchID(i))
		switch {
		case b.Role == circuit.Source && allowed(b):
			sources = append(sources, b)
		case b.Role == circuit.Drive || b.Role == circuit.Source || b.ID == load || b.A == b.B:
		default:
			p := pair(b.A, b.B)
			if old, ok := best[p]; ok && weight(t.c.Branch(old)) <= weight(b) {
				continue
			}
			best[p] = b.ID
			g.SetWeightedEdge(simple.WeightedEdge{F: simple.Node(b.A), T: simple.Node(b.B), W: weight(b)})
		}
	}
	e := End{Terminal: at, Source: circuit.None}
	if g.Node(int64(at)) == nil {
		return e
	}
	tree := path.DijkstraFrom(simple.Node(at), g)
	least := math.Inf(1)
	for _, s := range sources {
		w := tree.WeightTo(int64(s.B))
		if !out.Conducts[s.ID] {
			w += weightOpen
		}
		if w < least {
			least, e.Source = w, s.ID
		}
	}
	if e.Source == circuit.None {
		return e
	}
	source := t.c.Branch(e.Source)
	nodes, _ := tree.To(int64(source.B))
	e.Hops = append(e.Hops, Hop{e.Source, circuit.None, source.B})
	for i := len(nodes) - 1; i > 0; i-- {
		a, b := circuit.TerminalID(nodes[i].ID()), circuit.TerminalID(nodes[i-1].ID())
		e.Hops = append(e.Hops, Hop{best[pair(a, b)], a, b})
	}
	for _, hop := range e.Hops {
		b := t.c.Branch(hop.Branch)
		switch {
		case b.Role == circuit.Load:
			e.Through = append(e.Through, b.ID)
		case !out.Conducts[b.ID]:
			e.Missing = append(e.Missing, b.ID)
		}
	}
	return e
}

// Shares tells, for every branch on the feed, which other loads energised in
// the settled machine use it too: what they prove good by working.
func (t *Tracer) Shares(out *settle.Outcome, f *Feed) map[circuit.BranchID][]circuit.BranchID {
	shares := map[circuit.BranchID][]circuit.BranchID{}
	for i := range f.Ends {
		for _, hop := range f.Ends[i].Hops {
			shares[hop.Branch] = nil
		}
	}
	for _, load := range t.c.Loads() {
		if load == f.Load || out.LeastShare(load) < DefaultShare {
			continue
		}
		other := t.feedAlone(out, load)
		for i := range other.Ends {
			if !other.Ends[i].Made() {
				continue
			}
			for _, hop := range other.Ends[i].Hops {
				if _, on := shares[hop.Branch]; on {
					shares[hop.Branch] = append(shares[hop.Branch], load)
				}
			}
		}
	}
	return shares
}

// vias says what each chain does for the load, and gives the chains an order:
// along the feed from each conductor, then what holds its contacts.
func (t *Tracer) vias(mode circuit.ModeID, load circuit.BranchID, base *settle.Outcome) (map[int32]Via, func(int32) int32) {
	via := map[int32]Via{}
	rank := map[int32]int32{}
	set := func(id circuit.BranchID, v Via) {
		k := t.chains.of[id]
		if _, known := via[k]; !known {
			via[k] = v
			rank[k] = int32(len(rank))
		}
	}
	f := t.Feed(base, load)
	loadChain := t.chains.of[load]
	via[loadChain] = Via{Kind: ViaLoad, Source: circuit.None, Held: circuit.None}
	ends := []End{f.Ends[0], f.Ends[1]}
	for _, e := range ends {
		for _, hop := range e.Hops {
			set(hop.Branch, Via{Kind: ViaFeed, Source: e.Source, Held: circuit.None})
		}
	}
	rank[loadChain] = int32(len(rank))
	for _, h := range f.Holds {
		set(h.Mover, Via{Kind: viaOf(h), Source: circuit.None, Held: h.Contact})
		if h.Control != nil {
			set(h.Control.Supply, Via{Kind: ViaPower, Source: circuit.None, Held: h.Contact})
		}
		kind := ViaCoil
		if h.Control != nil {
			kind = ViaPower
		}
		for _, e := range h.Feed.Ends {
			for _, hop := range e.Hops {
				set(hop.Branch, Via{Kind: kind, Source: e.Source, Held: h.Contact})
			}
		}
		for _, s := range h.Senses {
			for _, id := range s.Branches {
				set(id, Via{Kind: ViaSense, Source: circuit.None, Held: h.Contact, Sense: s.Sense.Name})
			}
		}
	}
	for _, e := range f.Ends {
		if e.Made() {
			t.beside(base, e, set)
		}
	}
	return via, func(k int32) int32 {
		if r, ok := rank[k]; ok {
			return r
		}
		return int32(len(rank)) + k
	}
}

// beside marks what conducts to a made end without being on the shortest way.
func (t *Tracer) beside(out *settle.Outcome, e End, set func(circuit.BranchID, Via)) {
	seen := map[circuit.TerminalID]bool{e.Terminal: true}
	queue := []circuit.TerminalID{e.Terminal}
	for len(queue) > 0 {
		at := queue[0]
		queue = queue[1:]
		for _, id := range t.at[at] {
			b := t.c.Branch(id)
			if !out.Conducts[id] || b.Role == circuit.Load || b.Role == circuit.Source {
				continue
			}
			set(id, Via{Kind: ViaBeside, Source: e.Source, Held: circuit.None})
			for _, far := range [2]circuit.TerminalID{b.A, b.B} {
				if !seen[far] {
					seen[far] = true
					queue = append(queue, far)
				}
			}
		}
	}
}

func viaOf(h Hold) ViaKind {
	if h.Control != nil {
		return ViaDrive
	}
	return ViaCoil
}
