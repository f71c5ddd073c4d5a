package report

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// What makes such a complaint and no meter shows, by what the heat goes into (common
// practice, no source).
const (
	stored  = "thermostats set low; a dip tube that broke off; sediment over the lower element; hot and cold crossed, or let into each other by a tap; more drawn than the tank holds."
	blown   = "a vent that is long, crushed or full of lint, or its hood outside stuck; a lint screen clogged; a drum seal or a blower wheel worn; clothes put in wetter than spun. A hand at the hood outside feels whether the air moves."
	chamber = "a door seal that leaks; foil or a pan over the vent or the element; a control set off by its owner (read how it is set); a thermometer that is wrong."
)

// ofDegree is what is told of how much heat there is.
var ofDegree = []suspect.Whole{suspect.Slow, suspect.RunsHot, suspect.RunsCold, suspect.RunsOut}

// unmetered says what no meter shows of what is complained of: of heat, by where it
// goes; of an oven only where it is a matter of degree.
func (r *Reporter) unmetered(e *suspect.Engine) []string {
	out := []string{}
	add := func(words string) {
		if !slices.Contains(out, words) {
			out = append(out, words)
		}
	}
	for i, ev := range e.Evidence() {
		s := ev.Symptom
		degree := s != nil && slices.Contains(ofDegree, s.Whole)
		if s == nil || !e.Speaks(i) && !degree {
			continue
		}
		loads := []circuit.BranchID{s.Load}
		if degree && s.Mode != circuit.None {
			loads = nil
			for _, x := range r.c.Mode(s.Mode).Expect {
				if x.Share > 0 {
					loads = append(loads, x.Load)
				}
			}
		}
		for _, id := range loads {
			if id == circuit.None || !r.c.Part(r.c.Branch(id).Part).Kind.Heats() {
				continue
			}
			for k, b := range r.c.Bodies() {
				if b.Heats[id] == 0 {
					continue
				}
				rises := b.RisesInto != circuit.None || slices.ContainsFunc(r.c.Bodies(), func(o circuit.Body) bool { return o.RisesInto == circuit.BodyID(k) })
				switch {
				case rises:
					add(stored)
				case b.Fan != circuit.None && r.c.Part(r.c.Branch(b.Fan).Part).Kind == circuit.KindMotor:
					add(blown)
				case degree && r.c.Part(r.c.Branch(id).Part).Kind == circuit.KindElement:
					add(chamber)
				}
			}
		}
	}
	return out
}
