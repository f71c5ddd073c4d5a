package netlists_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit/drill"
	"legtrace/netlists"
)

func drillFile(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestDrillSetsAreRead(t *testing.T) {
	set, err := netlists.ReadDrills(drillFile(t, "set.toml", `
title = "Week 1"
[[drill]]
name = "broiler"
machine = "catalog:range-electronic"
level = 2
number = 12
budget = 60
[[drill]]
machine = "catalog:dryer"
faults = 2
`))
	if err != nil {
		t.Fatal(err)
	}
	type task struct {
		Name, Machine string
		Options       drill.Options
	}
	var got []task
	for _, s := range set.Tasks {
		got = append(got, task{s.Name, s.Circuit.Name(), s.Options})
	}
	want := []task{{"broiler", "range-electronic", drill.Options{Level: 2, Number: 12, Budget: 60}}, {"2", "dryer", drill.Options{Faults: 2}}}
	if diff := cmp.Diff(want, got); diff != "" || set.Title != "Week 1" {
		t.Errorf("%q: %s", set.Title, diff)
	}
}

func TestMachineOfASetIsLookedForBesideIt(t *testing.T) {
	src, err := netlists.Source("water-heater")
	if err != nil {
		t.Fatal(err)
	}
	path := drillFile(t, "set.toml", "[[drill]]\nmachine = \"mine.toml\"\n")
	if err := os.WriteFile(filepath.Join(filepath.Dir(path), "mine.toml"), src, 0o666); err != nil {
		t.Fatal(err)
	}
	set, err := netlists.ReadDrills(path)
	if err != nil || set.Tasks[0].Circuit.Name() != "water-heater" {
		t.Errorf("%+v, error %v", set, err)
	}
}

func TestAnswersAreReadAlikeFromBothFormats(t *testing.T) {
	want := []drill.Answer{{Learner: "A", Drill: "one", Moves: []string{"off", "name w12"}}, {Learner: "B", Drill: "one"}}
	for name, text := range map[string]string{
		"a.toml": "[[answer]]\nlearner = \"A\"\ndrill = \"one\"\nmoves = [\"off\", \"name w12\"]\n[[answer]]\nlearner = \"B\"\ndrill = \"one\"\n",
		"a.csv":  "\ufeffDrill, moves, Learner, remark\none,\"off; name w12;\",A,late\none,,B\n",
	} {
		got, err := netlists.ReadDrillAnswers(drillFile(t, name, text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: %s", name, diff)
		}
	}
}

func TestDrillFilesThatCannotBeRead(t *testing.T) {
	set := func(path string) error { _, err := netlists.ReadDrills(path); return err }
	answers := func(path string) error { _, err := netlists.ReadDrillAnswers(path); return err }
	for _, k := range []struct {
		read             func(string) error
		name, text, says string
	}{
		{set, "s.toml", "title = \"x\"\n", "s.toml: the set holds no drills"},
		{set, "s.toml", "[[drill]]\nmachin = \"catalog:dryer\"\n", `s.toml:2:1: a drill has no key "machin"`},
		{set, "s.toml", "[[drill]]\nname = \"a\"\n", `the drill "a" names no machine`},
		{set, "s.toml", "[[drill]]\nmachine = \"catalog:dryr\"\n", `did you mean "dryer"?`},
		{set, "s.toml", "[[drill]]\nmachine = \"catalog:dryer\"\nnumber = -1\n", "number -1"},
		{set, "s.toml", "[[drill]]\nmachine = \"catalog:dryer\"\nlevel = \"easy\"\n", "s.toml:3:9: level: found a string, expected a whole number"},
		{set, "s.toml", "[[drill]]\nname = \"a\"\nmachine = \"catalog:dryer\"\n[[drill]]\nname = \"a\"\nmachine = \"catalog:dryer\"\n", `the drill "a" is there twice`},
		{answers, "a.toml", "", "the file holds no answers"},
		{answers, "a.toml", "[[answer]]\nlearner = \"A\"\n", "an answer names its learner and its drill"},
		{answers, "a.csv", "", "the file holds no answers"},
		{answers, "a.csv", "who,what\n", `found "who,what"`},
		{answers, "a.csv", "learner,drill,moves\nA,one,off\nA,one,on\n", `a.csv:3:1: A answers the drill "one" twice`},
		{answers, "a.csv", "learner,drill,moves\nA,\"one,off\n", "a.csv: "},
		{answers, "a.csv", "learner,drill,moves\n,one,off\n", "a.csv:2:1: an answer names its learner"},
		{answers, "a.csv", "learner,drill,moves\nA\x1b[31m,one,off\n", "a.csv:2:1: a name holds what cannot be printed"},
	} {
		err := k.read(drillFile(t, k.name, k.text))
		if err == nil || !strings.Contains(err.Error(), k.says) {
			t.Errorf("%q: %v, expected %q in it", k.text, err, k.says)
		}
	}
	for _, read := range []func(string) error{set, answers} {
		if err := read(filepath.Join(t.TempDir(), "gone.toml")); err == nil || !strings.Contains(err.Error(), "cannot be read") {
			t.Errorf("no file: %v", err)
		}
	}
}

// FuzzDrillAnswers reads anything as CSV: no panic, and what is read has its
// learner and its drill.
func FuzzDrillAnswers(f *testing.F) {
	f.Add("learner,drill,moves\nA,one,off; on\n")
	f.Add("\ufefflearner,drill,moves\n\"A\nB\",one,\"\"\n")
	f.Add("learner,learner,drill,moves\n,,,")
	path := filepath.Join(f.TempDir(), "a.csv")
	f.Fuzz(func(t *testing.T, text string) {
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		list, err := netlists.ReadDrillAnswers(path)
		for _, a := range list {
			if a.Learner == "" || a.Drill == "" || err != nil {
				t.Errorf("%q: %+v, error %v", text, a, err)
			}
		}
	})
}

// A table that is too large is refused as a whole, not read in part.
func TestATableTooLargeIsRefused(t *testing.T) {
	table := "learner,drill,moves\n" + strings.Repeat("a,b,try broil;give-up\n", netlists.MaxBytes/20)
	_, err := netlists.ReadDrillAnswers(drillFile(t, "answers.csv", table))
	if err == nil || !strings.Contains(err.Error(), "more than 1048576 bytes is not read") {
		t.Errorf("got %.200v", err)
	}
}
