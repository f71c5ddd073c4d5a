package visits_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"legtrace/circuit/visit"
	"legtrace/netlists/visits"
)

const byHand = `# For the landlord: keep this.

format = 1
complaint = 'broil is cold' # his words
date = "2026-05-01"

# The usual one.
[machine] # in the kitchen
netlist = "catalog:range-electronic"

# By eye, before the panel came off.
[[notes]]
mode = "broil"
load = "broil_element" # the upper one
state = "dead"
# Nothing more that day.
`

// What a person has written into a visit's file is still there after an answer,
// and after the next.
func TestWhatIsWrittenByHandSurvivesAnAnswer(t *testing.T) {
	for _, kind := range []struct{ name, bom, end string }{{"plain", "", "\n"}, {"CRLF", "", "\r\n"}, {"mark", "\ufeff", "\r\n"}} {
		t.Run(kind.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "visit.toml")
			text := kind.bom + strings.ReplaceAll(byHand, "\n", kind.end)
			if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
				t.Fatal(err)
			}
			f := opened(t, path)
			for _, answer := range []string{"16.7", "OL"} {
				f.Notes = append(f.Notes, visit.Note{Step: 2, Mode: "broil", Function: "ohms", P: "broil_1", Q: "broil_2", Answer: answer})
				f.Complaint += ", says he"
				if err := f.Save(); err != nil {
					t.Fatal(err)
				}
			}
			got, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if !strings.HasPrefix(string(got), kind.bom+"#") {
				t.Errorf("the head is %q", got[:20])
			}
			if n := bytes.Count(got, []byte("\n")); bytes.Count(got, []byte(kind.end)) != n {
				t.Errorf("not all of %d lines end as they did:\n%q", n, got)
			}
			for _, kept := range []string{"# For the landlord: keep this.", "# The usual one.", "[machine] # in the kitchen", "# By eye, before the panel came off.", `load = "broil_element" # the upper one`, "# Nothing more that day."} {
				if strings.Count(string(got), kept) != 1 {
					t.Errorf("%q is not there once:\n%s", kept, got)
				}
			}
			if back := opened(t, path); len(back.Notes) != 3 || back.Complaint != "broil is cold, says he, says he" {
				t.Errorf("read back: %+v", back.Visit)
			}
		})
	}
}

// A file that is marked as not to be written is not, until that is said.
func TestAFileNotToBeWrittenIsAskedAbout(t *testing.T) {
	path := filepath.Join(t.TempDir(), "visit.toml")
	f := begun(t, path)
	if err := os.Chmod(path, 0o444); err != nil {
		t.Fatal(err)
	}
	before, _ := os.ReadFile(path)
	f.Complaint = "it is cold"
	if err := f.Save(); !errors.Is(err, visits.ErrNotToBeWritten) {
		t.Errorf("it is written: %v", err)
	}
	if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
		t.Error("the file has changed")
	}
	f.Insist()
	if err := f.Save(); err != nil {
		t.Error(err)
	}
	if back := opened(t, path); back.Complaint != "it is cold" {
		t.Errorf("read back: %q", back.Complaint)
	}
}

// A visit goes on elsewhere, with its machine, where its own place takes no more.
func TestAVisitMovesElsewhere(t *testing.T) {
	dir := t.TempDir()
	f := begun(t, filepath.Join(dir, "visit.toml"))
	other := filepath.Join(dir, "other.toml")
	if err := f.Move(other); err != nil {
		t.Fatal(err)
	}
	f.Complaint = "it is cold"
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	if back := opened(t, other); back.Complaint != "it is cold" || f.Path() != other {
		t.Errorf("read back: %+v", back.Visit)
	}
	if back := opened(t, filepath.Join(dir, "visit.toml")); back.Complaint != "" {
		t.Error("the first file has changed")
	}
	if err := f.Move(filepath.Join(dir, "visit.toml")); err == nil {
		t.Error("it moves over a file that is there")
	}
}
