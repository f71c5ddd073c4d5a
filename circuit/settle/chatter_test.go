package settle_test

import (
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
)

// buzzing is a relay that cuts off its own coil, a lamp beside the coil and one
// that has nothing to do with it; "released" comes after it with the switch
// open again.
func buzzing(t testing.TB) *circuit.Circuit {
	m := circuittest.SinglePhase(120).Switch("call").Relay("buzzer", "nc", 120, 4).Load("lamp", "lamp", 120, 40).Load("lamp", "steady", 120, 25)
	m.Series("supply.L1", "call", "buzzer:com>nc", "buzzer:A1>A2", "supply.N").Series("buzzer.A1", "lamp", "supply.N")
	m.Series("supply.L1", "steady", "supply.N").Mode("off").Mode("on", "call", "closed")
	return m.ModeSpec(circuit.ModeSpec{Name: "released", After: "on", Set: map[string]string{"call": "open"}}).Build(t)
}

// Every figure of a chattering machine is a range, and one figure only where
// it does not jump.
func TestAChatteringMachineHasNoOneVoltage(t *testing.T) {
	c := buzzing(t)
	o := run(t, c, "on")
	if o.Chatter == nil || len(o.Chatter.States) != 2 || o.Chatter.Cycle != 2 || o.Chatter.Mode != o.Mode {
		t.Fatalf("chatter %+v, want two states in this mode", o.Chatter)
	}
	at := func(ref string) circuit.TerminalID {
		id, err := c.FindTerminal(ref)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	load := func(ref string) circuit.BranchID {
		id, err := c.FindLoad(ref)
		if err != nil {
			t.Fatal(err)
		}
		return id
	}
	neutral := at("supply.N")
	for name, x := range map[string]struct {
		got  settle.Range
		want [2]float64
	}{
		"lamp, volts to neutral": {o.Volts(at("lamp.1"), neutral), [2]float64{0, 120}},
		"lamp, volts":            {o.LoadVolts(load("lamp")), [2]float64{0, 120}},
		"lamp, amps":             {o.Amps(load("lamp")), [2]float64{0, 40.0 / 120}},
		"lamp, watts":            {o.Watts(load("lamp")), [2]float64{0, 40}},
		"steady, watts":          {o.Watts(load("steady")), [2]float64{25, 25}},
		"steady, volts":          {o.Volts(at("steady.1"), neutral), [2]float64{120, 120}},
	} {
		if !near(complex(x.got.Least, x.got.Most), complex(x.want[0], x.want[1])) || x.got.Floats {
			t.Errorf("%s: %+v, want %v", name, x.got, x.want)
		}
		if v, ok := x.got.Steady(); ok != (x.want[0] == x.want[1]) || ok && !near(complex(v, 0), complex(x.want[1], 0)) {
			t.Errorf("%s: steady %v at %g", name, ok, v)
		}
	}
}

// What a mode begins with, after one that chatters, is chance: it says so,
// though it settles.
func TestAModeAfterAChatteringOneSaysSo(t *testing.T) {
	c := buzzing(t)
	o := run(t, c, "released")
	if o.Chatter != nil || o.Earlier == nil || c.Mode(o.Earlier.Mode).Name != "on" {
		t.Errorf("chatter %+v, earlier %+v, want settled after one that chatters in on", o.Chatter, o.Earlier)
	}
	if o := run(t, c, "released", "buzzer.coil:open"); o.Earlier != nil {
		t.Errorf("earlier %+v, though the coil is open", o.Earlier)
	}
	s, err := settle.NewSweep(settle.New(c), o.Mode)
	if err != nil {
		t.Fatal(err)
	}
	swept, err := s.Run(nil)
	if err != nil || swept.Earlier() == nil {
		t.Errorf("a sweep says nothing of the mode before: %v", err)
	}
}
