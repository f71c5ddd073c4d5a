package phasor_test

import (
	"math"
	"math/cmplx"
	"strconv"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
)

// resistors adds resistors written one a line as "name node-node ohms". Nodes
// named in rails are terminals; the others are places where resistors meet.
func resistors(m *circuittest.Machine, rails map[string]string, list string) *circuittest.Machine {
	at := map[string]string{}
	for node, terminal := range rails {
		at[node] = terminal
	}
	for _, line := range strings.Split(strings.TrimSpace(list), "\n") {
		f := strings.Fields(line)
		ohms, err := strconv.ParseFloat(f[2], 64)
		if err != nil {
			panic(err)
		}
		m.Resistor(f[0], ohms)
		for i, node := range strings.Split(f[1], "-") {
			terminal := f[0] + "." + strconv.Itoa(i+1)
			if at[node] == "" {
				at[node] = terminal
				continue
			}
			m.Wire(at[node], terminal)
		}
	}
	return m
}

// solved is a circuit solved with every contact closed.
type solved struct {
	c   *circuit.Circuit
	sol *phasor.Solution
}

// input is the condition of a machine with every contact closed.
func input(c *circuit.Circuit, faults ...circuit.Fault) phasor.Input {
	in := phasor.Input{Conducts: make([]bool, len(c.Branches())), Faults: faults}
	for i := range in.Conducts {
		in.Conducts[i] = true
	}
	for _, f := range faults {
		if f.Kind == circuit.Open {
			in.Conducts[f.Branch] = false
		}
	}
	return in
}

func solve(t testing.TB, c *circuit.Circuit, faults ...circuit.Fault) solved {
	t.Helper()
	sol, err := phasor.New(c).Solve(input(c, faults...))
	if err != nil {
		t.Fatal(err)
	}
	return solved{c, sol}
}

// fault reads one fault.
func fault(t testing.TB, c *circuit.Circuit, ref string) circuit.Fault {
	t.Helper()
	faults, err := c.ParseFault(ref)
	if err != nil || len(faults) != 1 {
		t.Fatalf("%s: %d faults, %v", ref, len(faults), err)
	}
	return faults[0]
}

// battery sets the voltage of leg L2, whose nominal is minus half the supply's,
// to volts: of either sign, as a second battery may be connected either way.
func battery(c *circuit.Circuit, volts float64) circuit.Fault {
	leg := c.Supply().Legs[1]
	return circuit.Fault{Kind: circuit.Drifted, Branch: leg, Factor: volts / real(c.Branch(leg).EMF)}
}

func branch(c *circuit.Circuit, ref string) circuit.BranchID {
	id, err := c.FindBranch(ref)
	if err != nil {
		panic(err)
	}
	return id
}

func terminal(c *circuit.Circuit, ref string) circuit.TerminalID {
	id, err := c.FindTerminal(ref)
	if err != nil {
		panic(err)
	}
	return id
}

// volts is the voltage from one terminal to another, or to neutral.
func (s solved) volts(a, b string) complex128 {
	v, ok := s.sol.Between(terminal(s.c, a), terminal(s.c, b))
	if !ok {
		panic("no voltage is determined from " + a + " to " + b)
	}
	return v
}

func (s solved) amps(ref string) complex128 { return s.sol.Amps[branch(s.c, ref)] }
func (s solved) watts(ref string) float64   { return s.sol.Watts(branch(s.c, ref)) }

// across is the voltage over a part from terminal 1 to 2.
func (s solved) across(part string) complex128 { return s.volts(part+".1", part+".2") }

func size(z complex128) float64    { return cmplx.Abs(z) }
func degrees(z complex128) float64 { return cmplx.Phase(z) * 180 / math.Pi }

// printed writes each value with the decimals that the book prints it with.
func printed(book map[string]string, values map[string]float64) map[string]string {
	out := map[string]string{}
	for name, v := range values {
		_, decimals, _ := strings.Cut(book[name], ".")
		out[name] = strconv.FormatFloat(v, 'f', len(decimals), 64)
	}
	return out
}
