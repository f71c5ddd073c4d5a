package schematic

import (
	"testing"

	"legtrace/circuit"
	"legtrace/netlists"
)

// Around each part of a machine, as the steps of a sheet show it, hardly a word is cut.
func TestAWindowCutsNoWords(t *testing.T) {
	cut, all := 0, 0
	for _, name := range []string{"water-heater", "dryer", "range-electronic", "kiln"} {
		c, err := netlists.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		d := Drawing{Circuit: c, Load: circuit.None, Theme: Monochrome}
		an, err := layOut(t.Context(), &d)
		if err != nil {
			t.Fatal(err)
		}
		for i := range c.Parts() {
			var bodies []rect
			for _, at := range c.Parts()[i].Terminals {
				if u := an.unitOf[at]; u != nil {
					bodies = append(bodies, u.body())
				}
			}
			for _, r := range apart(bodies) {
				f := an.frame(r)
				for _, word := range an.texts {
					b := word.box()
					if !b.overlaps(f) {
						continue
					}
					if all++; b.x0 < f.x0 || b.x1 > f.x1 || b.y0 < f.y0 || b.y1 > f.y1 {
						cut++
					}
				}
			}
		}
	}
	t.Logf("%d of %d words are cut", cut, all)
	if cut*50 > all {
		t.Errorf("%d of %d words are cut", cut, all)
	}
}
