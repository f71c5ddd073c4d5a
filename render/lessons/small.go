package lessons

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// smallSpec is the circuit that every page states: ratings whose ohms come out
// even, on a supply without resistance.
func smallSpec() circuit.Spec {
	none := 0.0
	part := func(kind, name string, volts, watts float64) circuit.PartSpec {
		return circuit.PartSpec{Kind: kind, Name: name, Volts: volts, Watts: watts}
	}
	relay := part("relay", "relay", 120, 4)
	relay.Contact = "no"
	return circuit.Spec{
		Name: "small", Title: "A small circuit",
		Supply: circuit.SupplySpec{System: "split-phase", Volts: 240, SourceOhms: &none, FeederOhms: &none},
		Parts: []circuit.PartSpec{
			{Kind: "thermal_fuse", Name: "fuse"}, relay, part("element", "element", 240, 2400), {Kind: "limit", Name: "limit"},
			{Kind: "switch", Name: "call"}, part("lamp", "indicator", 240, 10),
			part("lamp", "lamp", 120, 60), part("element", "warmer", 120, 600),
			{Kind: "terminal_block", Name: "block", Poles: []string{"L1", "L2", "N"}},
		},
		Wires: []circuit.WireSpec{
			wire("w1", "supply.L1", "block.L1.in"), wire("w2", "supply.L2", "block.L2.in"), wire("w3", "supply.N", "block.N.in"), wire("w4", "supply.G", "chassis"),
			wire("w5", "block.L1.out", "fuse.1"), wire("w6", "fuse.2", "relay.com"), wire("w7", "relay.no", "element.1"),
			wire("w8", "block.L2.out", "limit.1"), wire("w9", "limit.2", "element.2"),
			wire("w10", "block.L1.out", "call.1"), wire("w11", "call.2", "relay.A1"), wire("w12", "relay.A2", "block.N.out"),
			wire("w13", "element.1", "indicator.1"), wire("w14", "indicator.2", "element.2"),
			wire("w15", "block.L1.out", "lamp.1"), wire("w16", "lamp.2", "block.N.out"),
			wire("w17", "block.L2.out", "warmer.1"), wire("w18", "warmer.2", "block.N.out"),
		},
		Modes: []circuit.ModeSpec{
			{Name: "off", Label: "Off"},
			{Name: "heat", Label: "Heat", Set: map[string]string{"call": "closed"}},
		},
	}
}

func wire(name, from, to string) circuit.WireSpec {
	return circuit.WireSpec{Name: name, From: from, To: to}
}

// onBoard has a control drive the relay: it must see its sensor first, and gets
// its own supply through a fuse.
func onBoard(s *circuit.Spec) {
	s.Parts = slices.DeleteFunc(s.Parts, func(p circuit.PartSpec) bool { return p.Name == "relay" || p.Name == "call" })
	s.Parts = append(s.Parts,
		circuit.PartSpec{Kind: "relay", Name: "relay", DrivenBy: "board", Contact: "no"},
		circuit.PartSpec{Kind: "control", Name: "board", Volts: 120, Watts: 6, MinVolts: 90,
			Senses: []circuit.SenseSpec{{Name: "temperature", Pins: []string{"S1", "S2"}, MinOhms: 900, MaxOhms: 2900}}},
		circuit.PartSpec{Kind: "sensor", Name: "sensor", Curve: "pt3850", OhmsAt: 1000},
		circuit.PartSpec{Kind: "fuse", Name: "board_fuse", Amps: 3})
	s.Wires = slices.DeleteFunc(s.Wires, func(w circuit.WireSpec) bool { return w.Name == "w10" || w.Name == "w11" || w.Name == "w12" })
	s.Wires = append(s.Wires, wire("w10", "block.L1.out", "board_fuse.1"), wire("w11", "board_fuse.2", "board.L"), wire("w12", "board.N", "block.N.out"),
		wire("w19", "board.S1", "sensor.1"), wire("w20", "sensor.2", "board.S2"))
	s.Modes[1].Set, s.Modes[1].Drives = nil, []string{"relay"}
}

// fused puts a breaker of 20 A ahead of it all.
func fused(s *circuit.Spec) {
	s.Parts = append(s.Parts, circuit.PartSpec{Kind: "breaker", Name: "breaker", Poles: []string{"L1", "L2"}, Amps: 20})
	ohms := 0.05
	s.Supply.SourceOhms = &ohms
	for i := range s.Wires {
		switch s.Wires[i].Name {
		case "w1":
			s.Wires[i].From = "breaker.L1.out"
		case "w2":
			s.Wires[i].From = "breaker.L2.out"
		}
	}
	s.Wires = append(s.Wires, wire("w19", "supply.L1", "breaker.L1.in"), wire("w20", "supply.L2", "breaker.L2.in"))
}

// placed says where its parts are, and what is in front of them.
func placed(s *circuit.Spec) {
	for _, p := range s.Parts {
		if p.Kind == "relay" {
			s.Points = append(s.Points, circuit.PointSpec{Name: "relay_com", At: "relay.com", Place: "front, behind the cover", Minutes: 3},
				circuit.PointSpec{Name: "relay_no", At: "relay.no", Place: "front, behind the cover", Minutes: 3})
			continue
		}
		if p.Kind == "limit" || p.Kind == "thermal_fuse" || p.Kind == "element" {
			for _, end := range []string{"1", "2"} {
				s.Points = append(s.Points, circuit.PointSpec{Name: p.Name + "_" + end, At: p.Name + "." + end, Place: "back, behind the panel", Minutes: 6})
			}
		}
	}
}

func smallSubject(change func(*circuit.Spec)) (*subject, error) {
	spec := smallSpec()
	if change != nil {
		change(&spec)
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		return nil, fmt.Errorf("the small circuit: %v", problems)
	}
	return newSubject(c)
}

// statement tells what the circuit is: its loads with their ratings, and its
// wires in one line each. Each lesson asks about another load.
func (s *subject) statement(lesson int) Step {
	supply := s.c.Supply()
	resistance := "a supply without resistance of its own"
	if ohms := s.c.Branch(supply.Legs[0]).Ohms; ohms > 0 {
		resistance = fmt.Sprintf("%.2f ohms in each conductor of the supply", ohms)
	}
	out := Step{Say: fmt.Sprintf("%.0f V between the legs, %s. Loads:", supply.Volts, resistance), Head: []string{"load", "volts", "watts", "ohms"}}
	for _, id := range s.c.Loads() {
		br := s.c.Branch(id)
		out.Rows = append(out.Rows, Row{[]string{s.c.Label(id), fmt.Sprintf("%.0f", br.Volts), fmt.Sprintf("%.0f", br.Watts), fmt.Sprintf("%.0f", real(br.Z))}, s.across(s.show(s.busy, id), id)})
	}
	var joins []string
	for i := range s.c.Wires() {
		w := s.c.Wire(circuit.WireID(i))
		joins = append(joins, s.c.Terminal(w.From).Ref+" to "+s.c.Terminal(w.To).Ref)
	}
	loads := s.c.Loads()
	br := s.c.Branch(loads[lesson%len(loads)])
	out.Ask = fmt.Sprintf("How many amps does the %s draw on its %.0f V, and do its ohms agree?", s.label(br.ID), br.Volts)
	out.Answer = fmt.Sprintf("%.0f W over %.0f V are %.3g A; %.0f V over %.0f ohms are %.3g A.", br.Watts, br.Volts, br.Watts/br.Volts, br.Volts, real(br.Z), br.Volts/real(br.Z))
	out.Undrawn = "Wires: " + strings.Join(joins, "; ") + "."
	return out
}

// drawing is the feed of a part's load, as a line diagram for a terminal.
func (p *Part) drawing(ctx context.Context) (string, error) {
	s, _, err := report.New(p.Circuit).Strip(ctx, report.Question{Mode: p.Mode, Load: p.Load}, report.DrawingOptions{})
	if err != nil {
		return "", err
	}
	s.Cautions, s.Notes, s.Marks = nil, nil, nil
	var b bytes.Buffer
	err = schematic.WriteStripText(&b, s, schematic.Unicode)
	return b.String(), err
}

// SVG draws a part's circuit alone, the feed of its load emphasised.
func (p *Part) SVG(ctx context.Context, theme schematic.Theme) ([]byte, error) {
	d, _, err := report.New(p.Circuit).Drawing(ctx, report.Question{Mode: p.Mode, Load: p.Load}, schematic.Customary)
	if err != nil {
		return nil, err
	}
	d.Cautions, d.Notes, d.Marks, d.Theme = nil, nil, nil, theme
	var b bytes.Buffer
	err = schematic.RenderBare(ctx, &b, d)
	return b.Bytes(), err
}

// foretell is an exercise: what a meter shows on the small circuit with a fault
// in it, and why.
type foretell struct {
	mode, fault string // fault may be empty
	function    string
	p, q        string
	why         string
}

// exercise works one out.
func (s *subject) exercise(f foretell) (Exercise, error) {
	var faults []circuit.Fault
	state := []string{"everything sound"}
	if f.fault != "" {
		var err error
		if faults, err = s.c.ParseFault(f.fault); err != nil {
			return Exercise{}, err
		}
		state = nil
		for _, one := range faults {
			state = append(state, s.says(one))
		}
	}
	mode, err := s.c.FindMode(f.mode)
	if err != nil {
		return Exercise{}, err
	}
	function, err := meter.ParseFunction(f.function)
	if err != nil {
		return Exercise{}, err
	}
	p, err := s.c.FindTerminal(f.p)
	if err != nil {
		return Exercise{}, err
	}
	q, err := s.c.FindTerminal(f.q)
	if err != nil {
		return Exercise{}, err
	}
	read := func(faults []circuit.Fault) (string, error) {
		run := s.bench.Dead
		if function.Live() {
			run = s.bench.Live
		}
		o, err := run(mode, faults)
		if err != nil {
			return "", err
		}
		r, err := s.bench.Read(o, function, p, q)
		if function == meter.Continuity {
			return r.String() + map[bool]string{true: ", beeps", false: ", silent"}[r.Beeps(s.bench.Instrument)], err
		}
		return r.String(), err
	}
	got, err := read(faults)
	if err != nil {
		return Exercise{}, err
	}
	show := s.probed(s.show(mode, circuit.None, faults...), function, p, q)
	show.Small = true
	e := Exercise{Show: show, Ask: fmt.Sprintf("The small circuit in %s, %s: what does %s show from %s to %s, and why?", s.mode(mode), strings.Join(state, " and "), said[function], s.c.PlaceLabel(p), s.c.PlaceLabel(q)),
		Answer: got + ". " + f.why}
	if len(faults) > 0 {
		sound, err := read(nil)
		if err != nil {
			return Exercise{}, err
		}
		e.Answer = fmt.Sprintf("%s; sound, %s. %s", got, sound, f.why)
	}
	return e, nil
}

// said is what a meter is set to, in a sentence.
var said = map[meter.Function]string{
	meter.Volts: "a voltmeter", meter.LowZVolts: "a voltmeter on its low-impedance function",
	meter.Ohms: "an ohmmeter, supply off,", meter.Continuity: "a continuity tester, supply off,",
}
