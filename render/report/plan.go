package report

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Plan is the whole decision tree for a complaint.
type Plan struct {
	Document string     `json:"document" help:"which document this is"`
	Machine  Machine    `json:"machine" help:"the machine asked about"`
	Known    []Known    `json:"known" help:"the complaint, in order"`
	Before   []string   `json:"before" help:"what comes before any test, where people are in danger"`
	First    *NextTest  `json:"first" help:"what is looked at before the tree is begun; null for nothing"`
	Root     *PlanNode  `json:"root" help:"where to start"`
	Settings []string   `json:"settings" help:"how the machine stands for the tests, by mode"`
	Tests    int        `json:"tests" help:"tests in the whole tree"`
	Compared []PlanCost `json:"compared" help:"what ways of testing cost on average"`
	Entropy  float64    `json:"entropy" help:"what the tests can distinguish, in bits"`
	Ways     int        `json:"ways" help:"the most outcomes that any test has"`
	Notes    []string   `json:"notes" help:"what was taken where the question left it open"`
	// ASCII draws the tree in plain characters.
	ASCII bool `json:"-"`
}

// PlanNode is a place in the tree: a test, or the end of a way.
type PlanNode struct {
	Number   int          `json:"number" help:"of the test, in the order printed; 0 at the end of a way"`
	P        float64      `json:"p" help:"how probable it is to get here"`
	Test     *NextTest    `json:"test" help:"the test to make; null at the end of a way"`
	Branches []PlanBranch `json:"branches" help:"where each outcome leads"`
	Left     []Share      `json:"left" help:"at the end of a way: what is left to suspect"`
}

// PlanBranch is one outcome of a test.
type PlanBranch struct {
	Reads string    `json:"reads" help:"what is read or seen"`
	P     float64   `json:"p" help:"its probability, given that the test is made"`
	Then  *PlanNode `json:"then" help:"what then"`
}

// PlanCost is what one way of testing costs on average.
type PlanCost struct {
	Name    string   `json:"name" help:"this plan or the usual order; or, to tell all apart that can be, the fewest possible or the bound by entropy"`
	Tests   *float64 `json:"tests" help:"tests made; null where it was not worked out"`
	Minutes *float64 `json:"minutes" help:"minutes; null where it was not worked out"`
	Live    *float64 `json:"live" help:"tests by probe on a live machine; null where it was not worked out"`
}

// Plan makes the decision tree for what an engine knows.
func (r *Reporter) Plan(ctx context.Context, e *suspect.Engine, progress *suspect.Progress) (*Plan, error) {
	plan, err := e.Plan(ctx, progress)
	if err != nil {
		return nil, err
	}
	d := &Plan{Document: "plan", Machine: r.machine(), Known: r.known(e), Before: append([]string{}, e.First()...), Entropy: round(plan.Entropy), Ways: plan.Ways, Settings: []string{}, Notes: []string{}}
	if plan.First != nil {
		first, err := r.NextTest(e, plan.First)
		if err != nil {
			return nil, err
		}
		d.First = &first
	}
	if d.Root, err = r.planNode(e, plan.Root, d); err != nil {
		return nil, err
	}
	fewest, bound := plan.Fewest, suspect.Figures{Name: "no tree can need fewer", Tests: plan.Bound, Known: true}
	fewest.Name = "fewest possible"
	for i, f := range []suspect.Figures{plan.Ours, plan.Fixed, fewest, bound} {
		c := PlanCost{Name: f.Name}
		if f.Known {
			c.Tests = new(round(f.Tests))
			if i < 2 { // the others are about the number of tests alone
				c.Minutes, c.Live = new(round(f.Minutes)), new(round(f.LiveTests))
			}
		}
		d.Compared = append(d.Compared, c)
	}
	return d, nil
}

func (r *Reporter) planNode(e *suspect.Engine, n *suspect.Node, d *Plan) (*PlanNode, error) {
	out := &PlanNode{P: round(n.P), Branches: []PlanBranch{}, Left: []Share{}}
	for _, l := range n.Left {
		out.Left = append(out.Left, Share{oneLine(l.Label), round(l.P)})
	}
	if n.Test == nil {
		return out, nil
	}
	d.Tests++
	out.Number = d.Tests
	t, err := r.NextTest(e, n.Test)
	if err != nil {
		return nil, err
	}
	out.Test = &t
	if said := circuit.UpperFirst(t.Set) + "."; !slices.Contains(d.Settings, said) {
		d.Settings = append(d.Settings, said)
	}
	for i, next := range n.Next {
		then, err := r.planNode(e, next, d)
		if err != nil {
			return nil, err
		}
		out.Branches = append(out.Branches, PlanBranch{Reads: t.Outcomes[i].Text, P: t.Outcomes[i].P, Then: then})
	}
	if !n.Test.Probing() {
		return out, nil
	}
	return out, r.inBands(e, n.Test, &t, out)
}

// inBands words the readings of a node as the sheet does, so that any reading has a
// branch: those beside each other that end alike are one.
func (r *Reporter) inBands(e *suspect.Engine, p *suspect.Proposal, t *NextTest, n *PlanNode) error {
	good, err := e.Bench().Take(p.Probes, p.Mode, p.Lift, nil)
	if err != nil {
		return err
	}
	type ranged struct {
		meter.Reading
		PlanBranch
		at int
	}
	var kept, steady []ranged
	none := math.Inf(-1)
	for i, b := range n.Branches {
		x := ranged{p.Outcomes[i].Reading, b, i}
		switch zero := e.Bench().NearZero(x.Reading); {
		case !x.Differs(good):
			x.Reads = t.Good
			kept = append(kept, x)
		case x.OL || x.Unsteady || x.Jumps || zero:
			kept = append(kept, x)
			if zero {
				none = e.Bench().Nothing()
			}
		default:
			steady = append(steady, x)
		}
	}
	if e.Bench().NearZero(good) {
		good.High = e.Bench().Nothing()
	}
	slices.SortStableFunc(steady, func(a, b ranged) int { return cmp.Compare(a.Low, b.Low) })
	var joined []ranged
	var ends []band
	for _, x := range steady {
		above := !good.OL && x.Low > good.Low
		if k := len(joined) - 1; k >= 0 && ends[k].above == above && joined[k].Then.endsAs(x.Then) {
			joined[k].Then = joined[k].Then.with(x.Then)
			joined[k].P, joined[k].at, ends[k].high = joined[k].P+x.P, min(joined[k].at, x.at), x.High
			continue
		}
		joined, ends = append(joined, x), append(ends, band{x.Low, x.High, above})
	}
	for i, words := range bandWords(ends, good, none) {
		joined[i].Reads = words
	}
	kept = append(kept, joined...)
	slices.SortStableFunc(kept, func(a, b ranged) int { return cmp.Compare(a.at, b.at) })
	n.Branches = n.Branches[:0]
	for _, x := range kept {
		n.Branches = append(n.Branches, x.PlanBranch)
	}
	return nil
}

// endsAs reports whether two ways are at their end and leave the same.
func (n *PlanNode) endsAs(o *PlanNode) bool {
	of := func(n *PlanNode) []string {
		return slices.Sorted(slices.Values(each(n.Left, func(s Share) string { return s.Text })))
	}
	return n.Test == nil && o.Test == nil && slices.Equal(of(n), of(o))
}

// with is the end of two ways that leave the same, by the weight of each.
func (n *PlanNode) with(o *PlanNode) *PlanNode {
	out := &PlanNode{P: n.P + o.P, Branches: []PlanBranch{}, Left: slices.Clone(n.Left)}
	for i := range out.Left {
		for _, s := range o.Left {
			if s.Text == out.Left[i].Text && out.P > 0 {
				out.Left[i].P = round((n.P*out.Left[i].P + o.P*s.P) / out.P)
			}
		}
	}
	return out
}

// ending says what is left to suspect at the end of a way.
func (n *PlanNode) ending() string {
	if len(n.Left) == 0 {
		return "nothing"
	}
	s := ""
	for i, l := range n.Left {
		if i > 0 && l.P < 0.01 {
			continue
		}
		if i > 0 {
			s += ", or "
		}
		s += l.Text
		if len(n.Left) > 1 {
			s += fmt.Sprintf(" %s", Chance(l.P))
		}
	}
	return s
}
