package report

import (
	"fmt"
	"math"
	"math/cmplx"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// Path tells how a load is fed.
type Path struct {
	Head
	Load  Load   `json:"load" help:"the load asked about"`
	Fed   bool   `json:"fed" help:"both ends are made"`
	Ends  []End  `json:"ends" help:"the way to each of the load's two terminals"`
	Holds []Hold `json:"holds" help:"what keeps the contacts on the way closed"`
}

// End is the way from a supply conductor to one terminal of a load.
type End struct {
	Terminal  string `json:"terminal" help:"the load's terminal"`
	Conductor string `json:"conductor" help:"the supply conductor the way starts at, empty when there is none"`
	Made      bool   `json:"made" help:"it conducts from end to end"`
	Hops      []Hop  `json:"hops" help:"wires and parts from the supply to the load, in order"`
	Open      []Item `json:"open" help:"what on the way does not conduct"`
	Through   []Item `json:"through" help:"other loads on the way, in series with this one"`
}

// Hop is one wire, contact or pole on a way.
type Hop struct {
	Item     Item     `json:"item" help:"the wire or part"`
	To       string   `json:"to_terminal" help:"the terminal it leads to"`
	Conducts bool     `json:"conducts" help:"false where it is open"`
	Chatters bool     `json:"chatters" help:"it opens and closes again and again"`
	Volts    *float64 `json:"volts_to_neutral" help:"at that terminal, to the service's neutral and so to earth; null where it floats"`
	Most     *float64 `json:"volts_most" help:"the most, where relays chatter: volts_to_neutral is then the least; null where it floats"`
	HeldBy   *Item    `json:"held_by,omitempty" help:"the coil, motor or board relay that moves the contact"`
	Shares   []Named  `json:"shares" help:"loads working now that use it too"`
}

// Named is a load by name.
type Named struct {
	Ref   string `json:"ref" help:"as --load takes it"`
	Label string `json:"label" help:"in words"`
}

// Hold is what keeps a contact closed.
type Hold struct {
	Contact Item    `json:"contact" help:"the contact"`
	Mover   Item    `json:"mover" help:"the coil, motor or board relay that moves it"`
	Control *Item   `json:"control,omitempty" help:"the control that drives a board relay"`
	Acting  bool    `json:"acting" help:"the mover is energised now"`
	Jumps   bool    `json:"chatters" help:"the mover pulls in and drops out again and again"`
	Ends    []End   `json:"ends" help:"how the coil, or the control, is fed"`
	Senses  []Sense `json:"senses" help:"what the control must see"`
}

// Sense is a resistance a control must see.
type Sense struct {
	Name    string   `json:"name" help:"what it is about"`
	MinOhms float64  `json:"min_ohms" help:"lowest accepted"`
	MaxOhms float64  `json:"max_ohms" help:"highest accepted"`
	Ohms    *float64 `json:"ohms" help:"seen now; null when open"`
	OK      bool     `json:"ok" help:"within the limits"`
	Through []Item   `json:"through" help:"wires and parts of the sensor circuit, in order"`
}

// Path finds how the load is fed.
func (r *Reporter) Path(q Question) (*Path, error) {
	sound, err := r.sound(q.Mode)
	if err != nil {
		return nil, err
	}
	out, err := r.settle(q)
	if err != nil {
		return nil, err
	}
	d := &Path{Head: r.head("path", q), Load: r.load(q.Load, out, sound), Ends: []End{}, Holds: []Hold{}}
	r.settled(&d.Head, out)
	// Where relays chatter, the way is that of a state in which it is made.
	states := out.InTurn()
	d.Fed = true
	var feed *trace.Feed
	for _, s := range states {
		f := r.tracer.Feed(s, q.Load)
		d.Fed = d.Fed && f.Fed()
		if feed == nil || f.Fed() && !feed.Fed() {
			feed, out = f, s
		}
	}
	shares := r.tracer.Shares(out, feed)
	for i := range feed.Ends {
		d.Ends = append(d.Ends, r.end(states, out, &feed.Ends[i], shares))
	}
	for _, h := range feed.Holds {
		d.Holds = append(d.Holds, r.hold(states, out, h))
	}
	return d, nil
}

// toEarth gives the least and the most volts of a terminal over states that
// take turns; nil where it floats in one.
func toEarth(states []*settle.Outcome, at circuit.TerminalID) (least, most *float64) {
	low, high := math.Inf(1), 0.0
	for _, s := range states {
		v, known := s.AnyState.ToEarth(at)
		if !known {
			return nil, nil
		}
		low, high = min(low, cmplx.Abs(v)), max(high, cmplx.Abs(v))
	}
	return determined(low), determined(high)
}

func (r namer) end(states []*settle.Outcome, out *settle.Outcome, e *trace.End, shares map[circuit.BranchID][]circuit.BranchID) End {
	d := End{Terminal: r.c.Terminal(e.Terminal).Ref, Conductor: r.conductor(e.Source), Made: e.Made(),
		Hops: []Hop{}, Open: r.items(e.Missing), Through: r.items(e.Through)}
	for _, hop := range e.Hops {
		b := r.c.Branch(hop.Branch)
		h := Hop{Item: r.item(hop.Branch), To: r.c.Terminal(hop.To).Ref, Conducts: out.Conducts[hop.Branch], Shares: []Named{}}
		h.Volts, h.Most = toEarth(states, hop.To)
		for _, s := range states {
			h.Chatters = h.Chatters || s.Conducts[hop.Branch] != h.Conducts
		}
		if b.Role == circuit.Contact && b.Rule.By != circuit.None {
			h.HeldBy = new(r.item(b.Rule.By))
		}
		for _, load := range shares[hop.Branch] {
			h.Shares = append(h.Shares, r.named(load))
		}
		d.Hops = append(d.Hops, h)
	}
	return d
}

func (r namer) named(load circuit.BranchID) Named {
	return Named{Ref: r.c.Branch(load).Ref, Label: r.label(load)}
}

func (r namer) hold(states []*settle.Outcome, out *settle.Outcome, h trace.Hold) Hold {
	d := Hold{Contact: r.item(h.Contact), Mover: r.item(h.Mover), Acting: out.Acting[h.Mover], Ends: []End{}, Senses: []Sense{}}
	for _, s := range states {
		d.Jumps = d.Jumps || s.Acting[h.Mover] != d.Acting
	}
	if h.Control != nil {
		d.Control = new(r.item(h.Control.Supply))
	}
	for i := range h.Feed.Ends {
		d.Ends = append(d.Ends, r.end(states, out, &h.Feed.Ends[i], nil))
	}
	for _, s := range h.Senses {
		sense := Sense{Name: s.Sense.Name, MinOhms: s.Sense.MinOhms, MaxOhms: s.Sense.MaxOhms, OK: s.OK,
			Through: r.items(r.senseOrder(s))}
		if !math.IsInf(s.Ohms, 0) {
			sense.Ohms = new(round(s.Ohms))
		}
		d.Senses = append(d.Senses, sense)
	}
	return d
}

func (r namer) senseOrder(s trace.SensePath) []circuit.BranchID {
	set := map[circuit.BranchID]bool{}
	for _, id := range s.Branches {
		set[id] = true
	}
	return r.walk(set, s.Sense.Pin1)
}

func (d *Path) blocks(p *page) {
	p.title(d.Head, fmt.Sprintf("How the %s is fed in %s", circuit.LowerFirst(d.Load.Label), d.Mode.Label))
	p.para(0, d.verdict())
	for i := range d.Ends {
		d.Ends[i].blocks(p)
	}
	p.holds(d.Holds)
	p.cautions()
	p.notes(d.Head)
}

// verdict says in a sentence what the load gets.
func (d *Path) verdict() string {
	gets := d.Load.gets()
	switch {
	case d.Load.State == chatters:
		return asBad("Fed and cut off again and again") + ": " + gets
	case d.Fed:
		return asGood("Fed") + " at both ends: " + gets
	}
	var open []string
	for _, e := range d.Ends {
		open = append(open, labels(e.Open)...)
	}
	if len(open) > 0 {
		return asBad("Not fed") + ", open at " + circuit.List(open) + ": " + gets
	}
	return asBad("Not fed") + " by two conductors directly: " + gets
}

func (e *End) blocks(p *page) {
	if e.Conductor == "" {
		p.heading("To " + e.Terminal)
		p.para(2, "No way to any other supply conductor, even with every contact closed.")
		return
	}
	p.heading(fmt.Sprintf("From %s to %s", conductorWord(e.Conductor), e.Terminal))
	var rows [][]string
	wide := 6
	for i, h := range e.Hops {
		name := h.Item.Label
		if h.Item.Kind == "wire" {
			name = "wire" + hard + h.Item.Ref
		}
		at := "floats"
		if h.Volts != nil {
			at = volts(*h.Volts)
			if *h.Volts != *h.Most {
				at, wide = span(*h.Volts, *h.Most, watts), 10
			}
		}
		rows = append(rows, []string{fmt.Sprint(i + 1), name, h.To, at, h.how()})
	}
	p.table(2, []column{{width: 3, fixed: true, right: true}, {title: "Through", width: 24, fixed: true}, {title: "To terminal", width: 21, fixed: true},
		{title: "V to N", width: wide, fixed: true, right: true}, {title: ""}}, rows)
	if len(e.Through) > 0 {
		p.para(2, "In series with "+circuit.List(labels(e.Through))+".")
	}
	p.para(2, e.shared()...)
}

// how tells a wire's look, or what a contact does.
func (h *Hop) how() string {
	switch {
	case h.Chatters:
		return asBad("CHATTERS")
	case !h.Conducts:
		return asBad("OPEN")
	case h.Item.Kind == "wire":
		return wireLook(h.Item)
	case h.HeldBy != nil && h.HeldBy.Kind == h.Item.Kind:
		return "held by its coil"
	case h.HeldBy != nil:
		return "held by " + h.HeldBy.Label
	}
	return ""
}

// shared says how far along the way each group of other loads comes too.
func (e *End) shared() []string {
	last := map[string]int{}
	var order []string
	for i, h := range e.Hops {
		for _, n := range h.Shares {
			if _, seen := last[n.Label]; !seen {
				order = append(order, n.Label)
			}
			last[n.Label] = i
		}
	}
	var out []string
	for i := range e.Hops {
		var here []string
		for _, label := range order {
			if last[label] == i {
				here = append(here, label)
			}
		}
		if len(here) == 0 {
			continue
		}
		verb := "work"
		if len(here) == 1 {
			verb = "works"
		}
		out = append(out, fmt.Sprintf("%s %s too, through lines up to %d.", circuit.List(here), verb, i+1))
	}
	return out
}

// holds groups contacts by what moves them.
func (p *page) holds(holds []Hold) {
	if len(holds) == 0 {
		return
	}
	p.heading("What holds its contacts closed")
	for _, h := range grouped(holds) {
		p.para(2, circuit.List(labels(h.contacts))+":")
		state := asBad("not acting")
		switch {
		case h.Jumps:
			state = asBad("pulls in and drops out again and again")
		case h.Acting:
			state = asGood("acting")
		}
		p.term(4, 10, "by", h.by().Label+", "+state)
		for _, e := range h.Ends {
			from := "from" + hard + e.Conductor
			if e.Conductor == "" {
				p.term(4, 10, "", "no way to any supply conductor for "+e.Terminal)
				continue
			}
			way := partsAndWires(hopItems(e.Hops))
			if !e.Made {
				way += "; " + asBad("open") + " at " + circuit.List(labels(append(append([]Item{}, e.Open...), e.Through...)))
			}
			p.term(4, 10, from, way)
		}
		for _, s := range h.Senses {
			p.term(4, 10, "must see", s.sentence())
		}
	}
}

// group is contacts that one coil, or one control, holds.
type group struct {
	Hold
	contacts []Item
}

func grouped(holds []Hold) []group {
	var out []group
	at := map[string]int{}
	for _, h := range holds {
		i, seen := at[h.by().Ref]
		if !seen {
			i = len(out)
			at[h.by().Ref] = i
			out = append(out, group{Hold: h})
		}
		out[i].contacts = append(out[i].contacts, h.Contact)
	}
	return out
}

// by is the control of a board relay, else the mover itself.
func (h *Hold) by() Item {
	if h.Control != nil {
		return *h.Control
	}
	return h.Mover
}

func (s *Sense) sentence() string {
	seen := "open"
	if s.Ohms != nil {
		seen = ohms(*s.Ohms)
	}
	verdict := asGood("good")
	if !s.OK {
		verdict = asBad("refused")
	}
	return fmt.Sprintf("%s, %.4g to %s: sees %s, %s; through %s", spaced(s.Name), s.MinOhms, ohms(s.MaxOhms), seen, verdict, partsAndWires(s.Through))
}

func hopItems(hops []Hop) []Item {
	return each(hops, func(h Hop) Item { return h.Item })
}

func conductorWord(name string) string {
	switch name {
	case "N":
		return "neutral"
	case "G":
		return "earth"
	}
	return name
}

func spaced(name string) string { return strings.ReplaceAll(name, "_", " ") }
