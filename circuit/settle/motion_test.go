package settle_test

import (
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
)

// A motor that draws and does not turn hums: with its start winding or the
// contact to that open, its start capacitor dead, its shaft seized, or the
// supply too low; with its run winding open, on the start winding alone.
func TestAMotorThatDoesNotTurnHums(t *testing.T) {
	m := circuittest.SplitPhase(240).Switch("timer").Part(
		circuit.PartSpec{Name: "motor", Kind: "motor", Volts: 120, Watts: 250, StartOhms: 8},
		circuit.PartSpec{Name: "centrifugal", Kind: "centrifugal_switch", DrivenBy: "motor", Contacts: map[string]string{"start": "nc", "heat": "no"}},
		circuit.PartSpec{Name: "capacitor", Kind: "capacitor", Microfarads: 300},
		circuit.PartSpec{Name: "protector", Kind: "limit"},
		circuit.PartSpec{Name: "plain", Kind: "motor", Volts: 120, Watts: 30},
		circuit.PartSpec{Name: "fan", Kind: "fan", Volts: 120, Watts: 30},
	).Load("element", "heater", 240, 5000)
	m.Series("supply.L1", "timer", "protector", "motor:1>2", "supply.N")
	m.Series("protector.2", "centrifugal:start.com>start.nc", "capacitor", "motor.3")
	m.Series("timer.2", "plain", "supply.N").Series("timer.2", "fan", "supply.N")
	m.Series("supply.L1", "centrifugal:heat.com>heat.no", "heater", "supply.L2")
	c := m.Mode("off").Mode("run", "timer", "closed").Build(t)
	for _, x := range []struct {
		mode, fault, load string
		want              settle.Motion
	}{
		{"off", "", "motor.main", settle.Still},
		{"run", "", "motor.main", settle.Turns},
		{"run", "motor.start:open", "motor.main", settle.Hums},
		{"run", "centrifugal.start:open", "motor.main", settle.Hums},
		{"run", "capacitor:open", "motor.main", settle.Hums},
		{"run", "motor.main:seized", "motor.main", settle.Hums},
		{"run", "motor.main:open", "motor.main", settle.Hums},
		{"run", "protector:open", "motor.main", settle.Still},
		{"run", "supply:drifted=0.5", "motor.main", settle.Hums},
		{"run", "", "plain", settle.Turns},
		{"run", "plain:seized", "plain", settle.Hums},
		{"run", "", "fan", settle.Turns},
		{"run", "supply:drifted=0.5", "fan", settle.Hums},
		{"run", "supply:drifted=0.1", "fan", settle.Still},
		{"run", "", "heater", settle.Still},
	} {
		mode, err := c.FindMode(x.mode)
		if err != nil {
			t.Fatal(err)
		}
		var faults []circuit.Fault
		if x.fault != "" {
			if faults, err = c.ParseFault(x.fault); err != nil {
				t.Fatal(err)
			}
		}
		load, err := c.FindLoad(x.load)
		if err != nil {
			t.Fatal(err)
		}
		e := settle.New(c)
		o, err := e.Run(mode, faults)
		if err != nil {
			t.Fatal(err)
		}
		if got := e.Motion(o, load); got != x.want {
			t.Errorf("%s with %q: %s is %s, expected %s", x.mode, x.fault, x.load, got, x.want)
		}
		s, err := settle.NewSweep(settle.New(c), mode)
		if err != nil {
			t.Fatal(err)
		}
		swept, err := s.Run(faults)
		if err != nil {
			t.Fatal(err)
		}
		if got := swept.Motion(load); got != x.want {
			t.Errorf("%s with %q, swept: %s is %s, expected %s", x.mode, x.fault, x.load, got, x.want)
		}
	}
}

// A motor kept from turning is said to hum wherever loads are judged; one that
// only gets too little is weak.
func TestAMotorKeptFromTurningIsJudgedSo(t *testing.T) {
	m := circuittest.SplitPhase(240).Part(circuit.PartSpec{Name: "drum", Kind: "motor", Volts: 120, Watts: 250, StartOhms: 8}).Load("fan", "fan", 120, 30)
	c := m.Series("supply.L1", "drum:1>2", "supply.N").Wire("drum.1", "drum.3").Series("supply.L1", "fan", "supply.N").Mode("on").Build(t)
	sound := run(t, c, "on")
	for fault, want := range map[string][2]circuit.LoadState{
		"drum.start:open":    {circuit.Hums, circuit.Normal},
		"drum.main:seized":   {circuit.Hums, circuit.Normal},
		"drum.main:open":     {circuit.Dead, circuit.Normal},
		"supply:drifted=0.5": {circuit.Hums, circuit.Weak},
	} {
		o := run(t, c, "on", fault)
		for i, ref := range []string{"drum.main", "fan"} {
			load, err := c.FindLoad(ref)
			if err != nil {
				t.Fatal(err)
			}
			if got := circuit.JudgeLoad(o, sound, load); got != want[i] {
				t.Errorf("%s: %s is %s, expected %s", fault, ref, got, want[i])
			}
		}
	}
	if s, err := circuit.ParseLoadState("hums"); err != nil || s != circuit.Hums || s.Sound() || !s.On() {
		t.Errorf("hums is read as %v (%v)", s, err)
	}
}
