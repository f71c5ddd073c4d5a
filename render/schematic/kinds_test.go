package schematic

import (
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
)

// everyKind is a machine with a part of every kind in a place where such a
// part could be: a dryer with a pump, more or less.
func everyKind(t testing.TB) *circuit.Circuit {
	t.Helper()
	wire := func(name, from, to, colour string) circuit.WireSpec {
		return circuit.WireSpec{Name: name, From: from, To: to, Colour: colour}
	}
	spec := circuit.Spec{
		Name: "every-kind", Title: "A part of every kind",
		Supply: circuit.SupplySpec{System: "split-phase"},
		Parts: []circuit.PartSpec{
			{Name: "breaker", Kind: "breaker", Poles: []string{"L1", "L2"}, Amps: 30, Label: "Dryer breaker"},
			{Name: "block", Kind: "terminal_block", Poles: []string{"L1", "L2", "N"}, Label: "Terminal block"},
			{Name: "door", Kind: "door_switch", Rest: "closed", Label: "Door switch"},
			{Name: "start", Kind: "push_switch", Label: "Start button"},
			{Name: "fuse", Kind: "thermal_fuse", Label: "Thermal fuse"},
			{Name: "line_fuse", Kind: "fuse", Amps: 10, Label: "Line fuse"},
			{Name: "motor", Kind: "motor", Volts: 120, Watts: 400, StartOhms: 4, Label: "Drum motor"},
			{Name: "centrifugal", Kind: "centrifugal_switch", DrivenBy: "motor", Contacts: map[string]string{"start": "nc", "heat": "no"}, Label: "Centrifugal switch"},
			{Name: "heater", Kind: "element", Volts: 240, Watts: 5000, Label: "Heater"},
			{Name: "limit", Kind: "limit", Label: "High limit"},
			{Name: "thermostat", Kind: "thermostat", Label: "Cycling thermostat"},
			{Name: "selector", Kind: "selector", Positions: []string{"off", "low", "high"}, Chart: map[string][][]string{"low": {{"C", "LO"}}, "high": {{"C", "HI"}}}, Label: "Heat selector"},
			{Name: "drop", Kind: "resistor", Ohms: 2000, Label: "Bias heater"},
			{Name: "relay", Kind: "relay", Volts: 24, Watts: 2, Contact: "changeover", Label: "Pump relay"},
			{Name: "delay", Kind: "relay", Volts: 24, Watts: 2, Contact: "no", Timed: true, Label: "Delay relay"},
			{Name: "transformer", Kind: "transformer", Volts: 120, Watts: 20, SecondaryVolts: 24, Label: "Control transformer"},
			{Name: "pump_switch", Kind: "switch", Label: "Pump switch"},
			{Name: "pump", Kind: "fan", Volts: 120, Watts: 40, Label: "Fan"},
			{Name: "run", Kind: "capacitor", Microfarads: 10, Label: "Capacitor"},
			{Name: "valve", Kind: "solenoid", Volts: 120, Watts: 15, Label: "Steam valve"},
			{Name: "pilot", Kind: "lamp", Volts: 120, Watts: 2, Label: "Pilot lamp"},
			{Name: "control", Kind: "control", Volts: 120, Watts: 5, Label: "Dryness control", Senses: []circuit.SenseSpec{{Name: "air", Pins: []string{"S1", "S2"}, MaxOhms: 50000}}},
			{Name: "sensor", Kind: "sensor", Curve: "ntc", OhmsAt: 10000, Beta: 3900, Label: "Air sensor"},
			{Name: "board_relay", Kind: "relay", DrivenBy: "control", Contact: "nc", Label: "Cool-down relay"},
			{Name: "latch", Kind: "latch", Volts: 120, Watts: 5, Label: "Door latch"},
			{Name: "ring", Kind: "cycling_switch", Label: "Plate switch"},
			{Name: "plate", Kind: "surface_element", Volts: 240, Watts: 1200, Label: "Plate"},
			{Name: "plug", Kind: "connector", Label: "Heater plug"},
		},
		Wires: []circuit.WireSpec{
			wire("w1", "supply.L1", "breaker.L1.in", "BK"), wire("w2", "supply.L2", "breaker.L2.in", "RD"),
			wire("w3", "breaker.L1.out", "block.L1.in", "BK"), wire("w4", "breaker.L2.out", "block.L2.in", "RD"),
			wire("w5", "supply.N", "block.N.in", "WH"), wire("w6", "supply.G", "chassis", "GN"),
			wire("w7", "block.L1.out", "line_fuse.1", "BK"), wire("w8", "line_fuse.2", "door.1", "BKRD"),
			wire("w9", "door.2", "fuse.1", "BKWH"), wire("w10", "fuse.2", "start.1", "BKWH"),
			wire("w11", "start.2", "motor.1", "BU"), wire("w12", "start.2", "centrifugal.start.com", "BU"),
			wire("w13", "centrifugal.start.nc", "motor.3", "BUWH"), wire("w14", "motor.2", "block.N.out", "WH"),
			wire("w15", "block.L1.out", "limit.1", "BK"), wire("w16", "limit.2", "thermostat.1", "OG"),
			wire("w17", "thermostat.2", "selector.C", "OGBK"), wire("w18", "selector.HI", "plug.in", "YE"),
			wire("w19", "selector.LO", "drop.1", "YEBK"), wire("w20", "drop.2", "block.N.out", "WH"),
			wire("w21", "plug.out", "heater.1", "YE"), wire("w22", "heater.2", "centrifugal.heat.com", "VT"),
			wire("w23", "centrifugal.heat.no", "block.L2.out", "RD"),
			wire("w24", "line_fuse.2", "transformer.P1", "BKRD"), wire("w25", "transformer.P2", "block.N.out", "WH"),
			wire("w26", "transformer.S1", "relay.A1", "GY"), wire("w27", "relay.A2", "transformer.S2", "GYBK"),
			wire("w28", "transformer.S1", "delay.A1", "GY"), wire("w29", "delay.A2", "transformer.S2", "GYBK"),
			wire("w30", "line_fuse.2", "pump_switch.1", "BKRD"), wire("w31", "pump_switch.2", "relay.com", "PK"),
			wire("w32", "relay.no", "pump.1", "PKBK"), wire("w33", "pump.2", "run.1", "PKWH"),
			wire("w34", "run.2", "block.N.out", "WH"), wire("w35", "relay.nc", "valve.1", "TQ"),
			wire("w36", "valve.2", "block.N.out", "WH"), wire("w37", "line_fuse.2", "control.L", "BKRD"),
			wire("w38", "control.N", "block.N.out", "WH"), wire("w39", "control.S1", "sensor.1", "BN"),
			wire("w40", "control.S2", "sensor.2", "BNWH"), wire("w41", "block.L2.out", "board_relay.com", "RD"),
			wire("w42", "board_relay.nc", "pilot.1", "RDWH"), wire("w43", "pilot.2", "block.N.out", "WH"),
			wire("w44", "line_fuse.2", "delay.com", "BKRD"), wire("w45", "delay.no", "latch.M1", "VTWH"),
			wire("w46", "latch.M2", "latch.1", "VTBK"), wire("w47", "latch.2", "block.N.out", "WH"),
			wire("w48", "block.L1.out", "ring.L1", "BK"), wire("w49", "ring.L2", "block.L2.out", "RD"),
			wire("w50", "ring.H1", "plate.1", "YE"), wire("w51", "ring.H2", "plate.2", "YERD"),
		},
		Modes: []circuit.ModeSpec{{Name: "high", Set: map[string]string{"start": "closed", "selector": "high", "ring": "on"}}},
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	return c
}

// threePhases is a machine on three legs with a splice and a residual-current
// device.
func threePhases(t testing.TB) *circuit.Circuit {
	t.Helper()
	m := circuittest.Star(208).Part(
		circuit.PartSpec{Name: "rcd", Kind: "rcd", Poles: []string{"L1", "L2", "L3", "N"}, ResidualAmps: 0.03, Label: "Residual-current device"},
		circuit.PartSpec{Name: "relay", Kind: "relay", Volts: 120, Watts: 5, Contacts: map[string]string{"a": "no", "b": "no", "c": "no"}, Label: "Contactor"},
		circuit.PartSpec{Name: "splice", Kind: "node", Label: "Splice"},
	).Switch("knob")
	for _, x := range [][4]string{{"one", "L1", "a"}, {"two", "L2", "b"}, {"three", "L3", "c"}} {
		m.Load("element", x[0], 208, 2000)
		m.Series("supply."+x[1], "rcd:"+x[1]+".in>"+x[1]+".out", "relay:"+x[2]+".com>"+x[2]+".no", x[0])
	}
	m.Wire("one.2", "two.1").Wire("two.2", "splice").Wire("splice", "three.1").Wire("three.2", "one.1").Wire("supply.G", "chassis")
	m.Series("rcd.L1.out", "knob", "relay:A1>A2", "rcd:N.out>N.in", "supply.N")
	return m.Mode("on", "knob", "closed").Build(t)
}

// The house's own residual-current device is named at the supply, once, in the
// drawing and in the feed of a load as it is drawn and written.
func TestTheHousesDeviceIsNamed(t *testing.T) {
	spec := circuittest.SinglePhase(230).Switch("knob").Load("element", "oven", 230, 2000).
		Series("supply.L1", "knob", "oven", "supply.N").Mode("on", "knob", "closed").Spec()
	spec.Supply.ResidualAmps = 0.03
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	s := stripOf(t, c, "on")
	var lines strings.Builder
	if err := WriteStripText(&lines, s, Unicode); err != nil {
		t.Fatal(err)
	}
	for what, text := range map[string]string{"drawing": render(t, s.Drawing), "strip": renderStrip(t, s), "text": lines.String()} {
		if n := strings.Count(text, "RCD 30 mA"); n != 1 {
			t.Errorf("the %s names it %d times", what, n)
		}
	}
}
