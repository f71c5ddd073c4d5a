package ringout

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// Wires writes the joins found so far as wires of a netlist, a tree of them for
// each group of pins: which pin of a group the maker wired to which cannot be
// heard, so each is run from the group's first. Pins are terminals,
// "part.terminal". Pins of one part that are joined inside it need no wire; the
// caller drops what it knows to be a part's own.
func (r *Ring) Wires() []circuit.WireSpec {
	var out []circuit.WireSpec
	for _, group := range r.Result().Joined {
		for _, pin := range group[1:] {
			out = append(out, circuit.WireSpec{Name: fmt.Sprintf("r%02d", len(out)+1), From: r.pins[group[0]], To: r.pins[pin]})
		}
	}
	return out
}

// Charts writes what passes through switches as contact charts by part: for
// each position the pins it joins. Ways between pins of different parts are
// listed in between, as pairs of pins: a switch lies on the way that is not
// among the pins rung.
func (r *Ring) Charts() (charts map[string]map[string][][]string, between [][2]string) {
	charts = map[string]map[string][][]string{}
	leader := r.leaders()
	for _, s := range r.Result().Switched {
		part, a, b := r.samePart(leader, s)
		if part == "" {
			between = append(between, [2]string{r.pins[s.A], r.pins[s.B]})
			continue
		}
		if charts[part] == nil {
			charts[part] = map[string][][]string{}
		}
		for _, p := range s.In {
			name := r.positions[p]
			charts[part][name] = append(charts[part][name], []string{a, b})
		}
	}
	return charts, between
}

// samePart finds a part with a pin in either group of a switched way, and those
// pins' own names.
func (r *Ring) samePart(leader []int, s Switched) (part, a, b string) {
	mine := map[string]string{}
	for i, pin := range r.pins {
		if p, t, ok := strings.Cut(pin, "."); ok && leader[i] == s.A {
			if _, known := mine[p]; !known {
				mine[p] = t
			}
		}
	}
	for i, pin := range r.pins {
		if p, t, ok := strings.Cut(pin, "."); ok && leader[i] == s.B {
			if first, known := mine[p]; known {
				return p, first, t
			}
		}
	}
	return "", "", ""
}
