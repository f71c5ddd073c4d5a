package schematic

import (
	"maps"
	"math/bits"
	"slices"
	"sort"

	"legtrace/circuit"
)

// run is a wire as drawn: grid points from one terminal to the other.
type run struct {
	wire   *circuit.Wire
	net    *net
	points []int
}

// trace takes the wires as they are laid.
func (l *layout) trace() {
	used := make([]map[int]uint8, len(l.nets))
	l.runs = make([]run, len(l.c.Wires()))
	for i := range l.c.Wires() {
		w := l.c.Wire(circuit.WireID(i))
		n := l.netOf[w.From]
		l.runs[i] = run{w, n, l.router.ways[i]}
		if used[n.id] == nil {
			used[n.id] = map[int]uint8{}
		}
		l.router.mark(used[n.id], l.runs[i].points)
	}
	l.used = used
}

// mark adds a way's edges to a set.
func (r *router) mark(set map[int]uint8, points []int) {
	for k := 1; k < len(points); k++ {
		dir := r.direction(points[k-1], points[k])
		set[points[k-1]] |= 1 << dir
		set[points[k]] |= 1 << ((dir + 2) % 4)
	}
}

// way finds the points between two points of a net's rail.
func (r *router) way(tree map[int]uint8, from, to int) []int {
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
	slices.Reverse(out)
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

// junctions lists the points, other than terminals, where wires of one joint
// that run as one part: where one wire goes on otherwise than another that it
// came with.
func (l *layout) junctions() []point {
	at := map[int][]uint8{} // the edges of each wire there
	for i := range l.runs {
		points := l.runs[i].points
		for k := 1; k+1 < len(points); k++ {
			edges := uint8(1<<l.router.direction(points[k], points[k-1]) | 1<<l.router.direction(points[k], points[k+1]))
			at[points[k]] = append(at[points[k]], edges)
		}
	}
	var out []point
	for _, i := range slices.Sorted(maps.Keys(at)) {
		if parts(at[i]) {
			out = append(out, l.router.point(i))
		}
	}
	return out
}

// parts reports whether two wires share one edge and not the other.
func parts(edges []uint8) bool {
	for i, a := range edges {
		for _, b := range edges[:i] {
			if bits.OnesCount8(a&b) == 1 {
				return true
			}
		}
	}
	return false
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
