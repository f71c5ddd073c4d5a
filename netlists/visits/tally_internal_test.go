package visits

import (
	"math"
	"testing"

	"legtrace/circuit/visit"
)

// No counting gives less than nothing, nor more than there can be, in any column.
func TestCountsThatNoCountingGives(t *testing.T) {
	if err := sane(&visit.Tally{Visits: 3, Kinds: map[string]visit.Count{"relay": {Failed: 1, Expected: 0.5}}}); err != nil {
		t.Error(err)
	}
	for what, bad := range map[string]visit.Tally{
		"left":    {Left: map[string]int{"not proved": -1}},
		"said":    {Said: map[string]map[string]float64{"dead": {"relay": -1}}},
		"words":   {Words: map[string]map[string]float64{"dead": {"relay": math.Inf(1)}}},
		"sum":     {Moves: map[string]visit.Moments{"ohms": {N: 1, Sum: math.Inf(1)}}},
		"squares": {Moves: map[string]visit.Moments{"ohms": {N: 1, Squares: math.NaN()}}},
	} {
		if sane(&bad) == nil {
			t.Errorf("%s passes", what)
		}
	}
}
