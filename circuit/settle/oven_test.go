package settle_test

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
)

// oven is a breaker in both legs, then a control on L1 that must see its
// sensor and drives two relays in L1; the elements go back to L2 with nothing
// between. The lamp hangs on L1 behind the door switch. Bake is 24 ohms, broil
// 16. The chassis is bonded to the protective earth.
func oven() *circuittest.Machine {
	m := circuittest.SplitPhase(240).Part(
		circuit.PartSpec{Name: "breaker", Kind: "breaker", Poles: []string{"L1", "L2"}, Amps: 40},
		circuit.PartSpec{Name: "control", Kind: "control", Volts: 120, Watts: 6, MinVolts: 90, Senses: []circuit.SenseSpec{
			{Name: "oven", Pins: []string{"S1", "S2"}, MinOhms: 900, MaxOhms: 2400}}},
		circuit.PartSpec{Name: "sensor", Kind: "sensor", Curve: "pt3750", OhmsAt: 1000},
		circuit.PartSpec{Name: "bake_relay", Kind: "relay", DrivenBy: "control", Contact: "no"},
		circuit.PartSpec{Name: "broil_relay", Kind: "relay", DrivenBy: "control", Contact: "no"},
		circuit.PartSpec{Name: "door", Kind: "door_switch"},
	).Load("element", "bake", 240, 2400).Load("element", "broil", 240, 3600).Load("lamp", "lamp", 120, 40)
	m.Series("supply.L1", "breaker:L1.in>L1.out", "bake_relay:com>no", "bake", "breaker:L2.out>L2.in", "supply.L2")
	m.Series("breaker.L1.out", "broil_relay:com>no", "broil", "breaker.L2.out")
	m.Series("breaker.L1.out", "control:L>N", "supply.N").Series("control.S1", "sensor", "control.S2")
	m.Series("breaker.L1.out", "door", "lamp", "supply.N").Wire("chassis", "supply.G")
	m.Mode("off").Mode("door_open", "door", "closed")
	m.ModeSpec(circuit.ModeSpec{Name: "bake", Drives: []string{"bake_relay"}})
	return m.ModeSpec(circuit.ModeSpec{Name: "broil", Drives: []string{"broil_relay"}})
}

// shares is what the oven's loads take, in the order control, bake, broil, lamp.
func shares(control, bake, broil, lamp string) map[string]string {
	return map[string]string{"control": control, "bake": bake, "broil": broil, "lamp": lamp}
}

func TestASoundOven(t *testing.T) {
	c := oven().Build(t)
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "0.000")}, "off")
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "1.000")}, "door_open")
	expect(t, c, found{Shares: shares("1.000", "1.000", "0.000", "0.000"), Acting: []string{"bake_relay.coil"}}, "bake")
	expect(t, c, found{Shares: shares("1.000", "0.000", "1.000", "0.000"), Acting: []string{"broil_relay.coil"}}, "broil")
}

func TestAWeldedBroilRelayHeatsWithTheControlOff(t *testing.T) {
	c := oven().Build(t)
	expect(t, c, found{Shares: shares("1.000", "0.000", "1.000", "0.000")}, "off", "broil_relay:welded")
}

func TestALostLegLeavesTheLampAndNoHeat(t *testing.T) {
	c := oven().Build(t)
	acting := []string{"bake_relay.coil"}
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "0.000"), Acting: acting}, "bake", "breaker.L2:open")
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "1.000")}, "door_open", "supply.L2:open")
	expect(t, c, found{Shares: shares("0.000", "0.000", "0.000", "0.000")}, "bake", "breaker.L1:open")
}

func TestAnOpenSensorStopsTheControl(t *testing.T) {
	c := oven().Build(t)
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "0.000")}, "bake", "sensor:open")
	o := run(t, c, "bake", "sensor:open")
	state := o.Controls[0]
	if !state.Powered || state.Ready() || state.Senses[0].Connected || !state.Senses[0].Demanded {
		t.Errorf("the control is said to be %+v", state)
	}
	// In mode off nothing is driven, and nothing is demanded.
	if state := run(t, c, "off", "sensor:open").Controls[0]; !state.Ready() {
		t.Errorf("the control is said to be %+v", state)
	}
}

// At 21.1 C the sensor has 1000 (1 + 3.8102e-3 * 21.1 - 6.01888e-7 * 21.1^2) =
// 1080.13 ohms; a joint of 1319 more still passes at 2399, one of 1320 does not.
func TestASensorOutOfRangeStopsTheControl(t *testing.T) {
	c := oven().Build(t)
	got := map[string]string{}
	for _, ref := range []string{"sensor:high=1", "sensor:high=1319", "sensor:high=1320", "sensor:drifted=0.8", "sensor:short"} {
		o := run(t, c, "bake", ref)
		s := o.Controls[0].Senses[0]
		got[ref] = fmt.Sprintf("%.2f %v %s", s.Ohms, s.OK, find(c, o).Shares["bake"])
	}
	want := map[string]string{
		"sensor:high=1": "1081.13 true 1.000", "sensor:high=1319": "2399.13 true 1.000", "sensor:high=1320": "2400.13 false 0.000",
		"sensor:drifted=0.8": "864.10 false 0.000", "sensor:short": "0.00 false 0.000",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestAControlWithoutItsNeutralDrivesNothing(t *testing.T) {
	c := oven().Build(t)
	neutral := ""
	for _, w := range c.Wires() {
		if c.Terminal(w.From).Ref == "control.N" {
			neutral = w.Name
		}
	}
	expect(t, c, found{Shares: shares("0.000", "0.000", "0.000", "0.000")}, "bake", neutral+":open")
	// The lamp and the control on L1 share the neutral; lost at the supply,
	// nothing is left for either to go back to.
	expect(t, c, found{Shares: shares("0.000", "0.000", "0.000", "0.000")}, "bake", "supply.N:open")
	expect(t, c, found{Shares: shares("0.000", "0.000", "0.000", "0.000")}, "door_open", "supply.N:open")
}

func TestABoardRelayWithAnOpenCoilFeedsNothing(t *testing.T) {
	c := oven().Build(t)
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "0.000")}, "bake", "bake_relay.coil:open")
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "0.000"), Acting: []string{"bake_relay.coil"}}, "bake", "bake_relay.contact:open")
}

// Bake is grounded a quarter along from its relay: 18 ohms stand between leg L2
// and the chassis, 120^2/18 = 800 W of its 2400.
func TestAGroundedElementHeatsWithTheControlOff(t *testing.T) {
	c := oven().Build(t)
	expect(t, c, found{Shares: shares("1.000", "0.333", "0.000", "0.000")}, "off", "bake:grounded=0.25")
	// With its relay closed 6 ohms on L1 join: 120^2/6 + 800 = 3200 W.
	expect(t, c, found{Shares: shares("1.000", "1.333", "0.000", "0.000"), Acting: []string{"bake_relay.coil"}}, "bake", "bake:grounded=0.25")
	// Grounded in the middle it takes what it always takes.
	expect(t, c, found{Shares: shares("1.000", "1.000", "0.000", "0.000"), Acting: []string{"bake_relay.coil"}}, "bake", "bake:grounded")
}

func TestAShortedElementTripsEveryPole(t *testing.T) {
	dark := found{Shares: shares("0.000", "0.000", "0.000", "0.000"), Tripped: []string{"breaker.L1", "breaker.L2"}}
	c := oven().Build(t)
	expect(t, c, dark, "bake", "bake:short")
	// Behind 0.04 ohm a leg it draws 240/0.08 = 3000 A, far above 5 * 40.
	resistive := oven().SupplyOhms(0.04).Build(t)
	expect(t, resistive, dark, "bake", "bake:short")
	// Behind its open relay it harms nobody.
	expect(t, c, found{Shares: shares("1.000", "0.000", "1.000", "0.000"), Acting: []string{"broil_relay.coil"}}, "broil", "bake:short")
}

func TestAWeldedPoleDoesNotTrip(t *testing.T) {
	c := oven().Build(t)
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "0.000"), Acting: []string{"bake_relay.coil"},
		Tripped: []string{"breaker.L2"}}, "bake", "bake:short", "breaker.L1:welded")
	// With both poles welded the service opens both legs.
	expect(t, c, found{Shares: shares("0.000", "0.000", "0.000", "0.000"),
		Tripped: []string{"supply.L1", "supply.L2"}}, "bake", "bake:short", "breaker:welded")
}

// At 80 % the control still has 96 V of the 90 it needs: everything takes 64 %.
// At 70 % it has 84 V and drives nothing.
func TestALowSupplyDropsTheControl(t *testing.T) {
	c := oven().Build(t)
	expect(t, c, found{Shares: shares("0.640", "0.640", "0.000", "0.000"), Acting: []string{"bake_relay.coil"}}, "bake", "supply:drifted=0.8")
	expect(t, c, found{Shares: shares("0.490", "0.000", "0.000", "0.000")}, "bake", "supply:drifted=0.7")
}

// A sense limited to some modes is not demanded in others.
func TestASenseOfOneMode(t *testing.T) {
	spec := oven().Spec()
	for i := range spec.Parts {
		if spec.Parts[i].Name == "control" {
			spec.Parts[i].Senses[0].Modes = []string{"bake"}
		}
	}
	c := circuittest.Build(t, spec)
	expect(t, c, found{Shares: shares("1.000", "0.000", "0.000", "0.000")}, "bake", "sensor:open")
	expect(t, c, found{Shares: shares("1.000", "0.000", "1.000", "0.000"), Acting: []string{"broil_relay.coil"}}, "broil", "sensor:open")
}

// A control of which a mode asks nothing has nothing to see, whatever another
// one drives.
func TestAControlThatDrivesNothingDemandsNothing(t *testing.T) {
	m := oven().Part(circuit.PartSpec{Name: "warmer", Kind: "control", Volts: 120, Watts: 6, Senses: []circuit.SenseSpec{
		{Name: "drawer", Pins: []string{"S1", "S2"}, MinOhms: 900, MaxOhms: 2400}}},
		circuit.PartSpec{Name: "drawer_sensor", Kind: "sensor", Curve: "pt3750", OhmsAt: 1000})
	m.Series("breaker.L1.out", "warmer:L>N", "supply.N").Series("warmer.S1", "drawer_sensor", "warmer.S2")
	o := run(t, m.Build(t), "bake", "drawer_sensor:open")
	if s := o.Controls[1]; s.Senses[0].Demanded || !s.Ready() {
		t.Errorf("the warmer in bake: %+v", s)
	}
	if s := o.Controls[0]; !s.Senses[0].Demanded {
		t.Errorf("the oven's control in bake: %+v", s)
	}
}
