package report

import (
	"context"
	"fmt"
	"math"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
)

// Wirings weighs candidate netlists for one machine.
type Wirings struct {
	Document   string       `json:"document" help:"which document this is"`
	Known      []Known      `json:"known" help:"what was seen, in order"`
	Fits       bool         `json:"fits" help:"some candidate explains all that was seen"`
	Candidates []Candidate  `json:"candidates" help:"the netlists, in the order given"`
	Next       []WiringTest `json:"next" help:"tests that tell the candidates apart, best first"`
}

// Candidate is one netlist that the machine may have.
type Candidate struct {
	Netlist  string        `json:"netlist" help:"as it was named"`
	Machine  Machine       `json:"machine" help:"what it describes"`
	P        float64       `json:"p" help:"probability that the machine is wired so"`
	Suspects []Explanation `json:"suspects" help:"what is wrong then, the most probable first"`
}

// WiringTest tells candidates apart.
type WiringTest struct {
	Test    NextTest `json:"test" help:"what to do, by the first candidate's names"`
	Bits    float64  `json:"bits" help:"what it tells about the wiring"`
	Expect  []string `json:"expect" help:"the likeliest outcome, by candidate"`
	Minutes float64  `json:"minutes" help:"effort"`
}

// NewWirings sums up what candidates make of what was seen.
func NewWirings(ctx context.Context, w *suspect.Wirings, names []string, fits bool, tests int) (*Wirings, error) {
	d := &Wirings{Document: "wirings", Fits: fits, Candidates: []Candidate{}, Next: []WiringTest{}}
	first := New(w.Engines()[0].Circuit())
	d.Known = first.known(w.Engines()[0])
	for i, e := range w.Engines() {
		r := New(e.Circuit())
		c := Candidate{Netlist: names[i], Machine: r.machine(), P: round(w.Posterior()[i]), Suspects: []Explanation{}}
		const shown = 3
		for _, s := range e.Suspects(shown) {
			c.Suspects = append(c.Suspects, r.explanation(s))
		}
		d.Candidates = append(d.Candidates, c)
	}
	next, err := w.Next(ctx, nil, tests)
	if err != nil {
		return nil, err
	}
	for _, n := range next {
		t, err := first.test(w.Engines()[0], n.Test)
		if err != nil {
			return nil, err
		}
		t.Minutes = round(n.Minutes)
		x := WiringTest{Test: t, Bits: round(n.Bits), Minutes: round(n.Minutes), Expect: []string{}}
		for _, s := range n.Expect {
			x.Expect = append(x.Expect, first.expected(n, s))
		}
		d.Next = append(d.Next, x)
	}
	return d, nil
}

// expected puts an outcome in words: for a trial, which loads work.
func (r namer) expected(n suspect.WiringTest, x suspect.Expected) string {
	if !n.Test.Trial {
		return x.Reading.Range()
	}
	words := map[circuit.LoadState][]string{}
	for i, name := range n.Loads {
		label := name
		if id, err := r.c.FindLoad(name); err == nil {
			label = r.label(id)
		}
		words[x.States[i]] = append(words[x.States[i]], label)
	}
	var out []string
	if len(words[circuit.StaysOn]) > 0 {
		out = append(out, "on: "+strings.Join(words[circuit.StaysOn], ", "))
	}
	if len(words[circuit.Weak]) > 0 {
		out = append(out, "weak: "+strings.Join(words[circuit.Weak], ", "))
	}
	if x.Trips {
		out = append(out, "trips")
	}
	if len(out) == 0 {
		return "nothing on"
	}
	return strings.Join(out, "; ")
}

func (d *Wirings) blocks(p *page) {
	p.heading("Which wiring the machine has")
	p.known(d.Known)
	if !d.Fits {
		p.para(2, asBad("No candidate explains all of it: take the last reading again, or check the netlists."))
	}
	p.heading("Candidates")
	for _, c := range d.Candidates {
		p.para(2, fmt.Sprintf("%s %s  %s", bar(c.P), chance(c.P), c.Netlist))
		p.para(4, c.Machine.Title)
		for _, x := range c.Suspects {
			p.term(6, 8, chance(x.P), x.text())
		}
	}
	p.heading("Tests that distinguish them")
	if len(d.Next) == 0 {
		p.para(2, "No test that all candidates know by the same names distinguishes them.")
	}
	for i, n := range d.Next {
		p.term(2, 4, fmt.Sprint(i+1), fmt.Sprintf("%s (%.0f%smin, %s)", n.Test.Text, math.Max(1, n.Minutes), hard, n.Test.how()))
		for k, s := range n.Expect {
			p.term(6, 4, "-", fmt.Sprintf("%s: %s", d.Candidates[k].Netlist, s))
		}
	}
	p.cautions()
}
