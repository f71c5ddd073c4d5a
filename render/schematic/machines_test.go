package schematic

import (
	"fmt"
	"math/cmplx"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// drawn prepares the full drawing of a machine in a mode: settled, with
// voltages, the live path of its largest working load, and a flag at every
// third branch of that path.
func drawn(t testing.TB, c *circuit.Circuit, mode circuit.ModeID) Drawing {
	t.Helper()
	out, err := settle.New(c).Run(mode, nil)
	if err != nil {
		t.Fatal(err)
	}
	d := Drawing{Circuit: c, Mode: mode, Conducts: out.Conducts, Load: circuit.None, Cautions: CautionLines(),
		Notes: []string{"Supply at rated voltage, machine sound."}}
	for i := range c.Terminals() {
		d.Volts = append(d.Volts, NodeVolts{Volts: cmplx.Abs(out.AnyState.Volts[i]), Known: !out.AnyState.Floating[i], Leg: "L1"})
	}
	for i := range c.Terminals() {
		if i%5 == 0 {
			d.TestPoints = append(d.TestPoints, TestPoint{Mark: fmt.Sprintf("%dR", len(d.TestPoints)+1), Terminal: circuit.TerminalID(i), Reading: "108\u2013132 V"})
		}
		d.Standing = append(d.Standing, float64(i%3/2*120))
	}
	for i := range c.Branches() {
		if i%7 == 0 {
			d.Suspects = append(d.Suspects, Shade{circuit.BranchID(i), 1 / float64(i+2)})
		}
	}
	d.Tests = []Test{{1, "R one place, B another: 14.8 to 19 ohm, supply locked out"}}
	most := 0.0
	for _, id := range c.Loads() {
		if w := out.AnyState.Watts(id); w > most {
			d.Load, most = id, w
		}
	}
	d.Live = make([]Feed, len(c.Branches()))
	if d.Load == circuit.None {
		return d
	}
	amps := cmplx.Abs(out.AnyState.Amps[d.Load])
	n := 0
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if cmplx.Abs(out.AnyState.Amps[i]) < 0.6*amps || b.Role == circuit.Drive {
			continue
		}
		v := real(out.AnyState.Volts[b.B])
		switch {
		case b.ID == d.Load:
			d.Live[i] = FeedLoad
		case v > 60:
			d.Live[i] = FeedL1
		case v < -60:
			d.Live[i] = FeedL2
		default:
			d.Live[i] = FeedNeutral
		}
		if n++; n%3 == 0 {
			d.Marks = append(d.Marks, Mark{Number: len(d.Marks) + 1, Branch: b.ID, Text: c.Label(b.ID) + " open"})
		}
	}
	return d
}

// shipped lists shipped machines: every third, all in the nightly run.
func shipped(t testing.TB) []*circuit.Circuit {
	t.Helper()
	var out []*circuit.Circuit
	for i, e := range netlists.Catalog() {
		if testing.Short() && e.Name != "range-electronic" || !circuittest.Sampled(i, 3) {
			continue
		}
		c, err := netlists.Open(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, c)
	}
	return out
}

// demo is the machine that is drawn when nothing is named.
func demo(t testing.TB) *circuit.Circuit {
	t.Helper()
	c, err := netlists.Open("range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// cut ends the live path at its third branch, as if the rest were not reached.
func cut(d *Drawing) {
	d.Lost = make([]Feed, len(d.Live))
	on := 0
	for i, f := range d.Live {
		if f == FeedNone || f == FeedLoad {
			continue
		}
		if on++; on == 3 {
			d.Breaks = append(d.Breaks, Break{circuit.BranchID(i), f})
		}
		if on >= 3 {
			d.Live[i], d.Lost[i] = FeedNone, f
		}
	}
}

// lost is voltages as a fault might leave them: every third gone, every fourth
// from the other leg.
func lost(volts []NodeVolts) []NodeVolts {
	out := append([]NodeVolts(nil), volts...)
	for i := range out {
		switch {
		case i%3 == 0:
			out[i].Volts = 0
		case i%4 == 0:
			out[i].Leg = "L9"
		}
	}
	return out
}
