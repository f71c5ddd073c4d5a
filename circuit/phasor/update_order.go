package phasor

import (
	"container/heap"

	"legtrace/circuit"
)

// tree is an order of elimination for a circuit, fit for any state of its
// contacts and any fault, and which node's elimination bears on which. Nodes
// are numbered in postorder: whatever lies below node n is first[n] to n, and
// once eliminated it shows only in what is above.
type tree struct {
	nodeOf   []int32 // by terminal
	terminal []int32 // by node; -1 for one that only adds two others up
	parent   []int32 // by node; -1 at the top
	first    []int32
	children [][2]int32 // -1 where there is none
	// rails are the terminals of a supply without resistance and, last, the
	// chassis. They are above all else because a ground fault may tie anything
	// to the chassis, and because what such a supply's terminals are left with
	// when all else is gone tells its current.
	rails []int32
}

// newTree orders the circuit's terminals for elimination: fewest neighbours
// first, but with the tree kept shallow, since a change costs what lies
// between it and the top.
func newTree(c *circuit.Circuit) *tree {
	t := &tree{nodeOf: make([]int32, len(c.Terminals()))}
	isRail := make([]bool, len(c.Terminals()))
	var rails []int32
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Source && b.Ohms == 0 && !isRail[b.B] && b.B != c.ChassisTerminal() {
			isRail[b.B] = true
			rails = append(rails, int32(b.B))
		}
	}
	chassis := int32(c.ChassisTerminal())
	isRail[chassis] = true
	rails = append(rails, chassis)

	above := newOrderer(c, isRail).run()
	children := make([][]int32, len(above))
	for v, p := range above {
		switch {
		case isRail[v]:
		case p >= 0:
			children[p] = append(children[p], int32(v))
		default:
			children[rails[0]] = append(children[rails[0]], int32(v))
		}
	}
	for i := 1; i < len(rails); i++ {
		children[rails[i]] = append(children[rails[i]], rails[i-1])
	}
	t.number(children, chassis)
	for _, v := range rails {
		t.rails = append(t.rails, t.nodeOf[v])
	}
	return t
}

// number gives nodes their postorder numbers. A terminal with many children
// adds them up in pairs, the shallowest first, so that one that changes does
// not mean adding all up again.
func (t *tree) number(children [][]int32, root int32) {
	type visit struct {
		terminal int32 // -1: adds up
		kids     []*visit
		height   int
	}
	made := make([]*visit, len(children))
	var post []int32 // terminals, children before parents
	stack := []int32{root}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		post = append(post, v)
		stack = append(stack, children[v]...)
	}
	for i := len(post) - 1; i >= 0; i-- {
		v := post[i]
		var kids orderHeap[*visit]
		for k, w := range children[v] {
			kids = append(kids, orderItem[*visit]{made[w].height, int32(k), made[w]})
		}
		heap.Init(&kids)
		for n := int32(len(kids)); len(kids) > 2; n++ {
			a := heap.Pop(&kids).(orderItem[*visit]).value
			b := heap.Pop(&kids).(orderItem[*visit]).value
			sum := &visit{terminal: -1, kids: []*visit{a, b}, height: max(a.height, b.height) + 1}
			heap.Push(&kids, orderItem[*visit]{sum.height, n, sum})
		}
		me := &visit{terminal: v}
		for _, k := range kids {
			me.kids = append(me.kids, k.value)
			me.height = max(me.height, k.value.height+1)
		}
		made[v] = me
	}
	type frame struct {
		at   *visit
		next int
		nums [2]int32
	}
	frames := []frame{{at: made[root], nums: [2]int32{-1, -1}}}
	for len(frames) > 0 {
		f := &frames[len(frames)-1]
		if f.next < len(f.at.kids) {
			kid := f.at.kids[f.next]
			f.next++
			frames = append(frames, frame{at: kid, nums: [2]int32{-1, -1}})
			continue
		}
		n := int32(len(t.terminal))
		t.terminal = append(t.terminal, f.at.terminal)
		t.parent = append(t.parent, -1)
		t.children = append(t.children, f.nums)
		first := n
		for _, kid := range f.nums {
			if kid >= 0 {
				t.parent[kid] = n
				first = min(first, t.first[kid])
			}
		}
		t.first = append(t.first, first)
		if f.at.terminal >= 0 {
			t.nodeOf[f.at.terminal] = n
		}
		frames = frames[:len(frames)-1]
		if len(frames) > 0 {
			up := &frames[len(frames)-1]
			up.nums[up.next-1] = n
		}
	}
}

// orderer eliminates terminals on paper, to find an order.
type orderer struct {
	near   []map[int32]struct{} // neighbours not eliminated, rails left out
	isRail []bool
	height []int
	gone   []bool
	queue  orderHeap[int]
	score  []int
}

func newOrderer(c *circuit.Circuit, isRail []bool) *orderer {
	n := len(c.Terminals())
	o := &orderer{near: make([]map[int32]struct{}, n), isRail: isRail, height: make([]int, n), gone: make([]bool, n), score: make([]int, n)}
	for t := range o.near {
		o.near[t] = map[int32]struct{}{}
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Source || b.Role == circuit.Drive {
			continue
		}
		ends := []circuit.TerminalID{b.A, b.B}
		if b.Secondary != circuit.None {
			s := c.Branch(b.Secondary)
			ends = append(ends, s.A, s.B)
		}
		for _, x := range ends {
			for _, y := range ends {
				o.join(int32(x), int32(y))
			}
		}
	}
	return o
}

func (o *orderer) join(a, b int32) {
	if a != b && !o.isRail[a] && !o.isRail[b] {
		o.near[a][b] = struct{}{}
		o.near[b][a] = struct{}{}
	}
}

// run returns, for each terminal, the one next to it that is eliminated next,
// or -1.
func (o *orderer) run() []int32 {
	above := make([]int32, len(o.near))
	when := make([]int32, len(o.near))
	ups := make([][]int32, len(o.near))
	for v := range o.near {
		above[v] = -1
		if !o.isRail[v] {
			o.push(int32(v))
		}
	}
	turn := int32(0)
	for len(o.queue) > 0 {
		item := heap.Pop(&o.queue).(orderItem[int])
		v := item.tie
		if o.gone[v] || item.key != o.score[v] {
			continue
		}
		o.gone[v] = true
		when[v], turn = turn, turn+1
		up := make([]int32, 0, len(o.near[v]))
		for u := range o.near[v] {
			up = append(up, u)
		}
		ups[v], o.near[v] = up, nil
		for i, u := range up {
			delete(o.near[u], v)
			for _, w := range up[:i] {
				o.join(u, w)
			}
			o.height[u] = max(o.height[u], o.height[v]+1)
		}
		for _, u := range up {
			o.push(u)
		}
	}
	for v, up := range ups {
		for _, u := range up {
			if above[v] < 0 || when[u] < when[above[v]] {
				above[v] = u
			}
		}
	}
	return above
}

// perNeighbour is how many levels of height a neighbour more is worth.
const perNeighbour = 4

// push queues a terminal by what eliminating it costs: neighbours beyond two,
// which it takes to fill anything in, and the height of the tree below.
func (o *orderer) push(v int32) {
	o.score[v] = perNeighbour*max(len(o.near[v]), 2) + o.height[v]
	heap.Push(&o.queue, orderItem[int]{o.score[v], v, 0})
}

// orderItem is an entry of an orderHeap: lowest key first, then lowest tie.
type orderItem[T any] struct {
	key   int
	tie   int32
	value T
}

type orderHeap[T any] []orderItem[T]

func (h orderHeap[T]) Len() int { return len(h) }
func (h orderHeap[T]) Less(i, j int) bool {
	return h[i].key < h[j].key || h[i].key == h[j].key && h[i].tie < h[j].tie
}
func (h orderHeap[T]) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *orderHeap[T]) Push(x any)   { *h = append(*h, x.(orderItem[T])) }
func (h *orderHeap[T]) Pop() any {
	old := *h
	last := old[len(old)-1]
	*h = old[:len(old)-1]
	return last
}
