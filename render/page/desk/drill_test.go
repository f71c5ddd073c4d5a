package desk

import "testing"

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
