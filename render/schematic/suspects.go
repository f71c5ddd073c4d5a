package schematic

import (
	"fmt"
	"sort"
	"strings"

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
	return fmt.Sprintf("%.0f %%", 100*p)
}

// suspectNear is how far out a probability is taken to be its part's or wire's
// without a line to it, in steps.
const suspectNear = 5

// placeSuspects finds room for the probabilities.
func (l *layout) placeSuspects() {
	what := "Suspect: "
	if l.d.Doubts {
		what = "Not sure: "
	}
	for _, s := range l.d.shaded() {
		t := tag{layer: layerSuspects, at: l.centre(s.Branch), s: percent(s.P), title: what + l.c.Label(s.Branch) + ", " + percent(s.P)}
		if !l.tryChance(&t, s.Branch) {
			continue // the legend has it all the same
		}
		l.tags = append(l.tags, t)
		l.taken.add(t.area.grown(tagClear), -1)
	}
}

// tryChance looks for room near by; further off the tag needs a line, from the
// outline where it is a symbol's.
func (l *layout) tryChance(t *tag, id circuit.BranchID) bool {
	wide, centre := textWidth(t.s, smallSize)+8, t.at
	if l.tryTag(t, wide, suspectNear, item.none) {
		return true
	}
	t.leader = true
	for _, up := range []int{-1, 1} {
		t.at = l.edge(id, point{centre.x, centre.y + up*suspectNear*step})
		if l.tryTag(t, wide, 2*tagRings, item.solid) {
			return true
		}
	}
	t.leader, t.at = false, centre
	return l.tryTag(t, wide, tagReach, item.none)
}

// writeHatches defines the patterns that the shading uses.
func (l *layout) writeHatches(b *strings.Builder) {
	if len(l.d.shaded()) == 0 {
		return
	}
	b.WriteString("<defs>")
	for i, h := range hatches {
		fmt.Fprintf(b, "<pattern id=\"hatch-%d\" width=\"%d\" height=\"%d\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><path class=\"hatch\" d=\"M0 0L0 %d\"/></pattern>",
			i, h.pitch, h.pitch, h.pitch)
	}
	b.WriteString("</defs>\n")
}

// writeShading hatches the suspects' ground, under everything else.
func (l *layout) writeShading(b *strings.Builder) {
	for _, s := range l.d.shaded() {
		for _, r := range l.ground(s.Branch) {
			fmt.Fprintf(b, "<rect fill=\"url(#hatch-%d)\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\"/>\n",
				hatch(s.P), r.x0+l.origin.x, r.y0+l.origin.y, r.x1-r.x0, r.y1-r.y0)
		}
	}
}

// bandHalf is half the width of the band along a wire.
const bandHalf = 5

// ground is the area that a branch covers.
func (l *layout) ground(id circuit.BranchID) []rect {
	b := l.c.Branch(id)
	if b.Wire != circuit.None {
		set := map[int]uint8{}
		l.router.mark(set, l.runs[b.Wire].points)
		var out []rect
		for _, s := range l.router.segments(set) {
			out = append(out, s.box().grown(bandHalf))
		}
		return out
	}
	at := l.centre(id)
	if b.A != circuit.None && b.B != circuit.None {
		if u := l.unitOf[b.A]; u.shape == shapeBox || u.shape == shapeMotor || u.shape == shapeWinding {
			return []rect{u.body().grown(3)}
		}
	}
	return []rect{{at.x - reach + step/2, at.y - 2*step, at.x + reach - step/2, at.y + 2*step}}
}

func (l *layout) suspectEntries() []entry {
	var out []entry
	for _, s := range l.d.shaded() {
		out = append(out, withIcon(percent(s.P)+"  "+l.c.Label(s.Branch), func(b *strings.Builder, x, y int) {
			fmt.Fprintf(b, "<rect class=\"rule\" x=\"%d\" y=\"%d\" width=\"26\" height=\"12\"/><rect fill=\"url(#hatch-%d)\" x=\"%d\" y=\"%d\" width=\"26\" height=\"12\"/>\n", x, y+3, hatch(s.P), x, y+3)
		}))
	}
	rest, p := 0, 0.0
	for _, s := range l.d.Suspects {
		if s.P < faintest {
			rest, p = rest+1, p+s.P
		}
	}
	if rest > 0 {
		out = append(out, entry{lines: wrap(fmt.Sprintf("%d others, each under 1 %%, together %s", rest, percent(p)), labelSize, panelWidth, 0)})
	}
	return out
}
