package report

import (
	"fmt"
	"math"
	"strings"

	"legtrace/circuit"
)

// barWidth is how wide certainty is drawn.
const barWidth = 10

// bar draws a probability.
func bar(p float64) string {
	n := int(math.Round(p * barWidth))
	return strings.Repeat("#", n) + strings.Repeat(".", barWidth-n)
}

// Chance writes a probability as per cent, never as certain or impossible.
func Chance(p float64) string {
	switch {
	case p > 0.995:
		return ">99" + hard + "%"
	case p < 0.01:
		return "<1" + hard + "%"
	}
	return percent(p)
}

func (d *Suspects) blocks(p *page) {
	p.heading("Suspects")
	p.para(0, d.Machine.Title)
	p.first(d.First)
	p.known(d.Known)
	d.Misfit.blocks(p)
	p.heading("Suspects, the most probable first")
	d.table(p)
	p.para(2, fmt.Sprintf("Not considered: at most %.1f%s%% (three faults and more).", 100*d.LeftOut, hard))
	d.undivided(p)
	d.next(p)
	p.cautions()
	for _, n := range d.Notes {
		p.gap()
		p.para(0, n)
	}
}

// first says what comes before any test.
func (p *page) first(lines []string) {
	if len(lines) > 0 {
		p.add(cautionBlock{title: "First", lines: lines})
	}
}

func (p *page) known(known []Known) {
	p.heading("What is known")
	if len(known) == 0 {
		p.para(2, "Nothing yet.")
	}
	for _, k := range known {
		p.term(2, 4, fmt.Sprint(k.Number), k.Text)
	}
}

// table ranks the explanations.
func (d *Suspects) table(p *page) {
	var rows [][]string
	for i, x := range d.Suspects {
		rows = append(rows, []string{fmt.Sprint(i + 1), Chance(x.P), bar(x.P), x.Words(), x.place()})
	}
	if d.Others >= 0.001 {
		rows = append(rows, []string{"", Chance(d.Others), bar(d.Others), "all others", ""})
	}
	p.table(0, []column{{width: 4, fixed: true, right: true}, {width: 6, fixed: true, right: true},
		{width: barWidth, bar: true}, {title: "What, and how it failed"}, {title: "Where", width: 24}}, rows)
}

func (d *Suspects) undivided(p *page) {
	if len(d.Alike) == 0 {
		return
	}
	p.heading("Not distinguished by any listed test")
	for _, a := range d.Alike {
		s := few(a.Texts) + ". "
		if a.Split == "" {
			s += "No further probe distinguishes them: they are replaced together, or tried in turn."
		} else {
			s += "A probe at " + a.Split + " would"
			if a.Place != "" {
				s += " (" + a.Place + ")"
			}
			s += "."
		}
		p.term(2, 6, Chance(a.P), s)
	}
}

func (d *Suspects) next(p *page) {
	p.heading("Next best tests")
	if d.Asks != "" {
		p.para(2, d.Asks)
	} else if d.Stand != "" {
		p.para(2, d.Stand)
	} else if len(d.Next) == 0 {
		p.para(2, "No listed test tells more.")
	}
	if d.Little {
		p.para(2, "These would tell too little for their time.")
	}
	for i, t := range d.Next {
		p.term(2, 4, fmt.Sprint(i+1), t.Text+" ("+t.cost()+")")
		t.detail(p, 6)
	}
}

// cost tells minutes, and whether the machine is on.
func (t NextTest) cost() string {
	return fmt.Sprintf("%.0f%smin, %s", math.Max(1, t.Minutes), hard, t.how())
}

func (t NextTest) how() string {
	switch {
	case t.Trial:
		return "by the controls, no probing"
	case t.Ask != "" && t.Live:
		return "supply on, no probing"
	case t.Live:
		return "LIVE"
	}
	return "dead"
}

func (t NextTest) detail(p *page, indent int) {
	if t.Trial {
		p.term(indent, 7, "check", circuit.List(names(t.Loads)))
	} else {
		p.term(indent, 7, "where", t.Where)
	}
	p.term(indent, 7, "set", t.Set)
	if t.Lift != "" {
		p.term(indent, 7, "lift", "wire "+t.Lift)
	}
	p.term(indent, 7, "good", t.Good)
	for _, a := range t.Along {
		p.term(indent, 7, "then", a.Goes())
	}
	for _, s := range t.Unseen {
		p.term(indent, 7, "unseen", s)
	}
	for _, s := range t.Notes {
		p.term(indent, 7, "mind", s)
	}
	if t.Why != "" {
		p.term(indent, 7, "why", t.Why)
	}
	if t.Beside != "" {
		p.term(indent, 7, "also", t.Beside)
	}
	if t.Stop != "" {
		p.term(indent, 7, "or", t.Stop)
	}
}
