package settle

import (
	"math/cmplx"
	"slices"

	"legtrace/circuit"
)

// PairOutcome is the machine settled under a pair of faults, or one. It reads
// the memory of its [Pairs]: the next [Pairs.Outcome] overwrites it. Where it
// chatters its voltages may be those of a pair in series with it.
type PairOutcome struct {
	x      *Pairs
	node   *node
	faults []circuit.Fault
	combination
	island  []int32 // nil: those of the combination
	ties    []tie
	groups  circuit.Groups
	numbers []int32
	swept   *SweepOutcome
	full    *Outcome
}

// Outcome tells how the pair i, j of the list of faults ends; i == j is that
// fault alone.
func (x *Pairs) Outcome(i, j int) (*PairOutcome, error) {
	if i > j {
		i, j = j, i
	}
	o := &x.one
	o.x, o.swept, o.full, o.island, o.node = x, nil, nil, nil, nil
	o.faults = append(o.faults[:0], x.all.faults[i])
	if i != j {
		o.faults = append(o.faults, x.all.faults[j])
	}
	f := x.results[index(i, j)]
	switch {
	case f.how == bySweep:
		return o, x.outcomeBySweep(o, i, j)
	case f.node < 0:
		first := i
		if f.how == asSecond {
			first = j
		}
		o.full = x.chatters[first].outcome
		return o, nil
	}
	o.node = x.nodes[f.node]
	t := o.node.table
	o.ties = o.ties[:0]
	var alone [2]int // the faults whose row is not part of the combination
	n := 0
	leave := func(k int) { alone[n], n = k, n+1 }
	switch f.how {
	case asBoth:
		o.combination, _ = t.combine(i, j)
	case asSecond:
		o.combination = t.alone(j)
		leave(i)
		if t.rows[j] == nil {
			leave(j)
		}
	default:
		o.combination = t.alone(i)
		if t.rows[i] == nil {
			leave(i)
		}
		if i != j {
			leave(j)
		}
	}
	parts := false
	for _, k := range alone[:n] {
		g, p := &x.all.faults[k], &t.ports[k]
		parts = parts || g.Kind == circuit.Open && t.conducts[g.Branch]
		tied, ok := p.tie(o.base)
		if ok && !slices.ContainsFunc(o.ties, func(t tie) bool { return t.island == tied.island }) {
			o.ties = append(o.ties, tied)
		}
		parts = parts || ok
	}
	if parts {
		o.findIslands()
	}
	return o, nil
}

func (o *PairOutcome) volts(t circuit.TerminalID) complex128 {
	v := o.combination.volts(t)
	for _, s := range o.ties {
		if o.base.island[t] == s.island {
			v += s.by
		}
	}
	return v
}

// Single tells which of the two alone the pair does as, as far as coils, loads,
// protection and voltages of what is not cut off go: 0 the first, 1 the second;
// false where neither.
func (x *Pairs) Single(i, j int) (int, bool) {
	switch x.results[index(min(i, j), max(i, j))].how {
	case asFirst:
		return 0, true
	case asSecond:
		return 1, true
	}
	return 0, false
}

// Tabled tells whether the outcome comes from tables; else a sweep or the
// engine worked it out.
func (o *PairOutcome) Tabled() bool { return o.swept == nil }

// FellBack tells whether the engine worked the outcome out.
func (o *PairOutcome) FellBack() bool { return o.swept != nil && o.swept.FellBack }

// ready sets the walk's loop to the outcome's state.
func (o *PairOutcome) ready() *loop {
	l := o.x.loop
	l.fail(o.faults)
	l.enter(o.x.stages[o.node.stage])
	l.state.copyFrom(&o.node.state)
	return l
}

// findIslands works out what conducts to what, where a branch that carries no
// current opens: that changes no voltage, but may leave some undetermined.
func (o *PairOutcome) findIslands() {
	l, c := o.ready(), o.x.all.e.c
	n := len(c.Terminals())
	if o.groups == nil {
		o.groups, o.numbers = circuit.NewGroups(n+1), make([]int32, n)
	}
	for i := range o.groups {
		o.groups[i] = int32(i)
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		switch {
		case b.Role == circuit.Drive || !l.closed(b):
		case b.Role == circuit.Source:
			o.groups.Join(int32(b.B), int32(n))
		default:
			o.groups.Join(int32(b.A), int32(b.B))
		}
	}
	for i := range o.faults {
		f := &o.faults[i]
		b := c.Branch(f.Branch)
		if f.Kind != circuit.Grounded || b.Role == circuit.Load && !l.closed(b) {
			continue
		}
		chassis := int32(c.ChassisTerminal())
		within := b.Role == circuit.Load && f.At > 0 && f.At < 1
		if within || f.At < 0.5 {
			o.groups.Join(int32(b.A), chassis)
		}
		if within || f.At >= 0.5 {
			o.groups.Join(int32(b.B), chassis)
		}
	}
	supply := o.groups.Of(int32(n))
	for t := range o.numbers {
		if o.numbers[t] = o.groups.Of(int32(t)); o.numbers[t] == supply {
			o.numbers[t] = -1
		}
	}
	o.island = o.numbers
}

func (o *PairOutcome) islandOf(t circuit.TerminalID) int32 {
	if o.island != nil {
		return o.island[t]
	}
	return o.base.island[t]
}

// Volts is [phasor.Update.Volts].
func (o *PairOutcome) Volts(t circuit.TerminalID) complex128 {
	switch {
	case o.swept != nil:
		return o.swept.Volts(t)
	case o.full != nil:
		return o.full.AnyState.Volts[t]
	}
	return o.volts(t)
}

// Floating reports whether a terminal is tied to no supply conductor.
func (o *PairOutcome) Floating(t circuit.TerminalID) bool {
	switch {
	case o.swept != nil:
		return o.swept.Floating(t)
	case o.full != nil:
		return o.full.AnyState.Floating[t]
	}
	return o.islandOf(t) >= 0
}

// Between is [phasor.Solution.Between].
func (o *PairOutcome) Between(a, b circuit.TerminalID) (complex128, bool) {
	switch {
	case o.swept != nil:
		return o.swept.Between(a, b)
	case o.full != nil:
		return o.full.AnyState.Between(a, b)
	}
	if o.islandOf(a) != o.islandOf(b) {
		return 0, false
	}
	return o.volts(a) - o.volts(b), true
}

// Conducts reports whether a branch is intact and closed.
func (o *PairOutcome) Conducts(id circuit.BranchID) bool {
	switch {
	case o.swept != nil:
		return o.swept.Conducts(id)
	case o.full != nil:
		return o.full.Conducts[id]
	}
	return o.ready().closed(o.x.all.e.c.Branch(id))
}

// Acting reports whether a coil or drive is pulled in or a motor runs.
func (o *PairOutcome) Acting(id circuit.BranchID) bool {
	switch {
	case o.swept != nil:
		return o.swept.Acting(id)
	case o.full != nil:
		return o.full.Acting[id]
	}
	return o.node.state.acting[id]
}

// Chatter is nil when the machine settles.
func (o *PairOutcome) Chatter() *Chatter {
	switch {
	case o.swept != nil:
		return o.swept.Chatter()
	case o.full != nil:
		return o.full.Chatter
	}
	return nil
}

// Tripped lists protection that opened, in the order of branches.
func (o *PairOutcome) Tripped() []circuit.BranchID {
	switch {
	case o.swept != nil:
		return o.swept.Tripped
	case o.full != nil:
		return o.full.Tripped
	}
	var out []circuit.BranchID
	for _, id := range o.x.loop.protection {
		if o.node.state.tripped[id] {
			out = append(out, id)
		}
	}
	return out
}

// LeastShare is [Outcome.LeastShare].
func (o *PairOutcome) LeastShare(load circuit.BranchID) float64 {
	switch {
	case o.swept != nil:
		return o.swept.LeastShare(load)
	case o.full != nil:
		return o.full.LeastShare(load)
	}
	return o.share(load)
}

// MostShare is [Outcome.MostShare].
func (o *PairOutcome) MostShare(load circuit.BranchID) float64 {
	switch {
	case o.swept != nil:
		return o.swept.MostShare(load)
	case o.full != nil:
		return o.full.MostShare(load)
	}
	return o.share(load)
}

// Hums is [Outcome.Hums].
func (o *PairOutcome) Hums(load circuit.BranchID) bool {
	switch {
	case o.swept != nil:
		return o.swept.Hums(load)
	case o.full != nil:
		return o.full.Hums(load)
	}
	return o.Conducts(load) && o.x.sweep.e.kept(load, o.faults) && o.Motion(load) == Hums
}

// Motion is [Engine.Motion].
func (o *PairOutcome) Motion(load circuit.BranchID) Motion {
	e := o.x.sweep.e
	switch {
	case o.swept != nil:
		return o.swept.Motion(load)
	case o.full != nil:
		return e.Motion(o.full, load)
	}
	volts := func(id circuit.BranchID) float64 { return o.combination.loadVolts(e.c.Branch(id), o.faults) }
	return e.motion(load, o.Conducts, o.Acting(load), volts, o.faults)
}

func (o *PairOutcome) share(load circuit.BranchID) float64 {
	b := o.x.all.e.c.Branch(load)
	if b.Watts == 0 {
		return 0
	}
	for i := range o.faults {
		if f := &o.faults[i]; f.Branch == load && (f.Kind == circuit.Open || f.Kind == circuit.Short) {
			return 0
		}
	}
	amps := o.combination.amps(load)
	joint := 0.0
	for i := range o.faults {
		f := &o.faults[i]
		switch {
		case f.Branch != load:
		case f.Kind == circuit.HighResistance:
			joint = real(amps*cmplx.Conj(amps)) * f.Ohms
		case f.Kind == circuit.Grounded && f.At > 0 && f.At < 1:
			return o.halves(b, f) / b.Watts
		}
	}
	v := o.volts(b.A) - o.volts(b.B)
	return (real(v*cmplx.Conj(amps)) - joint) / b.Watts
}

// halves is the power of a load that a ground parts.
func (o *PairOutcome) halves(b *circuit.Branch, f *circuit.Fault) float64 {
	at := complex(f.At, 0)
	a, z := o.volts(b.A), o.volts(b.B)
	point := o.volts(o.x.all.e.c.ChassisTerminal())
	ya, yz := 1/(b.Z*at), 1/(b.Z*(1-at))
	if f.Ohms > 0 {
		leak := complex(1/f.Ohms, 0)
		point = (a*ya + z*yz + point*leak) / (ya + yz + leak)
	}
	watts := func(v, y complex128) float64 { return real(v * cmplx.Conj(v*y)) }
	return watts(a-point, ya) + watts(point-z, yz)
}
