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
		o, err := readDoubt(meter.Ohms, c.said)
		if err != nil || o.OL || o.Unsteady || o.Value != c.value || (o.Give > 0) != c.doubt || o.Unsure != c.doubt {
			t.Errorf("%q: %+v, %v", c.said, o, err)
		}
	}
	o, err := readDoubt(meter.Volts, "jumps between 3 and 40")
	if err != nil || o.Value < 3 || o.Value > 40 || o.Give < 0.3 || !o.Jumps || *o.Between != (Between{Low: 3, High: 40}) {
		t.Errorf("%+v, %v", o, err)
	}
	if o, err = readDoubt(meter.Ohms, "jumps between 22 and OL"); err != nil || !o.Jumps || o.Between.Low != 22 || !o.Between.OL {
		t.Errorf("%+v, %v", o, err)
	}
	// What fits a sure figure well fits the doubtful one less, what does not fits it more.
	at := func(answer string, reads float64) float64 {
		o, _ := readDoubt(meter.Ohms, answer)
		o.Probes.Function = meter.Ohms
		return math.Log((&errs{slip: 0.01}).readingLikelihood(&o, meter.Reading{Value: reads, Low: reads, High: reads}))
	}
	if at("12", 12) <= at("about 12", 12) || at("12", 15) >= at("about 12", 15) {
		t.Errorf("sure %v %v, doubtful %v %v", at("12", 12), at("12", 15), at("about 12", 12), at("about 12", 15))
	}
	// A bare 0 may be most of an ohm; 0.0 may not.
	if at("0", 0.6) <= at("0.0", 0.6) || at("0", 5) > at("0", 0.6)-3 || at("0.0", 0) <= at("0", 0) {
		t.Errorf("0 ohms: of 0.6 %v, of 5 %v; 0.0: of 0.6 %v", at("0", 0.6), at("0", 5), at("0.0", 0.6))
	}
	if _, err := readDoubt(meter.Ohms, "about"); err == nil {
		t.Error("no figure was taken")
	}
}
