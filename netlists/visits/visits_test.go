package visits_test

import (
	"context"
	"errors"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/visits"
)

const machine = "catalog:range-electronic"

// begun is a visit that is on disk.
func begun(t *testing.T, path string) *visits.File {
	t.Helper()
	m, err := netlists.ReadFileFull(machine)
	if err != nil {
		t.Fatal(err)
	}
	f, err := visits.New(path, machine, m)
	if err != nil {
		t.Fatal(err)
	}
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	return f
}

func opened(t *testing.T, path string) *visits.File {
	t.Helper()
	f, _, err := visits.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// What is written down is read back the same, whatever was typed.
func TestReadingBackGivesTheSameVisit(t *testing.T) {
	words := rapid.StringOfN(rapid.RuneFrom([]rune("aZ9 _\"'\\\n\t#=[]{}|°é…\u00a0😀")), 0, 24, -1)
	note := rapid.Custom(func(t *rapid.T) visit.Note {
		return visit.Note{
			Step: rapid.IntRange(0, 99).Draw(t, "step"), Mode: words.Draw(t, "mode"), Load: words.Draw(t, "load"), State: words.Draw(t, "state"),
			Trips: rapid.Bool().Draw(t, "trips"), Chatters: rapid.Bool().Draw(t, "chatters"), Function: words.Draw(t, "function"),
			P: words.Draw(t, "p"), Q: words.Draw(t, "q"), Lifted: words.Draw(t, "lifted"), Answer: words.Draw(t, "answer"),
			Skipped: rapid.Bool().Draw(t, "skipped"), Unreachable: words.Draw(t, "unreachable"),
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		v := visits.Visit{
			Format: visits.Format, Date: rapid.SampledFrom([]string{"", "2026-05-01", "2024-02-29"}).Draw(t, "date"), Complaint: words.Draw(t, "complaint"),
			Ambient: rapid.Float64Range(-40, 60).Draw(t, "ambient"),
			Machine: visits.Machine{Netlist: "x" + words.Draw(t, "netlist"), Name: words.Draw(t, "name"), Fingerprint: words.Draw(t, "fingerprint")},
			Notes:   rapid.SliceOfN(note, 0, 4).Draw(t, "notes"), After: rapid.SliceOfN(note, 0, 2).Draw(t, "after"),
		}
		if rapid.Bool().Draw(t, "meter") {
			v.Meter = &visit.Meter{Name: words.Draw(t, "meter's name"), InputOhms: rapid.Float64Range(1e3, 1e12).Draw(t, "input"), Counts: 2000}
		}
		if rapid.Bool().Draw(t, "verdict") {
			v.Verdict = &visit.Verdict{Causes: rapid.SliceOfN(words, 1, 3).Draw(t, "causes"), Words: words.Draw(t, "words"), Chance: rapid.Float64Range(0, 1).Draw(t, "chance")}
			v.Repair = &visit.Repair{Done: "x" + words.Draw(t, "done")}
		}
		text, err := visits.Encode(v)
		if err != nil {
			t.Fatal(err)
		}
		got, _, err := visits.Decode("visit.toml", text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if v.Notes != nil && len(v.Notes) == 0 {
			v.Notes = nil
		}
		if v.After != nil && len(v.After) == 0 {
			v.After = nil
		}
		if diff := cmp.Diff(v, *got); diff != "" {
			t.Errorf("-written +read:\n%s\n%s", diff, text)
		}
	})
}

// Wherever a written file is cut, reading it says so.
func TestAFileCutShortIsNeverTakenForAWholeOne(t *testing.T) {
	v := visits.Visit{Format: visits.Format, Complaint: "broil is cold", Machine: visits.Machine{Netlist: machine},
		Notes: []visit.Note{{Step: 1, Mode: "broil", Load: "broil_element", State: "dead"}, {Step: 2, Mode: "bake", Load: "bake_element", State: "normal"}}}
	text, err := visits.Encode(v)
	if err != nil {
		t.Fatal(err)
	}
	for n := range len(text) - 1 { // but for the last line's end
		if got, _, err := visits.Decode("visit.toml", text[:n]); err == nil {
			t.Errorf("cut at byte %d of %d it was read as %+v", n, len(text), got)
		}
	}
}

// Two people on one file: the second to write is told, theirs is left alone,
// and what the second typed is kept beside it.
func TestTwoWritersLoseNothing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "visit.toml")
	begun(t, path)
	one, two := opened(t, path), opened(t, path)
	one.Complaint = "broil is cold"
	if err := one.Save(); err != nil {
		t.Fatal(err)
	}
	two.Complaint = "bake is cold"
	err := two.Save()
	if !errors.Is(err, visits.ErrChanged) {
		t.Fatalf("the second writer was told %v", err)
	}
	beside := filepath.Join(filepath.Dir(path), "visit.mine-1.toml")
	if !strings.Contains(err.Error(), beside) {
		t.Errorf("the error does not name %s: %v", beside, err)
	}
	if got := opened(t, path).Complaint; got != "broil is cold" {
		t.Errorf("the first writer's complaint became %q", got)
	}
	if got := opened(t, beside).Complaint; got != "bake is cold" {
		t.Errorf("the second writer's complaint was kept as %q", got)
	}
	// The first goes on undisturbed.
	one.Date = "2026-05-01"
	if err := one.Save(); err != nil {
		t.Error(err)
	}
}

// Of many who write at once exactly one is heard each round, and everyone
// else's is kept.
func TestManyWritersAtOnce(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "visit.toml")
	begun(t, path)
	const writers = 8
	var files [writers]*visits.File
	for i := range files {
		files[i] = opened(t, path)
		files[i].Complaint = strings.Repeat("x", i+1)
	}
	var wait sync.WaitGroup
	var errs [writers]error
	for i := range files {
		wait.Add(1)
		go func() {
			defer wait.Done()
			errs[i] = files[i].Save()
		}()
	}
	wait.Wait()
	heard := 0
	for _, err := range errs {
		if err == nil {
			heard++
		} else if !errors.Is(err, visits.ErrChanged) {
			t.Error(err)
		}
	}
	if heard != 1 {
		t.Errorf("%d writers were heard, not one", heard)
	}
	names, err := filepath.Glob(filepath.Join(dir, "*.toml"))
	if err != nil || len(names) != writers {
		t.Errorf("%d versions are kept, not %d: %v %v", len(names), writers, names, err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, "*.lock")); len(left) > 0 {
		t.Errorf("locks were left behind: %v", left)
	}
}

func TestAVisitToAnotherMachineIsRefused(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "visit.toml")
	f := begun(t, path)
	f.Machine.Netlist = "catalog:range-mechanical"
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	if _, _, err := visits.Open(path); !errors.Is(err, visits.ErrOtherMachine) {
		t.Errorf("another machine: %v", err)
	}
	f.Machine.Name = "range-mechanical"
	if err := f.Save(); err != nil {
		t.Fatal(err)
	}
	if _, _, err := visits.Open(path); !errors.Is(err, visits.ErrOtherMachine) {
		t.Errorf("another wiring of the same name: %v", err)
	}
	if _, _, err := visits.Rebase(path); err != nil {
		t.Errorf("a netlist mended on purpose: %v", err)
	}
}

// A job taken up again stands where it stood.
func TestAJobGoesOnWhereItWas(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "visit.toml")
	f := begun(t, path)
	m, err := netlists.ReadFileFull(machine)
	if err != nil {
		t.Fatal(err)
	}
	job, err := visits.Start(ctx, f, m.Circuit)
	if err != nil {
		t.Fatal(err)
	}
	if err := job.Add(ctx,
		visit.Note{Step: 1, Mode: "broil", Load: "broil_element", State: "dead"},
		visit.Note{Step: 1, Mode: "bake", Load: "bake_element", State: "normal"}); err != nil {
		t.Fatal(err)
	}
	if err := job.Add(ctx, visit.Note{Step: 2, Mode: "broil", Function: "ohms", P: "broil_1", Q: "broil_2", Unreachable: "broil_1"}); err != nil {
		t.Fatal(err)
	}
	again, err := visits.Start(ctx, opened(t, path), m.Circuit)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(first(t, job), first(t, again)); diff != "" {
		t.Errorf("-before +after it was taken up again:\n%s", diff)
	}
	if strings.Contains(first(t, again), "broil_1") {
		t.Errorf("%s is out of reach", first(t, again))
	}
	if _, err := again.Undo(ctx); err != nil {
		t.Fatal(err)
	}
	if _, err := again.Undo(ctx); err != nil {
		t.Fatal(err)
	}
	if len(again.Notes) != 0 {
		t.Errorf("two answers taken back leave %v", again.Notes)
	}
	if _, err := again.Undo(ctx); err == nil {
		t.Error("a third was taken back")
	}
}

// first names the first test proposed and the leading suspect.
func first(t *testing.T, j *visit.Job) string {
	t.Helper()
	next, err := j.Engine.Next(context.Background(), j.Progress, 1)
	if err != nil || len(next) == 0 {
		t.Fatal(next, err)
	}
	note := suspect.NoteOf(j.Circuit, next[0].Test, "")
	return strings.Join([]string{note.Mode, note.Function, note.P, note.Q, j.Engine.Suspects(1)[0].Words()}, " ")
}

// Whatever a file holds, reading it ends in a visit or in errors with a place.
func FuzzDecode(f *testing.F) {
	whole, err := visits.Encode(visits.Visit{Format: visits.Format, Machine: visits.Machine{Netlist: machine}, Notes: []visit.Note{{Mode: "broil", Trips: true}}})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(whole)
	f.Add([]byte("format = 1\n[machine]\nnetlist = \"catalog:range-electronic\"\n[[notes]]\nstep = 99999999999999999999\n"))
	f.Add([]byte("format = \"one\"\nnotes = 3\nmachine = []\n"))
	f.Add([]byte("\xff\x00"))
	f.Fuzz(func(t *testing.T, text []byte) {
		v, _, err := visits.Decode("visit.toml", text)
		if err != nil {
			var list netlists.Errors
			if !errors.As(err, &list) || len(list) == 0 {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		back, err := visits.Encode(*v)
		if err != nil {
			t.Fatalf("read but not written: %v", err)
		}
		again, _, err := visits.Decode("visit.toml", back)
		if err != nil {
			t.Fatalf("written but not read: %v\n%s", err, back)
		}
		if diff := cmp.Diff(v, again); diff != "" {
			t.Errorf("-first +second:\n%s", diff)
		}
	})
}

// What is written is read again: the last line counts too.
func TestAVisitIsNotWrittenTooLargeToBeRead(t *testing.T) {
	v := visits.Visit{Format: visits.Format, Machine: visits.Machine{Netlist: machine}, Complaint: "x"}
	small, err := visits.Encode(v)
	if err != nil {
		t.Fatal(err)
	}
	for more, fits := range map[int]bool{0: true, 1: false, 10: false} {
		v.Complaint = strings.Repeat("x", netlists.MaxBytes-len(small)+1+more)
		if text, err := visits.Encode(v); (err == nil) != fits {
			t.Errorf("%d bytes, %v", len(text), err)
		}
	}
}

// The page on the file tells every key of a note, and every way to doubt a reading.
func TestThePageTellsEveryKeyOfANote(t *testing.T) {
	page := visits.FormatPage()
	of := reflect.TypeFor[visit.Note]()
	for i := range of.NumField() {
		key, _, _ := strings.Cut(of.Field(i).Tag.Get("toml"), ",")
		if !regexp.MustCompile(`\b` + key + `\b`).MatchString(page) {
			t.Errorf("the page does not tell of %s", key)
		}
	}
	for _, doubt := range []string{"about ", "not sure", "jumps between"} {
		if !strings.Contains(page, doubt) {
			t.Errorf("the page does not tell of %q", doubt)
		}
	}
}
