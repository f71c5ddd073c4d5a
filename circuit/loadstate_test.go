package circuit_test

import (
	"math"
	"testing"

	"legtrace/circuit"
)

// By hand: a resistance on x of its volts gets x squared of its watts.
func TestLoadsAreJudgedBesideASoundMachine(t *testing.T) {
	on208 := math.Pow(208.0/240, 2)
	for _, c := range []struct {
		what         string
		share, sound float64
		want         circuit.LoadState
	}{
		{"240 V element at 208 V", on208, on208, circuit.Normal},
		{"the same, supply 10 % low", 0.81 * on208, on208, circuit.Normal},
		{"the same, supply 10 % high", 1.21 * on208, on208, circuit.Normal},
		{"240 V element at 208 V in a house of 240 V", on208, 1, circuit.Weak},
		{"element on one leg of two", 0.25, 1, circuit.Weak},
		{"lamp with the neutral lost", 1.9, 1, circuit.TooMuch},
		{"nothing through a stray way", 0.01, 1, circuit.Dead},
		{"a trickle of a load that should have a twentieth", 0.001, 0.05, circuit.Dead},
		{"grounded element, knob at Off", 0.25, 0, circuit.StaysOn},
		{"knob at Off", 0, 0, circuit.Off},
	} {
		if got := circuit.Judge(c.share, c.sound); got != c.want {
			t.Errorf("%s: %s, want %s", c.what, got, c.want)
		}
	}
}

func TestWhatIsSaidOfALoadIsReadAsItIsMeant(t *testing.T) {
	for _, c := range []struct {
		said     string
		shouldOn bool
		want     circuit.LoadState
	}{
		{"on", false, circuit.StaysOn}, {"on", true, circuit.Normal},
		{"off", true, circuit.Dead}, {"off", false, circuit.Off},
		{"Too  hot", true, circuit.TooMuch}, {"fine", false, circuit.Off},
		{"cold", false, circuit.Off}, {"weak", false, circuit.StaysOn},
	} {
		s, err := circuit.ParseLoadState(c.said)
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Meant(c.shouldOn); got != c.want {
			t.Errorf("%q of a load that should be on (%v) is %s, want %s", c.said, c.shouldOn, got, c.want)
		}
		if again, err := circuit.ParseLoadState(s.String()); err != nil || again != s {
			t.Errorf("%q reads back as %v: %v", s, again, err)
		}
	}
	if _, err := circuit.ParseLoadState("dancing"); err == nil {
		t.Error("dancing is a state")
	}
}
