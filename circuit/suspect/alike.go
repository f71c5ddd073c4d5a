package suspect

import (
	"cmp"
	"context"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
)

// Alike lists the explanations that no listed test tells apart, and, for each
// group, a terminal where a probe would: the extra test point to open up.
func (e *Engine) Alike(ctx context.Context, progress *Progress) ([]AlikeGroup, error) {
	progress = cmp.Or(progress, NewProgress())
	tab, all, err := e.everything(ctx, progress)
	if err != nil {
		return nil, err
	}
	groups, weights := tab.groups(all)
	var out []AlikeGroup
	for g, members := range groups {
		var causes []Cause
		have := map[int32]bool{}
		for _, h := range members {
			core := e.core(&e.hyps[tab.hyps[h]])
			if len(core) != 1 || have[core[0]] {
				continue
			}
			have[core[0]] = true
			causes = append(causes, e.classes[core[0]].Members...)
		}
		if len(causes) < 2 || weights[g] < 0.005 {
			continue
		}
		out = append(out, AlikeGroup{Causes: causes, P: weights[g], Split: e.splitPoint(causes)})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	return out, nil
}

// AlikeGroup is a set of causes that all listed tests read the same on.
type AlikeGroup struct {
	Causes []Cause
	P      float64
	// Split is a terminal where a further probe would split the group best, or
	// None.
	Split circuit.TerminalID
}

// splitPoint tries a probe at every terminal of the causes' own parts and wires
// against the reference and each leg, in the modes that matter, and returns the
// terminal that splits the group most evenly.
func (e *Engine) splitPoint(causes []Cause) circuit.TerminalID {
	candidates := map[circuit.TerminalID]bool{}
	for _, c := range causes {
		for _, f := range c.Faults {
			b := e.c.Branch(f.Branch)
			for _, t := range [2]circuit.TerminalID{b.A, b.B} {
				if t != circuit.None {
					candidates[t] = true
				}
			}
		}
	}
	var order []circuit.TerminalID
	for t := range candidates {
		order = append(order, t)
	}
	sort.Slice(order, func(i, j int) bool { return order[i] < order[j] })
	w := e.workers[0]
	from := []circuit.TerminalID{w.bench.Reference()}
	for _, leg := range e.c.Supply().Legs {
		from = append(from, e.c.Branch(leg).B)
	}
	best, bestBits := circuit.TerminalID(circuit.None), 1e-9
	for _, mode := range e.modes() {
		outs := make([]*settle.Outcome, 0, len(causes))
		for _, c := range causes {
			o, err := w.bench.Live(mode, c.Faults)
			if err != nil {
				return circuit.None
			}
			outs = append(outs, o)
		}
		for _, t := range order {
			for _, r := range from {
				if t == r {
					continue
				}
				counts := map[string]float64{}
				total := 0.0
				for i, c := range causes {
					counts[w.bench.Quick(outs[i], meter.Volts, t, r).Range()] += c.Prior
					total += c.Prior
				}
				var ps []float64
				for _, p := range counts {
					ps = append(ps, p)
				}
				sort.Float64s(ps)
				if b := entropy(ps, total); b > bestBits*(1+1e-9) {
					best, bestBits = t, b
				}
			}
		}
	}
	return best
}
