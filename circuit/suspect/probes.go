package suspect

import (
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// ohms names the reading between two places with the supply off.
func (e *Engine) ohms(p, q circuit.TerminalID) meter.Probes {
	return meter.Probes{Function: meter.Ohms, P: p, Q: q, Name: e.c.PlaceName(p) + " to " + e.c.PlaceName(q)}
}

// toMetal lists ohms from the windings among what is suspected to the metal around
// them.
func (e *Engine) toMetal(suspected []circuit.BranchID) []meter.Probes {
	metal := e.c.ChassisTerminal()
	var out []meter.Probes
	for _, id := range suspected {
		b := e.c.Branch(id)
		if b.Role == circuit.Load && winds(e.c.Part(b.Part).Kind) {
			out = append(out, e.ohms(b.A, metal))
		}
	}
	return out
}

// fromAfar lists ohms of what conducts at rest and is suspected, taken where its wires
// come out, where getting at it takes more than twice as long: the fuse behind a built-in
// oven is proved at the relays that it feeds (common practice, no source).
func (e *Engine) fromAfar(suspected []circuit.BranchID, mode circuit.ModeID) (out []meter.Probes) {
	g, runs, open := newGround(e.c), e.c.Runs(), e.blamed(circuit.Open)
	minutes := func(p meter.Probes) float64 {
		f := g.effort(Test{Probes: p, Mode: mode, At: circuit.None})
		return g.minutes(&f, setup{})
	}
	on := func(run int32) []circuit.Point {
		return slices.DeleteFunc(slices.Clone(e.c.Points()), func(p circuit.Point) bool { return runs[p.Terminal] != run || p.Power == "live" })
	}
	least := leads * (1 - e.mistaken())
	for _, id := range suspected {
		b := e.c.Branch(id)
		if b.Role != circuit.Contact || open[id] < least {
			continue
		}
		if m, err := e.Bench().Mask(mode, id); err != nil || m.Masked {
			continue
		}
		best, quickest := meter.Probes{}, minutes(e.ohms(b.A, b.B))/2
		for _, p := range on(runs[b.A]) {
			for _, q := range on(runs[b.B]) {
				if far := e.ohms(p.Terminal, q.Terminal); minutes(far) < quickest {
					best, quickest = far, minutes(far)
				}
			}
		}
		if best.Name != "" {
			out = append(out, best)
		}
	}
	return out
}

// endToEnd lists ohms along the wires that are suspected most, from end to end, where
// nothing lies beside them.
func (e *Engine) endToEnd(mode circuit.ModeID) []meter.Probes {
	upstream, least := e.Bench().Upstream(), leads*(1-e.mistaken())
	var out []meter.Probes
	for id, p := range e.blamed(circuit.Open) {
		b := e.c.Branch(id)
		if b.Wire == circuit.None || p < least || upstream[b.A] || upstream[b.B] {
			continue
		}
		if m, err := e.Bench().Mask(mode, id); err == nil && !m.Masked {
			out = append(out, e.ohms(b.A, b.B))
		}
	}
	slices.SortFunc(out, func(a, b meter.Probes) int { return strings.Compare(a.Name, b.Name) })
	return out
}

// muchBetween is how far wires are blamed before probes go along them.
const muchBetween = 0.2

// along lists ohms from where a load that was told to be dead or weak is joined, to
// each place from which it is fed as far as that conducts with the supply off: one
// probe stays, the other goes along, and each reading tells on which side of a place
// it is that something is open or joins badly. It is thought of once something was
// read and wires, which have no probes of their own, are blamed for much (common
// practice, no source).
func (e *Engine) along(mode circuit.ModeID) []meter.Probes {
	dead, err := e.Bench().Dead(mode, nil)
	if err != nil || !slices.ContainsFunc(e.evidence, func(ev Evidence) bool { return ev.Reading != nil && e.since(ev) }) {
		return nil
	}
	between, open, poor := 0.0, e.blamed(circuit.Open), e.blamed(circuit.HighResistance)
	upstream := e.Bench().Upstream()
	at, _ := e.c.Meeting()
	var out []meter.Probes
	for i, ev := range e.evidence {
		s := ev.Symptom
		if s == nil || s.Load == circuit.None || !e.singles[i].bad() || !e.since(ev) {
			continue
		}
		b := e.c.Branch(s.Load)
		for _, from := range [2]circuit.TerminalID{b.A, b.B} {
			reached := map[circuit.TerminalID]bool{from: true}
			for todo := []circuit.TerminalID{from}; len(todo) > 0; todo = todo[1:] {
				for _, i := range at[todo[0]] {
					if int(i) >= len(e.c.Branches()) {
						continue // what a control senses
					}
					id := circuit.BranchID(i)
					x := e.c.Branch(id)
					to := x.Other(todo[0])
					if reached[to] || upstream[to] || x.Role == circuit.Load || !dead.Conducts[id] {
						continue
					}
					reached[to] = true
					if x.Wire != circuit.None {
						between += open[id] + poor[id]
					}
					todo = append(todo, to)
					out = append(out, e.ohms(from, to))
				}
			}
		}
	}
	if between < muchBetween*(1-e.mistaken()) { // of what can be blamed
		return nil
	}
	return out
}
