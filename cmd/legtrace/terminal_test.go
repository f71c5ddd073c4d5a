package main

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/netlists"
)

// say runs the program in a folder of its own and returns what it wrote.
func say(t *testing.T, colour bool, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	t.Chdir(t.TempDir())
	var out, errs bytes.Buffer
	code = run(context.Background(), args, &out, &errs, colour)
	return out.String(), errs.String(), code
}

// Every command, on every load and mode of the catalog's machines, fits a
// terminal: of every seventh machine, of all in the nightly run. In colour every
// third line is said, the words being the same.
func TestNoLineIsWiderThanATerminal(t *testing.T) {
	for i, entry := range netlists.Machines() {
		if testing.Short() && entry.Name != "range-electronic" || !circuittest.Sampled(i, 7) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		netlist := "--netlist=catalog:" + entry.Name
		lines := [][]string{{"catalog"}, {"check", netlist}, {"help", "json"}, {netlist}, {"draw", netlist}}
		for _, m := range c.Modes() {
			mode := "--mode=" + m.Name
			lines = append(lines, []string{"loads", netlist, mode}, []string{"loads", netlist, mode, "--fault=supply.N:open"})
			for _, e := range m.Expect {
				load := "--load=" + c.Branch(e.Load).Ref
				if e.Share > 0 {
					lines = append(lines, []string{"breaks", netlist, mode, load}, []string{"path", netlist, mode, load})
				} else {
					lines = append(lines, []string{"path", netlist, mode, load})
				}
			}
			for _, e := range m.Expect {
				if e.Share == 0 {
					lines = append(lines, []string{"breaks", "--keeps-on", "--order=1", netlist, mode, "--load=" + c.Branch(e.Load).Ref})
				}
			}
		}
		for i, args := range lines {
			for _, colour := range []bool{false, true} {
				if colour && i%3 != 0 {
					continue
				}
				stdout, stderr, code := say(t, colour, args...)
				if code != exitFine || stdout == "" {
					t.Errorf("%s: exit code %d: %s", strings.Join(args, " "), code, stderr)
				}
				if line, wide := tooWide(stdout + stderr); wide {
					t.Errorf("%s: too wide: %s", strings.Join(args, " "), line)
				}
				if strings.Contains(stdout, "\x1b") && !colour {
					t.Errorf("%s: escape sequences without colour", strings.Join(args, " "))
				}
			}
		}
	}
}

// What colour says, the words say too.
func TestColourOnlyRepeatsTheWords(t *testing.T) {
	args := []string{"path", "--mode=broil", "--load=broil_element", "--fault=thermal_fuse:open"}
	plain, _, _ := say(t, false, args...)
	coloured, _, _ := say(t, true, args...)
	if !strings.Contains(coloured, "\x1b[") {
		t.Fatal("there is no colour")
	}
	for {
		before, after, found := strings.Cut(coloured, "\x1b[")
		if !found {
			break
		}
		_, rest, _ := strings.Cut(after, "m")
		coloured = before + rest
	}
	if plain != coloured {
		t.Errorf("the words differ:\n%s\n%s", plain, coloured)
	}
}

func TestAnInterruptedSearchSaysSo(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, errs bytes.Buffer
	code := run(ctx, []string{"breaks", "--mode=broil", "--load=broil_element"}, &out, &errs, false)
	if code != exitInterrupted || out.Len() > 0 || !strings.Contains(errs.String(), "interrupted; nothing was written") {
		t.Errorf("exit code %d, wrote %q, said %q", code, out.String(), errs.String())
	}
}

// brokenPipe panics when written to.
type brokenPipe struct{}

func (brokenPipe) Write([]byte) (int, error) { panic("no such \x1b[31mpipe") }

func TestAPanicBecomesASentence(t *testing.T) {
	var errs bytes.Buffer
	code := run(context.Background(), []string{"catalog"}, brokenPipe{}, &errs, false)
	if code != exitBad || !strings.Contains(errs.String(), "a mistake in legtrace") || strings.Contains(errs.String(), "\x1b") {
		t.Errorf("exit code %d, said %q", code, errs.String())
	}
}
