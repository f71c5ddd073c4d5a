package schematic

import (
	"cmp"
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
func (rt *routing) trace() {
	used := make([]map[int]uint8, len(rt.nets))
	rt.runs = make([]run, len(rt.c.Wires()))
	for i := range rt.c.Wires() {
		w := rt.c.Wire(circuit.WireID(i))
		n := rt.netOf[w.From]
		rt.runs[i] = run{w, n, rt.router.ways[i]}
		if used[n.id] == nil {
			used[n.id] = map[int]uint8{}
		}
		rt.router.mark(used[n.id], rt.runs[i].points)
	}
	rt.used = used
}

// mark adds a way's edges to a set.
func (r *router) mark(set map[int]uint8, points []int) {
	for k := 1; k < len(points); k++ {
		dir := r.direction(points[k-1], points[k])
		set[points[k-1]] |= 1 << dir
		set[points[k]] |= 1 << ((dir + 2) % 4)
	}
}

// homeward tells, for every point of a rail, the next on its way to the terminal
// that the rail stands for.
func (r *router) homeward(rail map[int]uint8, home int) map[int]int {
	next := map[int]int{home: home}
	for queue := []int{home}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		for dir := range 4 {
			if rail[at]&(1<<dir) == 0 {
				continue
			}
			p := at + stepX[dir] + stepY[dir]*r.nx
			if _, seen := next[p]; !seen {
				next[p] = at
				queue = append(queue, p)
			}
		}
	}
	return next
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
func (rt *routing) junctions() []point {
	at := map[int]uint16{} // the pairs of edges that wires use there, a bit each
	for i := range rt.runs {
		points := rt.runs[i].points
		for k := 1; k+1 < len(points); k++ {
			edges := 1<<rt.router.direction(points[k], points[k-1]) | 1<<rt.router.direction(points[k], points[k+1])
			at[points[k]] |= 1 << edges
		}
	}
	var out []point
	for i, pairs := range at {
		if parts(pairs) {
			out = append(out, rt.router.point(i))
		}
	}
	slices.SortFunc(out, func(a, b point) int { return cmp.Or(a.y-b.y, a.x-b.x) })
	return out
}

// parts reports whether two pairs of edges share one edge and not the other.
func parts(pairs uint16) bool {
	for a := range 16 {
		for b := range a {
			if pairs&(1<<a) != 0 && pairs&(1<<b) != 0 && bits.OnesCount(uint(a&b)) == 1 {
				return true
			}
		}
	}
	return false
}

// score counts what makes a drawing hard to follow: crossings, bends, length in
// pixels. Wires on one line count once.
func (rt *routing) score() [3]int {
	var out [3]int
	dots := map[int]bool{}
	for _, p := range rt.junctions() {
		dots[rt.router.index(p)] = true
	}
	straight, turns := map[int]uint8{}, map[[2]int]bool{}
	for i := range rt.runs {
		points := rt.runs[i].points
		for k := 1; k+1 < len(points); k++ {
			at := points[k]
			a, b := rt.router.direction(points[k-1], at), rt.router.direction(at, points[k+1])
			if a == b {
				straight[at] |= 1 << (a % 2)
			} else if !dots[at] {
				turns[[2]int{at, 1<<((a+2)%4) | 1<<b}] = true
			}
		}
	}
	for at, axes := range straight {
		if axes == 3 && !dots[at] {
			out[0]++
		}
	}
	out[1] = len(turns)
	for _, set := range rt.used {
		for _, mask := range set {
			out[2] += bits.OnesCount8(mask) * step / 2
		}
	}
	return out
}
