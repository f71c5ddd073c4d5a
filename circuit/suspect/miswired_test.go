package suspect_test

import (
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// twoHeats has a bake and a broil element behind one selector, whose wires land
// at the terminals given.
func twoHeats(t testing.TB, bake, broil string) *circuit.Circuit {
	m := circuittest.SplitPhase(240).Load("element", "bake_element", 240, 2500).Load("element", "broil_element", 240, 3000).
		Part(circuit.PartSpec{Name: "selector", Kind: "selector", Positions: []string{"off", "bake", "broil"},
			Chart: map[string][][]string{"bake": {{"L1", "1"}, {"L2", "C"}}, "broil": {{"L1", "2"}, {"L2", "C"}}}})
	m.Wire("supply.L1", "selector.L1").Wire("supply.L2", "selector.L2").Wire("selector."+bake, "bake_element.1").Wire("selector."+broil, "broil_element.1")
	m.Wire("selector.C", "bake_element.2").Wire("selector.C", "broil_element.2")
	return m.Mode("off").Mode("bake", "selector", "bake").Mode("broil", "selector", "broil").Build(t)
}

// After a new selector bake heats above and broil below: two of its wires are
// crossed. Nobody thinks of that where nothing was replaced.
func TestWiresCrossedAtTheNewPart(t *testing.T) {
	c := twoHeats(t, "1", "2")
	seen := []suspect.Note{{Mode: "bake", Load: "bake_element", State: "dead"}, {Mode: "bake", Load: "broil_element", State: "stays on"}, {Mode: "broil", Load: "bake_element", State: "stays on"}}
	crossed := func(e *suspect.Engine) (p float64, faults []circuit.Fault) {
		for _, s := range e.Suspects(100) {
			for _, k := range s.Causes {
				if strings.Contains(k.Members[0].Label, "crossed") {
					if p == 0 {
						faults = k.Members[0].Faults
					}
					p += s.P
				}
			}
		}
		return p, faults
	}
	if p, _ := crossed(engine(t, c, suspect.Options{}, seen...)); p != 0 {
		t.Errorf("nothing was replaced, and wires are crossed with %.2f", p)
	}
	for _, told := range []string{"replaced", "repair"} {
		p, faults := crossed(engine(t, c, suspect.Options{}, append(seen, suspect.Note{Told: told, Part: "selector"})...))
		if p < 0.5 {
			t.Errorf("%s: wires are crossed with %.2f", told, p)
			continue
		}
		// The machine reads as one whose netlist has them so.
		as := meter.New(twoHeats(t, "2", "1"), meter.DefaultInstrument())
		b := meter.New(c, meter.DefaultInstrument())
		for _, live := range []bool{true, false} {
			for mode := range c.Modes() {
				for p := range c.Terminals() {
					for q := range p {
						if got, want := reads(t, b, mode, faults, live, p, q), reads(t, as, mode, nil, live, p, q); got != want {
							t.Errorf("%s to %s in %s: %s, and %s as the netlist has it", c.Terminals()[p].Ref, c.Terminals()[q].Ref, c.Modes()[mode].Name, got, want)
						}
					}
				}
			}
		}
		for _, f := range faults {
			if back, err := c.ParseFault(c.FaultRef(f)); err != nil || back[0].Ends != f.Ends {
				t.Errorf("%s reads back as %v: %v", c.FaultRef(f), back, err)
			}
		}
	}
}

// What a repair of the visit itself crossed was not so before it, and is no more
// once that is mended too.
func TestWiresCrossedByTheRepair(t *testing.T) {
	c := twoHeats(t, "1", "2")
	e := engine(t, c, suspect.Options{}, suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}, suspect.Note{Mode: "broil", Load: "broil_element", State: "normal"})
	crossed := func(when string, least, most float64) (wires suspect.Mend) {
		p := 0.0
		for _, s := range e.Suspects(100) {
			for _, k := range s.Causes {
				if strings.Contains(k.Members[0].Label, "crossed") {
					p += s.P
					wires = suspect.Mend{k.Members[0].Faults[0].Branch, k.Members[0].Faults[1].Branch}
				}
			}
		}
		if p < least || p > most {
			t.Errorf("%s: wires are crossed with %.3f", when, p)
		}
		return wires
	}
	add := func(mended []suspect.Mend, notes ...suspect.Note) {
		for _, n := range notes {
			ev, err := n.Resolve(c)
			if err != nil {
				t.Fatal(err)
			}
			ev.Mended = mended
			tell(t, e, ev)
		}
	}
	crossed("before any repair", 0, 0)
	id, err := c.FindPart("selector")
	if err != nil {
		t.Fatal(err)
	}
	selector := suspect.Mend(c.Part(id).Branches)
	add([]suspect.Mend{selector}, suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}, suspect.Note{Mode: "bake", Load: "broil_element", State: "stays on"}, suspect.Note{Mode: "broil", Load: "bake_element", State: "stays on"})
	wires := crossed("behind a new selector", 0.8, 1)
	add([]suspect.Mend{selector, wires}, suspect.Note{Mode: "bake", Load: "bake_element", State: "normal"}, suspect.Note{Mode: "bake", Load: "broil_element", State: "off"})
	crossed("put back", 0, 0.02)
}

func reads(t testing.TB, b *meter.Bench, mode int, faults []circuit.Fault, live bool, p, q int) string {
	o, f := b.Dead, meter.Ohms
	if live {
		o, f = b.Live, meter.Volts
	}
	out, err := o(circuit.ModeID(mode), faults)
	if err != nil {
		t.Fatal(err)
	}
	return b.Quick(out, f, circuit.TerminalID(p), circuit.TerminalID(q)).Range()
}
