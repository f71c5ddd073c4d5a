package desk

import (
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// finding is what a repair would mend: any one of several explanations. It is
// what a visit on the terminal concludes as well.
type finding struct {
	any []suspect.Suspect
	p   float64
	// close is set where one explanation, or one part, holds most of the chance.
	close bool
}

// Bounds of a finding.
const (
	// nearly is the chance from which one explanation, or one part, is named by
	// itself; comparable is how likely others are, of the likeliest, to be named
	// beside it while none is.
	nearly     = 0.7
	comparable = 0.3
	looked     = 60 // explanations
)

// find sums the suspects up. It holds nothing where nothing is suspected, or
// where all that was seen is what a sound machine does.
func find(c *circuit.Circuit, e *suspect.Engine) finding {
	all := e.Suspects(looked)
	if len(all) == 0 || len(all[0].Causes) == 0 && all[0].P >= nearly {
		return finding{}
	}
	lead := finding{any: all[:1], p: all[0].P}
	if part := onePart(c, all[0]); part != "" && lead.p <= suspect.Sure {
		lead = finding{}
		for _, s := range all {
			if onePart(c, s) != part {
				continue
			}
			if lead.p += s.P; s.P >= 0.01 {
				lead.any = append(lead.any, s)
			}
		}
	}
	if lead.p >= nearly {
		lead.close = true
		return lead
	}
	f := finding{}
	for _, s := range all {
		if s.P >= comparable*all[0].P && len(s.Causes) > 0 {
			f.any, f.p = append(f.any, s), f.p+s.P
		}
	}
	return f
}

// onePart names the part that a single cause lies in; it is empty for wires,
// faults together and causes in several parts.
func onePart(c *circuit.Circuit, s suspect.Suspect) string {
	if len(s.Causes) != 1 {
		return ""
	}
	name := ""
	for _, m := range s.Causes[0].Members {
		for _, f := range m.Faults {
			b := c.Branch(f.Branch)
			if b.Part == circuit.None || name != "" && name != c.Part(b.Part).Name {
				return ""
			}
			name = c.Part(b.Part).Name
		}
	}
	return name
}

// words names a finding: each cause by its likeliest member.
func (f finding) words() string {
	var out []string
	for _, s := range f.any {
		out = append(out, suspectWords(s))
	}
	return strings.Join(out, ", or ")
}

func suspectWords(s suspect.Suspect) string {
	if len(s.Causes) == 0 {
		return "nothing wrong"
	}
	var out []string
	for _, k := range s.Causes {
		out = append(out, k.Members[0].Label)
	}
	return strings.Join(out, " and ")
}

// faults are those that the diagram shows for a finding: of its likeliest.
func (f finding) faults() []circuit.Fault {
	var out []circuit.Fault
	for _, k := range f.mended() {
		out = append(out, k.Members[0].Faults...)
	}
	return out
}

// mended are the causes of the likeliest, which a repair takes away.
func (f finding) mended() []suspect.Class {
	if len(f.any) == 0 {
		return nil
	}
	return f.any[0].Causes
}

// causes writes a finding as a visit's file has it: for each cause of the
// likeliest, it and what no test told from it, apart by " | "; faults that are
// one cause are joined by " + ".
func (f finding) causes(c *circuit.Circuit) []string {
	var out []string
	for i := range f.mended() {
		var refs []string
		for _, s := range f.any {
			if i < len(s.Causes) {
				refs = append(refs, causeRefs(c, s.Causes[i])...)
			}
		}
		slices.Sort(refs[1:]) // the likeliest stays first
		out = append(out, strings.Join(slices.Compact(refs), " | "))
	}
	return out
}

func causeRefs(c *circuit.Circuit, k suspect.Class) []string {
	var out []string
	for _, m := range k.Members {
		var together []string
		for _, f := range m.Faults {
			together = append(together, c.FaultRef(f))
		}
		out = append(out, strings.Join(together, " + "))
	}
	return out
}
