package meter_test

import (
	"context"
	"testing"

	"legtrace/circuit"
)

// A bake element grounded at its middle stands at neutral there and does
// nothing in Off; with the relay in the other leg welded half of it heats.
// Neither alone is noticed. Every load named so is what the engine says.
func TestTwoFaultsThatOnlyTogetherAreNoticed(t *testing.T) {
	x := open(t, "range-electronic")
	off := x.mode("off")
	d, err := x.b.Pairs(context.Background(), []circuit.ModeID{off})
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for k, g := range d.Modes[0].Together {
		first, second := x.c.FaultRef(d.Faults[g.First]), x.c.FaultRef(d.Faults[g.Second])
		load := x.c.Branch(g.Load).Ref
		if first == "bake_element:grounded" && second == "dlb_relay.contact:welded" && load == "bake_element" {
			found = g.Both == circuit.StaysOn && g.Alone == [2]circuit.LoadState{circuit.Off, circuit.Off}
		}
		if k%20 != 0 {
			continue
		}
		state := func(faults ...circuit.Fault) circuit.LoadState {
			o, err := x.b.Live(off, faults)
			if err != nil {
				t.Fatal(err)
			}
			sound, err := x.b.Live(off, nil)
			if err != nil {
				t.Fatal(err)
			}
			return circuit.JudgeLoad(o, sound, g.Load)
		}
		a, b := d.Faults[g.First], d.Faults[g.Second]
		if want := [3]circuit.LoadState{state(a), state(b), state(a, b)}; want != [3]circuit.LoadState{g.Alone[0], g.Alone[1], g.Both} {
			t.Errorf("%s and %s: %s is %v, %v alone and %v; the engine says %v", first, second, load, g.Alone[0], g.Alone[1], g.Both, want)
		}
	}
	if !found {
		t.Error("the grounded bake element with its leg's relay welded is not named")
	}
}
