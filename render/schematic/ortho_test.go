package schematic

import (
	"bytes"
	"context"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-graphviz"

	"legtrace/circuit"
)

// figures measure a drawing's wires.
type figures struct {
	crossings, bends int
	length           float64 // in pixels
}

// measure counts crossings of different nets, and sums the rest.
func measure(lines []stretch, bends int) figures {
	f := figures{bends: bends}
	for i, a := range lines {
		f.length += a.b.x - a.a.x + a.b.y - a.a.y
		for _, b := range lines[i+1:] {
			h, v := a, b
			if !h.level() {
				h, v = b, a
			}
			if a.net != b.net && h.level() && !v.level() && h.a.x < v.a.x && v.a.x < h.b.x && v.a.y < h.a.y && h.a.y < v.b.y {
				f.crossings++
			}
		}
	}
	return f
}

// ours measures our own wires; crossings of one node's wires do not count, as
// they do not for the referee.
func ours(l *annotation) figures {
	n := l.score()
	f := figures{0, n[1], float64(n[2])}
	for i := range l.router.along[0] {
		if a, b := l.router.along[0][i], l.router.along[1][i]; a != 0 && b != 0 && a != b && l.uses(a, i) && l.uses(b, i) {
			f.crossings++
		}
	}
	return f
}

// uses reports whether a net, plus 1, has a wire at a point.
func (l *annotation) uses(net int32, i int) bool { return l.used[net-1][i] != 0 }

// orthogonal has Graphviz lay out the same symbols and buses, with its own
// orthogonal edges between them.
func orthogonal(t testing.TB, l *annotation) figures {
	t.Helper()
	const perInch = 72.0
	n, node, edges := l.edges()
	var src bytes.Buffer
	src.WriteString("digraph{rankdir=LR;splines=ortho;node[shape=box,fixedsize=true,label=\"\"];edge[arrowhead=none];\n")
	for _, u := range l.units {
		above, below := u.room()
		fmt.Fprintf(&src, "%d[width=%g,height=%g];\n", u.id, float64(2*u.halfWidth())/perInch, float64(above+below+u.depth())/perInch)
	}
	for i := len(l.units); i < n; i++ {
		fmt.Fprintf(&src, "%d[shape=point];\n", i)
	}
	// The net of an edge is its bus', or else that of the plain wire.
	byNode := map[int]*net{}
	for net, i := range node {
		byNode[i] = net
	}
	netOfEdge := map[[2]int]int{}
	for i, e := range edges {
		fmt.Fprintf(&src, "%d->%d;\n", e.From, e.To)
		netOfEdge[[2]int{e.From, e.To}] = -1 - i
		for _, end := range []int{e.From, e.To} {
			if bus := byNode[end]; bus != nil {
				netOfEdge[[2]int{e.From, e.To}] = bus.id
			}
		}
	}
	src.WriteString("}\n")
	ctx := context.Background()
	g, err := graphviz.New(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer g.Close()
	graph, err := graphviz.ParseBytes(src.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	defer graph.Close()
	var plain bytes.Buffer
	if err := g.Render(ctx, graph, "plain", &plain); err != nil {
		t.Fatal(err)
	}
	var lines []stretch
	bends := 0
	for _, line := range strings.Split(plain.String(), "\n") {
		f := strings.Fields(line)
		if len(f) < 4 || f[0] != "edge" {
			continue
		}
		from, _ := strconv.Atoi(f[1])
		to, _ := strconv.Atoi(f[2])
		count, _ := strconv.Atoi(f[3])
		at := func(i int) xy {
			x, _ := strconv.ParseFloat(f[4+2*i], 64)
			y, _ := strconv.ParseFloat(f[5+2*i], 64)
			return xy{x * perInch, y * perInch}
		}
		var last *stretch
		for i := 0; i+3 < count; i += 3 {
			a, b := at(i), at(i+3)
			if a == b {
				continue
			}
			s := stretch{xy{min(a.x, b.x), min(a.y, b.y)}, xy{max(a.x, b.x), max(a.y, b.y)}, netOfEdge[[2]int{from, to}], ""}
			if last != nil && last.level() != s.level() {
				bends++
			}
			last = &s
			lines = append(lines, s)
		}
	}
	return measure(lines, bends)
}

// TestNoMoreCrossingsThanGraphviz compares with the orthogonal edges of
// Graphviz for each machine, though those need not end on terminals, pass
// through symbols and have no straight rails. Run with -v for the table.
func TestNoMoreCrossingsThanGraphviz(t *testing.T) {
	var our, their figures
	for _, c := range append(shipped(t), everyKind(t)) {
		d := Drawing{Circuit: c, Load: circuit.None}
		l, err := layOut(context.Background(), &d)
		if err != nil {
			t.Fatal(err)
		}
		a, b := ours(l), orthogonal(t, l)
		t.Logf("%-26s %3d wires: crossings %3d, Graphviz %3d; bends %3d, %3d; length %6.0f, %6.0f px", c.Name(), len(c.Wires()),
			a.crossings, b.crossings, a.bends, b.bends, a.length, b.length)
		if a.crossings > b.crossings {
			t.Errorf("%s has %d crossings, Graphviz draws it with %d", c.Name(), a.crossings, b.crossings)
		}
		our.crossings, their.crossings = our.crossings+a.crossings, their.crossings+b.crossings
	}
	if our.crossings > their.crossings || their.crossings == 0 {
		t.Errorf("%d crossings, Graphviz has %d", our.crossings, their.crossings)
	}
	t.Logf("together: crossings %d, Graphviz %d", our.crossings, their.crossings)
}
