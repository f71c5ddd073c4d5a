package audit

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// conductors tells which supply conductor each terminal stands on: that to
// which joins and the poles of breakers alone lead.
type conductors struct {
	c      *circuit.Circuit
	groups circuit.Groups
	// of names the conductors of a group, "L1", "N", "G", "metal".
	of map[int32][]string
	// source is the terminal of each conductor.
	source map[string]circuit.TerminalID
}

// metal is the name of the net of the machine's chassis.
const metal = "metal"

func newConductors(c *circuit.Circuit) *conductors {
	n := &conductors{c: c, groups: circuit.NewGroups(len(c.Terminals())), of: map[int32][]string{}, source: map[string]circuit.TerminalID{}}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Join || b.Role == circuit.Contact && isPole(c.Part(b.Part).Kind) {
			n.groups.Join(int32(b.A), int32(b.B))
		}
	}
	s := c.Supply()
	for _, id := range append(slices.Clone(s.Legs), s.Neutral, s.Earth) {
		if id != circuit.None {
			n.source[c.Branch(id).Name] = c.Branch(id).B
		}
	}
	n.source[metal] = c.ChassisTerminal()
	for name, t := range n.source {
		root := n.groups.Of(int32(t))
		n.of[root] = append(n.of[root], name)
		slices.Sort(n.of[root])
	}
	return n
}

// at names the conductors that a terminal stands on.
func (n *conductors) at(t circuit.TerminalID) []string { return n.of[n.groups.Of(int32(t))] }

// joined reports whether the machine's metal is joined to a conductor by wire.
func (n *conductors) joined(to string) bool {
	t, ok := n.source[to]
	return ok && n.together(t, n.source[metal])
}

// together reports whether two terminals stand on the same net.
func (n *conductors) together(p, q circuit.TerminalID) bool {
	return n.groups.Of(int32(p)) == n.groups.Of(int32(q))
}

// leg reports whether a terminal stands on a leg, and which.
func (n *conductors) leg(t circuit.TerminalID) (string, bool) {
	for _, name := range n.at(t) {
		if strings.HasPrefix(name, "L") {
			return name, true
		}
	}
	return "", false
}

const decides = "; local code decides"

// Rules of the code that the checks of grounding and colours rest on.
const (
	noNeutralForGround = "NFPA 70-2020, 250.142(B) and 250.140: on the machine's side the neutral is no ground; with a 4-wire cord the strap comes off (from memory)" + decides
	needsGround        = "NFPA 70-2020, 250.110 and 250.114: exposed metal is joined to the equipment ground (from memory)" + decides
	needsEarth         = "IEC 60335-1, clause 27.1: metal that can be touched is joined to protective earth (from memory)" + decides
	groundCarries      = "NFPA 70-2020, 250.6(A) and 250.142(B): the ground carries no load's current (from memory)" + decides
	oldHookup          = "NFPA 70-2020, 250.140, exception for existing circuits: with 3 wires the neutral grounds the metal through its strap (from memory)" + decides
	greenIsGround      = "NFPA 70-2020, 250.119: green is kept for the ground (from memory)" + decides
	whiteIsNeutral     = "NFPA 70-2020, 200.6 and 200.7: white and grey are kept for the neutral (from memory)" + decides
	blackAndRed        = "black on L1 and red on L2: common practice, no source; nothing to a 240 V load, but 120 V loads and what one leg feeds change sides" + decides
	polesAsNamed       = "a pole carries the conductor that it is named for, or the name is wrong: common practice, no source" + decides
)

// grounding questions how the machine's metal, neutral and ground are joined.
func (a *auditor) grounding() {
	n, s := a.nets, a.c.Supply()
	for i := range s.Legs {
		leg := a.c.Branch(s.Legs[i]).Name
		if n.joined(leg) {
			a.find(Grounding, a.wireAt(metal), circuit.None, nil, "whoever touches the machine stands at a leg"+decides, "the machine's metal is joined to %s", leg)
			return
		}
	}
	if s.Earth == circuit.None {
		switch {
		case len(s.Legs) > 1 && !n.joined("N"):
			a.find(Grounding, "supply", circuit.None, nil, oldHookup, "a %d-wire supply with neither strap nor ground: the machine's metal is joined to nothing", s.Wires)
		case len(s.Legs) == 1 && n.joined("N"):
			a.find(Grounding, a.wireAt(metal), circuit.None, nil, noNeutralForGround, "the neutral is strapped to the machine's metal on a 2-wire supply")
		}
		return
	}
	strapped := n.joined("N")
	if strapped {
		a.find(Grounding, a.wireAt(metal), circuit.None, nil, noNeutralForGround, "the neutral is strapped to the machine's metal, and the supply brings a ground as well")
	}
	if !n.joined("G") {
		reason := needsGround
		if len(s.Legs) == 1 && s.Volts > 180 {
			reason = needsEarth
		}
		a.find(Grounding, "supply", circuit.None, nil, reason, "no ground wire: nothing joins the machine's metal to supply.G")
	}
	if strapped {
		return // the ground's current is then a consequence
	}
	if m := a.mostIn[s.Earth]; a.most[s.Earth] > noAmps {
		a.find(Grounding, "supply", m, []circuit.BranchID{s.Earth}, groundCarries,
			"supply.G carries %.3g A in %s: a load has the ground for its neutral", a.most[s.Earth], a.c.Mode(m).Label)
	}
}

// noAmps is a current that is none: what rounding leaves.
const noAmps = 1e-6

// wireAt returns the path of the first wire by name at a conductor's own
// terminal, or of the supply.
func (a *auditor) wireAt(conductor string) string {
	best := circuit.WireID(circuit.None)
	for _, id := range a.c.Terminal(a.nets.source[conductor]).Wires {
		if best == circuit.None || a.c.Wire(id).Name < a.c.Wire(best).Name {
			best = id
		}
	}
	if best == circuit.None {
		return "supply"
	}
	return wirePath(best)
}

func wirePath(id circuit.WireID) string { return fmt.Sprintf("wires[%d]", id) }

// colours questions wires that lead one conductor to the pole of another, and
// wires whose colour says another conductor than they are on. Behind crossed
// legs black and red tell nothing more.
func (a *auditor) colours() {
	crossed := a.crossed() > 0
	for i := range a.c.Wires() {
		w := a.c.Wire(circuit.WireID(i))
		if w.Colour == "" {
			continue
		}
		on := cmp.Or(strings.Join(a.nets.at(w.From), " and "), "no conductor of the supply")
		if reason := a.colourReason(w, on, crossed); reason != "" {
			a.find(Colour, wirePath(w.ID), circuit.None, []circuit.BranchID{w.Branch}, reason, "wire %s is %s and stands on %s", w.Name, w.Colour, on)
		}
	}
}

// colourReason says why a wire's colour is to be questioned, "" where it is not.
func (a *auditor) colourReason(w *circuit.Wire, on string, crossed bool) string {
	leg, onLeg := a.nets.leg(w.From)
	switch w.Colour {
	case "GN", "GNYE":
		earth, ok := a.nets.source["G"]
		if a.nets.together(w.From, a.nets.source[metal]) || ok && a.nets.together(w.From, earth) {
			return ""
		}
		return greenIsGround
	case "WH":
		if onLeg {
			return whiteIsNeutral
		}
	case "GY":
		if onLeg && a.feeds(w) {
			return whiteIsNeutral
		}
	}
	if crossed || !a.feeds(w) || len(a.c.Supply().Legs) < 2 {
		return ""
	}
	first := w.Colour[:2]
	if onLeg && (leg == "L1" && first == "RD" || leg == "L2" && first == "BK") || !onLeg && on == "N" && (w.Colour == "BK" || w.Colour == "RD") {
		return blackAndRed
	}
	return ""
}

// crossed reports the wires of the branch circuit whose ends are named for two
// conductors, and tells how many there are.
func (a *auditor) crossed() int {
	n := 0
	for i := range a.c.Wires() {
		w := a.c.Wire(circuit.WireID(i))
		from, to := a.named(w.From), a.named(w.To)
		if !a.feeds(w) || from == "" || to == "" || from == to {
			continue
		}
		n++
		a.findCause(Crossed, wirePath(w.ID), []circuit.BranchID{w.Branch}, polesAsNamed,
			"wire %s leads %s to %s", w.Name, a.c.Terminal(w.From).Ref, a.c.Terminal(w.To).Ref)
	}
	return n
}

// named returns the conductor that a terminal of the supply, or of a pole, is
// named for, "" where it is named for none.
func (a *auditor) named(t circuit.TerminalID) string {
	p := a.c.Part(a.c.Terminal(t).Part)
	if p.Kind != circuit.KindSupply && !isPole(p.Kind) {
		return ""
	}
	name, _, _ := strings.Cut(a.c.Terminal(t).Name, ".")
	if _, ok := a.nets.source[name]; !ok {
		return ""
	}
	return name
}

// isPole reports whether parts of the kind carry the supply's conductors pole
// by pole.
func isPole(k circuit.Kind) bool {
	switch k {
	case circuit.KindBreaker, circuit.KindRCD, circuit.KindConnector, circuit.KindTerminalBlock, circuit.KindNode:
		return true
	}
	return false
}

// feeds reports whether a wire is part of the branch circuit: house wiring,
// cord or whip, as far as the terminal block.
func (a *auditor) feeds(w *circuit.Wire) bool {
	return a.feed[w.ID]
}

// branchCircuit marks the wires from the supply to the first terminal block or
// to the first part that is more than a join.
func (a *auditor) branchCircuit() map[circuit.WireID]bool {
	out := map[circuit.WireID]bool{}
	seen := map[circuit.TerminalID]bool{}
	var queue []circuit.TerminalID
	reach := func(t circuit.TerminalID) {
		if !seen[t] {
			seen[t] = true
			queue = append(queue, t)
		}
	}
	for _, t := range a.nets.source {
		if t != a.nets.source[metal] {
			reach(t)
		}
	}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		p := a.c.Part(a.c.Terminal(t).Part)
		for _, id := range a.c.Terminal(t).Wires {
			w := a.c.Wire(id)
			far := w.Other(t)
			if to := a.c.Part(a.c.Terminal(far).Part).Kind; isPole(to) || to == circuit.KindSupply {
				out[id] = true
				if to != circuit.KindTerminalBlock {
					reach(far)
				}
			}
		}
		if !isPole(p.Kind) || p.Kind == circuit.KindTerminalBlock {
			continue
		}
		for _, id := range p.Branches {
			if b := a.c.Branch(id); b.A == t {
				reach(b.B)
			} else if b.B == t {
				reach(b.A)
			}
		}
	}
	return out
}
