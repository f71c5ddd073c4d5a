package schematic

import (
	"fmt"
	"math"
	"slices"

	"legtrace/circuit"
)

// placeVolts writes each node's voltage once; what floats comes last and light,
// and only at the load of interest: elsewhere it is of no use to know.
func (an *annotation) placeVolts(known bool) {
	if len(an.d.Volts) == 0 {
		return
	}
	for _, n := range an.nets {
		if len(n.wires) == 0 {
			continue
		}
		at := n.pins[0].terminal()
		t := text{size: smallSize, class: "volts", layer: layerVolts, s: an.d.voltsAt(at)}
		settled := an.d.Volts[at].Known
		if !settled {
			t.class = "floating"
		}
		if an.d.changes(at) {
			t.class, t.layer, settled = "volts changed", layerFault, true
		}
		if !settled && !an.atLoad(n) {
			continue // its wires' titles say so
		}
		if settled != known || an.tryBeside(an.stretches[n.id], n.id, t) {
			continue
		}
		leads := func(id circuit.WireID) bool {
			return an.tryLeader(an.c.Wire(id), tag{layer: t.layer, class: t.class, s: t.s, title: an.d.wireTitle(an.c.Wire(id))})
		}
		if settled && !an.repeatsRail(n, an.d.voltsAt) && !slices.ContainsFunc(n.wires, leads) {
			an.leave(n, t.s)
		}
	}
}

// atLoad reports whether the load of interest hangs on a net.
func (an *annotation) atLoad(n *net) bool {
	if an.d.Load < 0 || int(an.d.Load) >= len(an.c.Branches()) {
		return false
	}
	b := an.c.Branch(an.d.Load)
	return b.A != circuit.None && an.netOf[b.A] == n || b.B != circuit.None && an.netOf[b.B] == n
}

// wireTitle tells all of a wire, the voltage of its node included.
func (d *Drawing) wireTitle(w *circuit.Wire) string {
	s := "Wire " + w.Name + ": " + d.Circuit.DescribeWire(w.ID)
	if len(d.Volts) == 0 {
		return s
	}
	if d.Volts[w.From].Known || d.changes(w.From) {
		return s + "; " + d.voltsAt(w.From) + " to neutral"
	}
	return s + "; floating"
}

// voltsAt is what is written of a terminal's voltage.
func (d *Drawing) voltsAt(t circuit.TerminalID) string {
	if d.changes(t) {
		return change(d.Volts[t], d.FaultVolts[t])
	}
	return d.Volts[t].String()
}

// changes reports whether the faults change a terminal's voltage.
func (d *Drawing) changes(t circuit.TerminalID) bool {
	return len(d.FaultVolts) > 0 && d.FaultVolts[t].differs(d.Volts[t])
}

// The least difference worth printing beside a voltage, and the least share of
// it: legs rise a little wherever a load is lost.
const changedVolts, changedShare = 1.0, 0.03

func (v NodeVolts) differs(o NodeVolts) bool {
	if v.Known != o.Known || !v.Known {
		return v.Known != o.Known
	}
	if v.jumps() || o.jumps() {
		return true
	}
	return math.Abs(v.Volts-o.Volts) >= max(changedVolts, changedShare*v.Volts) || v.Leg != o.Leg
}

// change writes a voltage before and after a fault.
func change(before, after NodeVolts) string {
	a, b := before.String(), after.String()
	if before.Leg != "" && after.Leg != "" && before.Leg != after.Leg {
		a, b = a+" "+before.Leg, b+" "+after.Leg
	}
	return a + " \u2192 " + b
}

func (v NodeVolts) jumps() bool { return v.Most-v.Volts >= changedVolts }

// String writes the voltage as the diagram has it.
func (v NodeVolts) String() string {
	switch {
	case v.jumps():
		return fmt.Sprintf("%.0f to %.0f V", v.Volts, v.Most)
	case !v.Known:
		return "floating"
	case math.Abs(v.Volts) < 0.05:
		return "0 V"
	case v.Volts < 10:
		return fmt.Sprintf("%.1f V", v.Volts)
	}
	return fmt.Sprintf("%.0f V", v.Volts)
}
