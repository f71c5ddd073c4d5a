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
	talk
	s        *drill.Session
	reporter *report.Reporter
	name     string
	patience int // for the debrief, in thousand solutions
}

func (d *drillDialog) run(ctx context.Context, t *terminal, o *outputFlags) error {
	d.open()
	for d.s.End() == drill.Open {
		supply := "off"
		if d.s.On() {
			supply = "on"
		}
		line, err := d.ask(ctx, fmt.Sprintf("%.0f min, %s", d.s.Minutes(), supply))
		if errors.Is(err, io.EOF) || isQuit(strings.ToLower(line)) {
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
	bound, stop := circuit.Within(ctx, 1000*d.patience)
	defer stop()
	summary, err := d.reporter.Drill(bound, d.s)
	if err != nil {
		return err
	}
	if summary.Unweighed {
		t.warn(fmt.Sprintf("the score takes more than %d thousand solutions here, and was given up; --patience %d allows twice as many", d.patience, 2*d.patience))
	}
	if !o.json {
		d.blank()
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
	d.blank()
	d.say(0, "The customer says:")
	for _, s := range d.s.Drill().Complaint().Said {
		d.say(2, s)
	}
	d.blank()
	d.say(0, `The machine is plugged in and on. "help" lists the moves, "points" the places for the probes. On a real machine:`)
	for _, s := range report.Cautions() {
		d.say(2, s)
	}
	d.blank()
}

// take makes one move, or answers a question about what there is.
func (d *drillDialog) take(line string) {
	switch strings.ToLower(line) {
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
			d.entry(r[0], r[1])
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
		d.entry(u[0], u[1])
	}
	d.entry("points, modes", "what there is; complaint: what the customer said; reasons: for expect")
	d.entry("quit", "end, with what you have")
	d.blank()
	d.say(2, "What stops you:")
	for _, r := range drill.Rules() {
		d.say(4, string(r.Rule)+": "+r.Says)
	}
}

func (d *drillDialog) points() {
	c := d.s.Drill().Circuit()
	for _, p := range c.Points() {
		d.entry(p.Name, fmt.Sprintf("%s; %s, %.0f min", p.Label, p.Place, c.AccessMinutes(p.Terminal)))
	}
	d.say(2, "Any terminal may be probed as well, as in oven_sensor.1.")
}

func (d *drillDialog) modes() {
	c := d.s.Drill().Circuit()
	for i := range c.Modes() {
		m := c.Mode(circuit.ModeID(i))
		d.entry(m.Name, m.Label)
	}
}

// entry writes what is said of a name beside it, in a column that lines up.
func (d *drillDialog) entry(name, s string) {
	const column = 15
	name = escape(name)
	if len(name) > column {
		d.say(2, name)
		name = ""
	}
	d.term(2, fmt.Sprintf("%-*s", column, name), s)
}
