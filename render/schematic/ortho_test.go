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
	"legtrace/render/schematic/layered"
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

// outline is what a referee lays out: boxes as large as our symbols, points for
// our buses, and edges between them.
type outline struct {
	boxes []extent // the symbols, then the buses
	edges []layered.Edge
	nets  []int // by edge
	// pins are where on the box an edge begins and ends; nil at a bus.
	pins [][2]*point
}

// extent is a symbol's size in pixels, 0 by 0 for a bus.
type extent struct{ width, height int }

// outlined is the machine as the referees get it.
func outlined(l *annotation) outline {
	n, node, edges := l.edges()
	s := outline{boxes: make([]extent, n), edges: edges}
	for _, u := range l.units {
		above, below := u.room()
		s.boxes[u.id] = extent{2 * u.halfWidth(), above + below + u.depth()}
	}
	bus := map[int]*net{}
	for net, i := range node {
		bus[i] = net
	}
	plain := map[[2]int][]*net{}
	for _, net := range l.nets {
		if pins := net.machinePins(); !net.bus && len(pins) == 2 {
			a, b := pins[0].unit.id, pins[1].unit.id
			plain[[2]int{a, b}] = append(plain[[2]int{a, b}], net)
			plain[[2]int{b, a}] = append(plain[[2]int{b, a}], net)
		}
	}
	used := map[netPin]bool{}
	for _, e := range edges {
		ends := [2]int{e.From, e.To}
		net := bus[e.To]
		if net == nil {
			net = bus[e.From]
		}
		if net == nil {
			net, plain[ends] = plain[ends][0], plain[ends][1:]
		}
		var at [2]*point
		for k, end := range ends {
			for _, p := range net.machinePins() {
				if p.unit.id == end && (p.side() == left) == (k == 1) && at[k] == nil && !used[p] {
					used[p] = true
					above, _ := p.unit.room()
					at[k] = &point{(1 - k) * s.boxes[end].width, above + p.unit.pins[p.pin].y}
				}
			}
		}
		s.nets, s.pins = append(s.nets, net.id), append(s.pins, at)
	}
	return s
}

// judged measures a referee's drawing: by edge the corners of its ways, of which
// an edge has one or more.
func (s outline) judged(ways [][][]xy) figures {
	var lines []stretch
	bends := 0
	for i, each := range ways {
		for _, way := range each {
			var last *stretch
			for k := 1; k < len(way); k++ {
				a, b := way[k-1], way[k]
				if a == b {
					continue
				}
				line := stretch{xy{min(a.x, b.x), min(a.y, b.y)}, xy{max(a.x, b.x), max(a.y, b.y)}, s.nets[i], ""}
				if last != nil && last.level() != line.level() {
					bends++
				}
				last = &line
				lines = append(lines, line)
			}
		}
	}
	return measure(lines, bends)
}

// orthogonal has Graphviz lay the outlines out, with its own orthogonal edges.
func orthogonal(t testing.TB, outlines []outline) []figures {
	t.Helper()
	var out []figures
	for _, s := range outlines {
		out = append(out, s.judged(waysByGraphviz(t, s)))
	}
	return out
}

// waysByGraphviz are the corners of each edge.
func waysByGraphviz(t testing.TB, s outline) [][][]xy {
	t.Helper()
	const perInch = 72.0
	var src bytes.Buffer
	src.WriteString("digraph{rankdir=LR;splines=ortho;node[shape=box,fixedsize=true,label=\"\"];edge[arrowhead=none];\n")
	for i, b := range s.boxes {
		if b == (extent{}) {
			fmt.Fprintf(&src, "%d[shape=point];\n", i)
		} else {
			fmt.Fprintf(&src, "%d[width=%g,height=%g];\n", i, float64(b.width)/perInch, float64(b.height)/perInch)
		}
	}
	edgesOf := map[[2]int][]int{} // by ends, those of equal ends one after the other
	for i, e := range s.edges {
		fmt.Fprintf(&src, "%d->%d;\n", e.From, e.To)
		edgesOf[[2]int{e.From, e.To}] = append(edgesOf[[2]int{e.From, e.To}], i)
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
	ways := make([][][]xy, len(s.edges))
	for _, line := range strings.Split(plain.String(), "\n") {
		f := strings.Fields(line)
		if len(f) < 4 || f[0] != "edge" {
			continue
		}
		from, _ := strconv.Atoi(f[1])
		to, _ := strconv.Atoi(f[2])
		count, _ := strconv.Atoi(f[3])
		var way []xy
		for i := 0; i < count; i += 3 { // what lies between are a curve's handles
			x, _ := strconv.ParseFloat(f[4+2*i], 64)
			y, _ := strconv.ParseFloat(f[5+2*i], 64)
			way = append(way, xy{x * perInch, y * perInch})
		}
		ends := [2]int{from, to}
		edge := edgesOf[ends][0]
		edgesOf[ends] = edgesOf[ends][1:]
		ways[edge] = [][]xy{way}
	}
	return ways
}

// aheadOfUs are the machines of which a referee's drawing has fewer crossings
// than ours, and by how many; ours has straight rails, which no referee keeps.
var aheadOfUs = map[string]map[string]int{
	"ELK": {
		"cooktop-built-in": 2, "cooktop-built-in-3wire": 1,
		"dryer-3wire": 1, "dryer-motor-fuse": 1,
		"range-apartment": 1, "range-apartment-240": 1, "range-apartment-3wire": 1,
	},
}

// TestNoMoreCrossings compares each machine's drawing with those that Graphviz
// and ELK make of the same symbols and buses. Graphviz' edges need not end on
// terminals and pass through symbols. Run with -v for the table.
func TestNoMoreCrossings(t *testing.T) {
	var our []*annotation
	var outlines []outline
	for _, c := range append(shipped(t), everyKind(t)) {
		l, err := layOut(context.Background(), &Drawing{Circuit: c, Load: circuit.None})
		if err != nil {
			t.Fatal(err)
		}
		our, outlines = append(our, l), append(outlines, outlined(l))
	}
	for referee, draw := range map[string]func(testing.TB, []outline) []figures{"Graphviz": orthogonal, "ELK": layeredWithELK} {
		t.Run(referee, func(t *testing.T) {
			sum, theirs := 0, 0
			for i, b := range draw(t, outlines) {
				a, name := ours(our[i]), our[i].c.Name()
				t.Logf("%-26s %3d wires: crossings %3d, %s %3d; bends %3d, %3d; length %6.0f, %6.0f px", name, len(our[i].runs),
					a.crossings, referee, b.crossings, a.bends, b.bends, a.length, b.length)
				if a.crossings > b.crossings+aheadOfUs[referee][name] {
					t.Errorf("%s has %d crossings, %s draws it with %d", name, a.crossings, referee, b.crossings)
				}
				sum, theirs = sum+a.crossings, theirs+b.crossings
			}
			if sum > theirs || theirs == 0 {
				t.Errorf("%d crossings, %s has %d", sum, referee, theirs)
			}
			t.Logf("together: crossings %d, %s %d", sum, referee, theirs)
		})
	}
}
