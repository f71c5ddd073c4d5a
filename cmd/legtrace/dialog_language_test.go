package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/render/report"
)

// Every phrase of a visit is in the table of Spanish ones, with the same figures in
// the same order.
func TestEveryPhraseOfAVisitIsSpanishToo(t *testing.T) {
	files, err := filepath.Glob("dialog*.go")
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	phrases := append(append([]string{}, helpLines...), report.Cautions()...)
	for _, t := range suspect.Tales() {
		if t.First != "" {
			phrases = append(phrases, t.First)
		}
	}
	for _, why := range []visit.Search{visit.Held, visit.Unsaid} {
		phrases = append(phrases, report.Asks(why))
	}
	collect := func(s string, _ ...any) string { phrases = append(phrases, s); return s }
	(&report.Misfit{Pieces: []report.Piece{{Reads: "OL"}, {State: "dead"}, {}}, Against: []report.Known{{}}, Without: "a fuse"}).Sentences(collect)
	for reach := circuit.ByHand; reach <= circuit.NotAtWill; reach++ {
		for _, how := range []string{"", "Draw hot water"} {
			phrase, _ := (&circuit.Mode{Reached: reach, How: how}).Brings()
			collect(phrase)
		}
	}
	for _, file := range files {
		source, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, found := range regexp.MustCompile("d\\.phrase\\((\"(?:[^\"\\\\]|\\\\.)*\"|`[^`]*`)").FindAllSubmatch(source, -1) {
			s, err := strconv.Unquote(string(found[1]))
			if err != nil {
				t.Fatal(err)
			}
			phrases = append(phrases, s)
		}
	}
	verbs := regexp.MustCompile(`%[-0-9.]*[a-zA-Z%]`)
	for _, s := range phrases {
		said := spanish()[s]
		if said == "" {
			t.Errorf("no Spanish for %q", s)
		}
		if diff := cmp.Diff(verbs.FindAllString(s, -1), verbs.FindAllString(said, -1)); diff != "" {
			t.Errorf("%q:\n%s", s, diff)
		}
	}
}

// What may come of a move is answered in Spanish by its words, or by some that stand by
// themselves: "quemado", "flojo".
func TestMovesAreAnsweredInSpanish(t *testing.T) {
	c, err := netlists.Open("range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	d := &dialog{m: &machine{Result: &netlists.Result{Circuit: c}}, phrases: spanish()}
	for _, ask := range []suspect.Ask{suspect.Look, suspect.Press, suspect.Swap, suspect.Move, suspect.Listen, suspect.Set, suspect.Air, suspect.Turn, suspect.Thermometer} {
		if spanish()[string(ask)] == "" {
			t.Errorf("no Spanish for the prompt %s", ask)
		}
		var n report.NextTest
		keys, words := suspect.Test{Ask: ask}.Answers()
		for i, key := range keys {
			n.Answers = append(n.Answers, report.Named{Ref: key, Label: words[i]})
		}
		for i, key := range keys {
			said := d.says(words[i])
			if got := d.answerTo(&n, said); said == words[i] || got != key {
				t.Errorf("%s: %q is said %q, which is taken for %q", ask, words[i], said, got)
			}
		}
		if ask == suspect.Look {
			for said, key := range map[string]string{"quemado": "burnt", "Flojo": "loose", "suelto": "loose", "roto": "cut", "burnt": "burnt"} {
				if got := d.answerTo(&n, said); got != key {
					t.Errorf("%q is taken for %q", said, got)
				}
			}
		}
	}
}
