package settle_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
)

func TestANormallyClosedContactOpensWithItsCoil(t *testing.T) {
	m := circuittest.SinglePhase(120).Switch("call").Relay("k", "nc", 120, 4).Load("lamp", "lamp", 120, 40)
	m.Series("supply.L1", "call", "k:A1>A2", "supply.N").Series("supply.L1", "k:com>nc", "lamp", "supply.N")
	c := m.Mode("off").Mode("on", "call", "closed").Build(t)
	lit, dark := map[string]string{"k.coil": "0.000", "lamp": "1.000"}, map[string]string{"k.coil": "1.000", "lamp": "0.000"}
	expect(t, c, found{Shares: lit}, "off")
	expect(t, c, found{Shares: dark, Acting: []string{"k.coil"}}, "on")
	expect(t, c, found{Shares: lit}, "on", "call:open")
	expect(t, c, found{Shares: map[string]string{"k.coil": "0.000", "lamp": "1.000"}}, "on", "k.coil:open")
	expect(t, c, found{Shares: map[string]string{"k.coil": "1.000", "lamp": "1.000"}, Acting: []string{"k.coil"}}, "on", "k.contact:welded")
}

// starter holds its coil through its own contact, beside the start button; the
// stop button opens both.
func starter(t *testing.T) *circuit.Circuit {
	m := circuittest.SinglePhase(120).Part(
		circuit.PartSpec{Name: "start", Kind: "push_switch"}, circuit.PartSpec{Name: "stop", Kind: "push_switch", Rest: "closed"},
		circuit.PartSpec{Name: "k", Kind: "relay", Volts: 120, Watts: 4, Contacts: map[string]string{"seal": "no", "main": "no"}},
	).Load("fan", "fan", 120, 60)
	m.Series("supply.L1", "stop", "start", "k:A1>A2", "supply.N").Series("stop.2", "k:seal.com>seal.no", "k.A1")
	m.Series("supply.L1", "k:main.com>main.no", "fan", "supply.N")
	m.Mode("idle").Mode("start", "start", "closed")
	m.ModeSpec(circuit.ModeSpec{Name: "run", After: "start"})
	m.ModeSpec(circuit.ModeSpec{Name: "stop", After: "run", Set: map[string]string{"stop": "open"}})
	return m.ModeSpec(circuit.ModeSpec{Name: "stopped", After: "stop"}).Build(t)
}

func TestASelfHoldingRelayRemembers(t *testing.T) {
	c := starter(t)
	off := found{Shares: map[string]string{"k.coil": "0.000", "fan": "0.000"}}
	on := found{Shares: map[string]string{"k.coil": "1.000", "fan": "1.000"}, Acting: []string{"k.coil"}}
	for mode, want := range map[string]found{"idle": off, "start": on, "run": on, "stop": off, "stopped": off} {
		expect(t, c, want, mode)
	}
	// Without its holding contact it runs only while the button is held.
	expect(t, c, on, "start", "k.seal:open")
	expect(t, c, off, "run", "k.seal:open")
	// A welded holding contact starts it unasked, and stop still stops it,
	// until the button comes back.
	expect(t, c, on, "idle", "k.seal:welded")
	expect(t, c, off, "stop", "k.seal:welded")
	expect(t, c, on, "stopped", "k.seal:welded")
}

// A timed contact acts when its coil has stayed energised, and never in a mode
// that passes at once; a timed normally closed one lets a heater run first.
func TestATimedRelay(t *testing.T) {
	m := circuittest.SinglePhase(120).Switch("call").Load("lamp", "late", 120, 40).Load("lamp", "early", 120, 40).Part(
		circuit.PartSpec{Name: "t", Kind: "relay", Volts: 120, Watts: 4, Timed: true, Contact: "changeover"})
	m.Series("supply.L1", "call", "t:A1>A2", "supply.N").Wire("call.2", "t.com")
	m.Series("t.no", "late", "supply.N").Series("t.nc", "early", "supply.N")
	m.Mode("off").Mode("held", "call", "closed")
	m.ModeSpec(circuit.ModeSpec{Name: "tapped", Brief: true, Set: map[string]string{"call": "closed"}})
	c := m.ModeSpec(circuit.ModeSpec{Name: "released", After: "held"}).Build(t)
	none := map[string]string{"late": "0.000", "early": "0.000", "t.coil": "0.000"}
	expect(t, c, found{Shares: none}, "off")
	expect(t, c, found{Shares: map[string]string{"late": "1.000", "early": "0.000", "t.coil": "1.000"}, Acting: []string{"t.coil"}}, "held")
	expect(t, c, found{Shares: map[string]string{"late": "0.000", "early": "1.000", "t.coil": "1.000"}, Acting: []string{"t.coil"}}, "tapped")
	expect(t, c, found{Shares: none}, "released")
}

// A coil fed through its own normally closed contact pulls in, cuts itself
// off, falls back and pulls in again.
func TestABuzzingRelayIsNamed(t *testing.T) {
	m := circuittest.SinglePhase(120).Relay("buzzer", "nc", 120, 4).Load("lamp", "lamp", 120, 40).Load("lamp", "steady", 120, 25)
	m.Series("supply.L1", "buzzer:com>nc", "buzzer:A1>A2", "supply.N").Series("buzzer.A1", "lamp", "supply.N")
	c := m.Series("supply.L1", "steady", "supply.N").Build(t)
	o := run(t, c, "on")
	want := found{Shares: map[string]string{"buzzer.coil": "0.000 to 1.000", "lamp": "0.000 to 1.000", "steady": "1.000"},
		Chatter: []string{"buzzer.contact"}}
	got := find(c, o)
	got.Acting = nil // whichever state the cycle was left in
	if diff := cmp.Diff(want, got); diff != "" || o.Chatter.Cycle != 2 {
		t.Errorf("a cycle of %d states: %s", o.Chatter.Cycle, diff)
	}
	expect(t, c, found{Shares: map[string]string{"buzzer.coil": "1.000", "lamp": "1.000", "steady": "1.000"},
		Acting: []string{"buzzer.coil"}}, "on", "buzzer.contact:welded")
}

// interlocked relays each feed the other's coil through a normally closed
// contact: one wins, and the loser stays out. Which one is chance in the
// machine; here it is always the one described later.
func interlocked(m *circuittest.Machine) *circuittest.Machine {
	for _, name := range []string{"forward", "reverse"} {
		m.Part(circuit.PartSpec{Name: name, Kind: "relay", Volts: 120, Watts: 4, Contacts: map[string]string{"lock": "nc", "main": "no"}})
	}
	m.Load("lamp", "forward_lamp", 120, 40).Load("lamp", "reverse_lamp", 120, 40)
	m.Series("supply.L1", "reverse:lock.com>lock.nc", "forward:A1>A2", "supply.N")
	m.Series("supply.L1", "forward:lock.com>lock.nc", "reverse:A1>A2", "supply.N")
	m.Series("supply.L1", "forward:main.com>main.no", "forward_lamp", "supply.N")
	return m.Series("supply.L1", "reverse:main.com>main.no", "reverse_lamp", "supply.N")
}

func TestARaceIsNotChatter(t *testing.T) {
	c := interlocked(circuittest.SinglePhase(120)).Build(t)
	expect(t, c, found{Shares: map[string]string{"forward.coil": "0.000", "reverse.coil": "1.000", "forward_lamp": "0.000", "reverse_lamp": "1.000"},
		Acting: []string{"reverse.coil"}}, "on")
}

// A buzzing relay elsewhere does not keep the two from settling.
func TestARaceBesideABuzzer(t *testing.T) {
	m := circuittest.SinglePhase(120).Relay("buzzer", "nc", 120, 4)
	m.Series("supply.L1", "buzzer:com>nc", "buzzer:A1>A2", "supply.N")
	c := interlocked(m).Build(t)
	got := find(c, run(t, c, "on"))
	got.Acting = nil
	want := found{Shares: map[string]string{"buzzer.coil": "0.000 to 1.000", "forward.coil": "0.000", "reverse.coil": "1.000",
		"forward_lamp": "0.000", "reverse_lamp": "1.000"}, Chatter: []string{"buzzer.contact"}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Rings of 3, 5, 7, 11 and 13 relays, each coil fed through the normally closed
// contact of the one before, chatter at periods whose common one is 30030
// states: all 39 contacts are named without waiting for it.
func TestManyChatteringRelaysEnd(t *testing.T) {
	m := circuittest.SinglePhase(120)
	contacts := 0
	for _, n := range []int{3, 5, 7, 11, 13} {
		name := func(i int) string { return fmt.Sprintf("k%d_%d", n, i%n) }
		for i := 0; i < n; i++ {
			m.Relay(name(i), "nc", 120, 4)
		}
		for i := 0; i < n; i++ {
			m.Series("supply.L1", name(i)+":com>nc", name(i+1)+":A1>A2", "supply.N")
		}
		contacts += n
	}
	c := m.Build(t)
	o := run(t, c, "on")
	if o.Chatter == nil || len(o.Chatter.Contacts) != contacts {
		t.Errorf("chatter %+v, want %d contacts", o.Chatter, contacts)
	}
}

// A 120 V coil pulls in at 90 V and lets go below 48. Its 3600 ohms get 60 V
// through as many, 40 V through twice as many.
func TestACoilHoldsOnLessThanItPullsInOn(t *testing.T) {
	m := circuittest.SinglePhase(120).Relay("k", "no", 120, 4).Switch("all").Switch("half").Resistor("r1", 3600).Resistor("r2", 3600).
		Load("lamp", "lamp", 120, 40)
	m.Series("supply.L1", "r1", "r2", "k:A1>A2", "supply.N").Series("supply.L1", "all", "k.A1").Series("r1.2", "half", "k.A1")
	m.Series("supply.L1", "k:com>no", "lamp", "supply.N")
	m.Mode("full", "all", "closed").Mode("half", "half", "closed").Mode("third")
	m.ModeSpec(circuit.ModeSpec{Name: "half_after", After: "full", Set: map[string]string{"half": "closed"}})
	m.ModeSpec(circuit.ModeSpec{Name: "third_after", After: "full"})
	c := m.Build(t)
	want := map[string]found{
		"full":        {Shares: map[string]string{"k.coil": "1.000", "lamp": "1.000"}, Acting: []string{"k.coil"}},
		"half":        {Shares: map[string]string{"k.coil": "0.250", "lamp": "0.000"}},
		"half_after":  {Shares: map[string]string{"k.coil": "0.250", "lamp": "1.000"}, Acting: []string{"k.coil"}},
		"third":       {Shares: map[string]string{"k.coil": "0.111", "lamp": "0.000"}},
		"third_after": {Shares: map[string]string{"k.coil": "0.111", "lamp": "0.000"}},
	}
	for mode, w := range want {
		expect(t, c, w, mode)
	}
	// A bad joint in the coil of as many ohms leaves it 60 V: it does not pull
	// in, and takes a quarter of its power.
	expect(t, c, want["half"], "full", "k.coil:high=3600")
}

// A control transformer gives its 24 V coil 144/(144 + 0.72) of 24 V: 23.88.
// At 70 % that is 16.72, below the 18 the coil needs; (16.72/24)^2 = 0.485.
func TestACoilOnATransformer(t *testing.T) {
	m := circuittest.SplitPhase(240).Part(circuit.PartSpec{Name: "tr", Kind: "transformer", Volts: 120, Watts: 40, SecondaryVolts: 24})
	m.Switch("call").Relay("k", "no", 24, 4).Load("element", "heat", 240, 4800)
	m.Wire("supply.L1", "tr.P1").Wire("supply.N", "tr.P2").Series("tr.S1", "call", "k:A1>A2", "tr.S2")
	m.Series("supply.L1", "k:com>no", "heat", "supply.L2")
	c := m.Mode("off").Mode("on", "call", "closed").Build(t)
	expect(t, c, found{Shares: map[string]string{"k.coil": "0.000", "heat": "0.000"}}, "off")
	expect(t, c, found{Shares: map[string]string{"k.coil": "0.990", "heat": "1.000"}, Acting: []string{"k.coil"}}, "on")
	expect(t, c, found{Shares: map[string]string{"k.coil": "0.485", "heat": "0.000"}}, "on", "supply:drifted=0.7")
	expect(t, c, found{Shares: map[string]string{"k.coil": "0.000", "heat": "0.000"}}, "on", "tr.secondary:open")
	expect(t, c, found{Shares: map[string]string{"k.coil": "0.000", "heat": "0.000"}}, "on", "tr.primary:open")
}
