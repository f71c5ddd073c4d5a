package audit_test

import (
	"context"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/audit"
	"legtrace/circuit/circuittest"
	"legtrace/netlists"
)

func findings(t *testing.T, c *circuit.Circuit) map[audit.Kind][]string {
	t.Helper()
	all, err := audit.Run(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	out := map[audit.Kind][]string{}
	for _, f := range all {
		if f.Reason == "" || f.Path == "" {
			t.Errorf("%q has no reason or place", f.Message)
		}
		out[f.Kind] = append(out[f.Kind], f.Message)
	}
	return out
}

func expect(t *testing.T, got map[audit.Kind][]string, kind audit.Kind, parts ...string) {
	t.Helper()
	for _, m := range got[kind] {
		all := true
		for _, p := range parts {
			all = all && strings.Contains(m, p)
		}
		if all {
			return
		}
	}
	t.Errorf("no %s that tells of %q among %q", kind, parts, got[kind])
}

// 9,600 W at 240 V is 40 A: more than 14 AWG carries, and than a 30 A breaker.
func TestWireAndBreakerTooSmall(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "element", 240, 9600).
		Part(circuit.PartSpec{Kind: "breaker", Name: "breaker", Poles: []string{"L1", "L2"}, Amps: 30}).
		Series("supply.L1", "breaker.L1.in").Series("supply.L2", "breaker.L2.in").
		Series("breaker.L1.out", "element", "breaker.L2.out")
	spec := m.Spec()
	spec.Wires[2].AWG = 14
	got := findings(t, circuittest.Build(t, spec))
	expect(t, got, audit.ThinWire, "40.0 A", "14 AWG")
	expect(t, got, audit.SmallBreaker, "40.0 A", "30 A")
}

// The limit breaks the relay's coil, not the heater: a welded relay defeats it.
func TestLimitThatAWeldedRelayDefeats(t *testing.T) {
	c := circuittest.SplitPhase(240).Load("element", "element", 240, 2400).Relay("relay", "no", 120, 3).
		Part(circuit.PartSpec{Kind: "limit", Name: "limit"}).Switch("control").
		Series("supply.L1", "relay:com>no", "element", "supply.L2").
		Series("supply.L1", "control", "limit", "relay:A1>A2", "supply.N").
		Mode("off").Mode("on", "control", "closed").Build(t)
	got := findings(t, c)
	expect(t, got, audit.BypassedLimit, "relay contact welded", "Limit no longer stops the element")
	expect(t, got, audit.OneFaultHeats, "relay contact welded", "2400 W")
}

func TestIdleLimitAndUnusedPart(t *testing.T) {
	c := circuittest.SplitPhase(240).Load("element", "element", 240, 2400).Load("lamp", "lamp", 120, 40).
		Part(circuit.PartSpec{Kind: "limit", Name: "limit"}).Switch("key").
		Series("supply.L1", "element", "supply.L2").Series("supply.L1", "limit").
		Series("limit.2", "element.1").
		Series("supply.L1", "key", "lamp", "supply.N").Build(t)
	got := findings(t, c)
	expect(t, got, audit.IdleLimit, "Limit stops no load")
	expect(t, got, audit.Unused, "the lamp")
	expect(t, got, audit.Unused, "the key")
}

// What is said of a part that carries nothing is true: not of one beside a wire
// of no resistance, whose share cannot be told, nor of a start winding and its
// contact, which carry until the motor is up to speed, nor of what a chattering
// relay feeds now and then.
func TestNoPartIsCalledUnusedThatCarriesCurrent(t *testing.T) {
	beside := circuittest.SplitPhase(240).Load("element", "element", 240, 2400).Switch("one").Switch("two").
		Series("supply.L1", "one", "element", "supply.L2").Series("one.1", "two").Series("two.2", "one.2").
		Mode("both", "one", "closed", "two", "closed").Build(t)
	start := circuittest.SplitPhase(240).
		Part(circuit.PartSpec{Kind: "motor", Name: "motor", Volts: 120, Watts: 300, StartOhms: 8}).
		Part(circuit.PartSpec{Kind: "centrifugal_switch", Name: "centrifugal", DrivenBy: "motor", Contact: "nc"}).
		Series("supply.L1", "motor:1>2", "supply.N").
		Series("supply.L1", "centrifugal:com>nc", "motor.3").Mode("run").Build(t)
	buzzer := circuittest.SplitPhase(240).Relay("relay", "nc", 120, 3).Load("lamp", "lamp", 120, 40).
		Series("supply.L1", "relay:com>nc", "relay:A1>A2", "supply.N").
		Series("relay.nc", "lamp", "supply.N").Mode("on").Build(t)
	for name, c := range map[string]*circuit.Circuit{"beside": beside, "start": start, "buzzer": buzzer} {
		if got := findings(t, c)[audit.Unused]; len(got) > 0 {
			t.Errorf("%s: %q", name, got)
		}
	}
}

// NFPA 70-2020 240.4(D): 30 A ahead of 10 AWG (from memory). What lies behind
// the terminal block is the machine's own.
func TestBreakerTooLargeForTheWhip(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "element", 240, 2400).
		Part(circuit.PartSpec{Kind: "breaker", Name: "breaker", Poles: []string{"L1", "L2"}, Amps: 60},
			circuit.PartSpec{Kind: "terminal_block", Name: "block", Poles: []string{"L1", "L2"}}).
		Series("supply.L1", "breaker.L1.in").Series("supply.L2", "breaker.L2.in").
		Series("breaker.L1.out", "block.L1.in").Series("breaker.L2.out", "block.L2.in").
		Series("block.L1.out", "element", "block.L2.out")
	spec := m.Spec()
	for i := range spec.Wires {
		spec.Wires[i].AWG = 10
	}
	got := findings(t, circuittest.Build(t, spec))[audit.LargeBreaker]
	if len(got) != 1 || strings.Count(got[0], "w") < 4 || !strings.Contains(got[0], "30 A is the most") || strings.Contains(got[0], "w5") {
		t.Errorf("said: %q", got)
	}
}

// Two parts in series with a point at either end of the pair only.
func TestPartsThatNoPointTellsApart(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "element", 240, 2400).
		Part(circuit.PartSpec{Kind: "thermal_fuse", Name: "fuse"}, circuit.PartSpec{Kind: "limit", Name: "limit"}).
		Series("supply.L1", "fuse", "limit", "element", "supply.L2")
	spec := m.Spec()
	spec.Points = []circuit.PointSpec{{Name: "in", At: "fuse.1"}, {Name: "out", At: "element.1"}}
	expect(t, findings(t, circuittest.Build(t, spec)), audit.NotToldApart, "fuse and limit")
}

// 2,400 W at 240 V is 24 ohms hot: an element that reads 2.3 cold was copied
// down with its point in the wrong place. A motor's winding of 2.3 may well be.
func TestColdOhmsThatTheRatingSpeaksAgainst(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Part(circuit.PartSpec{Kind: "element", Name: "element", Volts: 240, Watts: 2400, ColdOhms: 2.3}).
		Part(circuit.PartSpec{Kind: "motor", Name: "motor", Volts: 120, Watts: 300, ColdOhms: 4}).
		Series("supply.L1", "element", "supply.L2").
		Series("supply.L1", "motor", "supply.N").Build(t)
	got := findings(t, c)
	expect(t, got, audit.ColdOhms, "Element", "2.3 ohms cold")
	if len(got[audit.ColdOhms]) > 1 {
		t.Errorf("findings: %q", got[audit.ColdOhms])
	}
}

func TestShippedMachinesCarryTheirLoads(t *testing.T) {
	for _, e := range netlists.Catalog() {
		c, err := netlists.Open(e.Name)
		if err != nil {
			t.Fatal(err)
		}
		got := findings(t, c)
		for _, kind := range []audit.Kind{audit.ThinWire, audit.SmallBreaker, audit.LargeBreaker, audit.Unused, audit.IdleLimit, audit.Grounding,
			audit.Crossed, audit.Colour, audit.Rating, audit.OddKind, audit.Overfed, audit.Bridged, audit.Twice} {
			for _, m := range got[kind] {
				t.Errorf("%s: %s: %s", e.Name, kind, m)
			}
		}
		for _, kind := range []audit.Kind{audit.BypassedLimit, audit.OneFaultHeats, audit.NotToldApart} {
			for _, m := range got[kind] {
				t.Logf("%s: %s: %s", e.Name, kind, m)
			}
		}
	}
}
