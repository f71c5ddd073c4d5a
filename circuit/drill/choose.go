package drill

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
)

// kinds are the kinds of fault that a drill may be chosen by, with the kinds of
// part that count as each.
var kinds = []struct {
	name  string
	parts []circuit.Kind
}{
	{"supply", []circuit.Kind{circuit.KindSupply, circuit.KindBreaker, circuit.KindRCD, circuit.KindTerminalBlock}},
	{"element", []circuit.Kind{circuit.KindElement, circuit.KindSurfaceElement}},
	{"sensor", []circuit.Kind{circuit.KindSensor, circuit.KindThermostat}},
	{"limit", []circuit.Kind{circuit.KindLimit, circuit.KindThermalFuse, circuit.KindFuse}},
	{"relay", []circuit.Kind{circuit.KindRelay, circuit.KindControl}},
	{"switch", []circuit.Kind{circuit.KindSwitch, circuit.KindPushSwitch, circuit.KindSelector, circuit.KindCyclingSwitch, circuit.KindDoorSwitch, circuit.KindCentrifugalSwitch, circuit.KindLatch}},
	{"wire", []circuit.Kind{circuit.KindConnector, circuit.KindNode}},
}

// Kinds names the kinds of fault that a drill may be chosen by.
func Kinds() []string {
	var out []string
	for _, k := range kinds {
		out = append(out, k.name)
	}
	return out
}

// kindOf tells which kind of fault one of a branch is; "other" for none of them.
func kindOf(c *circuit.Circuit, id circuit.BranchID) string {
	b := c.Branch(id)
	if b.Wire != circuit.None {
		return "wire"
	}
	for _, k := range kinds {
		if slices.Contains(k.parts, c.Part(b.Part).Kind) {
			return k.name
		}
	}
	return "other"
}

// checkChoice refuses a kind that there is none of.
func (o Options) checkChoice() error {
	if o.Kind == "" || slices.Contains(Kinds(), o.Kind) {
		return nil
	}
	if near := circuit.Nearest(o.Kind, Kinds()); near != "" {
		return fmt.Errorf("kind %q: did you mean %q?", o.Kind, near)
	}
	return fmt.Errorf("kind %q: one of %s", o.Kind, strings.Join(Kinds(), ", "))
}

// chosen reports whether hidden faults bring the complaint that was chosen.
func (d *Drill) chosen(hidden []Hidden) bool {
	if d.opt.Load == "" {
		return true
	}
	return slices.ContainsFunc(d.remarks(d.looks(hidden)), func(r remark) bool {
		return r.how != works && r.load != circuit.None && d.c.Branch(r.load).Ref == d.opt.Load && (d.opt.State == 0 || r.state == d.opt.State)
	})
}
