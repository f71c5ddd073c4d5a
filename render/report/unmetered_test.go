package report_test

import (
	"strings"
	"testing"

	"legtrace/circuit/suspect"
)

// A complaint of heat that water or air takes away has on its sheet what no meter
// shows of it; one of a lamp has nothing of the kind, nor an element of an oven that is
// cold rather than slow.
func TestWhatNoMeterShows(t *testing.T) {
	for _, of := range []struct {
		machine string
		seen    suspect.Note
		says    string
	}{
		{"water-heater", suspect.Note{Mode: "cold_tank", Told: "runs_out"}, "dip tube"},
		{"dryer", suspect.Note{Mode: "timed_dry", Load: "heater", State: "dead"}, "vent"},
		{"dryer", suspect.Note{Mode: "door_open", Load: "drum_lamp", State: "dead"}, ""},
		{"range-electronic", suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}, ""},
		{"range-electronic", suspect.Note{Mode: "bake", Slow: true}, "door seal"},
	} {
		got := strings.Join(complained(t, of.machine, of.seen).NoMeter, " ")
		if (got == "") != (of.says == "") || !strings.Contains(got, of.says) {
			t.Errorf("%s, %+v: no meter shows %q, expected %q", of.machine, of.seen, got, of.says)
		}
	}
}
