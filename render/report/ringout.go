package report

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"legtrace/circuit/ringout"
)

// RingOut is what continuity findings say of a harness.
type RingOut struct {
	Document string     `json:"document" help:"which document this is"`
	Pins     int        `json:"pins" help:"number of pins"`
	Checks   int        `json:"checks" help:"number of findings taken"`
	AllPairs int        `json:"all_pairs" help:"number of checks that ringing every pair would take"`
	Joined   [][]string `json:"joined" help:"groups of pins joined in every position"`
	Switched []Passage  `json:"switched" help:"ways through a switch"`
	Open     []OpenIn   `json:"open" help:"how many pairs of groups are still unknown, by position"`
	Done     bool       `json:"done" help:"nothing is unknown"`
	Next     *NextCheck `json:"next" help:"the check that says most now; null when done"`
	Wires    string     `json:"wires" help:"the wires and charts so far, as part of a netlist"`
}

// Passage is a way between two groups that exists in some positions only.
type Passage struct {
	A  string   `json:"a" help:"a pin of one group"`
	B  string   `json:"b" help:"a pin of the other"`
	In []string `json:"in" help:"positions in which they are joined"`
}

// OpenIn counts what is unknown in a position.
type OpenIn struct {
	Position string `json:"position" help:"the switches' position"`
	Pairs    int    `json:"pairs" help:"pairs of groups not known joined or apart"`
}

// NextCheck is the check to make next.
type NextCheck struct {
	Position string `json:"position" help:"the switches' position"`
	A        string `json:"a" help:"one pin"`
	B        string `json:"b" help:"the other pin"`
}

// NewRingOut sums up findings.
func NewRingOut(r *ringout.Ring) *RingOut {
	res := r.Result()
	pins, positions := r.Pins(), r.Positions()
	d := &RingOut{Document: "ringout", Pins: len(pins), Checks: r.Checks(), AllPairs: r.AllPairs(), Done: res.Done,
		Joined: [][]string{}, Switched: []Passage{}, Open: []OpenIn{}, Wires: ringOutToml(r)}
	for _, group := range res.Joined {
		d.Joined = append(d.Joined, each(group, func(i int) string { return pins[i] }))
	}
	for _, s := range res.Switched {
		d.Switched = append(d.Switched, Passage{pins[s.A], pins[s.B], each(s.In, func(i int) string { return positions[i] })})
	}
	for i, n := range res.Open {
		d.Open = append(d.Open, OpenIn{positions[i], n})
	}
	if f, ok := r.Next(); ok {
		d.Next = &NextCheck{positions[f.Position], pins[f.A], pins[f.B]}
	}
	return d
}

// ringOutToml writes what is known as part of a netlist.
func ringOutToml(r *ringout.Ring) string {
	var b strings.Builder
	b.WriteString("# From continuity findings. Which pin of a group is wired to which cannot be\n# heard: trace each wire by eye before relying on it.\n[wires]\n")
	for _, w := range r.Wires() {
		fmt.Fprintf(&b, "%s = { from = %q, to = %q }\n", w.Name, w.From, w.To)
	}
	charts, between := r.Charts()
	for _, part := range slices.Sorted(maps.Keys(charts)) {
		fmt.Fprintf(&b, "\n# %s joins, by position:\n", part)
		for _, position := range r.Positions() {
			var groups []string
			for _, g := range charts[part][position] {
				groups = append(groups, fmt.Sprintf("[%q, %q]", g[0], g[1]))
			}
			fmt.Fprintf(&b, "#   %s = [%s]\n", position, strings.Join(groups, ", "))
		}
	}
	for _, pair := range between {
		fmt.Fprintf(&b, "\n# A switch not among the pins lies between %s and %s.\n", pair[0], pair[1])
	}
	return b.String()
}

func (d *RingOut) blocks(p *page) {
	p.heading("What the continuity checks say")
	p.para(0, fmt.Sprintf("%d checks of %d pins taken; every pair in every position would be %d.", d.Checks, d.Pins, d.AllPairs))
	p.heading("Joined whatever the switches do")
	if len(d.Joined) == 0 {
		p.para(2, "nothing yet")
	}
	for _, group := range d.Joined {
		p.para(2, strings.Join(group, ", "))
	}
	if len(d.Switched) > 0 {
		p.heading("Joined through a switch")
		for _, s := range d.Switched {
			p.para(2, fmt.Sprintf("%s to %s in %s", s.A, s.B, strings.Join(s.In, ", ")))
		}
	}
	p.heading("Still unknown")
	if d.Done {
		p.para(2, "nothing: every pair is known joined or apart")
	}
	for _, o := range d.Open {
		if o.Pairs > 0 {
			p.para(2, fmt.Sprintf("%s: %d pairs of groups", o.Position, o.Pairs))
		}
	}
	if d.Next != nil {
		p.heading("Ring next")
		p.para(2, fmt.Sprintf("%s to %s, switches in %s", d.Next.A, d.Next.B, d.Next.Position))
	}
	p.heading("Caution")
	p.para(2, "Ring out with the machine disconnected and locked out, proved dead, and the loads unplugged: an element beeps like a wire.")
}
