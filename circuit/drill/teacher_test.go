package drill_test

import (
	"errors"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/drill"
	"legtrace/circuit/meter"
)

// A drill chosen by kind hides that kind and no other, even wires where the level
// alone would not.
func TestADrillIsChosenByKind(t *testing.T) {
	c := machine(t, "range-electronic")
	for _, k := range []struct{ kind, hides string }{
		{"supply", "supply.L1:open supply.L2:open supply.N:open breaker.L1:open breaker.L2:open terminal_block.L1:open terminal_block.L2:open terminal_block.N:open"},
		{"sensor", "oven_sensor:open fan_thermostat:open"},
		{"limit", "thermal_fuse:open oven_limit:open"},
	} {
		for number := range uint64(6) {
			d := draw(t, c, drill.Options{Kind: k.kind, Number: number})
			if got := d.Refs()[0]; !strings.Contains(" "+k.hides+" ", " "+got+" ") {
				t.Errorf("%s, number %d: hides %s", k.kind, number, got)
			}
		}
	}
	d := draw(t, c, drill.Options{Kind: "wire", Number: 1})
	f, err := c.ParseFault(d.Refs()[0])
	if err != nil {
		t.Fatal(err)
	}
	if b := c.Branch(f[0].Branch); b.Wire == circuit.None && c.Part(b.Part).Kind != circuit.KindConnector {
		t.Errorf("a wire is to be hidden, and %s is", d.Refs()[0])
	}
	if _, err := drill.New(t.Context(), c, drill.Options{Kind: "limits"}); err == nil || !strings.Contains(err.Error(), `did you mean "limit"?`) {
		t.Errorf("an unknown kind: %v", err)
	}
}

// A drill chosen by its complaint has the customer say that.
func TestADrillIsChosenByItsComplaint(t *testing.T) {
	c := machine(t, "range-electronic")
	for number := range uint64(6) {
		d := draw(t, c, drill.Options{Level: drill.Journeyman, Load: "broil_element", State: circuit.Dead, Number: number})
		if said := strings.Join(d.Complaint().Said, " "); !strings.Contains(said, "broil element") || !strings.Contains(said, "stays cold") {
			t.Errorf("number %d: %s", number, said)
		}
	}
	// A second fault does not hide it: with a bad joint and an open limit the element
	// would be dead, not weak.
	small := heater(t)
	bench := meter.New(small, meter.DefaultInstrument())
	element, _ := small.FindLoad("element")
	for number := range uint64(12) {
		d := draw(t, small, drill.Options{Level: drill.Master, Faults: 2, Load: "element", State: circuit.Weak, Number: number})
		var faults []circuit.Fault
		for _, h := range d.Hidden() {
			faults = append(faults, h.Cause.Faults...)
		}
		weak := false
		for mode := range small.Modes() {
			is, err := bench.Live(circuit.ModeID(mode), faults)
			if err != nil {
				t.Fatal(err)
			}
			sound, err := bench.Live(circuit.ModeID(mode), nil)
			if err != nil {
				t.Fatal(err)
			}
			weak = weak || circuit.JudgeLoad(is, sound, element) == circuit.Weak
		}
		if !weak {
			t.Errorf("number %d: nothing weak with %v", number, faults)
		}
	}
	// Nothing that opens makes an element too hot.
	if _, err := drill.New(t.Context(), c, drill.Options{Load: "broil_element", State: circuit.TooMuch}); !errors.Is(err, drill.ErrNothingShows) {
		t.Errorf("too hot: %v", err)
	}
}

// What a good machine reads, and why, on the heater: foretold before each
// reading, and a reading without is refused and costs nothing.
func TestReadingsAreForetold(t *testing.T) {
	c := heater(t)
	f, err := c.ParseFault("limit:open")
	if err != nil {
		t.Fatal(err)
	}
	d, err := drill.With(c, drill.Options{Foretell: true}, f)
	if err != nil {
		t.Fatal(err)
	}
	s := d.Start()
	play := func(line string) (*drill.Step, error) {
		t.Helper()
		m, err := drill.Parse(c, line)
		if err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		return s.Play(m)
	}
	if _, err := play("volts el_1 el_2 in heat"); err == nil || s.Minutes() != 0 {
		t.Errorf("a reading that was not foretold: %v, %g minutes", err, s.Minutes())
	}
	for _, k := range []struct {
		before, expect, read string
		value, right         bool
		why                  drill.Reason
	}{
		// Element between the legs: 240 V. The limit that is open makes it 0.
		{"prove", "240 fed", "volts el_1 el_2 in heat", true, true, drill.Fed},
		// A closed fuse drops nothing.
		{"", "0 same", "volts fuse_1 fuse_2", true, true, drill.Same},
		{"", "240 fed", "volts fuse_1 fuse_2", false, false, drill.Same},
		// Right by chance is not right.
		{"", "0 fed", "volts fuse_1 fuse_2", true, false, drill.Same},
		{"", "120 fed", "volts lamp_2 el_1", true, true, drill.Fed},
		{"off; prove; dead", "OL apart", "ohms el_1 chassis", true, true, drill.Apart},
		{"", "24 through", "ohms el_1 el_2", true, true, drill.Through},
		{"", "OL apart", "ohms el_2 limit_2", false, false, drill.Closed},
	} {
		for _, line := range strings.Split(k.before, "; ") {
			if line != "" {
				if _, err := play(line); err != nil {
					t.Fatal(err)
				}
			}
		}
		if _, err := play("expect " + k.expect); err != nil {
			t.Fatal(err)
		}
		step, err := play(k.read)
		if err != nil {
			t.Fatal(err)
		}
		if got := step.Foretold; got == nil || got.Value != k.value || got.Right != k.right || got.Why != k.why {
			t.Errorf("%s, foretold %s: %+v, %v", k.read, k.expect, got, step.Said)
		}
	}
	if f := s.Figures(); f.Foretold != 8 || f.Right != 5 {
		t.Errorf("%d foretold, %d right", f.Foretold, f.Right)
	}
	for line, want := range map[string]string{
		"expect 240": `as in "expect 240 fed"`, "expect 240 fedd": `did you mean "fed"?`, "expect lots fed": "lots",
	} {
		if _, err := drill.Parse(c, line); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", line, err)
		}
	}
}

// A sealed drill tells nothing by its code, opens with its word alone, and is
// the same drill.
func TestASealedDrillOpensWithItsWordAlone(t *testing.T) {
	c := machine(t, "range-electronic")
	d := hide(t, c, "broil_element:open")
	mine, err := drill.NewSeal("three blue lamps")
	if err != nil {
		t.Fatal(err)
	}
	other, err := drill.NewSeal("three blue lamp")
	if err != nil {
		t.Fatal(err)
	}
	code, err := mine.Close(d)
	if err != nil {
		t.Fatal(err)
	}
	again, err := mine.Close(d)
	if err != nil || again != code {
		t.Errorf("sealed twice: %q and %q, %v", code, again, err)
	}
	// As long whatever it hides, so that the length tells nothing either.
	if longer, err := mine.Close(hide(t, c, "broil_relay.contact:open")); err != nil || len(longer) != len(code) {
		t.Errorf("%d letters, and %d: %v", len(code), len(longer), err)
	}
	got, err := mine.Open(c, code[:40]+"\n  "+code[40:])
	if err != nil || got.Refs()[0] != "broil_element:open" || got.Options() != d.Options() {
		t.Errorf("opened: %v, %v", got, err)
	}
	changed := []byte(code)
	changed[len(changed)/2] ^= 1
	for what, try := range map[string]func() (*drill.Drill, error){
		"another word":   func() (*drill.Drill, error) { return other.Open(c, code) },
		"a changed code": func() (*drill.Drill, error) { return mine.Open(c, string(changed)) },
		"a short code":   func() (*drill.Drill, error) { return mine.Open(c, "abc") },
	} {
		if _, err := try(); !errors.Is(err, drill.ErrSealed) {
			t.Errorf("%s: %v", what, err)
		}
	}
	if _, err := mine.Open(machine(t, "dryer"), code); err == nil || !strings.Contains(err.Error(), `on the machine "range-electronic"`) {
		t.Errorf("another machine: %v", err)
	}
	if _, err := drill.NewSeal("lamp"); err == nil {
		t.Error("a word of four letters seals")
	}
}

// Three in a row, nothing unsafe, each within a quarter more than the best plan.
func TestMastery(t *testing.T) {
	score := func(end drill.End, minutes, chance float64, unsafe int) drill.Score {
		return drill.Score{End: end, Yours: drill.Figures{Minutes: minutes, Chance: chance, Unsafe: unsafe}, Best: drill.Figures{Minutes: 20}}
	}
	good := score(drill.Found, 25, 0, 0)
	for what, k := range map[string]struct {
		scores []drill.Score
		want   bool
	}{
		"three in a row":           {[]drill.Score{good, good, good}, true},
		"two":                      {[]drill.Score{good, good}, false},
		"one too slow between":     {[]drill.Score{good, good, score(drill.Found, 25.1, 0, 0), good}, false},
		"one unsafe act between":   {[]drill.Score{good, score(drill.Found, 10, 0, 1), good, good}, false},
		"a lucky guess":            {[]drill.Score{good, good, score(drill.Found, 2, 28, 0)}, false},
		"one given up, then three": {[]drill.Score{score(drill.GaveUp, 5, 0, 0), good, good, good}, true},
	} {
		if got := drill.Mastered(k.scores); got != k.want {
			t.Errorf("%s: %v", what, got)
		}
	}
}

// Faults met before, of a kind met before, of a new kind and on a new machine
// are told apart.
func TestHowNewAFaultIs(t *testing.T) {
	ranges, dryer := machine(t, "range-electronic"), machine(t, "dryer")
	var met drill.Met
	for _, k := range []struct {
		c     *circuit.Circuit
		hides string
		want  drill.Novelty
	}{
		{ranges, "broil_element:open", drill.NewMachine},
		{ranges, "bake_element:open", drill.SameKind},
		{ranges, "oven_sensor:open", drill.NewKind},
		{ranges, "broil_element:open", drill.OldFault},
		{dryer, "heater:open", drill.NewMachine},
	} {
		if got := met.Add(hide(t, k.c, k.hides)); got != k.want {
			t.Errorf("%s: %s, wanted %s", k.hides, got, k.want)
		}
	}
}

// A long cord drops 5 to 7 V of 240: what the sheet calls nothing, the drill calls so too.
func TestNoVoltsAreJudgedAsTheMeterJudgesThem(t *testing.T) {
	spec := circuittest.SplitPhase(240).
		Part(circuit.PartSpec{Kind: "element", Name: "element", Volts: 240, Watts: 2400}, circuit.PartSpec{Kind: "switch", Name: "switch"}).
		Series("supply.L1", "switch", "element", "supply.L2").Wire("supply.G", "chassis").
		Mode("off").Mode("heat", "switch", "closed").Spec()
	for i := range spec.Wires {
		if spec.Wires[i].From == "switch.2" {
			spec.Wires[i].AWG, spec.Wires[i].Metres = 18, 24
		}
	}
	c := circuittest.Build(t, spec)
	bench := meter.New(c, meter.DefaultInstrument())
	o, err := bench.Live(1, nil)
	if err != nil {
		t.Fatal(err)
	}
	p, _ := c.FindTerminal("switch.2")
	q, _ := c.FindTerminal("element.1")
	r, err := bench.Volts(o, meter.Volts, p, q)
	if err != nil || r.Value <= 5 || !bench.NearZero(r) {
		t.Fatalf("the cord drops %s (%v): the test wants 5 V to %.1f V", r.Range(), err, bench.Nothing())
	}
	f, err := c.ParseFault("element:open")
	if err != nil {
		t.Fatal(err)
	}
	d, err := drill.With(c, drill.Options{Foretell: true}, f)
	if err != nil {
		t.Fatal(err)
	}
	steps := play(t, d.Start(), "try heat", "prove", "expect 5 same", "volts switch.2 element.1")
	if f := steps[3].Foretold; f == nil || f.Why != drill.Same {
		t.Errorf("the drill has %+v", f)
	}
}
