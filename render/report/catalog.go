package report

// Catalog lists the machines that come with legtrace.
type Catalog struct {
	Document string  `json:"document" help:"which document this is"`
	Machines []Entry `json:"machines" help:"the shipped netlists, by name"`
}

// Entry is one machine of the catalog.
type Entry struct {
	Name    string `json:"name" help:"as --netlist takes it, after \"catalog:\""`
	Title   string `json:"title" help:"what a person calls the machine"`
	Summary string `json:"summary" help:"the first line of its notes"`
}

// Netlist is the text of a netlist of the catalog.
type Netlist struct {
	Document string `json:"document" help:"which document this is"`
	Name     string `json:"name" help:"as --netlist takes it, after \"catalog:\""`
	Toml     string `json:"toml" help:"the netlist as it ships"`
}

func (d *Catalog) text(p *page) {
	p.heading("Machines that come with legtrace")
	for _, e := range d.Machines {
		p.WriteByte('\n')
		p.para(0, p.strong.Sprint("catalog:"+e.Name))
		p.para(2, oneLine(e.Title))
		if e.Summary != "" {
			p.para(2, oneLine(e.Summary))
		}
	}
	p.WriteByte('\n')
	p.para(0, "All are generic and of no maker: check every wire of the machine at hand against one before relying on it.")
}

func (d *Netlist) text(p *page) { p.WriteString(d.Toml) }
