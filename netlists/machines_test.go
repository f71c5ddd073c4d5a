package netlists_test

import (
	"context"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/netlists"
)

// shareTolerance is what the expectations of a netlist may be off by: a load
// at full power loses a per cent or so in the supply's resistance.
const shareTolerance = 0.02

func TestEveryCatalogMachineDoesWhatItsModesExpect(t *testing.T) {
	for _, entry := range netlists.Catalog() {
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		engine := settle.New(c)
		for _, mode := range c.Modes() {
			out, err := engine.Run(mode.ID, nil)
			if err != nil {
				t.Fatalf("%s in %s: %v", entry.Name, mode.Name, err)
			}
			if out.Chatter != nil || len(out.Tripped) > 0 {
				t.Errorf("%s in %s: chatters %v, trips %v, with nothing broken", entry.Name, mode.Name, out.Chatter, out.Tripped)
			}
			said := map[circuit.BranchID]bool{}
			for _, e := range mode.Expect {
				said[e.Load] = true
				if got := out.LeastShare(e.Load); math.Abs(got-e.Share) > shareTolerance {
					t.Errorf("%s in %s: %s is at %.4f of its power, expected %.4f", entry.Name, mode.Name, c.Label(e.Load), got, e.Share)
				}
			}
			for _, load := range c.Loads() {
				if !said[load] {
					t.Errorf("%s in %s: nothing is expected of %s", entry.Name, mode.Name, c.Label(load))
				}
			}
		}
	}
}

// For every load of every machine, in the first mode that calls for it: the
// single opens found are those, and all those, that starve it when tried one
// by one.
func TestSingleOpensOfEveryCatalogLoadAreThoseFoundByTrying(t *testing.T) {
	for _, entry := range netlists.Catalog() {
		t.Run(entry.Name, func(t *testing.T) {
			c, err := netlists.Open(entry.Name)
			if err != nil {
				t.Fatal(err)
			}
			tracer, engine := trace.New(c), settle.New(c)
			for _, load := range c.Loads() {
				mode, ok := firstWith(c, load)
				if !ok {
					t.Errorf("no mode calls for %s", c.Label(load))
					continue
				}
				sets, err := tracer.Starve(context.Background(), mode.ID, load, trace.Options{Order: 1})
				if err != nil {
					t.Fatalf("%s in %s: %v", c.Label(load), mode.Name, err)
				}
				found := map[circuit.BranchID]bool{}
				for _, s := range sets {
					if !s.Confirmed {
						t.Errorf("%s in %s: a set of %s is not confirmed", c.Label(load), mode.Name, c.Label(s.Members[0].Branches[0]))
					}
					for _, b := range s.Members[0].Branches {
						found[b] = true
					}
				}
				sound := leastShare(t, engine, mode.ID, load)
				for i := range c.Branches() {
					f := circuit.Fault{Kind: circuit.Open, Branch: circuit.BranchID(i)}
					if !c.CanFail(f) {
						continue
					}
					starves := leastShare(t, engine, mode.ID, load, f) < trace.DefaultShare*sound
					if starves != found[f.Branch] {
						t.Errorf("%s in %s: %s open starves it %v, found %v", c.Label(load), mode.Name, c.Label(f.Branch), starves, found[f.Branch])
					}
				}
			}
		})
	}
}

// firstWith returns the first mode that expects power at a load.
func firstWith(c *circuit.Circuit, load circuit.BranchID) (circuit.Mode, bool) {
	for _, m := range c.Modes() {
		if slices.ContainsFunc(m.Expect, func(e circuit.Expectation) bool { return e.Load == load && e.Share > 0 }) {
			return m, true
		}
	}
	return circuit.Mode{}, false
}

func leastShare(t *testing.T, engine *settle.Engine, mode circuit.ModeID, load circuit.BranchID, faults ...circuit.Fault) float64 {
	t.Helper()
	out, err := engine.Run(mode, faults)
	if err != nil {
		t.Fatal(err)
	}
	return out.LeastShare(load)
}

// Each of these leaves the broiler cold by itself. Those of the second list
// leave bake alone, and nothing else of the broiler's does.
func TestWhatStarvesTheBroilElement(t *testing.T) {
	c, err := netlists.Open("range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	broil, _ := c.FindMode("broil")
	bake, _ := c.FindMode("bake")
	broilElement, _ := c.FindLoad("broil_element")
	bakeElement, _ := c.FindLoad("bake_element")
	engine := settle.New(c)
	share := func(mode circuit.ModeID, load circuit.BranchID, f circuit.Fault) float64 {
		out, err := engine.Run(mode, []circuit.Fault{f})
		if err != nil {
			t.Fatal(err)
		}
		return out.LeastShare(load)
	}
	both := map[string]bool{"supply.L1": true, "supply.L2": true, "oven_sensor": true, "thermal_fuse": true, "control": true}
	broilOnly := map[string]bool{"broil_element": true, "broil_relay.coil": true, "broil_relay.contact": true,
		"w15": true, "w19": true}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		f := circuit.Fault{Kind: circuit.Open, Branch: b.ID}
		starved := share(broil, broilElement, f) < 0.5
		bakes := share(bake, bakeElement, f) > 0.9
		switch {
		case both[b.Ref] && (!starved || bakes):
			t.Errorf("%s open: broil starved %v, bake works %v; expected neither to heat", b.Ref, starved, bakes)
		case broilOnly[b.Ref] != (starved && bakes):
			t.Errorf("%s open: broil starved %v, bake works %v", b.Ref, starved, bakes)
		}
	}
}

// What the notes say that a fault does, the engine does.
func TestWhatTheNotesTeach(t *testing.T) {
	for _, x := range []struct {
		machine, mode, fault string
		shares               map[string]float64
	}{
		{"oven-double", "off", "upper_bake:grounded", map[string]float64{"upper_bake": 0}},
		{"oven-double", "upper_bake", "transformer.secondary:open", map[string]float64{"control": 0, "upper_bake": 0, "cooling_fan": 0}},
		{"oven-double", "both_bake", "upper_fuse:open", map[string]float64{"upper_bake": 0, "lower_bake": 1}},
		{"baseboard-heater", "off", "first_element:grounded", map[string]float64{"first_element": 0}},
		{"dryer", "timed_dry", "supply.L2:open", map[string]float64{"motor.main": 1, "heater": 0}},
		{"dryer", "start", "motor.start:open", map[string]float64{"motor.main": 1, "heater": 0}},
		{"dryer", "timed_dry", "motor.start:open", map[string]float64{"motor.main": 0, "heater": 0}},
		{"dryer", "timed_dry", "thermal_cutoff:open", map[string]float64{"motor.main": 1, "heater": 0}},
		{"dryer", "timed_dry", "belt_switch:open", map[string]float64{"motor.main": 0, "heater": 0}},
		{"dryer", "auto_dry_hot", "heater:open", map[string]float64{"motor.main": 1, "timer_motor": 0}},
		{"dryer-motor-fuse", "timed_dry", "motor_fuse:open", map[string]float64{"motor.main": 0, "heater": 0}},
		{"dryer-electronic", "dry", "thermal_fuse:open", map[string]float64{"motor.main": 0, "heater": 0}},
		{"dryer-electronic", "off", "heater_relay:welded", map[string]float64{"motor.main": 0, "heater": 0}},
		{"dryer-electronic", "cool_down", "heater_relay:welded", map[string]float64{"motor.main": 1, "heater": 1}},
		{"dryer-electronic", "dry", "exhaust_sensor:open", map[string]float64{"motor.main": 0, "heater": 0}},
		{"oven-gas", "bake", "bake_igniter:drifted=1.3", map[string]float64{"bake_igniter": 0.775, "bake_valve": 0.604}},
		{"oven-gas", "bake", "bake_relay.contact:open", map[string]float64{"bake_igniter": 0}},
		{"oven-three-phase", "cook", "supply.L3:open", map[string]float64{"element_a": 1, "element_b": 0.25, "element_c": 0.25, "fan": 1}},
		{"oven-three-phase", "cook", "supply.L1:open", map[string]float64{"element_a": 0, "element_b": 0, "element_c": 0, "fan": 0}},
		{"oven-three-phase", "cook", "element_a:open", map[string]float64{"element_a": 0, "element_b": 1, "element_c": 1}},
		{"kiln", "standby", "top_relay.a:welded", map[string]float64{"top_1": 0, "top_2": 0}},
		{"kiln", "off", "top_relay:welded", map[string]float64{"top_1": 1, "top_2": 1, "middle_1": 0}},
		{"kiln", "firing", "thermocouple:open", map[string]float64{"control": 1, "top_1": 0}},
		{"range-electronic-rcd", "bake", "bake_element:grounded=0.3", map[string]float64{"bake_element": 0, "control": 0}},
		{"range-electronic-rcd", "bake", "bake_element:grounded", map[string]float64{"bake_element": 1, "control": 1}},
		{"water-heater", "cold_tank", "upper_element:open", map[string]float64{"upper_element": 0, "lower_element": 0}},
		{"water-heater-together", "cold_tank", "upper_element:open", map[string]float64{"upper_element": 0, "lower_element": 1}},
		{"cooktop-built-in", "lf_large", "lf_middle:open", map[string]float64{"lf_inner": 1, "lf_middle": 0, "lf_outer": 1}},
		{"cooktop-built-in", "lf_large", "lf_limiter.1a-1b:open", map[string]float64{"lf_inner": 0, "lf_middle": 0, "lf_outer": 0, "hot_lamp": 1}},
		{"range-slide-in", "conv_bake", "conv_fan:open", map[string]float64{"conv_fan": 0, "conv_element": 1}},
		{"range-smooth-top", "off", "lf_limiter.2a-2b:welded", map[string]float64{"lf_lamp": 1}},
		{"oven-230", "fan_oven", "safety_limit:open", map[string]float64{"ring_element": 0, "heat_pilot": 0, "oven_lamp": 1}},
		{"range-electronic-one-leg", "off", "bake_relay.contact:welded", map[string]float64{"bake_element": 1}},
		{"range-electronic", "off", "bake_relay.contact:welded", map[string]float64{"bake_element": 0}},
	} {
		out, c := settled(t, x.machine, x.mode, x.fault)
		for ref, want := range x.shares {
			load, err := c.FindLoad(ref)
			if err != nil {
				t.Fatal(err)
			}
			if got := out.LeastShare(load); math.Abs(got-want) > shareTolerance {
				t.Errorf("%s in %s with %s: %s is at %.3f of its power, expected %.3f", x.machine, x.mode, x.fault, ref, got, want)
			}
		}
	}
}

// An element of a machine that breaks one leg only heats from the other one
// once it touches its sheath: with the machine off, and with its limit tripped
// where that is in the broken leg.
func TestAGroundedElementHeatsWhereOneLegIsSwitched(t *testing.T) {
	for _, x := range []struct {
		machine, mode, element string
	}{
		{"baseboard-heater-one-pole", "off", "first_element"},
		{"oven-double-one-leg", "off", "upper_bake"},
		{"range-electronic-one-leg", "off", "broil_element"},
		{"water-heater-one-leg", "limit_tripped", "upper_element"},
	} {
		out, c := settled(t, x.machine, x.mode, x.element+":grounded")
		load, err := c.FindLoad(x.element)
		if err != nil {
			t.Fatal(err)
		}
		if got := out.LeastShare(load); got < 0.2 {
			t.Errorf("%s in %s: %s grounded is at %.3f of its power", x.machine, x.mode, x.element, got)
		}
	}
}

// Neutral lost upstream puts the metal of a 3-wire machine at line voltage
// through whatever hangs on it; with an earth of its own the metal stays safe.
func TestALostNeutralMakesTheMetalOfA3WireMachineLive(t *testing.T) {
	for machine, mode := range map[string]string{"dryer": "door_open", "oven-double": "off", "range-apartment": "oven_light",
		"range-electronic": "off", "range-slide-in": "off", "range-smooth-top": "off", "cooktop-built-in": "cooling"} {
		for name, live := range map[string]bool{machine: false, machine + "-3wire": true} {
			out, c := settled(t, name, mode, "supply.N:open")
			volts := cmplx.Abs(out.AnyState.Volts[c.ChassisTerminal()])
			if live != (volts > 100) {
				t.Errorf("%s in %s: with neutral open its metal is at %.1f V", name, mode, volts)
			}
		}
	}
}

// settled settles a machine of the catalog in a mode with one fault.
func settled(t *testing.T, machine, mode, fault string) (*settle.Outcome, *circuit.Circuit) {
	t.Helper()
	c, err := netlists.Open(machine)
	if err != nil {
		t.Fatal(err)
	}
	id, err := c.FindMode(mode)
	if err != nil {
		t.Fatal(err)
	}
	faults, err := c.ParseFault(fault)
	if err != nil {
		t.Fatal(err)
	}
	out, err := settle.New(c).Run(id, faults)
	if err != nil {
		t.Fatal(err)
	}
	return out, c
}
