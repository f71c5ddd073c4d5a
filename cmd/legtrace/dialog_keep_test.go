package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"legtrace/netlists"
	"legtrace/netlists/visits"
)

// A disk that is full in the middle of a visit loses no answer: the person makes
// room and tries again, or goes on elsewhere.
func TestAFullDiskLosesNoAnswer(t *testing.T) {
	for _, c := range []struct{ name, answers, in string }{
		{"again", "again\nagain\nquit\n", "visit.toml"},
		{"elsewhere", "again\nother.toml\nquit\n", "other.toml"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Chdir(t.TempDir())
			m, err := netlists.ReadFileFull(defaultNetlist)
			if err != nil {
				t.Fatal(err)
			}
			f, err := visits.New("visit.toml", defaultNetlist, m)
			if err != nil {
				t.Fatal(err)
			}
			job, err := visits.Start(t.Context(), f, m.Circuit)
			if err != nil {
				t.Fatal(err)
			}
			write, failures := job.Keep, 2
			job.Keep = func() error {
				if failures > 0 {
					failures--
					return &os.PathError{Op: "write", Path: "visit.toml", Err: syscall.ENOSPC}
				}
				return write()
			}
			var out bytes.Buffer
			d := newDialog(&terminal{out: &out, err: &out}, strings.NewReader("broil element dead in broil\n"+c.answers), f, job, machineOf(defaultNetlist, m))
			if err := d.run(context.Background(), ""); err != nil {
				t.Fatalf("%v\n%s", err, out.String())
			}
			if n := strings.Count(out.String(), "Not written down"); n != 2 {
				t.Errorf("it says %d times that nothing was written:\n%s", n, out.String())
			}
			back, _, err := visits.Open(c.in)
			if err != nil || len(back.Notes) != 2 {
				t.Errorf("%s: %v %v", c.in, back, err)
			}
			if left, _ := filepath.Glob("*"); len(left) != 1 {
				t.Errorf("files: %q", left)
			}
		})
	}
}
