package suspect

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/trace"
)

// collapse puts one fault in the place of all that do the same to what is seen of
// loads (fault collapsing, as in tests of logic): of an open or a bad joint in a
// chain of wires and contacts, the same in its first by name; of a fault of one of
// several like loads that hang by like wires between the same two places, as lamps
// in parallel do, the same fault of another.
type collapse struct {
	chain []int32            // by branch; only wires and contacts have one, others -1
	first []circuit.BranchID // by chain

	unitOf []int32              // by branch: the load with its wires that it belongs to, or -1
	units  [][]circuit.BranchID // by unit, in the same order in like ones
	group  []int32              // by unit
	groups [][]int32            // units, by group
}

func newCollapse(c *circuit.Circuit, tracer *trace.Tracer) *collapse {
	byRef := func(a, b circuit.BranchID) int { return strings.Compare(c.Branch(a).Ref, c.Branch(b).Ref) }
	t := &collapse{chain: slices.Repeat([]int32{-1}, len(c.Branches())), unitOf: slices.Repeat([]int32{-1}, len(c.Branches()))}
	for _, run := range tracer.Segments(func(circuit.TerminalID) bool { return false }) {
		run = slices.DeleteFunc(slices.Clone(run), func(id circuit.BranchID) bool {
			return c.Branch(id).Role != circuit.Join && c.Branch(id).Role != circuit.Contact
		})
		for _, id := range run {
			t.chain[id] = int32(len(t.first))
		}
		if len(run) > 0 {
			t.first = append(t.first, slices.MinFunc(run, byRef))
		}
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
	for _, units := range t.groups {
		slices.SortFunc(units, func(a, b int32) int { return byRef(t.units[a][0], t.units[b][0]) })
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
		far := w.Other(t)
		words += fmt.Sprint(" to ", far, far == w.To, c.Branch(w.Branch).Ohms, c.Branch(w.Branch).Amps)
		unit = append(unit, w.Branch)
	}
	return words, unit
}

// likeFirst gives the faults that stand for those given. Like loads that are kept
// apart stand for themselves. Moved wires change chains and places; then faults are
// as given.
func (t *collapse) likeFirst(faults []circuit.Fault, apart ...circuit.BranchID) []circuit.Fault {
	moved := func(f circuit.Fault) bool { return f.Kind == circuit.Moved }
	if slices.ContainsFunc(faults, moved) || !slices.ContainsFunc(faults, t.collapses) {
		return faults
	}
	var from, to []int32
	out := slices.Clone(faults)
	for i, f := range faults {
		unit := t.unitOf[f.Branch]
		if unit < 0 || t.holds(unit, apart) {
			continue
		}
		at := slices.Index(from, unit)
		if at < 0 {
			at = len(from)
			from, to = append(from, unit), append(to, t.free(unit, to, apart))
		}
		out[i].Branch = t.units[to[at]][slices.Index(t.units[unit], f.Branch)]
	}
	for i, f := range out {
		k := t.chain[f.Branch]
		alone := !slices.ContainsFunc(out, func(g circuit.Fault) bool { return g != f && t.chain[g.Branch] == k })
		if k >= 0 && alone && (f.Kind == circuit.Open || f.Kind == circuit.HighResistance) {
			out[i].Branch = t.first[k]
		}
	}
	return out
}

// collapses tells of a fault that another may stand for.
func (t *collapse) collapses(f circuit.Fault) bool {
	k := t.chain[f.Branch]
	return t.unitOf[f.Branch] >= 0 || k >= 0 && t.first[k] != f.Branch && (f.Kind == circuit.Open || f.Kind == circuit.HighResistance)
}

// apart tells of a load that has twins, so that keeping it apart matters.
func (t *collapse) apart(load circuit.BranchID) bool {
	return load >= 0 && t.unitOf[load] >= 0 && len(t.groups[t.group[t.unitOf[load]]]) > 1
}

// free is the first twin of a unit that is neither taken nor kept apart.
func (t *collapse) free(unit int32, taken []int32, apart []circuit.BranchID) int32 {
	for _, u := range t.groups[t.group[unit]] {
		if !slices.Contains(taken, u) && !t.holds(u, apart) {
			return u
		}
	}
	return unit
}

func (t *collapse) holds(unit int32, apart []circuit.BranchID) bool {
	return slices.ContainsFunc(apart, func(id circuit.BranchID) bool { return id >= 0 && t.unitOf[id] == unit })
}
