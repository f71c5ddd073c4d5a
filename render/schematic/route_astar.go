package schematic

import "math"

// state is what is known of a way to a point in one direction: what it costs, in
// which search, and the direction before, -1 at the first edge.
type state struct {
	cost, round int32
	from        int8
}

// exactWork is how many states are gone on from before wires need not take the
// cheapest way. What is left to go then counts twice, after as many again three
// times, up to mostHaste: a way then costs at most so many times the cheapest
// (weighted A*; Pohl, "Heuristic Search Viewed as Path Finding in a Graph",
// Artificial Intelligence 1, 1970).
const (
	exactWork = 2_000_000
	mostHaste = 4
)

// search runs A* for a wire and returns the state it ended in, point times four
// plus direction, or -1.
func (r *router) search(j job) int {
	n := j.net.id
	own := int32(n) + 1
	start, target := r.index(j.from), r.index(j.to)
	goal := goal{spanning(j.to, j.to)}
	if j.rail {
		goal = r.line[n]
	}
	ends := func(i int) bool {
		if j.rail {
			return (r.along[0][i] == own || r.along[1][i] == own) && r.of(r.rail, i, n) != 0 && i != start
		}
		return i == target
	}
	// near reports whether a point is so near to a terminal of the wire that it
	// may run there as one with another that ends on it.
	near := func(i int) bool {
		p := point{i % r.nx, i / r.nx}
		return abs(p.x-j.from.x/step)+abs(p.y-j.from.y/step) <= stub || abs(p.x-j.to.x/step)+abs(p.y-j.to.y/step) <= stub
	}
	haste := 1 + int32(min(r.work.states/exactWork, mostHaste-1))
	r.round++
	r.queue.clear(goal.least(start%r.nx, start/r.nx))
	expand := func(at, dir int, cost int32, from int8) {
		x, y := at%r.nx+stepX[dir], at/r.nx+stepY[dir]
		if x < 0 || y < 0 || x >= r.nx || y >= r.ny {
			return
		}
		next := y*r.nx + x
		axis := dir % 2
		knot := r.knot[next]
		if r.blocked[next] || knot != 0 && knot != own || r.out[next] > 0 && !ends(next) {
			return
		}
		here, there := r.along[axis][at], r.along[axis][next]
		if here != 0 && here != own || there != 0 && there != own {
			return
		}
		// Only where the net's own lines run need its edges be looked up.
		drawnOn := false
		if here == own && there == own {
			if r.rail[at]&(1<<dir) != 0 {
				return
			}
			drawnOn = r.drawn[at]&(1<<dir) != 0
		}
		cost += 1 + int32(r.soft[next])
		if axis == 1 && r.inColumn[x] && x != j.from.x/step && x != j.to.x/step {
			cost += columnCost
		}
		switch {
		case drawnOn && near(at) && near(next):
			cost += stubCost
		case drawnOn:
			cost += shareCost
		case knot == own && !ends(next):
			cost += touchCost
		case r.along[1-axis][next] != 0:
			cost += crossCost
		}
		to := &r.states[next*4+dir]
		if to.round == r.round && to.cost <= cost {
			return
		}
		*to = state{cost, r.round, from}
		r.queue.push(cost+haste*goal.far(x, y, dir), next*4+dir)
	}
	for dir := range 4 {
		expand(start, dir, r.leaving(start, dir, r.of(r.drawn, start, n)), -1)
	}
	best, bestCost := -1, int32(math.MaxInt32)
	for {
		least, state, ok := r.queue.pop()
		if !ok || least >= bestCost || r.work.over() {
			return best
		}
		r.work.states++
		r.work.all++
		at, dir := state/4, state%4
		cost := r.states[state].cost
		if least != cost+haste*goal.far(at%r.nx, at/r.nx, dir) {
			continue // found a cheaper way since
		}
		mine := !r.foreign(at, n)
		if mine && ends(at) {
			if at == target {
				cost += r.leaving(at, (dir+2)%4, r.of(r.drawn, at, n))
			}
			if cost < bestCost {
				best, bestCost = state, cost
			}
			continue
		}
		expand(at, dir, cost, int8(dir))
		if !mine {
			continue
		}
		used := r.of(r.drawn, at, n)
		for _, turn := range [...]int{(dir + 1) % 4, (dir + 3) % 4} {
			extra := int32(bendCost)
			// A corner on a line of the joint that it does not follow.
			if used != 0 && used&(1<<turn|1<<((dir+2)%4)) == 0 {
				extra += touchCost
			}
			expand(at, turn, cost+extra, int8(dir))
		}
	}
}

// leaving is what it costs to leave a terminal in a direction: nothing to the
// outside, little sideways once another wire has gone there.
func (r *router) leaving(at, dir int, used uint8) int32 {
	ahead := int(r.out[at]) - 1
	switch {
	case ahead < 0 || dir == ahead:
		return 0
	case used&(1<<ahead) != 0:
		return besideCost
	}
	return sidewaysCost
}

// span is a rectangle in grid steps.
type span struct{ x0, y0, x1, y1 int }

func spanning(a, b point) span {
	return span{min(a.x, b.x) / step, min(a.y, b.y) / step, max(a.x, b.x) / step, max(a.y, b.y) / step}
}

// goal is where a way may end.
type goal []span

// least is what a way from a point costs at least.
func (g goal) least(x, y int) int32 {
	return min(g.far(x, y, east), g.far(x, y, south), g.far(x, y, west), g.far(x, y, north))
}

// far is what a way from a point costs at least that comes there in a direction:
// the distance, and a bend for what does not lie ahead.
func (g goal) far(x, y, dir int) int32 {
	least := math.MaxInt
	for _, s := range g {
		ahead, back, aside := x-s.x1, s.x0-x, max(s.y0-y, 0, y-s.y1)
		if dir%2 == south%2 {
			ahead, back, aside = y-s.y1, s.y0-y, max(s.x0-x, 0, x-s.x1)
		}
		if dir == east || dir == south {
			ahead, back = back, ahead
		}
		cost := max(ahead, back, 0) + aside
		switch {
		case back > 0:
			cost += 2 * bendCost
		case aside > 0:
			cost += bendCost
		}
		least = min(least, cost)
	}
	return int32(least)
}

// queue hands out states by their cost, the last first of those that cost the
// same.
type queue struct {
	states [][]int32 // by cost, from least on
	least  int32     // no state costs less
	at     int       // nothing is left before
}

func (q *queue) clear(least int32) {
	for i := range q.states {
		q.states[i] = q.states[i][:0]
	}
	q.least, q.at = least, 0
}

func (q *queue) push(cost int32, state int) {
	i := int(cost - q.least)
	for i >= len(q.states) {
		q.states = append(q.states, nil)
	}
	q.states[i] = append(q.states[i], int32(state))
	q.at = min(q.at, i)
}

func (q *queue) pop() (cost int32, state int, ok bool) {
	for ; q.at < len(q.states); q.at++ {
		if last := len(q.states[q.at]) - 1; last >= 0 {
			state = int(q.states[q.at][last])
			q.states[q.at] = q.states[q.at][:last]
			return q.least + int32(q.at), state, true
		}
	}
	return 0, 0, false
}
