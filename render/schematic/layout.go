package schematic

import (
	"context"
	"fmt"

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

func layOut(ctx context.Context, d *Drawing) (*layout, error) {
	var err error
	for slack := range looser {
		l := newLayout(d, slack)
		if err = l.placeAll(ctx); err != nil {
			return nil, err
		}
		if err = l.route(); err == nil {
			l.trace()
			l.annotate()
			return l, nil
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
	}
	return nil, err
}

func newLayout(d *Drawing, slack int) *layout {
	return &layout{d: d, c: d.Circuit, slack: slack,
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
