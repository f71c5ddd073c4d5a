package suspect

import (
	"math"
	"slices"

	"legtrace/circuit"
)

// shownBy is what each answer of a thermometer says of a mode, in their order.
var shownBy = []Whole{RunsHot, RunsCold, AsSet}

// measured makes a symptom of what a thermometer showed.
func (t *Telling) measured() *Symptom {
	return &Symptom{Mode: t.ask.Mode, Load: circuit.None, Whole: shownBy[t.answer], measured: true}
}

// degrees are the chances of a thermometer's answers.
func (by *errs) degrees(p predicted) []float64 {
	out, sum := make([]float64, len(shownBy)), 0.0
	for i, whole := range shownBy {
		out[i] = by.toldWarmth(&Symptom{Whole: whole, measured: true}, p)
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// unmeasured lists what holds the heat of the modes of which degrees were told, as long
// as no thermometer was held there: by how much somebody's food is off is a guess, and
// half of the sensors changed for it were good (common practice, no source). Heat that
// does not end gets no power for it.
func (e *Engine) unmeasured() (out []Test) {
	if e.neverEnds() || e.trips() || e.heard("shock") {
		return nil
	}
	for _, ev := range e.evidence {
		s := ev.Symptom
		switch {
		case s != nil && s.measured && e.since(ev):
			return nil
		case s == nil || s.Mode == circuit.None || s.Whole != RunsHot && s.Whole != RunsCold:
			continue
		}
		t := Test{Ask: Thermometer, Part: e.holds(s.Mode), Mode: s.Mode, Live: true, At: circuit.None}
		if t.Part != circuit.None && !slices.ContainsFunc(out, t.same) {
			out = append(out, t)
		}
	}
	return out
}

// holds is the part that holds a mode's heat where it should be, by the netlist the
// first of several: a control that sees it, or what lets it off.
func (e *Engine) holds(mode circuit.ModeID) circuit.PartID {
	for _, ctl := range e.c.Controls() {
		for _, s := range ctl.Senses {
			if s.Modes == nil || s.Modes[mode] {
				return ctl.Part
			}
		}
	}
	for i := range e.c.Parts() {
		if p := e.c.Part(circuit.PartID(i)); p.LetsOff() {
			return p.ID
		}
	}
	return circuit.None
}

// aims is the first mode in which a load, or any, heats and a temperature is aimed at.
func (e *Engine) aims(load circuit.BranchID) (circuit.ModeID, error) {
	for i := range e.c.Modes() {
		mode := circuit.ModeID(i)
		sound, err := e.sound(mode)
		if err != nil {
			return circuit.None, err
		}
		if !slices.ContainsFunc(e.c.Loads(), func(id circuit.BranchID) bool {
			return (id == load || load == circuit.None && e.c.Part(e.c.Branch(id).Part).Kind.Heats()) && sound.LeastShare(id) >= circuit.OnShare
		}) {
			continue
		}
		if x, err := e.workers[0].warmer(mode); x != nil || err != nil {
			return mode, err
		}
	}
	return circuit.None, nil
}

// swings is how many times as long as it takes to come to temperature a thermometer is
// watched (common practice, no source).
const swings = 1.5

// watching is how long a thermometer is watched in a mode, in minutes: a store stands
// warm already.
func (e *Engine) watching(mode circuit.ModeID) float64 {
	x, err := e.workers[0].warmer(mode)
	if e.c.StoresHeat() || x == nil || err != nil {
		return 0
	}
	last := 0.0
	for _, b := range x.sound.Bodies {
		if !math.IsNaN(b.Reached) {
			last = max(last, b.Reached)
		}
	}
	return swings * last
}
