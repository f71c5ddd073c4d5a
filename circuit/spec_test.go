package circuit

import (
	"slices"
	"testing"
)

// A mode made of another is seen by the controls as that one is, codes and all.
func TestAModeLikeAnotherHasItsSensesAndCodes(t *testing.T) {
	s := Spec{Modes: []ModeSpec{{Name: "off"}, {Name: "bake"}}, Parts: []PartSpec{{Name: "control",
		Senses: []SenseSpec{{Name: "oven", Modes: []string{"bake"}}, {Name: "door"}},
		Codes:  []CodeSpec{{Code: "F1", Modes: []string{"bake"}}, {Code: "F2", Modes: []string{"off"}}}}}}
	p := s.WithMode(ModeSpec{Name: "by_hand"}, "bake").Parts[0]
	for _, modes := range [][]string{p.Senses[0].Modes, p.Codes[0].Modes} {
		if !slices.Equal(modes, []string{"bake", "by_hand"}) {
			t.Errorf("goes for %v", modes)
		}
	}
	if p.Senses[1].Modes != nil || len(p.Codes[1].Modes) != 1 {
		t.Errorf("%v, %v", p.Senses[1].Modes, p.Codes[1].Modes)
	}
	if len(s.Parts[0].Codes[0].Modes) != 1 || len(s.Modes) != 2 {
		t.Error("the spec it was made of is another now")
	}
}
