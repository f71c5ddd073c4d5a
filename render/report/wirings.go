package report

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/render/schematic"
)

// Wirings weighs candidate netlists for one machine, and what is wrong with it.
type Wirings struct {
	Document   string        `json:"document" help:"which document this is"`
	Known      []Known       `json:"known" help:"what was seen, in order"`
	Fits       bool          `json:"fits" help:"the likeliest candidate explains all that was seen"`
	Candidates []Candidate   `json:"candidates" help:"the netlists, the likeliest first"`
	Suspects   []Explanation `json:"suspects" help:"what is wrong, whichever candidate it is, the most probable first"`
	Outside    []Outside     `json:"outside" help:"what can be seen from outside and tells candidates apart, the first to be asked first"`
	Next       []NextTest    `json:"next" help:"tests worth their time whichever it is, best first, in the names of the likeliest"`
}

// Candidate is one netlist that the machine may have.
type Candidate struct {
	Netlist string  `json:"netlist" help:"as it was named"`
	Machine Machine `json:"machine" help:"what it describes"`
	P       float64 `json:"p" help:"probability that the machine is wired so"`
	Differs string  `json:"differs" help:"what it has otherwise than the likeliest; empty for that"`
}

// Outside is a question about what can be seen with nothing opened.
type Outside struct {
	Key     string   `json:"key" help:"as --outside takes it, before \"=\""`
	Text    string   `json:"text" help:"the question"`
	Answers []string `json:"answers" help:"what may be behind \"=\""`
	Bits    float64  `json:"bits" help:"what it tells about the wiring"`
}

// likely is the probability from which a candidate is told of.
const likely = 0.01

// NewWirings sums up a visit to a machine of unknown wiring.
func NewWirings(ctx context.Context, j *visit.Job, opt SuspectsOptions) (*Wirings, error) {
	lead := New(j.Circuit)
	d := &Wirings{Document: "wirings", Fits: j.Engine.Fits(), Known: lead.known(j.Engine), Candidates: []Candidate{}, Suspects: []Explanation{}, Outside: []Outside{}, Next: []NextTest{}}
	for _, c := range j.Candidates() {
		d.Candidates = append(d.Candidates, Candidate{Netlist: c.Netlist, Machine: New(c.Circuit).machine(), P: round(c.P), Differs: Differs(j.Circuit, c.Circuit)})
	}
	var err error
	if d.Suspects, _, err = Weighed(j, opt.Most); err != nil {
		return nil, err
	}
	for _, q := range j.Questions() {
		d.Outside = append(d.Outside, Outside{q.Key, oneLine(q.Text), q.Answers, round(q.Bits)})
	}
	if len(d.Known) == 0 {
		return d, nil
	}
	step, err := j.Next(ctx, opt.Tests)
	if err != nil {
		return nil, err
	}
	for i := range step.Tests {
		t, err := lead.NextTest(j.Engine, &step.Tests[i])
		if err != nil {
			return nil, err
		}
		d.Next = append(d.Next, t)
	}
	return d, nil
}

// Weighed lists what may be wrong with a visit's machine, whichever candidate it is,
// and the probability of all that is not listed. Where the likeliest candidate does
// not suspect it, its faults have no names there.
func Weighed(j *visit.Job, most int) ([]Explanation, float64, error) {
	return suspected(j, most, namer.sized)
}

// Unsized are those of [Weighed], without how large each fault is: to tell that of a
// high resistance takes longer than all the rest at times.
func Unsized(j *visit.Job, most int) ([]Explanation, float64, error) {
	return suspected(j, most, func(r namer, _ *suspect.Engine, s suspect.Suspect) (Explanation, error) { return r.explanation(s), nil })
}

func suspected(j *visit.Job, most int, told explainer) ([]Explanation, float64, error) {
	among := j.Among()
	if len(among) == 1 {
		return namer{j.Circuit}.listed(j.Engine, j.Engine.Listed(most), told)
	}
	out, others := []Explanation{}, 1.0
	for i, s := range among.Suspects(most) {
		if i > 0 && s.P < negligible {
			break
		}
		of := among[s.Of].Engine
		x, err := told(namer{of.Circuit()}, of, s.Suspect)
		if err != nil {
			return nil, 0, err
		}
		for k := range x.Causes {
			if s.Of > 0 {
				x.Causes[k].Faults = []string{}
			}
		}
		out, others = append(out, x), others-s.P
	}
	return out, max(0, round(others)), nil
}

// anotherMachine is what differs in too much to be told.
const anotherMachine = "another machine"

// Differs says in a line what a candidate has otherwise than the likeliest.
func Differs(lead, other *circuit.Circuit) string {
	if lead == other {
		return ""
	}
	var without, with, wires []string
	var out []string
	for _, c := range Compare("", other.Spec(), "", lead.Spec()).Changes {
		name := c.Label
		if name == "" {
			name = c.Name
		}
		switch {
		case c.What == "supply":
			out = append(out, fmt.Sprintf("supply: %s", supplyWords(other)))
		case c.What == "part" && c.How == "added":
			with = append(with, name)
		case c.What == "part" && c.How == "dropped":
			without = append(without, name)
		case c.What == "wire":
			wires = append(wires, c.Name)
		}
	}
	if len(with)+len(without) > 12 {
		return anotherMachine
	}
	if len(with) > 0 {
		out = append(out, "with "+few(with))
	}
	if len(without) > 0 {
		out = append(out, "without "+few(without))
	}
	if n := len(wires); n > 0 {
		out = append(out, fmt.Sprintf("wired otherwise: %s", few(wires)))
	}
	return oneLine(strings.Join(out, "; "))
}

func supplyWords(c *circuit.Circuit) string {
	s := c.Supply()
	return fmt.Sprintf("%.0f%sV, %d wires", s.Volts, hard, s.Wires)
}

// Doubts are the parts and wires of the likeliest candidate, by how likely it is
// that the machine does not have them so.
func Doubts(j *visit.Job) []schematic.Shade {
	var out []schematic.Shade
	c := j.Circuit
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Wire == circuit.None && b.Part == circuit.None {
			continue
		}
		p := 0.0
		for _, o := range j.Candidates() {
			if !hasAlike(o.Circuit, c, b) {
				p += o.P
			}
		}
		if p >= likely {
			out = append(out, schematic.Shade{Branch: circuit.BranchID(i), P: min(p, 1)})
		}
	}
	return out
}

// hasAlike reports whether a machine has a part, or a wire between the same ends, as
// another has.
func hasAlike(c, of *circuit.Circuit, b *circuit.Branch) bool {
	if b.Wire == circuit.None {
		id, err := c.FindPart(of.Part(b.Part).Name)
		return err == nil && c.Part(id).Kind == of.Part(b.Part).Kind
	}
	w := of.Wire(b.Wire)
	from, err := c.FindTerminal(of.Terminal(w.From).Ref)
	if err != nil {
		return false
	}
	to, err := c.FindTerminal(of.Terminal(w.To).Ref)
	return err == nil && slices.ContainsFunc(c.Terminal(from).Wires, func(id circuit.WireID) bool {
		return c.Wire(id).From == to || c.Wire(id).To == to
	})
}

// Likeliest says which candidate something is about, how sure that is, and in a line
// each what others have otherwise.
func Likeliest(j *visit.Job) string {
	all := j.Candidates()
	s := fmt.Sprintf("The wiring is not known: this is of %s, the likeliest (%s).", j.Netlist(), Chance(j.Chance()))
	told := 0
	for _, c := range all {
		if c.Circuit != j.Circuit && c.P >= 0.05 && told < 3 {
			told++
			s += fmt.Sprintf("\nIt may be %s (%s): %s.", c.Netlist, Chance(c.P), Differs(j.Circuit, c.Circuit))
		}
	}
	if q := j.Questions(); len(q) > 0 {
		s += fmt.Sprintf("\nTo narrow it: %s (--outside %s=%s)", oneLine(q[0].Text), q[0].Key, strings.Join(q[0].Answers, "|"))
	}
	return s
}

func (d *Wirings) blocks(p *page) {
	p.heading("Which wiring the machine has")
	p.known(d.Known)
	if !d.Fits {
		p.para(2, asBad("No candidate explains all of it: take the last reading again, or check the netlists."))
	}
	p.heading("Candidates, the likeliest first")
	others, left := 0, 0.0
	for i, c := range d.Candidates {
		if i > 0 && (c.P < likely || i >= 8) {
			others, left = others+1, left+c.P
			continue
		}
		p.para(2, fmt.Sprintf("%s %s  %s", bar(c.P), Chance(c.P), c.Netlist))
		p.para(4, c.Machine.Title)
		if c.Differs != "" {
			p.para(4, "Beside the first: "+c.Differs)
		}
	}
	if others > 0 {
		p.para(2, fmt.Sprintf("%d others together: %s", others, Chance(left)))
	}
	if len(d.Outside) > 0 {
		p.heading("What to look at first, from outside")
		for i, q := range d.Outside[:min(4, len(d.Outside))] {
			p.term(2, 4, fmt.Sprint(i+1), fmt.Sprintf("%s --outside %s=%s", q.Text, q.Key, strings.Join(q.Answers, "|")))
		}
	}
	ranked := &Suspects{Suspects: d.Suspects, Next: d.Next, Others: 1}
	for _, x := range d.Suspects {
		ranked.Others -= x.P
	}
	p.heading("Suspects, whichever it is")
	if len(d.Known) == 0 {
		p.para(2, "Say what it does, as in --complaint \"no heat\".")
	} else {
		ranked.table(p)
		ranked.next(p)
	}
	p.cautions()
}
