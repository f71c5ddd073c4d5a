package report

import (
	"fmt"
	"math/cmplx"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// Load is a load and what it gets.
type Load struct {
	Ref        string  `json:"ref" help:"as --load takes it"`
	Label      string  `json:"label" help:"in words"`
	Place      string  `json:"place,omitempty" help:"where on the machine"`
	RatedVolts float64 `json:"rated_volts" help:"from the netlist"`
	RatedWatts float64 `json:"rated_watts" help:"from the netlist"`
	Volts      float64 `json:"volts" help:"across it"`
	Amps       float64 `json:"amps" help:"through it"`
	Watts      float64 `json:"watts" help:"real power; the least, where the machine does not settle"`
	Share      float64 `json:"share" help:"watts as a share of rated watts"`
	SoundShare float64 `json:"sound_share" help:"the share it gets with nothing broken"`
	State      string  `json:"state" help:"normal, weak, dead, too much, stays on, or off, beside a sound machine in the mode"`
}

// Loads tells what every load gets.
type Loads struct {
	Head
	Loads []Load `json:"loads" help:"every load, in the netlist's order"`
}

// Loads settles the machine and reads every load.
func (r *Reporter) Loads(q Question) (*Loads, error) {
	sound, err := r.sound(q.Mode)
	if err != nil {
		return nil, err
	}
	out, err := r.settle(q)
	if err != nil {
		return nil, err
	}
	d := &Loads{Head: r.head("loads", q), Loads: []Load{}}
	r.settled(&d.Head, out)
	for _, id := range r.c.Loads() {
		d.Loads = append(d.Loads, r.load(id, out, sound))
	}
	return d, nil
}

// settled notes what the settled machine says of itself.
func (r *Reporter) settled(h *Head, out *settle.Outcome) {
	h.Tripped = r.items(out.Tripped)
	if out.Chatter != nil {
		h.Chatters = r.items(out.Chatter.Contacts)
	}
}

func (r *Reporter) load(id circuit.BranchID, out, sound *settle.Outcome) Load {
	b := r.c.Branch(id)
	share := out.LeastShare(id)
	return Load{
		Ref: b.Ref, Label: r.label(id), Place: oneLine(r.c.Part(b.Part).Place),
		RatedVolts: b.Volts, RatedWatts: b.Watts,
		Volts: round(out.AnyState.LoadVolts(id)), Amps: round(cmplx.Abs(out.AnyState.Amps[id])),
		Watts: round(share * b.Watts), Share: round(share), SoundShare: round(sound.LeastShare(id)),
		State: circuit.JudgeLoad(out, sound, id).String(),
	}
}

func (d *Loads) blocks(p *page) {
	p.title(d.Head, fmt.Sprintf("What each load gets in %s", d.Mode.Label))
	p.gap()
	p.loads(d.Loads)
	p.notes(d.Head)
}

// loads writes the table of loads.
func (p *page) loads(loads []Load) {
	var rows [][]string
	for _, l := range loads {
		state := l.State
		switch s, _ := circuit.ParseLoadState(state); {
		case !s.Sound():
			state = asBad(state)
		case s.On():
			state = asGood(state)
		}
		rows = append(rows, []string{l.Label, volts(l.Volts), amps(l.Amps), watts(l.Watts), watts(l.RatedWatts), percent(l.Share), state})
	}
	p.table(2, []column{{title: "Load"}, {title: "Volts", width: 7, right: true}, {title: "Amps", width: 7, right: true},
		{title: "Watts", width: 7, right: true}, {title: "Rated", width: 7, right: true}, {title: "Share", width: 7, right: true}, {title: "State", width: 19}}, rows)
}

// title begins the text of a document.
func (p *page) title(h Head, s string) {
	p.heading(s)
	p.para(0, h.Machine.Title)
	for _, f := range h.Faults {
		p.term(0, 8, "Broken:", f.Text)
	}
	p.restless(h)
}

// restless says what tripped and what does not settle.
func (p *page) restless(h Head) {
	if len(h.Tripped) > 0 {
		p.para(0, asBad("Tripped: ")+list(labels(h.Tripped)))
	}
	if len(h.Chatters) > 0 {
		p.para(0, asBad("Does not settle: ")+list(labels(h.Chatters))+" chatter. Figures are the least they swing to.")
	}
}

// notes ends the text of a document.
func (p *page) notes(h Head) {
	if len(h.Notes) == 0 {
		return
	}
	p.gap()
	for _, n := range h.Notes {
		p.para(0, n)
	}
}
