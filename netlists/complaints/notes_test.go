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

// A part that works in another place shows that this one is fed, where it was said which;
// what failed goes with one of two that changed places, or stays.
func TestWhatASwapTells(t *testing.T) {
	heardAs(t, map[string]string{
		"range-electronic | left front coil works in the right front socket":         "load~rf_surface~rf_element~normal; told~good_elsewhere~~lf_element~~",
		"range-electronic | left front coil works in the right rear socket":          "load~rr_surface~rr_element~normal; told~good_elsewhere~~lf_element~~",
		"range-electronic | left front coil works in another socket":                 "load~lr_surface | rr_surface | rf_surface~lr_element | rr_element | rf_element~normal; told~good_elsewhere~~lf_element~~",
		"range-electronic | swapped the bake and broil relays, fault moved to broil": "told~like_works_here~~bake_relay~~",
		"range-electronic | swapped the bake and broil relays, fault moved to bake":  "told~like_works_here~~broil_relay~~",
		"range-electronic | swapped the bake and broil relays and the fault moved":   "? Bake relay; ? Broil relay",
		"range-electronic | put another coil in the left front and it is dead too":   "told~like_dead_here~~lf_element~~",
		"range-electronic | put a good coil in the lf and it heats":                  "told~like_works_here~~lf_element~~",
	})
}

// Volts to metal are noted as of the metal, those to neutral as of the neutral.
func TestVoltsToMetalAreOfTheMetal(t *testing.T) {
	at := func(to string) string {
		return "read~timed_dry~volts~heater_1~" + to + "~~120; read~timed_dry~volts~heater_2~" + to + "~~120"
	}
	heardAs(t, map[string]string{
		"dryer | 120 V to metal all along the heater":           at("frame"),
		"dryer | 120 V from the heater to neutral at both ends": at("terminal_block.N.in"),
	})
}

// What a meter showed is noted as surely as it was told, a second look as one of its own.
func TestADoubtfulReadingIsNotedSo(t *testing.T) {
	ohms, volts := "read~off~ohms~bake_1~bake_2~", "read~bake~volts~bake_1~bake_2~~"
	heardAs(t, map[string]string{
		"range-electronic | bake element reads OL, not sure":                      ohms + "bake_element~OL, not sure",
		"range-electronic | not sure but the bake element reads OL":               ohms + "bake_element~OL, not sure",
		"range-electronic | bake element ohms about 22":                           ohms + "~about 22",
		"range-electronic | I think the bake element read 22 ohms":                ohms + "~about 22",
		"range-electronic | bake element reads 22 ohms. Not sure if broil works.": ohms + "~22",
		"range-electronic | bake element jumps between 10 and OL":                 ohms + "~jumps between 10 and OL",
		"range-electronic | bake element reads between 20 and 25 ohms":            ohms + "~20 to 25",
		"range-electronic | volts at the bake element jump between 0 and 240":     volts + "jumps between 0 and 240",
		"range-electronic | roughly 120 volts at the bake element":                volts + "about 120",
		"range-electronic | bake element ohms 22, measured again 22":              ohms + "~22; " + ohms + "~22",
		"range-electronic | bake element reads OL, measured it twice":             ohms + "bake_element~OL; " + ohms + "bake_element~OL",
	})
}

// What heats with all switched off does so in Off: no fault that heats it in another
// setting alone.
func TestWhatWasSwitchedOffHeatsInOff(t *testing.T) {
	for _, said := range []string{"oven heats with the control off", "oven stays on after cancel", "oven won't turn off", "can't turn the oven off", "el horno sigue prendido apagado"} {
		heardAs(t, map[string]string{"range-electronic | " + said: "some-on~off~bake_element broil_element"})
	}
}

// What runs while its button is held and no longer starts, and is not kept going.
func TestWhatStopsAsTheButtonIsLetGo(t *testing.T) {
	for _, said := range []string{"only runs while I hold the start button in", "stops as soon as I let go of start"} {
		heardAs(t, map[string]string{"dryer | " + said: "load~start~motor.main~normal; load~timed_dry~motor.main~dead"})
	}
	heardAs(t, map[string]string{"dryer | motor quits after five minutes": "load~timed_dry~motor.main~dead; told~quits~motor.main~~~"})
}

// A drum that does not stop has a timer that stands still, or turns in Off: nobody says which.
func TestWhatNeverEnds(t *testing.T) {
	heardAs(t, map[string]string{
		"dryer | the dryer never shuts off":            "load~timed_dry~motor.main~normal; load~timed_dry | auto_dry_hot | off~timer_motor | timer_motor | motor.main~dead | dead | stays on",
		"dryer | on automatic it never shuts off":      "load~auto_dry~motor.main~normal; load~auto_dry_hot | off~timer_motor | motor.main~dead | stays on",
		"dryer-electronic | the dryer never shuts off": "load~off~motor.main~stays on",
	})
}

// Where the breaker holds, what heats there works.
func TestWhereItHoldsItWorks(t *testing.T) {
	heardAs(t, map[string]string{
		"range-electronic | breaker trips on bake. It doesn't trip on broil.": "trips~bake; told~no_trip~~~~; load~broil~broil_element~normal",
	})
}
