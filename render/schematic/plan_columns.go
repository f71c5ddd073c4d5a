package schematic

import (
	"context"
	"slices"
	"sort"

	"legtrace/circuit"
	"legtrace/render/schematic/layered"
)

// edges are what ties symbols and buses together, drawn from left to right: n nodes, the symbols first, then the buses by their number.
func (g *graph) edges() (n int, node map[*net]int, edges []layered.Edge) {
	node = map[*net]int{}
	n = len(g.units)
	nodeOf := func(net *net) int {
		if _, ok := node[net]; !ok {
			node[net] = n
			n++
		}
		return node[net]
	}
	for _, net := range g.nets {
		pins := net.machinePins()
		if len(pins) == 0 || g.isEarth(net) {
			continue
		}
		if !net.bus {
			if len(pins) == 2 && pins[0].side() != pins[1].side() {
				a, b := pins[0], pins[1]
				if a.side() == left {
					a, b = b, a
				}
				edges = append(edges, layered.Edge{From: a.unit.id, To: b.unit.id, Weight: 4})
			}
			continue
		}
		at := nodeOf(net)
		for _, p := range pins {
			if p.side() == left {
				edges = append(edges, layered.Edge{From: at, To: p.unit.id, Weight: 1})
			} else {
				edges = append(edges, layered.Edge{From: p.unit.id, To: at, Weight: 1})
			}
		}
	}
	if len(g.c.Supply().Legs) == 2 && len(g.trunks[2].rail.wires) > 0 {
		edges = append(edges,
			layered.Edge{From: nodeOf(g.trunks[0].rail), To: nodeOf(g.trunks[2].rail)},
			layered.Edge{From: nodeOf(g.trunks[2].rail), To: nodeOf(g.trunks[1].rail)})
	}
	return n, node, edges
}

// rank finds every symbol's column, every bus' channel and the order
// from top to bottom.
func (cs *columns) rank(ctx context.Context) error {
	n, node, edges := cs.edges()
	places, err := layered.Layout(ctx, n, edges)
	if pushed := cs.blocksAside(node, edges, places); len(pushed) > 0 {
		edges = append(edges, pushed...)
		places, err = layered.Layout(ctx, n, edges)
	}
	if err != nil {
		return err
	}
	cs.centre(places, edges)
	ranks := map[int]bool{}
	for _, u := range cs.units {
		if !cs.hung(u) {
			ranks[places[u.id].Layer] = true
		}
	}
	sorted := make([]int, 0, len(ranks))
	for r := range ranks {
		sorted = append(sorted, r)
	}
	sort.Ints(sorted)
	cs.count = len(sorted)
	for _, u := range cs.units {
		u.column = sort.SearchInts(sorted, places[u.id].Layer)
		u.height = places[u.id].Height
	}
	for net, i := range node {
		net.layer = places[i].Layer
		net.channel = sort.SearchInts(sorted, places[i].Layer+1)
	}
	cs.trunks[0].rail.channel = 0
	for _, t := range cs.trunks[1:] {
		if t.rail.channel < 0 || t.rail.potential > 1-1e-6 && t.rail.known {
			t.rail.channel = cs.count
		}
	}
	return nil
}

// blocksAside finds blocks that stand below the neutral's rail but need not: what hangs
// together other than by rails, without leading to the neutral. It notes how many
// layers each takes up, and gives edges that bring those of at most form.beside to
// the right of the rail, beside what stands left of it.
func (cs *columns) blocksAside(node map[*net]int, edges []layered.Edge, places []layered.Place) (pushed []layered.Edge) {
	if len(cs.c.Supply().Legs) != 2 || len(cs.trunks[2].rail.wires) == 0 || len(places) == 0 {
		return nil
	}
	neutral := node[cs.trunks[2].rail]
	blocks := circuit.NewGroups(len(cs.units))
	for _, n := range cs.nets {
		for _, p := range n.pins {
			if !n.rail {
				blocks.Join(int32(n.pins[0].unit.id), int32(p.unit.id))
			}
		}
	}
	first, last, leads := map[int32]int{}, map[int32]int{}, map[int32]bool{}
	for _, u := range cs.units {
		b, at := blocks.Of(int32(u.id)), places[u.id].Layer
		if _, has := first[b]; !has {
			first[b] = at
		}
		first[b], last[b] = min(first[b], at), max(last[b], at)
		leads[b] = leads[b] || cs.hung(u) || slices.ContainsFunc(edges, func(e layered.Edge) bool { return e.From == u.id && e.To == neutral })
	}
	for _, u := range cs.units {
		b := blocks.Of(int32(u.id))
		if leads[b] || first[b] > places[neutral].Layer {
			continue
		}
		wide := last[b] - first[b] + 1
		cs.blocks = append(cs.blocks, wide)
		if wide <= cs.form.beside {
			pushed = append(pushed, layered.Edge{From: neutral, To: u.id})
		}
	}
	slices.Sort(cs.blocks)
	cs.blocks = slices.Compact(cs.blocks)
	return pushed
}

// centre moves loads into the layer where most of them can stand without one more
// layer. What is in their way makes room where that is asked for and makes no layer
// fuller. A sensor stays with its control.
func (cs *columns) centre(places []layered.Place, edges []layered.Edge) {
	s := newStanding(places, edges)
	var loads []*unit
	depth, in := 0, make([]int, s.last+1)
	for _, u := range cs.units {
		if u.load && u.part.Kind != circuit.KindSensor && !cs.hung(u) {
			above, below := u.extent()
			loads, depth = append(loads, u), depth+above+below
			in[places[u.id].Layer]++
		}
	}
	best, most, limit := s, slices.Max(in), max(depth, cs.fullest(&s))
	for layer := range in {
		with, count := s, 0
		for _, u := range loads {
			if next, ok := with.at(u.id, layer); ok && (with.open(u.id, layer) || cs.form.room && cs.fullest(&next) <= limit) {
				with, count = next, count+1
			}
		}
		if count > most {
			best, most = with, count
		}
	}
	for v := range places {
		places[v].Layer = best.layer(v)
	}
}

// fullest is how deep the symbols of a layer are together, at most.
func (cs *columns) fullest(s *standing) int {
	depth := make([]int, s.last+1)
	for _, u := range cs.units {
		if !cs.hung(u) {
			above, below := u.extent()
			depth[s.layer(u.id)] += above + below
		}
	}
	return slices.Max(depth)
}

// standing is where nodes can stand: beside has what is left and right of each,
// least how many layers must be.
type standing struct {
	places []layered.Place
	last   int
	beside [2][][]int
	least  [2][]int
}

func newStanding(places []layered.Place, edges []layered.Edge) standing {
	n := len(places)
	s := standing{places: places, beside: [2][][]int{make([][]int, n), make([][]int, n)}, least: [2][]int{make([]int, n), make([]int, n)}}
	for _, p := range places {
		s.last = max(s.last, p.Layer)
	}
	for _, e := range edges {
		a, b := e.From, e.To
		if a == b {
			continue
		}
		if places[a].Layer > places[b].Layer {
			a, b = b, a
		}
		s.beside[0][b], s.beside[1][a] = append(s.beside[0][b], a), append(s.beside[1][a], b)
	}
	for side := range s.least {
		for v := range places {
			for _, o := range s.beside[1-side][v] {
				s.push(side, o, s.least[side][v]+1)
			}
		}
	}
	return s
}

// push leaves at least so many layers at a side of a node.
func (s *standing) push(side, v, least int) {
	if s.least[side][v] < least {
		s.least[side][v] = least
		for _, o := range s.beside[1-side][v] {
			s.push(side, o, least+1)
		}
	}
}

// at is the same with a node in a layer, if it can stand there.
func (s standing) at(v, layer int) (standing, bool) {
	ok := s.least[0][v] <= layer && s.least[1][v] <= s.last-layer
	if ok {
		s.least = [2][]int{slices.Clone(s.least[0]), slices.Clone(s.least[1])}
		s.push(0, v, layer)
		s.push(1, v, s.last-layer)
	}
	return s, ok
}

// open reports whether nothing has to make room for a node in a layer.
func (s *standing) open(v, layer int) bool {
	return !slices.ContainsFunc(s.beside[0][v], func(o int) bool { return s.layer(o) >= layer }) &&
		!slices.ContainsFunc(s.beside[1][v], func(o int) bool { return s.layer(o) <= layer })
}

// layer is the one nearest to a node's own that it can stand in.
func (s *standing) layer(v int) int {
	return min(max(s.places[v].Layer, s.least[0][v]), s.last-s.least[1][v])
}

// machinePins are a net's pins outside the trunks, but for that of a splice on
// its own line.
func (n *net) machinePins() []netPin {
	var out []netPin
	for _, p := range n.pins {
		if p.ofMachine() {
			out = append(out, p)
		}
	}
	return out
}

func (p netPin) ofMachine() bool { return !p.unit.trunk && !p.unit.seated }

// hung reports whether a symbol has its place on a line, not in a column.
func (g *graph) hung(u *unit) bool {
	return u.trunk || u.seated || u.shape == shapeChassis && g.isEarth(g.netOf[u.pins[0].terminal])
}

// isEarth reports whether a net is the protective earth's own rail, with
// nothing on it but the chassis: it then stands outside the diagram.
func (g *graph) isEarth(n *net) bool {
	if g.c.Supply().Earth == circuit.None || g.trunks[len(g.trunks)-1].rail != n {
		return false
	}
	return !slices.ContainsFunc(n.pins, func(p netPin) bool { return p.ofMachine() && p.unit.shape != shapeChassis })
}
