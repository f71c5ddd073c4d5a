package report

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/trace"
	"legtrace/render/schematic"
)

// drawTests draws what the load's test list has: its points and its suspects.
// A load that is off has neither.
func (r *Reporter) drawTests(ctx context.Context, q Question, opt DrawingOptions, d *schematic.Drawing) error {
	bench := meter.New(r.c, meter.DefaultInstrument())
	list, err := bench.TestList(ctx, q.Mode, q.Load)
	if err != nil && !errors.Is(err, trace.ErrNotEnergised) {
		return err
	}
	if opt.Suspects && list != nil {
		for _, s := range list.Suspects {
			d.Suspects = append(d.Suspects, schematic.Shade{Branch: s.Fault.Branch, P: s.Weight})
		}
	}
	if opt.Points {
		return r.drawPoints(bench, list, q, d)
	}
	return nil
}

// mostMarks is how many tests one test point names.
const mostMarks = 4

// drawPoints marks the places where the tests put the probes by the tests'
// numbers, which are those of [Reporter.Points], and the probe: 3R, 3B. Without
// a list the machine's listed points are numbered instead.
func (r *Reporter) drawPoints(bench *meter.Bench, list *meter.TestList, q Question, d *schematic.Drawing) error {
	if list == nil {
		for i, p := range r.c.Points() {
			d.TestPoints = append(d.TestPoints, schematic.TestPoint{Mark: fmt.Sprint(i + 1), Terminal: p.Terminal, Name: r.drawnPlace(p.Terminal)})
		}
		return r.drawReadings(bench, bench.Reference(), q.Mode, d)
	}
	marks := map[circuit.TerminalID][]string{}
	var order []circuit.TerminalID
	mark := func(t circuit.TerminalID, number int, probe string) {
		if marks[t] == nil {
			order = append(order, t)
		}
		marks[t] = append(marks[t], fmt.Sprint(number)+probe)
	}
	x := &listing{namer: r.namer, b: bench, list: list}
	for i := range list.Steps {
		s := &list.Steps[i]
		mark(s.P, i+1, "R")
		mark(s.Q, i+1, "B")
		d.Tests = append(d.Tests, schematic.Test{Number: i + 1, Text: x.drawnTest(s)})
	}
	for _, t := range order {
		m := marks[t]
		if more := len(m) - mostMarks; more > 0 {
			m = append(m[:mostMarks:mostMarks], fmt.Sprintf("+%d", more))
		}
		d.TestPoints = append(d.TestPoints, schematic.TestPoint{Mark: strings.Join(m, " "), Terminal: t, Name: r.drawnPlace(t)})
	}
	return r.drawReadings(bench, blackProbe(bench, list), q.Mode, d)
}

// blackProbe is where the black probe stays while voltages are read: at the
// usual reference if the tests have it there, else where the first live one has
// it.
func blackProbe(bench *meter.Bench, list *meter.TestList) circuit.TerminalID {
	at := circuit.TerminalID(circuit.None)
	for i := range list.Steps {
		s := &list.Steps[i]
		switch {
		case s.Live && s.Q == bench.Reference():
			return s.Q
		case s.Live && at == circuit.None:
			at = s.Q
		}
	}
	if at == circuit.None {
		return bench.Reference()
	}
	return at
}

// drawReadings gives every point its good voltage to the black probe's.
func (r namer) drawReadings(bench *meter.Bench, reference circuit.TerminalID, mode circuit.ModeID, d *schematic.Drawing) error {
	live, err := bench.Live(mode, nil)
	if err != nil {
		return err
	}
	for i := range d.TestPoints {
		p := &d.TestPoints[i]
		if p.Terminal == reference {
			p.Reading = "volts to here"
			continue
		}
		good, err := bench.Volts(live, meter.Volts, p.Terminal, reference)
		if err != nil {
			return err
		}
		if good.Unsteady {
			continue // its tests say what to read
		}
		p.Reading = strings.ReplaceAll(good.Range(), " to ", "\u2013")
	}
	return nil
}

// drawnTest tells where a test puts the probes, its good reading and its set-up.
func (x *listing) drawnTest(s *meter.Step) string {
	power := "supply locked out"
	if s.Live {
		power = "in " + oneLine(x.c.Mode(s.Mode).Label)
	}
	lift := ""
	if len(s.Lift) > 0 {
		var names []string
		for _, w := range s.Lift {
			names = append(names, x.c.Wire(w).Name)
		}
		lift = fmt.Sprintf(", %s lifted off %s", list(names), x.c.Terminal(s.At).Ref)
	}
	good := shown(x.b, s.Function, s.Good)
	if x.b.NearZero(s.Good) {
		good.Range = "near 0 " + good.Unit
	}
	return fmt.Sprintf("R %s, B %s: %s, %s%s", x.drawnPlace(s.P), x.drawnPlace(s.Q), good.Range, power, lift)
}

// drawnPlace says where a test point is.
func (r namer) drawnPlace(t circuit.TerminalID) string {
	for _, p := range r.c.Points() {
		if p.Terminal == t && p.Label != "" {
			return oneLine(p.Label)
		}
	}
	term := r.c.Terminal(t)
	return oneLine(r.c.Part(term.Part).Label) + " " + term.Name
}

// drawStanding tells what is live with the machine switched off.
func (r namer) drawStanding(q Question, d *schematic.Drawing) error {
	s, err := meter.New(r.c, meter.DefaultInstrument()).LiveParts(r.c.OffMode(), q.Faults)
	if err != nil {
		return err
	}
	d.Standing = make([]float64, len(r.c.Terminals()))
	for _, n := range s.Nodes {
		for _, t := range n.Terminals {
			d.Standing[t] = n.Volts.Most()
		}
	}
	return nil
}
