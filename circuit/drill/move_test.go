package drill_test

import (
	"regexp"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit/drill"
)

func matches(t *testing.T, s, pattern string) {
	t.Helper()
	if !regexp.MustCompile(pattern).MatchString(s) {
		t.Errorf("%q does not match %q", s, pattern)
	}
}

func TestMovesReadBack(t *testing.T) {
	c := machine(t, "range-electronic")
	for line, want := range map[string]string{
		"try broil":                             "try broil",
		"TRY  Self-clean, door locking":         "try locking",
		"off":                                   "off",
		"Volts broil_1 broil_2":                 "volts broil_1 broil_2",
		"volts broil_1 tb_n in Broil":           "volts broil_1 tb_n in broil",
		"ohms oven_sensor.1 oven_sensor.2":      "ohms oven_sensor.1 oven_sensor.2",
		"continuity terminal_block.L1.out w in": "",
		"amps w15 in broil":                     "amps w15 in broil",
		"lift broil_1":                          "lift broil_1",
		"lift w15":                              "lift broil_out",
		"lift w12 bake_relay.com":               "lift w12 bake_relay.com",
		"refit w12":                             "refit w12 fuse_load",
		"name Broil element":                    "name broil_element",
		"name breaker.L1":                       "name breaker",
		"name w12":                              "name w12",
		"give up":                               "give-up",
	} {
		m, err := drill.Parse(c, line)
		if want == "" {
			if err == nil {
				t.Errorf("%q: read as %q", line, m.Write(c))
			}
			continue
		}
		if err != nil {
			t.Errorf("%q: %v", line, err)
			continue
		}
		if diff := cmp.Diff(want, m.Write(c)); diff != "" {
			t.Errorf("%q: %s", line, diff)
		}
	}
}

func TestMovesThatCannotBeRead(t *testing.T) {
	c := machine(t, "range-electronic")
	for line, says := range map[string]string{
		"":                       "empty move",
		"vlots broil_1 broil_2":  `unknown move "vlots": did you mean "volts"`,
		"volts broil_1":          "between 1 places: say two",
		"volts broil_1 broil_1":  "same terminal",
		"volts broil_1 broil_9":  `unknown test point or terminal "broil_9": did you mean "broil_`,
		"volts a b in nowhere":   `unknown mode "nowhere"`,
		"try":                    "say which mode",
		"try briol":              `unknown mode "briol": did you mean "broil"`,
		"amps broil_1":           "unknown wire",
		"amps w15 w16":           "a clamp goes around one wire",
		"lift":                   "say a place",
		"lift broil_1 broil_2":   "it stands alone",
		"lift w12 tb_l1":         "wire w12 is not on tb_l1: it goes from thermal_fuse.2 to bake_relay.com",
		"lift control.L w21 now": "say a place",
		"off now":                "it stands alone",
		"name":                   "say which part",
		"name brol_element":      `unknown part "brol_element": did you mean "broil_element"`,
	} {
		_, err := drill.Parse(c, line)
		if err == nil {
			t.Errorf("%q: no error", line)
			continue
		}
		matches(t, err.Error(), regexp.QuoteMeta(says))
	}
}

// FuzzParse reads anything: no panic, and what is read is written so that it
// reads the same again; what is played never breaks the session's sums.
func FuzzParse(f *testing.F) {
	for _, line := range []string{"try broil", "off", "on", "prove", "dead", "volts broil_1 broil_2 in broil", "lowz tb_l1 tb_n", "ohms broil_1 broil_2", "continuity fuse_line fuse_load",
		"amps w15", "lift w12 fuse_load", "refit broil_1", "name w15", "name Broil element", "give up", "in in in", "volts in in in in", "lift link", "\x00", "name \xff"} {
		f.Add(line)
	}
	c := machine(f, "range-electronic")
	d := hide(f, c, "broil_element:open")
	f.Fuzz(func(t *testing.T, line string) {
		m, err := drill.Parse(c, line)
		if err != nil {
			if err.Error() == "" {
				t.Error("an error that says nothing")
			}
			return
		}
		again, err := drill.Parse(c, m.Write(c))
		if err != nil {
			t.Fatalf("%q is written %q, which does not read: %v", line, m.Write(c), err)
		}
		if diff := cmp.Diff(m, again); diff != "" {
			t.Errorf("%q is written %q: %s", line, m.Write(c), diff)
		}
		s := d.Start()
		sum := 0.0
		for range 3 {
			if step, err := s.Play(m); err == nil {
				sum += step.Minutes
			}
		}
		if s.Minutes() != sum {
			t.Errorf("%q: %g minutes, the steps say %g", line, s.Minutes(), sum)
		}
	})
}
