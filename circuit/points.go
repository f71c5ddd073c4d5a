package circuit

import (
	"fmt"
	"strings"
)

// defaultAccessMinutes is the effort to reach a terminal that no listed point
// names (common practice, no source).
const defaultAccessMinutes = 8

// PointAt returns the listed test point at a terminal, or nil.
func (c *Circuit) PointAt(t TerminalID) *Point {
	for i := range c.points {
		if c.points[i].Terminal == t {
			return &c.points[i]
		}
	}
	return nil
}

// FindPlace looks up where a probe or a lead goes: a test point's name, or
// "part.terminal".
func (c *Circuit) FindPlace(name string) (TerminalID, error) {
	for i := range c.points {
		if c.points[i].Name == name {
			return c.points[i].Terminal, nil
		}
	}
	if t, ok := c.terminalByRef[name]; ok {
		return t, nil
	}
	if part, ok := c.partByName[name]; ok && len(c.parts[part].Terminals) > 0 {
		var refs []string
		for _, t := range c.parts[part].Terminals {
			refs = append(refs, c.terminals[t].Ref)
		}
		return None, fmt.Errorf("%q is a part: say which terminal, one of %s", name, strings.Join(refs, ", "))
	}
	return None, &UnknownNameError{What: "test point or terminal", Name: name, candidates: func() []string {
		var names []string
		for _, p := range c.points {
			names = append(names, p.Name)
		}
		return append(names, sortedKeys(c.terminalByRef)...)
	}}
}

// FindProbes looks up where the two probes of a reading go. A part or load that is
// named alone has one at each of its own two terminals, or the clamp around a wire that
// one of them has alone; named with the metal it has one at the first of them. The metal
// may be called so on every machine.
func (c *Circuit) FindProbes(p, q string, clamp bool) (TerminalID, TerminalID, error) {
	to := TerminalID(None)
	if q != "" {
		var err error
		if to, err = c.FindPlace(q); err != nil {
			if q != "metal" && q != "frame" {
				return None, None, err
			}
			to = c.ChassisTerminal()
		}
	}
	at, err := c.FindPlace(p)
	if err == nil && q != "" {
		return at, to, nil
	}
	a, b, known := c.endsOf(p)
	switch {
	case known && q == "" && clamp:
		for _, t := range [2]TerminalID{a, b} {
			if wires := c.terminals[t].Wires; len(wires) == 1 {
				return t, c.wires[wires[0]].Other(t), nil
			}
		}
		return None, None, fmt.Errorf("%s has several wires at each end: amps tell of one wire, by its two ends", p)
	case known && q == "":
		return a, b, nil
	case known && to == c.ChassisTerminal():
		return a, to, nil
	case err == nil:
		err = fmt.Errorf("%q is one place: say the other too, or the name of a part with two terminals", p)
	}
	return None, None, err
}

// endsOf are the two terminals of a load, or of a part that has no more.
func (c *Circuit) endsOf(name string) (a, b TerminalID, ok bool) {
	if id, is := c.loadByRef[name]; is {
		return c.branches[id].A, c.branches[id].B, true
	}
	if id, is := c.partByName[name]; is && len(c.parts[id].Terminals) == 2 {
		return c.parts[id].Terminals[0], c.parts[id].Terminals[1], true
	}
	return None, None, false
}

// PlaceName names a terminal as a technician would: by its test point, else by
// its reference.
func (c *Circuit) PlaceName(t TerminalID) string {
	if p := c.PointAt(t); p != nil {
		return p.Name
	}
	return c.terminals[t].Ref
}

// PlaceLabel names a terminal in a sentence: by the label of its test point, else
// by its part's label and its own name. What the label adds after a comma stands
// in brackets: "thermal fuse (line side)".
func (c *Circuit) PlaceLabel(t TerminalID) string {
	label := ""
	if p := c.PointAt(t); p != nil {
		label = p.Label
	}
	if label == "" {
		label = c.PartLabel(t)
	}
	if name, more, ok := strings.Cut(label, ", "); ok {
		label = name + " (" + more + ")"
	}
	return LowerFirst(label)
}

// PartLabel names a terminal by its part's label and its own name, the ends of a pole
// by their sides: "Range breaker L1 (line side)"; after a number or a letter of the
// part's own it says what it is: "Bottom element 1, terminal 1".
func (c *Circuit) PartLabel(t TerminalID) string {
	term := &c.terminals[t]
	p := &c.parts[term.Part]
	name := term.Name
	if p.Kind.info().poleKind {
		in, out := "incoming", "outgoing"
		if p.Kind.Guards() {
			in, out = "line side", "load side"
		}
		end := strings.LastIndex(name, ".") + 1 // 0 where it has one pole
		if side := map[string]string{"in": in, "out": out}[name[end:]]; side != "" {
			name = strings.TrimSpace(strings.TrimSuffix(name[:end], ".") + " (" + side + ")")
		}
	}
	if last := p.Label[strings.LastIndex(p.Label, " ")+1:]; name != "" && !p.Kind.info().poleKind && (len(last) == 1 || strings.TrimRight(last, "0123456789") != last) {
		return p.Label + ", terminal " + name
	}
	return strings.TrimSpace(p.Label + " " + name)
}

// Across names the part, pole or contact that has a probe at each of its ends;
// empty where none has.
func (c *Circuit) Across(p, q TerminalID) string {
	for _, id := range c.parts[c.terminals[p].Part].Branches {
		if b := &c.branches[id]; b.A == p && b.B == q || b.A == q && b.B == p {
			return LowerFirst(c.Label(id))
		}
	}
	return ""
}

// Between says where two probes go: across a part, or from one place to another.
func (c *Circuit) Between(p, q TerminalID) string {
	if part := c.Across(p, q); part != "" {
		return "across the " + part
	}
	return "from " + c.PlaceLabel(p) + " to " + c.PlaceLabel(q)
}

// PlaceOf says where a terminal is reached: its test point's place, else its
// part's; empty where neither says.
func (c *Circuit) PlaceOf(t TerminalID) string {
	if p := c.PointAt(t); p != nil && p.Place != "" {
		return p.Place
	}
	return c.parts[c.terminals[t].Part].Place
}

// AccessMinutes is the effort to get a probe to a terminal.
func (c *Circuit) AccessMinutes(t TerminalID) float64 {
	if p := c.PointAt(t); p != nil && p.Minutes > 0 {
		return p.Minutes
	}
	return defaultAccessMinutes
}

// BranchPrior returns the relative chance that a branch is the failed one: its part
// kind's prior shared among the part's branches, or a wire's.
func (c *Circuit) BranchPrior(id BranchID) float64 {
	b := &c.branches[id]
	if b.Wire != None {
		return c.priors[KindNone]
	}
	p := &c.parts[b.Part]
	return max(1e-3, c.priors[p.Kind]) / float64(len(p.Branches))
}

// Runs numbers the terminals by the run of wires and connectors they are on:
// terminals of one run are joined by joins alone, whatever any contact does.
func (c *Circuit) Runs() []int32 {
	groups := NewGroups(len(c.terminals))
	for i := range c.branches {
		if b := &c.branches[i]; b.Role == Join {
			groups.Join(int32(b.A), int32(b.B))
		}
	}
	for i := range groups {
		groups[i] = groups.Of(int32(i))
	}
	return groups
}

// Other is the far end of a branch, seen from one of its ends; of a wire too.
func (b *Branch) Other(t TerminalID) TerminalID { return otherOf(b.A, b.B, t) }
func (w *Wire) Other(t TerminalID) TerminalID   { return otherOf(w.From, w.To, t) }

func otherOf(a, b, t TerminalID) TerminalID {
	if t == a {
		return b
	}
	return a
}

// WireBetween is the branch of the wire from one terminal to another, either way.
// Of several it is the first.
func (c *Circuit) WireBetween(p, q TerminalID) (BranchID, error) {
	for _, id := range c.terminals[p].Wires {
		if w := &c.wires[id]; w.From == q || w.To == q {
			return w.Branch, nil
		}
	}
	return None, fmt.Errorf("no wire lies between %s and %s: amps tell of one wire, by its two ends", c.terminals[p].Ref, c.terminals[q].Ref)
}
