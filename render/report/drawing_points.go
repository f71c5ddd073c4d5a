package report

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/circuit/trace"
	"legtrace/render/schematic"
)

// drawTests draws what the load's test sheet has: its points and its suspects.
// A load that is off has neither.
func (r *Reporter) drawTests(ctx context.Context, q Question, opt DrawingOptions, d *schematic.Drawing) error {
	e, err := r.Complain(ctx, q, MeterOptions{})
	if errors.Is(err, trace.ErrNotEnergised) {
		if !opt.Points {
			return nil
		}
		return r.drawListed(q, d)
	}
	if err != nil {
		return err
	}
	if opt.Suspects {
		d.Suspects = Shades(suspect.Among{{Engine: e, P: 1}})
	}
	if !opt.Points {
		return nil
	}
	sheet, err := r.Points(ctx, e, SheetOptions{})
	if err != nil {
		return err
	}
	return r.drawPoints(sheet, q, d)
}

// drawListed numbers the machine's listed points, where there is no sheet.
func (r *Reporter) drawListed(q Question, d *schematic.Drawing) error {
	for i, p := range r.c.Points() {
		d.TestPoints = append(d.TestPoints, schematic.TestPoint{Mark: fmt.Sprint(i + 1), Terminal: p.Terminal, Name: r.drawnPlace(p.Terminal)})
	}
	bench := meter.New(r.c, meter.DefaultInstrument())
	return r.drawReadings(bench, bench.Reference(), q.Mode, d)
}

// mostMarks is how many tests one test point names.
const mostMarks = 4

// drawPoints marks the places where the tests put the probes by the tests'
// numbers, which are those of the sheet, and the probe: 3R, 3B.
func (r *Reporter) drawPoints(sheet *Points, q Question, d *schematic.Drawing) error {
	marks := map[circuit.TerminalID][]string{}
	var order []circuit.TerminalID
	mark := func(p Probe, number int, probe string) (circuit.TerminalID, error) {
		t, err := r.c.FindTerminal(p.Terminal)
		if err == nil && marks[t] == nil {
			order = append(order, t)
		}
		marks[t] = append(marks[t], fmt.Sprint(number)+probe)
		return t, err
	}
	bench := meter.New(r.c, meter.DefaultInstrument())
	black := circuit.TerminalID(circuit.None)
	for i := range sheet.Steps {
		s := &sheet.Steps[i]
		if !s.probing() || s.clamps() {
			continue // a clamp has no two probes to draw
		}
		if _, err := mark(s.From, s.Number, "R"); err != nil {
			return err
		}
		t, err := mark(s.To, s.Number, "B")
		if err != nil {
			return err
		}
		if s.Power == "on" && (black == circuit.None || t == bench.Reference()) {
			black = t
		}
		d.Tests = append(d.Tests, schematic.Test{Number: s.Number, Text: r.drawnTest(s)})
	}
	for _, t := range order {
		m := marks[t]
		if more := len(m) - mostMarks; more > 0 {
			m = append(m[:mostMarks:mostMarks], fmt.Sprintf("+%d", more))
		}
		d.TestPoints = append(d.TestPoints, schematic.TestPoint{Mark: strings.Join(m, " "), Terminal: t, Name: r.drawnPlace(t)})
	}
	if black == circuit.None {
		black = bench.Reference()
	}
	return r.drawReadings(bench, black, q.Mode, d)
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
func (r namer) drawnTest(s *Step) string {
	power := "supply locked out"
	if s.Power == "on" {
		power = "in " + s.Mode.Label
	}
	lift := ""
	if s.Lift != nil {
		lift = ", " + s.Lift.sentence() + " lifted"
	}
	return fmt.Sprintf("R %s, B %s: %s, %s%s", s.From.Label, s.To.Label, s.Good.Range, power, lift)
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
