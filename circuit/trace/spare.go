package trace

// spare is the working memory of [model.essentialBeside].
type spare struct {
	isEssential []bool // by chain: the answer
	was         []int32
	place       []int32 // by node: its place on the path, or none
	seen        []bool  // by node
	stack       []int32
	path        []int32 // nodes
	crossed     []int32 // edges of the path

	bit      []int32 // by chain: its bit, or none
	needNode [][]uint64
	needOf   [][]uint64 // by cause
	arena    []uint64
	full     []uint64
}

func newSpare(nodes, chains int) spare {
	s := spare{isEssential: make([]bool, chains), place: make([]int32, nodes), seen: make([]bool, nodes),
		bit: make([]int32, chains), needNode: make([][]uint64, nodes)}
	for i := range s.place {
		s.place[i] = none
	}
	for i := range s.bit {
		s.bit[i] = none
	}
	return s
}

// essentialBeside marks, in isEssential, the chains that the main load cannot
// spare beside a set that the last evaluation left it fed without. Where only
// the ways of its two ends can matter it walks them; else it works out for every
// joint and cause the chains that it cannot be had without, as dominators are
// found by intersecting sets along a flow graph.
func (m *model) essentialBeside(set, support []int32, ways bool) {
	for _, k := range m.was {
		m.isEssential[k] = false
	}
	m.was = m.was[:0]
	if !ways {
		m.needed(set, support)
		return
	}
	for _, k := range set {
		m.removed[k] = true
	}
	for _, end := range [2]int32{m.main.u, m.main.v} {
		m.bridges(end)
	}
	for _, k := range set {
		m.removed[k] = false
	}
}

func (m *model) markEssential(k int32) {
	if !m.isEssential[k] {
		m.isEssential[k] = true
		m.was = append(m.was, k)
	}
}

// bridges marks the chains on the way to a node without which there is none:
// what is reached without crossing the way's own edges is flooded as far as it
// goes, and where it gets no further the next edge is a bridge.
func (m *model) bridges(end int32) {
	m.path, m.crossed = m.path[:0], m.crossed[:0]
	for n := end; ; {
		m.path = append(m.path, n)
		e := m.parent[n]
		if e == none {
			break
		}
		m.crossed = append(m.crossed, e)
		n = m.edges[e].u + m.edges[e].v - n
	}
	last := int32(len(m.path) - 1) // the root's place
	for i, n := range m.path {
		m.place[n] = last - int32(i)
	}
	far, done := int32(0), int32(-1)
	var touched []int32
	for far < last || done < far {
		for done < far {
			done++
			touched = m.reach(m.path[last-done], &far, touched)
		}
		if far < last {
			m.markEssential(m.edges[m.crossed[last-1-far]].chain)
			far++
		}
	}
	for _, n := range touched {
		m.seen[n] = false
	}
	for _, n := range m.path {
		m.place[n] = none
	}
}

// reach floods from a node of the path over edges that are not the path's, and
// moves far on to the furthest place it meets.
func (m *model) reach(from int32, far *int32, touched []int32) []int32 {
	if m.seen[from] {
		return touched
	}
	last := int32(len(m.path) - 1)
	m.seen[from] = true
	touched = append(touched, from)
	m.stack = append(m.stack[:0], from)
	for len(m.stack) > 0 {
		n := m.stack[len(m.stack)-1]
		m.stack = m.stack[:len(m.stack)-1]
	edges:
		for _, e := range m.adj[n] {
			ed := &m.edges[e]
			if m.removed[ed.chain] {
				continue
			}
			for _, ca := range ed.causes {
				if !m.alive[ca] {
					continue edges
				}
			}
			next := ed.u + ed.v - n
			if p, q := m.place[n], m.place[next]; p != none && q != none && (q-p == 1 || p-q == 1) && m.crossed[last-1-min(p, q)] == e {
				continue
			}
			if q := m.place[next]; q != none {
				*far = max(*far, q)
			}
			if !m.seen[next] {
				m.seen[next] = true
				touched = append(touched, next)
				m.stack = append(m.stack, next)
			}
		}
	}
	return touched
}

// needed marks, among the chains of the support, those that the main load
// cannot be had without.
func (m *model) needed(set, support []int32) {
	for i, k := range support {
		m.bit[k] = int32(i)
	}
	for _, k := range set {
		m.removed[k] = true
	}
	words := (len(support) + 63) / 64
	m.begin(words, len(support))
	acc := m.take(words)
	for changed := true; changed; {
		changed = false
		for _, x := range m.order {
			if x < 0 {
				changed = m.needOfCause(^x, acc) || changed
			} else {
				changed = m.needOfNode(x, acc) || changed
			}
		}
	}
	m.needOfFeed(&m.main, acc)
	for i, k := range support {
		if acc[i/64]&(1<<(i%64)) != 0 {
			m.markEssential(k)
		}
		m.bit[k] = none
	}
	for _, k := range set {
		m.removed[k] = false
	}
}

// begin gives every joint and cause that was reached the full set, but the
// supply's own joints the empty one.
func (m *model) begin(words, n int) {
	want := words * (len(m.order) + len(m.roots) + 2)
	if cap(m.arena) < want {
		m.arena = make([]uint64, want)
	}
	m.arena = m.arena[:0]
	m.full = m.take(words)
	for i := range n {
		m.full[i/64] |= 1 << (i % 64)
	}
	if m.needOf == nil {
		m.needOf = make([][]uint64, len(m.causes))
	}
	for _, r := range m.roots {
		m.needNode[r.node] = m.take(words)
	}
	for _, x := range m.order {
		s := m.take(words)
		copy(s, m.full)
		if x < 0 {
			m.needOf[^x] = s
		} else {
			m.needNode[x] = s
		}
	}
}

func (m *model) take(words int) []uint64 {
	n := len(m.arena)
	m.arena = m.arena[:n+words]
	s := m.arena[n : n+words : n+words]
	clear(s)
	return s
}

func (m *model) needOfNode(n int32, acc []uint64) bool {
	have := m.needNode[n]
	changed := false
edges:
	for _, e := range m.adj[n] {
		ed := &m.edges[e]
		from := ed.u + ed.v - n
		if m.removed[ed.chain] || m.label[from] < 0 {
			continue
		}
		for _, ca := range ed.causes {
			if !m.alive[ca] {
				continue edges
			}
		}
		copy(acc, m.needNode[from])
		m.add(acc, ed.chain)
		for _, ca := range ed.causes {
			union(acc, m.needOf[ca])
		}
		for i := range have {
			if less := have[i] & acc[i]; less != have[i] {
				have[i], changed = less, true
			}
		}
	}
	return changed
}

func (m *model) needOfCause(ca int32, acc []uint64) bool {
	m.needOfFeed(&m.causes[ca].feed, acc)
	for _, k := range m.causes[ca].needs {
		m.add(acc, k)
	}
	have, changed := m.needOf[ca], false
	for i := range have {
		if less := have[i] & acc[i]; less != have[i] {
			have[i], changed = less, true
		}
	}
	return changed
}

func (m *model) needOfFeed(f *feed, acc []uint64) {
	copy(acc, m.needNode[f.u])
	union(acc, m.needNode[f.v])
	m.add(acc, f.chain)
	for _, ca := range f.causes {
		union(acc, m.needOf[ca])
	}
}

func (m *model) add(s []uint64, k int32) {
	if b := m.bit[k]; b != none {
		s[b/64] |= 1 << (b % 64)
	}
}

func union(into, from []uint64) {
	for i, w := range from {
		into[i] |= w
	}
}
