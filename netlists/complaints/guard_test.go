package complaints_test

import (
	"strings"
	"testing"

	"legtrace/netlists/complaints"
)

// What stands beside a word of weight that nothing was made of is asked; what it cannot
// take back stays, and the word is told.
func TestWordsOfWeightAreAccountedFor(t *testing.T) {
	for said, want := range map[string]string{
		"range-electronic | bake works but only the first hour":         "? normal; not only first hour",
		"range-electronic | oven heats except on convection":            "? normal; not except convection",
		"range-electronic | burners dead except on high":                "? dead; not except",
		"range-electronic | broiler works, but not always":              "intermittent broil_element",
		"dryer | heats on high but not on low":                          "dead heater@delicate; normal heater@timed_dry",
		"oven-double | upper oven takes forever unless the lower is on": "not unless lower; slow@upper_bake",
		"range-electronic | left front only glows a little":             "weak lf_element",
		"range-electronic | bake works ten minutes, then it quits":      "quits bake_element",
		"range-electronic | everything on top works":                    "normal lf_element; normal lr_element; normal rf_element; normal rr_element",
		"range-electronic | breaker trips on bake, never on broil":      "normal broil_element@broil; trips@bake",
		"range-electronic | the burners I haven't tried":                "not burners havent",
		"water-heater | upper gets 240, lower gets nothing":             "dead lower_element; not upper",
	} {
		c, sentence := toldOf(t, said)
		if got := meaning(c, complaints.English().Listener(c).Read(sentence)); got != want {
			t.Errorf("%q: %q, not %q", said, got, want)
		}
	}
}

// Whatever works, a restriction behind it is never lost in silence.
func TestRestrictionsTakeBackThatItWorks(t *testing.T) {
	for _, said := range []string{"range-electronic | bake works", "range-electronic | all burners are fine", "dryer | heats great",
		"oven-230 | the grill heats", "water-heater | the lower element works", "kiln | top rows glow", "baseboard-heater | heats"} {
		c, sentence := toldOf(t, said)
		in := complaints.English().Listener(c)
		if got := meaning(c, in.Read(sentence)); !strings.Contains(got, "normal") {
			t.Errorf("%q: %q", said, got)
		}
		for _, but := range []string{" but only for an hour", " except on Sundays", ", but not always", " unless it rains", " for ten minutes",
			" half the time", " only when the neighbour cooks", " at first", " but never on low", " until noon"} {
			if got := meaning(c, in.Read(sentence+but)); strings.HasPrefix(got, "normal") || strings.Contains(got, "; normal") {
				t.Errorf("%q: %q", said+but, got)
			}
		}
	}
}
