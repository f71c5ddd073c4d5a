package circuit

import "fmt"

// defaultAccessMinutes is the effort to reach a terminal that no listed point
// names (common practice, no source).
const defaultAccessMinutes = 8

// PointAt returns the listed test point at a terminal, or nil.
func (c *Circuit) PointAt(t TerminalID) *Point {
	for i := range c.points {
		if c.points[i].Terminal == t {
			return &c.points[i]
		}
	}
	return nil
}

// PlaceName names a terminal as a technician would: by its test point, else by
// its reference.
func (c *Circuit) PlaceName(t TerminalID) string {
	if p := c.PointAt(t); p != nil {
		return p.Name
	}
	return c.terminals[t].Ref
}

// PlaceOf says where a terminal is reached: its test point's place, else its
// part's; empty where neither says.
func (c *Circuit) PlaceOf(t TerminalID) string {
	if p := c.PointAt(t); p != nil && p.Place != "" {
		return p.Place
	}
	return c.parts[c.terminals[t].Part].Place
}

// AccessMinutes is the effort to get a probe to a terminal.
func (c *Circuit) AccessMinutes(t TerminalID) float64 {
	if p := c.PointAt(t); p != nil && p.Minutes > 0 {
		return p.Minutes
	}
	return defaultAccessMinutes
}

// BranchPrior returns the relative chance that a branch is the failed one: its part
// kind's prior shared among the part's branches, or a wire's.
func (c *Circuit) BranchPrior(id BranchID) float64 {
	b := &c.branches[id]
	if b.Wire != None {
		return c.priors[KindNone]
	}
	p := &c.parts[b.Part]
	return max(1e-3, c.priors[p.Kind]) / float64(len(p.Branches))
}

// Runs numbers the terminals by the run of wires and connectors they are on:
// terminals of one run are joined by joins alone, whatever any contact does.
func (c *Circuit) Runs() []int32 {
	groups := NewGroups(len(c.terminals))
	for i := range c.branches {
		if b := &c.branches[i]; b.Role == Join {
			groups.Join(int32(b.A), int32(b.B))
		}
	}
	for i := range groups {
		groups[i] = groups.Of(int32(i))
	}
	return groups
}

// WireBetween is the branch of the wire from one terminal to another, either way.
// Of several it is the first.
func (c *Circuit) WireBetween(p, q TerminalID) (BranchID, error) {
	for _, id := range c.terminals[p].Wires {
		if w := &c.wires[id]; w.From == q || w.To == q {
			return w.Branch, nil
		}
	}
	return None, fmt.Errorf("no wire lies between %s and %s: amps tell of one wire, by its two ends", c.terminals[p].Ref, c.terminals[q].Ref)
}
