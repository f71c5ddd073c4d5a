package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"

	"legtrace/netlists"
)

// FuzzCommands gives any netlist to the commands: no panic, no control
// character, no line wider than a terminal in a report, an exit code we know.
func FuzzCommands(f *testing.F) {
	for _, e := range netlists.Catalog() {
		src, err := netlists.Source(e.Name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	hostile, err := filepath.Glob("../../testdata/hostile/*.toml")
	if err != nil || len(hostile) == 0 {
		f.Fatalf("%d hostile netlists, error %v", len(hostile), err)
	}
	for _, name := range hostile {
		src, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(src)
	}
	file := filepath.Join(f.TempDir(), "netlist.toml")
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > 1<<14 || bytes.Contains(src, []byte("from")) && bytes.Contains(src, []byte("/")) {
			return // size is the reader's own test; no wandering through the disk
		}
		if err := os.WriteFile(file, src, 0o666); err != nil {
			t.Fatal(err)
		}
		for _, args := range [][]string{{"check", file}, {"loads", "-n", file}, {"path", "-n", file},
			{"breaks", "-n", file}, {"breaks", "--keeps-on", "--order=1", "-n", file}, {"breaks", "--json", "-n", file}} {
			ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
			var out, errs bytes.Buffer
			code := run(ctx, args, &out, &errs, false)
			cancel()
			if strings.Contains(errs.String(), "a mistake in legtrace") {
				t.Fatalf("%v: %s", args, errs.String())
			}
			if code == exitFine && out.Len() == 0 || code == exitBad && errs.Len() == 0 {
				t.Errorf("%v: exit code %d, %d bytes, said %q", args, code, out.Len(), errs.String())
			}
			for _, s := range []string{out.String(), errs.String()} {
				if i := strings.IndexFunc(s, func(r rune) bool { return unicode.IsControl(r) && r != '\n' }); i >= 0 {
					t.Errorf("%v: a control character in %q", args, s[i:min(len(s), i+20)])
				}
			}
			if line, wide := tooWide(out.String()); wide && args[1] != "--json" {
				t.Errorf("%v: too wide: %s", args, line)
			}
		}
	})
}
