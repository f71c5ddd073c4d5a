package schematic

import (
	"context"
	"math/bits"

	"legtrace/circuit"
)

// layout is a drawing in the making.
type layout struct {
	d *Drawing
	c *circuit.Circuit

	units  []*unit
	unitOf map[circuit.TerminalID]*unit
	nets   []*net
	netOf  []*net // by terminal
	trunks []trunk

	bundleOf map[*unit]*bundle

	// lines are all lines, and those of each channel.
	lines     []*line
	byChannel [][]*line
	ties      []*tie
	passed    []bool // by channel: a plain wire crosses it
	occupancy occupancy
	bottom    int // the last row taken
	snapshot  snapshot

	// slack counts up while the wires find no way: it widens all gaps.
	slack int

	columns       int
	trunkRow      map[*unit]int
	trunkBottom   int
	machineBottom int
	machineRight  int
	trunkRight    int
	columnWidths  []int
	columnSpans   [][2]int // where each column begins and ends
	trunkWidths   map[*net]int

	rungs []int // the y of each numbered row

	// origin is where the diagram's own coordinates begin on the page.
	origin point

	router *router
	runs   []run
	used   []map[int]uint8 // by net: the edges that wires use
	shared [][]share       // by net: the same, by the wires that use them
	texts  []text
	refs   []text // where the rest of a part is, at the places kept for them
	flags  []flag
	tags   []tag
	// unplaced lists wires and what found no room beside them; the legend has
	// it.
	unplaced [][2]string
	taken    *clutter
}

// layOut lays the machine out and finds room for everything the drawing says.
func layOut(ctx context.Context, d *Drawing) (*layout, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	l, err := arrange(ctx, d)
	if err != nil {
		return nil, err
	}
	return l.annotated(d), ctx.Err()
}

// annotated is the same layout with what another drawing says. The layout
// itself stays as it is.
func (l *layout) annotated(d *Drawing) *layout {
	out := *l
	out.d = d
	out.texts = append([]text(nil), l.texts...)
	out.flags, out.tags, out.unplaced = nil, nil, nil
	out.annotate()
	return &out
}

// looser is how often a machine is laid out anew with more room when its wires
// find no way.
const looser = 5

// arrange lays the machine out in the way that crosses least, then turns least
// and is shortest, with ever more room until its wires find their ways.
func arrange(ctx context.Context, d *Drawing) (*layout, error) {
	l := newLayout(d)
	if err := l.prepare(ctx); err != nil {
		return nil, err
	}
	var err error
	for l.slack = range looser {
		if err = l.wireBest(ctx, l.search(ctx)); err == nil {
			l.share()
			return l, nil
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
	}
	return nil, err
}

// fewerBends is how many bends a stacking has to save to be preferred to an
// earlier one that crosses as much.
const fewerBends = 3

// wireBest routes the stackings and keeps the first of those that cross least and
// turn little more than the least.
func (l *layout) wireBest(ctx context.Context, from []stacking) error {
	best, last, least := -1, -1, [2]int{}
	var failed error
	for i := range from {
		if err := ctx.Err(); err != nil {
			return err
		}
		if best >= 0 && from[i].crossings > least[0] {
			continue // it is reckoned too low rather than too high
		}
		l.apply(&from[i])
		last = i // laid out, whether or not its wires find their ways
		if err := l.route(ctx); err != nil {
			failed = err
			continue
		}
		l.trace()
		n := l.score()
		if best < 0 || n[0] < least[0] || n[0] == least[0] && n[1]+fewerBends <= least[1] {
			best, least = i, [2]int{n[0], n[1]}
		}
	}
	if best < 0 {
		return failed
	}
	if best != last {
		l.apply(&from[best])
		if err := l.route(ctx); err != nil {
			return err
		}
		l.trace()
	}
	return nil
}

// score counts what makes a drawing hard to follow: crossings, bends, length in
// pixels. Wires on one line count once.
func (l *layout) score() [3]int {
	var out [3]int
	dots := map[int]bool{}
	for _, p := range l.junctions() {
		dots[l.router.index(p)] = true
	}
	straight, turns := map[int]uint8{}, map[[2]int]bool{}
	for i := range l.runs {
		points := l.runs[i].points
		for k := 1; k+1 < len(points); k++ {
			at := points[k]
			a, b := l.router.direction(points[k-1], at), l.router.direction(at, points[k+1])
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
	for _, set := range l.used {
		for _, mask := range set {
			out[2] += bits.OnesCount8(mask) * step / 2
		}
	}
	return out
}

func newLayout(d *Drawing) *layout {
	return &layout{d: d, c: d.Circuit, unitOf: map[circuit.TerminalID]*unit{}, bundleOf: map[*unit]*bundle{}}
}

// prepare does all that comes before the rows.
func (l *layout) prepare(ctx context.Context) error {
	l.split()
	if err := l.capped(); err != nil {
		return err
	}
	l.findSiblings()
	l.gather()
	l.followTrunks()
	l.refreshPins()
	l.findPotentials()
	l.orient()
	l.markBuses()
	if err := l.rankColumns(ctx); err != nil {
		return err
	}
	l.sortLeaves()
	l.listLines()
	l.measureColumns()
	l.measureTrunks()
	l.placeTrunkRows()
	return ctx.Err()
}
