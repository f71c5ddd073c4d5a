package report

import (
	"fmt"
	"slices"

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
	Watts      float64 `json:"watts" help:"real power"`
	Share      float64 `json:"share" help:"watts as a share of rated watts"`
	VoltsMost  float64 `json:"volts_most" help:"as volts; the most, where relays chatter: volts is then the least, and so on"`
	AmpsMost   float64 `json:"amps_most" help:"as amps; the most, where relays chatter"`
	WattsMost  float64 `json:"watts_most" help:"as watts; the most, where relays chatter"`
	ShareMost  float64 `json:"share_most" help:"as share; the most, where relays chatter"`
	SoundShare float64 `json:"sound_share" help:"the share it gets with nothing broken"`
	State      string  `json:"state" help:"normal, weak, dead, too much, stays on, or off, beside a sound machine in the mode; chatters where it is cut off and on again, hums where a motor draws and does not turn"`
}

// Loads tells what every load gets.
type Loads struct {
	Head
	Loads []Load `json:"loads" help:"every load, in the netlist's order"`
	Codes []Code `json:"codes" help:"what controls show"`
}

// Code is what a control shows.
type Code struct {
	Control string `json:"control" help:"the control, in words"`
	Code    string `json:"code" help:"as shown"`
	Means   string `json:"means" help:"what it stands for"`
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
	d := &Loads{Head: r.head("loads", q), Loads: []Load{}, Codes: []Code{}}
	r.settled(&d.Head, out)
	for _, id := range r.c.Loads() {
		d.Loads = append(d.Loads, r.load(id, out, sound))
	}
	for i := range out.Controls {
		ctl := &r.c.Controls()[i]
		for _, code := range out.Controls[i].Shows(ctl, q.Mode) {
			d.Codes = append(d.Codes, Code{oneLine(r.c.Part(ctl.Part).Label), oneLine(code.Text), oneLine(code.Means)})
		}
	}
	return d, nil
}

// settled notes what the settled machine says of itself.
func (r namer) settled(h *Head, out *settle.Outcome) {
	h.Tripped = r.items(out.Tripped)
	if out.Chatter != nil {
		h.Chatters = r.items(out.Chatter.Contacts)
	}
	if out.Earlier != nil {
		h.ChattersBefore, h.Before = r.items(out.Earlier.Contacts), r.mode(out.Earlier.Mode).Label
	}
}

// chatters is the state of a load whose power jumps.
const chatters = "chatters"

func (r namer) load(id circuit.BranchID, out, sound *settle.Outcome) Load {
	b := r.c.Branch(id)
	v, a, w := out.LoadVolts(id), out.Amps(id), out.Watts(id)
	least, most := out.LeastShare(id), out.MostShare(id)
	state := circuit.JudgeLoad(out, sound, id).String()
	if _, steady := w.Steady(); !steady {
		state = chatters
	}
	if out.Hums(id) {
		a.Least, a.Most = settle.LockedLeast*a.Least, settle.LockedMost*a.Most
	}
	return Load{
		Ref: b.Ref, Label: r.label(id), Place: oneLine(r.c.Part(b.Part).Place),
		RatedVolts: b.Volts, RatedWatts: b.Watts,
		Volts: round(v.Least), Amps: round(a.Least), Watts: round(least * b.Watts), Share: round(least),
		VoltsMost: round(v.Most), AmpsMost: round(a.Most), WattsMost: round(most * b.Watts), ShareMost: round(most),
		SoundShare: round(sound.LeastShare(id)), State: state,
	}
}

// gets says what a load gets.
func (l *Load) gets() string {
	return fmt.Sprintf("%s%sV, %s%sA, %s%sW of %s%sW rated.", l.voltsText(), hard, span(l.Amps, l.AmpsMost, amps), hard,
		span(l.Watts, l.WattsMost, watts), hard, watts(l.RatedWatts), hard)
}

// voltsText writes the volts across, whole where they jump.
func (l *Load) voltsText() string {
	if l.Volts == l.VoltsMost {
		return volts(l.Volts)
	}
	return span(l.Volts, l.VoltsMost, watts)
}

// span writes a figure, or the two that it jumps between.
func span(least, most float64, write func(float64) string) string {
	if low, high := write(least), write(most); low != high {
		return low + " to " + high
	}
	return write(most)
}

func (d *Loads) blocks(p *page) {
	p.title(d.Head, fmt.Sprintf("What each load gets in %s", d.Mode.Label))
	p.gap()
	p.loads(d.Loads)
	for _, c := range d.Codes {
		p.para(0, asBad(fmt.Sprintf("%s shows %s: %s.", c.Control, c.Code, c.Means)))
	}
	p.notes(d.Head)
}

// loads writes the table of loads. Where relays chatter, figures that jump need
// the room of the share.
func (p *page) loads(loads []Load) {
	columns := []column{{title: "Load"}, {title: "Volts", width: 10, right: true}, {title: "Amps", width: 14, right: true},
		{title: "Watts", width: 14, right: true}, {title: "Rated", width: 7, right: true}, {title: "Share", width: 7, right: true}, {title: "State", width: 19}}
	jumps := slices.ContainsFunc(loads, func(l Load) bool { return l.State == chatters })
	var rows [][]string
	for _, l := range loads {
		state := l.State
		switch s, _ := circuit.ParseLoadState(state); {
		case state == chatters, !s.Sound():
			state = asBad(state)
		case s.On():
			state = asGood(state)
		}
		rows = append(rows, []string{l.Label, l.voltsText(), span(l.Amps, l.AmpsMost, amps), span(l.Watts, l.WattsMost, watts),
			watts(l.RatedWatts), percent(l.Share), state})
		if jumps {
			row := &rows[len(rows)-1]
			*row = slices.Delete(*row, 5, 6)
		}
	}
	if jumps {
		columns = slices.Delete(columns, 5, 6)
	}
	p.table(2, columns, rows)
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

// chatterText says what chatters, and what that looks and sounds like.
func chatterText(contacts []Item) string {
	return circuit.List(labels(contacts)) + " chatter: a buzz or fast clicks, lamps flicker, the meter jumps. A figure from one to another jumps between the two."
}

// beforeText says what chatters in the mode before.
func beforeText(h Head) string {
	return fmt.Sprintf("in %s, which comes before, %s chatter. What is pulled in as this mode begins is chance, and so is what is said of it here.", h.Before, circuit.List(labels(h.ChattersBefore)))
}

// restless says what tripped and what does not settle.
func (p *page) restless(h Head) {
	if len(h.Tripped) > 0 {
		p.para(0, asBad("Tripped: ")+circuit.List(labels(h.Tripped)))
	}
	if len(h.Chatters) > 0 {
		p.para(0, asBad("Does not settle: ")+chatterText(h.Chatters))
	}
	if len(h.ChattersBefore) > 0 {
		p.para(0, asBad("Begins by chance: ")+beforeText(h))
	}
}

// notes ends the text of a document.
func (p *page) notes(h Head) {
	if len(h.Notes) == 0 {
		return
	}
	p.gap()
	p.para(0, h.Notes...)
}
