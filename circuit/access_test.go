package circuit

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// What has to be opened to reach a place is told outermost first: the range
// comes out from the wall before its back panel comes off.
func TestWhatHasToBeOpenedToReachAPlace(t *testing.T) {
	s := oven()
	part(&s, "bake").Place = "oven floor"
	part(&s, "sensor").Place = "behind the back panel"
	s.Panels = []PanelSpec{{Name: "back", Minutes: 4, Behind: "out"}, {Name: "out", Label: "Range pulled out", Minutes: 5, Close: 3}}
	s.Places = []PlaceSpec{{Name: "oven floor"}, {Name: "behind the back panel", Panel: "back", View: "back", X: 10, Y: 30, W: 80, H: 40}}
	c, problems := Build(s)
	if c == nil {
		t.Fatal(problems)
	}
	var labels []string
	for _, id := range c.PanelsTo("behind the back panel") {
		labels = append(labels, c.Panels()[id].Label)
	}
	if diff := cmp.Diff([]string{"Range pulled out", "Back"}, labels); diff != "" {
		t.Error(diff)
	}
	if open := c.PanelsTo("oven floor"); len(open) > 0 {
		t.Errorf("the oven floor lies open, not behind %v", open)
	}
	if p := c.Panels()[0]; p.Close != p.Minutes {
		t.Errorf("%q takes %g minutes to shut, not as long as opening it", p.Label, p.Close)
	}
	if box := c.PlaceNamed("behind the back panel").Box; box == nil || *box != (Box{"back", 10, 30, 80, 40}) {
		t.Errorf("the box is %v", box)
	}
}

func TestSlipsInPanelsPlacesModesAndCodes(t *testing.T) {
	for _, x := range []struct {
		spoil func(s *Spec)
		want  string
	}{
		{func(s *Spec) { s.Panels = []PanelSpec{{Name: "a", Behind: "b"}, {Name: "b", Behind: "a"}} }, `panels.b.behind: panel "b" is behind itself`},
		{func(s *Spec) { s.Panels = []PanelSpec{{Name: "back", Minutes: -1}} }, "panels.back.minutes: -1 minutes"},
		{func(s *Spec) {
			s.Panels = []PanelSpec{{Name: "back"}}
			s.Places = []PlaceSpec{{Name: "rear", Panel: "bakc"}}
		}, `places.rear.panel: unknown panel "bakc" (did you mean "back"?)`},
		{func(s *Spec) { s.Places = []PlaceSpec{{Name: "rear", View: "back", X: 60, W: 50, H: 10}} }, "places.rear: no box"},
		{func(s *Spec) { s.Places = []PlaceSpec{{Name: "oven flor"}}; part(s, "bake").Place = "oven floor" }, `places.oven flor: no part or test point is at "oven flor" (did you mean "oven floor"?)`},
		{func(s *Spec) { s.Modes[1].Reached = "hnad" }, `modes.bake.reached: unknown way to reach a mode: "hnad" (did you mean "hand"?)`},
		{func(s *Spec) {
			part(s, "control").Codes = []CodeSpec{{Code: "C1", Means: "sensor", Sense: "ovn", Above: 3000}}
		}, `parts.control.codes[0].sense: unknown sense "ovn" (did you mean "oven"?)`},
		{func(s *Spec) {
			part(s, "control").Codes = []CodeSpec{{Code: "C1", Means: "sensor", Sense: "oven"}}
		}, `parts.control.codes[0]: code "C1" stands for ohms above 0 and below 0`},
		{func(s *Spec) {
			part(s, "control").Codes = []CodeSpec{{Code: "C1", Means: "sensor", Sense: "oven", Above: 3000, Modes: []string{"bkae"}}}
		}, `parts.control.codes[0].modes[0]: unknown mode "bkae" (did you mean "bake"?)`},
	} {
		s := oven()
		x.spoil(&s)
		_, problems := Build(s)
		var said []string
		for _, p := range problems {
			said = append(said, p.String())
		}
		if all := strings.Join(said, "\n"); !strings.Contains(all, x.want) {
			t.Errorf("expected %s\nfound %s", x.want, all)
		}
	}
}

// Where the netlist does not say how a mode comes about, what it sets does.
func TestHowAModeComesAbout(t *testing.T) {
	s := oven()
	add(&s, PartSpec{Name: "stat", Kind: "thermostat"}, "1", "2")
	add(&s, PartSpec{Name: "limit", Kind: "limit"}, "1", "2")
	s.Modes = append(s.Modes,
		ModeSpec{Name: "hot", Set: map[string]string{"stat": "open"}},
		ModeSpec{Name: "tripped", Set: map[string]string{"limit": "open", "stat": "open"}},
		ModeSpec{Name: "cooled", Set: map[string]string{"stat": "open"}, Reached: "cool", Minutes: 20, How: "Run the hot water off"})
	// Thermostat and limit lie across the supply, closed, in these: only how the
	// modes come about is looked at.
	c, problems := Build(s)
	if c == nil {
		t.Fatal(problems)
	}
	want := map[string]Reach{"off": ByHand, "bake": ByHand, "light": ByHand, "hot": ByWaiting, "tripped": NotAtWill, "cooled": ByCooling}
	for name, reach := range want {
		id, err := c.FindMode(name)
		if err != nil {
			t.Fatal(err)
		}
		if got := c.Mode(id).Reached; got != reach {
			t.Errorf("%s comes about by %s, expected %s", name, got, reach)
		}
	}
}
