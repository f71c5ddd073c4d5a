package report

import (
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// MeterOptions set up the instrument and the conditions of a reading.
type MeterOptions struct {
	// Instrument is the meter; its zero value means the default one.
	Instrument meter.Instrument
	// Exact leaves out part tolerances and the supply's range: an interval is
	// then the instrument's own error.
	Exact bool
	// Celsius is the temperature of sensors measured with the supply removed;
	// nil means a room's.
	Celsius *float64
}

// Meter tells the instrument that readings are for.
type Meter struct {
	Name           string  `json:"name" help:"what kind of instrument"`
	InputOhms      float64 `json:"input_ohms" help:"input resistance on AC volts"`
	LowZOhms       float64 `json:"low_impedance_ohms" help:"input resistance of the low-impedance function"`
	ContinuityOhms float64 `json:"continuity_ohms" help:"continuity sounds below this"`
	Volts          string  `json:"volts_accuracy" help:"per cent of reading plus counts"`
	Ohms           string  `json:"ohms_accuracy" help:"per cent of reading plus counts"`
	Amps           string  `json:"amps_accuracy" help:"per cent of reading plus counts"`
}

// Shown is what the meter shows, with the reasons for its width.
type Shown struct {
	Shows    string   `json:"shows" help:"the nominal reading, in words: \"240 V\", \"OL\", \"floating, 0 to 60 V\""`
	Range    string   `json:"range" help:"the interval that is to be expected, in words"`
	Value    *float64 `json:"value" help:"nominal; null when open or floating, or where it jumps"`
	Low      *float64 `json:"low" help:"lower end; null when open"`
	High     *float64 `json:"high" help:"upper end; null when open, or without end"`
	Unit     string   `json:"unit" help:"V, ohms or A"`
	OL       bool     `json:"ol" help:"beyond the meter's range: open"`
	Unsteady bool     `json:"unsteady" help:"stray voltage on a floating conductor: it wanders and means nothing"`
	Jumps    bool     `json:"jumps" help:"relays chatter, and it goes back and forth between low and high"`
	Beeps    string   `json:"beeps,omitempty" help:"for continuity: yes, no, or maybe"`
	Why      []string `json:"why" help:"what makes the interval as wide as it is"`
}

// Probe is a place to put a probe.
type Probe struct {
	Terminal string   `json:"terminal" help:"part and terminal"`
	Point    string   `json:"point,omitempty" help:"the test point's name, where one is listed"`
	Label    string   `json:"label" help:"in words"`
	Part     string   `json:"part" help:"the part it is on, in words"`
	Place    string   `json:"place,omitempty" help:"where on the machine"`
	Wires    []string `json:"wires" help:"wires that land there"`
	Colours  []string `json:"colours" help:"their IEC 60757 colour codes, in the same order; empty where not given"`
}

// Lift is a lead to take off before a reading.
type Lift struct {
	At    string `json:"at" help:"terminal to take it off"`
	Wires []Item `json:"wires" help:"what to take off"`
}

// functionWords name the meter's functions in a sentence.
var functionWords = map[meter.Function]string{
	meter.Volts: "AC volts", meter.LowZVolts: "AC volts, low-impedance input",
	meter.Ohms: "ohms", meter.Continuity: "continuity", meter.Amps: "clamp, AC amps",
}

// newBench makes a bench as the options have it.
func (r namer) newBench(opt MeterOptions) (*meter.Bench, error) {
	in := opt.Instrument
	if in == (meter.Instrument{}) {
		in = meter.DefaultInstrument()
	}
	if err := in.Check(); err != nil {
		return nil, err
	}
	b := meter.New(r.c, in)
	b.Tolerances = !opt.Exact
	if opt.Celsius == nil {
		return b, nil
	}
	for i := range r.c.Branches() {
		br := r.c.Branch(circuit.BranchID(i))
		if br.Sensor == nil {
			continue
		}
		if _, err := br.Sensor.Ohms(*opt.Celsius); err != nil {
			return nil, fmt.Errorf("%s: %w", r.label(br.ID), err)
		}
	}
	b.Ambient = *opt.Celsius
	return b, nil
}

func instrument(in meter.Instrument) Meter {
	class := func(a meter.Accuracy) string { return fmt.Sprintf("%.3g %% + %.3g", a.Percent, a.Counts) }
	return Meter{Name: in.Name, InputOhms: in.InputOhms, LowZOhms: in.LowZOhms, ContinuityOhms: in.ContinuityOhms,
		Volts: class(in.VoltsAcc), Ohms: class(in.OhmsAcc), Amps: class(in.AmpsAcc)}
}

// shown tells a reading.
func shown(b *meter.Bench, f meter.Function, r meter.Reading) Shown {
	d := Shown{Shows: r.String(), Range: r.Range(), Unit: r.Function.Unit(), OL: r.OL,
		Unsteady: r.Unsteady, Jumps: r.Jumps, Why: append([]string{}, r.Why...)}
	if f == meter.Continuity {
		d.Beeps = "maybe"
		if r.Beeps(b.Instrument) {
			d.Beeps = "yes"
		} else if r.Silent(b.Instrument) {
			d.Beeps = "no"
		}
	}
	if r.OL {
		return d
	}
	d.Low = new(round(r.Low))
	if !r.MaybeOL {
		d.High = new(round(r.High))
	}
	if !r.Unsteady && !r.Jumps {
		d.Value = new(round(r.Value))
	}
	return d
}

// sounds says what a continuity test gives.
func (s *Shown) sounds() string {
	return map[string]string{"yes": ", beeps", "no": ", silent", "maybe": ", may or may not beep"}[s.Beeps]
}

func (r namer) probe(t circuit.TerminalID) Probe {
	term := r.c.Terminal(t)
	d := Probe{Terminal: term.Ref, Place: oneLine(r.c.PlaceOf(t)), Wires: []string{}, Colours: []string{}}
	d.Part = oneLine(r.c.Part(term.Part).Label)
	d.Label = d.Part
	if term.Ref != circuit.ChassisName {
		d.Label += " " + term.Name
	}
	if p := r.c.PointAt(t); p != nil {
		d.Point = p.Name
		if p.Label != "" {
			d.Label = oneLine(p.Label)
		}
	}
	for _, w := range term.Wires {
		wire := r.c.Wire(w)
		d.Wires, d.Colours = append(d.Wires, wire.Name), append(d.Colours, wire.Colour)
	}
	return d
}

// name is what to type for a probe, and the shortest thing to call it.
func (p *Probe) name() string {
	if p.Point != "" {
		return p.Point
	}
	return p.Terminal
}

// mostWires is up to how many wires at a terminal are named one by one.
const mostWires = 3

// look tells the colours of the wires that land at a terminal, to find it by.
func (p *Probe) look() string {
	if len(p.Wires) == 0 {
		return ""
	}
	if len(p.Wires) <= mostWires {
		var out []string
		for i, w := range p.Wires {
			out = append(out, strings.TrimSpace(p.Colours[i]+hard+w))
		}
		return strings.Join(out, ", ")
	}
	seen := map[string]int{}
	var order []string
	for _, c := range p.Colours {
		if c == "" {
			c = "unmarked"
		}
		if seen[c] == 0 {
			order = append(order, c)
		}
		seen[c]++
	}
	var out []string
	for _, c := range order {
		out = append(out, fmt.Sprintf("%d%s%s", seen[c], hard, c))
	}
	return strings.Join(out, ", ") + " wires"
}

// Leads tells the colours of the wires that land at a terminal, as [Probe] has them.
func (r *Reporter) Leads(t circuit.TerminalID) string {
	p := r.probe(t)
	return p.look()
}

// where tells the terminal, the wires on it and the place.
func (p *Probe) where() string {
	var out []string
	if p.Label != p.Terminal {
		out = append(out, p.Label)
	}
	out = append(out, p.Terminal)
	if l := p.look(); l != "" {
		out = append(out, l)
	}
	if p.Place != "" {
		out = append(out, p.Place)
	}
	return strings.Join(out, "; ")
}

func (r namer) liftOf(at circuit.TerminalID, wires []circuit.WireID) *Lift {
	if at == circuit.None || len(wires) == 0 {
		return nil
	}
	d := &Lift{At: r.c.Terminal(at).Ref, Wires: []Item{}}
	for _, w := range wires {
		for _, end := range [2]circuit.TerminalID{r.c.Wire(w).From, r.c.Wire(w).To} { // of a part with both ends free
			if w := r.c.Wire(w); w.From != at && w.To != at && r.c.Terminal(end).Part == r.c.Terminal(at).Part && !strings.Contains(d.At, r.c.Terminal(end).Ref) {
				d.At += " and " + r.c.Terminal(end).Ref
			}
		}
		d.Wires = append(d.Wires, r.item(r.c.Wire(w).Branch))
	}
	return d
}

// sentence says what to take off: "wire w13 (BKRD) at thermal_fuse.2".
func (l *Lift) sentence() string {
	var out []string
	for _, w := range l.Wires {
		s := w.Ref
		if w.Colour != "" {
			s += hard + "(" + w.Colour + ")"
		}
		out = append(out, s)
	}
	word := "wire"
	if len(out) > 1 {
		word = "wires"
	}
	return word + hard + circuit.List(out) + " at " + l.At
}

// AskProbe finds the terminal that a test point's name, or "part.terminal",
// stands for, and tells the points there are where nothing is near.
func (r namer) AskProbe(name string) (circuit.TerminalID, error) {
	t, err := r.c.FindPlace(name)
	if unknown := (*circuit.UnknownNameError)(nil); errors.As(err, &unknown) && unknown.Nearest() == "" {
		err = fmt.Errorf("%w (test points: %s)", err, few(each(r.c.Points(), func(p circuit.Point) string { return p.Name })))
	}
	return t, err
}

// AskWires finds the wires that a clamp goes around.
func (r namer) AskWires(names []string) ([]circuit.BranchID, error) {
	var out []circuit.BranchID
	for _, name := range names {
		id, err := r.c.FindWire(name)
		if _, noPart := r.c.FindPart(name); err != nil && noPart == nil {
			return nil, fmt.Errorf("a clamp goes around a wire, and %q is a part", name)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, r.c.Wire(id).Branch)
	}
	return out, nil
}

// ProbeNames lists what a person may type for a probe: test points, then
// terminals.
func (r namer) ProbeNames() []Name {
	var out []Name
	for _, p := range r.c.Points() {
		out = append(out, Name{p.Name, oneLine(p.Label)})
	}
	for _, t := range r.c.Terminals() {
		out = append(out, Name{t.Ref, oneLine(r.c.Part(t.Part).Label) + " " + t.Name})
	}
	return out
}

// WireNames lists the wires.
func (r namer) WireNames() []Name {
	return each(r.c.Wires(), func(w circuit.Wire) Name { return Name{w.Name, oneLine(r.c.DescribeWire(w.ID))} })
}
