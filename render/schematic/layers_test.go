package schematic

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
)

// layersOf lists which layers a drawing has, each with its group.
func layersOf(t testing.TB, svg string) []string {
	t.Helper()
	var out []string
	for which := layerLive; which <= layerFault; which++ {
		id := layerIDs[which]
		if id == "" {
			t.Fatalf("layer %d has no id", which)
		}
		if n := strings.Count(svg, `<g id="`+id+`" class="layer">`); n == 1 {
			out = append(out, id)
		} else if n > 1 {
			t.Errorf("%s is there %d times", id, n)
		}
	}
	return out
}

func TestEveryLayerIsAGroupThatCanBeSwitchedOff(t *testing.T) {
	d := drawn(t, everyKind(t), 0)
	d.Faults = []circuit.Fault{{Kind: circuit.Open, Branch: d.Marks[2].Branch}}
	d.FaultVolts = lost(d.Volts)
	want := []string{"layer-live", "layer-suspects", "layer-colours", "layer-volts", "layer-points", "layer-standing", "layer-breaks", "layer-fault"}
	if diff := cmp.Diff(want, layersOf(t, render(t, d))); diff != "" {
		t.Error(diff)
	}
}

func TestBareDrawingHasNoLayersButColours(t *testing.T) {
	d := Drawing{Circuit: everyKind(t), Load: circuit.None}
	if diff := cmp.Diff([]string{"layer-colours"}, layersOf(t, render(t, d))); diff != "" {
		t.Error(diff)
	}
}

// The legend explains what is on the page and nothing else.
func TestLegendExplainsJustWhatIsThere(t *testing.T) {
	full := drawn(t, everyKind(t), 0)
	for text, without := range map[string]func(*Drawing){
		"Stays live with the machine switched off": func(d *Drawing) { d.Standing = nil },
		"3R, 3B: the red and the black probe":      func(d *Drawing) { d.Tests = nil },
		"Tests: R red probe, B black":              func(d *Drawing) { d.Tests = nil },
		"Numbered flags":                           func(d *Drawing) { d.Marks = nil },
		"Where the fault may be, likeliest first":  func(d *Drawing) { d.Suspects = nil },
		"Volts in italics":                         func(d *Drawing) { d.Volts = nil },
		"Leg L1, live path":                        func(d *Drawing) { d.Live = nil },
		"a sleeve of that":                         func(d *Drawing) { d.Theme = Monochrome },
	} {
		if !strings.Contains(render(t, full), text) {
			t.Errorf("the full drawing does not say %q", text)
		}
		d := full
		without(&d)
		if strings.Contains(render(t, d), text) {
			t.Errorf("%q is said of what is not there", text)
		}
	}
}

// Where no tests tell of the test points, the legend lists them.
func TestLegendListsTestPointsWithoutTests(t *testing.T) {
	d := drawn(t, everyKind(t), 0)
	d.Tests = nil
	if s := render(t, d); !strings.Contains(s, "Test points and their good readings") {
		t.Error("the test points are not listed")
	}
	d.TestPoints = nil
	if s := render(t, d); strings.Contains(s, "Test points and their good readings") {
		t.Error("test points are listed that are not there")
	}
}
