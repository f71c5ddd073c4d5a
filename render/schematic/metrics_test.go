package schematic

import (
	"context"
	"math"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/netlists"
)

// metric is one figure of a drawing: how it is called, and the most or least
// that is let pass for the worst and for the median machine; 0 sets no bound.
type metric struct {
	name          string
	of            func(*annotation) float64
	worst, median float64
}

// metrics are counted for every machine of the catalog in the mode in which
// most of its largest load's power flows.
var metrics = []metric{
	{name: "crossings", of: func(l *annotation) float64 { return float64(l.score()[0]) }, worst: 10, median: 3},
	{name: "bends per wire", of: func(l *annotation) float64 { return float64(l.score()[1]) / float64(len(l.runs)) }, worst: 1.5},
	{name: "bends of the feed", of: (*annotation).feedBends, median: 4},
	{name: "longest detour, steps", of: (*annotation).detour, worst: 20, median: 12},
	{name: "wires sharing a line, %", of: (*annotation).sharing, worst: 5},
	{name: "empty cells, %", of: func(l *annotation) float64 { e, _ := l.emptiness(); return e }, worst: 48, median: 35},
	{name: "largest void, %", of: func(l *annotation) float64 { _, v := l.emptiness(); return v }, worst: 17, median: 8},
	{name: "loads off one column, %", of: (*annotation).scattered, worst: 55, median: 25},
	{name: "aspect on screen", of: func(l *annotation) float64 { p := l.page(); return float64(p.width) / float64(p.height) }, worst: 2, median: 1.5},
}

// feedBends counts the corners of the live path, but for those where a rung
// meets its rail.
func (l *annotation) feedBends() float64 {
	n := 0
	dots := l.junctions()
	for i := range l.runs {
		if l.d.live(l.runs[i].wire.Branch) == FeedNone {
			continue
		}
		corners := l.router.corners(l.runs[i].points)
		for _, p := range corners[1 : len(corners)-1] {
			if !slices.Contains(dots, p) {
				n++
			}
		}
	}
	return float64(n)
}

// detour is by how much the worst wire is longer than the distance between its
// terminals, along both axes.
func (l *annotation) detour() float64 {
	most := 0
	for i := range l.runs {
		points := l.runs[i].points
		a, b := l.router.point(points[0]), l.router.point(points[len(points)-1])
		most = max(most, len(points)-1-(abs(a.x-b.x)+abs(a.y-b.y))/step)
	}
	return float64(most)
}

// sharing is the share of wires that run somewhere as one with another, other
// than along a rail or just before a terminal of both.
func (l *annotation) sharing() float64 {
	count := 0
	for i := range l.runs {
		if l.sharesLine(circuit.WireID(i)) {
			count++
		}
	}
	return 100 * float64(count) / float64(len(l.runs))
}

func (l *annotation) sharesLine(id circuit.WireID) bool {
	r, w := l.router, l.runs[id]
	for _, o := range w.net.wires {
		if o == id {
			continue
		}
		other := map[[2]int]bool{}
		for k, at := range l.runs[o].points {
			if k > 0 {
				a := l.runs[o].points[k-1]
				other[[2]int{min(a, at), max(a, at)}] = true
			}
		}
		for k := 1; k < len(w.points); k++ {
			a, b := w.points[k-1], w.points[k]
			if !other[[2]int{min(a, b), max(a, b)}] || r.of(r.rail, a, w.net.id)&(1<<r.direction(a, b)) != 0 {
				continue
			}
			if k > stub && len(w.points)-k > stub {
				return true
			}
		}
	}
	return false
}

// emptiness tells, in per cent of the diagram, how many cells of 10 by 10 steps
// hold nothing, and how much the largest rectangle of such cells takes up.
func (l *annotation) emptiness() (empty, void float64) {
	const cell = 10 * step
	p := l.page()
	nx, ny := p.inner.x/cell+1, p.inner.y/cell+1
	full := make([]bool, nx*ny)
	fill := func(r rect) {
		for y := max(0, r.y0/cell); y <= min(ny-1, r.y1/cell); y++ {
			for x := max(0, r.x0/cell); x <= min(nx-1, r.x1/cell); x++ {
				full[y*nx+x] = true
			}
		}
	}
	for _, u := range l.units {
		fill(u.body())
	}
	for _, t := range l.texts {
		fill(t.box())
	}
	for _, t := range l.tags {
		fill(t.area)
	}
	for n := range l.nets {
		for _, s := range l.router.segments(l.used[n]) {
			fill(s.box())
		}
	}
	none, largest := 0, 0
	heights := make([]int, nx)
	for y := range ny {
		for x := range nx {
			if full[y*nx+x] {
				heights[x] = 0
			} else {
				heights[x]++
				none++
			}
		}
		for x := range nx {
			low := heights[x]
			for w := x; w < nx && low > 0; w++ {
				low = min(low, heights[w])
				largest = max(largest, low*(w-x+1))
			}
		}
	}
	return 100 * float64(none) / float64(nx*ny), 100 * float64(largest) / float64(nx*ny)
}

// scattered is the share, in per cent, of the loads that stand elsewhere than in
// the column with most of them.
func (l *annotation) scattered() float64 {
	aside, loads := l.aside()
	return 100 * float64(aside) / float64(max(loads, 1))
}

// flipped is the share, in per cent, of the pairs of symbols of both drawings
// of which the upper one in one is the lower one in the other.
func flipped(a, b *annotation) float64 {
	of, in := a.rows(), b.rows()
	pairs, flips := 0, 0
	for s, y := range of {
		for o, z := range of {
			ys, ok := in[s]
			zs, too := in[o]
			if !ok || !too || y <= z {
				continue
			}
			pairs++
			if ys < zs {
				flips++
			}
		}
	}
	return 100 * float64(flips) / float64(max(pairs, 1))
}

// busiest lays a machine out in the mode that gives its largest load most power.
func busiest(t testing.TB, c, base *circuit.Circuit) *annotation {
	t.Helper()
	best := drawn(t, c, 0)
	for i := range c.Modes() {
		d := drawn(t, c, circuit.ModeID(i))
		if d.Load != circuit.None && (best.Load == circuit.None || c.Branch(d.Load).Watts > c.Branch(best.Load).Watts) {
			best = d
		}
	}
	best.Base = base
	l, err := layOut(context.Background(), &best)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// TestCutWireCarriesNothing: each wire has a stretch of its own, but for those
// along a rail, and no cut wire lies where the feed runs.
func TestCutWireCarriesNothing(t *testing.T) {
	for _, c := range shipped(t) {
		l := busiest(t, c, nil)
		for i := range l.runs {
			s, ok := l.longest(circuit.WireID(i))
			if !ok || s.length() == 0 {
				t.Errorf("%s: wire %s is nowhere", c.Name(), l.runs[i].wire.Name)
			}
			for _, g := range l.shares(l.runs[i].net, 1) {
				ok = ok && !slices.Equal(g.wires, []int{i})
			}
			if ok {
				t.Errorf("%s: wire %s has no stretch of its own", c.Name(), l.runs[i].wire.Name)
			}
		}
	}
}

// TestFiguresOfEveryDrawing holds the drawings' figures within their bounds.
// With -v it prints best, median and worst of each.
func TestFiguresOfEveryDrawing(t *testing.T) {
	if testing.Short() {
		t.Skip("draws every machine")
	}
	layouts := map[string]*annotation{}
	var names []string
	var flips []float64
	for _, e := range netlists.Catalog() {
		c, err := netlists.Open(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		names = append(names, e.Name)
		if e.Of == "" {
			layouts[e.Name] = busiest(t, c, nil)
		} else {
			layouts[e.Name] = busiest(t, c, layouts[e.Of].c)
			f := flipped(layouts[e.Of], layouts[e.Name])
			flips = append(flips, f)
			t.Logf("%-28s flips %5.1f %% of the row pairs", e.Name, f)
		}
	}
	t.Logf("%-26s %8s %8s %8s %8s  worst in", "", "best", "median", "worst", "in all")
	for _, m := range metrics {
		type figure struct {
			v    float64
			name string
		}
		var all []figure
		sum := 0.0
		for _, name := range names {
			all = append(all, figure{m.of(layouts[name]), name})
			sum += all[len(all)-1].v
		}
		slices.SortFunc(all, func(a, b figure) int { return int(math.Copysign(1, a.v-b.v)) })
		worst, median := all[len(all)-1], all[len(all)/2]
		t.Logf("%-26s %8.1f %8.1f %8.1f %8.1f  %s", m.name, all[0].v, median.v, worst.v, sum, worst.name)
		if m.worst > 0 && worst.v > m.worst {
			t.Errorf("%s: %s has %.1f, at most %g", m.name, worst.name, worst.v, m.worst)
		}
		if m.median > 0 && median.v > m.median {
			t.Errorf("%s: the median is %.1f, at most %g", m.name, median.v, m.median)
		}
	}
	slices.Sort(flips)
	if n := len(flips); flips[n/2] > 0.5 || flips[n-1] > 10 {
		t.Errorf("variants flip %.1f %% of the row pairs at the median, %.1f at worst", flips[n/2], flips[n-1])
	}
	t.Logf("%-26s %8.1f %8.1f %8.1f", "row pairs flipped, %", flips[0], flips[len(flips)/2], flips[len(flips)-1])
}
