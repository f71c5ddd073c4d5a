package report

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Live tells which points stay at voltage, mode by mode.
type Live struct {
	Document string     `json:"document" help:"which document this is"`
	Machine  Machine    `json:"machine" help:"the machine asked about"`
	Faults   []Fault    `json:"faults" help:"faults taken to be present"`
	Limit    float64    `json:"limit" help:"volts from which a point counts as live"`
	Modes    []LiveMode `json:"modes" help:"what stays live in each mode asked about"`
	Notes    []string   `json:"notes" help:"what was taken where the question left it open"`
}

// LiveMode tells what is live in a mode.
type LiveMode struct {
	Mode Mode `json:"mode" help:"what is selected"`
	// The voltages are then the most that each comes to.
	Chatters []Item `json:"chatters" help:"contacts that keep moving: every voltage is the most that it comes to"`
	// Chassis is nil where the metal floats.
	Chassis *float64   `json:"chassis" help:"volts from the machine's metal to earth; null where it floats"`
	Apart   float64    `json:"apart" help:"the most between two live points, volts"`
	Nodes   []LiveNode `json:"nodes" help:"groups of joined terminals at voltage, highest first"`
	Newly   []Newly    `json:"newly" help:"single faults that make more live; empty where not asked, or with faults present"`
}

// LiveNode is terminals joined without loss that stand at one voltage.
type LiveNode struct {
	Volts   float64     `json:"volts" help:"the most of the three that follow"`
	Earth   *float64    `json:"volts_to_earth" help:"and to the service's neutral; null where it floats"`
	Neutral *float64    `json:"volts_to_neutral" help:"to the machine's neutral; null where it floats"`
	Metal   *float64    `json:"volts_to_metal" help:"to the machine's metal; null where it floats"`
	Text    string      `json:"volts_text" help:"in words: one figure where the three are alike"`
	From    string      `json:"from" help:"the supply conductor that it comes from"`
	Points  []LivePoint `json:"points" help:"where it can be touched, nearest the supply first"`
}

// LivePoint is a live terminal and how the voltage gets there.
type LivePoint struct {
	Probe
	Way     []Item `json:"way" help:"parts and wires from the supply conductor to it, in order"`
	Through []Item `json:"through" help:"loads on the way: the voltage comes through them"`
}

// Newly is single faults that make the same points live that were not.
type Newly struct {
	Faults    []Fault  `json:"faults" help:"any one of these does it"`
	Terminals []string `json:"terminals" help:"what becomes live"`
	Parts     []string `json:"parts" help:"the parts they are on, connectors and terminal blocks left out"`
	Chassis   *float64 `json:"chassis" help:"volts to earth of the machine's metal, where that becomes live; else null"`
	Energised []Named  `json:"energised" help:"loads that it switches on"`
}

// Live lists what stays at voltage in the modes given, and without faults what
// each single fault would add.
func (r *Reporter) Live(ctx context.Context, modes []circuit.ModeID, faults []circuit.Fault, notes []string) (*Live, error) {
	b, err := r.newBench(MeterOptions{})
	if err != nil {
		return nil, err
	}
	d := &Live{Document: "live", Machine: r.machine(), Faults: r.faults(faults), Limit: meter.HazardVolts, Modes: []LiveMode{}, Notes: append([]string{}, notes...)}
	for _, mode := range modes {
		if _, err := r.sound(mode); err != nil {
			return nil, err
		}
		m, err := r.liveMode(b, mode, faults)
		if err != nil {
			return nil, err
		}
		if len(faults) == 0 {
			list, err := b.NewlyLiveFaults(ctx, mode)
			if err != nil {
				return nil, err
			}
			m.Newly = r.newly(list)
		}
		d.Modes = append(d.Modes, *m)
	}
	return d, nil
}

func (r *Reporter) liveMode(b *meter.Bench, mode circuit.ModeID, faults []circuit.Fault) (*LiveMode, error) {
	out, err := b.Live(mode, faults)
	if err != nil {
		return nil, err
	}
	d := r.liveParts(b.LivePartsOf(out))
	if out.Chatter != nil {
		d.Chatters = r.items(out.Chatter.Contacts)
	}
	return d, nil
}

func (r *Reporter) liveParts(s *meter.LiveParts) *LiveMode {
	d := &LiveMode{Mode: r.mode(s.Mode), Apart: round(s.Apart), Chatters: []Item{}, Nodes: []LiveNode{}, Newly: []Newly{}}
	if !s.ChassisFloating {
		d.Chassis = new(round(s.Chassis))
	}
	for _, n := range s.Nodes {
		node := LiveNode{Volts: round(n.Volts.Most()), Earth: determined(n.Volts.Earth), Neutral: determined(n.Volts.Neutral), Metal: determined(n.Volts.Metal),
			Text: n.Volts.Short(), From: r.conductor(n.Way.Source), Points: []LivePoint{}}
		for _, t := range n.Terminals {
			way := r.tracer.Way(n.State, t)
			p := LivePoint{Probe: r.probe(t), Way: []Item{}, Through: r.items(way.Through)}
			for _, h := range way.Hops {
				p.Way = append(p.Way, r.item(h.Branch))
			}
			node.Points = append(node.Points, p)
		}
		slices.SortStableFunc(node.Points, func(a, b LivePoint) int { return len(a.Way) - len(b.Way) })
		d.Nodes = append(d.Nodes, node)
	}
	return d
}

// newly groups faults that make the same live.
func (r *Reporter) newly(list []meter.NewlyLive) []Newly {
	out := []Newly{}
	at := map[string]int{}
	for _, n := range list {
		as := fmt.Append(nil, n.Energised, n.Chassis, math.Round(n.ChassisVolts))
		for _, t := range n.Terminals {
			as = binary.AppendUvarint(as, uint64(t))
		}
		key := string(as)
		faults := r.faults([]circuit.Fault{n.Fault})
		if i, seen := at[key]; seen {
			out[i].Faults = append(out[i].Faults, faults...)
			continue
		}
		at[key] = len(out)
		d := Newly{Faults: faults, Terminals: []string{}, Parts: []string{}, Energised: []Named{}}
		listed := map[string]bool{}
		for _, t := range n.Terminals {
			d.Terminals = append(d.Terminals, r.c.Terminal(t).Ref)
			part := r.c.Part(r.c.Terminal(t).Part)
			if label := oneLine(part.Label); !passive[part.Kind.String()] && !listed[label] {
				listed[label] = true
				d.Parts = append(d.Parts, label)
			}
		}
		if n.Chassis {
			d.Chassis = new(round(n.ChassisVolts))
		}
		for _, load := range n.Energised {
			d.Energised = append(d.Energised, r.named(load))
		}
		out = append(out, d)
	}
	// Live metal first, then what switches a load on.
	slices.SortStableFunc(out, func(a, b Newly) int { return b.rank() - a.rank() })
	return out
}

func (n *Newly) rank() int {
	rank := 0
	if n.Chassis != nil {
		rank += 2
	}
	if len(n.Energised) > 0 {
		rank++
	}
	return rank
}

// AllModes lists the modes, those left out that short the supply. Where all do,
// all are listed.
func (r *Reporter) AllModes() []circuit.ModeID {
	var usable, all []circuit.ModeID
	for _, m := range r.c.Modes() {
		all = append(all, m.ID)
		if !r.shorts(m.ID) {
			usable = append(usable, m.ID)
		}
	}
	if len(usable) == 0 {
		return all
	}
	return usable
}

// LeftOut tells which modes AllModes leaves out, and why.
func (r *Reporter) LeftOut() []string {
	var out []string
	for _, m := range r.c.Modes() {
		if r.shorts(m.ID) {
			out = append(out, fmt.Sprintf("Mode %s is left out: it shorts the supply with nothing broken. The command check tells how.", m.Name))
		}
	}
	return out
}

func (r *Reporter) shorts(mode circuit.ModeID) bool {
	_, err := r.sound(mode)
	return errors.As(err, new(*UnsoundError))
}

func (d *Live) blocks(p *page) {
	p.heading("Points that stay live")
	p.para(0, d.Machine.Title)
	for _, f := range d.Faults {
		p.term(0, 8, "Broken:", f.Text)
	}
	p.para(0, fmt.Sprintf("With the breaker on. Live counts from %.0f%sV to earth, to neutral or to the machine's metal; one figure stands where all three are alike. What is joined to the supply ahead of the breaker stays live with the breaker off, too.", d.Limit, hard))
	for i := range d.Modes {
		d.Modes[i].blocks(p)
	}
	p.cautions()
	p.notes(Head{Notes: d.Notes})
}

func (m *LiveMode) blocks(p *page) {
	p.heading("In " + m.Mode.Label)
	if len(m.Chatters) > 0 {
		p.para(2, asBad("Does not settle: ")+circuit.List(labels(m.Chatters))+" chatter: a buzz or fast clicks. Every voltage jumps, and is the most that it comes to.")
	}
	p.para(2, m.metal())
	if len(m.Nodes) == 0 {
		p.para(2, "Nothing is live.")
	}
	last := ""
	for i := range m.Nodes {
		n := &m.Nodes[i]
		if head := asBad(n.text()) + ", from " + conductorWord(n.From) + ":"; head != last {
			p.para(2, head)
			last = head
		}
		for _, t := range n.touched() {
			p.term(4, 27, t.what, t.via)
		}
	}
	if len(m.Nodes) > 1 {
		p.para(2, fmt.Sprintf("Between two of these: up to %.0f%sV.", m.Apart, hard))
	}
	if len(m.Newly) == 0 {
		return
	}
	p.gap()
	p.para(2, asStrong("One fault more makes live as well:"))
	p.para(4, m.newlyLines()...)
}

// metal says how the machine's metal stands.
func (m *LiveMode) metal() string {
	switch {
	case m.Chassis == nil:
		return asBad("The machine's metal floats:") + " it is at whatever touches it."
	case *m.Chassis >= meter.HazardVolts:
		return asBad(fmt.Sprintf("The machine's metal is at %.0f%sV to earth: do not touch it.", *m.Chassis, hard))
	}
	return "The machine's metal is at earth."
}

// text writes the voltage, no line broken between a figure and its unit.
func (n *LiveNode) text() string { return strings.ReplaceAll(n.Text, " V", hard+"V") }

// touched is a line on a part with live terminals.
type touched struct{ what, via string }

// touched lists the parts of a node with their live terminals, and what other
// than wire, pins and the breaker lies on the way there.
func (n *LiveNode) touched() []touched {
	var out []touched
	at := map[string]int{}
	for _, t := range n.Points {
		part, terminal, _ := strings.Cut(t.Terminal, ".")
		if part == circuit.SupplyName {
			continue
		}
		// Both ends of a pin or pole are one place to a person.
		terminal = strings.TrimSuffix(strings.TrimSuffix(terminal, ".in"), ".out")
		via := t.via(part)
		key := part + "\x00" + via
		if i, seen := at[key]; seen {
			if last := out[i].what; !strings.HasSuffix(last, " "+terminal) {
				out[i].what += ", " + terminal
			}
			continue
		}
		at[key] = len(out)
		what := t.Part
		if terminal != "" {
			what += " " + terminal
		}
		out = append(out, touched{what, via})
	}
	return out
}

// passive are kinds of things that carry current and do nothing else.
var passive = map[string]bool{"wire": true, "connector": true, "terminal_block": true, "supply": true}

// via says through what the voltage gets to a point.
func (t *LivePoint) via(part string) string {
	var through []string
	for _, it := range t.Way {
		owner, _, _ := strings.Cut(it.Ref, ".")
		if passive[it.Kind] || it.Kind == "breaker" {
			continue
		}
		if owner != part || len(t.Through) > 0 {
			through = append(through, it.Label)
		}
	}
	if len(through) == 0 {
		return "directly"
	}
	return "through " + circuit.List(through)
}

// newlyLines joins faults that come to the same for a person: the same parts
// live, wherever on the way to them the fault is.
func (m *LiveMode) newlyLines() []string {
	var order []string
	faults := map[string][]Item{}
	for i := range m.Newly {
		n := &m.Newly[i]
		gains := n.gains()
		if _, seen := faults[gains]; !seen {
			order = append(order, gains)
		}
		for _, f := range n.Faults {
			it := Item{Label: f.Text}
			if strings.HasPrefix(f.Text, "wire ") {
				it.Kind, it.Ref = "wire", strings.TrimPrefix(f.Text, "wire ")
			}
			faults[gains] = append(faults[gains], it)
		}
	}
	var out []string
	for _, gains := range order {
		out = append(out, partsAndWires(faults[gains])+": "+gains+".")
	}
	return out
}

// gains says what becomes live.
func (n *Newly) gains() string {
	var out []string
	if n.Chassis != nil {
		out = append(out, asBad(fmt.Sprintf("THE METAL ITSELF, at %.0f%sV", *n.Chassis, hard)))
	}
	if len(n.Energised) > 0 {
		out = append(out, "switches on "+circuit.List(names(n.Energised)))
	}
	switch {
	case len(n.Parts) > 0:
		out = append(out, "live at "+few(n.Parts))
	case len(n.Terminals) > 0:
		out = append(out, "live at "+few(n.Terminals))
	}
	return strings.Join(out, "; ")
}
