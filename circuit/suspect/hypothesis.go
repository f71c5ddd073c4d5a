package suspect

import (
	"math"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/trace"
)

// Class is a group of single faults that no listed test point tells apart.
// Members are what it might be; each member is one cause, which may show as
// several faults at once (a supply that is low on every leg).
type Class struct {
	Members []Cause
	// Prior is the members' together.
	Prior float64
}

// Cause is one thing gone wrong.
type Cause struct {
	Faults []circuit.Fault
	Label  string
	Prior  float64
}

// faultShare is how often a failing part fails in a way, open being 1 (common
// practice, no source).
var faultShare = map[circuit.FaultKind]float64{
	circuit.Open:           1,
	circuit.HighResistance: 0.4,
	circuit.Welded:         0.15,
	circuit.Grounded:       0.1,
	circuit.Short:          0.05,
	circuit.Drifted:        0.2,
}

// lowSupplyPrior is the relative chance that the supply is out of its range
// (common practice, no source).
const lowSupplyPrior = 0.5

// lowSupply is a supply well below its range.
const lowSupply = 0.8

// classes lists every single fault, grouped by what the listed points can tell
// apart.
func classes(c *circuit.Circuit, tracer *trace.Tracer, extra []circuit.TerminalID) []Class {
	listed := map[circuit.TerminalID]bool{}
	for _, p := range c.Points() {
		listed[p.Terminal] = true
	}
	for _, t := range extra {
		listed[t] = true
	}
	// A switch, a fuse or a load can be probed at its own terminals.
	for i := range c.Branches() {
		if b := c.Branch(circuit.BranchID(i)); probeable(c, b) {
			listed[b.A], listed[b.B] = true, true
		}
	}
	segment := map[circuit.BranchID]int{}
	for i, run := range tracer.Segments(func(t circuit.TerminalID) bool { return listed[t] }) {
		for _, id := range run {
			segment[id] = i
		}
	}
	type key struct {
		kind    circuit.FaultKind
		segment int
	}
	index := map[key]int{}
	var out []Class
	add := func(k key, shared bool, cause Cause) {
		if i, ok := index[k]; ok && shared {
			out[i].Members = append(out[i].Members, cause)
			out[i].Prior += cause.Prior
			return
		}
		if shared {
			index[k] = len(out)
		}
		out = append(out, Class{Members: []Cause{cause}, Prior: cause.Prior})
	}
	run := c.Runs()
	for _, f := range meter.SingleFaults(c) {
		b := c.Branch(f.Branch)
		if f.Kind == circuit.Grounded && b.Role == circuit.Join {
			// Wherever on its run a wire touches the chassis, the run does.
			add(key{f.Kind, -1 - int(run[b.A])}, true, Cause{Faults: []circuit.Fault{f}, Label: c.Describe(f), Prior: c.BranchPrior(f.Branch) * faultShare[f.Kind]})
			continue
		}
		series := f.Kind == circuit.Open || f.Kind == circuit.HighResistance && b.Role != circuit.Load
		add(key{f.Kind, segment[f.Branch]}, series, Cause{Faults: []circuit.Fault{f}, Label: c.Describe(f), Prior: c.BranchPrior(f.Branch) * faultShare[f.Kind]})
	}
	var low Cause
	for _, leg := range c.Supply().Legs {
		low.Faults = append(low.Faults, circuit.Fault{Kind: circuit.Drifted, Branch: leg, Factor: lowSupply})
	}
	low.Label, low.Prior = "Supply low, 80 % of its voltage", lowSupplyPrior
	out = append(out, Class{Members: []Cause{low}, Prior: low.Prior})
	total := 0.0
	for _, cl := range out {
		total += cl.Prior
	}
	for i := range out {
		out[i].Prior /= total
		for j := range out[i].Members {
			out[i].Members[j].Prior /= total
		}
		members := out[i].Members
		sort.SliceStable(members, func(a, b int) bool { return members[a].Prior > members[b].Prior })
	}
	return out
}

// probeable reports whether a branch is a part that a technician would measure
// by itself: neither wire nor connector, nor anything of the house's.
func probeable(c *circuit.Circuit, b *circuit.Branch) bool {
	if b.Wire != circuit.None || b.A == circuit.None || b.B == circuit.None {
		return false
	}
	return b.Role != circuit.Join && !c.Part(b.Part).Kind.Guards()
}

// hypothesis is a set of classes, each of which is taken to be present.
type hypothesis struct {
	classes []int32 // sorted; empty: nothing wrong
	logp    float64 // unnormalised log posterior
	bad     float64 // log likelihood of what a sound machine does not explain
}

// Chances of what is wrong before anything is seen (common practice, no
// source): a call is made for a reason, and two faults at once are rare.
const (
	priorNone   = 0.02
	priorPair   = 0.05 // of all pairs together, against all singles
	priorTriple = 0.002
)

// faults returns what a hypothesis puts wrong, by each class's first member.
func (e *Engine) faults(h *hypothesis) []circuit.Fault {
	var out []circuit.Fault
	for _, k := range h.classes {
		out = append(out, e.classes[k].Members[0].Faults...)
	}
	return out
}

// hypotheses lists none, every single and, from order 2, every pair of classes
// that are not the same branch twice.
func (e *Engine) hypotheses(order int) []hypothesis {
	out := []hypothesis{{logp: math.Log(priorNone)}}
	n := int32(len(e.classes))
	for i := int32(0); i < n; i++ {
		out = append(out, hypothesis{classes: []int32{i}, logp: math.Log(e.classes[i].Prior)})
	}
	if order < 2 {
		return out
	}
	for i := int32(0); i < n; i++ {
		for j := i + 1; j < n; j++ {
			if e.exclusive(i, j) {
				continue
			}
			out = append(out, hypothesis{classes: []int32{i, j}, logp: math.Log(2 * priorPair * e.classes[i].Prior * e.classes[j].Prior)})
		}
	}
	return out
}

// exclusive reports whether two classes are faults of the same branch.
func (e *Engine) exclusive(i, j int32) bool {
	for _, f := range e.classes[i].Members[0].Faults {
		for _, g := range e.classes[j].Members[0].Faults {
			if f.Branch == g.Branch {
				return true
			}
		}
	}
	return false
}
