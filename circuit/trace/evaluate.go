package trace

// flood labels every node that a supply potential reaches through edges that
// are not removed and whose causes are alive. Edges that wait for a cause are
// kept aside, so that the flood can go on when the cause comes alive.
func (m *model) flood() {
	for i := range m.label {
		m.label[i], m.parent[i] = -1, none
	}
	m.queue, m.order = m.queue[:0], m.order[:0]
	for r, root := range m.roots {
		m.label[root.node] = int8(r)
		m.queue = append(m.queue, root.node)
	}
	for i := range m.pending {
		m.pending[i], m.pendingAt[i] = m.pending[i][:0], m.pendingAt[i][:0]
	}
	m.spread()
}

func (m *model) spread() {
	for at := 0; at < len(m.queue); at++ {
		n := m.queue[at]
		for _, e := range m.adj[n] {
			m.cross(e, n)
		}
	}
	m.queue = m.queue[:0]
}

// cross takes an edge from a labelled node, if it can be taken.
func (m *model) cross(e, from int32) {
	ed := &m.edges[e]
	if m.removed[ed.chain] {
		return
	}
	far := ed.u
	if far == from {
		far = ed.v
	}
	if m.label[far] >= 0 {
		return
	}
	for _, ca := range ed.causes {
		if !m.alive[ca] {
			m.pending[ca] = append(m.pending[ca], e)
			m.pendingAt[ca] = append(m.pendingAt[ca], from)
			return
		}
	}
	m.label[far], m.parent[far] = m.label[from], e
	m.order = append(m.order, far)
	m.queue = append(m.queue, far)
}

// evaluate tells whether the main load is fed with the chains removed. It is
// the least fixed point: no cause is alive but by a feed that stands without
// it. With the load fed it also returns a support: chains such that the load
// stays fed as long as none of them is opened. The slice is the caller's.
func (m *model) evaluate(set []int32) (support []int32, fed bool) {
	for _, k := range set {
		m.removed[k] = true
	}
	defer func() {
		for _, k := range set {
			m.removed[k] = false
		}
	}()
	for i := range m.alive {
		m.alive[i] = false
	}
	m.flood()
	for changed := true; changed; {
		changed = false
		for i := range m.causes {
			if m.alive[i] || !m.causeAlive(&m.causes[i]) {
				continue
			}
			m.alive[i], changed = true, true
			m.order = append(m.order, ^int32(i))
			waiting, at := m.pending[i], m.pendingAt[i]
			m.pending[i], m.pendingAt[i] = nil, nil
			for j, e := range waiting {
				m.cross(e, at[j])
			}
			m.spread()
			if m.pending[i] == nil {
				m.pending[i], m.pendingAt[i] = waiting[:0], at[:0]
			}
		}
	}
	if !m.fed(&m.main) {
		return nil, false
	}
	m.stamp++
	support = make([]int32, 0, m.usual)
	m.collect(&m.main, func(k int32) { support = append(support, k) })
	m.usual = len(support) + 8
	return support, true
}

func (m *model) causeAlive(ca *cause) bool {
	for _, k := range ca.needs {
		if m.removed[k] {
			return false
		}
	}
	return m.fed(&ca.feed)
}

func (m *model) fed(f *feed) bool {
	if m.removed[f.chain] || m.label[f.u] != f.ru || m.label[f.v] != f.rv {
		return false
	}
	for _, ca := range f.causes {
		if !m.alive[ca] {
			return false
		}
	}
	return true
}

// collect hands over the chains of a feed and of all the causes it needs, each
// once per stamp.
func (m *model) collect(f *feed, see func(chain int32)) {
	m.once(f.chain, see)
	for _, ca := range f.causes {
		m.collectCause(ca, see)
	}
	for _, n := range [2]int32{f.u, f.v} {
		for m.parent[n] != none {
			e := &m.edges[m.parent[n]]
			m.once(e.chain, see)
			for _, ca := range e.causes {
				m.collectCause(ca, see)
			}
			if n == e.u {
				n = e.v
			} else {
				n = e.u
			}
		}
	}
}

func (m *model) collectCause(ca int32, see func(chain int32)) {
	if m.causeMark[ca] == m.stamp {
		return
	}
	m.causeMark[ca] = m.stamp
	for _, k := range m.causes[ca].needs {
		m.once(k, see)
	}
	m.collect(&m.causes[ca].feed, see)
}

func (m *model) once(k int32, see func(chain int32)) {
	if m.mark[k] != m.stamp {
		m.mark[k] = m.stamp
		see(k)
	}
}
