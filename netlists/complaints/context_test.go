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
		"range-smooth-top | trips in bake / element terminal to sheath 0.6 ohm":                       "told~shorted~~bake_element~~",
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

// A coil that was tried in another's place, or another in its own, tells by what came of it
// which of the two is bad.
func TestACoilTriedElsewhere(t *testing.T) {
	for finding, want := range map[string]string{
		"swapped the coil with the right rear of the same size: the right rear is now dead and the left front heats": "told~found_bad~~lf_element~~; told~like_works_here~~lf_element~~",
		"swapped the coil with the right front one, still dead":                                                      "told~like_dead_here~~lf_element~~",
		"tried the coil in the right front: heats there":                                                             "load~rf_surface~rf_element~normal; told~good_elsewhere~~lf_element~~",
		"tried it in the right front, works":                                                                         "load~rf_surface~rf_element~normal; told~good_elsewhere~~lf_element~~",
		"coil tried in the right front receptacle: cold":                                                             "told~found_bad~~lf_element~~",
		"the old coil in the left rear: cold":                                                                        "told~found_bad~~lf_element~~",
		"put the right front coil in its place: heats":                                                               "told~like_works_here~~lf_element~~",
		"right front coil put in the left front: still cold":                                                         "told~like_dead_here~~lf_element~~",
		"a good coil plugged in there heats":                                                                         "told~like_works_here~~lf_element~~",
		"new coil heats":                                                                                             "told~like_works_here~~lf_element~~",
		"new coil, same thing":                                                                                       "told~replaced~~lf_element~~; told~no_help~~lf_element~~",
		"right front heats in every setting":                                                                         "load~rf_surface~rf_element~normal",
	} {
		foundAs(t, map[string]string{"range-electronic | left front burner dead / " + finding: want})
	}
}

// What a meter shows on one side of a contact, or from it to neutral, is of that side.
func TestWhereVoltsWereRead(t *testing.T) {
	foundAs(t, map[string]string{
		"range-electronic | left front burner dead / H1 to neutral 120 V, H2 to neutral 0 V": "read~lf_surface~volts~lf_switch.H1~terminal_block.N.in~~120; read~lf_surface~volts~lf_switch.H2~terminal_block.N.in~~0",
		"water-heater | no hot water / 0 V after the limit":                                  "read~cold_tank~volts~limit_l1~limit_l2~~0",
		"water-heater | no hot water / no voltage past the high limit":                       "read~cold_tank~volts~limit_l1~limit_l2~~0",
		"water-heater | no hot water / 240 V at the limit, in and out":                       "read~cold_tank~volts~limit.L1.1~limit.L2.1~~240; read~cold_tank~volts~limit_l1~limit_l2~~240",
		"dryer | no heat / heater leads off: one side to the can 2 ohms":                     "read~off~ohms~heater_1~frame~heater~2",
		"oven-gas | oven glows but no flame / valve coil 1.2 ohms":                           "read~off~ohms~bake_valve.1~bake_coil~~1.2",
		"dryer-electronic | won't start / thermal fuse on the blower housing OL":             "read~off~ohms~thermal_fuse.1~thermal_fuse.2~thermal_fuse~OL",
		"oven-double | bottom oven doesn't bake / clamp on the lower bake lead: 0 A":         "read~lower_bake~amps~lower_bake_out~lower_bake.1~~0",
		"oven-gas | oven glows but no flame / clamp on the igniter lead: 2.5 A":              "read~bake~amps~bake_plug.A.out~bake_igniter.1~~2.5",
	})
}

// A thermostat that opens as it gets hot does its work; where on a part it is burnt is told by
// how far from an end, and that is no joint.
func TestWhatIsAsItShouldBe(t *testing.T) {
	foundAs(t, map[string]string{
		"water-heater | water scalding / lower thermostat closed cold, opens when hot":                                 "read~off~ohms~lower_line~lower_load~~0; told~found_good~~lower_thermostat~~",
		"dryer | won't start / drum light comes on with the door open and goes out when the switch is pressed by hand": "load~door_open~drum_lamp~normal",
		"dryer | won't start / motor windings good":                                                                    "told~found_good~~motor~~",
		"dryer-electronic | won't start / door switch good, display knows door open and closed":                        "told~found_good~~door_switch~~; told~found_good~~door_switch~~",
		"dryer-electronic | heat stays on in cool down / heater relay on the board opens":                              "",
		"dryer-electronic | takes three cycles to dry / with the vent hose off it heats":                               "told~lint~~~~",
		"range-mechanical | oven runs too hot / the cycle light goes off and on, so it does cycle":                     "load~bake~cycle_lamp~normal",
		"range-slide-in | convection fan does not turn / fan stands still on convection":                               "load~conv_bake~conv_fan~dead",
		"water-heater | no hot water / thermostats change over at the dial":                                            "told~found_good~~upper_thermostat~~; told~found_good~~lower_thermostat~~",
		"range-electronic | no bake / bake element split two inches from the left end":                                 "told~parted~~bake_element~~",
		"range-electronic | no bake / broil element red within two minutes on broil":                                   "load~broil~broil_element~normal",
		"range-electronic | no bake / thermal fuse rings through":                                                      "told~found_good~~thermal_fuse~~",
	})
}

// What a thermometer shows in swings is kept at their middle, or at what they were averaged to.
func TestSwingsAndAverages(t *testing.T) {
	for finding, want := range map[string]string{
		"test thermometer in the middle, set 350: swings 405 to 440, average about 425 after four cycles": "told~runs_hot~~~~41.7 K",
		"set at 350, thermometer swings between 400 and 440":                                              "told~runs_hot~~~~38.9 K",
		"average 290 with the dial at 350":                                                                "told~runs_cold~~~~33.3 K",
		"dial 350, oven averages 300 over five cycles":                                                    "told~runs_cold~~~~27.8 K",
	} {
		heardAs(t, map[string]string{"range-mechanical | " + finding: want})
	}
}

// An oven of gas that glows and does not light has a glow that does not open its valve.
func TestWhatGlowsAndDoesNotLight(t *testing.T) {
	bake, broil := "load~bake~bake_igniter~normal; load~bake~bake_valve~dead", "load~broil~broil_igniter~normal; load~broil~broil_valve~dead"
	for said, want := range map[string]string{
		"oven glows but no flame":                    bake,
		"The oven igniter glows but it never lights": bake,
		"I see the thing glow orange but no fire":    bake,
		"bake glows but doesn't light":               bake,
		"it glows but won't light":                   bake,
		"broiler glows but no flame":                 broil,
		"bake igniter glows dull orange, no flame":   "load~bake~bake_igniter~weak; load~bake~bake_valve~dead",
	} {
		heardAs(t, map[string]string{"oven-gas | " + said: want})
	}
}

// A fan that does not run in a mode is the one called as the mode; the one burner's limiter is
// that of the burner that was spoken of.
func TestWhichOfSeveralTheModeOrThePlaceTells(t *testing.T) {
	for _, said := range []string{"on convection the fan doesn't turn", "fan doesn't come on in convection", "no fan noise on convection"} {
		heardAs(t, map[string]string{"range-slide-in | " + said: "load~conv_bake~conv_fan~dead"})
	}
	foundAs(t, map[string]string{
		"range-smooth-top | left front won't heat / limiter of that zone closed, 0.1 ohm": "told~found_good~~lf_limiter~~",
	})
}

// A door that has to be pushed holds its switch; a reset that clicks and does not help leaves the
// limit closed; one that helps for a while is good.
func TestWhatWasPushed(t *testing.T) {
	heardAs(t, map[string]string{
		"dryer | only starts if I push the door":                     "load~timed_dry~motor.main~dead; told~touched~motor.main~~~; told~touched~~door_switch~~",
		"water-heater | reset button clicked but still no hot water": "told~reset~~~~; told~found_good~~limit~~; load~cold_tank~upper_element~dead; load~top_hot~lower_element~dead",
		"water-heater | ice cold until I push the red button":        "load~cold_tank~upper_element~dead; load~top_hot~lower_element~dead; told~works_again~~~~; told~reset~~~~",
		"water-heater | plenty of hot water but only lukewarm":       "told~runs_cold~~~~; told~plenty~~~~",
		"water-heater | one short shower and then it goes lukewarm":  "told~runs_out~~~~",
	})
}

// Volts at a relay's coil tell that it is driven; what a breaker does with a part's wires off is
// of that part; a heater that is called the second one is no second one put in.
func TestWhatIsDrivenShortedOrCounted(t *testing.T) {
	foundAs(t, map[string]string{
		"dryer-electronic | no heat / 12 V at the relay coil":                                               "told~coil_fed~~heater_relay~~",
		"dryer-electronic | no heat / 0 V at the heater relay coil":                                         "told~coil_unfed~~heater_relay~~",
		"oven-double | upper oven won't bake / 240 V into the upper bake relay, nothing out, coil has 12 V": "read~upper_bake~volts~upper_com~junction_box.L2.in~~240; read~upper_bake~volts~upper_bake_out~junction_box.L2.in~~0; told~coil_fed~~upper_bake_relay~~",
		"range-electronic | trips in bake / breaker holds with the bake wire off":                           "told~no_trip~~~~; told~shorted~~bake_element~~",
		"range-electronic | trips in bake / still trips with the bake element disconnected":                 "trips~; told~found_good~~bake_element~~",
		"baseboard-heater | second heater cold / 0 A on the second heater's lead":                           "read~heat~amps~second_limit.2~second_1~~0",
	})
}
