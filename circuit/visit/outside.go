package visit

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Question is about what can be seen of a machine from outside, with nothing
// opened: each answer is some candidates' own.
type Question struct {
	// Key names it; Text asks; Answers are what the candidates have, as said.
	Key, Text string
	Answers   []string
	// Bits is what its answer tells about which machine it is.
	Bits float64

	is    []string          // by candidate
	said  map[string]string // answers in words, where those are others
	extra bool              // about what only some have
}

// Says is an answer as one says it.
func (q *Question) Says(answer string) string { return cmp.Or(q.said[answer], answer) }

// OutsideMinutes is the effort of looking (common practice, no source).
const OutsideMinutes = 0.5

// Of questions: the least that one tells, in bits, to be asked; and how often what
// is seen from outside is told wrong (common practice, no source).
const leastOutside, mistold = 0.25, 0.005

// trait is what a machine's netlist says of what can be seen from outside.
type trait struct{ key, text, is, said string }

var spoken = map[string]string{"smooth": "a smooth top of glass", "none": "no cooktop", "keys": "keys and a display", "knobs": "knobs alone"}

// traits are read from a netlist: its supply, its parts, its modes.
func traits(c *circuit.Circuit) []trait {
	keys, guard, gas, top := "knobs", "no", "gas", "none"
	for i := range c.Parts() {
		p := c.Part(circuit.PartID(i))
		switch p.Kind {
		case circuit.KindControl:
			keys = "keys"
		case circuit.KindRCD:
			guard = "yes"
		case circuit.KindSurfaceElement:
			if gas = "electricity"; top != "smooth" {
				top = "coils"
			}
			if limited(c, p) {
				top = "smooth"
			}
		case circuit.KindElement:
			const igniter = 500 // watts: no igniter takes as much, and what bakes or dries takes more
			if p.Spec.Watts > igniter {
				gas = "electricity"
			}
		}
	}
	out := []trait{
		{"top", "What is its cooktop: coils, or a smooth top of glass?", top, spoken[top]},
		{"control", "Is it set by keys and a display, or by knobs alone?", keys, spoken[keys]},
		{"heat", "Does it heat by gas or by electricity?", gas, ""},
		{"wires", "How many wires has its cord or cable?", fmt.Sprint(conductors(c)), ""},
		{"service", "What supply does the house have, and of how many volts?", service(c), c.Supply().Words()},
		{"gfci", "Is its breaker a GFCI, or is there one behind it, with a button to test?", guard, ""},
	}
	return out
}

// extras are settings and lamps that machines have and others do not: a setting is
// there where all the parts are that it needs.
func extras(candidates []Candidate) (settings, lamps []extra) {
	have := map[string]bool{}
	add := func(to *[]extra, x extra) {
		if !have[x.key] {
			have[x.key], *to = true, append(*to, x)
		}
	}
	for _, candidate := range candidates {
		c := candidate.Circuit
		for i := range c.Modes() {
			m := c.Mode(circuit.ModeID(i))
			if parts := needs(c, m); m.Reached == circuit.ByHand && m.After == circuit.None && len(parts) > 0 {
				add(&settings, extra{m.Name, fmt.Sprintf("Can it be set to this: %s?", m.Label), parts})
			}
		}
	}
	for _, candidate := range candidates {
		c := candidate.Circuit
		for _, id := range c.Loads() {
			if p := c.Part(c.Branch(id).Part); p.Kind == circuit.KindLamp {
				add(&lamps, extra{p.Name, p.Label, []string{p.Name}})
			}
		}
	}
	return settings, lamps
}

// extra is something that a machine has where it has all of some parts.
type extra struct {
	key, text string
	parts     []string
}

func (x extra) of(c *circuit.Circuit) string {
	for _, name := range x.parts {
		if _, err := c.FindPart(name); err != nil {
			return "no"
		}
	}
	return "yes"
}

// needs lists the parts of a setting that has something heat or turn, surface
// elements apart: the switches that it sets, and the loads that are not on in off
// and are no lamps.
func needs(c *circuit.Circuit, m *circuit.Mode) []string {
	var out []string
	off := c.Mode(c.OffMode())
	for _, x := range m.Expect {
		p := c.Part(c.Branch(x.Load).Part)
		idle := slices.ContainsFunc(off.Expect, func(y circuit.Expectation) bool { return y.Load == x.Load && y.Share > 0 })
		switch {
		case x.Share <= 0 || idle || p.Kind == circuit.KindLamp:
		case p.Kind == circuit.KindSurfaceElement:
			return nil
		default:
			out = append(out, p.Name)
		}
	}
	if len(out) == 0 {
		return nil
	}
	for i := range c.Parts() {
		if k := c.Parts()[i].Kind; (k == circuit.KindSwitch || k == circuit.KindPushSwitch) && m.Position[i] != off.Position[i] {
			out = append(out, c.Parts()[i].Name)
		}
	}
	return out
}

// limited reports whether a surface element is wired to a contact that heat works:
// under glass there is one, beside it.
func limited(c *circuit.Circuit, p *circuit.Part) bool {
	for _, t := range p.Terminals {
		for _, id := range c.Terminal(t).Wires {
			for _, end := range []circuit.TerminalID{c.Wire(id).From, c.Wire(id).To} {
				if at := c.Terminal(end).Part; at != circuit.None {
					if k := c.Part(at).Kind; k == circuit.KindThermostat || k == circuit.KindLimit {
						return true
					}
				}
			}
		}
	}
	return false
}

// conductors counts what comes from the house and lands on the machine.
func conductors(c *circuit.Circuit) (n int) {
	for _, name := range []string{"L1", "L2", "L3", "N", "G"} {
		if t, err := c.FindTerminal(circuit.SupplyName + "." + name); err == nil && len(c.Terminal(t).Wires) > 0 {
			n++
		}
	}
	return n
}

func service(c *circuit.Circuit) string {
	s := c.Supply()
	return fmt.Sprintf("%s-%.0f", s.System, s.Volts)
}

// questions lists what tells candidates apart: first what any machine shows, then
// what some have and others do not.
func questions(candidates []Candidate) []Question {
	var out []Question
	for i, c := range candidates {
		for k, t := range traits(c.Circuit) {
			if i == 0 {
				out = append(out, Question{Key: t.key, Text: t.text, said: map[string]string{}})
			}
			out[k].is, out[k].said[t.is] = append(out[k].is, t.is), t.said
		}
	}
	settings, lamps := extras(candidates)
	ask := func(x extra) (q Question, as int) {
		q = Question{Key: x.key, Text: x.text, extra: true}
		for _, c := range candidates {
			q.is = append(q.is, x.of(c.Circuit))
		}
		return q, slices.IndexFunc(out, func(o Question) bool { return o.extra && slices.Equal(o.is, q.is) })
	}
	for _, x := range settings {
		q, _ := ask(x)
		out = append(out, q)
	}
	first := len(out)
	for _, x := range lamps { // those that the same machines have are one question
		switch q, as := ask(x); {
		case as < 0:
			out = append(out, q)
		case as >= first:
			out[as].Text += ", " + x.text
		}
	}
	for i := first; i < len(out); i++ {
		out[i].Text = "Does it have this: " + out[i].Text + "?"
	}
	for i := range out {
		q := &out[i]
		q.Answers = slices.Compact(slices.Sorted(slices.Values(q.is)))
	}
	return slices.DeleteFunc(out, func(q Question) bool { return len(q.Answers) < 2 })
}

// among is a question to candidates of these probabilities.
func (q Question) among(ps []float64) Question {
	sum := map[string]float64{}
	for i, p := range ps {
		sum[q.is[i]] += p
	}
	all := q.Answers
	q.Answers, q.Bits = nil, 0
	for _, answer := range all { // in order, so that the sum is the same each time
		if p := sum[answer]; p > 0 {
			q.Answers, q.Bits = append(q.Answers, answer), q.Bits-p*math.Log2(p)
		}
	}
	return q
}

// Seen is an answer to a question about what can be seen from outside, "KEY=ANSWER";
// nothing behind the sign says that nobody knows.
type Seen string

func (s Seen) key() string { key, _, _ := strings.Cut(string(s), "="); return strings.TrimSpace(key) }
func (s Seen) answer() string {
	_, answer, _ := strings.Cut(string(s), "=")
	return strings.TrimSpace(answer)
}

// check finds the question that is answered, and reports what none takes. Of any
// part, and any terminal, it can be said whether it is there.
func (s Seen) check(of []Question, candidates []Candidate) (*Question, error) {
	key, answer := s.key(), s.answer()
	var keys []string
	for i := range of {
		q := &of[i]
		if keys = append(keys, q.Key); q.Key != key {
			continue
		}
		if answer == "" || slices.Contains(q.Answers, answer) {
			return q, nil
		}
		return nil, fmt.Errorf("outside %s=%s: it is one of %s", key, answer, strings.Join(q.Answers, ", "))
	}
	q := Question{Key: key, Answers: []string{"no", "yes"}}
	for _, c := range candidates {
		_, err := c.Circuit.FindTerminal(key)
		if err != nil {
			_, err = c.Circuit.FindPart(key)
		}
		q.is = append(q.is, map[bool]string{true: "yes", false: "no"}[err == nil])
	}
	if slices.Contains(q.is, "yes") {
		if answer != "" && !slices.Contains(q.Answers, answer) {
			return nil, fmt.Errorf("outside %s=%s: it is there, yes or no", key, answer)
		}
		return &q, nil
	}
	hint := cmp.Or(circuit.NearestHint(key, keys), "what can be seen is "+strings.Join(keys, ", ")+", or whether a part is there")
	return nil, fmt.Errorf("outside %q: nothing that tells these machines apart (%s)", key, hint)
}
