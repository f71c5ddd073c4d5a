package circuit

import (
	"fmt"
	"math"
	"slices"
)

// Stretch is a part of the sizes that a kind of fault may be of, spread evenly
// over the logarithm of the size. Shares count beside each other.
type Stretch struct {
	Low, High, Share float64
	// Cells is how many pieces it is weighed in, within each of which a reading
	// goes nearly evenly from one end to the other.
	Cells int
}

// Range is how large a kind of fault is taken to be before anything is seen.
type Range struct {
	Name, Trade, Unit string
	// Least and Most bound what a netlist may give.
	Least, Most float64
	Stretches   []Stretch
}

// ranges holds the defaults, all common practice without a published source.
var ranges = []Range{
	{"joint", "a bad joint or contact", "ohms", 0.001, largest, []Stretch{{0.05, 0.5, 0.15, 3}, {0.5, 20, 0.5, 6}, {20, 2000, 0.3, 6}, {2000, 1e5, 0.05, 3}}},
	{"leak", "from a winding to metal, from bare contact to damp filling", "ohms", 0, largest, []Stretch{{0, 0.2, 0.35, 1}, {0.2, 30, 0.2, 2}, {30, 1e3, 0.2, 1}, {1e3, 1e6, 0.25, 2}}},
	{"damp", "an element whose ends took up water from the air, from its live end to its sheath", "ohms", 1, largest, []Stretch{{4e3, 6e4, 1, 3}}},
	{"along", "where on a winding it touches metal, evenly over the place: near its cold ends as likely as in the middle", "of its length", 0, 1, []Stretch{{0.02, 0.25, 0.3, 1}, {0.25, 0.5, 0.2, 1}, {0.5, 0.75, 0.2, 1}, {0.75, 0.98, 0.3, 1}}},
	{"chafed", "from a chafed wire or a wet plug to metal", "ohms", 0, largest, []Stretch{{0, 0.2, 0.7, 1}, {0.2, 30, 0.1, 2}, {30, 1e3, 0.1, 1}, {1e3, 1e6, 0.1, 2}}},
	{"part_shorted", "what a winding that is part shorted has left", "of its ohms", 0.01, 0.99, []Stretch{{0.3, 0.93, 1, 5}}},
	{"aged", "a wire grown thin, or an element for other volts", "of its ohms", 1.01, 100, []Stretch{{1.1, 2.5, 1, 5}}},
	{"sensor_low", "a sensor or its harness shorted or wet", "of its ohms", 1e-4, 0.99, []Stretch{{0.001, 0.02, 0.2, 3}, {0.02, 0.85, 0.8, 8}}},
	{"sensor_high", "a sensor with a bad joint", "of its ohms", 1.01, 1e3, []Stretch{{1.18, 20, 1, 8}}},
	{"sensor_off", "a sensor that no longer keeps to its table", "of its ohms", 0.5, 2, []Stretch{{0.85, 0.985, 0.5, 6}, {1.015, 1.18, 0.5, 6}}},
	{"calibration", "by how much a thermostat acts above the room", "of that", 0.3, 3, []Stretch{{0.6, 0.93, 0.4, 4}, {1.07, 1.6, 0.6, 4}}},
	{"supply_low", "what a poor supply brings", "of its volts", 0.05, 0.99, []Stretch{{0.55, 0.93, 1, 12}}},
	{"supply_thin", "a feed too thin or too long, in each leg", "ohms", 0.001, 100, []Stretch{{0.2, 3, 1, 4}}},
}

// Ranges lists how large faults are taken to be by default.
func Ranges() []Range { return slices.Clone(ranges) }

// Ranges lists how large faults are taken to be on this machine.
func (c *Circuit) Ranges() []Range { return slices.Clone(c.ranges) }

// Sizes is the range of that name on this machine, its shares adding up to 1.
func (c *Circuit) Sizes(name string) []Stretch {
	return c.ranges[slices.IndexFunc(c.ranges, func(r Range) bool { return r.Name == name })].Stretches
}

// Bounds of a range that a netlist gives.
const maxStretches, maxCells = 8, 12

func (b *builder) sizes(given map[string][][]float64) {
	b.c.ranges = slices.Clone(ranges)
	at := map[string]int{}
	for i, r := range ranges {
		at[r.Name] = i
	}
	for _, name := range sortedKeys(given) {
		i, err := lookUp(at, "size", name)
		if err != nil {
			b.failErr("sizes."+name, err)
			continue
		}
		if n := len(given[name]); n == 0 || n > maxStretches {
			b.fail("sizes."+name, "like [[0.5, 20, 0.7], [20, 2000, 0.3]]", "%d stretches: 1 to %d can be weighed", n, maxStretches)
			continue
		}
		b.c.ranges[i].Stretches = b.stretches(&ranges[i], given[name])
	}
}

// stretches checks what a netlist gives in place of a range.
func (b *builder) stretches(r *Range, given [][]float64) []Stretch {
	var out []Stretch
	total, from := 0.0, r.Least
	for i, g := range given {
		path := fmt.Sprintf("sizes.%s[%d]", r.Name, i)
		switch {
		case len(g) != 3:
			b.fail(path, "from, to and its share, as in [0.5, 20, 0.7]", "a stretch has 3 figures, not %d", len(g))
		case !(g[0] >= r.Least && g[0] < g[1] && g[1] <= r.Most):
			b.fail(path, fmt.Sprintf("from below to, both within %g to %g %s", r.Least, r.Most, r.Unit), "from %g to %g", g[0], g[1])
		case g[0] < from:
			b.fail(path, "one after the other, from small to large", "from %g, below the end of the one before, %g", g[0], from)
		case !(g[2] > 0 && g[2] <= 1e6):
			b.fail(path, "above 0, at most 1e6", "share %g", g[2])
		default:
			from = g[1]
			out = append(out, Stretch{g[0], g[1], g[2], r.cells(g[0], g[1])})
			total += g[2]
		}
	}
	for i := range out {
		out[i].Share /= total
	}
	return out
}

// cells is into how many pieces a stretch is cut: such as the default's own.
func (r *Range) cells(low, high float64) int {
	if low == 0 || r.Name == "along" {
		return 1
	}
	pieces, length := 0.0, 0.0
	for _, s := range r.Stretches {
		if s.Low > 0 {
			pieces, length = pieces+float64(s.Cells), length+math.Log(s.High/s.Low)
		}
	}
	return max(1, min(maxCells, int(math.Ceil(math.Log(high/low)*pieces/length-1e-9))))
}
