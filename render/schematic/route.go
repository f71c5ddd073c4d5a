package schematic

import (
	"fmt"
	"math"
	"math/bits"
	"sort"
)

// Costs of a wire's way on the grid, in steps.
const (
	bendCost     = 5
	crossCost    = 4
	tapCost      = 40 // for joining a bus elsewhere than on its line
	textCost     = 30
	sidewaysCost = 40
	huggingCost  = 1
	columnCost   = 3 // for each step up or down between symbols of a column
	aheadCost    = 4 // for passing right before another pin
)

// Directions, as bits of a mask of the edges that leave a grid point.
const (
	east = iota
	south
	west
	north
)

var stepX, stepY = [4]int{1, 0, -1, 0}, [4]int{0, 1, 0, -1}

// outward is the direction that leads away from a symbol, by its side.
var outward = [...]int{left: west, right: east, top: north, bottom: south}

// router finds wires' ways on a grid. Two nets may cross at right angles; they
// may not share a stretch, and none may turn or end on another.
type router struct {
	nx, ny  int
	blocked []bool
	soft    []int16
	// along holds the net, plus 1, that runs horizontally or vertically
	// through a point; knot the one that turns, branches or ends there.
	along [2][]int32
	knot  []int32
	// tree holds, per net, the edges that leave each of its points.
	tree []map[int]uint8
	// inColumn tells, by x, where symbols stand: vertical wires keep out.
	inColumn []bool
	// out holds the direction that leads away from the symbol whose pin lies at
	// a point, plus 1.
	out []int8
	// line holds the points of each bus' line.
	line []map[int]bool

	cost, stamp []int32
	from        []int8
	round       int32
	heap        []uint64
}

func newRouter(width, height, nets int) *router {
	r := &router{nx: width/step + 1, ny: height/step + 1, tree: make([]map[int]uint8, nets), line: make([]map[int]bool, nets)}
	n := r.nx * r.ny
	r.inColumn = make([]bool, r.nx)
	r.blocked, r.soft, r.knot, r.out = make([]bool, n), make([]int16, n), make([]int32, n), make([]int8, n)
	r.along = [2][]int32{make([]int32, n), make([]int32, n)}
	r.cost, r.stamp, r.from = make([]int32, 4*n), make([]int32, 4*n), make([]int8, 4*n)
	for i := range r.tree {
		r.tree[i] = map[int]uint8{}
	}
	return r
}

func (r *router) index(p point) int { return p.y/step*r.nx + p.x/step }

func (r *router) point(i int) point { return point{i % r.nx * step, i / r.nx * step} }

// cover applies f to every grid point in a rectangle.
func (r *router) cover(a rect, f func(i int)) {
	for y := max(0, -floorDiv(-a.y0, step)); y <= min(r.ny-1, floorDiv(a.y1, step)); y++ {
		for x := max(0, -floorDiv(-a.x0, step)); x <= min(r.nx-1, floorDiv(a.x1, step)); x++ {
			f(y*r.nx + x)
		}
	}
}

// reroutes is how often wires that found no way are tried before the others.
const reroutes = 6

// route lays every net. A net that finds no way goes first in the next try.
func (l *layout) route() error {
	first := map[*net]int{}
	var err error
	for try := 1; try <= reroutes; try++ {
		var stuck *net
		if stuck, err = l.routeOnce(first); stuck == nil {
			return nil
		}
		first[stuck] = try
	}
	return err
}

// routeOnce lays every net and returns the first that finds no way.
func (l *layout) routeOnce(first map[*net]int) (*net, error) {
	r := newRouter(l.machineRight+outerGap, l.machineBottom+4*step, len(l.nets))
	l.router = r
	for _, u := range l.units {
		r.cover(u.body(), func(i int) { r.blocked[i] = true })
		r.cover(u.body().grown(step), func(i int) { r.soft[i] += huggingCost })
	}
	for _, t := range append(l.texts[:len(l.texts):len(l.texts)], l.refs...) {
		r.cover(t.box().grown(2), func(i int) { r.soft[i] += textCost })
	}
	for _, u := range l.units {
		for _, p := range u.pins {
			i := r.index(u.at(p))
			r.blocked[i] = false
			r.knot[i] = int32(l.netOf[p.terminal].id) + 1
			r.out[i] = int8(outward[p.side]) + 1
			if ahead := i + stepX[outward[p.side]] + stepY[outward[p.side]]*r.nx; ahead >= 0 && ahead < len(r.soft) {
				r.soft[ahead] += aheadCost
			}
		}
	}
	for _, c := range l.columnSpans {
		for x := c[0]; x < c[1]; x += step {
			r.inColumn[x/step] = true
		}
	}
	for _, n := range l.nets {
		if n.bus && n.spans {
			r.seed(n)
		}
	}
	for _, j := range l.jobs(first) {
		if err := l.join(j.net, j.pin); err != nil {
			return j.net, err
		}
	}
	return nil, nil
}

// seed lays a bus' line.
func (r *router) seed(n *net) {
	for y := n.y0; y < n.y1; y += step {
		a := r.index(point{n.x, y})
		b := a + r.nx
		if r.blocked[a] || r.blocked[b] || r.foreign(a, n.id) || r.foreign(b, n.id) {
			continue
		}
		r.add(n.id, a, south)
		if r.line[n.id] == nil {
			r.line[n.id] = map[int]bool{}
		}
		r.line[n.id][a], r.line[n.id][b] = true, true
	}
}

// job is one pin to tie to its net.
type job struct {
	net  *net
	pin  netPin
	rank int
}

// jobs orders the pins: straight ones first, for they have no other way.
func (l *layout) jobs(first map[*net]int) []job {
	var out []job
	for _, n := range l.nets {
		if len(n.pins) < 2 {
			continue
		}
		for i, p := range n.pins {
			at := p.at()
			rank := 100000
			beside := l.localOf[p]
			switch {
			case n.bus && n.spans && beside != nil && beside.feeder != p:
				// The rung that goes on is there by then.
				rank = abs(beside.feeder.at().x-n.x) + abs(at.x-beside.x) + 1
			case n.bus && n.spans:
				rank = abs(at.x - n.x)
			case len(n.pins) == 2:
				other := n.pins[1-i].at()
				rank = abs(at.x-other.x) + abs(at.y-other.y)
				if at.y != other.y && at.x != other.x {
					rank += 10000
				}
			}
			// The net that was stuck last goes first.
			out = append(out, job{n, p, rank - 1000000*first[n]})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].rank < out[j].rank })
	return out
}

// join ties a pin to its net by the cheapest way.
func (l *layout) join(n *net, p netPin) error {
	r := l.router
	start := r.index(p.at())
	tree := r.tree[n.id]
	if len(tree) == 0 {
		tree[start] = 0
		return nil
	}
	if _, ok := tree[start]; ok {
		return nil
	}
	var beside *line
	if g := l.localOf[p]; g != nil && g.spans {
		beside = &g.line
	}
	end := r.search(n.id, start, p.side(), beside)
	if end < 0 {
		return fmt.Errorf("no way for a wire to %s", l.c.Terminal(p.terminal()).Ref)
	}
	for state := end; ; {
		before := state/4 - stepX[state%4] - stepY[state%4]*r.nx
		r.add(n.id, before, state%4)
		if r.from[state] < 0 {
			break
		}
		state = before*4 + int(r.from[state])
	}
	return nil
}

// add puts one edge into a net's tree.
func (r *router) add(n, at, dir int) {
	next := at + stepX[dir] + stepY[dir]*r.nx
	r.tree[n][at] |= 1 << dir
	r.tree[n][next] |= 1 << ((dir + 2) % 4)
	for _, i := range []int{at, next} {
		r.along[dir%2][i] = int32(n) + 1
		mask := r.tree[n][i]
		if mask != 1<<east|1<<west && mask != 1<<south|1<<north && bits.OnesCount8(mask) > 1 {
			r.knot[i] = int32(n) + 1
		}
	}
}

// foreign reports whether another net uses a point in any way.
func (r *router) foreign(i, n int) bool {
	own := int32(n) + 1
	for _, o := range []int32{r.along[0][i], r.along[1][i], r.knot[i]} {
		if o != 0 && o != own {
			return true
		}
	}
	return false
}

// search runs A* from a point to the net's tree and returns the state it ended
// in, point times four plus direction, or -1. It ends for nothing on the bus'
// line, and on the line beside the pin's column if there is one.
func (r *router) search(n, start int, out side, beside *line) int {
	own := int32(n) + 1
	goal := r.bounds(n)
	r.round++
	r.heap = r.heap[:0]
	visit := func(state int, cost int32, from int8) {
		if r.stamp[state] == r.round && r.cost[state] <= cost {
			return
		}
		r.stamp[state], r.cost[state], r.from[state] = r.round, cost, from
		at := state / 4
		r.push(uint64(cost+goal.far(at%r.nx, at/r.nx))<<32 | uint64(state))
	}
	expand := func(at, dir int, cost int32, from int8) {
		x, y := at%r.nx+stepX[dir], at/r.nx+stepY[dir]
		if x < 0 || y < 0 || x >= r.nx || y >= r.ny {
			return
		}
		next := y*r.nx + x
		axis := dir % 2
		if r.blocked[next] || r.knot[next] != 0 && r.knot[next] != own {
			return
		}
		if o := r.along[axis][next]; o != 0 && o != own {
			return
		}
		if o := r.along[axis][at]; o != 0 && o != own {
			return
		}
		cost += 1 + int32(r.soft[next])
		if axis == 1 && r.inColumn[x] {
			cost += columnCost
		}
		if o := r.along[1-axis][next]; o != 0 && o != own {
			cost += crossCost
		}
		visit(next*4+dir, cost, from)
	}
	for dir := range 4 {
		extra := int32(0)
		if dir != outward[out] {
			extra = sidewaysCost
		}
		// A from of -1 marks the first edge.
		expand(start, dir, extra, -1)
	}
	best, bestCost := -1, int32(math.MaxInt32)
	for len(r.heap) > 0 {
		top := r.pop()
		if int32(top>>32) >= bestCost {
			break
		}
		state := int(top & 0xffffffff)
		at, dir := state/4, state%4
		cost := r.cost[state]
		if int32(top>>32) != cost+goal.far(at%r.nx, at/r.nx) {
			continue
		}
		mine := !r.foreign(at, n)
		if _, ok := r.tree[n][at]; ok && mine {
			if r.line[n] != nil && !r.line[n][at] && !beside.holds(r.point(at)) {
				cost += tapCost
			}
			if out := r.out[at]; out > 0 && int(out-1) != (dir+2)%4 {
				cost += sidewaysCost
			}
			if cost < bestCost {
				best, bestCost = state, cost
			}
			continue
		}
		for turn := range 4 {
			if turn == (dir+2)%4 || turn != dir && !mine {
				continue
			}
			extra := int32(0)
			if turn != dir {
				extra = bendCost
			}
			expand(at, turn, cost+extra, int8(dir))
		}
	}
	return best
}

// span is the rectangle around a net's tree, in grid steps.
type span struct{ x0, y0, x1, y1 int }

func (s span) far(x, y int) int32 {
	return int32(max(s.x0-x, 0, x-s.x1) + max(s.y0-y, 0, y-s.y1))
}

func (r *router) bounds(n int) span {
	s := span{r.nx, r.ny, 0, 0}
	for i := range r.tree[n] {
		x, y := i%r.nx, i/r.nx
		s = span{min(s.x0, x), min(s.y0, y), max(s.x1, x), max(s.y1, y)}
	}
	return s
}

func (r *router) push(v uint64) {
	h := append(r.heap, v)
	i := len(h) - 1
	for i > 0 && h[(i-1)/2] > h[i] {
		h[(i-1)/2], h[i] = h[i], h[(i-1)/2]
		i = (i - 1) / 2
	}
	r.heap = h
}

func (r *router) pop() uint64 {
	h := r.heap
	top := h[0]
	last := len(h) - 1
	h[0] = h[last]
	h = h[:last]
	for i := 0; ; {
		c := 2*i + 1
		if c >= last {
			break
		}
		if c+1 < last && h[c+1] < h[c] {
			c++
		}
		if h[i] <= h[c] {
			break
		}
		h[i], h[c] = h[c], h[i]
		i = c
	}
	r.heap = h
	return top
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
