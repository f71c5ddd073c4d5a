package settle_test

import (
	"fmt"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// dense solves a machine whose contacts are settled in a way of its own: nodal
// equations written out as a full matrix, Gauss with partial pivoting. It shares
// no code with package phasor.
type dense struct {
	c      *circuit.Circuit
	group  circuit.Groups // terminals, then inner points of loads, then the supply's neutral point
	links  []denseLink
	emfs   []denseSource
	volts  []complex128 // by terminal
	supply []bool       // by terminal: it conducts to the supply
	watts  map[circuit.BranchID]float64
}

type denseLink struct {
	load circuit.BranchID // or None
	a, b int32
	z    complex128
	// joint is the part of z that a bad joint makes.
	joint float64
	// secondary is the other winding of a transformer, an index of links, or -1.
	secondary int
	turns     complex128
}

type denseSource struct {
	at  int32
	emf complex128
	z   complex128
}

func solveDense(c *circuit.Circuit, mode *circuit.Mode, conducts []bool, faults []circuit.Fault) *dense {
	n := len(c.Terminals())
	d := &dense{c: c, group: circuit.NewGroups(n + len(faults) + 1), watts: map[circuit.BranchID]float64{}}
	at := map[circuit.BranchID]int{}
	for i := range c.Branches() {
		if b := c.Branch(circuit.BranchID(i)); conducts[i] && b.Role != circuit.Drive {
			d.branch(b, mode, faults, at, n)
		}
	}
	for _, f := range faults {
		b := c.Branch(f.Branch)
		if f.Kind != circuit.Grounded || b.Role == circuit.Load {
			continue
		}
		end := b.A
		if f.At >= 0.5 {
			end = b.B
		}
		d.tie(int32(end), int32(c.ChassisTerminal()), complex(f.Ohms, 0))
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		p, ok := at[b.ID]
		if !ok || b.Secondary == circuit.None {
			continue
		}
		if s, ok := at[b.Secondary]; ok {
			d.links[p].secondary, d.links[p].turns = s, complex(b.TurnsRatio, 0)
		}
	}
	d.solve(n)
	return d
}

// tie joins two nodes by an impedance, or makes one of them.
func (d *dense) tie(a, b int32, z complex128) {
	if z == 0 {
		d.group.Join(a, b)
		return
	}
	d.links = append(d.links, denseLink{load: circuit.None, a: a, b: b, z: z, secondary: -1})
}

func (d *dense) branch(b *circuit.Branch, mode *circuit.Mode, faults []circuit.Fault, at map[circuit.BranchID]int, n int) {
	z, emf := complex(b.Ohms, 0), b.EMF
	if b.Role == circuit.Load {
		z = b.Z
		if celsius, ok := mode.Celsius[b.ID]; ok && b.Sensor != nil {
			ohms, err := b.Sensor.Ohms(celsius)
			if err == nil {
				z = complex(ohms, 0)
			}
		}
	}
	joint, ground := 0.0, -1
	short := false
	for k, f := range faults {
		if f.Branch != b.ID {
			continue
		}
		switch f.Kind {
		case circuit.Drifted:
			if b.Role == circuit.Source {
				emf *= complex(f.Factor, 0)
			} else {
				z *= complex(f.Factor, 0)
			}
		case circuit.Short:
			short = true
		case circuit.Grounded:
			ground = k
		}
	}
	for _, f := range faults {
		if f.Branch == b.ID && f.Kind == circuit.HighResistance {
			joint += f.Ohms
		}
	}
	z += complex(joint, 0)
	if short {
		z, joint = 0, 0
	}
	if b.Role == circuit.Source {
		d.emfs = append(d.emfs, denseSource{int32(b.B), emf, z})
		return
	}
	from, to := int32(b.A), int32(b.B)
	if b.Role == circuit.Load && ground >= 0 {
		f := faults[ground]
		chassis := int32(d.c.ChassisTerminal())
		switch {
		case short || f.At <= 0 || f.At >= 1:
			end := from
			if f.At >= 0.5 {
				end = to
			}
			d.tie(end, chassis, complex(f.Ohms, 0))
		default:
			inner := int32(n + ground)
			d.tie(inner, chassis, complex(f.Ohms, 0))
			share := complex(f.At, 0)
			d.links = append(d.links, denseLink{load: b.ID, a: from, b: inner, z: z * share, secondary: -1},
				denseLink{load: b.ID, a: inner, b: to, z: z * (1 - share), secondary: -1})
			return
		}
	}
	if z == 0 {
		d.group.Join(from, to)
		return
	}
	load := b.ID
	if b.Role != circuit.Load {
		load = circuit.None
	}
	at[b.ID] = len(d.links)
	d.links = append(d.links, denseLink{load: load, a: from, b: to, z: z, joint: joint, secondary: -1})
}

// solve writes the equations of every group and solves them.
func (d *dense) solve(n int) {
	point := int32(len(d.group) - 1)
	fixed := map[int32]complex128{d.group.Of(point): 0}
	reach := circuit.NewGroups(len(d.group))
	for i := range d.group {
		reach.Join(int32(i), d.group.Of(int32(i)))
	}
	for _, s := range d.emfs {
		reach.Join(s.at, point)
		if s.z == 0 {
			fixed[d.group.Of(s.at)] = s.emf
		}
	}
	for _, l := range d.links {
		reach.Join(l.a, l.b)
	}
	index, held := map[int32]int{}, map[int32]bool{}
	for i := range d.group {
		g := d.group.Of(int32(i))
		if _, ok := fixed[g]; ok {
			continue
		}
		if island := reach.Of(g); island != reach.Of(point) && !held[island] {
			held[island], fixed[g] = true, 0 // the reference of a floating island
			continue
		}
		if _, ok := index[g]; !ok {
			index[g] = len(index)
		}
	}
	m := make([][]complex128, len(index))
	for i := range m {
		m[i] = make([]complex128, len(index)+1)
	}
	add := func(node, other int32, y complex128) {
		row, ok := index[d.group.Of(node)]
		if !ok {
			return
		}
		if col, ok := index[d.group.Of(other)]; ok {
			m[row][col] += y
		} else {
			m[row][len(m)] -= y * fixed[d.group.Of(other)]
		}
	}
	pair := func(p, q, r, s int32, y complex128) { // current from p to q by the voltage from r to s
		add(p, r, y)
		add(p, s, -y)
		add(q, r, -y)
		add(q, s, y)
	}
	for _, s := range d.emfs {
		if row, ok := index[d.group.Of(s.at)]; ok && s.z != 0 {
			m[row][row] += 1 / s.z
			m[row][len(m)] += s.emf / s.z
		}
	}
	for _, l := range d.links {
		pair(l.a, l.b, l.a, l.b, 1/l.z)
		if l.secondary >= 0 {
			s := d.links[l.secondary]
			y := 1 / s.z
			pair(l.a, l.b, l.a, l.b, y/(l.turns*l.turns))
			pair(l.a, l.b, s.a, s.b, -y/l.turns)
			pair(s.a, s.b, l.a, l.b, -y/l.turns)
		}
	}
	x := gauss(m)
	volts := func(node int32) complex128 {
		g := d.group.Of(node)
		if k, ok := index[g]; ok {
			return x[k]
		}
		return fixed[g]
	}
	d.volts, d.supply = make([]complex128, n), make([]bool, n)
	for t := range n {
		d.volts[t], d.supply[t] = volts(int32(t)), reach.Of(int32(t)) == reach.Of(point)
	}
	for _, l := range d.links {
		v := volts(l.a) - volts(l.b)
		i := v / l.z
		if l.secondary >= 0 {
			s := d.links[l.secondary]
			i += (v/l.turns - (volts(s.a) - volts(s.b))) / s.z / l.turns
		}
		if l.load != circuit.None {
			d.watts[l.load] += real(v*cmplx.Conj(i)) - l.joint*real(i*cmplx.Conj(i))
		}
	}
}

// gauss solves equations whose last column is the right side.
func gauss(m [][]complex128) []complex128 {
	n := len(m)
	for k := range n {
		best := k
		for i := k + 1; i < n; i++ {
			if cmplx.Abs(m[i][k]) > cmplx.Abs(m[best][k]) {
				best = i
			}
		}
		m[k], m[best] = m[best], m[k]
		for i := k + 1; i < n; i++ {
			if m[i][k] == 0 {
				continue
			}
			by := m[i][k] / m[k][k]
			for j := k; j <= n; j++ {
				m[i][j] -= by * m[k][j]
			}
		}
	}
	x := make([]complex128, n)
	for k := n - 1; k >= 0; k-- {
		x[k] = m[k][n]
		for j := k + 1; j < n; j++ {
			x[k] -= m[k][j] * x[j]
		}
		x[k] /= m[k][k]
	}
	return x
}

// Every shipped machine in every mode, sound and under draws of one or two faults,
// a thousand with LEGTRACE_NIGHTLY: where every terminal stands and what every load
// takes are what a solver that shares no code finds for the same contacts.
func TestMachinesAgreeWithADenseSolver(t *testing.T) {
	draws := 60
	if circuittest.Nightly {
		draws = 1000
	}
	worst := 0.0
	for _, entry := range netlists.Machines() {
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		e, faults, r := settle.New(c), singles(c), rand.New(rand.NewPCG(3, 4))
		for k := range draws + len(c.Modes()) {
			mode := c.Mode(circuit.ModeID(k % len(c.Modes())))
			var drawn []circuit.Fault
			if k >= len(c.Modes()) {
				drawn = append(drawn, faults[r.IntN(len(faults))])
				if more := faults[r.IntN(len(faults))]; k%2 == 1 && more.Branch != drawn[0].Branch {
					drawn = append(drawn, more)
				}
			}
			o, err := e.Run(mode.ID, drawn)
			if err != nil {
				t.Fatal(err)
			}
			off, where := denseDiffers(c, o, solveDense(c, mode, o.Conducts, drawn))
			worst = max(worst, off)
			if off > 1e-9 {
				t.Fatalf("%s, %s, %v: %s", entry.Name, mode.Name, drawn, where)
			}
		}
	}
	t.Logf("worst difference %.1e of the supply's voltage or a load's rating", worst)
}

// denseDiffers gives the worst difference, of the supply's voltage or of a
// load's rating, and where it is.
func denseDiffers(c *circuit.Circuit, o *settle.Outcome, d *dense) (float64, string) {
	worst, where := 0.0, ""
	note := func(off float64, what string, args ...any) {
		if off > worst {
			worst, where = off, fmt.Sprintf(what, args...)
		}
	}
	for i := range c.Terminals() {
		t := c.Terminals()[i].ID
		if o.AnyState.Floating[t] == d.supply[t] {
			return 1, fmt.Sprintf("%s floats: %v", c.Terminal(t).Ref, o.AnyState.Floating[t])
		}
		if d.supply[t] {
			v := o.AnyState.Volts[t]
			note(cmplx.Abs(v-d.volts[t])/c.Supply().Volts, "%s at %v, dense %v", c.Terminal(t).Ref, v, d.volts[t])
		}
	}
	for _, load := range c.Loads() {
		b := c.Branch(load)
		w := o.AnyState.Watts(load)
		scale := max(b.Watts, w)
		note(max(w-d.watts[load], d.watts[load]-w)/scale, "%s takes %g W, dense %g", b.Ref, w, d.watts[load])
	}
	return worst, where
}
