package circuittest

import (
	"fmt"
	"math/rand/v2"

	"legtrace/circuit"
)

// Gate is a gate of a fault tree: it fails when every input fails (All), or
// when any does. Inputs below the number of events are events, the others
// gates, by their place in the list, that come before it.
type Gate struct {
	All    bool
	Inputs []int
}

// FaultTree is a fault tree; its last gate is the top.
type FaultTree struct {
	Events int
	Gates  []Gate
}

// RandomFaultTree draws a tree of so many events and gates: each gate has two
// to four inputs, each event and gate is used, and some are used again.
func RandomFaultTree(events, gates int, seed uint64) FaultTree {
	r := rand.New(rand.NewPCG(seed, 1))
	t := FaultTree{Events: events}
	unused := r.Perm(events)
	for g := range gates {
		var gate Gate
		gate.All = r.IntN(4) == 0
		n := 2 + r.IntN(3)
		if gate.All {
			n = 2
		}
		if left := gates - g; g == gates-1 {
			n = max(n, len(unused))
		} else if n < len(unused)/left+1 {
			n = len(unused)/left + 1
		}
		has := map[int]bool{}
		for len(gate.Inputs) < n {
			x := r.IntN(events + g)
			if len(unused) > 0 && (g == gates-1 || r.IntN(10) > 0) {
				x, unused = unused[0], unused[1:]
			}
			if !has[x] {
				has[x] = true
				gate.Inputs = append(gate.Inputs, x)
			}
			if len(has) >= events+g {
				break
			}
		}
		t.Gates = append(t.Gates, gate)
		unused = append(unused, events+g)
	}
	return t
}

// RelayLogic builds the tree as relays: an event is a coil across the supply,
// named e0, e1 and so on, a gate a coil fed through contacts of its inputs, in
// series where any failing input fails it, in parallel where all must. Opening
// an event's coil is the event. The top gate's contact feeds [MainLoad].
func (t FaultTree) RelayLogic() circuit.Spec {
	m := SplitPhase(240)
	name := func(x int) string {
		if x < t.Events {
			return fmt.Sprintf("e%d", x)
		}
		return fmt.Sprintf("g%d", x-t.Events)
	}
	uses := map[int]int{t.Events + len(t.Gates) - 1: 1}
	for _, g := range t.Gates {
		for _, x := range g.Inputs {
			uses[x]++
		}
	}
	for x := range t.Events + len(t.Gates) {
		p := circuit.PartSpec{Name: name(x), Kind: "relay", Volts: 120, Watts: 3, Contacts: map[string]string{}}
		for u := range uses[x] {
			p.Contacts[fmt.Sprintf("c%d", u)] = "no"
		}
		m.Part(p).Wire("supply.N", name(x)+".A2")
		if x < t.Events {
			m.Wire("supply.L1", name(x)+".A1")
		}
	}
	used := map[int]int{}
	contact := func(x int) string {
		c := fmt.Sprintf("%s.c%d", name(x), used[x])
		used[x]++
		return c
	}
	for i, g := range t.Gates {
		coil, at := name(t.Events+i)+".A1", "supply.L1"
		for j, x := range g.Inputs {
			c := contact(x)
			to := coil
			if !g.All && j < len(g.Inputs)-1 {
				to = ""
			}
			m.Wire(at, c+".com")
			if to != "" {
				m.Wire(c+".no", to)
			}
			if !g.All {
				at = c + ".no"
			}
		}
	}
	m.Load("element", MainLoad, 240, 2400)
	top := contact(t.Events + len(t.Gates) - 1)
	return m.Wire("supply.L1", top+".com").Wire(top+".no", MainLoad+".1").Wire(MainLoad+".2", "supply.L2").Spec()
}
