package complaints

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
)

// ofOven reports whether it was told of an oven as a whole, of one of several loads that
// heat it: who bakes seldom broils.
func (s *Statement) ofOven(c *circuit.Circuit) bool {
	return s.loosely && s.About == OfLoad && s.Any == 0 && heats(c, s.Load) && !c.StoresHeat() && c.Part(c.Branch(s.Load).Part).Kind != circuit.KindSurfaceElement
}

// alike lists those told with one of the same oven, itself among them.
func (s *Statement) alike(c *circuit.Circuit, said []Statement) (out []Statement) {
	for _, by := range said {
		if by.ofOven(c) && by.What == s.What && by.clause == s.clause && by.of == s.of {
			out = append(out, by)
		}
	}
	return out
}

// usedFirst is the first mode that uses any of what some statements are of.
func usedFirst(c *circuit.Circuit, of []Statement) circuit.ModeID {
	for i := range c.Modes() {
		if slices.ContainsFunc(of, func(s Statement) bool { return uses(c, circuit.ModeID(i), s.Load) }) {
			return circuit.ModeID(i)
		}
	}
	return circuit.None
}

// untried marks what is told of an oven as a whole, and of what is on in another mode than
// the one that people use it for.
func (s *Statement) untried(c *circuit.Circuit, said []Statement, notes []visit.Note) {
	dark := func(by Statement) bool {
		return by.What == "dark" || by.What == "all_dead" || by.What == "dead" && by.Load != circuit.None && c.Part(c.Branch(by.Load).Part).Kind == circuit.KindControl
	}
	if s.What != "dead" || s.Mode != circuit.None || s.tried || !s.ofOven(c) || slices.ContainsFunc(said, dark) {
		return // where the display is dark nothing can be tried
	}
	if first := usedFirst(c, s.alike(c, said)); first != circuit.None {
		for i := range notes {
			if notes[i].Load != "" && notes[i].Mode != c.Mode(first).Name {
				notes[i].At = suspect.Untried
			}
		}
	}
}

// lukewarm notes an oven that as a whole gives little heat: that it does not get as hot as
// set; nobody has looked at each of its elements. It is told once, ok for what it is of.
func (s *Statement) lukewarm(c *circuit.Circuit, said []Statement) (n visit.Note, first, ok bool) {
	if s.What != "weak" || s.Mode != circuit.None || !s.ofOven(c) {
		return n, false, false
	}
	of := s.alike(c, said)
	if len(of) < 2 {
		return n, false, false
	}
	return visit.Note{Told: "runs_cold", Load: notTheFirst(c, usedFirst(c, of))}, of[0].Load == s.Load, true
}
