package circuit

import (
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// IEC 60751:2022, platinum sensors of 100 ohms at 0 C (values from memory). The
// entry at 25 C is derived from the standard's formula.
func TestPlatinumTable(t *testing.T) {
	want := map[float64]string{
		-100: "60.26", -50: "80.31", 0: "100.00", 25: "109.73", 50: "119.40", 100: "138.51", 150: "157.33",
		200: "175.86", 250: "194.10", 300: "212.05", 350: "229.72", 400: "247.09",
	}
	got := map[float64]string{}
	for celsius := range want {
		ohms, err := SensorCurve{Law: "pt3850", OhmsAt: 100}.Ohms(celsius)
		if err != nil {
			t.Fatal(err)
		}
		got[celsius] = fmt.Sprintf("%.2f", ohms)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// An oven sensor reads about 1080 ohms at 70 F (common practice, no source);
// on the IEC curve 1000 ohms at 0 C would make it 1082. An ntc reads its
// rating at 25 C; at 100 C and beta 3950 K, 10000 exp(3950 (1/373.15 -
// 1/298.15)) = 697.6 ohms (derived).
func TestSensorsAtHand(t *testing.T) {
	const seventyF = (70 - 32) / 1.8
	cases := map[string]struct {
		curve   SensorCurve
		celsius float64
	}{
		"oven sensor, 70 F": {SensorCurve{Law: "pt3750", OhmsAt: 1000}, seventyF},
		"IEC curve, 70 F":   {SensorCurve{Law: "pt3850", OhmsAt: 1000}, seventyF},
		"ntc, 25 C":         {SensorCurve{Law: "ntc", OhmsAt: 10000, Beta: 3950}, 25},
		"ntc, 100 C":        {SensorCurve{Law: "ntc", OhmsAt: 10000, Beta: 3950}, 100},
	}
	want := map[string]string{"oven sensor, 70 F": "1080", "IEC curve, 70 F": "1082", "ntc, 25 C": "10000", "ntc, 100 C": "698"}
	got := map[string]string{}
	for name, c := range cases {
		ohms, err := c.curve.Ohms(c.celsius)
		if err != nil {
			t.Fatal(err)
		}
		got[name] = fmt.Sprintf("%.0f", ohms)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestSensorsRefuseWhatTheirCurveDoesNotCover(t *testing.T) {
	for law, limits := range map[string][2]float64{"pt3850": {-200, 850}, "pt3750": {-200, 600}, "ntc": {-50, 350}} {
		curve := SensorCurve{Law: law, OhmsAt: 1000, Beta: 3950}
		refused := map[float64]bool{}
		want := map[float64]bool{limits[0] - 0.1: true, limits[0]: false, limits[1]: false, limits[1] + 0.1: true,
			math.Inf(1): true}
		for celsius := range want {
			_, err := curve.Ohms(celsius)
			refused[celsius] = err != nil
		}
		if diff := cmp.Diff(want, refused); diff != "" {
			t.Errorf("%s: %s", law, diff)
		}
		if _, err := curve.Ohms(math.NaN()); err == nil {
			t.Errorf("%s takes NaN for a temperature", law)
		}
	}
}

// Ohms rise with temperature over the whole range of a platinum sensor, and
// fall over that of an ntc.
func TestSensorsAreMonotonic(t *testing.T) {
	for law, sign := range map[string]float64{"pt3850": 1, "pt3750": 1, "ntc": -1} {
		curve := SensorCurve{Law: law, OhmsAt: 1000, Beta: 3950}
		low, high := curve.Limits()
		last, _ := curve.Ohms(low)
		for celsius := low + 1; celsius <= high; celsius++ {
			ohms, err := curve.Ohms(celsius)
			if err != nil || sign*(ohms-last) <= 0 {
				t.Fatalf("%s: %g ohms at %g C after %g (%v)", law, ohms, celsius, last, err)
			}
			last = ohms
		}
	}
}
