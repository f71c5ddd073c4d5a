package phasor_test

import (
	"errors"
	"fmt"
	"testing"

	"gonum.org/v1/gonum/mat"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// dictionary is what a fault dictionary asks of a machine: every single fault
// of its settled state, with the voltages at some terminals.
type dictionary struct {
	c      *circuit.Circuit
	base   []bool
	faults []circuit.Fault
	listed []circuit.TerminalID
}

// terminalsListed is how many terminals a list of test points holds.
const terminalsListed = 24

func newDictionary(b *testing.B, parts int, measured bool) *dictionary {
	spec := circuittest.SeriesParallel(parts, 1)
	if measured {
		spec = circuittest.Measured(spec, 14, 0.3)
	}
	d := &dictionary{c: circuittest.Build(b, spec)}
	on, err := d.c.FindMode("on")
	if err != nil {
		b.Fatal(err)
	}
	out, err := settle.New(d.c).Run(on, nil)
	if err != nil {
		b.Fatal(err)
	}
	d.base = out.Conducts
	for i := range d.c.Branches() {
		for _, f := range singles(circuit.BranchID(i)) {
			if d.c.CanFail(f) {
				d.faults = append(d.faults, f)
			}
		}
	}
	terminals := d.c.Terminals()
	for i := range terminalsListed {
		d.listed = append(d.listed, terminals[i*len(terminals)/terminalsListed].ID)
	}
	return d
}

// singles lists one fault of every kind.
func singles(id circuit.BranchID) []circuit.Fault {
	return []circuit.Fault{
		{Kind: circuit.Open, Branch: id}, {Kind: circuit.Welded, Branch: id}, {Kind: circuit.Short, Branch: id},
		{Kind: circuit.HighResistance, Branch: id, Ohms: 4}, {Kind: circuit.Drifted, Branch: id, Factor: 1.5},
		{Kind: circuit.Grounded, Branch: id, At: 0.5},
	}
}

// condition applies fault k to the settled state.
func (d *dictionary) condition(k int, in *phasor.Input, changed []circuit.BranchID) []circuit.BranchID {
	for _, id := range changed {
		in.Conducts[id] = d.base[id]
	}
	f := d.faults[k%len(d.faults)]
	in.Faults = append(in.Faults[:0], f)
	switch f.Kind {
	case circuit.Open:
		in.Conducts[f.Branch] = false
	case circuit.Welded:
		in.Conducts[f.Branch] = true
	}
	return append(changed[:0], f.Branch)
}

func (d *dictionary) input() phasor.Input {
	return phasor.Input{Conducts: append([]bool(nil), d.base...)}
}

// stride steps through the faults in no order of their own.
const stride = 7919

// BenchmarkFault takes one fault after another of a machine in mode "on" and
// reads the listed terminals: by an update of one base, by a full solve each,
// and, while that is bearable, by a dense factorisation each.
func BenchmarkFault(b *testing.B) {
	for _, wires := range []string{"ideal", "measured"} {
		for _, parts := range []int{100, 500, 2000} {
			d := newDictionary(b, parts, wires == "measured")
			name := func(how string) string { return fmt.Sprintf("%s/%d/%s", wires, parts, how) }
			b.Run(name("update"), d.byUpdate)
			b.Run(name("solve"), d.bySolve)
			if d.nodes() <= 700 {
				b.Run(name("dense"), d.byDense)
			}
		}
	}
}

func (d *dictionary) byUpdate(b *testing.B) {
	base, err := phasor.NewNetwork(d.c).Base(d.input())
	if err != nil {
		b.Fatal(err)
	}
	in := d.input()
	var changed []circuit.BranchID
	b.ReportAllocs()
	k := 0
	for b.Loop() {
		k += stride
		changed = d.condition(k, &in, changed)
		u, err := base.Apply(in, changed)
		if err != nil {
			b.Fatal(err)
		}
		for _, t := range d.listed {
			u.Volts(t)
		}
	}
	b.ReportMetric(float64(base.Stats.Eliminated)/float64(base.Stats.Updates), "nodes/op")
	b.ReportMetric(float64(base.Stats.Full)/float64(base.Stats.Updates), "full/op")
	b.ReportMetric(float64(len(d.faults)), "faults")
}

func (d *dictionary) bySolve(b *testing.B) {
	solver, in := phasor.New(d.c), d.input()
	var changed []circuit.BranchID
	k := 0
	for b.Loop() {
		k += stride
		changed = d.condition(k, &in, changed)
		var short *phasor.ShortError
		if _, err := solver.Solve(in); err != nil && !errors.As(err, &short) {
			b.Fatal(err)
		}
	}
}

// nodes counts the places that ideal joins leave apart.
func (d *dictionary) nodes() int {
	_, n := d.merged(d.input())
	return n
}

// merged numbers the places that ideal joins leave apart.
func (d *dictionary) merged(in phasor.Input) ([]int, int) {
	root := make([]int, len(d.c.Terminals()))
	for i := range root {
		root[i] = i
	}
	var find func(int) int
	find = func(i int) int {
		if root[i] != i {
			root[i] = find(root[i])
		}
		return root[i]
	}
	for i := range d.c.Branches() {
		br := d.c.Branch(circuit.BranchID(i))
		if in.Conducts[i] && (br.Role == circuit.Join || br.Role == circuit.Contact) && br.Ohms == 0 {
			root[find(int(br.A))] = find(int(br.B))
		}
	}
	number, n := make([]int, len(root)), 0
	at := map[int]int{}
	for i := range root {
		r := find(i)
		if _, ok := at[r]; !ok {
			at[r], n = n, n+1
		}
		number[i] = at[r]
	}
	return number, n
}

// byDense writes the nodal equations of the machine as a dense matrix and
// factorises it, fault by fault. Only opens are done so: it is the least that
// refactoring could cost.
func (d *dictionary) byDense(b *testing.B) {
	in := d.input()
	var changed []circuit.BranchID
	k := 0
	for b.Loop() {
		k += stride
		changed = d.condition(k, &in, changed)
		number, n := d.merged(in)
		a, rhs := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
		for i := range n {
			a.Set(i, i, 1e-12)
		}
		for i := range d.c.Branches() {
			br := d.c.Branch(circuit.BranchID(i))
			if br.Role == circuit.Drive || !in.Conducts[i] {
				continue
			}
			y := 1 / br.Ohms
			if br.Role == circuit.Load {
				y = 1 / real(br.Z)
			} else if br.Ohms == 0 {
				continue
			}
			q := number[br.B]
			a.Set(q, q, a.At(q, q)+y)
			if br.Role == circuit.Source {
				rhs.SetVec(q, rhs.AtVec(q)+y*real(br.EMF))
				continue
			}
			p := number[br.A]
			a.Set(p, p, a.At(p, p)+y)
			a.Set(p, q, a.At(p, q)-y)
			a.Set(q, p, a.At(q, p)-y)
		}
		var lu mat.LU
		lu.Factorize(a)
		var x mat.VecDense
		if err := lu.SolveVecTo(&x, false, rhs); err != nil {
			var near mat.Condition
			if !errors.As(err, &near) {
				b.Fatal(err)
			}
		}
	}
}
