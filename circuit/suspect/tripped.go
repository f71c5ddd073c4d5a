package suspect

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// reasons is how many times as often something made a limit trip that held once it was
// reset, as it tripped by itself (common practice, no source).
const reasons = 4.0

// resetHeld reports whether it was told that something works again once it was reset.
func (ev Evidence) resetHeld() bool { return ev.Told != nil && ev.Told.What == "works_again" }

// trippers lists what makes a limit trip that is reset by hand, with the limit tripped by
// it now and then: one whose reset held is good itself, and what made it trip is still
// there. It is what heat says, and a loose joint beside the limit.
func (e *Engine) trippers() (out []Cause) {
	for i := range e.c.Parts() {
		p := e.c.Part(circuit.PartID(i))
		if !p.HasButton() || p.Body == circuit.None {
			continue
		}
		first, sum := len(out), 0.0
		add := func(f circuit.Fault) {
			cause := single(e.c, f)
			if slices.ContainsFunc(out[first:], func(k Cause) bool { return k.lasts[0] == f }) {
				return
			}
			cause.Label += ", " + p.Label + " tripped by it"
			cause.cycles, cause.lasts = true, cause.Faults
			cause.Faults = append(slices.Clone(cause.Faults), all(circuit.Open, p.Branches)...)
			out, sum = append(out, cause), sum+cause.Prior
		}
		_ = e.overheaters(p, func(x trouble, _ string) { // where heat cannot be followed nothing is known of it
			if len(x.q.Faults) == 1 {
				add(x.q.Faults[0])
			}
		})
		for _, t := range p.Terminals {
			for _, w := range e.c.Terminal(t).Wires {
				add(circuit.Fault{Kind: circuit.HighResistance, Branch: e.c.Wire(w).Branch, Ohms: meter.BurntContactOhms})
			}
		}
		alone := ofPart(e.c, p, e.c.Way("button"), "", nil).Prior
		for k := range out[first:] {
			out[first+k].Prior *= reasons * alone / sum
		}
	}
	return out
}
