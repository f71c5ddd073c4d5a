package settle

import (
	"math"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// table is the machine with its contacts in one position, solved without
// faults and under every single fault of a list. It never changes once made.
type table struct {
	conducts []bool
	celsius  map[circuit.BranchID]float64
	base     row
	ports    []port // by fault
	rows     []*row // by fault; nil where the fault changes nothing by itself
	// senses are what the controls' pins measure: of the sound machine, and by
	// fault where one could be felt there.
	senses map[*circuit.Sense]reading
	felt   map[feltSense]reading
	// refused tells that the position has no solution without faults.
	refused bool
}

type feltSense struct {
	sense *circuit.Sense
	fault int32
}

// row is one solution of a table.
type row struct {
	volts  []complex128 // by terminal
	amps   []complex128 // by branch
	island []int32      // by terminal: -1 when it conducts to the supply
	// loops are branches of loops of ideal joins: none of them matters while
	// the others are whole, and their currents are not determined.
	loops []circuit.BranchID
	doubt bool    // no solution
	most  float64 // volts that it differs from the base by
}

// port is how a fault acts in a position: the figure that it forces to zero,
// or in a fixed ratio to the current, is [port.figure].
type port struct {
	kind portKind
	a, b circuit.TerminalID
	// at is how far from a the point lies where a fault ties it to b.
	at float64
	// far is the other end of a load grounded between its ends.
	far    circuit.TerminalID
	branch circuit.BranchID
	// noise is what of the figure is rounding.
	noise float64
}

type portKind uint8

const (
	inert   portKind = iota // changes nothing in this position, whatever else fails
	series                  // acts by the current through its branch
	shunt                   // acts by the voltage from a to b
	emf                     // a supply voltage that drifted
	unusual                 // none of these
)

// newPort sorts a fault in a position.
func newPort(c *circuit.Circuit, f circuit.Fault, conducts []bool) port {
	b := c.Branch(f.Branch)
	p := port{a: b.A, b: b.B, branch: b.ID}
	wound := b.Secondary != circuit.None || b.Role == circuit.Load && b.Primary != circuit.None
	on := conducts[b.ID]
	switch {
	case b.Role == circuit.Drive || f.Kind == circuit.Seized:
	case wound:
		p.kind = unusual
	case f.Kind == circuit.Welded && on, f.Kind != circuit.Welded && f.Kind != circuit.Grounded && !on:
	case f.Kind == circuit.Welded:
		p.kind = shunt
	case f.Kind == circuit.Grounded && b.Role == circuit.Load:
		if !on {
			return p
		}
		p.kind, p.at, p.far, p.b = shunt, f.At, b.B, c.ChassisTerminal()
	case f.Kind == circuit.Grounded:
		if f.At >= 0.5 {
			p.a = b.B
		}
		if p.b = c.ChassisTerminal(); p.a != p.b {
			p.kind = shunt
		}
	case b.Role == circuit.Source && f.Kind == circuit.Drifted:
		p.kind = emf
	default:
		p.kind = series
	}
	return p
}

// figure is a port's current or voltage in a solution. It is false where the
// circuit does not determine a voltage.
func (p *port) figure(r *row) (complex128, bool) {
	switch p.kind {
	case series:
		return r.amps[p.branch], true
	case shunt:
		v := r.volts[p.a]
		known := r.island[p.a] == r.island[p.b]
		if p.at > 0 {
			v += complex(p.at, 0) * (r.volts[p.far] - v)
			known = known && r.island[p.far] == r.island[p.b]
		}
		return v - r.volts[p.b], known
	case emf:
		return 1, true
	}
	return 0, true
}

// What counts as no current and no voltage, in amperes and volts, beside the
// rounding of each port; and from what on there is surely one. What lies
// between is left to an update.
const (
	noFigure   = 1e-11
	sureFigure = 1e-9
)

// acts tells whether a fault changes a solution that it is not part of, and
// whether that is sure.
func (p *port) acts(r *row) (acts, sure bool) {
	switch p.kind {
	case inert:
		return false, true
	case unusual:
		return true, false
	}
	if p.kind == series && slices.Contains(r.loops, p.branch) {
		return false, true
	}
	v, known := p.figure(r)
	size := max(math.Abs(real(v)), math.Abs(imag(v)))
	switch {
	case !known:
		// One tie between two islands carries nothing.
		return false, true
	case size <= noFigure+p.noise:
		return false, true
	}
	return true, size >= sureFigure+100*p.noise
}

// builder makes tables. It must not be used by two goroutines at once.
type builder struct {
	c      *circuit.Circuit
	net    *phasor.Network
	flow   *phasor.Flow
	faults []circuit.Fault
	reach  []int32
	chords []bool
	in     phasor.Input
	dead   map[*table]*phasor.Base
}

func newBuilder(net *phasor.Network, faults []circuit.Fault) *builder {
	c := net.Circuit()
	return &builder{c: c, net: net, flow: phasor.NewFlow(net), faults: faults, reach: reach(c), chords: make([]bool, len(c.Branches())), dead: map[*table]*phasor.Base{}}
}

// table solves a position of the contacts under every fault.
func (m *builder) table(conducts []bool, celsius map[circuit.BranchID]float64) *table {
	t := &table{conducts: conducts, celsius: celsius, ports: make([]port, len(m.faults)), rows: make([]*row, len(m.faults)),
		senses: map[*circuit.Sense]reading{}, felt: map[feltSense]reading{}}
	for k, f := range m.faults {
		t.ports[k] = newPort(m.c, f, conducts)
	}
	in := phasor.Input{Conducts: conducts, Celsius: celsius}
	base, err := m.net.Base(in)
	if err != nil {
		t.refused = true
		return t
	}
	m.in = phasor.Input{Conducts: slices.Clone(conducts)}
	t.base = *m.row(base, nil)
	for k := range t.ports {
		t.ports[k].rounds(m.c, m.chords)
	}
	for k := range m.faults {
		if t.ports[k].kind == emf {
			t.rows[k] = m.row(base, &m.faults[k])
		} else if acts, _ := t.ports[k].acts(&t.base); acts {
			t.rows[k] = m.row(base, &m.faults[k])
		}
		if r := t.rows[k]; r != nil && !r.doubt {
			for at, v := range r.volts {
				r.most = max(r.most, size1(v-t.base.volts[at]))
			}
		}
	}
	m.measure(t)
	return t
}

// row reads the position with one fault, or none.
func (m *builder) row(base *phasor.Base, f *circuit.Fault) *row {
	in := m.in
	var changed []circuit.BranchID
	if f != nil {
		in.Faults, changed = []circuit.Fault{*f}, []circuit.BranchID{f.Branch}
		was := in.Conducts[f.Branch]
		defer func() { in.Conducts[f.Branch] = was }()
		in.Conducts[f.Branch] = f.Kind != circuit.Open && (was || f.Kind == circuit.Welded)
	}
	u, err := base.Apply(in, changed)
	r := readRow(m.c, m.flow, u, err, m.chords)
	return &r
}

// readRow reads an update at every terminal and branch.
func readRow(c *circuit.Circuit, flow *phasor.Flow, u *phasor.Update, err error, chords []bool) row {
	if err != nil {
		return row{doubt: true}
	}
	n := len(c.Terminals())
	r := row{volts: make([]complex128, n), amps: make([]complex128, len(c.Branches())), island: make([]int32, n)}
	for t := range r.volts {
		r.volts[t] = u.Volts(circuit.TerminalID(t))
		r.island[t] = u.Island(circuit.TerminalID(t))
	}
	r.loops = flow.Amps(u, r.amps, chords)
	return r
}

// measure reads every control's senses, with the supply removed: of the sound
// machine and under every fault that could be felt there.
func (m *builder) measure(t *table) {
	for i := range m.c.Controls() {
		for k := range m.c.Controls()[i].Senses {
			sense := &m.c.Controls()[i].Senses[k]
			have, ok := m.read(t, sense, nil)
			if !ok {
				return
			}
			t.senses[sense] = have
			for j, f := range m.faults {
				if t.ports[j].kind == inert || !feels(m.c, m.reach, f.Branch, sense) {
					continue
				}
				if have, ok = m.read(t, sense, m.faults[j:j+1]); ok {
					t.felt[feltSense{sense, int32(j)}] = have
				}
			}
		}
	}
}

// read measures a sense in a table's position under faults.
func (m *builder) read(t *table, sense *circuit.Sense, faults []circuit.Fault) (reading, bool) {
	dead, ok := m.dead[t]
	if !ok {
		// Where it cannot be made it is nil, and stays so.
		dead, _ = m.net.DeadBase(phasor.Input{Conducts: t.conducts, Celsius: t.celsius})
		m.dead[t] = dead
	}
	if dead == nil {
		return reading{}, false
	}
	in := phasor.Input{Conducts: slices.Clone(t.conducts), Faults: faults}
	var changed []circuit.BranchID
	for _, f := range faults {
		changed = append(changed, f.Branch)
		in.Conducts[f.Branch] = in.Conducts[f.Branch] || f.Kind == circuit.Welded
	}
	for _, f := range faults {
		in.Conducts[f.Branch] = in.Conducts[f.Branch] && f.Kind != circuit.Open
	}
	u, err := dead.Apply(in, changed)
	if err != nil {
		return reading{}, false
	}
	ohms, connected := u.Ohms(sense.Pin1, sense.Pin2)
	return reading{ohms, connected}, true
}

// feels tells whether a change of a branch lies where a sense could feel it.
func feels(c *circuit.Circuit, reach []int32, id circuit.BranchID, sense *circuit.Sense) bool {
	b := c.Branch(id)
	return b.Role != circuit.Source && b.Role != circuit.Drive && reach[b.A] == reach[sense.Pin1]
}

// combination is a solution made of others: the base, and so much of what each
// of two faults changes in it.
type combination struct {
	base, a, b *row
	alpha      complex128
	beta       complex128
}

// mostError is what a voltage of a combination may be out by, in volts, some
// 1e-10 of the supply's, and rounding what voltages themselves are out by.
const (
	mostError = 2e-8
	rounding  = 3e-14
)

// combine solves the position with two faults that both act in it. Each law
// that a fault imposes is linear in voltages and currents, so what holds in
// base, a and b but the two laws holds in any sum of them whose weights add up
// to one; the two laws give the weights. With r_ab the share that the figure of
// a's port keeps under b,
//
//	alpha = r_ab / d, beta = r_ba / d, d = r_ab + r_ba - r_ab r_ba.
//
// An open is a current forced to zero: nothing is taken away from an
// admittance. It returns false where too few digits would be left.
func (t *table) combine(i, j int) (combination, bool) {
	c := combination{base: &t.base, a: t.rows[i], b: t.rows[j]}
	p, q := &t.ports[i], &t.ports[j]
	a0, _ := p.figure(c.base)
	b0, _ := q.figure(c.base)
	ab, ok := p.figure(c.b)
	ba, also := q.figure(c.a)
	if !ok || !also {
		return c, false
	}
	ab, ba = ab/a0, ba/b0
	d := ab + ba - ab*ba
	c.alpha, c.beta = ab/d, ba/d
	const last = 4e-16 // of a ratio, by its last digits
	outAB := p.noise*(1+size1(ab))/size1(a0) + last*size1(ab)
	outBA := q.noise*(1+size1(ba))/size1(b0) + last*size1(ba)
	outD := outAB*size1(1-ba) + outBA*size1(1-ab) + last*(size1(ab)+size1(ba)+size1(ab)*size1(ba))
	out := c.a.most*(outAB+size1(c.alpha)*outD)/size1(d) + c.b.most*(outBA+size1(c.beta)*outD)/size1(d)
	return c, out+rounding*(size1(c.alpha)+size1(c.beta)) <= mostError
}

func size1(z complex128) float64 { return math.Abs(real(z)) + math.Abs(imag(z)) }

func (c *combination) volts(t circuit.TerminalID) complex128 {
	v := c.base.volts[t]
	if c.a == nil {
		return v
	}
	x := v + c.alpha*(c.a.volts[t]-v)
	if c.b != nil {
		x += c.beta * (c.b.volts[t] - v)
	}
	return x
}

func (c *combination) amps(id circuit.BranchID) complex128 {
	v := c.base.amps[id]
	if c.a == nil {
		return v
	}
	x := v + c.alpha*(c.a.amps[id]-v)
	if c.b != nil {
		x += c.beta * (c.b.amps[id] - v)
	}
	return x
}

func (c *combination) between(a, b circuit.TerminalID) (complex128, bool) {
	if c.base.island[a] != c.base.island[b] {
		return 0, false
	}
	return c.volts(a) - c.volts(b), true
}

// loadVolts is what a load gets under the faults.
func (c *combination) loadVolts(b *circuit.Branch, faults []circuit.Fault) float64 {
	v, _ := c.between(b.A, b.B)
	for i := range faults {
		if f := &faults[i]; f.Branch == b.ID && f.Kind == circuit.HighResistance {
			v -= c.amps(b.ID) * complex(f.Ohms, 0)
		}
	}
	return cmplx.Abs(v)
}

// single is a solution as it stands.
func single(r *row) combination { return combination{base: r} }
