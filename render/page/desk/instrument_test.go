package desk

import (
	"slices"
	"testing"

	"legtrace/circuit/meter"
	"legtrace/render/report"
)

// A better meter reads closer, an impossible one is not believed, and what was
// set of one function leaves the others alone.
func TestMetersOwnError(t *testing.T) {
	b := newBench(shipped(t)["range-electronic"])
	bake, err := b.Ask("", "bake", nil, report.Feeding)
	if err != nil {
		t.Fatal(err)
	}
	read := func(errors ...string) reading {
		x := b.resolve(State{Red: "bake_element.1", Black: "bake_element.2", Function: "volts", Off: false, Errors: errors}, b.c.Mode(bake.Mode).Name)
		x.question = bake
		out, err := b.settled(x)
		if err != nil {
			t.Fatal(err)
		}
		r, err := b.read(x, out)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	plain := read()
	if plain.Error != meter.DefaultInstrument().VoltsAcc.String() {
		t.Errorf("an ordinary meter is off by %s", plain.Error)
	}
	for _, same := range [][]string{{"volts:400+3"}, {"purple"}, {"ohms:5+9"}, {"volts:nonsense"}} {
		if got := read(same...); got.Range != plain.Range {
			t.Errorf("%v: %s, wanted %s", same, got.Range, plain.Range)
		}
	}
	better := read("ohms:5+9", "volts:0+0")
	if better.Range == plain.Range || slices.Equal(better.Why, plain.Why) {
		t.Errorf("with a better meter still %s: %v", better.Range, better.Why)
	}
	if got := read(); got.Range != plain.Range {
		t.Errorf("the meter of one request is left in the bench: %s", got.Range)
	}
}
