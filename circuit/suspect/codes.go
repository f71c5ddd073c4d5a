package suspect

import (
	"fmt"
	"slices"

	"legtrace/circuit"
)

// toldCodes are the rows that tell of a code.
var toldCodes = []string{"sensor", "too_hot", "latch", "key", "board", "some_code"}

// codeShown is the chance that a code is told of where the control sees what it stands
// for (common practice, no source).
const codeShown = 0.9

// declared is a code as a netlist declares it, by what a control sees.
type declared struct {
	circuit.Code
	control int
	through map[circuit.BranchID]bool // what is looked through for it
}

// codeNamed finds a code as it is shown.
func codeNamed(c *circuit.Circuit, shown string) (*declared, error) {
	var known []string
	for i := range c.Controls() {
		for _, code := range c.Controls()[i].Codes {
			if code.Text == shown && code.Sense != circuit.None {
				return &declared{Code: code, control: i}, nil
			}
			if code.Sense != circuit.None {
				known = append(known, code.Text)
			}
		}
	}
	if len(known) == 0 {
		return nil, fmt.Errorf("code %q: no control of the machine declares a code by what it sees", shown)
	}
	return nil, fmt.Errorf("code %q: the machine declares %s", shown, circuit.List(known))
}

// sees is the chance of a declared code with faults present, from what the control sees
// with them; ok is false where it is not these that it looks at.
func (w *worker) sees(d *declared, faults []circuit.Fault) (p float64, ok bool) {
	if !slices.ContainsFunc(faults, func(f circuit.Fault) bool { return d.through[f.Branch] }) {
		return 0, false
	}
	c := w.bench.Circuit()
	for i := range c.Modes() {
		mode := circuit.ModeID(i)
		if d.Modes != nil && !d.Modes[mode] {
			continue
		}
		// Hot, it sees what it holds, however wrong its sensor is.
		at := mode
		if off := c.OffMode(); len(c.Mode(mode).Celsius) > 0 && off != circuit.None && d.senses(c) {
			at = off
		}
		o, err := w.live(at, faults)
		if err != nil {
			continue // it shows nothing then
		}
		controls, err := o.Controls()
		if err == nil && controls[d.control].Powered && d.Shown(mode, controls[d.control].Senses[d.Sense].Ohms, controls[d.control].Senses[d.Sense].Connected) {
			return codeShown, true
		}
	}
	return 0, true
}

// senses reports whether it is of a sensor, whose ohms go with its heat.
func (d *declared) senses(c *circuit.Circuit) bool {
	for id := range d.through {
		if c.Branch(id).Sensor != nil {
			return true
		}
	}
	return false
}

// bySize is the log likelihood of a declared code for each size of a class's cell: what a
// control sees is a matter of ohms.
func (e *Engine) bySize(t *Telling, s *sizes) []float64 {
	out := make([]float64, len(s.cells))
	for k, cell := range s.cells {
		for _, at := range cell.corners {
			out[k] += e.workers[0].told(t, s.corners[at]) / float64(len(cell.corners))
		}
	}
	return out
}
