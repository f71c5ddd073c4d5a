package audit

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// ampacity is the current in amps of insulated copper by AWG: from 14 AWG up
// NFPA 70-2020 table 310.16, 90 C column, for 16 and 18 AWG its table 402.5,
// fixture wires, and below that NFPA 79-2018 table 12.5.1, small conductors of
// machine controls (all from memory). Table 310.16 is of conductors in raceway
// or cable; of wiring inside an appliance it does not rule.
var ampacity = map[int]float64{
	30: 0.5, 28: 0.8, 26: 1, 24: 2, 22: 3, 20: 5,
	18: 6, 16: 8, 14: 25, 12: 30, 10: 40, 8: 55, 6: 75, 4: 95, 3: 115, 2: 130, 1: 145,
}

const ampacityReason = "NFPA 70-2020 tables 310.16 (raceway and cable, copper, 90 C) and 402.5, below 18 AWG NFPA 79-2018 table 12.5.1 (from memory), " +
	"a yardstick inside an appliance, not a rule" + decides

// cordAmps gives the least section in mm2 by rated amps: IEC 60335-1:2010 table
// 11, clause 25.8, supply cords (from memory).
var cordAmps = []struct{ mm2, amps float64 }{
	{0.5, 3}, {0.75, 6}, {1, 10}, {1.5, 16}, {2.5, 25}, {4, 32}, {6, 40}, {10, 63},
}

const cordReason = "IEC 60335-1:2010, clause 25.8 and table 11, supply cords (from memory), a yardstick inside an appliance, not a rule" + decides

// protection is the largest breaker ahead of copper of a size: NFPA 70-2020
// 240.4(D) up to 10 AWG, and from 8 AWG the 75 C column of table 310.16 with the
// next standard size of 240.4(B) and 240.6(A) (from memory).
var protection = map[int]float64{14: 15, 12: 20, 10: 30, 8: 50, 6: 70, 4: 90, 3: 100, 2: 125, 1: 150}

const protectionReason = "NFPA 70-2020, 240.4(B) and (D), branch circuit to the machine (from memory)" + decides

// carries returns what a wire may carry, where its size is in a table.
func carries(spec *circuit.WireSpec) (amps float64, reason string, ok bool) {
	if spec.SquareMM > 0 {
		for _, row := range cordAmps {
			if spec.SquareMM >= row.mm2 {
				amps = row.amps
			}
		}
		last := cordAmps[len(cordAmps)-1].mm2
		return amps, cordReason, amps > 0 && spec.SquareMM <= last
	}
	amps, ok = ampacity[spec.AWG]
	return amps, ampacityReason, ok
}

// wires questions wires that carry more in some mode than their size does, once
// for each size.
func (a *auditor) wires() {
	spec := a.c.Spec()
	thin := map[string][]*circuit.Wire{}
	for i := range a.c.Wires() {
		w := a.c.Wire(circuit.WireID(i))
		if limit, _, ok := carries(&spec.Wires[i]); ok && a.most[w.Branch] > limit {
			thin[w.Size] = append(thin[w.Size], w)
		}
	}
	for size, list := range thin {
		slices.SortFunc(list, func(x, y *circuit.Wire) int { return strings.Compare(x.Name, y.Name) })
		worst := list[0]
		var names []string
		var branches []circuit.BranchID
		for _, w := range list {
			names, branches = append(names, w.Name), append(branches, w.Branch)
			if a.most[w.Branch] > a.most[worst.Branch] {
				worst = w
			}
		}
		limit, reason, _ := carries(&spec.Wires[worst.ID])
		mode := a.mostIn[worst.Branch]
		what := "wire " + names[0] + " carries"
		if len(names) > 1 {
			what = "wires " + strings.Join(names, ", ") + " carry up to"
		}
		a.find(ThinWire, wirePath(worst.ID), mode, branches, reason,
			"%s %.1f A in %s, more than the %.3g A of %s", what, a.most[worst.Branch], a.c.Mode(mode).Label, limit, size)
	}
}

// breakers questions breakers and fuses that carry more than their rating, and
// breakers too large for their wire.
func (a *auditor) breakers() {
	for i := range a.c.Branches() {
		b := a.c.Branch(circuit.BranchID(i))
		if b.Amps == 0 || a.most[i] <= b.Amps {
			continue
		}
		p := a.c.Part(b.Part)
		a.find(SmallBreaker, "parts."+p.Name, a.mostIn[i], []circuit.BranchID{b.ID},
			"it would open with time"+decides,
			"%s carries %.1f A in %s, more than its %g A", a.c.Label(b.ID), a.most[i], a.c.Mode(a.mostIn[i]).Label, b.Amps)
	}
	a.largeBreakers()
}

// largeBreakers questions breakers too large for the wire to the machine, once
// for each size of wire.
func (a *auditor) largeBreakers() {
	spec := a.c.Spec()
	type pair struct {
		part circuit.PartID
		awg  int
	}
	wires := map[pair][]*circuit.Wire{}
	for i := range a.c.Wires() {
		w := a.c.Wire(circuit.WireID(i))
		limit, ok := protection[spec.Wires[i].AWG]
		if b := a.breakerOf(w); ok && b != nil && b.Amps > limit {
			wires[pair{b.Part, spec.Wires[i].AWG}] = append(wires[pair{b.Part, spec.Wires[i].AWG}], w)
		}
	}
	for at, list := range wires {
		var names []string
		branches := slices.Clone(a.c.Part(at.part).Branches)
		for _, w := range list {
			names, branches = append(names, w.Name), append(branches, w.Branch)
		}
		slices.Sort(names)
		p := a.c.Part(at.part)
		a.find(LargeBreaker, "parts."+p.Name, circuit.None, branches, protectionReason,
			"the %s of %g A protects wire of %d AWG (%s), for which %g A is the most", circuit.LowerFirst(p.Label), p.Spec.Amps, at.awg, strings.Join(names, ", "), protection[at.awg])
	}
}

// breakerOf returns the pole of a rated breaker that stands ahead of a wire of
// the branch circuit, nil where none does.
func (a *auditor) breakerOf(w *circuit.Wire) *circuit.Branch {
	leg, ok := a.nets.leg(w.From)
	if !ok || !a.feeds(w) {
		return nil
	}
	for i := range a.c.Branches() {
		b := a.c.Branch(circuit.BranchID(i))
		if b.Amps == 0 || b.Role != circuit.Contact || !a.c.Part(b.Part).Kind.Guards() {
			continue
		}
		if at, on := a.nets.leg(b.A); !on || at != leg {
			continue
		}
		return b // the wire on its line side is held to it too
	}
	return nil
}
