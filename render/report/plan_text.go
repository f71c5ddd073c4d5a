package report

import (
	"fmt"

	"legtrace/circuit"
)

// branches are the characters a tree is drawn with.
type branches struct{ tee, corner, bar, gap string }

var (
	drawnBranches = branches{"├─ ", "└─ ", "│  ", "   "}
	asciiBranches = branches{"|- ", "`- ", "|  ", "   "}
)

func (d *Plan) blocks(p *page) {
	p.heading("Plan")
	p.para(0, d.Machine.Title)
	p.first(d.Before)
	p.known(d.Known)
	p.heading("The plan")
	with := drawnBranches
	if d.ASCII {
		with = asciiBranches
	}
	if d.First != nil {
		p.para(0, "First: "+circuit.LowerFirst(d.First.Text)+". Then:")
	}
	p.planNode(with, 0, "", "", "", d.Root)
	p.gap()
	p.para(2, "Live tests are marked LIVE. The supply is removed, locked out and proved dead for all others but trials.")
	p.para(2, d.Settings...)
	d.compared(p)
	p.cautions()
	for _, n := range d.Notes {
		p.gap()
		p.para(0, n)
	}
}

// planNode adds what to do, or what is left, after a lead that says how one got
// here, with the tree's own characters before every line of text.
func (p *page) planNode(with branches, depth int, first, rest, lead string, n *PlanNode) {
	if n.Test == nil {
		p.add(branchBlock{depth, first, rest, lead + asStrong(n.ending())})
		return
	}
	p.add(branchBlock{depth, first, rest, fmt.Sprintf("%s%s. %s", lead, asStrong(fmt.Sprint(n.Number)), n.Test.step())})
	for i, b := range n.Branches {
		tee, bar := with.tee, with.bar
		if i == len(n.Branches)-1 {
			tee, bar = with.corner, with.gap
		}
		p.planNode(with, depth+1, rest+tee, rest+bar, fmt.Sprintf("%s (%s): ", b.Reads, Chance(b.P)), b.Then)
	}
}

// step says what to do in the fewest words.
func (t *NextTest) step() string {
	if t.Trial {
		return fmt.Sprintf("%s, check %s by eye or by heat", t.Bring, circuit.List(names(t.Loads)))
	}
	if t.Ask != "" {
		return t.Text
	}
	s := t.What() + " " + t.Between
	if t.Live {
		s = asStrong("LIVE") + ", " + t.Mode.Label + ": " + s
	}
	if t.Lift != "" {
		s += ", lifted " + t.Lift
	}
	return s + ", good " + t.Good
}

func (d *Plan) compared(p *page) {
	p.heading("What it costs, on average")
	costs := func(list []PlanCost) [][]string {
		return each(list, func(c PlanCost) []string {
			return []string{c.Name, figureOr(c.Tests, "%.2f", "too many to try"), figureOr(c.Minutes, "%.0f", "-"), figureOr(c.Live, "%.2f", "-")}
		})
	}
	p.table(2, []column{{title: "", width: 18}, {title: "Tests", width: 16, right: true}, {title: "Minutes", width: 8, right: true}, {title: "Live", width: 6, right: true}}, costs(d.Compared[:2]))
	p.para(2, "Both stop where one more test is worth less than it takes. To tell apart whatever can be, however unlikely:")
	p.table(2, []column{{title: "", width: 24}, {title: "Tests", width: 16, right: true}}, each(costs(d.Compared[2:]), func(row []string) []string { return row[:2] }))
	p.para(2, fmt.Sprintf("The bound is by entropy: %.2f bits to distinguish, by tests of up to %d outcomes.", d.Entropy, d.Ways))
}

func figureOr(v *float64, format, or string) string {
	if v == nil {
		return or
	}
	return fmt.Sprintf(format, *v)
}
