package complaints_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/netlists/complaints"
)

// Amps are of one wire in one mode. What could be another is asked, and what is not
// told of a wire, or not read from one, is told.
func TestAmpsAroundAWire(t *testing.T) {
	for said, want := range map[string]string{
		"range-electronic | clamp reads 12 amps on L1 in bake":                            "read~bake~amps~cord.L1.out~terminal_block.L1.in~~12",
		"range-electronic | L2 draws 20 A with the left front on":                         "read~lf_surface~amps~cord.L2.out~terminal_block.L2.in~~20",
		"dryer | draws 3 A on the white wire w27 in timed dry":                            "read~timed_dry~amps~door_switch.com~tb_n~~3",
		"range-electronic | broil element pulls 0 amps":                                   "read~broil~amps~broil_out~broil_1~~0",
		"range-electronic | bake element draws 10.5 amps in bake, broil pulls none":       "read~bake~amps~bake_out~bake_1~~10.5; not broil pulls none",
		"range-electronic | clamp on the broil element shows no amps, bake fine":          "read~broil~amps~broil_out~broil_1~~0; load~bake~bake_element~normal",
		"dryer | motor draws 17 amps in start":                                            "read~start~amps~motor_2~motor_protector.1~~17",
		"oven-230 | amp clamp on the neutral shows 9 amps":                                "? w05 (Top and bottom heat); ? w05 (Bottom heat)",
		"range-electronic | la pinza marca 12 amperes en L1 al hornear":                   "read~bake~amps~cord.L1.out~terminal_block.L1.in~~12",
		"dryer | heater pulls 22 amps and the motor pulls 5 amps":                         "read~timed_dry~amps~thermal_cutoff.2~heater_1~~22; read~timed_dry~amps~motor_2~motor_protector.1~~5",
		"dryer | clamp on L1 shows 12 A":                                                  "read~timed_dry~amps~cord.L1.out~terminal_block.L1.in~~12",
		"range-electronic | left burner pulls 0 amps":                                     "? Left front element, w56 (Left front surface unit); ? Left rear element, w60 (Left rear surface unit)",
		"range-electronic | clamp on the red wire reads 12 amps in bake":                  "not clamp on the red wire reads 12 amps in bake",
		"range-electronic | clamp on L1 at the bake element reads 12 amps":                "not clamp on l1 at the bake element reads 12 amps",
		"range-electronic | the bake element should draw 12 amps":                         "not bake element",
		"range-electronic | clamp between L1 and the board reads 3 amps":                  "not clamp between l1 and the board reads 3 amps",
		"range-electronic | it is on a 40 amp breaker, broiler dead":                      "load~broil~broil_element~dead; not 40 amp breaker",
		"range-electronic | trips the 40 amp breaker in bake":                             "trips~bake; not 40 amp",
		"water-heater | lower element pulls 0 amps, upper element 18 amps":                "read~top_hot~amps~lower_load~lower_1~~0; read~cold_tank~amps~upper_cold~upper_1~~18",
		"water-heater | clamped the upper element at 18.7 amps in cold_tank":              "read~cold_tank~amps~upper_cold~upper_1~~18.7",
		"water-heater | 0 amps on L2 with cold tank":                                      "read~cold_tank~amps~breaker.L2.out~junction_box.L2.in~~0",
		"range-electronic | I measured 15 amps at the bake element with the oven on bake": "not i measured 15 amps at the bake element with the oven on bake",
		"range-electronic | oven pulls no amps":                                           "? Bake element, w14 (Bake); ? Broil element, w15 (Broil)",
		"dryer | motor hums and draws 20 amps":                                            "read~timed_dry~amps~motor_2~motor_protector.1~~20; told~hums~motor.main~~~",
		"range-electronic | L1 pulls 12 amps in bake dead":                                "not l1 pulls 12 amps in bake dead",
		"range-electronic | broil element doesn't draw 12 amps":                           "not broil element doesnt draw 12 amps",
	} {
		c, sentence := toldOf(t, said)
		notes, h, _, _ := complaints.ListenTo(c).Complaint(sentence)
		got := linesOf(notes)
		for _, q := range h.Questions {
			for i, c := range q.Choices {
				if i < 2 {
					got = append(got, "? "+c.Label)
				}
			}
		}
		if len(h.Unknown) > 0 {
			got = append(got, "not "+strings.Join(h.Unknown, " "))
		}
		if diff := cmp.Diff(want, strings.Join(got, "; ")); diff != "" {
			t.Errorf("%q:\n%s", said, diff)
		}
	}
	c := open(t, "range-electronic")
	h := complaints.English().Listener(c).Read("clamp reads 12 amps on L1 in bake")
	if told := complaints.English().Tell(c, h.Statements[0]); told != "w07: reads, 12 amps (Bake)" {
		t.Errorf("told back as %q", told)
	}
}
