package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"legtrace/circuit"
)

// Machine names the machine.
type Machine struct {
	Name   string `json:"name" help:"the netlist's name"`
	Title  string `json:"title" help:"what a person calls the machine"`
	Supply string `json:"supply" help:"what feeds it"`
}

// Mode names what the person selected.
type Mode struct {
	Name  string `json:"name" help:"as --mode takes it"`
	Label string `json:"label" help:"as the panel has it"`
	How   string `json:"how" help:"how it is brought about; empty where it is selected"`
}

// Fault is a fault taken to be present.
type Fault struct {
	Ref  string `json:"ref" help:"as --fault takes it"`
	Text string `json:"text" help:"in words"`
}

// Head begins every document that is about a mode.
type Head struct {
	Document string  `json:"document" help:"which document this is"`
	Machine  Machine `json:"machine" help:"the machine asked about"`
	Mode     Mode    `json:"mode" help:"what is selected"`
	Faults   []Fault `json:"faults" help:"faults taken to be present"`
	Tripped  []Item  `json:"tripped" help:"protection that opened because of the faults"`
	Chatters []Item  `json:"chatters" help:"contacts that keep moving: the machine does not settle"`
	// The two are about a mode that this one comes after.
	ChattersBefore []Item   `json:"chatters_before" help:"contacts that keep moving in the mode that this one comes after: how it begins is chance"`
	Before         string   `json:"before,omitempty" help:"that mode, as the panel has it"`
	Notes          []string `json:"notes" help:"what was taken where the question left it open"`
}

// Item is a part, a pole or contact of a part, or a wire.
type Item struct {
	Ref   string `json:"ref" help:"as --fault takes it"`
	Label string `json:"label" help:"in words"`
	Kind  string `json:"kind" help:"the part's kind in the netlist, or \"wire\""`
	Place string `json:"place,omitempty" help:"where on the machine"`
	// The rest is for wires.
	From   string `json:"from,omitempty" help:"terminal a wire starts at"`
	To     string `json:"to,omitempty" help:"terminal a wire ends at"`
	Colour string `json:"colour,omitempty" help:"a wire's IEC 60757 colour code"`
	Size   string `json:"size,omitempty" help:"a wire's size"`
	Ends   string `json:"ends,omitempty" help:"where a wire runs, in words"`
}

func (r namer) head(document string, q Question) Head {
	return Head{Document: document, Machine: r.machine(), Mode: r.mode(q.Mode), Faults: r.faults(q.Faults),
		Tripped: []Item{}, Chatters: []Item{}, ChattersBefore: []Item{}, Notes: append([]string{}, q.Notes...)}
}

func (r namer) machine() Machine {
	title := oneLine(r.c.Title())
	if title == "" {
		title = r.c.Name()
	}
	return Machine{Name: r.c.Name(), Title: title, Supply: r.supply()}
}

// supply tells the supply in the trade's words.
func (r namer) supply() string {
	s := r.c.Supply()
	return fmt.Sprintf("%s, %d wires", s.Words(), s.Wires)
}

func (r namer) mode(id circuit.ModeID) Mode {
	m := r.c.Mode(id)
	return Mode{Name: m.Name, Label: oneLine(m.Label), How: oneLine(circuit.LowerFirst(m.How))}
}

func (r namer) faults(list []circuit.Fault) []Fault {
	return each(list, func(f circuit.Fault) Fault { return Fault{Ref: r.c.FaultRef(f), Text: oneLine(r.c.Describe(f))} })
}

func (r namer) item(id circuit.BranchID) Item {
	b := r.c.Branch(id)
	it := Item{Ref: b.Ref, Label: r.label(id)}
	if b.Wire != circuit.None {
		w := r.c.Wire(b.Wire)
		it.Kind, it.Colour, it.Size = "wire", w.Colour, w.Size
		it.From, it.To = r.c.Terminal(w.From).Ref, r.c.Terminal(w.To).Ref
		it.Ends = r.place(w.From).Label + " to " + r.place(w.To).Label
		return it
	}
	p := r.c.Part(b.Part)
	it.Kind, it.Place = p.Kind.String(), oneLine(p.Place)
	return it
}

func (r namer) items(ids []circuit.BranchID) []Item { return each(ids, r.item) }

func (r namer) label(id circuit.BranchID) string { return oneLine(r.c.Label(id)) }

// conductor names a supply conductor.
func (r namer) conductor(source circuit.BranchID) string {
	if source == circuit.None {
		return ""
	}
	return r.c.Branch(source).Name
}

// firstTrue compares so that what is true comes first.
func firstTrue(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return -1
	}
	return 1
}

// at is where an item is: its place, or a wire's ends.
func (it Item) at() string {
	if it.Place == "" {
		return it.Ends
	}
	return it.Place
}

// plain makes text that is kept in a document free of hard spaces.
func plain(s string) string { return strings.ReplaceAll(s, hard, " ") }

// oneLine lays out text that may hold line ends as one line.
func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// partsAndWires lists items, wires apart and by their names alone.
func partsAndWires(items []Item) string {
	var parts, wires []string
	for _, it := range items {
		if it.Kind == "wire" {
			wires = append(wires, it.Ref)
		} else {
			parts = append(parts, it.Label)
		}
	}
	var out []string
	if len(parts) > 0 {
		out = append(out, strings.Join(parts, ", "))
	}
	switch len(wires) {
	case 0:
	case 1:
		out = append(out, "wire"+hard+wires[0])
	default:
		out = append(out, "wires"+hard+strings.Join(wires, ", "))
	}
	return strings.Join(out, "; ")
}

func parts(items []Item) []Item {
	return slices.DeleteFunc(slices.Clone(items), func(it Item) bool { return it.Kind == "wire" })
}

// wires lists the wires among items, but for one.
func wires(items []Item, but Item) []Item {
	return slices.DeleteFunc(slices.Clone(items), func(it Item) bool { return it.Kind != "wire" || it == but })
}

// each makes something of each thing of a list.
func each[T, U any](list []T, of func(T) U) []U {
	out := make([]U, 0, len(list))
	for _, x := range list {
		out = append(out, of(x))
	}
	return out
}

func labels(items []Item) []string { return each(items, func(it Item) string { return it.Label }) }

func names(list []Named) []string { return each(list, func(n Named) string { return n.Label }) }

// wireLook tells a wire's colour and size.
func wireLook(it Item) string {
	return strings.TrimSpace(it.Colour + " " + strings.ReplaceAll(it.Size, " ", hard))
}

func volts(v float64) string { return fmt.Sprintf("%.1f", positive(v)) }
func amps(a float64) string  { return fmt.Sprintf("%.2f", positive(a)) }

// watts gives small powers a decimal.
func watts(w float64) string {
	if w = positive(w); w < 9.95 && w >= 0.05 {
		return fmt.Sprintf("%.1f", w)
	}
	return fmt.Sprintf("%.0f", w)
}

func ohms(o float64) string {
	if math.IsInf(o, 0) {
		return "open"
	}
	o = positive(o)
	switch {
	case o >= 1e6:
		return fmt.Sprintf("%.4g%smegohms", o/1e6, hard)
	case o >= 1e4:
		return fmt.Sprintf("%.4g%skilohms", o/1e3, hard)
	}
	return fmt.Sprintf("%.4g%sohms", o, hard)
}

func percent(share float64) string { return fmt.Sprintf("%.0f%s%%", positive(100*share), hard) }

// positive drops the sign of what rounds to nothing.
func positive(v float64) float64 {
	if math.Abs(v) < 1e-6 {
		return 0
	}
	return v
}

// round keeps the figures of a document free of rounding noise.
func round(v float64) float64 {
	r := math.Round(v*1e4) / 1e4
	if r == 0 || math.IsNaN(r) {
		return 0
	}
	return r
}

// count writes a number with its noun.
func count(n int, one, many string) string {
	if n == 1 {
		return "1" + hard + one
	}
	return fmt.Sprintf("%d%s%s", n, hard, many)
}
