package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
)

// codeMeans tells what a code is of: as it was said, or as the netlist declares
// it; nothing where it does not.
func codeMeans(c *circuit.Circuit, code string) string {
	if slices.Contains(codeKinds, code) {
		return code
	}
	for i := range c.Controls() {
		for _, k := range c.Controls()[i].Codes {
			if !strings.EqualFold(k.Text, code) {
				continue
			}
			means := strings.ToLower(k.Means)
			if k.Sense != circuit.None {
				means += " " + c.Controls()[i].Senses[k.Sense].Name
			}
			for _, row := range codeWords {
				if strings.Contains(means, row.word) {
					return row.what
				}
			}
			return "board"
		}
	}
	return ""
}

// codeOf names the sensor that a declared code is of, where its meaning names one
// of several; empty where it does not.
func codeOf(c *circuit.Circuit, code string) string {
	for i := range c.Controls() {
		for _, k := range c.Controls()[i].Codes {
			if !strings.EqualFold(k.Text, code) || codeMeans(c, code) != "sensor" {
				continue
			}
			means := strings.Fields(fold(k.Means))
			for _, p := range c.Parts() {
				if p.Kind == circuit.KindSensor && !slices.ContainsFunc(strings.Fields(fold(p.Label)), func(w string) bool { return !slices.Contains(means, w) }) {
					return p.Name
				}
			}
		}
	}
	return ""
}

// shows reports whether a phrase names the whole, or that half of it which a code is of.
func (r *reader) shows(p *phrase, code string) bool {
	return (r.region(p) || r.isMachine(p)) && (len(p.where) == 0 || r.shownOf(p, code) != circuit.None)
}

// shownOf is the part that a code of some half is of, where that is told of, None where
// it is not known: "the upper oven shows a sensor code".
func (r *reader) shownOf(p *phrase, code string) circuit.PartID {
	of := circuit.PartID(circuit.None)
	for _, part := range r.c.Parts() {
		if part.Name != codeOf(r.c, code) && !slices.Contains(codedKinds[code], part.Kind) ||
			slices.ContainsFunc(p.where, func(w string) bool { return !r.machine.parts[part.ID][w] }) {
			continue
		}
		if of != circuit.None {
			return circuit.None
		}
		of = part.ID
	}
	return of
}

// codeKinds are what a code may be of.
var codeKinds = []string{"sensor", "too_hot", "latch", "key", "board"}

// codedKinds are the kinds of part that a code names by what it is of.
var codedKinds = map[string][]circuit.Kind{"sensor": {circuit.KindSensor}, "latch": {circuit.KindLatch, circuit.KindDoorSwitch}}

// codeWords tell by a declared code's meaning which row of what is told it is.
var codeWords = []struct{ word, what string }{
	{"too hot", "too_hot"}, {"overheat", "too_hot"}, {"sensor", "sensor"}, {"temperature", "sensor"}, {"thermocouple", "sensor"},
	{"latch", "latch"}, {"lock", "latch"}, {"door", "latch"}, {"key", "key"},
}

// ofCode reports whether nothing was heard but what a display shows, and that it was
// reset.
func (r *reader) ofCode() bool {
	n := slices.IndexFunc(r.heard.Statements, func(s Statement) bool { return s.What != "code" && s.What != "beeps" && s.What != "reset" })
	return n < 0 && (slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "code" }) ||
		slices.ContainsFunc(r.heard.Questions, func(q Question) bool { return q.What == "code" }))
}
