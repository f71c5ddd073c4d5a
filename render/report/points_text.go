package report

import (
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

func (d *Points) blocks(p *page) {
	p.title(d.Head, "Test sheet: "+circuit.LowerFirst(d.About))
	p.add(formBlock(d.Form))
	p.para(0, d.summary())
	if len(d.Suspects) > 0 {
		p.para(0, d.likely())
	}
	if len(d.Wiring) > 0 {
		p.add(cautionBlock{title: "The wiring is not known", lines: d.Wiring})
	}
	p.add(cautionBlock{title: "Throughout", lines: d.Cautions})
	p.heading("Still live in " + d.Standing.Mode.Label + ", with the breaker on")
	p.item(1, d.liveLines()...)
	section, safe := "", false
	for i := range d.Steps {
		s := &d.Steps[i]
		if !safe && !s.Outside {
			p.heading("Make it safe")
			p.check(d.LockOut...)
			safe = true
		}
		if s.Power == "on" && len(s.Opens)+len(s.Dead) > 0 {
			p.heading("Supply still removed and locked out")
			s.opens(p)
		}
		if now := s.section(); s.OnlyIf == 0 && now != section || len(s.Before) > 0 {
			section = now
			p.heading(now)
		} else if s.OnlyIf == 0 {
			p.gap()
		}
		p.check(s.Before...)
		if s.Power == "removed" {
			s.opens(p)
		}
		if x, ok := d.Pictures[s.Number]; ok && x.SVG != "" {
			p.add(windowBlock(x))
		}
		s.blocks(p)
	}
	d.together(p)
	if len(d.Repair) > 0 {
		p.heading("Supply removed and locked out, before anything is mended or closed")
		p.check(d.Repair...)
	}
	p.heading("After the repair")
	p.check(d.After...)
	p.add(signatureBlock{[2]string{"Technician", "Customer"}})
	p.notes(d.Head)
	if d.Diagram != "" {
		p.add(windowBlock{SVG: d.Diagram})
	}
}

// summary says how long the sheet is.
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
	minutes := fmt.Sprintf("about %.0f minutes", d.Minutes)
	if always > 1 && d.Steps[0].OnlyIf == 0 {
		minutes = fmt.Sprintf("about %.0f minutes if the first finds it, %.0f for all", d.Steps[0].Minutes, d.Minutes)
	}
	return fmt.Sprintf("%s%s: %s. Good readings are for a meter of %s on volts and %s on ohms, 10%s%% of supply either way.",
		count(always, "step", "steps"), more, minutes, d.Meter.Volts, d.Meter.Ohms, hard)
}

// mostLikely is how many suspects the head of a sheet names.
const mostLikely = 5

// likely names the likeliest suspects.
func (d *Points) likely() string {
	var out []string
	for _, s := range d.Suspects[:min(mostLikely, len(d.Suspects))] {
		if s.Text != "" {
			out = append(out, s.Text+" ("+Chance(s.Share)+")")
		}
	}
	return "Likely: " + strings.Join(out, "; ") + "."
}

// text says what to open, and what to look at before a probe is put down.
func (o *Opened) text(only string) string {
	open := "Open"
	switch {
	case only != "":
		open = only + ", open"
	case o.Maybe:
		open = "Open, unless it is"
	}
	s := fmt.Sprintf("%s: %s (%.0f%smin).", open, circuit.LowerFirst(o.Panel), o.Minutes, hard)
	if len(o.Look) > 0 {
		s += " Look at: " + strings.Join(o.Look, ", ") + "."
	}
	return s
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
			parts = append(parts, circuit.UpperFirst(via)+": "+strings.Join(byVia[via], "; "))
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

// section heads the steps of one state of the machine.
func (s *Step) section() string {
	switch {
	case s.Waits:
		return "At the controls, probes off"
	case s.Outside && s.OnlyIf == 0:
		return "Before anything is opened"
	case s.Power == "removed":
		return "Supply removed and locked out; knobs and thermostats as in " + s.Mode.Label
	}
	return "Supply on: live work, by qualified people only"
}

// when says in which state of the machine the step is done, where its section
// does not.
func (s *Step) when() string {
	var out []string
	switch {
	case s.UnderLoad:
		out = append(out, "in "+s.Mode.Label+", UNDER LOAD")
	case s.Power == "on" && s.probing():
		out = append(out, "LIVE, in "+s.Mode.Label)
	case s.OnlyIf > 0 && !s.Outside:
		out = append(out, "supply removed")
	}
	if s.OnlyIf > 0 {
		read := "bad"
		if s.After != "" {
			read = s.After
		}
		out = append(out, fmt.Sprintf("only if step %d read %s", s.OnlyIf, read))
	}
	return strings.Join(out, ", ")
}

// probing reports whether a meter's probes are put down.
func (s *Step) probing() bool { return !s.Trial && s.Ask == "" }

// clamps reports whether a step's clamp goes around a wire, and no probe is put down.
func (s *Step) clamps() bool { return s.Function == meter.Amps.String() }

// title says what is done.
func (s *Step) title() string {
	switch {
	case s.Ask != "":
		return s.Do
	case s.Trial:
		return s.Bring + " and look"
	}
	f, _ := meter.ParseFunction(s.Function)
	out := circuit.UpperFirst(functionWords[f])
	if s.Scale != "" {
		out += ", range " + s.Scale
	}
	return out
}

// lead tells where a probe goes and the wires there to find it by.
func (p *Probe) lead() string {
	if l := p.look(); l != "" {
		return p.Label + "; " + l
	}
	return p.Label
}

// where tells the place of both probes.
func (s *Step) where() string {
	switch {
	case s.From.Place == s.To.Place:
		return s.From.Place
	case s.From.Place == "":
		return s.To.Place
	case s.To.Place == "" || s.To.Terminal == circuit.ChassisName:
		return s.From.Place
	}
	return s.From.Place + "; " + s.To.Place
}

func (s *Step) opens(p *page) {
	only, among := "", s.Power == "removed"
	if s.OnlyIf > 0 && among {
		only = fmt.Sprintf("For step %d only", s.Number)
	}
	for _, o := range s.Opens {
		p.add(checkBlock{o.text(only), among, true})
	}
	for _, text := range s.Dead {
		p.add(checkBlock{text, among, false})
	}
}

func (s *Step) blocks(p *page) {
	b := stepBlock{number: s.Number, title: s.title(), live: s.Power == "on" && s.probing(), after: s.OnlyIf > 0}
	if w := s.when(); w != "" {
		b.title += ", " + w
	}
	row := func(term, text string) { b.rows = append(b.rows, termBlock{4, 8, term, text}) }
	switch {
	case s.Ask != "":
		if s.From.Place != "" {
			row("where", s.From.Place)
		}
	case s.Trial:
		row("look", "at "+circuit.List(names(s.Watch))+", by eye, or by heat where it cannot be seen")
	case s.clamps():
		row("around", s.From.lead()+", to "+s.To.Label)
		if s.From.Place != "" {
			row("where", s.From.Place)
		}
	default:
		row("red", s.From.lead())
		row("black", s.To.lead())
		if where := s.where(); where != "" {
			row("where", where)
		}
	}
	if s.Lift != nil {
		row(asBad("lift"), s.Lift.sentence()+" first: what lies beside it would hide the fault")
	}
	row(asGood("good"), s.goodWords())
	for i := range s.Bad {
		row(asBad("bad"), s.Bad[i].text())
	}
	for _, n := range s.Notes {
		row("note", n)
	}
	p.add(b)
}

// text says what a bad reading means.
func (o Outcome) text() string {
	s := o.Words + ": " + o.Conclude
	if o.Then > 0 {
		s += fmt.Sprintf(". Go on with step %d", o.Then)
	}
	return sentences(s, o.Live)
}

// goodWords tell the good interval and its reasons.
func (s *Step) goodWords() string {
	out := sentences(s.Good.Range+s.Good.sounds()+reasons(s.Good.Why), s.GoodLive)
	if len(s.IfGood) > 0 {
		out += ". It leaves " + either(s.IfGood)
	}
	return out
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

// together tells what to do where a reading leaves several things, or none.
func (d *Points) together(p *page) {
	if len(d.Hints) > 0 {
		p.heading("Where a reading leaves several things")
		p.item(1, d.Hints...)
	}
	p.heading("Every reading good, and still it does not work")
	if len(d.LeftOver) > 0 {
		p.para(1, "That leaves "+either(d.LeftOver)+".")
	} else {
		p.para(1, "Nothing is left of what this machine's netlist has. See once more what works and what does not, with whoever called; check the machine against its netlist; take again the reading that was hardest to take.")
	}
	for _, s := range d.NoMeter {
		p.para(1, "No meter shows: "+s)
	}
}

// either joins explanations any of which holds.
func either(list []Suspect) string {
	return strings.Join(each(list[:min(mostLikely, len(list))], func(s Suspect) string { return s.Text }), "; or ")
}
