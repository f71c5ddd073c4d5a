package suspect_test

import (
	"testing"

	"legtrace/circuit/suspect"
)

// A dryer that will not start is asked whether its drum lamp lights with the door open,
// before its supply is read: that takes no probe, and tells a dead supply from a motor's
// own circuit. An oven that does not bake is not asked for its lamp: nothing of what its
// clock shows would be news (common practice, no source).
func TestADryerThatWillNotStartIsAskedForItsLamp(t *testing.T) {
	c := machine(t, "dryer")
	seen := []suspect.Note{{Mode: "start", Load: "motor.main", State: "dead"}}
	p := nextOf(t, "dryer", seen...)[0]
	if !p.Trial || c.Mode(p.Mode).Name != "door_open" {
		t.Errorf("first %q %s in %s", p.Probes.Name, p.Ask, c.Mode(p.Mode).Name)
	}
	lit := nextOf(t, "dryer", append(seen, suspect.Note{Mode: "door_open", Load: "drum_lamp", State: "normal"})...)
	if p := lit[0]; p.Live && p.Probing() {
		t.Errorf("its lamp lights: %s %q live", p.Probes.Function, p.Probes.Name)
	}
	for _, p := range nextOf(t, "range-mechanical", suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}) {
		if p.Trial && machine(t, "range-mechanical").Mode(p.Mode).Name == "door_open" {
			t.Error("no bake: its lamp is asked for")
		}
	}
}

// A dryer that turns and does not heat may have lost the leg that its motor does not use:
// from leg to leg at the terminal block, before the back comes off for its heater (common
// practice, no source).
func TestADryerThatTurnsColdIsReadLegToLeg(t *testing.T) {
	p := nextOf(t, "dryer", suspect.Note{Mode: "timed_dry", Load: "motor.main", State: "normal"}, suspect.Note{Mode: "timed_dry", Load: "heater", State: "dead"},
		suspect.Note{Mode: "timed_dry | auto_dry_hot", Load: "timer_motor | timer_motor", State: "dead"}, suspect.Note{Mode: "timed_dry", Quiet: "motor.main heater timer_motor"})[0]
	if p.Probes.Name != "tb_l1 to tb_l2" {
		t.Errorf("first %s %q", p.Probes.Function, p.Probes.Name)
	}
}
