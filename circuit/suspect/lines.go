package suspect

import (
	"cmp"
	"slices"

	"legtrace/circuit"
)

// lineOf tells what a line is of: a mode and a fault whose ohms are left open.
type lineOf struct {
	mode  circuit.ModeID
	fault circuit.Fault
}

// maxLines bounds what lines a worker keeps, in branches of the machine.
const maxLines = 1 << 20

// lookAlong looks at a bad joint or a leak by the line of all its sizes; it is nil
// where there is none, or none that goes so far.
func (w *worker) lookAlong(mode circuit.ModeID, faults []circuit.Fault, loads []circuit.BranchID) (*look, error) {
	if len(faults) != 1 || faults[0].Kind != circuit.HighResistance && faults[0].Kind != circuit.Grounded {
		return nil, nil
	}
	at := lineOf{mode, faults[0]}
	at.fault.Ohms = 0
	line, known := w.lines[at]
	if !known {
		s, err := w.sweep(mode)
		if err == nil {
			line, err = s.Line(at.fault, w.ohmsOf(at.fault.Kind))
		}
		if err != nil {
			return nil, err
		}
		if len(w.lines)*len(w.bench.Circuit().Branches()) >= maxLines {
			clear(w.lines)
		}
		w.lines[at] = line
	}
	if line == nil || !line.At(faults[0].Ohms) {
		return nil, nil
	}
	if len(loads) == 0 || loads[0] == circuit.None {
		loads = w.loads
	}
	w.along.at(line, false, loads)
	return &w.along, nil
}

// worstJoint is the most ohms that are weighed of a joint.
func (w *worker) worstJoint() float64 {
	if w.joint == 0 {
		all := w.ohmsOf(circuit.HighResistance)
		w.joint = all[len(all)-1]
	}
	return w.joint
}

// ohmsOf lists the sizes that are weighed of a fault, the mildest first.
func (w *worker) ohmsOf(kind circuit.FaultKind) []float64 {
	if known := w.ohms[kind]; known != nil {
		return known
	}
	names, worse := []string{"joint", "supply_thin"}, cmp.Compare[float64]
	if kind == circuit.Grounded {
		names, worse = []string{"leak", "damp", "chafed"}, func(a, b float64) int { return cmp.Compare(b, a) }
	}
	var out []float64
	for _, name := range names {
		for _, p := range w.bench.Circuit().Sizes(name) {
			out = append(out, stepsOf(p)...)
		}
	}
	out = slices.DeleteFunc(out, func(ohms float64) bool { return ohms == 0 })
	slices.SortFunc(out, worse)
	w.ohms[kind] = slices.Compact(out)
	return w.ohms[kind]
}
