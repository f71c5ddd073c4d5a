package desk

import (
	"context"
	"encoding/json"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/netlists"
)

// Whatever the saved page looks up is what the engine gives when asked.
func TestDictionaryHoldsWhatTheEngineGives(t *testing.T) {
	for _, name := range []string{"range-electronic", "dryer", "water-heater"} {
		t.Run(name, func(t *testing.T) {
			if testing.Short() && name != "water-heater" {
				t.Skip("some hundred thousand solves")
			}
			c, err := netlists.Open(name)
			if err != nil {
				t.Fatal(err)
			}
			b := newBench(c)
			d, err := b.dictionary(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			rapid.Check(t, func(r *rapid.T) {
				mode := rapid.IntRange(0, len(d.Modes)-1).Draw(r, "mode")
				fault := rapid.IntRange(0, len(d.Faults)-1).Draw(r, "fault")
				p := rapid.IntRange(0, len(d.Places)-1).Draw(r, "p")
				q := rapid.IntRange(0, len(d.Places)-1).Draw(r, "q")
				var faults []circuit.Fault
				if fault > 0 {
					if faults, err = c.ParseFault(d.Faults[fault].Ref); err != nil {
						r.Fatal(err)
					}
				}
				d.checkLive(r, b, mode, fault, faults, circuit.TerminalID(p), circuit.TerminalID(q))
				d.checkDead(r, b, mode, fault, faults, circuit.TerminalID(p), circuit.TerminalID(q))
			})
		})
	}
}

func (d *dictionary) checkLive(r *rapid.T, b *bench, mode, fault int, faults []circuit.Fault, p, q circuit.TerminalID) {
	out, err := b.meter.Live(circuit.ModeID(mode), faults)
	if err != nil {
		r.Fatal(err)
	}
	var w warm
	if err := json.Unmarshal(d.Live[d.On[mode][fault]].(json.RawMessage), &w); err != nil {
		r.Fatal(err)
	}
	x, y := w.Volts[w.Node[p]], w.Volts[w.Node[q]]
	v, fixed := out.Solution.Between(p, q)
	if got := x[2] == y[2]; got != fixed {
		r.Fatalf("%s with %s, %s to %s: determined %v, want %v", d.Modes[mode].Ref, d.Faults[fault].Label, d.Places[p], d.Places[q], got, fixed)
	}
	if got, want := math.Hypot(x[0]-y[0], x[1]-y[1]), cmplx.Abs(v); fixed && math.Abs(got-want) > 0.03 {
		r.Fatalf("%s with %s, %s to %s: %.3f V, want %.3f", d.Modes[mode].Ref, d.Faults[fault].Label, d.Places[p], d.Places[q], got, want)
	}
	for i, id := range b.c.Loads() {
		if got, want := w.Loads[i][2], out.LeastShare(id); math.Abs(got-want) > 0.006 {
			r.Fatalf("share of %s: %.3f, want %.3f", d.Loads[i].Ref, got, want)
		}
	}
}

func (d *dictionary) checkDead(r *rapid.T, b *bench, mode, fault int, faults []circuit.Fault, p, q circuit.TerminalID) {
	if p == q {
		return
	}
	out, err := b.meter.Dead(circuit.ModeID(mode), faults)
	if err != nil {
		r.Fatal(err)
	}
	reading, err := b.meter.Ohms(out, p, q)
	if err != nil {
		r.Fatal(err)
	}
	var c cold
	if err := json.Unmarshal(d.Cold[d.Dead[mode][fault]].(json.RawMessage), &c); err != nil {
		r.Fatal(err)
	}
	i, j := float64(min(c.Node[p], c.Node[q])), float64(max(c.Node[p], c.Node[q]))
	got := math.Inf(1)
	if i == j {
		got = 0
	}
	for _, known := range c.Ohms {
		if known[0] == i && known[1] == j {
			got = known[2]
		}
	}
	want := reading.InCircuit
	if want.OL != (got > meter.DefaultInstrument().MaxOhms) || !want.OL && math.Abs(got-want.Value) > 1e-3*want.Value+1e-6 {
		r.Fatalf("%s with %s, %s to %s: %g ohms, want %s", d.Modes[mode].Ref, d.Faults[fault].Label, d.Places[p], d.Places[q], got, want)
	}
}
