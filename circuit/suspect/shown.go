package suspect

import (
	"math"
	"slices"

	"legtrace/circuit"
)

// clickHeard is the chance that the click of a relay is heard, and that of thinking
// so where it does not pull in, and where another does (common practice, no source).
const clickHeard, misheard, otherHeard = 0.85, 0.08, 0.4

// sights are the chances of what is seen of a fault: burnt, loose, cut or holed, in
// the wrong place.
type sights [4]float64

// lookChances are those at the part looked at, by how it fails (common practice, no
// source).
var lookChances = map[how]sights{
	jointOpen:    {0.45, 0.25, 0.06},
	jointHigh:    {0.5, 0.25, 0},
	contactHigh:  {0.08, 0, 0},
	contactStuck: {0.05, 0, 0},
	partShort:    {0.15, 0, 0.1},
	partOpen:     {0.03, 0, 0.02},
	otherwise:    {0.02, 0, 0.01},
}

// Of a winding that failed: burst, blistered. Of a joint that touches metal: the
// mark of the arc, the chafed wire. Of a wire landed wrong, by who knows where it
// belongs.
var winding, touching, landed = sights{0.08, 0, 0.25}, sights{0.4, 0.05, 0.3}, sights{0, 0.02, 0, 0.7}

// shown are the chances of every answer of a move with faults present: of the
// fault that shows most.
func (t Test) shown(c *circuit.Circuit, faults []circuit.Fault) []float64 {
	best := t.idleChances()
	whole := len(faults) == len(c.Part(t.Part).Branches)
	for _, f := range faults {
		if p, ok := t.chances(c, f, whole); ok && p[len(p)-1] < best[len(best)-1] {
			best = p
		}
	}
	return best
}

// Of what is found open at every pole, most had only tripped and holds once its reset
// is pressed; at one, few (common practice, no source).
const tripsWhole, tripsPole = 0.8, 0.15

// beltOff is the chance that a switch that is open in the feed of a motor was opened by a
// belt that is off, which whoever turns the drum feels (common practice, no source).
const beltOff = 0.6

// chances are those of every answer of a move with a fault present, whole where every
// branch of the part fails so; ok is false where the fault changes nothing there.
func (t Test) chances(c *circuit.Circuit, f circuit.Fault, whole bool) (out []float64, ok bool) {
	m := moves[t.Ask]
	out = make([]float64, len(m.answers))
	switch near := (&Telling{Part: t.Part}).near(c, f.Branch); {
	case t.Ask == Listen || t.Ask == Thermometer:
		return out, false // of the settled machine
	case t.Ask == Turn && c.Part(t.Part).Kind == circuit.KindMotor && kindOf(c, f.Branch) == circuit.KindSwitch && wayOf(c, f) == partOpen:
		out[1], out[2] = beltOff, 1-beltOff-m.answers[0].base
		out[0] = m.answers[0].base
		return out, true
	case near, t.Ask == Look && t.beside(c, f.Branch), t.Ask == Press && wayOf(c, f) == partShort:
	default:
		return out, false
	}
	b, way := c.Branch(f.Branch), wayOf(c, f)
	switch t.Ask {
	case Look:
		seen := lookChances[way]
		switch {
		case f.Kind == circuit.Moved:
			seen = landed
		case way == partShort && b.Role == circuit.Join:
			seen = touching
		case (way == partOpen || way == partShort) && kindOf(c, f.Branch).Heats():
			seen = winding
		}
		for i, p := range seen {
			if b.Wire != circuit.None && i < 2 {
				p /= 2 // the bad end may be the other one
			}
			out[i] = p
		}
	case Press:
		const again = 0.9
		switch {
		case way == partShort && kindOf(c, c.Part(t.Part).Branches[0]).Guards():
			out[1] = again
		case way != partOpen:
			return out, false
		case whole:
			out[0] = tripsWhole
		default:
			out[0] = tripsPole
		}
	case Swap:
		if b.Role != circuit.Load {
			return out, false
		}
		out[0] = 0.97
	case Turn:
		if f.Kind != circuit.Seized {
			return out, false
		}
		out[0] = 0.9
	case Move:
		switch {
		case way == jointOpen, way == jointHigh, way == contactHigh:
			out[0] = 0.6
		case way == partOpen && (b.Role == circuit.Contact || kindOf(c, f.Branch).Heats()):
			out[0] = 0.4
		default:
			return out, false
		}
	}
	rest := 1.0
	for i := range out[:len(out)-1] {
		out[i] = max(out[i], m.answers[i].base)
		rest -= out[i]
	}
	out[len(out)-1] = rest
	return out, true
}

// laidOpen names what a look at a place takes in: all that the panel before it hides,
// or the place.
func laidOpen(c *circuit.Circuit, place string) string {
	if p := c.PlaceNamed(place); p != nil && p.Panel != circuit.None {
		return c.Panels()[p.Panel].Label
	}
	return place
}

// beside reports whether a branch lies open to a look: whoever looks at a part sees
// what is around it.
func (t Test) beside(c *circuit.Circuit, id circuit.BranchID) bool {
	within, b := laidOpen(c, c.Part(t.Part).Place), c.Branch(id)
	if within == "" {
		return false
	}
	there := func(p circuit.PartID) bool { return p != circuit.None && laidOpen(c, c.Part(p).Place) == within }
	if b.Wire == circuit.None {
		return there(b.Part)
	}
	return there(c.Terminal(b.A).Part) || there(c.Terminal(b.B).Part)
}

// mostSights is how many parts a look names.
const mostSights = 4

// Sights names what a look is at: its part, and others that lie open with it.
func (t Test) Sights(c *circuit.Circuit) string {
	within, names := laidOpen(c, c.Part(t.Part).Place), []string{c.Part(t.Part).Label}
	for i := range c.Parts() {
		if p := c.Part(circuit.PartID(i)); p.ID != t.Part && within != "" && laidOpen(c, p.Place) == within {
			names = append(names, p.Label)
		}
	}
	if len(names) > mostSights {
		names = append(names[:mostSights-1], "what is beside them")
	} else if len(names) == 1 {
		return names[0] + " with what is beside it"
	}
	return circuit.List(names)
}

// idleChances are those of the answers where nothing is wrong there.
func (t Test) idleChances() []float64 {
	m := moves[t.Ask]
	out, rest := make([]float64, len(m.answers)), 1.0
	for i, a := range m.answers[:len(m.answers)-1] {
		out[i] = a.base
		rest -= a.base
	}
	out[len(out)-1] = rest
	return out
}

// clicks are the chances of a relay's answers in a settled machine.
func (t Test) clicks(c *circuit.Circuit, acting func(circuit.BranchID) bool) []float64 {
	own, other := false, false
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Part == circuit.None || c.Part(b.Part).Kind != circuit.KindRelay || b.Role == circuit.Contact || !acting(b.ID) {
			continue
		}
		own, other = own || b.Part == t.Part, other || b.Part != t.Part
	}
	p := misheard
	switch {
	case own:
		p = clickHeard
	case other:
		p = otherHeard
	}
	return []float64{1 - p, p}
}

// ofClass are the chances of every answer with a class of faults present: of its
// members by their share.
func (t Test) ofClass(c *circuit.Circuit, cl *Class) []float64 {
	out, total := make([]float64, len(moves[t.Ask].answers)), 0.0
	for _, m := range cl.Members {
		for i, p := range t.ofCause(c, &m) {
			out[i] += m.Prior * p
		}
		total += m.Prior
	}
	for i := range out {
		out[i] /= total
	}
	return out
}

// ofCause are those with a cause present.
func (t Test) ofCause(c *circuit.Circuit, m *Cause) []float64 {
	const found = 0.9
	if part := c.Part(t.Part); t.Ask == Set && m.setting && m.Part == part.Name || t.Ask == Air && m.airless && airAt(c, m.Faults[0]) == part.ID {
		return []float64{found, 1 - found}
	}
	return t.shown(c, m.Faults)
}

// Likeliest is the answer that a move most likely has with faults present, by its key.
func (e *Engine) Likeliest(t Test, faults []circuit.Fault) (string, error) {
	p, w := t.idleChances(), e.workers[0]
	switch t.Ask {
	case Listen:
		o, err := w.live(t.Mode, faults)
		if err != nil {
			return "", err
		}
		p = t.clicks(e.c, o.Acting)
	case Thermometer:
		warm, err := w.heated(t.Mode, faults)
		if err != nil {
			return "", err
		}
		p = e.errs.degrees(warm)
	}
	for _, f := range faults {
		if q, ok := t.chances(e.c, f, len(faults) == len(e.c.Part(t.Part).Branches)); ok {
			p = q
		}
	}
	return moves[t.Ask].answers[slices.Index(p, slices.Max(p))].key, nil
}

// askedOf are the chances of a move's answers under a hypothesis: of the class
// that shows most.
func (e *Engine) askedOf(t Test, h *hypothesis) []float64 {
	best := t.idleChances()
	for _, k := range h.at(len(e.mends)).classes {
		if p := t.ofClass(e.c, &e.classes[k]); p[len(p)-1] < best[len(best)-1] {
			best = p
		}
	}
	if t.Ask == Look && e.smelt(t.Part) {
		// What was smelt, heard or seen to arc left its mark.
		const surer = 3
		clear := best[len(best)-1]
		found := (1 - math.Pow(clear, surer)) / (1 - clear)
		for i := range best[:len(best)-1] {
			best[i] *= found
		}
		best[len(best)-1] = math.Pow(clear, surer)
	}
	return best
}

// smelt reports whether heat or an arc was told of, at a part or not where.
func (e *Engine) smelt(part circuit.PartID) bool {
	return slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		return ev.Told != nil && (ev.Told.Part == circuit.None || ev.Told.Part == part) && e.since(ev) && slices.Contains([]string{"heat", "arc"}, tales[ev.Told.What].fact)
	})
}
