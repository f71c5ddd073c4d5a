package complaints

import (
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/visit"
)

// codeNote notes a code: as it is shown, where the netlist declares what the control sees
// then; of one that says how it heats, that.
func codeNote(c *circuit.Circuit, code, mode string) visit.Note {
	means := codeMeans(c, code)
	if means == "slow" {
		return visit.Note{Mode: mode, Slow: true}
	}
	n := visit.Note{Told: means, Part: codeOf(c, code)}
	if k := declared(c, code); k != nil && k.Sense != circuit.None {
		n.Answer = k.Text
	}
	return n
}

// declared is a code that the netlist declares, nil where it does not.
func declared(c *circuit.Circuit, code string) *circuit.Code {
	for i := range c.Controls() {
		for j := range c.Controls()[i].Codes {
			if k := &c.Controls()[i].Codes[j]; strings.EqualFold(k.Text, code) {
				return k
			}
		}
	}
	return nil
}

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
	if !r.region(p) && !r.isMachine(p) {
		return false
	}
	of := slices.IndexFunc(r.c.Parts(), func(part circuit.Part) bool { return part.Name == codeOf(r.c, code) })
	return !slices.ContainsFunc(p.where, func(w string) bool { return of < 0 || !r.machine.parts[of][w] })
}

// sensorThere names of several sensors the one of the half that a code is told of: "the top
// oven shows a sensor error".
func (r *reader) sensorThere(k *clause, st *Statement) {
	if st.Code != "sensor" {
		return
	}
	for _, p := range slices.Concat(k.places, k.subjects) {
		if len(p.where) == 0 || len(p.nouns) > 0 && !r.region(p) && !r.isMachine(p) {
			continue
		}
		of := slices.DeleteFunc(slices.Clone(r.c.Parts()), func(part circuit.Part) bool {
			return part.Kind != circuit.KindSensor || slices.ContainsFunc(p.where, func(w string) bool { return !r.machine.parts[part.ID][w] })
		})
		if len(of) == 1 {
			st.Part = of[0].ID
			r.now.join(p.from)
		}
	}
}

// codeKinds are what a code may be of.
var codeKinds = []string{"sensor", "too_hot", "latch", "key", "board"}

// codeWords tell by a declared code's meaning which row of what is told it is.
var codeWords = []struct{ word, what string }{
	{"too hot", "too_hot"}, {"overheat", "too_hot"}, {"sensor", "sensor"}, {"temperature", "sensor"}, {"thermocouple", "sensor"},
	{"slow", "slow"}, {"latch", "latch"}, {"lock", "latch"}, {"door", "latch"}, {"key", "key"},
}

// ofCode reports whether nothing was heard but what a display shows, and that it was
// reset.
func (r *reader) ofCode() bool {
	n := slices.IndexFunc(r.heard.Statements, func(s Statement) bool { return s.What != "code" && s.What != "beeps" && s.What != "reset" })
	return n < 0 && (slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "code" }) ||
		slices.ContainsFunc(r.heard.Questions, func(q Question) bool { return q.What == "code" }))
}
