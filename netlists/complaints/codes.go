package complaints

import (
	"regexp"
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
	if _, k := declared(c, code); k != nil && k.Sense != circuit.None {
		n.Answer = k.Text
	}
	return n
}

// declared is a code that the netlist declares and the control that shows it, nil where it
// does not.
func declared(c *circuit.Circuit, code string) (*circuit.Control, *circuit.Code) {
	for i := range c.Controls() {
		ctl := &c.Controls()[i]
		for j := range ctl.Codes {
			if k := &ctl.Codes[j]; spelled(k.Text) == spelled(code) {
				return ctl, k
			}
		}
	}
	return nil, nil
}

// codeMeans tells what a code is of: as it was said, or as the netlist declares
// it; nothing where it does not.
func codeMeans(c *circuit.Circuit, code string) string {
	if slices.Contains(codeKinds, code) {
		return code
	}
	ctl, k := declared(c, code)
	if k == nil {
		return ""
	}
	means := strings.ToLower(k.Means)
	if k.Sense != circuit.None {
		means += " " + ctl.Senses[k.Sense].Name
	}
	for _, row := range codeWords {
		if strings.Contains(means, row.word) {
			return row.what
		}
	}
	return "board"
}

// codeOf names the sensor that a declared code is of, where its meaning names one
// of several; empty where it does not.
func codeOf(c *circuit.Circuit, code string) string {
	_, k := declared(c, code)
	if k == nil || codeMeans(c, code) != "sensor" {
		return ""
	}
	means := strings.Fields(fold(k.Means))
	for _, p := range c.Parts() {
		if p.Kind == circuit.KindSensor && !slices.ContainsFunc(strings.Fields(fold(p.Label)), func(w string) bool { return !slices.Contains(means, w) }) {
			return p.Name
		}
	}
	return ""
}

// isSensor reports whether a phrase names one sensor and nothing else.
func (r *reader) isSensor(p *phrase) bool {
	parts := r.parts(p, anyPart)
	return len(parts) == 1 && r.c.Part(parts[0]).Kind == circuit.KindSensor
}

// spelled is a code as people tell it, in pieces or not: "F-9", "f 9".
func spelled(code string) string { return strings.ReplaceAll(fold(code), " ", "") }

// codes finds the codes of a sentence that do not look like one: those that the netlist
// declares, where they are words of the language only behind what tells of a code, and a
// letter apart from its figure there: "code K 7".
func (r *reader) codes(words []raw) []raw {
	if len(r.c.Controls()) == 0 {
		return words
	}
	declared := map[string]bool{}
	for i := range r.c.Controls() {
		for _, k := range r.c.Controls()[i].Codes {
			declared[spelled(k.Text)] = true
		}
	}
	var out []raw
	for shown := false; len(words) > 0; {
		n := max(slices.IndexFunc(words, func(w raw) bool { return w.mark != 0 }), 0)
		if n == 0 && words[0].mark == 0 {
			n = len(words)
		}
		if code, used := r.codeAt(words[:n], shown, declared); used > 0 {
			out, words, shown = append(out, raw{word: code, code: true}), words[used:], false
			continue
		}
		used := 1
		if n > 0 {
			var t token
			t, used = r.l.longestAt(words[:n], r.machine)
			shown = t.is(isCode, "say") || t.is(isWhole, "flashing") || t.is(isSeen, "sparks") || shown && t.empty()
		}
		out, words = append(out, words[:used]...), words[used:]
	}
	return out
}

var figureWord, letterWord = regexp.MustCompile(`^[0-9]{1,3}$`), regexp.MustCompile(`^[a-z]{1,3}$`)

// codeAt is the code that words begin with, of how many of them; none where used is 0.
func (r *reader) codeAt(words []raw, shown bool, declared map[string]bool) (code string, used int) {
	const most = 4
	for n := range words[:min(most, len(words))] {
		if code += words[n].word; declared[code] && (shown || n == 0 && !r.l.knows(code) && !r.machine.words[code]) {
			used = n + 1
		}
	}
	if used > 0 {
		return spelled(joined(words[:used])), used
	}
	if shown && len(words) > 1 && letterWord.MatchString(words[0].word) && figureWord.MatchString(words[1].word) {
		if w := words[0].word; len(w) > 1 && !r.l.knows(w) || len(w) == 1 && !r.l.skip[w] && !r.l.alone(w).empty() {
			return w + words[1].word, 2 // a letter may be a unit's as well, "a 5" is no code
		}
	}
	return "", 0
}

// knows reports whether the language has a word, in any form.
func (l *Language) knows(w string) bool {
	return l.vocabulary[w] || l.skip[w] || l.between[w] || l.ordinary[w] || len(l.bases(w)) > 0
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
		if of := r.shownOf(p, "sensor"); of != circuit.None {
			st.Part = of
			r.now.join(p.from)
		}
	}
	if i := slices.IndexFunc(k.subjects, r.isSensor); i >= 0 && st.Part == circuit.None { // "the exhaust sensor's code"
		st.Part = r.parts(k.subjects[i], anyPart)[0]
		r.now.join(k.subjects[i].from)
	}
}

// codeKinds are what a code may be of.
var codeKinds = []string{"sensor", "too_hot", "latch", "key", "board"}

// codedKinds are the kinds of part that a code names by what it is of.
var codedKinds = map[string][]circuit.Kind{"sensor": {circuit.KindSensor}, "latch": {circuit.KindLatch, circuit.KindDoorSwitch}}

// codeWords tell by a declared code's meaning which row of what is told it is.
var codeWords = []struct{ word, what string }{
	{"too hot", "too_hot"}, {"overheat", "too_hot"}, {"sensor", "sensor"}, {"temperature", "sensor"}, {"thermocouple", "sensor"},
	{"slow", "slow"}, {"key", "key"}, {"latch", "latch"}, {"lock", "latch"}, {"door", "latch"},
}

// ofCode reports whether nothing was heard but what a display shows, and that it was
// reset.
func (r *reader) ofCode() bool {
	n := slices.IndexFunc(r.heard.Statements, func(s Statement) bool { return s.What != "code" && s.What != "beeps" && s.What != "reset" })
	return n < 0 && (slices.ContainsFunc(r.heard.Statements, func(s Statement) bool { return s.What == "code" }) ||
		slices.ContainsFunc(r.heard.Questions, func(q Question) bool { return q.What == "code" }))
}
