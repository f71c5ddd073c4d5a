package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"
)

// tiny is a machine that a command answers for in no time.
const tiny = `name = "warmer"
[supply]
system = "split-phase"
[parts]
limit = { kind = "limit", label = "High limit" }
element = { kind = "element", volts = 240, watts = 800 }
[wires]
w1 = { from = "supply.L1", to = "limit.1", colour = "BU", awg = 14 }
w2 = { from = "limit.2", to = "element.1" }
w3 = { from = "supply.L2", to = "element.2" }
[modes.cold]
on = ["element"]
[modes.hot]
set = { limit = "open" }
off = ["element"]
`

// asked are the commands that FuzzCommands gives a netlist to, one at a time.
var asked = [...][]string{{"check"}, {"loads", "-n"}, {"path", "-n"}, {"breaks", "-n"}, {"breaks", "--keeps-on", "--order=1", "-n"}, {"breaks", "--json", "-n"}}

// FuzzCommands gives any netlist to a command: no panic, no control character, no
// line wider than a terminal in a report, an exit code we know. The netlist is so
// small that no clock is needed.
func FuzzCommands(f *testing.F) {
	const most = 1024
	seeds := [][]byte{[]byte(tiny)}
	hostile, err := filepath.Glob("../../testdata/hostile/*.toml")
	if err != nil || len(hostile) == 0 {
		f.Fatalf("%d hostile netlists, error %v", len(hostile), err)
	}
	for _, name := range hostile {
		src, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		if len(src) <= most {
			seeds = append(seeds, src)
		}
	}
	for i, src := range seeds {
		f.Add(src, uint8(i))
		if i == 0 {
			for which := range asked {
				f.Add(src, uint8(which))
			}
		}
	}
	file := filepath.Join(f.TempDir(), "netlist.toml")
	f.Fuzz(func(t *testing.T, src []byte, which uint8) {
		if len(src) > most || bytes.Contains(src, []byte("from")) && bytes.Contains(src, []byte("/")) {
			return // no wandering through the disk
		}
		if err := os.WriteFile(file, src, 0o666); err != nil {
			t.Fatal(err)
		}
		args := append(slices.Clone(asked[int(which)%len(asked)]), file)
		var out, errs bytes.Buffer
		code := run(context.Background(), args, &out, &errs, false)
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
	})
}
