package circuit

import "fmt"

// Code is what a control shows, and what makes it do so.
type Code struct {
	// Text is the code as shown, Means what it stands for in words.
	Text, Means string
	// Sense indexes the control's senses; None where the code tells of nothing
	// that it senses.
	Sense int
	// Above and Below bound the ohms that bring it; 0 means no bound.
	Above, Below float64
	Modes        map[ModeID]bool // nil: every mode
}

// Shown tells whether the code is shown for what is seen between the pins of
// its sense in a mode, connected false standing for an open.
func (k Code) Shown(mode ModeID, ohms float64, connected bool) bool {
	if k.Sense == None || k.Modes != nil && !k.Modes[mode] {
		return false
	}
	if !connected {
		return k.Below == 0
	}
	return (k.Above == 0 || ohms > k.Above) && (k.Below == 0 || ohms < k.Below)
}

// codes reads the codes of a control; their modes are resolved later.
func (b *builder) codes(p *Part, c *Control) {
	seen := map[string]bool{}
	for i, s := range p.Spec.Codes {
		path := fmt.Sprintf("%s.codes[%d]", b.path, i)
		if s.Code == "" || s.Means == "" || !printable(s.Code) || !printable(s.Means) || seen[s.Code] {
			b.fail(path, "give code and means, each code once", "code %q", s.Code)
			continue
		}
		seen[s.Code] = true
		if sense, ok := b.codeSense(path, s, c); ok {
			c.Codes = append(c.Codes, Code{Text: s.Code, Means: s.Means, Sense: sense, Above: s.Above, Below: s.Below})
		}
	}
}

// codeSense finds what a code looks at, None where it looks at nothing; not ok where
// what it says makes no sense.
func (b *builder) codeSense(path string, s CodeSpec, c *Control) (sense int, ok bool) {
	bounded := s.Above > 0 || s.Below > 0
	switch {
	case s.Sense == "" && (bounded || len(s.Modes) > 0):
		b.fail(path, "add sense", "code %q has bounds or modes, but names nothing that is sensed", s.Code)
		return None, false
	case s.Sense == "":
		return None, true
	case !bounded || s.Above < 0 || s.Below < 0 || s.Above > largest || s.Below > largest || s.Below > 0 && s.Above >= s.Below:
		b.fail(path, "above, below, or both with above the smaller", "code %q stands for ohms above %g and below %g", s.Code, s.Above, s.Below)
		return None, false
	}
	senses := map[string]int{}
	for j := range c.Senses {
		senses[c.Senses[j].Name] = j
	}
	sense, err := find(senses, "sense", s.Sense)
	if err != nil {
		b.failErr(path+".sense", err)
	}
	return sense, err == nil
}

// resolveCodes finds the modes that codes are limited to.
func (b *builder) resolveCodes(c *Control, spec PartSpec) {
	byText := map[string]int{}
	for i := range spec.Codes {
		byText[spec.Codes[i].Code] = i
	}
	for i := range c.Codes {
		at := byText[c.Codes[i].Text]
		c.Codes[i].Modes = b.modeSet(fmt.Sprintf("parts.%s.codes[%d].modes", spec.Name, at), spec.Codes[at].Modes)
	}
}

// modeSet resolves a list of modes; nil for an empty one.
func (b *builder) modeSet(path string, names []string) map[ModeID]bool {
	var out map[ModeID]bool
	for i, name := range names {
		id, err := b.c.FindMode(name)
		if err != nil {
			b.failErr(fmt.Sprintf("%s[%d]", path, i), err)
			continue
		}
		if out == nil {
			out = map[ModeID]bool{}
		}
		out[id] = true
	}
	return out
}
