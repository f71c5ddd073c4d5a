package suspect

import (
	"math"
	"testing"

	"legtrace/circuit/meter"
)

// A figure told as doubtful, or that jumps, is read and may be farther off.
func TestDoubtfulFigures(t *testing.T) {
	for _, c := range []struct {
		said  string
		value float64
		doubt bool
	}{{"12", 12, false}, {"about 12", 12, true}, {"12 ohms, not sure", 12, true}, {"~12", 12, true}, {"12?", 12, true}} {
		value, ol, unsteady, give, err := readDoubt(meter.Ohms, c.said)
		if err != nil || ol || unsteady || value != c.value || (give > 0) != c.doubt {
			t.Errorf("%q: %v, give %v, %v", c.said, value, give, err)
		}
	}
	value, _, _, give, err := readDoubt(meter.Volts, "jumps between 3 and 40")
	if err != nil || value < 3 || value > 40 || give < 0.3 {
		t.Errorf("%v, give %v, %v", value, give, err)
	}
	// What fits a sure figure well fits the doubtful one less, what does not fits it more.
	at := func(answer string, reads float64) float64 {
		o := &Observation{Probes: meter.Probes{Function: meter.Ohms}}
		o.Value, o.OL, o.Unsteady, o.Give, _ = readDoubt(meter.Ohms, answer)
		return math.Log((&errs{slip: 0.01}).readingLikelihood(o, meter.Reading{Value: reads, Low: reads, High: reads}))
	}
	if at("12", 12) <= at("about 12", 12) || at("12", 15) >= at("about 12", 15) {
		t.Errorf("sure %v %v, doubtful %v %v", at("12", 12), at("12", 15), at("about 12", 12), at("about 12", 15))
	}
	// A bare 0 may be most of an ohm; 0.0 may not.
	if at("0", 0.6) <= at("0.0", 0.6) || at("0", 5) > at("0", 0.6)-3 || at("0.0", 0) <= at("0", 0) {
		t.Errorf("0 ohms: of 0.6 %v, of 5 %v; 0.0: of 0.6 %v", at("0", 0.6), at("0", 5), at("0.0", 0.6))
	}
	if _, _, _, _, err := readDoubt(meter.Ohms, "about"); err == nil {
		t.Error("no figure was taken")
	}
}
