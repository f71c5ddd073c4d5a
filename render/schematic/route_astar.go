package schematic

import "math"

// search runs A* for a wire and returns the state it ended in, point times four
// plus direction, or -1.
func (r *router) search(j job) int {
	n := j.net.id
	own := int32(n) + 1
	start, target := r.index(j.from), r.index(j.to)
	drawn, rail := r.drawn[n], r.rail[n]
	goal := span{j.to.x / step, j.to.y / step, j.to.x / step, j.to.y / step}
	if j.rail {
		x := j.net.x / step
		line := span{x, j.net.y0 / step, x, j.net.y1 / step}
		if start == target {
			goal = line // the lead itself is laid
		} else {
			goal = span{min(goal.x0, x), min(goal.y0, line.y0), max(goal.x1, x), max(goal.y1, line.y1)}
		}
	}
	ends := func(i int) bool {
		if j.rail {
			return (r.along[0][i] == own || r.along[1][i] == own) && rail[i] != 0 && i != start
		}
		return i == target
	}
	// near reports whether a point is so near to a terminal of the wire that it
	// may run there as one with another that ends on it.
	near := func(i int) bool {
		p := point{i % r.nx, i / r.nx}
		return abs(p.x-j.from.x/step)+abs(p.y-j.from.y/step) <= stub || abs(p.x-j.to.x/step)+abs(p.y-j.to.y/step) <= stub
	}
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
		if r.blocked[next] || r.knot[next] != 0 && r.knot[next] != own || r.out[next] > 0 && !ends(next) {
			return
		}
		if o := r.along[axis][next]; o != 0 && o != own {
			return
		}
		if o := r.along[axis][at]; o != 0 && o != own {
			return
		}
		// Only where the net's own lines run need its edges be looked up.
		drawnOn := false
		if r.along[axis][at] == own && r.along[axis][next] == own {
			if rail[at]&(1<<dir) != 0 {
				return
			}
			drawnOn = drawn[at]&(1<<dir) != 0
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
		case r.knot[next] == own && !ends(next):
			cost += touchCost
		case r.along[1-axis][next] != 0:
			cost += crossCost
		}
		visit(next*4+dir, cost, from)
	}
	for dir := range 4 {
		// A from of -1 marks the first edge.
		expand(start, dir, r.leaving(start, dir, drawn[start]), -1)
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
		if ends(at) && mine {
			if at == target {
				cost += r.leaving(at, (dir+2)%4, drawn[at])
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
				// A corner on a line of the joint that it does not follow.
				if used := drawn[at]; used != 0 && used&(1<<turn|1<<((dir+2)%4)) == 0 {
					extra += touchCost
				}
			}
			expand(at, turn, cost+extra, int8(dir))
		}
	}
	return best
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

func (s span) far(x, y int) int32 {
	return int32(max(s.x0-x, 0, x-s.x1) + max(s.y0-y, 0, y-s.y1))
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
