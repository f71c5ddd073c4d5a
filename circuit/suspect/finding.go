package suspect

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Finding is how far a visit has come: what a repair would mend.
type Finding struct {
	// Sure is set when one cause, or causes within one part, hold nearly all
	// of the probability; Close when they hold most of it, so that only a test
	// that tells much is worth making.
	Sure, Close bool
	// Sound is set when what is sure is that nothing is wrong.
	Sound bool
	// Any of the suspects explains what was seen; P is theirs together.
	Any []Suspect
	P   float64
	// Part is the part's name where all of Any lie within one.
	Part string
}

// Bounds of a finding.
const (
	// nearly is the probability from which a finding is close; comparable is how
	// likely others are, of the likeliest, to be named beside it while none is.
	nearly     = 0.7
	comparable = 0.3
	looked     = 60 // suspects
)

// Finding sums up the suspects.
func (e *Engine) Finding() Finding { return findingOf(e.c, e.Suspects(looked)) }

func findingOf(c *circuit.Circuit, all []Suspect) Finding {
	if len(all) == 0 {
		return Finding{}
	}
	top := all[0]
	lead := Finding{Sound: len(top.Causes) == 0 && !top.Mistaken, Any: all[:1], P: top.P, Part: onePart(c, top)}
	if lead.Part != "" && top.P <= Sure {
		lead.Any, lead.P = nil, 0
		for _, s := range all {
			if onePart(c, s) != lead.Part {
				continue
			}
			if lead.P += s.P; s.P >= 0.01 {
				lead.Any = append(lead.Any, s)
			}
		}
	}
	if lead.P >= nearly {
		lead.Sure, lead.Close = lead.P > Sure && !top.Mistaken, !top.Mistaken // what was told wrong is looked at again
		return lead
	}
	f := Finding{}
	for _, s := range all {
		if s.P >= comparable*top.P {
			f.Any, f.P = append(f.Any, s), f.P+s.P
		}
	}
	if len(f.Any) == 1 {
		f.Part = lead.Part
	}
	return f
}

// onePart names the part that a single cause lies in; it is empty for wires,
// for faults together and for causes in several parts.
func onePart(c *circuit.Circuit, s Suspect) string {
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

// Words says what a finding is: "Broil element open".
func (f Finding) Words() string {
	var out []string
	for _, s := range f.Any {
		out = append(out, s.Words())
	}
	return strings.Join(out, ", or ")
}

// Words says what a suspect is: each cause by its likeliest member.
func (s Suspect) Words() string {
	switch {
	case s.Mistaken:
		return "nothing that explains it: something was told or read wrong"
	case len(s.Causes) == 0:
		return "nothing wrong"
	case s.Alike > 0:
		return fmt.Sprintf("any one of %d alike, as %s", s.Alike, s.Causes[0].Members[0].Label)
	}
	var out []string
	for _, k := range s.Causes {
		out = append(out, k.Members[0].Label)
	}
	return strings.Join(out, " and ")
}

// Mended are the causes of the likeliest suspect, which a repair takes away.
func (f Finding) Mended() []Class {
	if len(f.Any) == 0 {
		return nil
	}
	return f.Any[0].Causes
}

// How a finding is written: either one or another, and faults that are one
// cause together.
const (
	Either   = " | "
	Together = " + "
)

// Causes writes a finding: for each cause of the likeliest suspect, it and what
// no test told from it, by [Either] and [Together].
func (f Finding) Causes(c *circuit.Circuit) []string {
	var out []string
	for i := range f.Mended() {
		var any []string
		for _, s := range f.Any {
			if i < len(s.Causes) {
				any = append(any, s.Causes[i].Refs(c)...)
			}
		}
		slices.Sort(any[1:]) // the likeliest stays first
		out = append(out, strings.Join(slices.Compact(any), Either))
	}
	return out
}

// Refs writes the members of a class, one each, by [Together].
func (k Class) Refs(c *circuit.Circuit) []string {
	var out []string
	for _, m := range k.Members {
		var together []string
		for _, f := range m.Faults {
			together = append(together, c.FaultRef(f))
		}
		out = append(out, strings.Join(together, Together))
	}
	return out
}

// ToMend is a finding but for what says that nothing is wrong, which no repair
// mends.
func (f Finding) ToMend() Finding {
	if f.Sound && f.Close {
		return Finding{}
	}
	some := f
	some.Any = nil
	for _, s := range f.Any {
		if len(s.Causes) == 0 {
			some.P -= s.P
			continue
		}
		some.Any = append(some.Any, s)
	}
	return some
}
