package schematic

import (
	"regexp"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/netlists"
)

// A conductor of the supply that nothing is wired to is not drawn.
func TestNoRailForWhatNothingUses(t *testing.T) {
	for name, want := range map[string]bool{"water-heater": false, "baseboard-heater": false, "dryer": true, "oven-230": true} {
		c, err := netlists.Open(name)
		if err != nil {
			t.Fatal(err)
		}
		svg := render(t, Drawing{Circuit: c, Load: circuit.None})
		if got := strings.Contains(svg, `data-terminal="supply.N"`); got != want {
			t.Errorf("%s: neutral drawn %v, want %v", name, got, want)
		}
	}
}

// What floats is written beside the load of interest only; the titles of all
// wires tell their volts.
func TestFloatingIsWrittenAtTheLoadOnly(t *testing.T) {
	c := demo(t)
	d := Drawing{Circuit: c, Load: circuit.None, Volts: make([]NodeVolts, len(c.Terminals()))}
	written := regexp.MustCompile(`<text class="floating"`)
	titled := regexp.MustCompile(`class="wire"[^>]*><title>[^<]*; floating</title>`)
	svg := render(t, d)
	if n := len(written.FindAllString(svg, -1)); n != 0 {
		t.Errorf("floating is written %d times without a load", n)
	}
	if n := len(titled.FindAllString(svg, -1)); n != len(c.Wires()) {
		t.Errorf("%d wires' titles say floating, of %d", n, len(c.Wires()))
	}
	id, err := c.FindBranch("broil_element")
	if err != nil {
		t.Fatal(err)
	}
	d.Load = id
	if n := len(written.FindAllString(render(t, d), -1)); n != 2 {
		t.Errorf("floating is written %d times, want at both ends of the load", n)
	}
}

// Where a leg's way to the load ends is said at the place, in the legend and to
// a screen reader.
func TestDrawingSaysWhereALegEnds(t *testing.T) {
	d := drawn(t, demo(t), 2)
	whole := render(t, d)
	cut(&d)
	broken := render(t, d)
	for _, want := range []string{`class="lost"`, `class="broken"`, " ends here: ", "as far as it gets towards", "does not reach"} {
		if strings.Contains(whole, want) || !strings.Contains(broken, want) {
			t.Errorf("%q: in the whole drawing %v, in the broken one %v", want, strings.Contains(whole, want), strings.Contains(broken, want))
		}
	}
}
