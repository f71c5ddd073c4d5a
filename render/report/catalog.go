package report

import (
	"fmt"
	"strings"
)

// Catalog lists the machines that come with legtrace.
type Catalog struct {
	Document string  `json:"document" help:"which document this is"`
	Machines []Entry `json:"machines" help:"the shipped netlists, by name"`
	// Families are for a machine of unknown wiring.
	Families []Family `json:"families" help:"machines that one of unknown wiring may be"`
}

// Family is several machines, one of which is at hand.
type Family struct {
	Name    string `json:"name" help:"as --netlist takes it, after \"family:\""`
	Title   string `json:"title" help:"what a person calls the machine"`
	Members int    `json:"members" help:"how many machines it has"`
}

// Entry is one machine of the catalog.
type Entry struct {
	Name    string `json:"name" help:"as --netlist takes it, after \"catalog:\""`
	Title   string `json:"title" help:"what a person calls the machine"`
	Summary string `json:"summary" help:"the first line of its notes"`
	Of      string `json:"of" help:"the machine it is a variant of; empty for a machine of its own"`
}

// Netlist is the text of a netlist of the catalog.
type Netlist struct {
	Document string `json:"document" help:"which document this is"`
	Name     string `json:"name" help:"as --netlist takes it, after \"catalog:\""`
	Toml     string `json:"toml" help:"the netlist as it ships"`
}

func (d *Catalog) blocks(p *page) {
	p.heading("Machines that come with legtrace")
	variants := map[string][]string{}
	for _, e := range d.Machines {
		if e.Of != "" {
			variants[e.Of] = append(variants[e.Of], e.Name)
		}
	}
	for _, e := range d.Machines {
		if e.Of != "" {
			continue
		}
		p.gap()
		p.para(0, asStrong("catalog:"+e.Name))
		p.para(2, oneLine(e.Title))
		if e.Summary != "" {
			p.para(2, oneLine(e.Summary))
		}
		if v := variants[e.Name]; len(v) > 0 {
			p.term(2, 10, "variants", strings.Join(v, ", "))
		}
	}
	p.heading("Where the wiring is not known")
	for _, f := range d.Families {
		p.term(2, 21, "family:"+f.Name, fmt.Sprintf("%s: %d machines, weighed at once", oneLine(f.Title), f.Members))
	}
	p.gap()
	p.para(0, "All are generic and of no maker: check every wire of the machine at hand against one before relying on it.")
}

func (d *Netlist) blocks(p *page) { p.add(verbatimBlock{"toml", d.Toml}) }
