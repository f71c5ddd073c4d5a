package desk

import (
	"errors"
	"fmt"
	"html/template"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/render/report"
)

type loadRow struct {
	report.Load
	Percent int
	// V, A and W are its figures in words.
	V, A, W string
	// Sound is what the load does with nothing broken, where something is; else empty.
	Sound string
}

// LoadRows writes the table of the loads out: of what a tap brings, it is what a template
// takes longest for.
func (v *view) LoadRows() template.HTML {
	var out strings.Builder
	esc := template.HTMLEscapeString
	for _, l := range v.Loads {
		now := ""
		if l.Ref == v.Load {
			now = ` aria-current="true"`
		}
		cell := fmt.Sprintf(`<td class="share"><meter aria-hidden="true" min="0" max="120" value="%[1]d">%[1]d %%</meter> %[1]d&nbsp;%%</td>`, l.Percent)
		if l.Sound != "" {
			cell = `<td class="sound">` + esc(l.Sound) + `</td>`
		}
		out.WriteString(`<tr data-load="` + esc(l.Ref) + `" data-state="` + esc(l.State) + `"` + now + `>
<th scope="row"><a data-go href="` + esc(string(v.State.OfLoad(l.Ref).Link())) + `">` + esc(l.Label) + `</a></th><td class="state">` + esc(l.State) + `</td><td>` + esc(l.V) + `</td><td>` + esc(l.A) + `</td><td>` + esc(l.W) + `</td>
` + cell + "</tr>\n")
	}
	return template.HTML(out.String())
}

// rowOf writes a load's figures out: a template takes longer for each than for a name.
func rowOf(l report.Load) loadRow {
	span := func(least, most float64) string {
		if least < most {
			return figure(least) + " to " + figure(most)
		}
		return figure(most)
	}
	return loadRow{Load: l, Percent: min(999, int(100*l.ShareMost+0.5)), V: span(l.Volts, l.VoltsMost), A: span(l.Amps, l.AmpsMost), W: span(l.Watts, l.WattsMost)}
}

func (b *bench) loads(x *situation, out *settle.Outcome, v *view) error {
	q := x.question
	if x.Off {
		q.Faults = append(b.cutOff(x.faults), x.faults...)
	}
	d, err := b.Reporter.Loads(q)
	var short *report.UnsoundError
	if errors.As(err, &short) { // what was set or written shorts the supply
		v.Alerts = append(v.Alerts, short.Error())
		return nil
	}
	if err != nil {
		return err
	}
	for _, l := range d.Loads {
		if x.Off && l.State != circuit.StaysOn.String() {
			l.State = circuit.Off.String()
		}
		v.Loads = append(v.Loads, rowOf(l))
	}
	for _, it := range d.Tripped {
		v.Alerts = append(v.Alerts, it.Label+" trips: a short draws more than it carries.")
	}
	if len(d.Chatters) > 0 {
		var names []string
		for _, it := range d.Chatters {
			names = append(names, it.Label)
		}
		v.Alerts = append(v.Alerts, "The machine does not settle: "+strings.Join(names, ", ")+" keep opening and closing: a buzz or fast clicks, lamps flicker, the meter jumps.")
	}
	for i, c := range b.c.Controls() {
		if i < len(out.Controls) && !out.Controls[i].Ready() && !x.Off {
			v.Alerts = append(v.Alerts, b.controlWords(c, out.Controls[i]))
		}
	}
	return nil
}

// besideSound puts what a sound machine does beside what this one does.
func (b *bench) besideSound(x *situation, v *view) error {
	sound, s := *x, &view{}
	sound.faults, sound.question.Faults = nil, nil
	out, err := b.settled(&sound)
	if err != nil {
		return err
	}
	if err := b.loads(&sound, out, s); err != nil {
		return err
	}
	for i := range v.Loads {
		if i < len(s.Loads) {
			if v.Loads[i].Sound = figure(s.Loads[i].WattsMost) + " W"; s.Loads[i].State != v.Loads[i].State {
				v.Loads[i].Sound = s.Loads[i].State + ", " + v.Loads[i].Sound
			}
		}
	}
	r, err := b.read(&sound, out)
	v.Meter.Sound = strings.TrimSpace(r.Shows + " " + r.Beeps)
	return err
}
