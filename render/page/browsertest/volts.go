package browsertest

import (
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
)

// Volts is what the engine itself says that a meter shows between two terminals,
// with faults present.
func Volts(t *testing.T, c *circuit.Circuit, mode, red, black string, faults ...string) string {
	t.Helper()
	m, err := c.FindMode(mode)
	if err != nil {
		t.Fatal(err)
	}
	var at [2]circuit.TerminalID
	for i, ref := range [2]string{red, black} {
		if at[i], err = c.FindTerminal(ref); err != nil {
			t.Fatal(err)
		}
	}
	b := meter.New(c, meter.DefaultInstrument())
	out, err := b.Live(m, circuittest.Faults(t, c, faults...))
	if err != nil {
		t.Fatal(err)
	}
	r, err := b.Volts(out, meter.Volts, at[0], at[1])
	if err != nil {
		t.Fatal(err)
	}
	return r.String()
}
