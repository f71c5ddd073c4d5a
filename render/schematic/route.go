package schematic

import (
	"cmp"
	"context"
	"fmt"
	"math/bits"
	"slices"
	"sort"

	"legtrace/circuit"
)

// Costs of a wire's way on the grid, in steps.
const (
	bendCost     = 5
	crossCost    = 12
	shareCost    = 40 // for each step on a line with another wire of the joint
	stubCost     = 6  // the same within stub steps of a terminal of both
	touchCost    = 40 // for a corner on another wire of the joint
	besideCost   = 3  // for leaving a terminal sideways, where ahead is taken
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

// stub is how far from a terminal, in steps, its wires may run as one.
const stub = 3

// router finds wires' ways on a grid, each from terminal to terminal. Two may
// cross at right angles. Wires of two nets may not share a stretch, and none may
// turn or end on another; those of one net do so only where there is no other
// way, but for the wires that a rail stands for.
type router struct {
	nx, ny  int
	blocked []bool
	soft    []int16
	// along holds the net, plus 1, that runs horizontally or vertically
	// through a point; knot the one that turns, branches or ends there.
	along [2][]int32
	knot  []int32
	// drawn holds the edges that wires use at each point, rail those of the rails:
	// of the line that stands for the terminal where most of a net's wires meet, and
	// of its lead. Whose they are is told by along.
	drawn, rail []uint8
	// inColumn tells, by x, where symbols stand: vertical wires keep out.
	inColumn []bool
	// out holds the direction that leads away from the symbol whose pin lies at
	// a point, plus 1.
	out  []int8
	home []map[int]int // per net with a rail: the way along it to that terminal
	line []goal        // per net with a rail: its stretches
	ways [][]int       // by wire: its points from terminal to terminal

	states []state // four for each point, by the direction one comes in
	round  int32
	queue  queue
	work   *work
}

func newRouter(size point, nets, wires int) *router {
	r := &router{nx: size.x/step + 1, ny: size.y/step + 1, home: make([]map[int]int, nets), line: make([]goal, nets), ways: make([][]int, wires)}
	n := r.nx * r.ny
	r.inColumn = make([]bool, r.nx)
	r.blocked, r.soft, r.knot, r.out = make([]bool, n), make([]int16, n), make([]int32, n), make([]int8, n)
	r.along = [2][]int32{make([]int32, n), make([]int32, n)}
	r.drawn, r.rail, r.states = make([]uint8, n), make([]uint8, n), make([]state, 4*n)
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

// work counts the states that searches for wires' ways have gone on from.
type work struct {
	states int // in this routing
	all    int
	done   <-chan struct{} // of the context
}

// over reports whether to give up.
func (w *work) over() bool {
	if w.all%(1<<16) == 0 {
		select {
		case <-w.done:
			return true
		default:
		}
	}
	return w.all > mostWork
}

// mostWork is how many states a drawing may take, some four seconds: machines of
// the catalog take under a fiftieth, 1,000 parts in series and in parallel a fifth.
const mostWork = 20_000_000

// tangled says that a drawing's wires take more work than it may.
func (g *graph) tangled() error {
	return fmt.Errorf("%d wires between %d symbols cross too often for a page that could be read: draw one load's feed with --only", len(g.c.Wires()), len(g.units))
}

// reroutes is how often wires that found no way are tried before the others.
const reroutes = 6

// route lays every wire. One that finds no way goes first in the next try.
func route(ctx context.Context, pl *plan, work *work) (*routing, error) {
	rt := &routing{plan: pl}
	first := map[circuit.WireID]int{}
	var err error
	for try := 1; try <= reroutes; try++ {
		var stuck circuit.WireID
		if stuck, err = rt.routeOnce(ctx, first, work); err == nil {
			rt.trace()
			rt.router.states, rt.router.queue = nil, queue{} // a plan is kept, and searches no more
			return rt, nil
		}
		if ctx.Err() != nil || work.all > mostWork {
			break
		}
		first[stuck] = try
	}
	return nil, err
}

// routeOnce lays every wire and returns the first that finds no way.
func (rt *routing) routeOnce(ctx context.Context, first map[circuit.WireID]int, work *work) (circuit.WireID, error) {
	r := newRouter(rt.size, len(rt.nets), len(rt.c.Wires()))
	work.states, r.work, rt.router = 0, work, r
	if rt.hasty {
		work.states = exactWork * mostHaste
	}
	for _, u := range rt.units {
		r.cover(u.body(), func(i int) { r.blocked[i] = true })
		r.cover(u.body().grown(step), func(i int) { r.soft[i] += huggingCost })
	}
	for _, t := range append(rt.captions[:len(rt.captions):len(rt.captions)], rt.refs...) {
		r.cover(t.box().grown(2), func(i int) { r.soft[i] += textCost })
	}
	for _, u := range rt.units {
		for _, p := range u.pins {
			i := r.index(u.at(p))
			r.blocked[i] = false
			r.knot[i] = int32(rt.netOf[p.terminal].id) + 1
			if u.seated {
				continue // its wires come from all sides
			}
			r.out[i] = int8(outward[p.side]) + 1
			if ahead := i + stepX[outward[p.side]] + stepY[outward[p.side]]*r.nx; ahead >= 0 && ahead < len(r.soft) {
				r.soft[ahead] += aheadCost
			}
		}
	}
	for _, c := range rt.spans {
		for x := c[0]; x < c[1]; x += step {
			r.inColumn[x/step] = true
		}
	}
	for _, n := range rt.nets {
		if n.hub != circuit.None && n.spans {
			rt.seed(n)
		}
	}
	for _, j := range rt.jobs(first) {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		if err := rt.lay(j); err != nil {
			return j.wire.ID, cmp.Or(ctx.Err(), err)
		}
	}
	return 0, nil
}

// seed lays a net's rail and the lead from the terminal that it stands for.
func (rt *routing) seed(n *net) {
	r := rt.router
	rail := map[int]uint8{}
	for y := n.y0; y < n.y1; y += step {
		a := r.index(point{n.x, y})
		if b := a + r.nx; !r.blocked[a] && !r.blocked[b] && !r.foreign(a, n.id) && !r.foreign(b, n.id) {
			rail[a] |= 1 << south
			rail[b] |= 1 << north
			r.along[south%2][a], r.along[south%2][b] = int32(n.id)+1, int32(n.id)+1
		}
	}
	if len(rail) == 0 {
		return // no room for it: no lead can come to it
	}
	hub := rt.spot(n.hub)
	if at := r.index(hub); rail[at] == 0 {
		r.setRail(n.id, rail)
		points := r.find(job{net: n, from: hub, to: hub, rail: true})
		r.clearRail(rail)
		if points == nil {
			return
		}
		r.mark(rail, points)
		for k := 1; k < len(points); k++ {
			r.add(n.id, points[k-1], points[k])
		}
	}
	r.home[n.id] = r.homeward(rail, r.index(hub))
	for at := range rail {
		if _, leads := r.home[n.id][at]; !leads {
			delete(rail, at) // cut off by another net's rail or a symbol
		}
	}
	r.setRail(n.id, rail)
}

// setRail makes a set of edges a net's rail, clearRail takes them away.
func (r *router) setRail(n int, rail map[int]uint8) {
	for at, edges := range rail {
		r.rail[at] |= edges
	}
	r.line[n] = r.line[n][:0]
	for _, s := range r.segments(rail) {
		r.line[n] = append(r.line[n], spanning(s.a, s.b))
	}
}

func (r *router) clearRail(rail map[int]uint8) {
	for at, edges := range rail {
		r.rail[at] &^= edges
	}
}

// of tells which of the edges at a point are a net's.
func (r *router) of(edges []uint8, at, n int) uint8 {
	mask := edges[at]
	if r.along[0][at] != int32(n)+1 {
		mask &^= 1<<east | 1<<west
	}
	if r.along[1][at] != int32(n)+1 {
		mask &^= 1<<south | 1<<north
	}
	return mask
}

// job is a wire to lay. One that runs along a rail is laid from its far end to
// the rail.
type job struct {
	wire     *circuit.Wire
	net      *net
	from, to point
	rail     bool
	rank     int
}

// jobs orders the wires: straight ones first, for they have no other way.
func (rt *routing) jobs(first map[circuit.WireID]int) []job {
	out := make([]job, 0, len(rt.c.Wires()))
	for i := range rt.c.Wires() {
		w := rt.c.Wire(circuit.WireID(i))
		j := job{wire: w, net: rt.netOf[w.From], from: rt.spot(w.From), to: rt.spot(w.To)}
		if w.From == j.net.hub {
			j.from, j.to = j.to, j.from
		}
		j.rail = rt.router.home[j.net.id] != nil && (w.From == j.net.hub || w.To == j.net.hub)
		j.rank = abs(j.from.x-j.to.x) + abs(j.from.y-j.to.y)
		if j.rail {
			j.rank = abs(j.from.x - j.net.x)
		} else if j.from.y != j.to.y {
			j.rank += 10000
		}
		// The wire that was stuck last goes first.
		j.rank -= 1000000 * first[w.ID]
		out = append(out, j)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].rank < out[j].rank })
	return out
}

// lay finds a wire's way and takes it.
func (rt *routing) lay(j job) error {
	r := rt.router
	points := r.find(j)
	if r.work.all > mostWork {
		return rt.tangled()
	}
	if points == nil {
		return fmt.Errorf("no way for wire %s", j.wire.Name)
	}
	if j.rail {
		for at := points[len(points)-1]; at != r.index(j.to); {
			next, ok := r.home[j.net.id][at]
			if !ok {
				return fmt.Errorf("wire %s does not come to its terminal", j.wire.Name)
			}
			points, at = append(points, next), next
		}
	}
	for k := 1; k < len(points); k++ {
		r.add(j.net.id, points[k-1], points[k])
	}
	if points[0] != r.index(rt.spot(j.wire.From)) {
		slices.Reverse(points)
	}
	r.ways[j.wire.ID] = points
	return nil
}

// find lists the points of the cheapest way for a job, or none.
func (r *router) find(j job) []int {
	if start := r.index(j.from); j.rail && r.of(r.rail, start, j.net.id) != 0 {
		return []int{start}
	}
	end := r.search(j)
	if end < 0 {
		return nil
	}
	points := []int{end / 4}
	for state := end; ; {
		before := state/4 - stepX[state%4] - stepY[state%4]*r.nx
		points = append(points, before)
		if r.states[state].from < 0 {
			break
		}
		state = before*4 + int(r.states[state].from)
	}
	slices.Reverse(points)
	return points
}

// direction leads from a point to its neighbour.
func (r *router) direction(at, next int) int {
	switch next - at {
	case 1:
		return east
	case -1:
		return west
	case r.nx:
		return south
	}
	return north
}

// add takes one edge for a net.
func (r *router) add(n, at, next int) {
	dir := r.direction(at, next)
	r.drawn[at] |= 1 << dir
	r.drawn[next] |= 1 << ((dir + 2) % 4)
	for _, i := range [...]int{at, next} {
		r.along[dir%2][i] = int32(n) + 1
		mask := r.of(r.drawn, i, n)
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

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
