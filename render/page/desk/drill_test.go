package desk

import (
	"bytes"
	"testing"
)

func TestKeptDrillsAreBounded(t *testing.T) {
	d := newDrills()
	for n := range uint64(10 * maxDrills) {
		d.of(drillID{Level: 1, Faults: 1, Number: n})
	}
	if len(d.kept) != maxDrills || len(d.order) != maxDrills {
		t.Errorf("%d drills are kept, %d in order", len(d.kept), len(d.order))
	}
	if last := (drillID{Level: 1, Faults: 1, Number: 10*maxDrills - 1}); d.kept[last] == nil || d.kept[last] != d.of(last) {
		t.Error("the newest is not kept")
	}
}

func TestGivingUpIsSaidInWords(t *testing.T) {
	page := asked(t, New(shipped(t)["range-electronic"]), "/bench", State{Drill: "1.1.3.0", Moves: []string{"off", "give-up"}})
	if !bytes.Contains(page, []byte("<b>Gave up</b>")) || bytes.Contains(page, []byte("<b>give-up</b>")) {
		t.Error("the steps of a drill that was given up have no words for it")
	}
}
