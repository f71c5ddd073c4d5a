package report

import (
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

func (d *Readings) blocks(p *page) {
	p.title(d.Head, "What the meter reads in "+d.Mode.Label)
	p.para(0, d.setUp())
	for i := range d.Readings {
		d.Readings[i].blocks(p, len(d.Faults) > 0)
	}
	p.cautions()
	p.notes(d.Head)
}

// setUp says how the meter and the machine are set.
func (d *Readings) setUp() string {
	f, _ := meter.ParseFunction(d.Function)
	s := circuit.UpperFirst(functionWords[f])
	switch f {
	case meter.Ohms, meter.Continuity:
		s += ": supply removed, locked out and proved dead; every coil dropped out; knobs and thermostats as in " + d.Mode.Label + "."
	default:
		s += ": supply on, live work."
	}
	s += " Meter: " + d.Meter.Name + "."
	if !d.Tolerances {
		s += " Intervals hold the meter's own error only."
	}
	return s
}

func (d *PairReading) blocks(p *page, faults bool) {
	if d.Wire != nil {
		p.heading("Clamp around wire " + d.Wire.Ref)
		p.para(2, strings.TrimSpace(fmt.Sprintf("%s, %s to %s", wireLook(*d.Wire), d.Wire.From, d.Wire.To)))
	} else {
		p.heading(d.From.name() + " to " + d.To.name())
		p.term(2, 7, "red", d.From.where())
		p.term(2, 7, "black", d.To.where())
	}
	rows := [][]string{{"sound", d.Good.Shows + d.Good.sounds(), d.Good.Range, ""}}
	lifted := ""
	if d.Lift != nil {
		rows[0][0] = "sound, in circuit"
		rows = append(rows, []string{"sound, lead lifted", d.GoodLifted.Shows + d.GoodLifted.sounds(), d.GoodLifted.Range, ""})
		lifted = ", in circuit"
	}
	if faults {
		rows = append(rows, []string{"broken" + lifted, d.With.Shows + d.With.sounds(), d.With.Range, tells(d.Differs)})
		if d.WithLifted != nil {
			rows = append(rows, []string{"broken, lead lifted", d.WithLifted.Shows + d.WithLifted.sounds(), d.WithLifted.Range, tells(d.DiffersLifted)})
		}
	}
	p.table(2, []column{{title: "", width: 19}, {title: "Nominal", width: 22}, {title: "Between", width: 22}, {title: ""}}, rows)
	if len(d.Good.Why) > 0 {
		p.term(2, 7, "why", strings.Join(d.Good.Why, "; "))
	}
	for _, a := range d.Advice {
		p.term(2, 7, "lift", a.sentence())
	}
	if len(d.Advice) == 0 && d.From != nil && d.Good.Unit == "ohms" {
		p.term(2, 7, "lift", asGood("no need:")+" no open between these probes is hidden by another way round.")
	}
	if d.Lift != nil {
		p.term(2, 7, "", "The lifted reading is with "+d.Lift.sentence()+" taken off.")
	}
	for _, s := range d.Remarks {
		p.term(2, 7, "note", s)
	}
}

func tells(differs bool) string {
	if differs {
		return asBad("differs")
	}
	return "as good"
}

func (a *Advice) sentence() string {
	of := circuit.LowerFirst(a.Of.Label)
	switch a.Verdict {
	case adviceNoUse:
		return asBad("no use:") + fmt.Sprintf(" %s reads %s sound and %s open, lead lifted or not; only a live test tells.", of, a.Good.Range, a.Open.Range)
	case adviceLift:
		s := asBad("lift a lead:") + fmt.Sprintf(" an open in %s would not show in circuit", of)
		if len(a.Through) > 0 {
			s += ", hidden by the way round through " + partsAndWires(a.Through)
		}
		if a.Lift != nil {
			s += ". Take off " + a.Lift.sentence()
		}
		return s + fmt.Sprintf("; good is then %s, open %s.", a.Good.Range, a.Open.Range)
	}
	return asGood("no need:") + fmt.Sprintf(" an open in %s reads %s in circuit.", of, a.Open.Range)
}
