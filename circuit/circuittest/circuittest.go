// Package circuittest makes machines for tests.
//
// Start with [SplitPhase] or [SinglePhase] for a machine written by hand, with
// [Random] for small machines of every shape, and with [SeriesParallel] for
// machines of a given size. [Build] turns any of them into a circuit.
package circuittest

import (
	"os"
	"strings"
	"testing"

	"legtrace/circuit"
)

// Nightly says that all is gone through of what the usual run takes a sample of.
var Nightly = os.Getenv("LEGTRACE_NIGHTLY") != ""

// Sampled says whether a run takes the i-th of many: the usual one every n-th, the
// nightly one all; a short one has its own choice.
func Sampled(i, n int) bool { return Nightly || testing.Short() || i%n == 0 }

// Build builds the spec and fails the test where it is refused.
func Build(t testing.TB, spec circuit.Spec) *circuit.Circuit {
	t.Helper()
	c, problems := circuit.Build(spec)
	if c == nil {
		var said []string
		for _, p := range problems {
			said = append(said, p.String())
		}
		t.Fatalf("the machine is refused:\n%s", strings.Join(said, "\n"))
	}
	return c
}

// Faults reads faults, each as [circuit.Circuit.ParseFault] does.
func Faults(t testing.TB, c *circuit.Circuit, refs ...string) []circuit.Fault {
	t.Helper()
	var out []circuit.Fault
	for _, ref := range refs {
		more, err := c.ParseFault(ref)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, more...)
	}
	return out
}

// Machine is a spec being written. Its methods return it, to be chained.
type Machine struct{ spec circuit.Spec }

// SplitPhase starts a machine on two legs of volts between them, four wires
// and a supply without resistance, so that figures can be worked by hand.
func SplitPhase(volts float64) *Machine { return start("split-phase", volts) }

// SinglePhase starts a machine on one leg of volts to neutral, as [SplitPhase].
func SinglePhase(volts float64) *Machine { return start("single-phase", volts) }

// Wye starts a machine on two legs of a three-phase service, volts between
// them, as [SplitPhase].
func Wye(volts float64) *Machine { return start("wye", volts) }

// Star starts a machine on three legs of volts between them, five wires and
// neutral at the star point, as [SplitPhase].
func Star(volts float64) *Machine { return start("star", volts) }

// Delta starts a machine on three legs of volts between them, five wires and
// neutral in the middle between L1 and L3, as [SplitPhase].
func Delta(volts float64) *Machine { return start("delta", volts) }

func start(system string, volts float64) *Machine {
	m := &Machine{circuit.Spec{Name: "machine", Supply: circuit.SupplySpec{System: system, Volts: volts}}}
	return m.SupplyOhms(0)
}

// SupplyOhms gives each supply conductor a resistance.
func (m *Machine) SupplyOhms(ohms float64) *Machine {
	none := 0.0
	m.spec.Supply.SourceOhms, m.spec.Supply.FeederOhms = &ohms, &none
	return m
}

// Part adds parts.
func (m *Machine) Part(parts ...circuit.PartSpec) *Machine {
	m.spec.Parts = append(m.spec.Parts, parts...)
	return m
}

// Load adds a rated load of the kind.
func (m *Machine) Load(kind, name string, volts, watts float64) *Machine {
	return m.Part(circuit.PartSpec{Kind: kind, Name: name, Volts: volts, Watts: watts})
}

// Resistor adds a resistor.
func (m *Machine) Resistor(name string, ohms float64) *Machine {
	return m.Part(circuit.PartSpec{Kind: "resistor", Name: name, Ohms: ohms})
}

// Switch adds a two-terminal switch, open at rest.
func (m *Machine) Switch(name string) *Machine {
	return m.Part(circuit.PartSpec{Kind: "switch", Name: name})
}

// Relay adds a relay with one contact of the form.
func (m *Machine) Relay(name, form string, volts, watts float64) *Machine {
	return m.Part(circuit.PartSpec{Kind: "relay", Name: name, Contact: form, Volts: volts, Watts: watts})
}

// Wire joins terminals to the first.
func (m *Machine) Wire(first string, others ...string) *Machine {
	for _, other := range others {
		m.spec.Wires = append(m.spec.Wires, circuit.WireSpec{From: first, To: other})
	}
	return m
}

// Series wires a chain. Each step is a terminal "part.terminal", a part that
// is entered at terminal 1 and left at 2, or "part:in>out", a part entered and
// left at the terminals named.
func (m *Machine) Series(steps ...string) *Machine {
	last := ""
	for _, step := range steps {
		enter, leave := step, step
		if part, ends, ok := strings.Cut(step, ":"); ok {
			in, out, _ := strings.Cut(ends, ">")
			enter, leave = part+"."+in, part+"."+out
		} else if !strings.Contains(step, ".") && step != circuit.ChassisName {
			enter, leave = step+".1", step+".2"
		}
		if last != "" {
			m.Wire(last, enter)
		}
		last = leave
	}
	return m
}

// Mode adds a mode that sets parts, given as name, position, name, position.
func (m *Machine) Mode(name string, set ...string) *Machine {
	s := circuit.ModeSpec{Name: name, Set: map[string]string{}}
	for i := 0; i+1 < len(set); i += 2 {
		s.Set[set[i]] = set[i+1]
	}
	return m.ModeSpec(s)
}

// ModeSpec adds a mode.
func (m *Machine) ModeSpec(s circuit.ModeSpec) *Machine {
	m.spec.Modes = append(m.spec.Modes, s)
	return m
}

// Spec returns what was written, with a mode "on" if none was.
func (m *Machine) Spec() circuit.Spec {
	if len(m.spec.Modes) == 0 {
		m.Mode("on")
	}
	return m.spec
}

// Build builds what was written.
func (m *Machine) Build(t testing.TB) *circuit.Circuit {
	t.Helper()
	return Build(t, m.Spec())
}
