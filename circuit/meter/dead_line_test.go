package meter_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/phasor"
)

// What a line says of a joint of some ohms is what a solve for that size says
// (Thevenin's theorem), whichever joint it is and wherever the probes are.
func TestAJointOfEverySizeAlongALine(t *testing.T) {
	bent := 0
	for _, name := range []string{"range-electronic", "dryer-electronic", "water-heater"} {
		x := open(t, name)
		c, r := x.c, rand.New(rand.NewPCG(7, 7))
		d, err := x.b.NewDeadSweep(phasor.NewNetwork(c), circuit.ModeID(len(c.Modes())-1))
		if err != nil {
			t.Fatal(err)
		}
		const worst = 1000
		for i := range c.Branches() {
			f := circuit.Fault{Kind: circuit.HighResistance, Branch: circuit.BranchID(i)}
			b := c.Branch(f.Branch)
			if f.Ohms = worst; !c.CanFail(f) || b.A == circuit.None || b.B == circuit.None {
				continue
			}
			pairs := [][2]circuit.TerminalID{{b.A, b.B}, {b.A, c.ChassisTerminal()}}
			for range 16 {
				pairs = append(pairs, [2]circuit.TerminalID{circuit.TerminalID(r.IntN(len(c.Terminals()))), circuit.TerminalID(r.IntN(len(c.Terminals())))})
			}
			for _, at := range pairs {
				var read []meter.Reading
				for _, ohms := range []float64{0.02, 0.5, 3, 47, 400, worst} {
					f.Ohms = ohms
					got, err := d.Along(f, worst, at[0], at[1])
					if err != nil {
						t.Fatal(err)
					}
					if err := d.Set([]circuit.Fault{f}, nil); err != nil {
						t.Fatal(err)
					}
					want := d.Ohms(at[0], at[1])
					if got.OL != want.OL || got.MaybeOL != want.MaybeOL || far(got.Value, want.Value) || far(got.Low, want.Low) || far(got.High, want.High) {
						t.Errorf("%s, %g ohms at %s, %s to %s: %+v, want %+v", name, ohms, b.Ref, c.Terminal(at[0]).Ref, c.Terminal(at[1]).Ref, got, want)
					}
					read = append(read, want)
				}
				if n := len(read) - 1; !read[n].OL && read[n].Value > 1.01*read[0].Value && read[n].Value < read[0].Value+worst/2 {
					bent++
				}
			}
		}
	}
	if bent < 10 {
		t.Errorf("only %d readings bend with the joint's size", bent)
	}
}

func far(a, b float64) bool { return math.Abs(a-b) > 1e-8*(1e-3+math.Abs(b)) }
