package phasor

import (
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// mesh is a network of admittances between numbered nodes, some of which have
// a given voltage.
type mesh struct {
	known []bool
	volts []complex128
	edges []meshEdge
	adj   [][]int32 // edge indexes by node
	steps []step
	terms []term
	queue bucketQueue
	sum   []complex128 // scratch by node
	seen  []int32      // scratch by node
	stamp int32
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
	m.known, m.volts, m.sum, m.seen = m.known[:0], m.volts[:0], m.sum[:0], m.seen[:0]
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
	m.known, m.volts = append(m.known, false), append(m.volts, 0)
	m.sum, m.seen = append(m.sum, 0), append(m.seen, 0)
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
	m.adj[a] = append(m.adj[a], e)
	m.adj[b] = append(m.adj[b], e)
}

// solve finds every voltage. Nodes are eliminated by the star-mesh
// transformation, fewest edges first, and their voltages found in reverse: the
// voltage of a node is the mean of its neighbours' weighted by admittance.
func (m *mesh) solve() error {
	n := len(m.known)
	original := len(m.edges)
	m.queue.reset(n)
	for i := 0; i < n; i++ {
		if !m.known[i] && len(m.adj[i]) > 0 {
			m.queue.push(int32(i), len(m.adj[i]))
		}
	}
	for {
		node, ok := m.queue.pop(func(i int32) int { return len(m.adj[i]) })
		if !ok {
			break
		}
		if !m.eliminate(node) {
			return m.solveDense(original)
		}
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

// eliminate replaces the star around a node by a mesh among its neighbours. It
// reports false when the node's admittances cancel.
func (m *mesh) eliminate(node int32) bool {
	m.stamp++
	from := int32(len(m.terms))
	var total complex128
	var size float64
	for _, e := range m.adj[node] {
		edge := &m.edges[e]
		if edge.gone {
			continue
		}
		edge.gone = true
		far := edge.a
		if far == node {
			far = edge.b
		}
		if m.seen[far] != m.stamp {
			m.seen[far], m.sum[far] = m.stamp, 0
			m.terms = append(m.terms, term{node: far})
		}
		m.sum[far] += edge.y
		total += edge.y
		size += cmplx.Abs(edge.y)
	}
	upto := int32(len(m.terms))
	if upto == from {
		// Nothing left to hold it: the island's other nodes were all
		// eliminated into it.
		m.steps = append(m.steps, step{node, from, upto})
		return true
	}
	if cmplx.Abs(total) <= 1e-12*size {
		return false
	}
	for i := from; i < upto; i++ {
		t := &m.terms[i]
		t.weight = m.sum[t.node] / total
	}
	for i := from; i < upto; i++ {
		a := m.terms[i].node
		for j := i + 1; j < upto; j++ {
			b := m.terms[j].node
			m.connect(a, b, m.sum[a]*m.terms[j].weight)
		}
	}
	m.steps = append(m.steps, step{node, from, upto})
	return true
}

// solveDense solves the network as first given by LU with partial pivoting, the
// complex system written as a real one of twice the size.
func (m *mesh) solveDense(edges int) error {
	index := make([]int, len(m.known))
	n := 0
	for i, known := range m.known {
		index[i] = -1
		if !known && len(m.adj[i]) > 0 {
			index[i] = n
			n++
		}
	}
	if n == 0 {
		return nil
	}
	a := mat.NewDense(2*n, 2*n, nil)
	rhs := mat.NewVecDense(2*n, nil)
	add := func(i, j int, y complex128) {
		a.Set(i, j, a.At(i, j)+real(y))
		a.Set(i+n, j+n, a.At(i+n, j+n)+real(y))
		a.Set(i, j+n, a.At(i, j+n)-imag(y))
		a.Set(i+n, j, a.At(i+n, j)+imag(y))
	}
	for _, e := range m.edges[:edges] {
		for _, end := range [2][2]int32{{e.a, e.b}, {e.b, e.a}} {
			i, j := index[end[0]], index[end[1]]
			if i < 0 {
				continue
			}
			add(i, i, e.y)
			if j >= 0 {
				add(i, j, -e.y)
				continue
			}
			inject := e.y * m.volts[end[1]]
			rhs.SetVec(i, rhs.AtVec(i)+real(inject))
			rhs.SetVec(i+n, rhs.AtVec(i+n)+imag(inject))
		}
	}
	var lu mat.LU
	lu.Factorize(a)
	var x mat.VecDense
	if err := lu.SolveVecTo(&x, false, rhs); err != nil {
		return ErrSingular
	}
	for i, k := range index {
		if k >= 0 {
			m.volts[i] = complex(x.AtVec(k), x.AtVec(k+n))
		}
	}
	return nil
}

// bucketQueue hands out nodes by their degree at the time they were pushed,
// pushing a node back when its degree has grown since.
type bucketQueue struct {
	buckets [][]int32
	lowest  int
}

func (q *bucketQueue) reset(int) {
	for i := range q.buckets {
		q.buckets[i] = q.buckets[i][:0]
	}
	q.lowest = 0
}

// maxBucket bounds the number of buckets; nodes of higher degree share the last.
const maxBucket = 64

func (q *bucketQueue) push(node int32, degree int) {
	degree = min(degree, maxBucket)
	for len(q.buckets) <= degree {
		q.buckets = append(q.buckets, nil)
	}
	q.buckets[degree] = append(q.buckets[degree], node)
	q.lowest = min(q.lowest, degree)
}

func (q *bucketQueue) pop(degree func(int32) int) (int32, bool) {
	for q.lowest < len(q.buckets) {
		b := q.buckets[q.lowest]
		if len(b) == 0 {
			q.lowest++
			continue
		}
		at := q.lowest
		node := b[len(b)-1]
		q.buckets[at] = b[:len(b)-1]
		if d := min(degree(node), maxBucket); d > at {
			q.push(node, d)
			q.lowest = min(q.lowest, at)
			continue
		}
		return node, true
	}
	return 0, false
}
