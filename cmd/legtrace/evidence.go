package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists/visits"
	"legtrace/render/report"
)

// evidenceFlags say what was seen.
type evidenceFlags struct {
	complaints, works, weak, dead, readings []string
}

const evidenceLong = `A complaint is said as "LOAD STATE in MODE": "broil element dead in broil",
"lf_element weak", "bake_element on in off", "trips in bake", "chatters in bake".
States are dead (off, cold), weak, normal (works), on, too much. Without a mode the one
that uses the load most is taken. A reading is "FUNCTION FROM TO in MODE =
SHOWN": "volts tb_l1 tb_l2 in broil = 238", "ohms broil_1 broil_2 = OL",
"ohms bake_1 bake_2 lifted bake_1 = 22.1".`

// evidenceFlag adds the flags.
func evidenceFlag(cmd *cobra.Command, n *netlistFlags, e *evidenceFlags) {
	f := cmd.Flags()
	f.StringArrayVar(&e.complaints, "complaint", nil, "what is wrong: a `SENTENCE` as above; repeatable")
	f.StringArrayVar(&e.dead, "dead", nil, "a `LOAD[=MODE]` that is dead")
	f.StringArrayVar(&e.weak, "weak", nil, "a `LOAD[=MODE]` that is weak")
	f.StringArrayVar(&e.works, "works", nil, "a `LOAD[=MODE]` that works")
	f.StringArrayVar(&e.readings, "reading", nil, "a `READING` as above; repeatable")
	for _, flag := range []string{"dead", "weak", "works"} {
		complete(cmd, flag, n.completeSymptom)
	}
}

func (e *evidenceFlags) given() bool {
	return len(e.complaints)+len(e.works)+len(e.weak)+len(e.dead)+len(e.readings) > 0
}

// notes reads the flags by the machine's names.
func (e *evidenceFlags) notes(m *machine) ([]suspect.Note, error) {
	var out []suspect.Note
	for _, s := range e.complaints {
		notes, err := m.complaint(s)
		if err != nil {
			return nil, err
		}
		out = append(out, notes...)
	}
	for _, list := range []struct {
		state string
		loads []string
	}{{"dead", e.dead}, {"weak", e.weak}, {"normal", e.works}} {
		for _, s := range list.loads {
			load, mode, _ := strings.Cut(s, "=")
			n, err := m.symptom(load, list.state, mode)
			if err != nil {
				return nil, err
			}
			out = append(out, n)
		}
	}
	for _, s := range e.readings {
		n, err := m.readingNote(s, firstMode(out))
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	for _, n := range out {
		if _, err := visits.Evidence(m.Circuit, n); err != nil {
			return nil, err
		}
	}
	return out, nil
}

func firstMode(notes []suspect.Note) string {
	for _, n := range notes {
		if n.Mode != "" {
			return n.Mode
		}
	}
	return ""
}

// complaint reads one or more sentences, apart by semicolons or commas.
func (m *machine) complaint(s string) ([]suspect.Note, error) {
	var out []suspect.Note
	for _, part := range strings.Split(s, ";") {
		n, err := m.sentence(part)
		if err == nil {
			out = append(out, n)
			continue
		}
		if !strings.Contains(part, ",") {
			return nil, err
		}
		for _, piece := range strings.Split(part, ",") {
			n, err := m.sentence(piece)
			if err != nil {
				return nil, err
			}
			out = append(out, n)
		}
	}
	return out, nil
}

// sentence reads "LOAD STATE in MODE", "trips in MODE", "chatters in MODE".
func (m *machine) sentence(s string) (suspect.Note, error) {
	words := strings.Fields(s)
	mode := ""
	for i := len(words) - 2; i > 0; i-- {
		if strings.EqualFold(words[i], "in") {
			words, mode = words[:i], strings.Join(words[i+1:], " ")
			break
		}
	}
	if len(words) == 0 {
		return suspect.Note{}, errors.New(`nothing said: a complaint is "LOAD STATE in MODE", as in "broil_element dead in broil"`)
	}
	last := strings.ToLower(words[len(words)-1])
	if n := len(words); n > 2 {
		two := strings.ToLower(strings.Join(words[n-2:], " "))
		if _, err := circuit.ParseLoadState(two); err == nil {
			words, last = append(words[:n-2:n-2], two), two
		}
	}
	if slices.Contains([]string{"trips", "chatters", "buzzes"}, last) {
		if mode == "" {
			return suspect.Note{}, fmt.Errorf("%q: say in which mode, as in %q", s, last+" in "+m.Circuit.Mode(0).Name)
		}
		name, err := m.modeNamed(mode)
		return suspect.Note{Mode: name, Trips: last == "trips", Chatters: last != "trips"}, err
	}
	words = slices.DeleteFunc(words[:len(words)-1], func(w string) bool {
		return slices.Contains([]string{"is", "are", "stays", "runs", "always"}, strings.ToLower(w))
	})
	if len(words) == 0 {
		return suspect.Note{}, fmt.Errorf(`%q: a complaint is "LOAD STATE in MODE", as in "broil_element dead in broil"`, strings.TrimSpace(s))
	}
	return m.symptom(strings.Join(words, " "), last, mode)
}

// symptom puts a load's behaviour down by the machine's own names.
func (m *machine) symptom(load, state, mode string) (suspect.Note, error) {
	n := suspect.Note{}
	is, err := circuit.ParseLoadState(state)
	if err != nil {
		return n, err
	}
	n.State = is.String()
	if n.Load, err = m.loadNamed(load); err != nil {
		return n, err
	}
	if mode == "" {
		purpose := report.Feeding
		if is == circuit.StaysOn {
			purpose = report.Keeping
		}
		q, err := m.Ask("", n.Load, nil, purpose)
		if err != nil {
			return n, err
		}
		n.Mode = m.Circuit.Mode(q.Mode).Name
		return n, nil
	}
	n.Mode, err = m.modeNamed(mode)
	return n, err
}

// loadNamed finds a load by its name or label, or by a part of either that
// only one has.
func (m *machine) loadNamed(s string) (string, error) {
	if ref, ok := match(s, m.LoadNames()); ok {
		return ref, nil
	}
	if _, err := m.Circuit.FindLoad(s); err != nil {
		return "", fmt.Errorf("%w (its loads: %s)", err, refs(m.LoadNames()))
	}
	return s, nil
}

func (m *machine) modeNamed(s string) (string, error) {
	if ref, ok := match(s, m.ModeNames()); ok {
		return ref, nil
	}
	if _, err := m.Circuit.FindMode(s); err != nil {
		return "", fmt.Errorf("%w (its modes: %s)", err, refs(m.ModeNames()))
	}
	return s, nil
}

func match(s string, names []report.Name) (string, bool) {
	want := simple(s)
	for _, n := range names {
		if simple(n.Ref) == want || simple(n.Label) == want {
			return n.Ref, true
		}
	}
	found := ""
	for _, n := range names {
		if strings.Contains(simple(n.Ref), want) || strings.Contains(simple(n.Label), want) {
			if found != "" {
				return "", false
			}
			found = n.Ref
		}
	}
	return found, found != "" && want != ""
}

// simple makes names that differ in case or dashes alike.
func simple(s string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("_", " ", "-", " ").Replace(strings.ToLower(s))), " ")
}

func refs(names []report.Name) string {
	const most = 12
	var out []string
	for i, n := range names {
		if i == most {
			out = append(out, fmt.Sprintf("and %d more", len(names)-i))
			break
		}
		out = append(out, n.Ref)
	}
	return strings.Join(out, ", ")
}

// readingNote reads "FUNCTION FROM TO [in MODE] [lifted AT] = SHOWN".
func (m *machine) readingNote(s, mode string) (suspect.Note, error) {
	left, answer, ok := strings.Cut(s, "=")
	words := strings.Fields(left)
	if !ok || len(words) < 3 {
		return suspect.Note{}, fmt.Errorf(`reading %q: write it as "volts tb_l1 tb_l2 in broil = 238"`, s)
	}
	n := suspect.Note{Function: strings.ToLower(words[0]), P: words[1], Q: words[2], Mode: mode, Answer: strings.TrimSpace(answer)}
	rest := words[3:]
	for len(rest) > 0 {
		if len(rest) < 2 {
			return n, fmt.Errorf("reading %q: %q at its end means nothing: it takes in MODE and lifted AT", s, rest[0])
		}
		switch rest[0] {
		case "in":
			name, err := m.modeNamed(rest[1])
			if err != nil {
				return n, fmt.Errorf("reading %q: %w", s, err)
			}
			n.Mode = name
		case "lifted":
			n.Lifted = rest[1]
		default:
			return n, fmt.Errorf("reading %q: %q means nothing: it takes in MODE and lifted AT", s, rest[0])
		}
		rest = rest[2:]
	}
	if n.Mode == "" {
		n.Mode = m.Circuit.Mode(0).Name
		if len(m.Circuit.Modes()) > 1 && (n.Function == "volts" || n.Function == "lowz") {
			return n, fmt.Errorf("reading %q: say in which mode, as in %q", s, left+"in "+m.Circuit.Mode(circuit.ModeID(1)).Name+" ="+answer)
		}
	}
	if _, err := visits.Evidence(m.Circuit, n); err != nil {
		return n, fmt.Errorf("reading %q: %w", s, err)
	}
	return n, nil
}
