package desk

import (
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// sep stands between the fields of a note; no name in a machine holds it.
const sep = "~"

// A note in an address is one of
//
//	load~MODE~LOAD~STATE          how a load behaves
//	trips~MODE, chatters~MODE     what the machine does
//	read~MODE~FUNCTION~P~Q~LIFTED~ANSWER
//	skip~TEST                     a test that will not be made
//
// where TEST is read~... without its answer, or trial~MODE.
func writeNote(n suspect.Note) string {
	switch {
	case n.Trips:
		return "trips" + sep + n.Mode
	case n.Chatters:
		return "chatters" + sep + n.Mode
	case n.Load != "":
		return strings.Join([]string{"load", n.Mode, n.Load, n.State}, sep)
	}
	return strings.Join([]string{"read", n.Mode, n.Function, n.P, n.Q, n.Lifted, n.Answer}, sep)
}

// readNote reads a note, and tells whether its test was left out.
func readNote(s string) (n suspect.Note, skipped bool, err error) {
	s, skipped = strings.CutPrefix(s, "skip"+sep)
	f := strings.Split(s, sep)
	switch {
	case f[0] == "load" && len(f) == 4:
		return suspect.Note{Mode: f[1], Load: f[2], State: f[3]}, skipped, nil
	case f[0] == "trips" && len(f) == 2:
		return suspect.Note{Mode: f[1], Trips: true}, skipped, nil
	case f[0] == "chatters" && len(f) == 2:
		return suspect.Note{Mode: f[1], Chatters: true}, skipped, nil
	case f[0] == "trial" && len(f) == 2:
		return suspect.Note{Mode: f[1]}, skipped, nil
	case f[0] == "read" && (len(f) == 7 || len(f) == 6 && skipped):
		n = suspect.Note{Mode: f[1], Function: f[2], P: f[3], Q: f[4], Lifted: f[5]}
		if len(f) == 7 {
			n.Answer = f[6]
		}
		return n, skipped, nil
	}
	return n, skipped, fmt.Errorf("the note %q is none", s)
}

// testOf is the test that a note is the answer to.
func testOf(c *circuit.Circuit, n suspect.Note) (suspect.Test, error) {
	t := suspect.Test{Live: true, At: circuit.None}
	var err error
	if t.Mode, err = c.FindMode(n.Mode); err != nil {
		return t, err
	}
	if n.P == "" && n.Q == "" {
		t.Trial = true
		return t, nil
	}
	if t.Probes.Function, err = meter.ParseFunction(n.Function); err != nil {
		return t, err
	}
	t.Live = t.Probes.Function.Live()
	if t.Probes.P, err = suspect.FindPlace(c, n.P); err != nil {
		return t, err
	}
	if t.Probes.Q, err = suspect.FindPlace(c, n.Q); err != nil {
		return t, err
	}
	if t.Probes.P == t.Probes.Q {
		return t, fmt.Errorf("%w: %s", meter.ErrSameProbe, n.P)
	}
	t.Probes.Name = n.P + " to " + n.Q
	if n.Lifted == "" {
		return t, nil
	}
	if t.At, err = suspect.FindPlace(c, n.Lifted); err == nil {
		t.Lift = c.Terminal(t.At).Wires
	}
	return t, err
}
