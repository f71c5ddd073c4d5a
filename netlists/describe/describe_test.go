package describe_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/netlists"
	"legtrace/netlists/describe"
)

const oven = `# Copied off the back panel.
name = "oven"

[supply]
system = "split-phase"

[parts]
block         = { kind = "terminal_block", poles = ["L1", "L2", "N"] }
control       = { kind = "control", volts = 120, watts = 5 } # behind the display
bake_relay    = { kind = "relay", driven_by = "control", contact = "no" }
bake_element  = { kind = "element", volts = 240, watts = 2600 }
broil_element = { kind = "element", volts = 240, watts = 3000 }
oven_sensor   = { kind = "sensor", curve = "pt3750", ohms_at = 1000 }

[wires]
w01 = { from = "supply.L1", to = "block.L1.in", colour = "BK", awg = 10 } # heavy

[modes.off]
`

// What a line says is what the netlist then has more: wires, parts, modes as
// they read in it.
func TestLinesAsOneReadsTheSheet(t *testing.T) {
	for name, c := range map[string]struct{ lines, more string }{
		"from, colour, gauge, to": {"block.L1 BK 12 bake_relay.com",
			`w02 = { from = "block.L1.out", to = "bake_relay.com", colour = "BK", awg = 12 }`},
		"a stripe in words, a size in square millimetres, a length": {"block.N white with red stripe 2.5 mm2 3 ft control.N", ``},
		"both ends shortened, the next free end of each": {"bl.L1 bk12 bar ye12 bae",
			`w02 = { from = "block.L1.out", to = "bake_relay.com", colour = "BK", awg = 12 }
w03 = { from = "bake_relay.no", to = "bake_element.1", colour = "YE", awg = 12 }`},
		"ditto": {"block.L1 BKWH 14 control.L\ncontrol.N \" block.N",
			`w02 = { from = "block.L1.out", to = "control.L", colour = "BKWH", awg = 14 }
w03 = { from = "control.N", to = "block.N.in", colour = "BKWH", awg = 14 }`},
		"the neutral's return is on the load side of a fed pole": {"supply.N wh block.N\ncontrol.N wh18 block.N",
			`w02 = { from = "supply.N", to = "block.N.in", colour = "WH" }
w03 = { from = "control.N", to = "block.N.out", colour = "WH", awg = 18 }`},
		"a part in the trade's word, with its plate": {"fan: blower 120 V 0.03 kW @ top of the cabinet",
			`fan = { kind = "fan", place = "top of the cabinet", volts = 120, watts = 30 }`},
		"several of a kind": {`left, right: surface-burner 240V 1.5kW "Small one"`,
			`left = { kind = "surface_element", label = "Small one", volts = 240, watts = 1500 }
right = { kind = "surface_element", label = "Small one", volts = 240, watts = 1500 }`},
		"a selector's chart": {"knob: sel off bake(L1-1 L2-C) broil(L1-2-3)",
			`knob = { kind = "selector", positions = ["off", "bake", "broil"], chart = { bake = [["L1", "1"], ["L2", "C"]], broil = [["L1", "2", "3"]] } }`},
		"a relay with a coil and two contacts": {"k: contactor 240V 4W main(no) aux(changeover)",
			`k = { kind = "relay", volts = 240, watts = 4, contacts = { aux = "changeover", main = "no" } }`},
		"a residual-current device": {"guard: gfci L1 N 5mA", `guard = { kind = "rcd", residual_amps = 0.005, poles = ["L1", "N"] }`},
		"a mode: what it drives, at what heat, what is on": {"mode bake \"Bake\" bar os=177C on co bae",
			`[modes.bake]
label = "Bake"
drives = ["bake_relay"]
celsius = { oven_sensor = 177 }
on = ["control", "bake_element"]
off = ["broil_element"]`},
		"what the control must see": {"sense heat S1 S2 900-2.9k",
			`control = { kind = "control", volts = 120, watts = 5, senses = [{ name = "heat", pins = ["S1", "S2"], min_ohms = 900, max_ohms = 2900 }] } # behind the display`},
		"a test point":              {"point bae.1 8 min @oven floor", `bake_element_1 = { at = "bake_element.1", place = "oven floor", minutes = 8 }`},
		"another rating":            {"bae: 3 kW", `bake_element = { kind = "element", volts = 240, watts = 3000 }`},
		"another colour":            {"w01: RD 8", `w01 = { from = "supply.L1", to = "block.L1.in", colour = "RD", awg = 8 } # heavy`},
		"the other measure of size": {"w01: 6 mm2", `w01 = { from = "supply.L1", to = "block.L1.in", colour = "BK", mm2 = 6 } # heavy`},
		"an end moved":              {"w01: to=block.L2", `w01 = { from = "supply.L1", to = "block.L2.in", colour = "BK", awg = 10 } # heavy`},
		"a name":                    {"rename bae lower_element", `lower_element = { kind = "element", volts = 240, watts = 2600 }`},
		"a part goes":               {"drop bro", ``},
		"a conductor by its name":   {"l1 RD 12 block.L2", `from = "supply.L1", to = "block.L2`},
		"a load named as a word":    {"heat: element 240 V 500 W\nmode warm on heat bake_element", `on = ["heat", "bake_element"]`},
		"another supply":            {"supply 208 3wire", `system = "wye"`},
		"the machine once more": {"bae bu14 bar\nagain bake=broil",
			`broil_relay = { kind = "relay", contact = "no", driven_by = "control" }`},
		"once more, the words parted by hyphens": {"bake-lamp: lamp 120V 25W\nagain bake=broil", `broil-lamp = { kind = "lamp", volts = 120, watts = 25 }`},
		"a control once more has its own modes": {"bake-control: control 120V 5W\nmode bake bar os=177C on co bae\nsense bake-control heat S1 S2 900-2900 in bake\nagain bake=broil",
			`{ name = "heat", pins = ["S1", "S2"], min_ohms = 900, max_ohms = 2900, modes = ["broil"] },`},
	} {
		t.Run(name, func(t *testing.T) {
			after := enter(t, []byte(oven), c.lines)
			specOf(t, after)
			have := squeezed(string(after))
			for _, line := range strings.Split(c.more, "\n") {
				if !strings.Contains(have, squeezed(line)) {
					t.Errorf("not there: %s\n%s", line, after)
				}
			}
			for _, comment := range []string{"# Copied off the back panel.", "# behind the display", "# heavy"} {
				if !strings.Contains(have, comment) {
					t.Errorf("%s is gone\n%s", comment, after)
				}
			}
		})
	}
}

// squeezed leaves one blank where the columns of the house look have several.
func squeezed(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r == ' ' }), " ")
}

// What a line gets wrong is said with what would be right, and nothing is
// written.
func TestWhatALineGetsWrong(t *testing.T) {
	for line, want := range map[string]string{
		"block.L1 BK 12 fuse":           "fuse is not on the list yet: what kind of part is it?",
		"block.L1 BK 12 bake_relya.com": "bake_relya is not on the list yet, or is it bake_relay: what kind of part is it?",
		"block.L1 b bake_relay.x":       `no end bake_relay "x": there are com, no`,
		"block.L1 bk b":                 `part "b" may be block, bake_relay, bake_element, broil_element: one letter more`,
		"block.L1":                      `"block.L1" alone is no wire: FROM COLOUR GAUGE TO, or PART: KIND RATINGS`,
		"bake_element: 20 A":            "bake_element: 20A: amps is not a rating of kind element",
		"plate: element 240V":           "plate: kind element also needs watts",
		"mode bake oven_sensor":         "a sensor takes a temperature, as in oven_sensor=177C",
		"drop motor":                    `nothing goes by the name "motor"`,
		"rename bake_element block":     `"block" is taken`,
		"w7: RD":                        "there is no wire w7",
		"knob: sel off bake(L1":         `a bracket ( is not closed in "bake(L1"`,
		"again x=y":                     `nothing has "x" in its name that is not there with "y"`,
	} {
		_, _, err := describe.Enter("mine.toml", []byte(oven), line)
		if err == nil || err.Error() != want {
			t.Errorf("%s\n  said %v\n  want %s", line, err, want)
		}
	}
	var unknown *describe.Unknown
	_, _, err := describe.Enter("mine.toml", []byte(oven), "block.L1 BK 12 fuse")
	if !errors.As(err, &unknown) || unknown.Part != "fuse" {
		t.Errorf("a new part is not told from a mistake: %v", err)
	}
}

// A machine that starts from one that comes along says only what differs.
func TestWhatDiffersFromAFamily(t *testing.T) {
	text := []byte("from = \"catalog:range-electronic\"\nname = \"mine\"\n")
	text = enter(t, text, "broil_element: 3 kW\ndrop latch latch_plug latch_relay self_clean locking\nterminal_block.L1 bk 18 lamp_relay.com")
	want := `from = "catalog:range-electronic"
name = "mine"

[drop]
parts = ["latch", "latch_plug", "latch_relay"]
modes = ["self_clean", "locking"]

[parts]
broil_element = { watts = 3000 }

[wires]
w75 = { from = "terminal_block.L1.out", to = "lamp_relay.com", colour = "BK", awg = 18 }
`
	if !strings.HasPrefix(string(text), want) {
		t.Error(cmp.Diff(want, string(text)))
	}
	if _, err := netlists.Read("mine.toml", text); err != nil {
		t.Error(err)
	}
}

// FuzzEnter holds that no line, on no text, does worse than be refused.
func FuzzEnter(f *testing.F) {
	for _, line := range []string{"block.L1 BK 12 bake_relay.com", `k: relay 240V 4W main(no) "x" @y`, "mode bake bar os=177C on co", "again bake=broil",
		"point bae.1 8 min", "sense heat S1 S2 900-2900", "code E1 heat >3 open", "w01: to=block.L2 RD 8", "drop bro", "rename bae x", `" " "`, "supply 208", "note x"} {
		f.Add(oven, line)
	}
	f.Fuzz(func(t *testing.T, text, line string) {
		if len(text) > 2048 || len(line) > 200 {
			return
		}
		after, _, err := describe.Enter("fuzz.toml", []byte(text), line)
		if err != nil {
			if after != nil {
				t.Fatalf("%v, and yet a text", err)
			}
			return
		}
		if _, _, err := netlists.Parse("fuzz.toml", after); err != nil && string(after) != text {
			t.Fatalf("%q: %v\n%s", line, err, after)
		}
	})
}
