package circuit

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Every kind, with its terminals and its branches at rest: "=" a join, a load
// or a closed contact, "/" an open one, "~" a drive.
var lowered = map[string]struct {
	spec      PartSpec
	terminals string
	branches  string
}{
	"terminal_block":     {PartSpec{Poles: []string{"a", "b"}}, "a.in a.out b.in b.out", "p.a= p.b="},
	"connector":          {PartSpec{}, "in out", "p="},
	"element":            {PartSpec{Volts: 240, Watts: 2400}, "1 2", "p="},
	"surface_element":    {PartSpec{Volts: 240, Watts: 2400}, "1 2", "p="},
	"lamp":               {PartSpec{Volts: 120, Watts: 40}, "1 2", "p="},
	"motor":              {PartSpec{Volts: 120, Watts: 200, StartOhms: 6}, "1 2 3", "p.main= p.start="},
	"fan":                {PartSpec{Volts: 120, Watts: 20}, "1 2", "p="},
	"solenoid":           {PartSpec{Volts: 120, Watts: 10}, "1 2", "p="},
	"transformer":        {PartSpec{Volts: 120, Watts: 40, SecondaryVolts: 24}, "P1 P2 S1 S2", "p.primary= p.secondary="},
	"resistor":           {PartSpec{Ohms: 10}, "1 2", "p="},
	"capacitor":          {PartSpec{Microfarads: 10}, "1 2", "p="},
	"switch":             {PartSpec{Poles: []string{"a", "b"}}, "a.1 a.2 b.1 b.2", "p.a/ p.b/"},
	"push_switch":        {PartSpec{Rest: "closed"}, "1 2", "p="},
	"selector":           {PartSpec{Positions: []string{"off", "on"}, Chart: map[string][][]string{"on": {{"L", "1", "2"}}}}, "L 1 2", "p.L-1/ p.L-2/"},
	"cycling_switch":     {PartSpec{}, "L1 H1 L2 H2 P", "p.L1-H1/ p.L2-H2/ p.L2-P/"},
	"thermostat":         {PartSpec{Contact: "changeover"}, "com nc no", "p.nc= p.no/"},
	"limit":              {PartSpec{}, "1 2", "p="},
	"thermal_fuse":       {PartSpec{}, "1 2", "p="},
	"fuse":               {PartSpec{Amps: 10}, "1 2", "p="},
	"breaker":            {PartSpec{Poles: []string{"L1", "L2"}, Amps: 40}, "L1.in L1.out L2.in L2.out", "p.L1= p.L2="},
	"rcd":                {PartSpec{Poles: []string{"L1", "N"}, ResidualAmps: 0.03}, "L1.in L1.out N.in N.out", "p.L1= p.N="},
	"node":               {PartSpec{}, "", ""},
	"relay":              {PartSpec{Volts: 120, Watts: 2, Contacts: map[string]string{"b": "nc", "a": "changeover"}}, "A1 A2 a.com a.nc a.no b.com b.nc", "p.coil= p.a.nc= p.a.no/ p.b="},
	"centrifugal_switch": {PartSpec{DrivenBy: "drum", Contact: "changeover"}, "com nc no", "p.nc= p.no/"},
	"door_switch":        {PartSpec{Rest: "closed"}, "1 2", "p="},
	"latch":              {PartSpec{Volts: 120, Watts: 5}, "M1 M2 1 2", "p.motor= p.1-2/"},
	"sensor":             {PartSpec{Curve: "ntc", OhmsAt: 10000, Beta: 3950}, "1 2", "p="},
	"control":            {PartSpec{Volts: 120, Watts: 5, Senses: []SenseSpec{{Name: "s", Pins: []string{"A", "B"}, MaxOhms: 10}}}, "L N A B", "p="},
}

func TestEveryKindLowers(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(kind.String(), func(t *testing.T) {
			want, known := lowered[kind.String()]
			if !known {
				t.Fatal("the kind is not in the table")
			}
			spec := Spec{Supply: SupplySpec{System: "split-phase"}, Modes: []ModeSpec{{Name: "off"}}, Parts: []PartSpec{
				{Name: "drum", Kind: "motor", Volts: 120, Watts: 200}}}
			p := want.spec
			p.Name, p.Kind = "p", kind.String()
			spec.Parts = append(spec.Parts, p)
			spec.Wires = append(spec.Wires, WireSpec{From: "drum.1", To: "supply.L1"}, WireSpec{From: "drum.2", To: "supply.N"})
			for _, name := range strings.Fields(want.terminals) {
				spec.Wires = append(spec.Wires, WireSpec{From: "p." + name, To: "supply.L1"})
			}
			if kind == KindNode {
				spec.Wires = append(spec.Wires, WireSpec{From: "p", To: "supply.L1"})
			}
			c, problems := Build(spec)
			if c == nil {
				t.Fatal(said(problems))
			}
			terminals, branches := described(c, "p")
			if diff := cmp.Diff([2]string{want.terminals, want.branches}, [2]string{terminals, branches}); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func described(c *Circuit, name string) (terminals, branches string) {
	id, _ := c.FindPart(name)
	p := c.Part(id)
	var ts, bs []string
	for _, t := range p.Terminals {
		ts = append(ts, c.Terminal(t).Name)
	}
	for _, id := range p.Branches {
		b := c.Branch(id)
		mark := "="
		switch {
		case b.Role == Drive:
			mark = "~"
		case b.Role != Contact:
		case b.Rule.Actuator == ByPosition && !b.Rule.Closed[p.Rest], b.Rule.Actuator != ByPosition && !b.Rule.NormallyClosed:
			mark = "/"
		}
		bs = append(bs, b.Ref+mark)
	}
	return strings.Join(ts, " "), strings.Join(bs, " ")
}

// A load's impedance takes its rated watts at its rated volts: 240 V 2400 W is
// 24 ohms; 120 V 120 W at power factor 0.6 is 72 ohms at 53.13 degrees,
// 43.2 + j57.6; 10 uF at 60 Hz is -j265.26 (derived).
func TestImpedances(t *testing.T) {
	spec := oven()
	add(&spec, PartSpec{Name: "fan", Kind: "fan", Volts: 120, Watts: 120, PowerFactor: 0.6}, "1", "2")
	add(&spec, PartSpec{Name: "cap", Kind: "capacitor", Microfarads: 10}, "1", "2")
	c, problems := Build(spec)
	if c == nil {
		t.Fatal(said(problems))
	}
	got := map[string]string{}
	for _, ref := range []string{"bake", "fan", "cap"} {
		id, err := c.FindBranch(ref)
		if err != nil {
			t.Fatal(err)
		}
		got[ref] = fmt.Sprintf("%.2f", c.Branch(id).Z)
	}
	want := map[string]string{"bake": "(24.00+0.00i)", "fan": "(43.20+57.60i)", "cap": "(0.00-265.26i)"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestSupplies(t *testing.T) {
	type conductor struct{ Name, EMF string }
	want := map[string][]conductor{
		"split-phase 0":    {{"supply.L1", "(120.00+0.00i)"}, {"supply.L2", "(-120.00+0.00i)"}, {"supply.N", "(0.00+0.00i)"}, {"supply.G", "(0.00+0.00i)"}},
		"split-phase 3":    {{"supply.L1", "(120.00+0.00i)"}, {"supply.L2", "(-120.00+0.00i)"}, {"supply.N", "(0.00+0.00i)"}},
		"wye 4":            {{"supply.L1", "(120.09+0.00i)"}, {"supply.L2", "(-60.04-104.00i)"}, {"supply.N", "(0.00+0.00i)"}, {"supply.G", "(0.00+0.00i)"}},
		"single-phase 0":   {{"supply.L1", "(120.00+0.00i)"}, {"supply.N", "(0.00+0.00i)"}, {"supply.G", "(0.00+0.00i)"}},
		"single-phase 2":   {{"supply.L1", "(120.00+0.00i)"}, {"supply.N", "(0.00+0.00i)"}},
		"single-phase 230": {{"supply.L1", "(230.00+0.00i)"}, {"supply.N", "(0.00+0.00i)"}, {"supply.G", "(0.00+0.00i)"}},
	}
	got := map[string][]conductor{}
	for name := range want {
		system, figure, _ := strings.Cut(name, " ")
		s := SupplySpec{System: system}
		if figure == "230" {
			s.Volts = 230
		} else {
			s.Wires = int(figure[0] - '0')
		}
		c, problems := Build(Spec{Supply: s, Modes: []ModeSpec{{Name: "off"}}})
		if c == nil {
			t.Fatal(said(problems))
		}
		for _, b := range c.Branches() {
			got[name] = append(got[name], conductor{b.Ref, fmt.Sprintf("%.2f", b.EMF)})
			if b.Ohms != DefaultSourceOhms+DefaultFeederOhms {
				t.Errorf("%s has %g ohms", b.Ref, b.Ohms)
			}
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestNamesAreFound(t *testing.T) {
	c := ovenCircuit(t)
	type answer struct{ Ref, Err string }
	got := map[string]answer{}
	note := func(what, ref string, err error) {
		a := answer{Ref: ref}
		if err != nil {
			a.Err = err.Error()
		}
		got[what] = a
	}
	branch := func(id BranchID, err error) (string, error) {
		if err != nil {
			return "", err
		}
		return c.Branch(id).Ref, nil
	}
	for what, find := range map[string]func() (string, error){
		"load":            func() (string, error) { return branch(c.FindLoad("bake")) },
		"no load":         func() (string, error) { return branch(c.FindLoad("sensor")) },
		"branch":          func() (string, error) { return branch(c.FindBranch("relay.contact")) },
		"part of several": func() (string, error) { return branch(c.FindBranch("breaker")) },
		"part of one":     func() (string, error) { return branch(c.FindBranch("knob")) },
		"wire":            func() (string, error) { id, err := c.FindWire("w3"); return c.DescribeWire(id), err },
		"mode":            func() (string, error) { id, err := c.FindMode("bake"); return c.Mode(id).Label, err },
		"terminal":        func() (string, error) { id, err := c.FindTerminal("chassis"); return c.Terminal(id).Ref, err },
	} {
		ref, err := find()
		note(what, ref, err)
	}
	want := map[string]answer{
		"load": {Ref: "bake"}, "no load": {Err: `unknown load "sensor"`},
		"branch": {Ref: "relay.contact"}, "part of several": {Err: `"breaker" has several: breaker.L1, breaker.L2`},
		"part of one": {Ref: "knob.L-1"}, "wire": {Ref: "breaker L1 (load side) to relay com (BK, 12 AWG)"},
		"mode": {Ref: "Bake"}, "terminal": {Ref: "chassis"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
