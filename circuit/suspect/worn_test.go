package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// A kiln's elements grow thin together: it is slow, and each of them glows. Who says that
// it lacks heat does not say by "they glow" that none lacks any; whoever says nothing of
// that does. One section that is dark is no wear (common practice, no source).
func TestAKilnThatIsSlowHasWornElements(t *testing.T) {
	c := machine(t, "kiln")
	first := func(seen ...suspect.Note) string {
		return engine(t, c, suspect.Options{}, seen...).Suspects(1)[0].Words()
	}
	slow := suspect.Note{Mode: "firing", Slow: true}
	glow := []suspect.Note{slow}
	for _, load := range []string{"top_1", "top_2", "middle_1", "middle_2", "bottom_1", "bottom_2"} {
		glow = append(glow, suspect.Note{Mode: "firing", Load: load, State: "normal"})
	}
	for _, seen := range [][]suspect.Note{{slow}, glow} {
		if got := first(seen...); !strings.HasPrefix(got, "All 6 elements worn") {
			t.Errorf("%d told: first %s", len(seen), got)
		}
	}
	if got := first(slow, suspect.Note{Mode: "firing", Load: "top_1", State: "dead"}, suspect.Note{Mode: "firing", Load: "top_2", State: "dead"}); strings.HasPrefix(got, "All 6 elements worn") {
		t.Errorf("a dark section: first %s", got)
	}
}
