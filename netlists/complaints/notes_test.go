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
