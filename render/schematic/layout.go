package schematic

import (
	"context"
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/render/schematic/rank"
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

	manner manner
	// places is where Graphviz put the symbols and buses, once it has.
	places []rank.Place

	// slack counts up while the wires find no way: it widens all gaps.
	slack int

	columns       int
	trunkRow      map[*unit]int
	trunkBottom   int
	machineBottom int
	machineRight  int
	trunkRight    int
	columnSpans   [][2]int // where each column begins and ends

	// origin is where the diagram's own coordinates begin on the page.
	origin point

	router *router
	runs   []run
	used   []map[int]uint8 // by net: the edges that wires use
	texts  []text
	refs   []text // where the rest of a part is, at the places kept for them
	flags  []flag
	tags   []tag
	// unplaced lists wires and what found no room beside them; the legend has
	// it.
	unplaced [][2]string
	taken    *clutter
}

// looser is how often a machine is laid out anew with more room when its wires
// find no way.
const looser = 5

// manner is a way of stacking the rungs. Which crosses least depends on the
// machine, so several are tried.
type manner struct {
	upsideDown bool // the other way up
	loose      bool // rungs that share a bus are not kept together
	mixed      bool // what touches the neutral need not come first
	crossing   float64
}

var manners = []manner{
	{crossing: 9}, {upsideDown: true, crossing: 9}, {loose: true, crossing: 9}, {loose: true, upsideDown: true, crossing: 9}, {crossing: 30},
	{loose: true, crossing: 30},
	{mixed: true, crossing: 9}, {mixed: true, upsideDown: true, crossing: 9}, {mixed: true, loose: true, crossing: 9},
	{mixed: true, loose: true, upsideDown: true, crossing: 9}, {mixed: true, crossing: 30}, {upsideDown: true, crossing: 30},
	{mixed: true, upsideDown: true, crossing: 30}, {mixed: true, loose: true, crossing: 30}, {loose: true, upsideDown: true, crossing: 30},
	{mixed: true, loose: true, upsideDown: true, crossing: 30}, {crossing: 3}, {mixed: true, crossing: 3},
}

// effort is how many symbols are laid out in all: a small machine is tried in
// every manner, a large one only in the first.
const effort = 400

// layOut lays the machine out and finds room for everything the drawing says.
func layOut(ctx context.Context, d *Drawing) (*layout, error) {
	if err := d.check(); err != nil {
		return nil, err
	}
	l, err := arrange(ctx, d)
	if err != nil {
		return nil, err
	}
	return l.annotated(d), nil
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

// arrange lays the machine out in the manner that crosses least, then turns
// least and is shortest.
func arrange(ctx context.Context, d *Drawing) (*layout, error) {
	var best *layout
	var least [3]int
	var places []rank.Place
	for i, m := range manners {
		l, err := layOutAs(ctx, d, m, places)
		if err != nil && best == nil {
			return nil, err
		}
		if err != nil {
			continue
		}
		places = l.places
		if n := l.tangle(); best == nil || slices.Compare(n[:], least[:]) < 0 {
			best, least = l, n
		}
		if (i+2)*len(l.units) > effort || least[0] == 0 {
			break
		}
	}
	return best, nil
}

// layOutAs lays the machine out, with ever more room until its wires find their
// ways.
func layOutAs(ctx context.Context, d *Drawing, m manner, places []rank.Place) (*layout, error) {
	var err error
	for slack := range looser {
		l := newLayout(d, slack)
		l.manner, l.places = m, places
		if err = l.placeAll(ctx); err != nil {
			return nil, err
		}
		places = l.places
		if err = l.route(); err == nil {
			l.trace()
			return l, nil
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
	}
	return nil, err
}

// tangle counts what makes a drawing hard to follow: crossings, bends, length.
func (l *layout) tangle() [3]int {
	var out [3]int
	type line struct {
		segment
		net int
	}
	var level, upright []line
	for n, set := range l.used {
		for _, s := range l.router.segments(set) {
			out[2] += s.length()
			if s.horizontal() {
				level = append(level, line{s, n})
			} else {
				upright = append(upright, line{s, n})
			}
		}
		for _, mask := range set {
			if bits(mask) == 2 && mask != 1<<east|1<<west && mask != 1<<south|1<<north {
				out[1]++
			}
		}
	}
	for _, h := range level {
		for _, v := range upright {
			if h.net != v.net && h.a.x < v.a.x && v.a.x < h.b.x && v.a.y < h.a.y && h.a.y < v.b.y {
				out[0]++
			}
		}
	}
	return out
}

func newLayout(d *Drawing, slack int) *layout {
	return &layout{d: d, c: d.Circuit, slack: slack, manner: manners[0],
		unitOf: map[circuit.TerminalID]*unit{}, bundleOf: map[*unit]*bundle{}}
}

// placeAll does everything up to the wires.
func (l *layout) placeAll(ctx context.Context) error {
	l.split()
	l.findSiblings()
	if len(l.units) > MostSymbols {
		return fmt.Errorf("%d symbols to draw, at most %d fit a page", len(l.units), MostSymbols)
	}
	l.gather()
	l.followTrunks()
	l.refreshPins()
	l.climb()
	l.orient()
	l.markBuses()
	if err := l.rankColumns(ctx); err != nil {
		return err
	}
	l.place()
	l.captions()
	return ctx.Err()
}
