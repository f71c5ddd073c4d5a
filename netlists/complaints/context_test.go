package complaints_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/netlists/complaints"
)

// foundAs holds the notes of what was found after a complaint, "machine | complaint /
// finding", against those wanted.
func foundAs(t *testing.T, wants map[string]string) {
	t.Helper()
	for said, want := range wants {
		c, both := toldOf(t, said)
		complaint, finding, _ := strings.Cut(both, " / ")
		in := complaints.ListenTo(c)
		before, _, _, err := in.Complaint(complaint)
		if err != nil {
			t.Fatalf("%q: %v", said, err)
		}
		notes, h, _, _ := in.Complaint(finding, before...)
		got := linesOf(notes)
		for _, q := range h.Questions {
			got = append(got, "? "+q.Words)
		}
		if diff := cmp.Diff(want, strings.Join(got, "; ")); diff != "" {
			t.Errorf("%q:\n%s", said, diff)
		}
	}
}

// A finding is of what was complained of, and was read in the mode in which that fails.
func TestAFindingIsOfWhatWasComplainedOf(t *testing.T) {
	foundAs(t, map[string]string{
		"range-electronic | right rear burner full blast / other burners cycle":                       "load~lf_surface~lf_element~normal; load~lr_surface~lr_element~normal; load~rf_surface~rf_element~normal",
		"range-electronic | right rear burner dead / coil 26 ohms, not to ground":                     "read~off~ohms~rr_element.1~rr_element.2~~26; read~off~ohms~rr_element.1~frame~rr_element~OL",
		"range-smooth-top | trips in bake / element terminal to sheath 0.6 ohm":                       "read~off~ohms~bake_element.1~frame~~0.6",
		"range-smooth-top | right rear burner dead / 240 V from H1 to H2":                             "read~rr_hot~volts~rr_switch.H1~rr_switch.H2~~240",
		"oven-double | lower oven does not bake / 240 V across the lower bake element while calling":  "read~lower_bake~volts~lower_bake.1~lower_bake.2~~240",
		"range-electronic | right rear burner dead / 0 volts across the coil":                         "read~rr_surface~volts~rr_element.1~rr_element.2~~0",
		"range-electronic | right rear and left rear burners dead / 240 V across the right rear coil": "read~rr_surface~volts~rr_element.1~rr_element.2~~240",
		"range-electronic | right rear burner dead / left front burner heats, bake element 22 ohms":   "read~off~ohms~bake_1~bake_2~~22; load~lf_surface~lf_element~normal",
	})
}

// What was done so that it could be read is no finding: what is read then is of the part by
// itself.
func TestPowerOffAndWiresOffIsNoFinding(t *testing.T) {
	foundAs(t, map[string]string{
		"range-electronic | no bake / breaker off, leads off: bake element reads open":                               "read~off~ohms~bake_1~bake_2~bake_element~OL",
		"range-smooth-top | trips in bake / leads off: element terminal to sheath 0.6 ohm":                           "read~off~ohms~bake_element.1~frame~bake_element~0.6",
		"water-heater | water scalding / lower thermostat, power off and wires off, turned fully down: still closed": "read~off~ohms~lower_line~lower_load~~0",
		"oven-230 | trips in fan oven / isolated, proved dead: ring element 23 ohms end to end":                      "read~off~ohms~ring_1~ring_2~~23",
		"range-electronic | no bake / wire off at the bake element":                                                  "told~loose~~bake_element~~",
	})
}
