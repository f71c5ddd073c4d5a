package settle

import (
	"slices"

	"legtrace/circuit"
)

// follow tells what follows a node under a pair, and by which solution.
func (x *Pairs) follow(nd *node, i, j int) (next, how) {
	t := nd.table
	if i == j {
		return nd.next[i], asFirst
	}
	if y := x.sameBranch(t, i, j); y != 0 {
		if y == bySweep {
			return unknown, 0
		}
		if y == asFirst {
			return nd.next[i], asFirst
		}
		return nd.next[j], asSecond
	}
	if t.looped(i) && t.looped(j) || t.tiesTogether(i, j) {
		return unknown, 0
	}
	if acts, sure := t.actsUnder(j, i); !sure {
		return unknown, 0
	} else if !acts {
		return x.followOne(nd, i, j, i, j, asFirst)
	}
	if acts, sure := t.actsUnder(i, j); !sure {
		return unknown, 0
	} else if !acts {
		return x.followOne(nd, i, j, j, i, asSecond)
	}
	if t.rows[i] == nil || t.rows[j] == nil || t.rows[i].doubt || t.rows[j].doubt {
		return unknown, 0
	}
	c, ok := t.combine(i, j)
	if !ok {
		return unknown, 0
	}
	return x.evaluate(nd, i, j, c), asBoth
}

// followOne follows one of a pair, beside which the other does not act.
func (x *Pairs) followOne(nd *node, i, j, one, other int, as how) (next, how) {
	t := nd.table
	switch {
	case x.loop.loops(&t.ports[other], t.alone(one).base):
		return unknown, 0
	case !x.logic[other]:
		return nd.next[one], as
	}
	return x.evaluate(nd, i, j, t.alone(one)), as
}

// sameBranch tells what comes of two faults of one branch: 0 where they act
// apart.
func (x *Pairs) sameBranch(t *table, i, j int) how {
	f, g := &x.all.faults[i], &x.all.faults[j]
	if f.Branch != g.Branch {
		return 0
	}
	load := x.all.e.c.Branch(f.Branch).Role == circuit.Load
	// beats tells that nothing of the other is left.
	beats := func(f, g circuit.FaultKind) bool {
		return f == circuit.Open && (load || g != circuit.Grounded) || f == circuit.Short && (g == circuit.Drifted || g == circuit.HighResistance)
	}
	apart := func(f, g circuit.FaultKind) bool {
		return !load && (f == circuit.Grounded || f == circuit.Welded && t.conducts[x.all.faults[i].Branch]) && f != g
	}
	switch {
	case (f.Kind == circuit.Welded || g.Kind == circuit.Welded) && x.loop.trips(x.all.e.c.Branch(f.Branch)):
		return bySweep
	case beats(f.Kind, g.Kind):
		return asFirst
	case beats(g.Kind, f.Kind):
		return asSecond
	case apart(f.Kind, g.Kind) || apart(g.Kind, f.Kind):
		return 0
	}
	return bySweep
}

// alone is the solution of one fault.
func (t *table) alone(i int) combination {
	if t.rows[i] == nil {
		return single(&t.base)
	}
	return single(t.rows[i])
}

// looped tells of a fault in a loop of ideal joins.
func (t *table) looped(i int) bool {
	return t.ports[i].kind == series && slices.Contains(t.base.loops, t.ports[i].branch)
}

// tiesTogether tells of two faults that each tie the same floating island, so
// that both together carry a current.
func (t *table) tiesTogether(i, j int) bool {
	p, q := &t.ports[i], &t.ports[j]
	if p.kind != shunt || q.kind != shunt {
		return false
	}
	a, also := p.tie(&t.base)
	b, ok := q.tie(&t.base)
	if !ok || !also {
		return false
	}
	if a.island == b.island {
		return a.other != b.other || size1(a.by-b.by) > noFigure
	}
	return a.island == b.other || a.other == b.island || a.other == b.other && a.other >= 0
}

// tie is how a fault joins a floating island to another island.
type tie struct {
	island, other int32
	by            complex128 // volts that the island shifts by
}

// tie tells how a fault joins islands; false where it joins none.
func (p *port) tie(r *row) (tie, bool) {
	if p.kind != shunt {
		return tie{}, false
	}
	v, known := p.figure(r)
	a, b := r.island[p.a], r.island[p.b]
	switch {
	case known:
		return tie{}, false
	case a >= 0:
		return tie{a, b, -v}, true
	}
	return tie{b, a, v}, true
}

// actsUnder tells whether fault i changes the solution with fault j.
func (t *table) actsUnder(i, j int) (acts, sure bool) {
	r := &t.base
	if t.rows[j] != nil {
		r = t.rows[j]
	}
	p := &t.ports[i]
	if r.doubt {
		return true, false
	}
	return p.acts(r)
}
