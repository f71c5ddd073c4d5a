package schematic

import "legtrace/circuit"

// Shares of ease with which a branch ties its two nets together when nets are
// given their place between the rails: contacts stay near their rail.
const easeContact, easeLoad = 20.0, 1.0

const potentialSweeps = 400

// findPotentials gives every net its place between the rails, as if the machine were a
// chain of resistors from left to right with every contact closed.
func (g *graph) findPotentials() {
	last := len(g.trunks) - 1
	if g.c.Supply().Earth != circuit.None {
		last--
	}
	fixed := make([]bool, len(g.nets))
	set := func(n *net, at float64) {
		if !fixed[n.id] {
			fixed[n.id], n.known, n.potential = true, true, at
		}
	}
	// Legs come before the neutral in the list of trunks.
	if legs := len(g.c.Supply().Legs); legs == 1 {
		set(g.trunks[0].rail, 0)
		set(g.trunks[last].rail, 1)
	} else {
		set(g.trunks[0].rail, 0)
		set(g.trunks[legs-1].rail, 1)
		set(g.trunks[last].rail, 0.5)
	}
	if g.c.Supply().Earth != circuit.None {
		set(g.trunks[last+1].rail, 1)
	}
	type tie struct {
		to   *net
		ease float64
	}
	ties := make([][]tie, len(g.nets))
	for i := range g.c.Branches() {
		b := g.c.Branch(circuit.BranchID(i))
		if b.Part == circuit.None || b.A == circuit.None || b.B == circuit.None {
			continue
		}
		ease := easeContact
		if b.Role == circuit.Load {
			ease = easeLoad
		}
		na, nb := g.netOf[b.A], g.netOf[b.B]
		ties[na.id] = append(ties[na.id], tie{nb, ease})
		ties[nb.id] = append(ties[nb.id], tie{na, ease})
	}
	var queue []*net
	for _, n := range g.nets {
		if fixed[n.id] {
			queue = append(queue, n)
		}
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		for _, t := range ties[n.id] {
			if !t.to.known {
				t.to.known, t.to.potential, t.to.hops = true, n.potential, n.hops+1
				queue = append(queue, t.to)
			}
		}
	}
	for range potentialSweeps {
		for _, n := range g.nets {
			if fixed[n.id] || !n.known {
				continue
			}
			sum, ease := 0.0, 0.0
			for _, t := range ties[n.id] {
				sum += t.ease * t.to.potential
				ease += t.ease
			}
			if ease > 0 {
				n.potential = sum / ease
			}
		}
	}
	g.guessPotentials()
	for _, n := range g.nets {
		// Equal places are told apart by the distance from the rail.
		if n.potential < 0.5-1e-9 {
			n.potential += 1e-7 * float64(n.hops)
		} else {
			n.potential -= 1e-7 * float64(n.hops)
		}
	}
}

// guessPotentials places nets that only a control's pins tie in, such as a sensor's:
// ever further out on the side of the control's own leg.
func (g *graph) guessPotentials() {
	for changed := true; changed; {
		changed = false
		for _, u := range g.units {
			var from *net
			for _, p := range u.pins {
				if n := g.netOf[p.terminal]; n.known && (from == nil || n.lean != 0) {
					from = n
				}
			}
			if from == nil {
				continue
			}
			lean := from.lean
			if lean == 0 {
				lean = -1
				if u.shape == shapeBox && g.netOf[u.pins[0].terminal].potential > g.netOf[u.pins[1].terminal].potential {
					lean = 1
				}
			}
			for _, p := range u.pins {
				if n := g.netOf[p.terminal]; !n.known && len(n.pins) > 1 {
					n.known, n.lean, n.potential, changed = true, lean, from.potential+1e-5*float64(lean), true
				}
			}
		}
	}
}
