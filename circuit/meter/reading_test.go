package meter_test

import (
	"testing"

	"legtrace/circuit/meter"
)

// A range is written in the unit of its upper end, as a meter's display has it: by
// [netlists.Measure] it reads back as it was. A few ohms are never written as 0,
// a dead short.
func TestRangesAreWrittenAsAMeterShowsThem(t *testing.T) {
	for want, r := range map[string]meter.Reading{
		"2 to 20 Mohms":        {Low: 2e6, High: 20e6},
		"1.2 to 15 kohms":      {Low: 1200, High: 15e3},
		"1200 to 1500 ohms":    {Low: 1200, High: 1500},
		"0.3 ohms to 22 Mohms": {Low: 0.3, High: 22e6},
		"below 20 kohms":       {Low: 0.001, High: 20e3},
		"0 ohms":               {Low: 0.001, High: 0.002},
		"anything":             {Low: 0.001, MaybeOL: true},
		"above 12 Mohms":       {Low: 12e6, MaybeOL: true},
		"12 Mohms":             {Low: 12e6, High: 12.01e6},
	} {
		r.Function = meter.Ohms
		if have := r.Range(); have != want {
			t.Errorf("%g to %g is written %q, expected %q", r.Low, r.High, have, want)
		}
	}
}
