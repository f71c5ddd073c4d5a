package phasor

import (
	"math"
	"math/cmplx"

	"legtrace/circuit"
)

// buildMesh turns clusters, impedances and sources into a mesh, and gives
// every floating island a reference.
func (s *Solver) buildMesh() {
	m := &s.mesh
	for _, id := range s.sources {
		if s.states[id].kind == ideal {
			m.fix(s.cluster[s.c.Branch(id).B], s.states[id].emf)
		}
	}
	for _, id := range s.sources {
		if s.states[id].kind == impedance {
			node := m.addNode()
			m.fix(node, s.states[id].emf)
			m.connect(node, s.cluster[s.c.Branch(id).B], s.states[id].y)
		}
	}
	for _, g := range s.ground {
		m.connect(s.cluster[g.at], s.cluster[s.chassis], g.tie.y)
	}
	if p := s.probe; p != nil {
		m.connect(s.cluster[p.A], s.cluster[p.B], complex(1/p.Ohms, 0))
	}
	for i := range s.states {
		b := s.c.Branch(circuit.BranchID(i))
		if s.states[i].kind != impedance || b.Role == circuit.Source {
			continue
		}
		m.connect(s.cluster[b.A], s.cluster[b.B], s.states[i].y)
	}
	s.refer()
	for i := range s.states {
		b := s.c.Branch(circuit.BranchID(i))
		if b.Secondary != circuit.None && coupled(&s.states[i], &s.states[b.Secondary]) {
			s.couple(b)
		}
	}
}

// couple replaces a transformer's secondary impedance by the four-terminal
// network of an ideal transformer behind that impedance.
func (s *Solver) couple(primary *circuit.Branch) {
	m := &s.mesh
	secondary := s.c.Branch(primary.Secondary)
	y := s.states[secondary.ID].y
	a := complex(1/primary.TurnsRatio, 0)
	p1, p2 := s.cluster[primary.A], s.cluster[primary.B]
	s1, s2 := s.cluster[secondary.A], s.cluster[secondary.B]
	m.connect(p1, p2, a*a*y)
	m.connect(p1, s1, a*y)
	m.connect(p1, s2, -a*y)
	m.connect(p2, s1, -a*y)
	m.connect(p2, s2, a*y)
	// The secondary's own y between s1 and s2 is there already.
}

// refer finds islands tied to no known voltage and holds one node of each at
// zero; conduction only, before transformers couple anything.
func (s *Solver) refer() {
	m := &s.mesh
	n := len(m.known)
	// m.seen holds the island of each node here: 0 unset, 1 supplied, 2+ floating.
	next := int32(2)
	s.members = s.members[:0]
	flood := func(root, mark int32) {
		m.seen[root] = mark
		s.members = append(s.members[:0], root)
		for len(s.members) > 0 {
			k := s.members[len(s.members)-1]
			s.members = s.members[:len(s.members)-1]
			for _, e := range m.adj[k] {
				far := m.edges[e].a
				if far == k {
					far = m.edges[e].b
				}
				if m.seen[far] == 0 {
					m.seen[far] = mark
					s.members = append(s.members, far)
				}
			}
		}
	}
	for i := 0; i < n; i++ {
		if m.known[i] && m.seen[i] == 0 {
			flood(int32(i), 1)
		}
	}
	for i := 0; i < n; i++ {
		if m.seen[i] == 0 {
			flood(int32(i), next)
			m.fix(int32(i), 0)
			next++
		}
	}
	m.stamp = next
}

// solution reads the mesh's voltages back and pushes currents through joins.
func (s *Solver) solution() *Solution {
	m := &s.mesh
	nT, nB := len(s.cluster), len(s.states)
	out := &Solution{c: s.c, Volts: make([]complex128, nT), Floating: make([]bool, nT),
		Amps: make([]complex128, nB), island: make([]int32, nT), watts: make([]float64, nB)}
	islands := s.islands()
	for t := range out.Volts {
		k := s.cluster[t]
		out.Volts[t], out.island[t] = m.volts[k], islands[k]
		out.Floating[t] = islands[k] > 1
	}
	for _, id := range s.faulty {
		if ohms := s.states[id].series; ohms != 0 {
			if out.series == nil {
				out.series = map[circuit.BranchID]float64{}
			}
			out.series[id] = ohms
		}
	}
	s.impedanceCurrents(out)
	s.joinCurrents(out)
	return out
}

// islands marks each mesh node 1 when tied to the supply, else with the number
// of its floating island.
func (s *Solver) islands() []int32 {
	m := &s.mesh
	out := make([]int32, len(m.known))
	groups := circuit.NewGroups(len(m.known))
	root, union := groups.Of, groups.Join
	supplied := int32(-1)
	tie := func(node int32) {
		if supplied < 0 {
			supplied = node
		}
		union(node, supplied)
	}
	for _, id := range s.sources {
		if s.states[id].kind != absent {
			tie(s.cluster[s.c.Branch(id).B])
		}
	}
	for i := range s.states {
		b := s.c.Branch(circuit.BranchID(i))
		if s.states[i].kind == impedance && b.Role != circuit.Source {
			union(s.cluster[b.A], s.cluster[b.B])
		}
	}
	for _, g := range s.ground {
		union(s.cluster[g.at], s.cluster[s.chassis])
	}
	if p := s.probe; p != nil {
		union(s.cluster[p.A], s.cluster[p.B])
	}
	numbers := map[int32]int32{}
	for i := range out {
		r := root(int32(i))
		if supplied >= 0 && r == root(supplied) {
			out[i] = 1
			continue
		}
		if numbers[r] == 0 {
			numbers[r] = int32(len(numbers)) + 2
		}
		out[i] = numbers[r]
	}
	return out
}

// fresh is a full solve's voltages beside the branches they belong to.
type fresh struct {
	*Solver
	volts []complex128
}

func (f *fresh) Volts(t circuit.TerminalID) complex128 { return f.volts[t] }

func (s *Solver) stateOf(id circuit.BranchID) *state { return &s.states[id] }

// impedanceCurrents fills in currents and watts of everything that is not an
// ideal join, and what each draws out of its terminals.
func (s *Solver) impedanceCurrents(out *Solution) {
	clear(s.push)
	var now solved = &fresh{s, out.Volts}
	draw := func(from, to circuit.TerminalID, amps complex128) {
		s.push[from] += amps
		s.push[to] -= amps
	}
	for i := range s.states {
		st := &s.states[i]
		if st.kind != impedance && !st.split {
			continue
		}
		b := s.c.Branch(circuit.BranchID(i))
		out.Amps[i], out.watts[i] = s.amps(now, b, st), s.watts(now, b, st)
		if b.Role == circuit.Source {
			s.push[b.B] -= out.Amps[i]
			continue
		}
		draw(b.A, b.B, s.through(now, b, st))
	}
	for _, g := range s.ground {
		draw(g.at, s.chassis, g.tie.y*(out.Volts[g.at]-out.Volts[s.chassis]))
	}
	if p := s.probe; p != nil {
		draw(p.A, p.B, (out.Volts[p.A]-out.Volts[p.B])/complex(p.Ohms, 0))
	}
}

// joinCurrents pushes what the impedances draw through each cluster's tree of
// joins, leaves first, and measures what is left over at the roots.
func (s *Solver) joinCurrents(out *Solution) {
	// Volts are rounded, and over milliohms that alone makes picoamperes: an
	// imbalance is not held against currents below an ampere.
	largest, left := 1.0, 0.0
	for i := range out.Amps {
		largest = max(largest, cmplx.Abs(out.Amps[i]))
	}
	for i := len(s.order) - 1; i >= 0; i-- {
		t := s.order[i]
		draw := s.push[t]
		if up := s.parent[t]; up >= 0 {
			s.push[up] += draw
			if id := s.via[t]; id >= 0 {
				b := s.c.Branch(circuit.BranchID(id))
				if int32(b.B) == t {
					out.Amps[id] = draw
				} else {
					out.Amps[id] = -draw
				}
				largest = max(largest, cmplx.Abs(draw))
			}
			continue
		}
		// A tree fed by an ideal source hangs from that source's terminal.
		fed := false
		for _, id := range s.sources {
			if s.states[id].kind == ideal && int32(s.c.Branch(id).B) == t {
				out.Amps[id], fed = draw, true
				break
			}
		}
		if !fed {
			left = max(left, cmplx.Abs(draw))
		}
		largest = max(largest, cmplx.Abs(draw))
	}
	out.Residual = left / largest
}

// Resistance returns the direct-current resistance between two terminals with
// the supply removed, in the condition given. It is +Inf, with false, when
// nothing connects them.
func (s *Solver) Resistance(in Input, a, b circuit.TerminalID) (float64, bool) {
	s.classify(in, true)
	s.merge(&a)
	if s.cluster[b] < 0 {
		return math.Inf(1), false
	}
	if s.cluster[a] == s.cluster[b] {
		return 0, true
	}
	m := &s.mesh
	m.fix(s.cluster[a], 1)
	m.fix(s.cluster[b], 0)
	var direct complex128 // between the two probes
	add := func(x, y int32, adm complex128) {
		if m.known[x] && m.known[y] {
			if x != y {
				direct += adm
			}
			return
		}
		m.connect(x, y, adm)
	}
	for _, g := range s.ground {
		if s.cluster[g.at] >= 0 && s.cluster[s.chassis] >= 0 {
			add(s.cluster[g.at], s.cluster[s.chassis], g.tie.y)
		}
	}
	for _, t := range s.order {
		for _, id := range s.incident[t] {
			br := s.c.Branch(id)
			if s.states[id].kind == impedance && int32(br.A) == t {
				add(s.cluster[br.A], s.cluster[br.B], s.states[id].y)
			}
		}
	}
	drawn := make([]meshEdge, len(m.edges))
	copy(drawn, m.edges)
	if m.solve() != nil {
		return math.Inf(1), false
	}
	amps := direct
	probe := s.cluster[a]
	for _, e := range drawn {
		switch probe {
		case e.a:
			amps += e.y * (1 - m.volts[e.b])
		case e.b:
			amps += e.y * (1 - m.volts[e.a])
		}
	}
	if real(amps) <= 0 {
		return math.Inf(1), false
	}
	return 1 / real(amps), true
}
