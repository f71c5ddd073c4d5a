package circuit

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

// A label within a sentence keeps the capitals of an abbreviation.
func TestLabelsStandInASentence(t *testing.T) {
	got := map[string][2]string{}
	for _, s := range []string{"", "B", "Bake element", "L1", "GFCI", "Öfen", "120 V lamp", "oven"} {
		got[s] = [2]string{LowerFirst(s), UpperFirst(s)}
	}
	want := map[string][2]string{"": {"", ""}, "B": {"B", "B"}, "Bake element": {"bake element", "Bake element"}, "L1": {"L1", "L1"},
		"GFCI": {"GFCI", "GFCI"}, "Öfen": {"öfen", "Öfen"}, "120 V lamp": {"120 V lamp", "120 V lamp"}, "oven": {"oven", "Oven"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	for want, words := range map[string][]string{"nothing": nil, "a": {"a"}, "a and b": {"a", "b"}, "a, b and c": {"a", "b", "c"}} {
		if got := List(words); got != want {
			t.Errorf("%q are put as %q, not %q", words, got, want)
		}
	}
}
