package main

import (
	"strings"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/netlists"
)

// Readings, lists and live points of every mode of the catalog's machines, for
// the loads that matter in it, fit a terminal, with colour and without: of every
// seventh machine, of all in the nightly run.
func TestNoLineOfTheMetersSideIsTooWide(t *testing.T) {
	for i, entry := range netlists.Machines() {
		if testing.Short() && entry.Name != "range-electronic" || !circuittest.Sampled(i, 7) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		netlist := "--netlist=catalog:" + entry.Name
		lines := [][]string{{"live", "--all-modes", netlist}, {"live", netlist, "--fault=supply.N:open"}, {"dictionary", netlist, "--mode=" + c.Modes()[1].Name}}
		for _, m := range c.Modes() {
			mode := "--mode=" + m.Name
			largest := -1.0
			for _, e := range m.Expect {
				b := c.Branch(e.Load)
				if e.Share == 0 || b.Watts <= largest {
					continue
				}
				largest = b.Watts
				p, q := c.Terminal(b.A).Ref, c.Terminal(b.B).Ref
				lines = append(lines, []string{"readings", netlist, mode, p, q, "--fault=supply.L1:high=4"},
					[]string{"readings", netlist, mode, "--function=ohms", p, q, "--fault=" + b.Ref + ":open"},
					[]string{"points", netlist, mode, "--load=" + b.Ref})
			}
		}
		for i, args := range lines {
			stdout, stderr, code := say(t, i%2 == 0, args...)
			if code != exitFine || stdout == "" {
				t.Errorf("%s: exit code %d: %s", strings.Join(args, " "), code, stderr)
			}
			if line, wide := tooWide(stdout + stderr); wide {
				t.Errorf("%s: too wide: %s", strings.Join(args, " "), line)
			}
		}
	}
}
