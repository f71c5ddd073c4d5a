package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// That one leg is dead where the supply comes in is enough where nobody says which: what
// still runs on 120 V has the other (common practice, no source).
func TestWhichLegIsDeadTheRestTells(t *testing.T) {
	for _, what := range []string{"leg_dead", "leg_dead_outlet"} {
		runs := []suspect.Note{{Mode: "dry", Load: "motor.main", State: "normal"}, {Mode: "dry", Load: "heater", State: "dead"}, {Told: what}}
		if s := first(t, "dryer-electronic", runs...); s.P < 0.9 || !strings.Contains(s.Words(), "L2") {
			t.Errorf("%s: %s, %.2f", what, s.Words(), s.P)
		}
	}
}
