package schematic

import (
	"fmt"
	"sort"

	"legtrace/circuit"
)

// Shade is how likely a branch is the one at fault.
type Shade struct {
	Branch circuit.BranchID
	// P is a probability, 0 to 1.
	P float64
}

// hatches are the densities of shading: the lines' distance, from the least
// probability on.
var hatches = []struct {
	least float64
	pitch int
}{{0.4, 3}, {0.2, 4}, {0.1, 5}, {0.05, 7}, {0, 10}}

// faintest is the probability below which nothing is shaded.
const faintest = 0.01

func hatch(p float64) int {
	for i, h := range hatches {
		if p >= h.least {
			return i
		}
	}
	return len(hatches) - 1
}

// shaded lists the suspects worth showing, likeliest first.
func (d *Drawing) shaded() []Shade {
	var out []Shade
	for _, s := range d.Suspects {
		if s.P >= faintest {
			out = append(out, s)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	return out
}

func percent(p float64) string {
	if p > 0.995 {
		return ">99 %" // nothing is certain
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// suspectNear is how far out a probability is taken to be its part's or wire's
// without a line to it, in steps.
const suspectNear = 5

// placeSuspects finds room for the probabilities.
func (an *annotation) placeSuspects() {
	what := "Suspect: "
	if an.d.Doubts {
		what = "Not sure: "
	}
	for _, s := range an.d.shaded() {
		t := tag{layer: layerSuspects, at: an.centre(s.Branch), s: percent(s.P), class: "chance", title: what + an.c.Label(s.Branch) + ", " + percent(s.P)}
		if !an.tryChance(&t, s.Branch) {
			continue // the legend has it all the same
		}
		an.keep(t)
	}
}

// tryChance looks for room near by; further off the tag needs a line, from the
// outline where it is a symbol's.
func (an *annotation) tryChance(t *tag, id circuit.BranchID) bool {
	wide, centre := textWidth(t.s, smallSize)+8, t.at
	if an.tryTag(t, wide, suspectNear, item.none) {
		return true
	}
	t.leader = true
	for _, up := range []int{-1, 1} {
		t.at = an.edge(id, point{centre.x, centre.y + up*suspectNear*step})
		if an.tryTag(t, wide, 2*tagRings, item.solid) {
			return true
		}
	}
	t.leader, t.at = false, centre
	return an.tryTag(t, wide, tagReach, item.none)
}

// bandHalf is half the width of the band along a wire.
const bandHalf = 5

// ground is the area that a branch covers.
func (an *annotation) ground(id circuit.BranchID) []rect {
	b := an.c.Branch(id)
	if b.Wire != circuit.None {
		set := map[int]uint8{}
		an.router.mark(set, an.runs[b.Wire].points)
		var out []rect
		for _, s := range an.router.segments(set) {
			out = append(out, s.box().grown(bandHalf))
		}
		return out
	}
	at := an.centre(id)
	if b.A != circuit.None && b.B != circuit.None {
		if u := an.unitOf[b.A]; u.shape == shapeBox || u.shape == shapeMotor || u.shape == shapeWinding {
			return []rect{u.body().grown(3)}
		}
	}
	return []rect{{at.x - reach + step/2, at.y - 2*step, at.x + reach - step/2, at.y + 2*step}}
}
