package complaints_test

import "testing"

// What sits on the board that the same words name is one place with it.
func TestARelayOnTheBoardIsOnePlace(t *testing.T) {
	heardAs(t, map[string]string{
		"range-electronic | burnt spot on the control board at the bake relay": "told~burnt~~bake_relay~~",
		"range-slide-in | bake relay on the board is burnt":                    "told~burnt~~bake_relay~~",
		"range-electronic | control board burnt":                               "told~burnt~~control~~",
	})
}

// A new part that failed again is no reason to spare it; by how much it is off is no second
// fact; what parts nothing is kept.
func TestOneFactIsNotedOnce(t *testing.T) {
	heardAs(t, map[string]string{
		"range-electronic | replaced the bake element and it burned out again": "load~bake~bake_element~dead; told~failed_again~~bake_element~~",
		"range-electronic | oven thermal fuse keeps blowing":                   "told~failed_again~~thermal_fuse~~",
		"range-electronic | thermometer reads 300 when set to 350":             "told~runs_cold~~~~27.8 K",
		"range-electronic | beeps":                                             "told~beeps~~~~",
		"range-electronic | since yesterday":                                   "told~since~~~~",
	})
}
