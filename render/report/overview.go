package report

import (
	"context"
	"fmt"

	"legtrace/circuit"
)

// Overview is the short answer to one complaint: what the mode does, how the
// load is fed, what would starve it.
type Overview struct {
	Document string  `json:"document" help:"which document this is"`
	Loads    *Loads  `json:"loads" help:"as the command loads"`
	Path     *Path   `json:"path" help:"as the command path"`
	Breaks   *Breaks `json:"breaks" help:"as the command breaks"`
	Drawing  string  `json:"drawing" help:"where the drawing was written"`
}

// Overview asks the three questions of one load in one mode.
func (r *Reporter) Overview(ctx context.Context, q Question) (*Overview, error) {
	d := &Overview{Document: "overview"}
	var err error
	if d.Loads, err = r.Loads(q); err != nil {
		return nil, err
	}
	if d.Path, err = r.Path(q); err != nil {
		return nil, err
	}
	if d.Breaks, err = r.Breaks(ctx, q, BreaksOptions{}); err != nil {
		return nil, err
	}
	return d, nil
}

func (d *Overview) blocks(p *page) {
	load := circuit.LowerFirst(d.Path.Load.Label)
	p.heading(d.Loads.Machine.Title)
	p.para(0, fmt.Sprintf("Netlist %s, supply %s.", d.Loads.Machine.Name, d.Loads.Machine.Supply))
	p.restless(d.Loads.Head)

	p.heading(fmt.Sprintf("In %s these loads work", d.Loads.Mode.Label))
	var on []Load
	for _, l := range d.Loads.Loads {
		if l.State != circuit.Off.String() {
			on = append(on, l)
		}
	}
	p.loads(on)

	p.heading(fmt.Sprintf("How the %s is fed", load))
	for _, e := range d.Path.Ends {
		if e.Conductor == "" {
			p.term(2, 14, "", "no way from "+e.Terminal+" to another supply conductor")
			continue
		}
		p.term(2, 14, "from "+conductorWord(e.Conductor), partsAndWires(hopItems(e.Hops)))
	}
	for _, g := range grouped(d.Path.Holds) {
		p.term(2, 14, "held", circuit.List(labels(g.contacts))+" by "+g.by().Label+g.needs())
	}

	d.Breaks.sets(p)
	p.cautions()
	if d.Drawing != "" {
		p.heading("Drawing")
		p.para(2, d.Drawing)
	}
	p.notes(d.Loads.Head)
}

// needs says what a holder must have to hold.
func (h *Hold) needs() string {
	var from []string
	for _, e := range h.Ends {
		if e.Conductor != "" {
			from = append(from, conductorWord(e.Conductor))
		}
	}
	s := ", fed from " + circuit.List(from)
	for _, sense := range h.Senses {
		seen := "open"
		if sense.Ohms != nil {
			seen = ohms(*sense.Ohms)
		}
		s += fmt.Sprintf(", seeing %s (%s, of %.4g to %s)", spaced(sense.Name), seen, sense.MinOhms, ohms(sense.MaxOhms))
	}
	return s
}
