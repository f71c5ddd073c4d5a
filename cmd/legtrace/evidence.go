package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists/complaints"
	"legtrace/render/report"
)

// evidenceFlags say what was seen.
type evidenceFlags struct {
	complaints, works, weak, dead, readings []string
	// outside is what is seen from outside of a machine of unknown wiring.
	outside []string
	// told is what was made of the complaints.
	told report.Told
	// meant are those complaints with what may be meant for such words.
	meant []string
	// patience bounds the search of more faults than one, in thousand solutions.
	patience int
}

const evidenceLong = `A complaint is said in your own words, as in "broiler barely glows, bake fine"
(see "legtrace help complaint"), or as "LOAD STATE in MODE": "broil element dead
in broil", "trips in bake". States are dead (off, cold), weak, normal (works),
on, too much. Without a mode the one that uses the load most is taken. A reading
is "FUNCTION FROM TO in MODE = SHOWN": "volts tb_l1 tb_l2 in broil = 238", "ohms
broil_1 broil_2 = OL", "ohms bake_1 bake_2 lifted bake_1 = 22.1". With the one
name of a load, or of a part with two terminals, it is across that: "ohms
bake_element = 22"; amps then are of the wire at its end, and "ohms bake_element
to metal = OL" is from its first terminal.`

// evidenceFlag adds the flags.
func evidenceFlag(cmd *cobra.Command, n *netlistFlags, e *evidenceFlags) {
	f := cmd.Flags()
	f.StringArrayVar(&e.complaints, "complaint", nil, "what is wrong: a `SENTENCE` as above; repeatable")
	f.StringArrayVar(&e.dead, "dead", nil, "a `LOAD[=MODE]` that is dead")
	f.StringArrayVar(&e.weak, "weak", nil, "a `LOAD[=MODE]` that is weak")
	f.StringArrayVar(&e.works, "works", nil, "a `LOAD[=MODE]` that works")
	f.StringArrayVar(&e.readings, "reading", nil, "a `READING` as above; repeatable")
	outsideFlag(cmd, &e.outside)
	patienceFlag(cmd, &e.patience, usualPatience, "search more faults than one in at most `N` thousand solutions, then say what single faults tell")
	for _, flag := range []string{"dead", "weak", "works"} {
		complete(cmd, flag, n.completeSymptom)
	}
}

// usualPatience is enough for every machine of the catalog, and some minutes of
// a machine that chatters.
const usualPatience = 5000

func (e *evidenceFlags) given() bool {
	return len(e.complaints)+len(e.works)+len(e.weak)+len(e.dead)+len(e.readings) > 0
}

// notes reads the flags by the machine's names.
func (e *evidenceFlags) notes(m *machine) ([]visit.Note, error) {
	var out []visit.Note
	e.told, e.meant = report.Told{}, nil
	var in complaints.Listeners
	if len(e.complaints) > 0 {
		in = complaints.ListenTo(m.Circuit)
	}
	for _, s := range e.complaints {
		notes, heard, l, err := in.Complaint(s, out...)
		left := heard.Unknown
		for _, said := range heard.Statements {
			e.told.Said = append(e.told.Said, l.Tell(m.Circuit, said))
		}
		for _, q := range heard.Questions {
			open := report.Open{Words: q.Words, Choices: []string{}}
			for _, c := range q.Choices {
				open.Choices = append(open.Choices, c.Label)
			}
			e.told.Open = append(e.told.Open, open)
		}
		var unclear *complaints.Unclear
		if errors.As(err, &unclear) {
			notes, left, err = unclear.Open(m.Circuit)
		}
		e.told.Unknown = append(e.told.Unknown, left...)
		if err != nil {
			return nil, err
		}
		read := len(heard.Statements)+len(heard.Questions) == 0 // as "LOAD STATE in MODE"
		for _, n := range notes {
			if n.Quiet != "" || !read && n.Told != "some_code" {
				continue
			}
			ev, err := n.Evidence(m.Circuit)
			if err != nil {
				return nil, err
			}
			e.told.Said = append(e.told.Said, m.Seen(ev))
		}
		if heard.Perhaps != "" {
			e.meant = append(e.meant, fmt.Sprintf("%q", heard.Perhaps))
		}
		out = append(out, notes...)
	}
	for _, list := range []struct {
		state string
		loads []string
	}{{"dead", e.dead}, {"weak", e.weak}, {"normal", e.works}} {
		for _, s := range list.loads {
			load, mode, _ := strings.Cut(s, "=")
			n, err := visit.Symptom(m.Circuit, load, list.state, mode)
			if err != nil {
				return nil, err
			}
			out = append(out, n)
		}
	}
	for _, s := range e.readings {
		mode := firstMode(out)
		if fields := strings.Fields(s); len(fields) > 0 && visit.ReadDead(fields[0]) {
			mode = "" // what is read dead is read with all off, unless it is said
		}
		n, err := visit.Reading(m.Circuit, s, mode)
		if err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	out = slices.DeleteFunc(out, func(n visit.Note) bool { return n.Quiet != "" })
	out = visit.Quiet(m.Circuit, out)
	for _, n := range out {
		if err := n.Check(m.Circuit); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// tell warns of what was said and not understood.
func (e *evidenceFlags) tell(t *terminal) {
	if len(e.told.Unknown) > 0 {
		meant := ""
		if len(e.meant) > 0 {
			meant = "; is it meant that " + strings.Join(e.meant, " and ") + "?"
		}
		t.warn("not understood: " + strings.Join(e.told.Unknown, " ") + meant + `; "legtrace help complaint" lists what can be said`)
	}
}

func firstMode(notes []visit.Note) string {
	for _, n := range notes {
		if n.Mode != "" {
			mode, _, _ := strings.Cut(n.Mode, suspect.Either)
			return mode
		}
	}
	return ""
}
