package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/render/report"
)

// drillDialog is one drill on a terminal, or from a script.
type drillDialog struct {
	w        io.Writer
	in       *lines
	echo     bool // the moves of a script are shown after the prompt
	s        *drill.Session
	reporter *report.Reporter
	name     string
}

func (d *drillDialog) run(ctx context.Context, t *terminal, o *outputFlags) error {
	d.open()
	for d.s.End() == drill.Open {
		line, err := d.ask(ctx)
		if errors.Is(err, io.EOF) || errors.Is(err, errQuit) {
			break
		}
		if err != nil {
			return err
		}
		d.take(line)
	}
	if d.s.End() == drill.TimeIsUp {
		d.say(2, "The time is up.")
	}
	summary, err := d.reporter.Drill(ctx, d.s)
	if err != nil {
		return err
	}
	if !o.json {
		_, _ = io.WriteString(d.w, "\n")
	}
	return t.show(summary, o)
}

func (d *drillDialog) open() {
	d.say(0, d.name)
	opt := d.s.Drill().Options()
	hidden := "One fault is hidden."
	if opt.Faults > 1 {
		hidden = fmt.Sprintf("%d faults are hidden.", opt.Faults)
	}
	if opt.Budget > 0 {
		hidden += fmt.Sprintf(" You have %.0f minutes.", opt.Budget)
	}
	if opt.Foretell {
		hidden += ` Before each reading say what a good machine shows there and why, as in "expect 240 fed"; "reasons" lists them.`
	}
	d.say(0, hidden)
	d.say(0, "")
	d.say(0, "The customer says:")
	for _, s := range d.s.Drill().Complaint().Said {
		d.say(2, s)
	}
	d.say(0, "")
	d.say(0, `The machine is plugged in and on. "help" lists the moves, "points" the places for the probes. On a real machine:`)
	for _, s := range report.Cautions() {
		d.say(2, s)
	}
	d.say(0, "")
}

// take makes one move, or answers a question about what there is.
func (d *drillDialog) take(line string) {
	switch strings.ToLower(strings.TrimSpace(line)) {
	case "":
		return
	case "help", "?":
		d.help()
		return
	case "points":
		d.points()
		return
	case "modes":
		d.modes()
		return
	case "reasons":
		for _, r := range drill.Reasons() {
			d.term(r[0], r[1])
		}
		return
	case "complaint":
		for _, s := range d.s.Drill().Complaint().Said {
			d.say(2, s)
		}
		return
	}
	m, err := drill.Parse(d.s.Drill().Circuit(), line)
	if err != nil {
		d.say(2, err.Error())
		return
	}
	step, err := d.s.Play(m)
	if err != nil {
		d.say(2, err.Error())
		return
	}
	for _, s := range step.Said {
		d.say(2, s)
	}
}

func (d *drillDialog) help() {
	for _, u := range drill.Usage() {
		d.term(u[0], u[1])
	}
	d.term("points, modes", "what there is; complaint: what the customer said; reasons: for expect")
	d.term("quit", "end, with what you have")
	d.say(2, "")
	d.say(2, "What stops you:")
	for _, r := range drill.Rules() {
		d.say(4, string(r.Rule)+": "+r.Says)
	}
}

func (d *drillDialog) points() {
	c := d.s.Drill().Circuit()
	for _, p := range c.Points() {
		d.term(p.Name, fmt.Sprintf("%s; %s, %.0f min", p.Label, p.Place, c.AccessMinutes(p.Terminal)))
	}
	d.say(2, "Any terminal may be probed as well, as in oven_sensor.1.")
}

func (d *drillDialog) modes() {
	c := d.s.Drill().Circuit()
	for i := range c.Modes() {
		m := c.Mode(circuit.ModeID(i))
		d.term(m.Name, m.Label)
	}
}

// ask waits for a move. The prompt tells the minutes so far and how the supply
// stands.
func (d *drillDialog) ask(ctx context.Context) (string, error) {
	supply := "off"
	if d.s.On() {
		supply = "on"
	}
	_, _ = fmt.Fprintf(d.w, "%.0f min, %s> ", d.s.Minutes(), supply)
	select {
	case <-ctx.Done():
		_, _ = io.WriteString(d.w, "\n")
		return "", ctx.Err()
	case line, ok := <-d.in.next:
		if !ok {
			_, _ = io.WriteString(d.w, "\n")
			if d.in.err != nil {
				return "", fmt.Errorf("cannot read the move: %w", d.in.err)
			}
			return "", io.EOF
		}
		line = strings.TrimSpace(line)
		if d.echo {
			d.say(0, line)
		}
		if strings.EqualFold(line, "quit") {
			return "", errQuit
		}
		return line, nil
	}
}

func (d *drillDialog) say(indent int, s string) {
	for _, line := range report.Wrap(escape(s), report.Width-indent) {
		_, _ = io.WriteString(d.w, strings.TrimRight(strings.Repeat(" ", indent)+line, " ")+"\n")
	}
}

// term writes text beside a short term.
func (d *drillDialog) term(term, s string) {
	const column = 15
	left := fmt.Sprintf("  %-*s ", column, escape(term))
	if len(term) > column {
		_, _ = io.WriteString(d.w, "  "+escape(term)+"\n")
		left = strings.Repeat(" ", column+3)
	}
	for _, line := range report.Wrap(escape(s), report.Width-column-3) {
		_, _ = io.WriteString(d.w, left+line+"\n")
		left = strings.Repeat(" ", column+3)
	}
}
