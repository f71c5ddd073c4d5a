package phasor

import (
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// mesh is a network of admittances between numbered nodes, some of which have
// a given voltage.
type mesh struct {
	known  []bool
	volts  []complex128
	edges  []meshEdge
	adj    [][]int32 // edge indexes by node; some may be gone
	degree []int32   // edges not gone, by node; -1 once eliminated
	steps  []step
	terms  []term
	queue  bucketQueue
	sum    []complex128 // scratch by node
	seen   []int32      // scratch by node
	edgeTo []int32      // scratch by node
	stamp  int32
}

type meshEdge struct {
	a, b int32
	y    complex128
	gone bool
}

// step eliminates one node: its voltage is the sum of its terms.
type step struct {
	node       int32
	from, upto int32 // terms
}

type term struct {
	node   int32
	weight complex128
}

func (m *mesh) reset(nodes int) {
	m.known, m.volts, m.degree = m.known[:0], m.volts[:0], m.degree[:0]
	m.sum, m.seen, m.edgeTo = m.sum[:0], m.seen[:0], m.edgeTo[:0]
	m.edges, m.steps, m.terms = m.edges[:0], m.steps[:0], m.terms[:0]
	m.stamp = 0
	for i := range m.adj {
		m.adj[i] = m.adj[i][:0]
	}
	for i := 0; i < nodes; i++ {
		m.addNode()
	}
}

func (m *mesh) addNode() int32 {
	m.known, m.volts, m.degree = append(m.known, false), append(m.volts, 0), append(m.degree, 0)
	m.sum, m.seen, m.edgeTo = append(m.sum, 0), append(m.seen, 0), append(m.edgeTo, 0)
	n := len(m.known)
	if len(m.adj) < n {
		m.adj = append(m.adj, nil)
	}
	return int32(n - 1)
}

func (m *mesh) fix(node int32, volts complex128) {
	m.known[node], m.volts[node] = true, volts
}

func (m *mesh) connect(a, b int32, y complex128) {
	if a == b || y == 0 || m.known[a] && m.known[b] {
		return
	}
	e := int32(len(m.edges))
	m.edges = append(m.edges, meshEdge{a: a, b: b, y: y})
	for _, end := range [2]int32{a, b} {
		m.adj[end] = append(m.adj[end], e)
		m.degree[end]++
	}
}

func (e *meshEdge) far(node int32) int32 {
	if e.a == node {
		return e.b
	}
	return e.a
}

// solve finds every voltage. Nodes are eliminated by the star-mesh
// transformation, fewest edges first, and their voltages found in reverse: the
// voltage of a node is the mean of its neighbours' weighted by admittance. A
// node whose admittances cancel waits until a neighbour's elimination has
// changed them; those that wait to the end are solved together by LU.
func (m *mesh) solve() error {
	m.queue.reset()
	for i, known := range m.known {
		if !known && m.degree[i] > 0 {
			m.queue.push(int32(i), m.degree[i])
		}
	}
	for {
		node, ok := m.queue.pop(m.degree)
		if !ok {
			break
		}
		m.eliminate(node)
	}
	var core []int32
	for i, known := range m.known {
		if !known && m.degree[i] > 0 {
			core = append(core, int32(i))
		}
	}
	if err := m.solveDense(core); err != nil {
		return err
	}
	for i := len(m.steps) - 1; i >= 0; i-- {
		s := m.steps[i]
		var v complex128
		for _, t := range m.terms[s.from:s.upto] {
			v += t.weight * m.volts[t.node]
		}
		m.volts[s.node] = v
	}
	return nil
}

// cancelled is the share of a node's admittances that must be left of their
// sum for the node to be eliminated: below it rounding eats the digits that
// the solution is held to.
const cancelled = 1e-6

// eliminate replaces the star around a node by a mesh among its neighbours,
// unless the node's admittances cancel.
func (m *mesh) eliminate(node int32) {
	from := int32(len(m.terms))
	total, size := m.gather(node)
	star := m.terms[from:]
	if len(star) > 0 && cmplx.Abs(total) <= cancelled*size {
		m.terms = m.terms[:from]
		return
	}
	for _, e := range m.adj[node] {
		if edge := &m.edges[e]; !edge.gone {
			edge.gone = true
			m.degree[edge.far(node)]--
		}
	}
	m.adj[node], m.degree[node] = m.adj[node][:0], -1
	// Known nodes come last, then those of most edges, so that a node where
	// half the machine meets is not searched for every neighbour it loses.
	slices.SortStableFunc(star, func(x, y term) int {
		if m.known[x.node] != m.known[y.node] {
			if m.known[y.node] {
				return -1
			}
			return 1
		}
		return len(m.adj[x.node]) - len(m.adj[y.node])
	})
	for i := range star {
		star[i].weight = m.sum[star[i].node] / total
	}
	for i, t := range star {
		if m.known[t.node] || i+1 == len(star) {
			break
		}
		m.mark(t.node)
		for _, u := range star[i+1:] {
			y := m.sum[t.node] * u.weight
			if m.seen[u.node] == m.stamp {
				m.edges[m.edgeTo[u.node]].y += y
			} else {
				m.connect(t.node, u.node, y)
			}
		}
	}
	for _, t := range star {
		if !m.known[t.node] {
			m.queue.push(t.node, m.degree[t.node])
		}
	}
	m.steps = append(m.steps, step{node, from, int32(len(m.terms))})
}

// gather adds a term for every neighbour of a node, their admittances to it in
// sum, and returns the admittances' total and the total of their sizes.
func (m *mesh) gather(node int32) (total complex128, size float64) {
	m.stamp++
	for _, e := range m.adj[node] {
		edge := &m.edges[e]
		if edge.gone {
			continue
		}
		far := edge.far(node)
		if m.seen[far] != m.stamp {
			m.seen[far], m.sum[far] = m.stamp, 0
			m.terms = append(m.terms, term{node: far})
		}
		m.sum[far] += edge.y
		total += edge.y
		size += cmplx.Abs(edge.y)
	}
	return total, size
}

// mark notes in edgeTo an edge to every neighbour of a node, and drops from
// its list the edges that are gone.
func (m *mesh) mark(node int32) {
	m.stamp++
	live := m.adj[node][:0]
	for _, e := range m.adj[node] {
		edge := &m.edges[e]
		if edge.gone {
			continue
		}
		live = append(live, e)
		far := edge.far(node)
		m.seen[far], m.edgeTo[far] = m.stamp, e
	}
	m.adj[node] = live
}

// maxCore bounds the nodes solved together; their matrix grows with the square.
const maxCore = 1000

// singular is how much the nodes solved together may amplify a current that
// is out by a share of what meets there: beyond it no digits are left.
const singular = 1e10

// solveDense solves for the nodes given, by LU with partial pivoting, the
// complex system written as a real one of twice the size. Every edge that is
// not gone must lead from one of them to another or to a known node.
func (m *mesh) solveDense(nodes []int32) error {
	n := len(nodes)
	if n == 0 {
		return nil
	}
	if n > maxCore {
		return ErrSingular
	}
	index := map[int32]int{}
	for k, node := range nodes {
		index[node] = k
	}
	a := mat.NewDense(2*n, 2*n, nil)
	rhs := mat.NewVecDense(2*n, nil)
	add := func(i, j int, y complex128) {
		a.Set(i, j, a.At(i, j)+real(y))
		a.Set(i+n, j+n, a.At(i+n, j+n)+real(y))
		a.Set(i, j+n, a.At(i, j+n)-imag(y))
		a.Set(i+n, j, a.At(i+n, j)+imag(y))
	}
	for i, node := range nodes {
		// Each node's equation is scaled by the sizes of its admittances, so
		// that what is left where they cancel shows as small.
		size := 0.0
		for _, id := range m.adj[node] {
			if e := &m.edges[id]; !e.gone {
				size += cmplx.Abs(e.y)
			}
		}
		for _, id := range m.adj[node] {
			e := &m.edges[id]
			if e.gone || size == 0 {
				continue
			}
			y, far := e.y/complex(size, 0), e.far(node)
			add(i, i, y)
			if j, ok := index[far]; ok {
				add(i, j, -y)
				continue
			}
			inject := y * m.volts[far]
			rhs.SetVec(i, rhs.AtVec(i)+real(inject))
			rhs.SetVec(i+n, rhs.AtVec(i+n)+imag(inject))
		}
	}
	var lu mat.LU
	lu.Factorize(a)
	if amplified := lu.Cond() / mat.Norm(a, 1); !(amplified <= singular) {
		return ErrSingular
	}
	var x mat.VecDense
	if err := lu.SolveVecTo(&x, false, rhs); err != nil {
		return ErrSingular
	}
	for k, node := range nodes {
		m.volts[node] = complex(x.AtVec(k), x.AtVec(k+n))
	}
	return nil
}

// bucketQueue hands out nodes of fewest edges first. A node is pushed again
// whenever its edges change in number; entries out of date are passed over.
type bucketQueue struct {
	buckets [][]int32
	lowest  int32
}

func (q *bucketQueue) reset() {
	for i := range q.buckets {
		q.buckets[i] = q.buckets[i][:0]
	}
	q.lowest = 0
}

// maxBucket bounds the number of buckets; nodes of more edges share the last.
const maxBucket = 4096

func (q *bucketQueue) push(node, degree int32) {
	degree = min(degree, maxBucket)
	for len(q.buckets) <= int(degree) {
		q.buckets = append(q.buckets, nil)
	}
	q.buckets[degree] = append(q.buckets[degree], node)
	q.lowest = min(q.lowest, degree)
}

func (q *bucketQueue) pop(degree []int32) (int32, bool) {
	for int(q.lowest) < len(q.buckets) {
		b := q.buckets[q.lowest]
		if len(b) == 0 {
			q.lowest++
			continue
		}
		node := b[len(b)-1]
		q.buckets[q.lowest] = b[:len(b)-1]
		if min(degree[node], maxBucket) == q.lowest {
			return node, true
		}
	}
	return 0, false
}
