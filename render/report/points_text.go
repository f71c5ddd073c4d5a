package report

import (
	"fmt"
	"strings"

	"legtrace/circuit/meter"
)

func (d *Points) blocks(p *page) {
	p.title(d.Head, d.heading())
	p.para(0, d.summary())

	p.add(cautionBlock{title: "Before anything else", lines: d.Cautions, numbered: true})
	d.stays(p)
	for i := range d.Steps {
		s := &d.Steps[i]
		if i == 0 || d.Steps[i-1].Power != s.Power {
			p.heading(s.section())
		} else if s.OnlyIf == 0 {
			p.gap()
		}
		s.blocks(p)
	}
	d.together(p)
	p.notes(d.Head)
}

func (d *Points) heading() string {
	return fmt.Sprintf("Test points: %s dead or weak in %s", lowerFirst(d.Load.Label), d.Mode.Label)
}

// summary says how long the list is.
func (d *Points) summary() string {
	always := 0
	for _, s := range d.Steps {
		if s.OnlyIf == 0 {
			always++
		}
	}
	more := ""
	if n := len(d.Steps) - always; n > 0 {
		more = fmt.Sprintf(" and %d only after a bad reading", n)
	}
	return fmt.Sprintf("%s that would take power from it, %s%s, about %.0f minutes. Good readings are for a meter of %s on volts and %s on ohms, 10%s%% of supply either way.",
		count(len(d.Suspects), "single open", "single opens"), count(always, "step", "steps"), more, d.Minutes, d.Meter.Volts, d.Meter.Ohms, hard)
}

// stays tells what is live with the machine switched off.
func (d *Points) stays(p *page) {
	p.heading(d.liveHeading())
	for _, line := range d.liveLines() {
		p.item(1, line)
	}
}

func (d *Points) liveHeading() string {
	return "Still live in " + d.Standing.Mode.Label + ", with the breaker on"
}

// liveLines tells each live group in a line.
func (d *Points) liveLines() []string {
	var out []string
	for i := range d.Standing.Nodes {
		n := &d.Standing.Nodes[i]
		byVia := map[string][]string{}
		var order []string
		for _, t := range n.touched() {
			if _, seen := byVia[t.via]; !seen {
				order = append(order, t.via)
			}
			byVia[t.via] = append(byVia[t.via], t.what)
		}
		var parts []string
		for _, via := range order {
			parts = append(parts, upperFirst(via)+": "+strings.Join(byVia[via], "; "))
		}
		out = append(out, fmt.Sprintf("%s, from %s. %s.", n.text(), conductorWord(n.From), strings.Join(parts, ". ")))
	}
	if len(out) == 0 {
		return []string{"Nothing, as far as the netlist tells."}
	}
	if len(out) > 1 {
		out = append(out, fmt.Sprintf("Up to %.0f%sV between two of them.", d.Standing.Apart, hard))
	}
	return out
}

// section heads the steps of one power state.
func (s *Step) section() string {
	if s.Power == "removed" {
		return "Supply removed and locked out; knobs and thermostats as in " + s.Mode.Label
	}
	return "Supply on: live work, by qualified people only"
}

// when says in which state of the machine the step is done, where its section
// does not.
func (s *Step) when() string {
	var out []string
	if s.OnlyIf > 0 {
		out = append(out, fmt.Sprintf("only if step %d read bad", s.OnlyIf))
	}
	switch {
	case s.UnderLoad:
		out = append(out, "in "+s.Mode.Label+", UNDER LOAD")
	case s.Power == "on":
		out = append(out, "in "+s.Mode.Label)
	}
	return strings.Join(out, ", ")
}

func (s *Step) blocks(p *page) {
	f, _ := meter.ParseFunction(s.Function)
	b := stepBlock{number: s.Number, title: upperFirst(functionWords[f]), live: s.Power == "on", after: s.OnlyIf > 0}
	if w := s.when(); w != "" {
		b.title += ", " + w
	}
	row := func(term, text string) { b.rows = append(b.rows, termBlock{4, 8, term, text}) }
	row("red", s.From.where())
	row("black", s.To.where())
	if s.Lift != nil {
		row(asBad("lift"), s.Lift.sentence()+" first: in circuit an open would be hidden")
	}
	row(asGood("good"), s.goodWords())
	for _, o := range s.Bad {
		if o.Told() {
			row(asBad("bad"), o.text())
		}
	}
	p.add(b)
}

// text says what a bad reading means.
func (o *Outcome) text() string { return sentences(o.Words+": "+o.Conclude, o.Live) }

// goodWords tell the good interval and its reasons.
func (s *Step) goodWords() string {
	return sentences(s.Good.Range+s.Good.sounds()+reasons(s.Good.Why), s.GoodLive)
}

// sentences puts one more sentence, if there is one, after the first.
func sentences(first, more string) string {
	if more == "" {
		return first
	}
	return first + ". " + more
}

// reasons put an interval's reasons in brackets; the meter's own is in the
// list's heading.
func reasons(why []string) string {
	var out []string
	for _, w := range why {
		if !strings.HasPrefix(w, "instrument ") {
			out = append(out, w)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return " (" + strings.Join(out, "; ") + ")"
}

// together tells the suspects that the list does not tell apart.
func (d *Points) together(p *page) {
	if len(d.Alike) > 0 {
		p.heading("Nothing on this list distinguishes these")
		for _, a := range d.Alike {
			p.term(1, 2, "-", upperFirst(partsAndWires(a.Items))+": "+a.Hint+".")
		}
	}
	if s := d.leftOver(); s != "" {
		p.heading("Every reading good, and still it does not work")
		p.para(1, s)
	}
}

func (d *Points) leftOver() string {
	if len(d.LeftOver) == 0 {
		return ""
	}
	return "That leaves " + partsAndWires(d.LeftOver) + ": fed, and not doing its work."
}
