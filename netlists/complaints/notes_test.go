package complaints_test

import (
	"errors"
	"strings"
	"testing"

	"legtrace/netlists"
	"legtrace/netlists/complaints"
)

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
		"range-electronic | since yesterday":                                   "told~since~~~~since yesterday",
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

// A code is of the sensor that it hints at, of several of the one that it names.
func TestACodeNamesItsSensor(t *testing.T) {
	heardAs(t, map[string]string{
		"range-electronic | display beeps and shows a code that hints at the sensor": "told~beeps~~~~; told~sensor~~~~",
		"dryer-electronic | shows a code for the exhaust sensor":                     "told~sensor~~exhaust_sensor~~",
		"dryer-electronic | error code about the inlet thermistor":                   "told~sensor~~inlet_sensor~~",
	})
}

// Which of the two legs was read nobody needs to say.
func TestOneLegIsDeadWhicheverItIs(t *testing.T) {
	for said, want := range map[string]string{
		"dryer-electronic | at the outlet one hot 120, the other 0":                "leg_dead_outlet",
		"dryer-electronic | outlet: 120 from one hot to neutral, 0 from the other": "leg_dead_outlet",
		"dryer-electronic | at the outlet 120 on one leg, nothing on the other":    "leg_dead_outlet",
		"dryer-electronic | missing a leg at the terminal block":                   "leg_dead",
		"dryer-electronic | hot to hot nothing like 240":                           "leg_dead",
	} {
		c, sentence := toldOf(t, said)
		_, _, _, err := complaints.ListenTo(c).Complaint(sentence)
		var unclear *complaints.Unclear
		if !errors.As(err, &unclear) {
			t.Errorf("%q: %v", said, err)
			continue
		}
		if notes, left, err := unclear.Open(c); err != nil || len(left) > 0 || linesOf(notes)[0] != "told~"+want+"~~~~" {
			t.Errorf("%q: %v, left %q, %v", said, linesOf(notes), left, err)
		}
	}
}

// What a netlist says that people say of it is heard as the tables' own is, in either
// language, in any of its forms; another machine knows nothing of it.
func TestPhrasesOfANetlistAreHeard(t *testing.T) {
	c, err := netlists.Read("mine.toml", []byte(`from = "catalog:range-electronic"
name = "mine"
[phrases.en]
dead = ["gone to sleep"]
dark = ["face is black"]
burnt = ["cooked to a crisp|cinder"]
storm = ["after the hydro came back"]
key = ["padlock shown"]
[phrases.es]
dead = ["se durmió"]
`))
	if err != nil {
		t.Fatal(err)
	}
	for said, want := range map[string]string{
		"the bake element has gone to sleep":                       "load~bake~bake_element~dead",
		"its face is black":                                        "load~off~control~dead",
		"bake element cooked to a cinder":                          "told~burnt~~bake_element~~",
		"bake dead after the hydro came back":                      "load~bake~bake_element~dead; told~storm~~~~",
		"padlock shown":                                            "told~key~~~~",
		"el asador se durmió":                                      "load~broil~broil_element~dead",
		"broiler gone to sleep, bake element cooked to a crisp":    "load~broil~broil_element~dead; told~burnt~~bake_element~~",
		"the bake element is fine, the broiler has gone to sleep.": "load~bake~bake_element~normal; load~broil~broil_element~dead",
	} {
		notes, h, _, err := complaints.ListenTo(c).Complaint(said)
		if got := strings.Join(linesOf(notes), "; "); err != nil || got != want || len(h.Unknown) > 0 {
			t.Errorf("%q: %s, %v %v, not %s", said, got, h.Unknown, err, want)
		}
	}
	if notes, _, _, err := complaints.ListenTo(open(t, "range-electronic")).Complaint("the bake element has gone to sleep"); err == nil {
		t.Errorf("another machine hears %v", linesOf(notes))
	}
}

// A code is heard as its netlist writes it, whatever else the word may be: in pieces, or a
// word of the language behind what tells of a code. What is a figure of something else stays.
func TestACodeInPiecesOrAWord(t *testing.T) {
	c, err := netlists.Read("mine.toml", []byte(`from = "catalog:range-electronic"
name = "mine"
[parts.control]
codes = [
  { code = "LOC", means = "keys locked" },
  { code = "F-9", means = "oven too hot" },
  { code = "door", means = "latch not found" },
  { code = "S1", means = "oven sensor open", sense = "oven_temperature", above = 2900 },
]
`))
	if err != nil {
		t.Fatal(err)
	}
	for said, want := range map[string]string{
		"shows LOC": "key", "LOC on the display": "key", "the display says loc": "key", "muestra LOC": "key", "código LOC": "key",
		"shows F-9": "too_hot", "code F 9": "too_hot", "it flashes F9": "too_hot",
		"flashes S 1": "sensor", "me marca S 1": "sensor",
		"error code door": "latch", "the door is locked": "door_locked",
		"code K 7": "", "código K 7": "", "the oven reads a 5": "-",
	} {
		notes, h, _, err := complaints.ListenTo(c).Complaint(said)
		switch {
		case want == "-" && err != nil:
		case want == "" && len(h.Questions) == 1 && h.Questions[0].Words == "K7" && len(h.Unknown) == 0:
		case want != "" && len(notes) == 1 && notes[0].Told == want && len(h.Unknown) == 0:
		default:
			t.Errorf("%q: %v, %v, not %q", said, linesOf(notes), err, want)
		}
	}
}

// An oven that is dead was perhaps not tried on broil, but where broil is named, or where
// its display is dark and nothing can be tried.
func TestWhatMayNotHaveBeenTried(t *testing.T) {
	heardAs(t, map[string]string{
		"range-electronic | the oven won't heat":                   "load~bake~bake_element~dead; untried~broil~broil_element~dead",
		"range-electronic | oven won't heat, bake or broil":        "load~bake~bake_element~dead; load~broil~broil_element~dead",
		"range-electronic | oven won't heat, the clock went blank": "load~bake~bake_element~dead; load~broil~broil_element~dead; load~off~control~dead",
	})
}

// What was tried without effect tells of no part where none was renewed.
func TestADialTurnedUpIsNoPart(t *testing.T) {
	heardAs(t, map[string]string{
		"water-heater | the water is lukewarm, I turned the dial up and it made no difference": "told~runs_cold~~~~",
	})
}
