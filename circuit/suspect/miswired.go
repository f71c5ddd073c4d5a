package suspect

import (
	"fmt"
	"slices"

	"legtrace/circuit"
)

// worked are the tellings that somebody had a part's wires off.
var workedOn = []string{"replaced", "no_help", "repair", "new_cord"}

// mostMiswired caps the ways that a part's wires may have come back wrong.
const mostMiswired = 72

// miswired lists how the wires of a part that was worked on may have come back:
// two of them crossed, or one on another terminal, those without a wire first.
// Where that changes nothing it is not listed.
func miswired(c *circuit.Circuit, p *circuit.Part) []Cause {
	type end struct {
		wire *circuit.Wire
		at   circuit.TerminalID
	}
	var ends []end
	for _, t := range p.Terminals {
		for _, w := range c.Terminal(t).Wires {
			ends = append(ends, end{c.Wire(w), t})
		}
	}
	moved := func(e end, to circuit.TerminalID) circuit.Fault {
		f := circuit.Fault{Kind: circuit.Moved, Branch: e.wire.Branch, Ends: [2]circuit.TerminalID{e.wire.From, e.wire.To}}
		f.Ends[slices.Index(f.Ends[:], e.at)] = to
		return f
	}
	same := alike(c, p)
	var crossed, misplaced, doubled []Cause
	for i, a := range ends {
		for _, b := range ends[:i] {
			if a.wire != b.wire && !same(a.at, b.at) {
				crossed = append(crossed, Cause{Label: fmt.Sprintf("%s: wires %s and %s crossed", p.Label, b.wire.Name, a.wire.Name), Faults: []circuit.Fault{moved(b, a.at), moved(a, b.at)}})
			}
		}
		for _, t := range p.Terminals {
			f := moved(a, t)
			if t != a.at && f.Ends[0] != f.Ends[1] && !joined(c, p, t, a.at) {
				to := &misplaced
				if len(c.Terminal(t).Wires) > 0 {
					to = &doubled
				}
				*to = append(*to, Cause{Label: fmt.Sprintf("%s: wire %s on %s, not %s", p.Label, a.wire.Name, c.Terminal(t).Name, c.Terminal(a.at).Name), Faults: []circuit.Fault{f}})
			}
		}
	}
	var out []Cause
	for _, how := range []struct {
		way  string
		list []Cause
	}{{"crossed", crossed}, {"misplaced", append(misplaced, doubled...)}} {
		list := how.list[:min(len(how.list), mostMiswired-len(out))]
		for _, cause := range list {
			cause.Prior, cause.Part, cause.wiring = max(1e-3, c.Prior(p.Kind))*c.Way(how.way)/float64(len(list)), p.Name, true
			out = append(out, cause)
		}
	}
	return out
}

// joined tells terminals of a part that are one metal.
func joined(c *circuit.Circuit, p *circuit.Part, a, b circuit.TerminalID) bool {
	return slices.ContainsFunc(p.Branches, func(id circuit.BranchID) bool {
		x := c.Branch(id)
		return x.Role == circuit.Join && (x.A == a && x.B == b || x.A == b && x.B == a)
	})
}

// alike tells terminals of a part between which wires may change places and
// nothing changes: one metal, or the two ends of a part of one branch.
func alike(c *circuit.Circuit, p *circuit.Part) func(a, b circuit.TerminalID) bool {
	return func(a, b circuit.TerminalID) bool { return a == b || joined(c, p, a, b) || len(p.Branches) == 1 }
}
