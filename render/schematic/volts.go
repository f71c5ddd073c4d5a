package schematic

import (
	"fmt"
	"math"

	"legtrace/circuit"
)

// placeVolts writes each node's voltage once; what floats comes last and light.
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
		if settled != known || l.tryBeside(l.router.segments(l.used[n.id]), n.id, t) {
			continue
		}
		if settled && !l.repeatsRail(n, l.voltsAt) {
			l.leave(n, t.s)
		}
	}
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

// changedVolts is the least difference worth printing beside a voltage.
const changedVolts = 1.0

func (v NodeVolts) differs(o NodeVolts) bool {
	return v.Known != o.Known || v.Known && (math.Abs(v.Volts-o.Volts) >= changedVolts || v.Leg != o.Leg)
}

// change writes a voltage before and after a fault.
func change(before, after NodeVolts) string {
	a, b := before.String(), after.String()
	if before.Leg != "" && after.Leg != "" && before.Leg != after.Leg {
		a, b = a+" "+before.Leg, b+" "+after.Leg
	}
	return a + " \u2192 " + b
}

// String writes the voltage as the diagram has it.
func (v NodeVolts) String() string {
	switch {
	case !v.Known:
		return "floating"
	case math.Abs(v.Volts) < 0.05:
		return "0 V"
	case v.Volts < 10:
		return fmt.Sprintf("%.1f V", v.Volts)
	}
	return fmt.Sprintf("%.0f V", v.Volts)
}
