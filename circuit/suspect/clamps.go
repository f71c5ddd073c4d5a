package suspect

import (
	"cmp"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// clampAmps is what a load draws at least for a clamp to tell much of it.
const clampAmps = 1

// clamps lists clamp readings at the heaters among what is suspected, in the first of
// the modes that has them on: what an element or an igniter draws tells what its cold
// ohms, and the eye, do not.
func (e *Engine) clamps(suspected []circuit.BranchID, modes []circuit.ModeID) []Test {
	var out []Test
	for _, id := range suspected {
		b := e.c.Branch(id)
		if b.Role != circuit.Load || !e.c.Part(b.Part).Kind.Heats() || b.Watts < clampAmps*b.Volts {
			continue
		}
		for _, m := range modes {
			sound, err := e.sound(m)
			if err != nil || sound.LeastShare(id) < circuit.WeakShare || e.shorts(m) {
				continue
			}
			if p, ok := e.clampAt(b); ok {
				out = append(out, Test{Probes: p, Mode: m, Live: true, At: circuit.None})
			}
			break
		}
	}
	return out
}

// clampAt is the wire that carries what a load draws and nothing else, from the end
// that is easiest got at; false where several meet at both ends.
func (e *Engine) clampAt(b *circuit.Branch) (p meter.Probes, ok bool) {
	type end struct{ at, far circuit.TerminalID }
	var ends []end
	for _, at := range []circuit.TerminalID{b.A, b.B} {
		if wires := e.c.Terminal(at).Wires; len(wires) == 1 {
			far := e.c.Wire(wires[0]).Other(at)
			ends = append(ends, end{at, far}, end{far, at})
		}
	}
	if len(ends) == 0 {
		return p, false
	}
	minutes := func(n end) float64 { return e.c.AccessMinutes(n.at) }
	n := slices.MinFunc(ends, func(x, y end) int { return cmp.Compare(minutes(x), minutes(y)) })
	return meter.Probes{Function: meter.Amps, P: n.at, Q: n.far, Name: e.c.PlaceName(n.at) + " to " + e.c.PlaceName(n.far)}, true
}

// glowFirst clamps what glows and does not open its valve, before anything is taken apart: an
// igniter that is worn glows as well, its cold ohms tell nothing, and what it draws does
// (common practice, no source).
func (tab *table) glowFirst(ranked []ranking, n *stage) []ranking {
	igniter := tab.e.glowing()
	if igniter == circuit.None {
		return ranked
	}
	b := tab.e.c.Branch(igniter)
	return tab.bring(ranked, n, func(i int) bool {
		t := tab.tests[i]
		return t.Probing() && t.Probes.Function == meter.Amps && (t.Probes.P == b.A || t.Probes.Q == b.A || t.Probes.P == b.B || t.Probes.Q == b.B)
	})
}

// glowing is what was told to heat, dull or not, in a mode in which a valve stays shut that
// it is in series with; None where nothing was.
func (e *Engine) glowing() circuit.BranchID {
	for _, shut := range e.evidence {
		s := shut.Symptom
		if s == nil || s.Whole != 0 || s.Load == circuit.None || s.State != circuit.Dead || kindOf(e.c, s.Load) != circuit.KindSolenoid {
			continue
		}
		for _, ev := range e.evidence {
			if o := ev.Symptom; o != nil && o.Whole == 0 && o.Load != circuit.None && o.Mode == s.Mode && (o.State == circuit.Normal || o.State == circuit.Weak) && kindOf(e.c, o.Load).Heats() {
				return o.Load
			}
		}
	}
	return circuit.None
}
