package chart

import (
	"fmt"
	"slices"
	"strings"

	"legtrace/render/report"
)

// step is a place in a flowchart: what the places of a plan that say the same
// from there on were joined to.
type step struct {
	node    *report.PlanNode
	numbers []int   // of the tests joined, as the plan's text has them
	p       float64 // how probable it is to come here
	ways    []way
}

// way is an outcome of a step's test.
type way struct {
	reads string
	p     float64 // how probable it is to go here
	to    *step
}

// flow joins the equal subtrees of a plan.
type flow struct {
	byWhat map[string]*step
	what   map[*step]string
	order  []*step
}

// Plan is the flowchart of a plan: tests with what is good, for each outcome a
// way on with its odds, the good one drawn thick, and the parts at the ends.
func Plan(d *report.Plan) ([]byte, error) {
	f := &flow{byWhat: map[string]*step{}, what: map[*step]string{}}
	first := f.join(d.Root)
	title := []string{"What to test", d.Machine.Title}
	for _, k := range d.Known {
		title = append(title, k.Text)
	}
	title = append(title, "", "Thick arrows: what a sound machine gives. Double frames: live tests.", "")
	c := newChart("TB", title...)
	slices.SortStableFunc(f.order, func(a, b *step) int { return f.place(a) - f.place(b) })
	nodes := map[*step]node{}
	for _, s := range f.order {
		nodes[s] = c.put(s.look()...)
	}
	if first.node.Test == nil {
		return c.dot("plan")
	}
	for _, s := range f.order {
		ends := 0
		for _, w := range s.ways {
			text, look := w.reads, []string{}
			if w.reads == s.node.Test.Good {
				text, look = "good: "+text, []string{"penwidth", "2.5"}
			}
			if w.to.node.Test == nil { // ends below each other take less width
				look = append(look, "minlen", fmt.Sprint(1+ends%3))
				ends++
			}
			c.join(nodes[s], nodes[w.to], append(look, "label", wrapped(18, text, report.Chance(w.p/s.p)))...)
		}
	}
	return c.dot("plan")
}

// join adds a place of the plan and all below it.
func (f *flow) join(n *report.PlanNode) *step {
	var what strings.Builder
	if n.Test == nil {
		for _, l := range n.Left {
			fmt.Fprintf(&what, "%q\n", l.Text)
		}
	} else {
		fmt.Fprintf(&what, "%q %q %q\n", n.Test.Text, n.Test.Lift, n.Test.Good)
	}
	below := make([]*step, len(n.Branches))
	for i, b := range n.Branches {
		below[i] = f.join(b.Then)
		fmt.Fprintf(&what, "%q: {%s}\n", b.Reads, f.what[below[i]])
	}
	s := f.byWhat[what.String()]
	if s == nil {
		s = &step{node: n}
		for i, b := range n.Branches {
			s.ways = append(s.ways, way{reads: b.Reads, to: below[i]})
		}
		f.byWhat[what.String()], f.what[s] = s, what.String()
		f.order = append(f.order, s)
	}
	s.p += n.P
	for i, b := range n.Branches {
		s.ways[i].p += b.Then.P
	}
	if n.Test != nil {
		s.numbers = append(s.numbers, n.Number)
		slices.Sort(s.numbers)
	}
	return s
}

// place orders tests as the plan's text does, and puts ends after them.
func (f *flow) place(s *step) int {
	if len(s.numbers) == 0 {
		return len(f.order) * len(f.order)
	}
	return s.numbers[0]
}

// look is how a step is drawn.
func (s *step) look() []string {
	t := s.node.Test
	if t == nil {
		var left []string
		for _, l := range s.node.Left {
			text := l.Text
			if left != nil {
				text = "or " + text
			}
			left = append(left, text)
		}
		if left == nil {
			left = []string{"nothing that was considered"}
		}
		return []string{"style", "rounded,bold", "label", wrapped(18, append(left, report.Chance(s.p)+" of cases")...)}
	}
	var numbers []string
	for _, n := range s.numbers {
		numbers = append(numbers, fmt.Sprint(n))
	}
	head, lift := strings.Join(numbers, ", "), ""
	var look []string
	if t.Live && !t.Trial && t.Ask == "" {
		head += "  LIVE"
		look = []string{"peripheries", "2"}
	}
	if t.Lift != "" {
		lift = "Lift " + t.Lift
	}
	where := t.Where
	if t.Trial {
		where = ""
	}
	return append(look, "label", wrapped(28, head, t.Text, where, lift, "Good: "+t.Good))
}
