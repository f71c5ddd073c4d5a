package suspect

import (
	"fmt"
	"slices"

	"legtrace/circuit"
)

// twins are like loads that hang by like wires between the same two places, as
// lamps in parallel do. By symmetry a fault of one does to all else what the same
// fault of another does, so that one settling stands for both.
type twins struct {
	unitOf []int32              // by branch: the load with its wires that it belongs to, or -1
	units  [][]circuit.BranchID // by unit, in the same order in like ones
	group  []int32              // by unit
	groups [][]int32            // units, by group
}

func newTwins(c *circuit.Circuit) *twins {
	t := &twins{unitOf: make([]int32, len(c.Branches()))}
	for i := range t.unitOf {
		t.unitOf[i] = -1
	}
	like := map[string]int32{}
	for i := range c.Parts() {
		words, unit := unitLoad(c, &c.Parts()[i])
		if unit == nil || slices.ContainsFunc(unit, func(id circuit.BranchID) bool { return t.unitOf[id] >= 0 }) {
			continue
		}
		at := int32(len(t.units))
		g, seen := like[words]
		if !seen {
			g = int32(len(t.groups))
			like[words], t.groups = g, append(t.groups, nil)
		}
		t.units, t.group, t.groups[g] = append(t.units, unit), append(t.group, g), append(t.groups[g], at)
		for _, id := range unit {
			t.unitOf[id] = at
		}
	}
	return t
}

// unitLoad lists a plain load and its two wires, and tells in words all that bears
// on what they do; it is nil for any other part.
func unitLoad(c *circuit.Circuit, p *circuit.Part) (string, []circuit.BranchID) {
	if p.Kind != circuit.KindLamp && p.Kind != circuit.KindElement || p.Body != circuit.None || len(p.Branches) != 1 || len(p.Terminals) != 2 {
		return "", nil
	}
	b := c.Branch(p.Branches[0])
	words := fmt.Sprint(p.Kind, b.Z, b.Volts, b.Watts, b.Amps, b.A == p.Terminals[0])
	unit := []circuit.BranchID{b.ID}
	for _, t := range p.Terminals {
		wires := c.Terminal(t).Wires
		if len(wires) != 1 {
			return "", nil
		}
		w := c.Wire(wires[0])
		far := w.From
		if far == t {
			far = w.To
		}
		words += fmt.Sprint(" to ", far, far == w.To, c.Branch(w.Branch).Ohms, c.Branch(w.Branch).Amps)
		unit = append(unit, w.Branch)
	}
	return words, unit
}

// stand puts, for faults of twins, the same faults of the first twins that are not
// kept apart, in the order met. Moved wires part twins; then faults are as given.
func (t *twins) stand(faults []circuit.Fault, apart ...circuit.BranchID) []circuit.Fault {
	var from, to []int32
	out := faults
	for i, f := range faults {
		if f.Kind == circuit.Moved {
			return faults
		}
		unit := t.unitOf[f.Branch]
		if unit < 0 || t.holds(unit, apart) {
			continue
		}
		at := slices.Index(from, unit)
		if at < 0 {
			at = len(from)
			from, to = append(from, unit), append(to, t.free(unit, to, apart))
		}
		if to[at] == unit {
			continue
		}
		if &out[0] == &faults[0] {
			out = slices.Clone(faults)
		}
		out[i].Branch = t.units[to[at]][slices.Index(t.units[unit], f.Branch)]
	}
	return out
}

// free is the first twin of a unit that is neither taken nor kept apart.
func (t *twins) free(unit int32, taken []int32, apart []circuit.BranchID) int32 {
	for _, u := range t.groups[t.group[unit]] {
		if !slices.Contains(taken, u) && !t.holds(u, apart) {
			return u
		}
	}
	return unit
}

func (t *twins) holds(unit int32, apart []circuit.BranchID) bool {
	return slices.ContainsFunc(apart, func(id circuit.BranchID) bool { return id >= 0 && t.unitOf[id] == unit })
}
