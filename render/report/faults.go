package report

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"legtrace/circuit/suspect"
)

// Faults lists what may be wrong with a machine, as it is weighed before
// anything is seen.
type Faults struct {
	Document string    `json:"document" help:"which document this is"`
	Machine  Machine   `json:"machine" help:"the machine asked about"`
	CanFail  []CanFail `json:"can_fail" help:"every cause, the most probable first"`
	Sizes    []SizeOf  `json:"sizes" help:"how large they may be"`
}

// SizeOf is a stretch of the sizes that a kind of fault may be of.
type SizeOf struct {
	Name  string  `json:"name" help:"what a netlist's [sizes] calls it"`
	Text  string  `json:"text" help:"what is meant"`
	From  float64 `json:"from" help:"the smallest of the stretch"`
	To    float64 `json:"to" help:"the largest"`
	Unit  string  `json:"unit" help:"of the sizes: ohms, or what share they are of"`
	Share float64 `json:"share" help:"of all sizes of the name"`
}

// CanFail is one thing that may go wrong.
type CanFail struct {
	Text   string   `json:"text" help:"what, and how it failed"`
	Faults []string `json:"faults" help:"each fault that it shows as, as --fault takes it"`
	P      float64  `json:"p" help:"probability before anything is seen"`
}

// Faults lists every cause that is weighed, of its usual size.
func (r *Reporter) Faults() *Faults {
	d := &Faults{Document: "faults", Machine: r.machine(), CanFail: []CanFail{}, Sizes: []SizeOf{}}
	for _, k := range suspect.Classes(r.c) {
		for _, m := range k.Members {
			x := CanFail{Text: oneLine(m.Label), Faults: []string{}, P: m.Prior}
			for _, f := range m.Faults {
				x.Faults = append(x.Faults, r.c.FaultRef(f))
			}
			d.CanFail = append(d.CanFail, x)
		}
	}
	slices.SortStableFunc(d.CanFail, func(a, b CanFail) int { return cmp.Compare(b.P, a.P) })
	for _, x := range r.c.Ranges() {
		for _, p := range x.Stretches {
			d.Sizes = append(d.Sizes, SizeOf{x.Name, x.Trade, p.Low, p.High, x.Unit, p.Share})
		}
	}
	return d
}

func (d *Faults) blocks(p *page) {
	p.heading("What can fail, by the names that --fault takes")
	p.para(0, d.Machine.Title)
	p.gap()
	for _, x := range d.CanFail {
		p.term(2, 8, fmt.Sprintf("%.1f %%", 100*x.P), plain(x.Text)+": "+plain(strings.Join(x.Faults, " ")))
	}
	p.gap()
	p.para(0, "Chances before anything is seen, by the priors of parts and the shares of ways to fail; a netlist's [priors] may give others.")
	p.heading("How large they may be")
	for i, x := range d.Sizes {
		if i == 0 || d.Sizes[i-1].Name != x.Name {
			p.gap()
			p.para(2, plain(x.Name)+": "+plain(x.Text))
		}
		p.term(4, 8, fmt.Sprintf("%.0f %%", 100*x.Share), strconv.FormatFloat(x.From, 'f', -1, 64)+" to "+strconv.FormatFloat(x.To, 'f', -1, 64)+" "+x.Unit)
	}
	p.gap()
	p.para(0, "Each stretch is spread evenly over the logarithm of the size; a netlist's [sizes] may give others.")
}
