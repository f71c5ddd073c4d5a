package main

import (
	"maps"
	"regexp"
	"slices"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
	"legtrace/render/report"
)

// What a visit in Spanish asks is Spanish: of what the engine says of tests, suspects and
// findings on the machines of the catalog nothing is left in English but what the netlist
// calls its parts and places.
func TestAVisitInSpanishSaysNothingInEnglish(t *testing.T) {
	english := regexp.MustCompile(`(?i)(^|[^\p{L}])(the|of|and|with|for|is|are|it|at|or|not|as|from|open|all|live|each|dead|weak|read|look|wire|what|while|on|off|by|be|to|in|supply|ohms|volts|burnt|nothing|first|works)($|[^\p{L}])`)
	positions := regexp.MustCompile(`"[^"]*"|en \w+( \w+)?|\w+;`) // of a knob, as the netlist calls them
	left := map[string]string{}
	catalog := netlists.Catalog()
	for i, entry := range catalog {
		name := entry.Name
		if i%8 != 0 && !circuittest.Nightly {
			continue
		}
		c, err := netlists.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		tr, ls := newTranslator(c), complaints.ListenTo(c)
		said := func(text string) {
			if text == "" {
				return
			}
			text, _ = tr.mask(text)
			if got, _ := translate(text); english.MatchString(positions.ReplaceAllString(got, "")) {
				left[got] = name + ": " + text
			}
		}
		for _, complaint := range []string{"", "everything dead", "trips the breaker", "no heat", "bake dead", "heater dead", "left front dead", "left front stays on", "oven not hot enough", "shock from the metal", "drum does not turn", "motor hums", "burnt wire at the bake element", "comes and goes"} {
			notes, _, _, _ := ls.Complaint(complaint)
			if len(notes) == 0 && complaint != "" {
				continue
			}
			j, err := visit.Start(t.Context(), c, visit.Record{Notes: notes})
			if err != nil {
				t.Fatal(err)
			}
			j.Anyway = true
			m := machineFrom(j)
			step, err := j.Next(t.Context(), 12)
			if err != nil {
				t.Fatal(err)
			}
			said(report.SearchWords(c, step))
			for _, s := range j.Suspects(12) {
				said(s.Words())
			}
			for _, ev := range j.Engine.Evidence() {
				said(m.Seen(ev))
			}
			for k := range step.Tests {
				n, err := m.NextTest(j.Engine, &step.Tests[k])
				if err != nil {
					t.Fatal(err)
				}
				if !n.Trial { // which the visit words by itself
					said(n.Text)
				}
				for _, s := range slices.Concat([]string{n.Where, n.Set, n.Lift, n.Good, n.Why, n.Beside, n.Stop}, n.Unseen, n.Notes) {
					said(s)
				}
				for _, a := range n.Along {
					said(a.Goes())
				}
				for _, a := range n.Answers {
					said(a.Label)
				}
				for _, o := range n.Outcomes {
					said(o.Text)
					for _, p := range o.Points {
						said(p.Text)
					}
				}
			}
		}
	}
	for _, got := range slices.Sorted(maps.Keys(left)) {
		t.Errorf("%s: %s", left[got], got)
	}
}
