package complaints_test

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/netlists/complaints"
)

// What fails where two like parts changed places is the part where the fault went with it, or
// is dead in the other's place; it is the place where the fault stayed.
func TestWhatAnExchangeTells(t *testing.T) {
	for said, want := range map[string]string{
		"range-mechanical | left front dead, swapped with left rear, the fault stayed":                                           "dead lf_element; like_dead_here lf_element",
		"range-mechanical | left front dead, swapped with the left rear, no change":                                              "dead lf_element; like_dead_here lf_element",
		"range-mechanical | left front dead, swapped with left rear, the fault followed the burner":                              "dead lf_element; found_bad lf_element",
		"range-mechanical | left front dead, swapped with left rear, fault moved":                                                "dead lf_element; found_bad lf_element",
		"range-mechanical | left front burner out, swapped it with the right rear, fault stays at the left front":                "dead lf_element; like_dead_here lf_element",
		"range-mechanical | left front dead, swapped burners, fault follows":                                                     "dead lf_element; found_bad lf_element",
		"range-electronic | swapped left front with left rear burner, now left rear is dead":                                     "dead lf_element; found_bad lf_element",
		"range-electronic | left front dead, swapped left front with left rear burner, now left rear is dead":                    "dead lf_element; found_bad lf_element",
		"range-electronic | left front dead, swapped the burners, now the right front is dead":                                   "dead lf_element; found_bad lf_element",
		"range-electronic | left front dead, swapped the elements, left front still dead":                                        "dead lf_element; like_dead_here lf_element",
		"range-electronic | swapped the left front burner with the left rear, left front still dead":                             "dead lf_element; like_dead_here lf_element",
		"range-electronic | left front dead, put the right front element in and still dead":                                      "dead lf_element; like_dead_here lf_element",
		"range-electronic | left front dead, put the right front element in and it works":                                        "dead lf_element; like_works_here lf_element",
		"kiln | swapped top relay with bottom relay and the top works":                                                           "dead top_1; dead top_2; like_works_here top_relay",
		"kiln | top dead, swapped the top relay with the bottom relay and now the bottom is dead":                                "dead top_1; dead top_2; found_bad top_relay",
		"kiln | top elements dead, swapped relays, now bottom is dead":                                                           "dead top_1; dead top_2; found_bad top_relay",
		"kiln | middle dead, swapped the middle relay with the top relay, the fault stayed":                                      "dead middle_1; dead middle_2; like_dead_here middle_relay",
		"oven-double | upper bake dead, swapped the upper bake relay with the lower bake relay, now lower bake is dead":          "dead upper_bake; found_bad upper_bake_relay",
		"range-electronic | bake dead, swapped bake and broil relay, now broil is dead":                                          "dead bake_element; found_bad bake_relay",
		"range-mechanical | left front dead, swapped the left front switch with the left rear switch, now the left rear is dead": "dead lf_element; found_bad lf_switch",
		"baseboard-heater | first heater dead, swapped the limits, now the second heater is dead":                                "dead first_element; found_bad first_limit",
		"water-heater | swapped the upper and lower thermostats and the fault moved to the lower":                                "like_works_here upper_thermostat",
		"dryer-electronic | no heat, swapped the heater relay with a good one and it works":                                      "dead heater; replaced heater_relay; works_again",
		"range-mechanical | front left burner cold, traded it with the back left, back left cold now":                            "dead lf_element; found_bad lf_element",
		"range-electronic | switched the left front and right front burners and now the right front doesn't work":                "dead lf_element; found_bad lf_element",
		"range-electronic | right rear dead; moved the coil to the left rear and it's dead there too":                            "dead rr_element; found_bad rr_element",
		"range-electronic | bake relay swapped with broil relay, bake works now":                                                 "dead bake_element; like_works_here bake_relay",
		"range-smooth-top | left rear dead, swapped the left rear switch with the right rear switch and now the left rear works": "dead lr_element; like_works_here lr_switch",
	} {
		c, sentence := toldOf(t, said)
		if diff := cmp.Diff(want, meaning(c, complaints.English().Listener(c).Read(sentence))); diff != "" {
			t.Errorf("%q:\n%s", said, diff)
		}
	}
}
