package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/visit"
)

// deadVolts is below what any meter shows of a leg that is there.
const deadVolts = 20

// oneLeg is what a question comes to that nobody answers, where it is which of the legs was
// read where the supply comes in: "one leg 120, the other 0". That one is dead tells, and
// which one the rest of the story does. It is false for any other question.
func (q *Question) oneLeg(c *circuit.Circuit) (notes []visit.Note, ok bool) {
	dead, told := 0, ""
	for _, choice := range q.Choices {
		none := false
		for _, s := range choice.Statements {
			what, in := ofLeg(c, &s)
			if !in {
				return nil, false
			}
			none, told = none || s.Amount < deadVolts, what
		}
		if none {
			dead++
		}
	}
	switch {
	case len(q.Choices) < 2:
		return nil, false
	case dead == 0:
		return nil, true // of one that is there
	case dead < len(q.Choices):
		return nil, false
	}
	return []visit.Note{{Told: told}}, true
}

// ofLeg is what is told where a leg reads nothing to another conductor; false where what was
// said is no reading of volts where the supply comes in.
func ofLeg(c *circuit.Circuit, s *Statement) (told string, ok bool) {
	if s.About != OfPlace || s.What != "reads" || s.Unit != "volts" || s.From == s.To || s.From == circuit.None || s.To == circuit.None {
		return "", false
	}
	at := c.Terminal(s.From).Part
	if at == circuit.None || at != c.Terminal(s.To).Part || !legOf(c.Terminal(s.From).Name) && !legOf(c.Terminal(s.To).Name) {
		return "", false
	}
	switch c.Part(at).Kind {
	case circuit.KindTerminalBlock:
		return "leg_dead", true
	case circuit.KindConnector:
		return "leg_dead_outlet", slices.ContainsFunc(c.Part(at).Terminals, func(t circuit.TerminalID) bool { return strings.HasPrefix(c.Terminal(t).Name, "L2.") })
	}
	return "", false
}

// legOf reports whether a terminal's name is of a hot leg.
func legOf(name string) bool { return strings.HasPrefix(name, "L1.") || strings.HasPrefix(name, "L2.") }
