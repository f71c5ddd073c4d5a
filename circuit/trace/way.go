package trace

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// Way finds how a voltage gets to a terminal of the settled machine: from a
// supply conductor that is on, through what conducts, by as few loads as need
// be. What is joined to a conductor without a load stands at that one; behind
// loads the voltage is a leg's if any leg conducts there. The Source is None
// where nothing conducts to the terminal.
func (t *Tracer) Way(out *settle.Outcome, at circuit.TerminalID) End {
	for _, across := range [2]windings{nil, t.windings} {
		if e := t.way(out, at, across); e.Source != circuit.None {
			return e
		}
	}
	return End{Terminal: at, Source: circuit.None}
}

// way is a breadth-first search from the terminal in rounds, each one load
// further than the last.
func (t *Tracer) way(out *settle.Outcome, at circuit.TerminalID, across windings) End {
	by := map[circuit.TerminalID]Hop{at: {}}
	neutral := End{Terminal: at, Source: circuit.None}
	round, beyond := []circuit.TerminalID{at}, map[circuit.TerminalID]Hop{}
	for loads := 0; len(round) > 0; loads++ {
		for i := 0; i < len(round); i++ {
			n := round[i]
			join := func(hop Hop) {
				if _, seen := by[hop.From]; !seen {
					by[hop.From] = hop
					round = append(round, hop.From)
				}
			}
			if w, ok := across[n]; ok {
				join(Hop{w.secondary, w.primary, n})
			}
			for _, edge := range t.conducting(out, n) {
				b := t.c.Branch(edge.Branch)
				switch {
				case b.Role == circuit.Source:
					e := t.wayBack(b.ID, n, at, by)
					if loads == 0 || b.EMF != 0 {
						return e
					}
					if neutral.Source == circuit.None {
						neutral = e
					}
				case b.Role == circuit.Load:
					if _, seen := beyond[edge.From]; !seen {
						beyond[edge.From] = edge
					}
				default:
					join(edge)
				}
			}
		}
		round = round[:0]
		for n, hop := range beyond {
			if _, seen := by[n]; !seen {
				by[n] = hop
				round = append(round, n)
			}
		}
		slices.Sort(round)
		clear(beyond)
	}
	return neutral
}

// conducting lists the hops that lead to a terminal now, with None as From for
// a supply conductor. A branch grounded by a fault conducts to the metal too.
func (t *Tracer) conducting(out *settle.Outcome, to circuit.TerminalID) []Hop {
	var hops []Hop
	for _, id := range t.at[to] {
		b := t.c.Branch(id)
		if !out.Conducts[id] || b.Role == circuit.Drive {
			continue
		}
		from := b.Other(to)
		if from != circuit.None || b.Role == circuit.Source {
			hops = append(hops, Hop{id, from, to})
		}
	}
	metal := t.c.ChassisTerminal()
	for _, f := range out.Faults {
		b := t.c.Branch(f.Branch)
		switch {
		case f.Kind != circuit.Grounded:
		case to == metal:
			for _, end := range [2]circuit.TerminalID{b.A, b.B} {
				if end != circuit.None {
					hops = append(hops, Hop{b.ID, end, to})
				}
			}
		case to == b.A || to == b.B:
			hops = append(hops, Hop{b.ID, metal, to})
		}
	}
	return hops
}

// wayBack reads a way off the hops by which a search came from its end.
func (t *Tracer) wayBack(source circuit.BranchID, n, at circuit.TerminalID, by map[circuit.TerminalID]Hop) End {
	e := End{Terminal: at, Source: source, Hops: []Hop{{source, circuit.None, n}}}
	for n != at {
		hop := by[n]
		e.Hops = append(e.Hops, hop)
		if t.c.Branch(hop.Branch).Role == circuit.Load {
			e.Through = append(e.Through, hop.Branch)
		}
		n = hop.To
	}
	return e
}
