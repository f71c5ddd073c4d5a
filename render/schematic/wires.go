package schematic

import (
	"math/bits"
	"sort"

	"legtrace/circuit"
)

// run is a wire as drawn: grid points from one terminal to the other.
type run struct {
	wire   *circuit.Wire
	net    *net
	points []int
}

// trace reads every wire's way out of its net's tree and keeps only the
// stretches of the tree that some wire uses.
func (l *layout) trace() {
	used := make([]map[int]uint8, len(l.nets))
	l.runs = make([]run, len(l.c.Wires()))
	for i := range l.c.Wires() {
		w := l.c.Wire(circuit.WireID(i))
		n := l.netOf[w.From]
		points := l.router.way(n.id, l.router.index(l.spot(w.From)), l.router.index(l.spot(w.To)))
		l.runs[i] = run{w, n, points}
		if used[n.id] == nil {
			used[n.id] = map[int]uint8{}
		}
		l.router.mark(used[n.id], points)
	}
	l.used = used
}

// mark adds a way's edges to a set.
func (r *router) mark(set map[int]uint8, points []int) {
	for k := 1; k < len(points); k++ {
		for dir := range 4 {
			if points[k-1]+stepX[dir]+stepY[dir]*r.nx == points[k] {
				set[points[k-1]] |= 1 << dir
				set[points[k]] |= 1 << ((dir + 2) % 4)
				break
			}
		}
	}
}

// way finds the points between two points of a net's tree.
func (r *router) way(n, from, to int) []int {
	tree := r.tree[n]
	came := map[int]int{from: from}
	queue := []int{from}
	for len(queue) > 0 && queue[0] != to {
		at := queue[0]
		queue = queue[1:]
		for dir := range 4 {
			if tree[at]&(1<<dir) == 0 {
				continue
			}
			next := at + stepX[dir] + stepY[dir]*r.nx
			if _, seen := came[next]; !seen {
				came[next] = at
				queue = append(queue, next)
			}
		}
	}
	if _, ok := came[to]; !ok {
		return nil
	}
	out := []int{to}
	for at := to; at != from; {
		at = came[at]
		out = append(out, at)
	}
	for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
		out[i], out[j] = out[j], out[i]
	}
	return out
}

// corners reduces a way to its ends and corners.
func (r *router) corners(points []int) []point {
	var out []point
	for k, i := range points {
		p := r.point(i)
		if k > 0 && k+1 < len(points) {
			a, b := r.point(points[k-1]), r.point(points[k+1])
			if a.x == b.x || a.y == b.y {
				continue
			}
		}
		out = append(out, p)
	}
	return out
}

// segments lists the straight stretches of a set of edges, from top left.
func (r *router) segments(set map[int]uint8) []segment {
	keys := make([]int, 0, len(set))
	for i := range set {
		keys = append(keys, i)
	}
	sort.Ints(keys)
	var out []segment
	for _, i := range keys {
		for _, dir := range []int{east, south} {
			back := i - stepX[dir] - stepY[dir]*r.nx
			if set[i]&(1<<dir) == 0 || set[i]&(1<<(dir+2)) != 0 && set[back]&(1<<dir) != 0 {
				continue
			}
			j := i
			for set[j]&(1<<dir) != 0 {
				j += stepX[dir] + stepY[dir]*r.nx
			}
			out = append(out, segment{r.point(i), r.point(j)})
		}
	}
	return out
}

// junctions lists the points where a net's drawn wires branch.
func (l *layout) junctions() []point {
	var out []point
	for _, set := range l.used {
		keys := make([]int, 0, len(set))
		for i, mask := range set {
			if bits.OnesCount8(mask) > 2 {
				keys = append(keys, i)
			}
		}
		sort.Ints(keys)
		for _, i := range keys {
			out = append(out, l.router.point(i))
		}
	}
	return out
}

// spot returns where a terminal lies.
func (l *layout) spot(t circuit.TerminalID) point {
	u := l.unitOf[t]
	for _, p := range u.pins {
		if p.terminal == t {
			return u.at(p)
		}
	}
	return point{u.x, u.y}
}

// links are the mechanical links between a breaker's poles.
func (l *layout) links() []segment {
	var out []segment
	last := map[*circuit.Part]*unit{}
	for _, u := range l.units {
		if !u.trunk || !u.part.Kind.Guards() {
			continue
		}
		if o := last[u.part]; o != nil {
			out = append(out, segment{point{min(o.x, u.x) - 5, u.y}, point{max(o.x, u.x) - 5, u.y}})
		}
		last[u.part] = u
	}
	return out
}
