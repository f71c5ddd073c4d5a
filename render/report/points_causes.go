package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// suspected puts an explanation in words.
func (r namer) suspected(s suspect.Suspect) Suspect {
	out := Suspect{Faults: []string{}, Text: r.anyOf([]suspect.Suspect{s}), Share: round(s.P)}
	for _, class := range s.Causes {
		for _, m := range class.Members {
			for _, f := range m.Faults {
				out.Faults = append(out.Faults, r.c.FaultRef(f))
			}
		}
	}
	return out
}

// wayWords say how a group of parts or wires may have failed.
var wayWords = map[circuit.FaultKind]string{circuit.Open: "open", circuit.HighResistance: "burnt or loose joint", circuit.Grounded: "touching metal",
	circuit.Welded: "stuck closed", circuit.Short: "shorted"}

// anyOf tells explanations, any of which holds, in one clause for each way to
// fail.
func (r namer) anyOf(list []suspect.Suspect) string {
	items := map[string][]Item{}
	var order []string // ways to fail, and what is told by itself, the likeliest first
	for _, s := range slices.SortedStableFunc(slices.Values(list), func(a, b suspect.Suspect) int { return cmp.Compare(round(b.P), round(a.P)) }) {
		if len(s.Causes) == 0 {
			continue
		}
		class := s.Causes[0]
		words, known := wayWords[class.Members[0].Faults[0].Kind]
		if len(s.Causes) > 1 || !class.Members[0].Plain() || len(class.Members[0].Faults) > 1 || !known {
			said := oneLine(s.Words())
			if s.When != "" {
				said += ", " + s.When
			}
			if !slices.Contains(order, said) {
				order = append(order, said)
			}
			continue
		}
		if s.When != "" {
			words += ", " + s.When
		}
		if items[words] == nil {
			order = append(order, words)
		}
		for _, it := range r.itemsOf(class) {
			if !slices.Contains(items[words], it) {
				items[words] = append(items[words], it)
			}
		}
	}
	var out []string
	for _, words := range order {
		if items[words] == nil {
			out = append(out, words)
			continue
		}
		shown, more := items[words], ""
		if n := len(shown) - mostItems; n > 0 {
			shown, more = shown[:mostItems], fmt.Sprintf(" and %d more", n)
		}
		out = append(out, words+": "+partsAndWires(shown)+more)
	}
	if more := len(out) - mostClauses; more > 0 {
		out = append(out[:mostClauses:mostClauses], fmt.Sprintf("%d less likely", more))
	}
	return strings.Join(out, "; or ")
}

// itemsOf lists the members of a class; the run of a supply conductor goes by
// the conductor's name.
func (r namer) itemsOf(class suspect.Class) []Item {
	var out []Item
	for _, m := range class.Members {
		it := r.item(m.Faults[0].Branch)
		if it.Kind == "supply" && len(class.Members) > 1 {
			it.Label = r.c.Branch(m.Faults[0].Branch).Name + " between the house and here"
			return []Item{it}
		}
		out = append(out, it)
	}
	return out
}

// mostClauses is how many ways to fail are told, mostItems how many parts and
// wires that may have failed in one of them.
const mostClauses, mostItems = 3, 4
