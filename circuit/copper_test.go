package circuit

import (
	"fmt"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// ASTM B258 by its formula; diameters in mm as commonly tabulated (values from
// memory).
func TestWireGauges(t *testing.T) {
	want := map[int]string{36: "0.127", 24: "0.511", 18: "1.024", 14: "1.628", 12: "2.053", 10: "2.588", 8: "3.264", 6: "4.115"}
	got := map[int]string{}
	for awg := range want {
		got[awg] = fmt.Sprintf("%.3f", awgDiameterMM(awg))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if area := awgSquareMM(12); math.Abs(area-3.31) > 0.005 {
		t.Errorf("12 AWG has %g mm2, want 3.31", area)
	}
}

// NFPA 70-2011 chapter 9 table 8, uncoated copper, DC at 75 C, ohms per 1000 ft,
// solid, as reprinted in public tables. The table prints three digits.
func TestCopperOhmsPerThousandFeet(t *testing.T) {
	const thousandFeet = 304.8
	for awg, want := range map[int]float64{14: 3.07, 12: 1.93, 10: 1.21, 8: 0.764} {
		got := copperOhms(awgSquareMM(awg), thousandFeet)
		if unit := math.Pow(10, math.Floor(math.Log10(want))-2); math.Abs(got-want) > unit {
			t.Errorf("%d AWG: %.4f ohms, want %g within its last digit", awg, got, want)
		}
	}
}
