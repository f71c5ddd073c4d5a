package report

// Started tells of a netlist that was begun.
type Started struct {
	Document string   `json:"document" help:"which document this is"`
	File     string   `json:"file" help:"where the netlist was written"`
	Answers  []Answer `json:"answers" help:"what it was made from, in the order asked"`
}

// Answer is one answer that a netlist was begun with.
type Answer struct {
	Flag  string `json:"flag" help:"the flag that gives it"`
	Value string `json:"value" help:"as the flag takes it"`
	Means string `json:"means" help:"in words"`
	Taken bool   `json:"taken" help:"nobody gave it: the usual was taken"`
}

func (d *Started) blocks(p *page) {
	p.heading("Written: " + oneLine(d.File))
	for _, a := range d.Answers {
		s := a.Means
		if a.Taken {
			s += " (default)"
		}
		p.term(2, 22, "--"+a.Flag+" "+a.Value, s)
	}
	p.gap()
	p.para(0, "It is a start and no machine of any maker: go through it wire by wire, with the machine's own diagram, and change what differs.")
	p.gap()
	p.para(2, "legtrace check "+oneLine(d.File)+" --watch")
	p.para(2, "legtrace breaks --netlist "+oneLine(d.File))
	p.cautions()
}
