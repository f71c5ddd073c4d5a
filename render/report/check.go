package report

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/audit"
	"legtrace/circuit/settle"
)

// shareTolerance is how far a load may be from the share its mode expects: a
// load at full power loses a per cent or so in the supply's resistance, and a
// netlist may state a share in round figures.
const shareTolerance = 0.03

// At is a place in the netlist.
type At struct {
	File   string `json:"file" help:"as given"`
	Line   int    `json:"line" help:"from 1; 0 for the file as a whole"`
	Column int    `json:"column" help:"in characters, from 1"`
}

// Finding is something to look into.
type Finding struct {
	At      At     `json:"at" help:"where in the netlist"`
	Mode    string `json:"mode,omitempty" help:"the mode it shows in"`
	Load    string `json:"load,omitempty" help:"the load concerned"`
	Message string `json:"message" help:"what was found"`
	Hint    string `json:"hint,omitempty" help:"what would be right, or where to look"`
}

// Check tells whether a netlist does what it says of itself.
type Check struct {
	Document string      `json:"document" help:"which document this is"`
	Machine  Machine     `json:"machine" help:"the machine checked"`
	Parts    int         `json:"parts" help:"number of parts"`
	Wires    int         `json:"wires" help:"number of wires"`
	Points   int         `json:"points" help:"number of test points"`
	Modes    []ModeCheck `json:"modes" help:"every mode, in the netlist's order"`
	Findings []Finding   `json:"findings" help:"what to look into; empty when all is well"`
	Warnings []Warning   `json:"warnings" help:"what to question, which may be as the machine is; empty when not asked for"`
}

// ModeCheck is one mode compared with what it expects.
type ModeCheck struct {
	Mode
	Expected int           `json:"expected" help:"number of loads the mode says something of"`
	Met      int           `json:"met" help:"number of those that do as said"`
	Loads    []Expectation `json:"loads" help:"each of them"`
	On       []Named       `json:"on" help:"loads the engine finds at work"`
	Trips    []string      `json:"trips,omitempty" help:"the protection that the mode trips with nothing broken: nothing more can be said of it"`
}

// Expectation is what a mode says of a load, beside what the engine finds.
type Expectation struct {
	Named
	Expected float64 `json:"expected_share" help:"share of rated power the mode expects"`
	Share    float64 `json:"share" help:"share the engine finds"`
	Watts    float64 `json:"watts" help:"watts the engine finds"`
	Met      bool    `json:"met" help:"near enough"`
}

// Check settles every mode of the sound machine. Warnings are what reading the
// netlist gave; locate tells where the value of a path stands. A mode that
// shorts the supply is a finding; where all of them do nothing can be asked of
// the machine, see [Reporter.Usable].
func (r *Reporter) Check(warnings []Finding, locate func(path string) At) (*Check, error) {
	d := &Check{Document: "check", Machine: r.machine(), Parts: r.ownParts(), Wires: len(r.c.Wires()),
		Points: len(r.c.Points()), Modes: []ModeCheck{}, Findings: append([]Finding{}, warnings...), Warnings: []Warning{}}
	if err := r.Usable(); err != nil {
		return nil, err
	}
	for _, m := range r.c.Modes() {
		out, err := r.sound(m.ID)
		var short *UnsoundError
		switch {
		case errors.As(err, &short):
			d.Modes = append(d.Modes, ModeCheck{Mode: r.mode(m.ID), Expected: len(m.Expect), Loads: []Expectation{}, On: []Named{}, Trips: short.Tripped})
			d.Findings = append(d.Findings, Finding{At: locate("modes." + m.Name), Mode: m.Name, Message: err.Error(), Hint: short.Hint()})
			continue
		case err != nil:
			d.Findings = append(d.Findings, Finding{At: locate("modes." + m.Name), Mode: m.Name, Message: err.Error()})
			continue
		}
		d.Modes = append(d.Modes, r.checkMode(&m, out, d, locate))
	}
	return d, nil
}

// Growing is what there is to look into in a machine that is still being written
// down. It leaves out what comes of what is not there yet: the first findings,
// so many as reading the netlist gave, and warnings of the same sort.
func (d *Check) Growing(reading int) []Finding {
	out := slices.Clone(d.Findings[min(reading, len(d.Findings)):])
	for _, w := range d.Warnings {
		switch audit.Kind(w.Kind) {
		case audit.Unused, audit.IdleLimit, audit.NotToldApart, audit.Grounding:
			continue
		}
		out = append(out, Finding{At: w.At, Mode: w.Mode, Message: w.Message})
	}
	return out
}

// Usable joins an [UnsoundError] for each mode where all of them short the supply.
func (r *Reporter) Usable() error {
	var shorts []error
	for _, m := range r.c.Modes() {
		_, err := r.sound(m.ID)
		if !errors.As(err, new(*UnsoundError)) {
			return nil
		}
		shorts = append(shorts, err)
	}
	return errors.Join(shorts...)
}

// ownParts counts parts, the supply and the chassis left out.
func (r namer) ownParts() int {
	n := 0
	for _, p := range r.c.Parts() {
		if p.Kind != circuit.KindSupply && p.Kind != circuit.KindChassis {
			n++
		}
	}
	return n
}

func (r *Reporter) checkMode(m *circuit.Mode, out *settle.Outcome, d *Check, locate func(string) At) ModeCheck {
	mc := ModeCheck{Mode: r.mode(m.ID), Expected: len(m.Expect), Loads: []Expectation{}, On: []Named{}}
	if out.Chatter != nil {
		d.Findings = append(d.Findings, Finding{At: locate("modes." + m.Name), Mode: m.Name,
			Message: fmt.Sprintf("in %s the machine does not settle: %s chatter", mc.Label, circuit.List(labels(r.items(out.Chatter.Contacts))))})
	}
	if out.Earlier != nil {
		d.Findings = append(d.Findings, Finding{At: locate("modes." + m.Name), Mode: m.Name,
			Message: fmt.Sprintf("%s begins by chance: in %s, which comes before, %s chatter", mc.Label, r.mode(out.Earlier.Mode).Label, circuit.List(labels(r.items(out.Earlier.Contacts))))})
	}
	said := map[circuit.BranchID]bool{}
	for _, e := range m.Expect {
		said[e.Load] = true
		share := out.LeastShare(e.Load)
		if e.Share == 0 {
			share = out.MostShare(e.Load)
		}
		x := Expectation{Named: r.named(e.Load), Expected: e.Share, Share: round(share),
			Watts: round(share * r.c.Branch(e.Load).Watts), Met: met(e.Share, share)}
		mc.Loads = append(mc.Loads, x)
		if x.Met {
			mc.Met++
			continue
		}
		d.Findings = append(d.Findings, Finding{At: locate(e.Path), Mode: m.Name, Load: x.Ref,
			Message: plain(fmt.Sprintf("in %s, %s should be %s and gets %s W, %s of its rating", mc.Label, x.Label,
				should(e.Share), watts(x.Watts), percent(x.Share))),
			Hint: r.why(e, out)})
	}
	for _, load := range r.c.Loads() {
		if out.MostShare(load) < circuit.OnShare {
			continue
		}
		mc.On = append(mc.On, r.named(load))
		if !said[load] && len(m.Expect) > 0 {
			d.Findings = append(d.Findings, Finding{At: locate("modes." + m.Name), Mode: m.Name, Load: r.c.Branch(load).Ref,
				Message: fmt.Sprintf("in %s, %s is on and the mode says nothing of it", mc.Label, r.label(load)),
				Hint:    "add it to on, off or share"})
		}
	}
	return mc
}

// met compares a share with what is expected. What should be off must be: the
// tolerance is for the supply's losses.
func met(expected, share float64) bool {
	if expected == 0 {
		return share < circuit.OnShare
	}
	return math.Abs(share-expected) <= shareTolerance*max(1, expected)
}

func should(share float64) string {
	switch share {
	case 0:
		return "off"
	case 1:
		return "on"
	}
	return "at " + percent(share)
}

// why tells where to look: what is open on the way to a load that should be
// on, what it is in series with, or by which way one is fed that should not be.
func (r *Reporter) why(e circuit.Expectation, out *settle.Outcome) string {
	if e.Share == 0 {
		return r.whyOn(e.Load, out)
	}
	feed := r.tracer.Feed(out, e.Load)
	var open, through []string
	for i := range feed.Ends {
		if feed.Ends[i].Source == circuit.None {
			return "no way leads from " + r.c.Terminal(feed.Ends[i].Terminal).Ref + " to another supply conductor"
		}
		open = append(open, labels(r.items(feed.Ends[i].Missing))...)
		through = append(through, labels(r.items(feed.Ends[i].Through))...)
	}
	switch {
	case out.LeastShare(e.Load) > e.Share:
		return r.whyOn(e.Load, out)
	case len(open) > 0:
		return "open at " + circuit.List(open)
	case len(through) > 0:
		return "in series with " + circuit.List(through)
	}
	return fmt.Sprintf("fed from %s and %s", conductorWord(r.conductor(feed.Ends[0].Source)), conductorWord(r.conductor(feed.Ends[1].Source)))
}

// whyOn tells by which conducting ways a load is fed, and what is closed on
// them.
func (r namer) whyOn(load circuit.BranchID, out *settle.Outcome) string {
	b := r.c.Branch(load)
	var ends []string
	for _, t := range []circuit.TerminalID{b.A, b.B} {
		source, passed := r.conducting(out, load, t)
		if source == circuit.None {
			continue
		}
		s := conductorWord(r.conductor(source))
		if len(passed) > 0 {
			s += " through " + circuit.List(labels(r.items(passed)))
		}
		ends = append(ends, s)
	}
	if len(ends) < 2 {
		return ""
	}
	return fmt.Sprintf("fed from %s, and from %s", ends[0], ends[1])
}

// conducting finds the way from a load's terminal to a supply conductor that
// passes the fewest other loads, and returns the switched contacts and loads on
// it, from the conductor on.
func (r namer) conducting(out *settle.Outcome, load circuit.BranchID, from circuit.TerminalID) (source circuit.BranchID, passed []circuit.BranchID) {
	via := map[circuit.TerminalID]circuit.BranchID{from: circuit.None}
	now, later := []circuit.TerminalID{from}, []circuit.TerminalID(nil)
	for len(now) > 0 || len(later) > 0 {
		if len(now) == 0 {
			now, later = later, nil
		}
		t := now[0]
		now = now[1:]
		for i := range r.c.Branches() {
			b := r.c.Branch(circuit.BranchID(i))
			if b.ID == load || !out.Conducts[i] || b.A != t && b.B != t {
				continue
			}
			if b.Role == circuit.Source {
				return b.ID, r.passed(via, t, from)
			}
			far := b.Other(t)
			if _, seen := via[far]; seen || far == circuit.None {
				continue
			}
			via[far] = b.ID
			if b.Role == circuit.Load {
				later = append(later, far)
			} else {
				now = append(now, far)
			}
		}
	}
	return circuit.None, nil
}

// passed walks back from a conductor to a load's terminal and keeps what can
// be set or is itself a load.
func (r namer) passed(via map[circuit.TerminalID]circuit.BranchID, at, to circuit.TerminalID) []circuit.BranchID {
	var out []circuit.BranchID
	for at != to {
		b := r.c.Branch(via[at])
		if b.Role == circuit.Load || b.Role == circuit.Contact && r.c.Part(b.Part).Kind != circuit.KindBreaker {
			out = append(out, b.ID)
		}
		at = b.Other(at)
	}
	return out
}

func (d *Check) blocks(p *page) {
	p.heading(d.Machine.Title)
	p.para(0, fmt.Sprintf("%s: %s, %s, %s, %s. Supply %s.", d.Machine.Name, count(d.Parts, "part", "parts"), count(d.Wires, "wire", "wires"),
		count(len(d.Modes), "mode", "modes"), count(d.Points, "test point", "test points"), d.Machine.Supply))
	p.gap()
	var rows [][]string
	for _, m := range d.Modes {
		on := "nothing"
		if len(m.On) > 0 {
			on = circuit.List(names(m.On))
		}
		state := asGood("as said")
		switch {
		case len(m.Trips) > 0:
			state, on = asBad("shorts"), "trips "+circuit.List(m.Trips)
		case m.Expected == 0:
			state = "nothing said"
		case m.Met < m.Expected:
			state = asBad(fmt.Sprintf("%d of %d not", m.Expected-m.Met, m.Expected))
		}
		rows = append(rows, []string{m.Name, m.Label, state, on})
	}
	p.table(0, []column{{title: "Mode", width: 16}, {title: "Setting", width: 22}, {title: "Loads", width: 12}, {title: "At work"}}, rows)
	if len(d.Findings) == 0 {
		p.gap()
		p.para(0, asGood("Nothing found wrong."))
		d.warnings(p, false, "which the machine may well bear out")
		return
	}
	d.warnings(p, true, "which may be the cause of what follows")
	p.heading(fmt.Sprintf("%s to look into", count(len(d.Findings), "finding", "findings")))
	for _, f := range d.Findings {
		s := f.Message
		if f.Hint != "" {
			s += " (" + f.Hint + ")"
		}
		p.para(2, f.At.String()+": "+s)
	}
	d.warnings(p, false, "which the machine may well bear out")
}

func (a At) String() string {
	if a.Line == 0 {
		return a.File
	}
	return fmt.Sprintf("%s:%d:%d", a.File, a.Line, a.Column)
}
