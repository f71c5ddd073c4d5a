package phasor

import (
	"errors"
	"math"
	"math/cmplx"
)

// block is a network among nodes still to be eliminated: what is left of
// everything below some node of the tree.
type block struct {
	nodes []int32 // ascending
	ends  []end   // by place in nodes
	links []link  // link of places i < j is at j(j-1)/2+i
}

// end is what ties one node to given voltages.
type end struct {
	// g is its admittance to all of them and j the current they would drive
	// into it at zero.
	g, j complex128
	// tied is 1 + the source that holds it by ideal joins; 0 is none.
	tied int32
	// supplied tells that it conducts to some source.
	supplied bool
}

// link is what lies between two nodes.
type link struct {
	y   complex128
	how linkKind
}

// linkKind is a set of conducts and merges. A transformer's coupling is
// neither, for it ties nothing down.
type linkKind uint8

const (
	conducts linkKind = 1 << iota
	merges            // an ideal join
)

func (l *link) none() bool { return l.how == 0 && l.y == 0 }

func (l *link) add(m *link) {
	l.y += m.y
	l.how |= m.how
}

func (b *block) equal(c *block) bool {
	if len(b.nodes) != len(c.nodes) {
		return false
	}
	for i := range b.nodes {
		if b.nodes[i] != c.nodes[i] || b.ends[i] != c.ends[i] {
			return false
		}
	}
	for i := range b.links {
		if b.links[i] != c.links[i] {
			return false
		}
	}
	return true
}

// row is one eliminated node: how its voltage follows from nodes above it.
type row struct {
	kind rowKind
	// supplied tells that it conducts to a source by way of nodes below.
	supplied bool
	// up is a node above that it conducts to, or -1; where joined, the node
	// whose voltage it shares.
	up int32
	// volts is its voltage where given, the constant term where not.
	volts complex128
	// terms weigh the voltages above; where fixed, they are the admittances
	// to them, for the source's current.
	terms []term
	// total is the sum of its admittances; where fixed, the current it draws
	// into given voltages.
	total complex128
	// ideals has a bit for each of the tree's rails that it is tied to.
	ideals uint64
}

type rowKind uint8

const (
	weighted rowKind = iota
	joined
	fixed
	reference // tied to nothing above or below: the zero of its island
)

var (
	errShorted   = errors.New("two supply conductors of different voltage are tied together")
	errCancelled = errors.New("a node's admittances cancel")
)

// front gathers all that meets at a node, and eliminates the node.
type front struct {
	block // in order of appearance, the node itself first
	place []int32
	seen  []uint32
	stamp uint32
	emf   []complex128
	rail  []int8 // by node: its place among the tree's rails, or -1

	// What is made is carved from these.
	nodes []int32
	ends  []end
	links []link
	terms []term
	sort  []int32
}

func newFront(t *tree) front {
	f := front{place: make([]int32, len(t.terminal)), seen: make([]uint32, len(t.terminal)), rail: make([]int8, len(t.terminal))}
	for n := range f.rail {
		f.rail[n] = -1
	}
	for i, n := range t.rails {
		f.rail[n] = int8(i)
	}
	return f
}

// begin empties the front.
func (f *front) begin() {
	f.stamp++
	f.block.nodes, f.block.ends, f.block.links = f.block.nodes[:0], f.block.ends[:0], f.block.links[:0]
}

// reset gives up all blocks and rows made.
func (f *front) reset() {
	f.nodes, f.ends, f.links, f.terms = f.nodes[:0], f.ends[:0], f.links[:0], f.terms[:0]
}

func (f *front) at(node int32) int32 {
	if f.seen[node] == f.stamp {
		return f.place[node]
	}
	k := int32(len(f.block.nodes))
	f.seen[node], f.place[node] = f.stamp, k
	f.block.nodes = append(f.block.nodes, node)
	f.block.ends = append(f.block.ends, end{})
	for i := int32(0); i < k; i++ {
		f.block.links = append(f.block.links, link{})
	}
	return k
}

func (b *block) between(i, j int32) *link {
	if i > j {
		i, j = j, i
	}
	return &b.links[j*(j-1)/2+i]
}

// connect adds what a branch makes between two nodes.
func (f *front) connect(a, b int32, y complex128, how linkKind) {
	if a == b {
		return
	}
	i, j := f.at(a), f.at(b)
	f.between(i, j).add(&link{y, how})
}

// add adds a block up.
func (f *front) add(b *block) error {
	for i, n := range b.nodes {
		k := f.at(n)
		e := &f.block.ends[k]
		e.g += b.ends[i].g
		e.j += b.ends[i].j
		e.supplied = e.supplied || b.ends[i].supplied
		if err := f.hold(e, b.ends[i].tied); err != nil {
			return err
		}
	}
	at := 0
	for j := range b.nodes {
		for i := 0; i < j; i++ {
			if from := &b.links[at]; !from.none() {
				f.between(f.place[b.nodes[i]], f.place[b.nodes[j]]).add(from)
			}
			at++
		}
	}
	return nil
}

// hold ties an end to a source by ideal joins.
func (f *front) hold(e *end, tied int32) error {
	switch {
	case tied == 0:
	case e.tied == 0:
		e.tied = tied
	case cmplx.Abs(f.emf[tied-1]-f.emf[e.tied-1]) > 1e-9:
		return errShorted
	default:
		e.tied = min(e.tied, tied)
	}
	return nil
}

func size1(z complex128) float64 { return math.Abs(real(z)) + math.Abs(imag(z)) }

// eliminate takes the first node out of the front.
func (f *front) eliminate(r *row) error {
	b := &f.block
	self := b.ends[0]
	if self.tied != 0 {
		return f.eliminateFixed(r, self)
	}
	into, up := int32(-1), int32(-1)
	total, sum := self.g, size1(self.g)
	for k := int32(1); k < int32(len(b.nodes)); k++ {
		l := b.between(0, k)
		if l.how&merges != 0 && (into < 0 || b.nodes[k] < b.nodes[into]) {
			into = k
		}
		if l.how&conducts != 0 && (up < 0 || b.nodes[k] < up) {
			up = b.nodes[k]
		}
		total += l.y
		sum += size1(l.y)
	}
	switch {
	case into >= 0:
		f.join(r, self, into)
		return nil
	case up < 0 && !self.supplied:
		// Its island stands by itself: here is its zero.
		for k := int32(1); k < int32(len(b.nodes)); k++ {
			b.ends[k].g += b.between(0, k).y
		}
		*r = row{kind: reference, up: -1}
		return nil
	}
	if size1(total) <= cancelled*sum {
		return errCancelled
	}
	*r = row{kind: weighted, supplied: self.supplied, up: up, volts: self.j / total, total: total}
	from := len(f.terms)
	for k := int32(1); k < int32(len(b.nodes)); k++ {
		l := b.between(0, k)
		if l.y == 0 {
			continue
		}
		w := l.y / total
		f.terms = append(f.terms, term{b.nodes[k], w})
		e := &b.ends[k]
		e.g += w * self.g
		e.j += w * self.j
		e.supplied = e.supplied || self.supplied && l.how&conducts != 0
		for i := int32(1); i < k; i++ {
			m := b.between(0, i)
			if m.y == 0 {
				continue
			}
			x := b.between(i, k)
			x.y += m.y * w
			x.how |= m.how & l.how & conducts
		}
	}
	r.terms = f.terms[from:len(f.terms):len(f.terms)]
	return nil
}

// eliminateFixed takes out a node whose voltage a source gives.
func (f *front) eliminateFixed(r *row, self end) error {
	b := &f.block
	emf := f.emf[self.tied-1]
	*r = row{kind: fixed, supplied: true, up: -1, volts: emf, total: self.g*emf - self.j}
	from := len(f.terms)
	for k := int32(1); k < int32(len(b.nodes)); k++ {
		l, e := b.between(0, k), &b.ends[k]
		if l.how&merges != 0 {
			if err := f.hold(e, self.tied); err != nil {
				return err
			}
			e.supplied = true
			if rail := f.rail[b.nodes[k]]; rail >= 0 {
				r.ideals |= 1 << rail
			}
			continue
		}
		if l.y != 0 {
			e.g += l.y
			e.j += l.y * emf
			f.terms = append(f.terms, term{b.nodes[k], l.y})
		}
		e.supplied = e.supplied || l.how&conducts != 0
	}
	r.terms = f.terms[from:len(f.terms):len(f.terms)]
	return nil
}

// join takes out a node that ideal joins make one with another.
func (f *front) join(r *row, self end, into int32) {
	b := &f.block
	e := &b.ends[into]
	e.g += self.g
	e.j += self.j
	e.supplied = e.supplied || self.supplied
	for k := int32(1); k < int32(len(b.nodes)); k++ {
		if k == into {
			continue
		}
		if l := b.between(0, k); !l.none() {
			b.between(into, k).add(l)
		}
	}
	*r = row{kind: joined, up: b.nodes[into], supplied: self.supplied}
}

// schur is the block that the nodes from the given place on are left with,
// without those that nothing is left at.
func (f *front) schur(from int32) block {
	b := &f.block
	f.sort = f.sort[:0]
	for k := from; k < int32(len(b.nodes)); k++ {
		used := b.ends[k] != end{}
		for i := from; i < int32(len(b.nodes)) && !used; i++ {
			used = i != k && !b.between(i, k).none()
		}
		if !used {
			continue
		}
		f.sort = append(f.sort, k)
		for i := len(f.sort) - 1; i > 0 && b.nodes[f.sort[i]] < b.nodes[f.sort[i-1]]; i-- {
			f.sort[i], f.sort[i-1] = f.sort[i-1], f.sort[i]
		}
	}
	n, e, l := len(f.nodes), len(f.ends), len(f.links)
	for j, k := range f.sort {
		f.nodes = append(f.nodes, b.nodes[k])
		f.ends = append(f.ends, b.ends[k])
		for _, i := range f.sort[:j] {
			f.links = append(f.links, *b.between(i, k))
		}
	}
	return block{f.nodes[n:len(f.nodes):len(f.nodes)], f.ends[e:len(f.ends):len(f.ends)], f.links[l:len(f.links):len(f.links)]}
}
