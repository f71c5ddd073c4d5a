package phasor

import (
	"math"
	"math/cmplx"

	"legtrace/circuit"
)

// node maps a half's end to a mesh node: a terminal's cluster, or an interior
// node made on first use.
func (s *Solver) node(end int32, interior map[int32]int32) int32 {
	if end >= 0 {
		return s.cluster[end]
	}
	id, ok := interior[end]
	if !ok {
		id = s.mesh.addNode()
		interior[end] = id
	}
	return id
}

// buildMesh turns clusters, impedances and sources into a mesh, and gives
// every floating island a reference.
func (s *Solver) buildMesh() {
	m := &s.mesh
	for _, id := range s.sources {
		if s.kind[id] == ideal {
			m.fix(s.cluster[s.c.Branch(id).B], s.emf[id])
		}
	}
	for _, id := range s.sources {
		if s.kind[id] == impedance {
			node := m.addNode()
			m.fix(node, s.emf[id])
			m.connect(node, s.cluster[s.c.Branch(id).B], s.y[id])
		}
	}
	var interior map[int32]int32
	if len(s.halves) > 0 {
		interior = map[int32]int32{}
	}
	for _, h := range s.halves {
		m.connect(s.node(h.a, interior), s.node(h.b, interior), h.y)
	}
	for i := range s.kind {
		b := s.c.Branch(circuit.BranchID(i))
		if s.kind[i] != impedance || b.Role == circuit.Source {
			continue
		}
		m.connect(s.cluster[b.A], s.cluster[b.B], s.y[i])
	}
	s.refer()
	for i := range s.kind {
		b := s.c.Branch(circuit.BranchID(i))
		if b.Secondary != circuit.None && s.kind[i] == impedance && s.kind[b.Secondary] == impedance {
			s.couple(b)
		}
	}
}

// couple replaces a transformer's secondary impedance by the four-terminal
// network of an ideal transformer behind that impedance.
func (s *Solver) couple(primary *circuit.Branch) {
	m := &s.mesh
	secondary := s.c.Branch(primary.Secondary)
	y := s.y[secondary.ID]
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
	nT, nB := len(s.cluster), len(s.kind)
	out := &Solution{c: s.c, Volts: make([]complex128, nT), Floating: make([]bool, nT),
		Amps: make([]complex128, nB), island: make([]int32, nT), watts: make([]float64, nB), series: s.series}
	islands := s.islands()
	for t := range out.Volts {
		k := s.cluster[t]
		out.Volts[t], out.island[t] = m.volts[k], islands[k]
		out.Floating[t] = islands[k] > 1
	}
	for t := range s.push {
		s.push[t] = 0
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
		if s.kind[id] != absent {
			tie(s.cluster[s.c.Branch(id).B])
		}
	}
	for i := range s.kind {
		b := s.c.Branch(circuit.BranchID(i))
		if s.kind[i] == impedance && b.Role != circuit.Source {
			union(s.cluster[b.A], s.cluster[b.B])
		}
	}
	interior := map[int32]int32{}
	for _, h := range s.halves {
		ends := [2]int32{}
		for i, end := range [2]int32{h.a, h.b} {
			if end >= 0 {
				ends[i] = s.cluster[end]
				continue
			}
			// An interior node stands in by the first terminal that reaches it.
			if first, ok := interior[end]; ok {
				ends[i] = first
			} else {
				ends[i] = -1
			}
		}
		switch {
		case ends[0] < 0 && ends[1] < 0:
		case ends[0] < 0:
			interior[h.a] = ends[1]
		case ends[1] < 0:
			interior[h.b] = ends[0]
		default:
			union(ends[0], ends[1])
		}
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

// impedanceCurrents fills in currents and watts of everything that is not an
// ideal join, and what each draws out of its terminals.
func (s *Solver) impedanceCurrents(out *Solution) {
	for i := range s.kind {
		b := s.c.Branch(circuit.BranchID(i))
		if s.kind[i] != impedance {
			continue
		}
		if b.Role == circuit.Source {
			out.Amps[i] = s.y[i] * (s.emf[i] - out.Volts[b.B])
			s.push[b.B] -= out.Amps[i]
			continue
		}
		v := out.Volts[b.A] - out.Volts[b.B]
		out.Amps[i] += s.y[i] * v
		if b.Secondary != circuit.None && s.kind[b.Secondary] == impedance {
			sec := s.c.Branch(b.Secondary)
			a := complex(1/b.TurnsRatio, 0)
			is := s.y[sec.ID] * (a*v - (out.Volts[sec.A] - out.Volts[sec.B]))
			out.Amps[i] += a * is
			// The secondary, which comes later, adds its current as a plain
			// impedance; through it from S1 to S2 flows -is instead.
			plain := s.y[sec.ID] * (out.Volts[sec.A] - out.Volts[sec.B])
			out.Amps[sec.ID] = -is - plain
		}
		s.push[b.A] += out.Amps[i]
		s.push[b.B] -= out.Amps[i]
	}
	for i := range s.kind {
		b := s.c.Branch(circuit.BranchID(i))
		if s.kind[i] == impedance && b.Role == circuit.Load {
			v := out.Volts[b.A] - out.Volts[b.B]
			out.watts[i] = real(v * cmplx.Conj(out.Amps[i]))
		}
	}
	for id, ohms := range s.series {
		amps := cmplx.Abs(out.Amps[id])
		out.watts[id] -= amps * amps * ohms
	}
	interior := map[int32]complex128{}
	for _, h := range s.halves {
		for _, end := range [2]int32{h.a, h.b} {
			if end < 0 {
				interior[end] = 0
			}
		}
	}
	s.interiorVolts(interior)
	at := func(end int32) complex128 {
		if end < 0 {
			return interior[end]
		}
		return out.Volts[end]
	}
	for _, h := range s.halves {
		v := at(h.a) - at(h.b)
		i := h.y * v
		if h.a >= 0 {
			s.push[h.a] += i
		}
		if h.b >= 0 {
			s.push[h.b] -= i
		}
		if h.branch != circuit.None {
			out.watts[h.branch] += real(v * cmplx.Conj(i))
			if h.a == int32(s.c.Branch(h.branch).A) {
				out.Amps[h.branch] = i
			}
		}
	}
}

// interiorVolts fills in the voltages of interior nodes from the halves that
// meet there.
func (s *Solver) interiorVolts(interior map[int32]complex128) {
	for node := range interior {
		var sum, total complex128
		for _, h := range s.halves {
			if h.a == node && h.b >= 0 {
				sum, total = sum+h.y*s.mesh.volts[s.cluster[h.b]], total+h.y
			}
			if h.b == node && h.a >= 0 {
				sum, total = sum+h.y*s.mesh.volts[s.cluster[h.a]], total+h.y
			}
		}
		if total != 0 {
			interior[node] = sum / total
		}
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
			if s.kind[id] == ideal && int32(s.c.Branch(id).B) == t {
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
	interior := map[int32]int32{}
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
	for _, h := range s.halves {
		if (h.a >= 0 && s.cluster[h.a] < 0) || (h.b >= 0 && s.cluster[h.b] < 0) {
			continue
		}
		add(s.node(h.a, interior), s.node(h.b, interior), h.y)
	}
	for _, t := range s.order {
		for _, id := range s.incident[t] {
			br := s.c.Branch(id)
			if s.kind[id] == impedance && int32(br.A) == t {
				add(s.cluster[br.A], s.cluster[br.B], s.y[id])
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
