package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/visit/visittest"
	"legtrace/netlists"
	"legtrace/netlists/visits"
	"legtrace/render/report"
)

// What the engine asks and concludes on a visit, the command asks and concludes
// in the same words as the page, and writes down: on every second, on all in the
// nightly run.
func TestJourneysOnTheCommandLine(t *testing.T) {
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for i, way := range visittest.Journeys() {
		if testing.Short() && i > 1 || !circuittest.Sampled(i, 2) {
			continue
		}
		t.Run(way.Name, func(t *testing.T) {
			c, err := netlists.Open(way.Machine)
			if err != nil {
				t.Fatal(err)
			}
			want := visittest.Play(t, c, way)
			typed := []string{way.Complaint}
			for _, a := range want.Asked {
				typed = append(typed, a.Answer)
			}
			typed = append(typed, visittest.Done)
			for _, a := range want.Checks {
				typed = append(typed, a.Answer)
			}
			for _, a := range want.Again {
				typed = append(typed, a.Answer)
			}
			file := filepath.Join(t.TempDir(), "visit.toml")
			cmd := exec.Command(self, "visit", file, "--netlist", "catalog:"+way.Machine, "--date", "2026-05-01")
			cmd.Env = append(os.Environ(), asProgram+"=1")
			cmd.Stdin = strings.NewReader(strings.Join(typed, "\n") + "\n")
			out, err := cmd.CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			said := strings.Join(strings.Fields(string(out)), " ")
			for _, words := range []string{report.SearchWords(c, want.End), report.ProofWords(want.Proof), report.SearchWords(c, want.Last)} {
				if !strings.Contains(said, strings.Join(strings.Fields(words), " ")) {
					t.Errorf("%q is not said:\n%s", words, out)
				}
			}
			f, _, err := visits.Open(file)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want.Record.Notes, f.Notes); diff != "" {
				t.Errorf("-engine +file:\n%s\n%s", diff, out)
			}
			if diff := cmp.Diff(want.Record.After, f.After); diff != "" {
				t.Errorf("after the repair, -engine +file:\n%s", diff)
			}
			if diff := cmp.Diff(want.Record.Mended, f.Mended); diff != "" {
				t.Errorf("repairs before, -engine +file:\n%s", diff)
			}
			if diff := cmp.Diff(want.Record.Verdict, f.Verdict); diff != "" {
				t.Errorf("verdict, -engine +file:\n%s", diff)
			}
		})
	}
}
