package schematic

import (
	"fmt"
	"math"

	"legtrace/circuit"
)

// placeVolts writes each node's voltage once; what floats comes last and light,
// and only at the load of interest: elsewhere it is of no use to know.
func (l *layout) placeVolts(known bool) {
	if len(l.d.Volts) == 0 {
		return
	}
	for _, n := range l.nets {
		if len(n.wires) == 0 {
			continue
		}
		at := n.pins[0].terminal()
		t := text{size: smallSize, class: "volts", layer: layerVolts, s: l.voltsAt(at)}
		settled := l.d.Volts[at].Known
		if !settled {
			t.class = "floating"
		}
		if l.d.changes(at) {
			t.class, t.layer, settled = "volts changed", layerFault, true
		}
		if !settled && !l.atLoad(n) {
			continue // its wires' titles say so
		}
		if settled != known || l.tryBeside(l.router.segments(l.used[n.id]), n.id, t) {
			continue
		}
		if settled && !l.repeatsRail(n, l.voltsAt) {
			l.leave(n, t.s)
		}
	}
}

// atLoad reports whether the load of interest hangs on a net.
func (l *layout) atLoad(n *net) bool {
	if l.d.Load < 0 || int(l.d.Load) >= len(l.c.Branches()) {
		return false
	}
	b := l.c.Branch(l.d.Load)
	return b.A != circuit.None && l.netOf[b.A] == n || b.B != circuit.None && l.netOf[b.B] == n
}

// wireTitle tells all of a wire, the voltage of its node included.
func (l *layout) wireTitle(w *circuit.Wire) string {
	s := "Wire " + w.Name + ": " + l.c.DescribeWire(w.ID)
	if len(l.d.Volts) == 0 {
		return s
	}
	if l.d.Volts[w.From].Known || l.d.changes(w.From) {
		return s + "; " + l.voltsAt(w.From) + " to neutral"
	}
	return s + "; floating"
}

// voltsAt is what is written of a terminal's voltage.
func (l *layout) voltsAt(t circuit.TerminalID) string {
	if l.d.changes(t) {
		return change(l.d.Volts[t], l.d.FaultVolts[t])
	}
	return l.d.Volts[t].String()
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
