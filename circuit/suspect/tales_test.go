package suspect_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
)

// fuseShare is the share of the dryer's thermal cut-off after it is said that it
// began after self-clean, with the chances of a netlist.
func fuseShare(t *testing.T, tales map[string]map[string]float64) float64 {
	t.Helper()
	c, err := netlists.Open("dryer")
	if err != nil {
		t.Fatal(err)
	}
	spec := c.Spec()
	spec.Tales = tales
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	e, err := suspect.New(c, suspect.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	told, err := suspect.NewTelling(c, "self_clean", "", "", "")
	if err != nil {
		t.Fatal(err)
	}
	if err := e.Add(t.Context(), suspect.Evidence{Told: told}); err != nil {
		t.Fatal(err)
	}
	share := 0.0
	for _, s := range e.Suspects(1000) {
		if strings.Contains(s.Words(), "Thermal cut-off") {
			share += s.P
		}
	}
	return share
}

// A netlist's own chances are those that count.
func TestChancesOfANetlist(t *testing.T) {
	usual := fuseShare(t, nil)
	more := fuseShare(t, map[string]map[string]float64{"self_clean": {"thermal_fuse": 0.9, "base": 0.001}})
	if more < 2*usual {
		t.Errorf("the cut-off's share is %.3f, by the netlist's chances %.3f", usual, more)
	}
	c, _ := netlists.Open("dryer")
	spec := c.Spec()
	spec.Tales = map[string]map[string]float64{"self_clen": {"base": 0.1}}
	c, _ = circuit.Build(spec)
	if _, err := suspect.New(c, suspect.Options{}); err == nil || !strings.Contains(err.Error(), "self_clean") {
		t.Errorf("a chance of what nobody tells: %v", err)
	}
}

// A netlist gives chances by every kind and by the ways to fail, at the place or anywhere.
func TestEveryChanceOfANetlist(t *testing.T) {
	c := machine(t, "range-electronic")
	first := func(n suspect.Note, tales map[string]map[string]float64) string {
		spec := c.Spec()
		spec.Tales = tales
		own, problems := circuit.Build(spec)
		if own == nil {
			t.Fatal(problems)
		}
		return engine(t, own, suspect.Options{Order: 1}, n).Suspects(1)[0].Words()
	}
	for _, k := range []struct{ what, key, blames string }{
		{"lights_dim", "supply", "Supply"}, {"storm", "wire", "wire"}, {"burnt", "anywhere_joint_high", "high resistance"}, {"noise", "part_open", "open"}, {"smell", "part_short", "grounded"},
	} {
		if words := first(suspect.Note{Told: k.what}, map[string]map[string]float64{k.what: {k.key: 0.99, "base": 1e-6}}); !strings.Contains(words, k.blames) {
			t.Errorf("%s by %s blames %s", k.what, k.key, words)
		}
	}
	here := map[string]map[string]float64{"burnt": {"here_part_open": 1, "base": 1e-4}}
	if words := first(suspect.Note{Told: "burnt", Part: "thermal_fuse"}, here); !strings.Contains(words, "thermal fuse open") {
		t.Errorf("burnt at the fuse blames %s", words)
	}
	if p := suspect.CheckTales(map[string]map[string]float64{"burnt": {"joint_hihg": 0.5}}); len(p) != 1 || !strings.Contains(p[0].Hint, "joint_high") {
		t.Errorf("a slip in a way: %v", p)
	}
}

// Where metal is bonded to neutral alone and that is lost, whatever is on makes the
// metal live; a hot that touches bonded metal trips instead. With an earth of its own
// the metal is no more live for it.
func TestAShockSpeaksForTheOpenBond(t *testing.T) {
	for name, bonded := range map[string]bool{"range-slide-in-3wire": true, "dryer-3wire": true, "range-slide-in": false, "dryer": false} {
		e, err := suspect.New(machine(t, name), suspect.Options{Order: 1})
		if err != nil {
			t.Fatal(err)
		}
		ev, err := suspect.Note{Told: "shock"}.Resolve(e.Circuit())
		if err != nil {
			t.Fatal(err)
		}
		tell(t, e, ev)
		strap := 0.0
		for _, p := range e.PartChance() {
			if p.Name == "strap" {
				strap += p.P
			}
		}
		for _, s := range e.Suspects(1) {
			if open := len(s.Causes) == 1 && slices.Contains(s.Causes[0].Refs(e.Circuit()), "supply.N:open"); open != bonded {
				t.Errorf("%s, a shock: first %s at %.2f", name, s.Words(), s.P)
			}
		}
		if strap > 0.05 {
			t.Errorf("%s: the strap itself at %.2f", name, strap)
		}
	}
}

// A lamp that was fitted anew is not what is shorted: the fuse that the old one blew is
// left (common practice, no source).
func TestANewPartSpeaksForWhatTheOldOneBlew(t *testing.T) {
	blown := []suspect.Note{{Mode: "oven_light", Load: "oven_lamp", State: "dead"}, {Mode: "off", Load: "clock", State: "dead"}}
	of := func(seen ...suspect.Note) (shorted, fuse float64) {
		for _, s := range engine(t, machine(t, "range-mechanical"), suspect.Options{}, seen...).Suspects(30) {
			switch s.Words() {
			case "Oven lamp shorted, Lamp and clock fuse blown by it":
				shorted = s.P
			case "Lamp and clock fuse open":
				fuse = s.P
			}
		}
		return shorted, fuse
	}
	was, _ := of(blown...)
	is, fuse := of(append(blown, suspect.Note{Told: "replaced", Part: "oven_lamp"})...)
	if was == 0 || is > was/2 || fuse == 0 {
		t.Errorf("lamp shorted: %.3f, with a new one %.3f; the fuse alone %.3f", was, is, fuse)
	}
}

// Whatever runs too hot trips the limit that guards it: the two told together fit, and the
// limit is not what is wrong (common practice, no source).
func TestALimitThatTrippedGoesWithTooHot(t *testing.T) {
	e := engine(t, machine(t, "water-heater"), suspect.Options{Order: 2}, suspect.Note{Told: "runs_hot"}, suspect.Note{Told: "found_bad", Part: "limit"})
	if m := e.Misfit(); m != nil {
		t.Errorf("it is said that %d of what was told fits nothing", len(m.Pieces))
	}
	if s := e.Suspects(1)[0]; strings.Contains(s.Words(), "limit") || s.Mistaken {
		t.Errorf("first %s at %.2f", s.Words(), s.P)
	}
}

// A lug burnt at one pole speaks for that pole, and for no other of its block
// (common practice, no source).
func TestABurntPoleIsThatPole(t *testing.T) {
	of := func(at string) (pole map[string]float64) {
		pole = map[string]float64{}
		seen := []suspect.Note{{Mode: "timed_dry", Load: "heater", State: "dead"}, {Mode: "timed_dry", Load: "motor.main", State: "normal"}, {Told: "burnt", Part: "terminal_block", At: at}}
		for _, s := range engine(t, machine(t, "dryer"), suspect.Options{}, seen...).Suspects(30) {
			for _, c := range s.Causes {
				for _, ref := range c.Refs(machine(t, "dryer")) {
					if ref == "terminal_block.L1:open" || ref == "terminal_block.L1:high" || ref == "terminal_block.L2:open" || ref == "terminal_block.L2:high" {
						pole[ref[len("terminal_block."):len("terminal_block.L1")]] += s.P
					}
				}
			}
		}
		return pole
	}
	if p := of("L2"); p["L2"] < 0.4 || p["L1"] > 0.1*p["L2"] {
		t.Errorf("L2 burnt: %v", p)
	}
	if _, err := (suspect.Note{Told: "burnt", Part: "heater", At: "L2"}).Resolve(machine(t, "dryer")); err == nil {
		t.Error("a heater has no pole")
	}
}

// Nobody measures that there is nothing at a place where the breaker tripped, and says
// nothing of that: what is open there leads what trips (common practice, no source).
func TestWhatTripsIsTold(t *testing.T) {
	seen := []suspect.Note{{Mode: "bake", Load: "bake_element", State: "dead"}, {Mode: "broil", Load: "broil_element", State: "normal"},
		{Mode: "bake", Function: "volts", P: "bake_1", Q: "bake_2", Answer: "0"}, {Mode: "off", Quiet: "bake_element broil_element"}}
	trips := func(seen []suspect.Note) (p float64) {
		for _, s := range engine(t, machine(t, "range-electronic"), suspect.Options{}, seen...).Suspects(60) {
			if strings.Contains(s.Words(), "grounded") || strings.Contains(s.Words(), "shorted") {
				p += s.P
			}
		}
		return p
	}
	if quiet, silent := trips(seen[:3]), trips(seen); silent > quiet/2 || quiet == 0 {
		t.Errorf("what trips %.3f, where nobody says that it does %.3f", quiet, silent)
	}
}

// What flashes is lit: an outage that left the clock flashing is over, and what still keeps
// all else dead is how the programmer is set, or its contact (common practice, no source).
func TestAClockThatFlashesHasItsSupply(t *testing.T) {
	seen := []suspect.Note{{Told: "storm"}, {Told: "flashing"}}
	for mode, load := range map[string]string{"top_bottom": "top_element", "fan_oven": "ring_element", "grill": "grill_element", "light": "oven_lamp"} {
		seen = append(seen, suspect.Note{Mode: mode, Load: load, State: "dead"})
	}
	if s := engine(t, machine(t, "oven-230"), suspect.Options{}, seen...).Suspects(1)[0]; !strings.Contains(s.Words(), "Programmer contact") {
		t.Errorf("first %s at %.2f", s.Words(), s.P)
	}
}

// A tired igniter lets through hardly enough: its valve opens now and then, and what comes
// and goes is no loose joint then (common practice, no source).
func TestAValveThatOpensNowAndThenIsFedTooLittle(t *testing.T) {
	e := engine(t, machine(t, "oven-gas"), suspect.Options{}, suspect.Note{Mode: "bake", Slow: true}, suspect.Note{Mode: "bake", Load: "bake_valve", State: "dead"},
		suspect.Note{Load: "bake_valve", Told: "intermittent"}, suspect.Note{Mode: "bake", Load: "bake_igniter", State: "weak"}, suspect.Note{Load: "bake_valve", Told: "fails_hot"})
	if s := e.Suspects(1)[0]; !strings.Contains(s.Words(), "Bake igniter") || s.P < 0.6 {
		t.Errorf("first %s at %.2f", s.Words(), s.P)
	}
}

// A code is shown by a control that is fed, also where all off is its own switch off: what
// stops for a code of the thermocouple is that or its wires (common practice, no source).
func TestACodeIsShownByAControlThatIsFed(t *testing.T) {
	seen := []suspect.Note{{Told: "sensor"}}
	for _, load := range []string{"top_1", "top_2", "middle_1", "middle_2", "bottom_1", "bottom_2"} {
		seen = append(seen, suspect.Note{Mode: "firing", Load: load, State: "dead"})
	}
	for _, s := range engine(t, machine(t, "kiln"), suspect.Options{}, seen...).Suspects(9) {
		if strings.Contains(s.Words(), "control") && s.P > 0.1 {
			t.Errorf("%s at %.2f", s.Words(), s.P)
		}
	}
}

// Where gas is smelt nothing is proposed, live or dead, before somebody says that it was
// cleared; then the search begins as without it (common practice, no source).
func TestGasIsClearedBeforeAnyTest(t *testing.T) {
	cold, gas, cleared := suspect.Note{Mode: "bake", Load: "bake_valve", State: "dead"}, suspect.Note{Told: "gas"}, suspect.Note{Told: "gas_cleared"}
	e := engine(t, machine(t, "oven-gas"), suspect.Options{Order: 2}, cold, gas)
	for what, propose := range map[string]func(context.Context, *suspect.Progress, int) ([]suspect.Proposal, error){"next": e.Next, "rest": e.Rest} {
		if got, err := propose(t.Context(), suspect.NewProgress(), 20); err != nil || len(got) > 0 || !e.Held() || len(e.First()) != 1 {
			t.Errorf("%s: %d tests, held %t, %q, %v", what, len(got), e.Held(), e.First(), err)
		}
	}
	after, without := nextOf(t, "oven-gas", cold, gas, cleared)[0], nextOf(t, "oven-gas", cold)[0]
	if after.Probes != without.Probes || after.Ask != without.Ask {
		t.Errorf("cleared, %s %q; not smelt, %s %q", after.Ask, after.Probes.Name, without.Ask, without.Probes.Name)
	}
}

// What is told of one fact counts the same whatever is told first.
func TestTheOrderOfTellingDoesNotMatter(t *testing.T) {
	c := machine(t, "range-electronic")
	at := func(what string) suspect.Note {
		return suspect.Note{Told: what, Part: "bake_element", At: suspect.AtJoint}
	}
	of := func(what, load string) suspect.Note { return suspect.Note{Told: what, Load: load} }
	for _, told := range [][]suspect.Note{{at("discoloured"), at("burnt"), at("melted")}, {at("sparks"), at("noise")}, {of("intermittent", "bake_element"), of("intermittent", "broil_element"), of("touched", "bake_element")}, {{Told: "too_hot"}, {Told: "too_hot"}}} {
		var want map[string]float64
		for i := range told {
			turned := slices.Concat(told[i:], told[:i])
			got := map[string]float64{}
			for _, s := range engine(t, c, suspect.Options{Order: 1}, turned...).Suspects(1000) {
				got[s.Words()] += s.P
			}
			for words, p := range want {
				if math.Abs(got[words]-p) > 1e-6 {
					t.Errorf("%s told first: %s at %.4f, else %.4f", turned[0].Told, words, got[words], p)
				}
			}
			want = got
		}
	}
}

// A new part that failed again is mostly bad once more, which words alone do not prove, and
// what spoilt it is more to blame than beside a part that failed once (common practice, no
// source).
func TestAPartThatFailedAgain(t *testing.T) {
	part := func(name string, seen ...suspect.Note) (p float64) {
		for _, x := range engine(t, machine(t, "range-electronic"), suspect.Options{}, seen...).PartChance() {
			if x.Name == name {
				p += x.P
			}
		}
		return p
	}
	again := func(name string) suspect.Note { return suspect.Note{Told: "failed_again", Part: name} }
	if was, is := part("bake_element", bakeDead), part("bake_element", bakeDead, again("bake_element")); is < 0.5 || is < 2*was || is > suspect.Sure {
		t.Errorf("the bake element at %.2f, burnt out again at %.2f", was, is)
	}
	cold := []suspect.Note{bakeDead, coldBroiler}
	bad := append(slices.Clip(cold), suspect.Note{Told: "found_bad", Part: "thermal_fuse"})
	if was, is := part("cooling_fan", bad...), part("cooling_fan", append(cold, again("thermal_fuse"))...); is < 1.3*was {
		t.Errorf("the thermal fuse blew: its fan at %.2f; blew again: at %.2f", was, is)
	}
}

// What parts nothing is kept as it was told, says so and weighs nothing.
func TestWhatPartsNothingIsKept(t *testing.T) {
	first := func(seen ...suspect.Note) (string, float64) {
		s := engine(t, machine(t, "range-electronic"), suspect.Options{Order: 1}, seen...).Suspects(1)[0]
		return s.Words(), s.P
	}
	words, p := first(bakeDead)
	for _, what := range []string{"beeps", "since", "sudden", "gradual", "no_trip", "reset", "gas"} {
		e := engine(t, machine(t, "range-electronic"), suspect.Options{Order: 1}, suspect.Note{Told: what})
		if told := e.Evidence()[0].Told.Words(e.Circuit()); !strings.Contains(told, "tells no fault from another") || !e.Uncomplained() || !e.Fits() {
			t.Errorf("%s is kept as %q, speaks %v, fits %v", what, told, !e.Uncomplained(), e.Fits())
		}
		if more, q := first(bakeDead, suspect.Note{Told: what}); more != words || math.Abs(p-q) > 1e-9 {
			t.Errorf("%s makes of %s at %.3f %s at %.3f", what, words, p, more, q)
		}
	}
}
