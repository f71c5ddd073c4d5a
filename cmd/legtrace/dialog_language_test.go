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
