package report

import (
	"context"
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/render/schematic"
)

// Picture puts a drawing of its part of the machine before the steps of each
// place, for the sheet as HTML.
func (r *Reporter) Picture(ctx context.Context, d *Points) error {
	load := circuit.BranchID(circuit.None)
	if d.Load.Ref != "" {
		var err error
		if load, err = r.c.FindLoad(d.Load.Ref); err != nil {
			return err
		}
	}
	mode, err := r.c.FindMode(d.Mode.Name)
	if err != nil {
		return err
	}
	drawing := schematic.Drawing{Circuit: r.c, Mode: mode, Load: load, Theme: schematic.Monochrome}
	if err := r.drawPoints(d, Question{Mode: mode, Load: load}, &drawing); err != nil {
		return err
	}
	for i := range drawing.TestPoints {
		drawing.TestPoints[i].Reading = ""
	}
	drawing.Tests = nil
	windows := r.windows(d)
	whole, pictures, err := schematic.Windows(ctx, drawing, each(windows, func(w window) []circuit.TerminalID { return w.probed }))
	if err != nil {
		return err
	}
	d.Diagram, d.Pictures = whole, map[int]Picture{}
	for i, svg := range pictures {
		w := windows[i]
		steps := fmt.Sprintf("Step %d", w.first)
		if w.last > w.first {
			steps = fmt.Sprintf("Steps %d to %d", w.first, w.last)
		}
		d.Pictures[w.first] = Picture{svg, steps + ": R red probe, B black."}
	}
	return nil
}

// window is what one picture shows: the terminals that some steps in a row probe.
type window struct {
	probed      []circuit.TerminalID
	first, last int // numbers of the steps
}

// windows parts a sheet by the places of its steps; what was shown already is not
// shown by itself again.
func (r namer) windows(d *Points) []window {
	var out []window
	shown := map[circuit.TerminalID]bool{}
	for i := 0; i < len(d.Steps); {
		first := &d.Steps[i]
		if first.Trial || first.Ask != "" || first.clamps() {
			i++
			continue
		}
		w := window{first: first.Number}
		for ; i < len(d.Steps); i++ {
			s := &d.Steps[i]
			if s != first && s.OnlyIf == 0 && s.place() != first.place() {
				break
			}
			if w.last = s.Number; !s.clamps() {
				w.probed = append(w.probed, r.probed(s)...)
			}
		}
		if slices.ContainsFunc(w.probed, func(t circuit.TerminalID) bool { return !shown[t] }) {
			out = append(out, w)
		}
		for _, t := range w.probed {
			shown[t] = true
		}
	}
	return out
}

// probed lists where a step's probes go, the chassis left out.
func (r namer) probed(s *Step) []circuit.TerminalID {
	var out []circuit.TerminalID
	for _, p := range [2]*Probe{&s.From, &s.To} {
		if t, err := r.c.FindTerminal(p.Terminal); err == nil && p.Terminal != circuit.ChassisName {
			out = append(out, t)
		}
	}
	return out
}

// place is where a step's probes go.
func (s *Step) place() string { return s.Power + s.From.Place + s.To.Place }
