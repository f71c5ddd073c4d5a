package report

import (
	"cmp"
	"fmt"
)

func (d *Visit) blocks(p *page) {
	p.heading("Visit")
	p.para(0, d.Machine.Title)
	for _, row := range d.about() {
		p.term(2, 14, row[0], row[1])
	}
	p.first(d.First)
	p.add(cautionBlock{title: "Caution", lines: d.Cautions})
	p.visitNotes("Seen and measured", d.Notes)
	d.Misfit.blocks(p)
	p.heading("Verdict")
	p.para(2, d.verdict())
	if d.Verdict == nil {
		(&Suspects{Suspects: d.Suspects, Others: d.Others}).table(p)
	}
	if len(d.Mended) > 0 {
		p.heading("Repairs that did not end the trouble")
		p.para(2, d.Mended...)
	}
	if d.Repair != "" {
		p.heading("Repair")
		p.para(2, d.Repair)
		if d.Astray != "" {
			p.para(2, d.Astray)
		}
		if len(d.Before) > 0 {
			p.para(2, "What may have made it, looked at before power was put on:")
			for _, s := range d.Before {
				p.term(2, 4, "[ ]", s)
			}
		}
		p.visitNotes("After the repair", d.After)
		p.para(2, cmp.Or(d.Proof, "Nothing shows what was repaired."))
	}
	p.add(signatureBlock{[2]string{"Technician", "Customer"}})
	if d.Diagram != "" {
		p.add(figureBlock{d.Diagram, d.Pictured + ". It is worked out from a transcribed netlist: compare it with the machine."})
	}
}

// about lists what is known of the visit itself.
func (d *Visit) about() [][2]string {
	var out [][2]string
	for _, row := range [][2]string{{"Date", d.Date}, {"Complaint", d.Complaint}, {"Netlist", d.Machine.Name}, {"Supply", d.Machine.Supply},
		{"Instrument", d.Instrument}, {"Temperature", fmt.Sprintf("%.0f C", d.Celsius)}} {
		if row[1] != "" {
			out = append(out, row)
		}
	}
	return out
}

func (d *Visit) verdict() string {
	if d.Verdict == nil {
		return "None yet."
	}
	s := d.Verdict.Text
	if d.Verdict.Place != "" {
		s += " (" + d.Verdict.Place + ")"
	}
	if d.Verdict.Chance > 0 {
		s += ", " + Chance(d.Verdict.Chance)
	}
	return s + "."
}

func (p *page) visitNotes(title string, notes []VisitNote) {
	if len(notes) == 0 {
		return
	}
	p.heading(title)
	p.table(0, []column{{width: 4, fixed: true, right: true}, {title: "What"}, {title: "Good", width: 18}, {title: "", width: 4}}, each(notes, func(n VisitNote) []string {
		return []string{fmt.Sprint(n.Number), n.Text, n.Good, n.judged()}
	}))
}

// Result is a note judged in a word or two; what was told is neither good nor bad.
func (n VisitNote) Result() string {
	switch {
	case !n.Made:
		return "not made"
	case n.Taken:
		return "taken as good"
	case n.Bad:
		return "BAD"
	case n.Good == "":
		return "told"
	}
	return "good"
}

func (n VisitNote) judged() string {
	switch result := n.Result(); result {
	case "BAD":
		return asBad(result)
	case "good":
		return asGood(result)
	}
	return "" // its text says so
}
