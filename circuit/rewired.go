package circuit

import (
	"errors"
	"slices"
)

// ErrMoved is what those return who follow the netlist's wires, and not where a
// fault put one.
var ErrMoved = errors.New("a wire that lies elsewhere is weighed and measured, not drawn: put it into a netlist of its own as it lies")

// Rewired returns the machine with its moved wires where the faults put them,
// and the other faults. All identifiers mean the same in both. Without a moved
// wire it returns the circuit itself.
func (c *Circuit) Rewired(faults []Fault) (*Circuit, []Fault) {
	moved := func(f Fault) bool { return f.Kind == Moved }
	if !slices.ContainsFunc(faults, moved) {
		return c, faults
	}
	now := *c
	now.branches, now.wires, now.terminals = slices.Clone(c.branches), slices.Clone(c.wires), slices.Clone(c.terminals)
	for _, f := range faults {
		if f.Kind != Moved {
			continue
		}
		b := &now.branches[f.Branch]
		w := &now.wires[b.Wire]
		for _, at := range [2]TerminalID{w.From, w.To} {
			t := &now.terminals[at]
			t.Wires = slices.DeleteFunc(slices.Clone(t.Wires), func(id WireID) bool { return id == w.ID })
		}
		w.From, w.To = f.Ends[0], f.Ends[1]
		b.A, b.B = w.From, w.To
		for _, at := range f.Ends {
			t := &now.terminals[at]
			t.Wires = append(slices.Clip(t.Wires), w.ID)
		}
	}
	return &now, slices.DeleteFunc(slices.Clone(faults), moved)
}
