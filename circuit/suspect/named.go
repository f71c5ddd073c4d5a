package suspect

import (
	"slices"

	"legtrace/circuit"
)

// foundAtFault are the tellings of a part that was looked at, or measured, and found bad;
// what squealed is not found so, and is felt for.
var foundAtFault = []string{"found_bad", "parted", "blistered", "shorted", "welded", "burnt", "melted", "squeal"}

// namedFirst proves a part that was found at fault before anything else is measured: what a
// button resets is left to it (common practice, no source).
func (tab *table) namedFirst(ranked []ranking, n *stage) []ranking {
	for _, ev := range slices.Backward(tab.e.evidence) {
		told := ev.Told
		if told == nil || told.Part == circuit.None || told.Joint || !tab.e.since(ev) || !slices.Contains(foundAtFault, told.What) || tab.e.c.Part(told.Part).HasButton() {
			continue
		}
		if out := tab.bring(ranked, n, func(i int) bool { return tab.confirms(i, told) }); tab.confirms(out[0].test, told) {
			return out
		}
	}
	return ranked
}

// confirms reports whether a test is what shows that a part is as it was found: across it or,
// where it was found shorted, from it to metal; what squealed is turned by hand.
func (tab *table) confirms(test int, told *Telling) bool {
	c, t := tab.e.c, tab.tests[test]
	switch {
	case told.What == "squeal":
		return t.Ask == Turn && t.Part == told.Part
	case !t.Probing() || t.Live:
		return false
	}
	own := func(at circuit.TerminalID) bool { return c.Terminal(at).Part == told.Part }
	p, q := own(t.Probes.P), own(t.Probes.Q)
	metal := t.Probes.P == c.ChassisTerminal() || t.Probes.Q == c.ChassisTerminal()
	return p && q || told.What == "shorted" && p != q && metal
}
