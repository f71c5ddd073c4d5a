package schematic

import (
	"legtrace/circuit"
	"slices"
	"sort"
	"strings"
)

// share is the stretches of a net that exactly these wires use, longest first.
type share struct {
	wires     []int
	stretches []segment
}

func (s share) all(named map[int]bool) bool {
	return !slices.ContainsFunc(s.wires, func(w int) bool { return !named[w] })
}

// shares lists the stretches of a net by the wires that use them, fewest first,
// and leaves out what more than most use.
func (rt *routing) shares(n *net, most int) []share {
	all := rt.shared[n.id]
	fit := sort.Search(len(all), func(i int) bool { return len(all[i].wires) > most })
	return all[:fit]
}

// share sorts every net's edges by the wires that use them, and keeps what every
// drawing asks of the wires' ways.
func (rt *routing) share() {
	rt.shared, rt.stretches, rt.dots = make([][]share, len(rt.nets)), make([][]segment, len(rt.nets)), rt.junctions()
	for _, n := range rt.nets {
		rt.shared[n.id], rt.stretches[n.id] = rt.shareOut(n), rt.router.segments(rt.used[n.id])
	}
}

func (rt *routing) shareOut(n *net) []share {
	type edge struct{ at, dir int }
	users := map[edge][]int{}
	var order []edge
	for _, id := range n.wires {
		points := rt.runs[id].points
		for k := 1; k < len(points); k++ {
			e := edge{min(points[k-1], points[k]), east}
			if abs(points[k]-points[k-1]) != 1 {
				e.dir = south
			}
			if users[e] == nil {
				order = append(order, e)
			}
			users[e] = append(users[e], int(id))
		}
	}
	var out []share
	var edges []map[int]uint8
	for _, e := range order {
		ws := users[e]
		i := slices.IndexFunc(out, func(s share) bool { return slices.Equal(s.wires, ws) })
		if i < 0 {
			i = len(out)
			out, edges = append(out, share{wires: ws}), append(edges, map[int]uint8{})
		}
		edges[i][e.at] |= 1 << e.dir
		edges[i][e.at+stepX[e.dir]+stepY[e.dir]*rt.router.nx] |= 1 << (e.dir + 2)
	}
	for i := range out {
		out[i].stretches = byLength(rt.router.segments(edges[i]))
	}
	sort.SliceStable(out, func(i, j int) bool { return len(out[i].wires) < len(out[j].wires) })
	return out
}

// wireNames lists wires with their colours, a colour shared by all once.
func (rt *routing) wireNames(ids []int) string {
	var names []string
	same := true
	first := rt.runs[ids[0]].wire.Colour
	for _, id := range ids {
		same = same && rt.runs[id].wire.Colour == first
	}
	for _, id := range ids {
		w := rt.runs[id].wire
		s := w.Name
		if !same && w.Colour != "" {
			s += " " + w.Colour
		}
		names = append(names, s)
	}
	s := strings.Join(names, ", ")
	if same && first != "" {
		s += " " + first
	}
	return s
}

// wireNamesOf lists a net's wires.
func (rt *routing) wireNamesOf(n *net) string {
	var ids []int
	for _, w := range n.wires {
		ids = append(ids, int(w))
	}
	if len(ids) > mostShared {
		return rt.wireNames(ids[:mostShared]) + " and more"
	}
	return rt.wireNames(ids)
}

// longest is the longest stretch that a wire shares with fewest others.
func (rt *routing) longest(id circuit.WireID) (segment, bool) {
	for _, g := range rt.shares(rt.runs[id].net, len(rt.runs)) {
		if slices.Contains(g.wires, int(id)) {
			return g.stretches[0], true
		}
	}
	return segment{}, false
}

// crossing lists the wires across a cut at x or y that lie between from and to,
// in order; a rail goes by the name of its conductor, and lines too close for a
// name each share one.
func (rt *routing) crossing(cut int, atX bool, from, to int) []cutWire {
	apart := 14
	if !atX {
		apart = 72
	}
	type line struct {
		at   int
		name string
	}
	seen := map[line]bool{}
	var lines []line
	for i := range rt.runs {
		r := &rt.runs[i]
		corners := rt.router.corners(r.points)
		for k := 1; k < len(corners); k++ {
			a, b := corners[k-1], corners[k]
			at, low, high := a.x+band, min(a.y, b.y)+band, max(a.y, b.y)+band
			if atX {
				at, low, high = a.y+band, min(a.x, b.x)+band, max(a.x, b.x)+band
			}
			if !(low < cut && cut < high) || at < from || at > to {
				continue
			}
			name := r.wire.Name
			if r.net.rail && !atX && a.x == r.net.x {
				name = rt.conductor(r.net)
			}
			if c := (line{at, name}); !seen[c] {
				seen[c] = true
				lines = append(lines, c)
			}
		}
	}
	slices.SortStableFunc(lines, func(a, b line) int { return a.at - b.at })
	var out []cutWire
	for _, c := range lines {
		if n := len(out); n > 0 && c.at-out[n-1].at < apart {
			out[n-1].names = append(out[n-1].names, c.name)
			continue
		}
		out = append(out, cutWire{c.at, []string{c.name}})
	}
	return out
}
