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

// hotThenDead reports whether, with a piece of evidence, it was told that it gets too hot, and
// that what heats is dead: one after the other, as what is too hot trips its limit.
func (e *Engine) hotThenDead(ev Evidence) bool {
	hot := func(ev Evidence) bool {
		return ev.Symptom != nil && ev.Symptom.Whole == RunsHot || ev.Told != nil && (ev.Told.What == "runs_hot" || ev.Told.What == "off_by" && ev.Told.Kelvin > 0)
	}
	dead := func(ev Evidence) bool {
		s := ev.Symptom
		return s != nil && (s.Whole == AllDead || s.Load != circuit.None && s.State == circuit.Dead && kindOf(e.c, s.Load).Heats())
	}
	all := append(slices.Clone(e.evidence), ev)
	return slices.ContainsFunc(all, hot) && slices.ContainsFunc(all, dead)
}

// openedBy lists the guards against heat of which it is asked, from then on, what made
// them open: those reset by hand where one held, one that opened again once it was
// replaced, and all that stay open where the air was found blocked.
func (e *Engine) openedBy(ev Evidence) (out []circuit.PartID) {
	for i := range e.c.Parts() {
		p := e.c.Part(circuit.PartID(i))
		if p.Body == circuit.None || p.Acts <= 0 && !p.HasButton() {
			continue
		}
		switch {
		case p.HasButton() && (ev.resetHeld() || e.hotThenDead(ev)),
			staysOpen(p) && ev.Told != nil && (ev.Told.What == "lint" || ev.Told.What == "failed_again" && ev.Told.Part == p.ID):
			out = append(out, p.ID)
		}
	}
	return out
}

// staysOpen reports whether what guards against heat is spent once it has opened.
func staysOpen(p *circuit.Part) bool {
	return p.Kind == circuit.KindThermalFuse || p.Kind == circuit.KindLimit && !p.Returns && !p.HasButton()
}

// openers lists what makes a guard against heat open, with it open: what heat says, and
// of one that is reset by hand a loose joint beside it. Of one that held when it was reset
// what made it trip is still there, and opens it now and then.
func (e *Engine) openers(p *circuit.Part) (out []Cause) {
	spent, sum := staysOpen(p), 0.0
	open := all(circuit.Open, p.Branches)
	add := func(f circuit.Fault) {
		cause := single(e.c, f)
		if slices.ContainsFunc(out, func(k Cause) bool { return k.Faults[0] == f }) || spent && kindOf(e.c, f.Branch) == circuit.KindFan {
			return // a fan's are there anyway
		}
		by := " opened by the heat"
		if !spent {
			by = " tripped by it"
			cause.cycles, cause.lasts = true, cause.Faults
		}
		cause.Faults, cause.Label = append(slices.Clone(cause.Faults), open...), cause.Label+", "+p.Label+by
		out, sum = append(out, cause), sum+cause.Prior
	}
	_ = e.overheaters(p, func(x trouble, _ string) { // where heat cannot be followed nothing is known of it
		if len(x.q.Faults) == 1 {
			add(x.q.Faults[0])
		}
	})
	if fan := e.c.Bodies()[p.Body].Fan; spent && fan != circuit.None && kindOf(e.c, fan) == circuit.KindMotor {
		// Lint in the air of a drum opens more of them than all else (common practice, no source).
		cause := ofPart(e.c, p, e.c.Way("blocked"), "opened by heat that does not get away: its air is blocked", open)
		cause.airless = true
		out, sum = append(out, cause), sum+cause.Prior
	}
	alone := single(e.c, open[0]).Prior
	if !spent {
		alone = ofPart(e.c, p, e.c.Way("button"), "", nil).Prior
		for _, t := range p.Terminals {
			for _, w := range e.c.Terminal(t).Wires {
				add(circuit.Fault{Kind: circuit.HighResistance, Branch: e.c.Wire(w).Branch, Ohms: meter.BurntContactOhms})
			}
		}
	}
	for k := range out {
		out[k].Prior *= reasons * alone / sum
	}
	return out
}

// airAt is the part at which the air is looked at that keeps a guard cool: what closes by
// itself as its air comes back, in the same air, else the guard.
func airAt(c *circuit.Circuit, f circuit.Fault) circuit.PartID {
	at := c.Branch(f.Branch).Part
	fan := c.Bodies()[c.Part(at).Body].Fan
	for i := range c.Parts() {
		p := c.Part(circuit.PartID(i))
		if fan != circuit.None && p.Kind == circuit.KindLimit && p.Returns && len(p.Branches) == 1 && byElement(c, p.Body) && c.Bodies()[p.Body].Fan == fan {
			return p.ID
		}
	}
	return at
}
