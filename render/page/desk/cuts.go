package desk

import (
	"strings"

	"legtrace/circuit"
	"legtrace/render/report"
)

// lights names the pieces of the diagram that stand for what is broken, wires
// and parts by their identifiers there.
func lights(c *circuit.Circuit, refs []string) string {
	var out []string
	for _, ref := range refs {
		id, err := c.FindBranch(ref)
		if err != nil {
			if _, err := c.FindPart(ref); err == nil {
				out = append(out, "part-"+ref)
			}
			continue
		}
		if b := c.Branch(id); b.Wire != circuit.None {
			out = append(out, "wire-"+c.Wire(b.Wire).Name)
		} else {
			out = append(out, "part-"+c.Part(b.Part).Name)
		}
	}
	return strings.Join(out, " ")
}

// vias says what a member of a cut set does for the load.
var vias = map[string]string{
	"load": "the load itself, in series", "feed": "its feed from ", "beside": "a second way from ", "coil": "feeds the coil that holds ",
	"drive": "pulls in ", "power": "feeds the control", "sense": "what the control must see: ",
}

func memberWords(m report.Member) string {
	words := vias[m.Via]
	switch m.Via {
	case "feed", "beside":
		words += m.From
	case "coil", "drive":
		if m.Holds != nil {
			words += m.Holds.Label
		}
	case "sense":
		words += strings.ReplaceAll(m.Sense, "_", " ")
	}
	return words
}

func memberRefs(m report.Member) []string {
	var out []string
	for _, it := range m.AnyOf {
		out = append(out, it.Ref)
	}
	return out
}

// faultRefs names what faults are at.
func faultRefs(faults []string) []string {
	var out []string
	for _, f := range faults {
		ref, _ := cut(f)
		out = append(out, ref)
	}
	return out
}
