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

// drawPoints numbers the places where the tests put the probes, in the order of
// the tests. Without a list the machine's listed points are numbered instead.
func (r *Reporter) drawPoints(bench *meter.Bench, list *meter.TestList, q Question, d *schematic.Drawing) error {
	number := map[circuit.TerminalID]int{}
	at := func(t circuit.TerminalID) int {
		if number[t] == 0 {
			number[t] = len(d.TestPoints) + 1
			d.TestPoints = append(d.TestPoints, schematic.TestPoint{Number: number[t], Terminal: t, Name: r.drawnPlace(t)})
		}
		return number[t]
	}
	reference := bench.Reference()
	if list != nil {
		for i := range list.Steps {
			s := &list.Steps[i]
			from, to := at(s.P), at(s.Q)
			if s.Live && s.Q == reference && s.Mode == q.Mode {
				continue // the point's own reading says it
			}
			d.Tests = append(d.Tests, schematic.Test{From: from, To: to, Text: r.drawnTest(s)})
		}
	} else {
		for _, p := range r.c.Points() {
			at(p.Terminal)
		}
	}
	return r.drawReadings(bench, reference, q.Mode, d)
}

// drawReadings gives every point its good voltage to the reference.
func (r *Reporter) drawReadings(bench *meter.Bench, reference circuit.TerminalID, mode circuit.ModeID, d *schematic.Drawing) error {
	live, err := bench.Live(mode, nil)
	if err != nil {
		return err
	}
	for i := range d.TestPoints {
		p := &d.TestPoints[i]
		if p.Terminal == reference {
			p.Reading = "black probe"
			continue
		}
		good, err := bench.Volts(live, meter.Volts, p.Terminal, reference)
		if err != nil {
			return err
		}
		if good.Unsteady {
			p.Reading = tested(d.Tests, p.Number)
			continue
		}
		p.Reading = strings.ReplaceAll(good.Range(), " to ", "\u2013")
	}
	return nil
}

// tested is the reading of the first test at a point that has no steady voltage.
func tested(tests []schematic.Test, number int) string {
	for _, t := range tests {
		reading, _, _ := strings.Cut(t.Text, ",")
		switch number {
		case t.From:
			return fmt.Sprintf("%s to %d", strings.ReplaceAll(reading, " to ", "\u2013"), t.To)
		case t.To:
			return fmt.Sprintf("%s to %d", strings.ReplaceAll(reading, " to ", "\u2013"), t.From)
		}
	}
	return "unsteady"
}

// drawnTest tells the set-up of a test and its good reading.
func (r *Reporter) drawnTest(s *meter.Step) string {
	power := "supply locked out"
	if s.Live {
		power = "in " + oneLine(r.c.Mode(s.Mode).Label)
	}
	lift := ""
	if len(s.Lift) > 0 {
		var names []string
		for _, w := range s.Lift {
			names = append(names, r.c.Wire(w).Name)
		}
		lift = fmt.Sprintf(", %s lifted off %s", list(names), r.c.Terminal(s.At).Ref)
	}
	return fmt.Sprintf("%s, %s%s", s.Good.Range(), power, lift)
}

// drawnPlace says where a test point is.
func (r *Reporter) drawnPlace(t circuit.TerminalID) string {
	for _, p := range r.c.Points() {
		if p.Terminal == t && p.Label != "" {
			return oneLine(p.Label)
		}
	}
	term := r.c.Terminal(t)
	return oneLine(r.c.Part(term.Part).Label) + " " + term.Name
}

// drawStanding tells what is live with the machine switched off: in its mode named
// off, else in its first.
func (r *Reporter) drawStanding(q Question, d *schematic.Drawing) error {
	off, err := r.c.FindMode("off")
	if err != nil {
		off = 0
	}
	s, err := meter.New(r.c, meter.DefaultInstrument()).StandingVolts(off, q.Faults)
	if err != nil {
		return err
	}
	d.Standing = make([]float64, len(r.c.Terminals()))
	for _, n := range s.Nodes {
		for _, t := range n.Terminals {
			d.Standing[t] = n.ToChassis
		}
	}
	return nil
}
