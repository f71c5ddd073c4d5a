package settle_test

import (
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
)

// A dryer's motor, 120 V with a start winding behind a centrifugal switch that
// opens when it runs; another contact of the switch then lets the heater on.
func TestACentrifugalSwitch(t *testing.T) {
	m := circuittest.SplitPhase(240).Switch("timer").Part(
		circuit.PartSpec{Name: "motor", Kind: "motor", Volts: 120, Watts: 250, StartOhms: 8},
		circuit.PartSpec{Name: "centrifugal", Kind: "centrifugal_switch", DrivenBy: "motor", Contacts: map[string]string{"start": "nc", "heat": "no"}},
	).Load("element", "heater", 240, 5000)
	m.Series("supply.L1", "timer", "motor:1>2", "supply.N").Series("timer.2", "centrifugal:start.com>start.nc", "motor.3")
	m.Series("supply.L1", "centrifugal:heat.com>heat.no", "heater", "supply.L2")
	c := m.Mode("off").Mode("run", "timer", "closed").Build(t)
	expect(t, c, found{Shares: map[string]string{"motor.main": "0.000", "heater": "0.000"}}, "off")
	expect(t, c, found{Shares: map[string]string{"motor.main": "1.000", "heater": "1.000"}, Acting: []string{"motor.main"}}, "run")
	// Without its start winding, or the contact to it, the motor hums and
	// never turns, and the heater stays off.
	hums := found{Shares: map[string]string{"motor.main": "1.000", "heater": "0.000"}}
	expect(t, c, hums, "run", "motor.start:open")
	expect(t, c, hums, "run", "centrifugal.start:open")
	// At half voltage it does not start either: 60 V of the 72 it needs.
	expect(t, c, found{Shares: map[string]string{"motor.main": "0.250", "heater": "0.000"}}, "run", "supply:drifted=0.5")
	// A welded heat contact heats with the drum still.
	expect(t, c, found{Shares: map[string]string{"motor.main": "0.000", "heater": "1.000"}}, "off", "centrifugal.heat:welded")
}

// A fuse of 10 A opens at once above 50: 2 ohms on 120 V draw 60 A, 3 ohms 40.
func TestAFuseBlows(t *testing.T) {
	make := func(ohms float64) *circuit.Circuit {
		m := circuittest.SinglePhase(120).Part(circuit.PartSpec{Name: "fuse", Kind: "fuse", Amps: 10},
			circuit.PartSpec{Name: "heater", Kind: "resistor", Ohms: ohms, Volts: 120}).Load("lamp", "lamp", 120, 40)
		return m.Series("supply.L1", "fuse", "heater", "supply.N").Series("supply.L1", "lamp", "supply.N").Build(t)
	}
	blown := found{Shares: map[string]string{"heater": "0.000", "lamp": "1.000"}, Tripped: []string{"fuse"}}
	expect(t, make(3), found{Shares: map[string]string{"heater": "1.000", "lamp": "1.000"}}, "on")
	expect(t, make(2), blown, "on")
	expect(t, make(12), blown, "on", "heater:short")
	// An open one is not said to have tripped.
	expect(t, make(12), found{Shares: map[string]string{"heater": "0.000", "lamp": "1.000"}}, "on", "fuse:open")
}

// With nothing in the machine to open, the service's breaker opens both legs,
// whichever of them is shorted, and to what.
func TestABoltedShortOpensTheService(t *testing.T) {
	for _, ohms := range []float64{0, 0.04} {
		m := circuittest.SplitPhase(240).SupplyOhms(ohms).Switch("legs").Switch("neutral").Load("lamp", "one", 120, 40).Load("lamp", "two", 120, 40)
		m.Series("supply.L1", "legs", "supply.L2").Series("supply.L1", "neutral", "supply.N")
		m.Series("supply.L1", "one", "supply.N").Series("supply.L2", "two", "supply.N")
		c := m.Mode("off").Mode("leg_to_leg", "legs", "closed").Mode("leg_to_neutral", "neutral", "closed").Build(t)
		dark := found{Shares: map[string]string{"one": "0.000", "two": "0.000"}, Tripped: []string{"supply.L1", "supply.L2"}}
		expect(t, c, found{Shares: map[string]string{"one": "1.000", "two": "1.000"}}, "off")
		expect(t, c, dark, "leg_to_leg")
		expect(t, c, dark, "leg_to_neutral")
	}
}

// A wire grounded to a bonded chassis shorts its leg: the fuse in it opens.
func TestAGroundedWireBlowsTheFuse(t *testing.T) {
	m := circuittest.SinglePhase(120).Part(circuit.PartSpec{Name: "fuse", Kind: "fuse", Amps: 10}).Load("lamp", "lamp", 120, 40)
	m.Series("supply.L1", "fuse", "lamp", "supply.N").Wire("chassis", "supply.G")
	c := m.Build(t)
	expect(t, c, found{Shares: map[string]string{"lamp": "0.000"}, Tripped: []string{"fuse"}}, "on", "w2:grounded")
	// Beyond the lamp the same ground takes the neutral's part.
	expect(t, c, found{Shares: map[string]string{"lamp": "1.000"}}, "on", "w3:grounded", "supply.N:open")
}

// 360 and 144 ohms in series across 240 V: (171.43/120)^2 = 2.041 and
// (68.57/120)^2 = 0.327 of rated power.
func TestALampInSeriesAcrossBothLegs(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("lamp", "lamp", 120, 40).Load("fan", "fan", 120, 100)
	c := m.Series("supply.L1", "lamp", "supply.N").Series("supply.L2", "fan", "supply.N").Build(t)
	expect(t, c, found{Shares: map[string]string{"lamp": "1.000", "fan": "1.000"}}, "on")
	expect(t, c, found{Shares: map[string]string{"lamp": "2.041", "fan": "0.327"}}, "on", "supply.N:open")
}

// Two heats of a cooktop: elements of 1200 W at 240 V, 48 ohms, side by side on
// high; on medium one; on low both in series, a quarter each.
func TestASelectorByItsChart(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("surface_element", "inner", 240, 1200).Load("surface_element", "outer", 240, 1200).Part(
		circuit.PartSpec{Name: "knob", Kind: "selector", Positions: []string{"off", "low", "medium", "high"}, Chart: map[string][][]string{
			"low":    {{"L1", "1"}, {"L2", "2"}},
			"medium": {{"L1", "1"}, {"L2", "3"}},
			"high":   {{"L1", "1", "2"}, {"L2", "3"}},
		}})
	// Inner between 1 and 3, outer between 3 and 2.
	m.Wire("supply.L1", "knob.L1").Wire("supply.L2", "knob.L2")
	m.Series("knob.1", "inner", "knob.3").Series("knob.3", "outer", "knob.2")
	m.Mode("off").Mode("low", "knob", "low").Mode("medium", "knob", "medium").Mode("high", "knob", "high")
	c := m.Build(t)
	for mode, want := range map[string][2]string{"off": {"0.000", "0.000"}, "low": {"0.250", "0.250"},
		"medium": {"1.000", "0.000"}, "high": {"1.000", "1.000"}} {
		expect(t, c, found{Shares: map[string]string{"inner": want[0], "outer": want[1]}}, mode)
	}
}

// In the idle part of an infinite switch's cycle only L2 and the pilot stay.
func TestACyclingSwitch(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("surface_element", "front", 240, 1200).Load("lamp", "pilot", 120, 5).Part(
		circuit.PartSpec{Name: "knob", Kind: "cycling_switch"})
	m.Wire("supply.L1", "knob.L1").Wire("supply.L2", "knob.L2").Series("knob.H1", "front", "knob.H2").Series("knob.P", "pilot", "supply.N")
	c := m.Mode("off").Mode("on", "knob", "on").Mode("idle", "knob", "idle").Build(t)
	for mode, want := range map[string][2]string{"off": {"0.000", "0.000"}, "on": {"1.000", "1.000"}, "idle": {"0.000", "1.000"}} {
		expect(t, c, found{Shares: map[string]string{"front": want[0], "pilot": want[1]}}, mode)
	}
}
