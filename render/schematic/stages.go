package schematic

import (
	"context"
	"math"
	"slices"

	"legtrace/circuit"
)

// A drawing is made in stages, each a function from what the former made to what
// it makes itself. None writes what an earlier one decided.
//
//	plan      newGraph, newColumns, newRows, place   what stands where
//	route     route                                  each wire's way
//	annotate  annotate                               names, marks, readings
//	svg       canvas, page                         the page
//
// The first three steps of the plan share the symbols and the nets: each fills in
// its own part of them.

// graph is the machine as symbols with pins, which know their sides, and nets.
type graph struct {
	c      *circuit.Circuit
	units  []*unit
	unitOf map[circuit.TerminalID]*unit
	nets   []*net
	netOf  []*net // by terminal
	trunks []trunk
	form   form
	// blocks tells how wide what can stand right of the neutral's rail is.
	blocks []int
}

// form is how symbols get their columns.
type form struct {
	// beside is how wide a block may be, in layers, that stands to the right of the
	// neutral's rail instead of below what hangs on it.
	beside int
	room   bool // is made for loads in one column
}

// columns are the symbols' places from left to right.
type columns struct {
	*graph
	count  int
	widths []int
	clear  []int // by column: how far its edges are from all pins
	// lines are all lines, and those of each channel between columns.
	lines     []*line
	byChannel [][]*line
	ties      []tie
	passed    []bool // by channel: a plain wire crosses it

	trunkRow    map[*unit]int
	trunkBottom int
	trunkWidths map[*net]int
}

// rows look for the order from top to bottom, over and over.
type rows struct {
	*columns
	// slack counts up while the wires find no way: it widens all gaps.
	slack    int
	bundleOf map[*unit]*bundle
	// like tells where the machine that this one is a variant of has the symbols
	// that are known of both.
	like  map[*unit]int
	known []*unit // from top to bottom there
	lower []int   // for each of them, the first that is lower
	pairs int     // of which one is lower
	// deepest is the last row that fits the paper.
	deepest   int
	occupancy occupancy
	bottom    int // the last row taken
	snapshot  snapshot
	levels    []level   // the rungs as they lie
	upright   []upright // the lines
	tracks    []*line   // those of one channel, from left to right

	machineBottom int
	machineRight  int
	trunkRight    int
	spans         [][2]int // where each column begins and ends
}

// symbol names one of a part's symbols.
type symbol struct {
	part string
	n    int
}

// symbol is a unit's name, which it has in variants of the machine too.
func (g *graph) symbol(u *unit) symbol {
	n := 0
	for _, o := range g.units[:u.id] {
		n += btoi(o.part == u.part)
	}
	return symbol{u.part.Name, n}
}

// rows tells where each symbol stands.
func (g *graph) rows() map[symbol]int {
	out := map[symbol]int{}
	for _, u := range g.units {
		if !u.trunk {
			out[g.symbol(u)] = u.y
		}
	}
	return out
}

// plan is what stands where: every symbol and every line has its place.
type plan struct {
	*graph
	size     point
	spans    [][2]int // where each column begins and ends
	rungs    []int    // the y of each numbered row
	captions []text
	refs     []text // where the rest of a part is, at the places kept for them
	hasty    bool   // no wire need take the cheapest way
}

// routing is the plan with its wires.
type routing struct {
	*plan
	router *router
	runs   []run
	used   []map[int]uint8 // by net: the edges that wires use
	shared [][]share       // by net: the same, by the wires that use them
	// stretches are those of the edges, by net, and dots the junctions, once shared.
	stretches [][]segment
	dots      []point
}

// annotation is what one drawing says about the machine.
type annotation struct {
	*routing
	d     *Drawing
	texts []text
	flags []flag
	tags  []tag
	// unplaced lists wires and what found no room beside them; the legend has
	// it.
	unplaced [][2]string
	taken    *clutter
	clear    []rect // where the diagram is cut
}

// canvas is where an annotated diagram is drawn: its own coordinates begin at the
// origin.
type canvas struct {
	*annotation
	origin point
}

// layOut lays the machine out and finds room for everything the drawing says.
func layOut(ctx context.Context, d *Drawing) (*annotation, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	rt, err := arrange(ctx, d.Circuit, d.Base, anySize)
	if err != nil {
		return nil, err
	}
	return annotate(rt, d), ctx.Err()
}

// anySize is for what is not bound to a sheet of paper.
var anySize = point{math.MaxInt, math.MaxInt}

// looser is how often a machine is laid out anew with more room when its wires
// find no way.
const looser = 5

// arrange plans the machine and routes its wires in the way that crosses least,
// then turns least and is shortest, with ever more room until the wires find
// their ways. A variant keeps to the order of its base, and all to the rows that
// fit. A smaller machine's loads are tried in one column, and blocks beside each
// other where it is deeper than is good.
func arrange(ctx context.Context, c, base *circuit.Circuit, fit point) (*routing, error) {
	var like map[symbol]int
	var as form
	if base != nil {
		rt, err := arrange(ctx, base, nil, fit)
		if err != nil {
			return nil, err
		}
		like, as = rt.rows(), rt.form
	}
	done := work{done: ctx.Done()}
	cs, err := newColumns(ctx, c, as)
	if err != nil {
		return nil, err
	}
	best, err := cs.arrange(ctx, like, fit, &done)
	if err != nil || base != nil || len(cs.units) > manySymbols {
		return best, err
	}
	widths := []int{0}
	if best.size.x*5 < best.size.y*6 { // a legend beside it would not make it wide enough
		widths = append(widths, cs.blocks...)
	}
	as.room = true
	for _, as.beside = range widths {
		cs, err := newColumns(ctx, c, as)
		if err != nil || slices.EqualFunc(cs.units, best.units, func(a, b *unit) bool { return a.column == b.column }) {
			continue
		}
		if rt, err := cs.arrange(ctx, nil, fit, &done); err == nil && rt.cost(fit) < best.cost(fit) {
			best = rt
		}
	}
	return best, ctx.Err()
}

// asideCost is for a load that stands in another column than most, in steps.
const asideCost = 8

// cost weighs crossings, size, what does not fit, and loads aside.
func (rt *routing) cost(fit point) int {
	aside, _ := rt.aside()
	over := max(0, rt.size.x-fit.x) + max(0, rt.size.y-fit.y)
	return tangleCost*rt.score()[0] + (rt.size.x+rt.size.y+tallCost*over)/step + asideCost*aside
}

// aside counts the loads that stand elsewhere than in the column with most of them.
func (g *graph) aside() (aside, loads int) {
	in, most := map[int]int{}, 0
	for _, u := range g.units {
		if u.load && !g.hung(u) {
			loads++
			in[u.column]++
			most = max(most, in[u.column])
		}
	}
	return loads - most, loads
}

func (cs *columns) arrange(ctx context.Context, like map[symbol]int, fit point, done *work) (rt *routing, err error) {
	for slack := range looser {
		rs := newRows(cs, slack, like)
		rs.deepest = fit.y/step - 4
		if rt, err = rs.route(ctx, done); err == nil || ctx.Err() != nil || done.all > mostWork {
			return rt, err
		}
	}
	return nil, err
}

// newGraph makes symbols and nets of the machine's parts and wires.
func newGraph(c *circuit.Circuit) (*graph, error) {
	g := &graph{c: c, unitOf: map[circuit.TerminalID]*unit{}}
	g.split()
	if err := g.capped(); err != nil {
		return nil, err
	}
	g.findSiblings()
	g.gather()
	g.followTrunks()
	g.refreshPins()
	g.findPotentials()
	g.orient()
	g.markBuses()
	return g, nil
}

// newColumns gives every symbol its column and every line its channel.
func newColumns(ctx context.Context, c *circuit.Circuit, as form) (*columns, error) {
	g, err := newGraph(c)
	if err != nil {
		return nil, err
	}
	g.form = as
	cs := &columns{graph: g}
	if err := cs.rank(ctx); err != nil {
		return nil, err
	}
	cs.sortLeaves()
	cs.listLines()
	cs.measure()
	cs.measureTrunks()
	cs.placeTrunkRows()
	return cs, ctx.Err()
}

func newRows(cs *columns, slack int, like map[symbol]int) *rows {
	rs := &rows{columns: cs, slack: slack, bundleOf: map[*unit]*bundle{}, like: map[*unit]int{}, deepest: math.MaxInt}
	for _, u := range cs.units {
		if y, has := like[cs.symbol(u)]; has && !u.trunk {
			rs.like[u] = y
			rs.known = append(rs.known, u)
		}
	}
	slices.SortStableFunc(rs.known, func(a, b *unit) int { return rs.like[a] - rs.like[b] })
	for i, u := range rs.known {
		first := i
		for first < len(rs.known) && rs.like[rs.known[first]] == rs.like[u] {
			first++
		}
		rs.lower = append(rs.lower, first)
		rs.pairs += len(rs.known) - first
	}
	return rs
}

// place puts everything where a stacking has it.
func (rs *rows) place(s *stacking) *plan {
	rs.estimate(s)
	pl := &plan{graph: rs.graph, hasty: rs.hopeless(s), size: point{rs.machineRight + outerGap, rs.machineBottom + 4*step}, spans: slices.Clone(rs.spans)}
	pl.numberRungs()
	pl.setCaptions()
	return pl
}

// fewerBends is how many bends a stacking has to save to be preferred to an
// earlier one that crosses as much.
const fewerBends = 3

// route routes the stackings and keeps the first of those that cross least and
// turn little more than the least.
func (rs *rows) route(ctx context.Context, done *work) (*routing, error) {
	from := rs.search(ctx)
	slices.SortStableFunc(from, func(a, b stacking) int { return btoi(a.tooDeep) - btoi(b.tooDeep) })
	best, last := -1, -1
	var least [2]int
	var kept *routing
	var failed error
	for i := range from {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if best >= 0 && (from[i].crossings > least[0] || from[i].tooDeep && !from[best].tooDeep || done.states > exactWork) {
			continue // crossings are reckoned too low rather than too high
		}
		last = i // laid out, whether or not its wires find their ways
		rt, err := route(ctx, rs.place(&from[i]), done)
		if err != nil {
			failed = err
			continue
		}
		if n := rt.score(); best < 0 || n[0] < least[0] || n[0] == least[0] && n[1]+fewerBends <= least[1] {
			best, least, kept = i, [2]int{n[0], n[1]}, rt
		}
	}
	if best < 0 {
		return nil, failed
	}
	if best != last {
		kept.plan = rs.place(&from[best]) // what it was routed in, as it was
	}
	kept.share()
	return kept, nil
}
