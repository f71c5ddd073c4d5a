package circuit

import "testing"

// A netlist may say how often a way to fail is the way, beside how often each
// kind fails.
func TestShareOfAWayToFail(t *testing.T) {
	s := oven()
	s.Priors = map[string]float64{"welded": 0.4, "relay": 9}
	c, problems := Build(s)
	if c == nil {
		t.Fatal(said(problems))
	}
	if c.Way("welded") != 0.4 || c.Way("open") != 1 || c.Prior(KindRelay) != 9 {
		t.Errorf("welded %g, open %g, relay %g", c.Way("welded"), c.Way("open"), c.Prior(KindRelay))
	}
}
