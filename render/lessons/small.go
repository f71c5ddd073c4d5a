package lessons

import (
	"fmt"
	"strings"

	"legtrace/circuit"
)

// smallCircuit is the one that every page states: ratings whose ohms come out
// even, on a supply without resistance.
func smallCircuit() (*circuit.Circuit, error) {
	none := 0.0
	part := func(kind, name string, volts, watts float64) circuit.PartSpec {
		return circuit.PartSpec{Kind: kind, Name: name, Volts: volts, Watts: watts}
	}
	relay := part("relay", "relay", 120, 4)
	relay.Contact = "no"
	wire := func(name, from, to string) circuit.WireSpec { return circuit.WireSpec{Name: name, From: from, To: to} }
	c, problems := circuit.Build(circuit.Spec{
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
	})
	if c == nil {
		return nil, fmt.Errorf("the small circuit: %v", problems)
	}
	return c, nil
}

// statement tells what the circuit is: its loads with their ratings, and its
// wires in one line each.
func (s *subject) statement() string {
	var b strings.Builder
	supply := s.c.Supply()
	b.WriteString(fill(fmt.Sprintf("%.0f V between the legs, a supply without resistance of its own. Loads:", supply.Volts)) + "\n")
	var rows [][]string
	for _, id := range s.c.Loads() {
		br := s.c.Branch(id)
		rows = append(rows, []string{s.c.Label(id), fmt.Sprintf("%.0f", br.Volts), fmt.Sprintf("%.0f", br.Watts), fmt.Sprintf("%.0f", real(br.Z))})
	}
	b.WriteString(table([]string{"load", "volts", "watts", "ohms"}, rows))
	var joins []string
	for i := range s.c.Wires() {
		w := s.c.Wire(circuit.WireID(i))
		joins = append(joins, s.c.Terminal(w.From).Ref+" to "+s.c.Terminal(w.To).Ref)
	}
	b.WriteString("\n" + fill("Wires: "+strings.Join(joins, "; ")+"."))
	return b.String()
}
