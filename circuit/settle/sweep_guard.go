package settle

import (
	"math"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
)

// guard watches the currents of whatever trips.
type guard struct {
	c       *circuit.Circuit
	sources []circuit.BranchID
	rated   []*rated
	// movers is both, in the order of branches.
	movers []circuit.BranchID
	// calm tells that the machine has no capacitor or transformer, so that no
	// current in it exceeds what the supply sends.
	calm bool
}

// rated is a branch that opens on a current.
type rated struct {
	id circuit.BranchID
	// joints are the branches whose currents are added: it, or all poles of a
	// residual-current device.
	joints   []circuit.BranchID
	residual bool
	// limit is the current that opens it.
	limit float64
	// sides are what joins and contacts could ever reach from either end
	// without it; nil until asked for.
	sides [2]*side
}

// side is a part of the machine on one side of a joint, and what leads out of
// it but for the joint.
type side struct {
	terminals map[circuit.TerminalID]bool
	// loops tells that the other end is reached too.
	loops bool
	// exits are loads with one end in it, and supply conductors.
	exits []circuit.BranchID
}

func newGuard(c *circuit.Circuit) *guard {
	g := &guard{c: c, calm: true}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if b.Role == circuit.Source {
			g.sources = append(g.sources, b.ID)
		}
		if b.Amps > 0 {
			g.rated = append(g.rated, &rated{id: b.ID, joints: []circuit.BranchID{b.ID}, limit: TripFactor * b.Amps})
		}
		if b.Residual > 0 && b.ID == c.Part(b.Part).Branches[0] {
			g.rated = append(g.rated, &rated{id: b.ID, joints: c.Part(b.Part).Branches, residual: true, limit: b.Residual})
		}
		// A breaker's poles open together, rated or not.
		if trips(b) || b.Part != circuit.None && c.Part(b.Part).Kind.Guards() {
			g.movers = append(g.movers, b.ID)
		}
		if imag(b.Z) < 0 || b.Secondary != circuit.None {
			g.calm = false
		}
	}
	return g
}

// calmShare is the share of a limit that all of the supply's currents together
// must stay below for no single current to be looked at. In a network of
// resistors none exceeds half of them; motors, whose currents lag, are allowed
// as much again.
const calmShare = 1

// overcurrent is [Engine.overcurrent] by updates.
func (g *guard) overcurrent(s *Sweep) (bool, error) {
	service, sent := false, 0.0
	for _, id := range g.sources {
		if !s.at.in.Conducts[id] {
			continue
		}
		amps, _ := s.update.SupplyAmps(id)
		size := cmplx.Abs(amps)
		over, err := exceeds(size, ServiceAmps)
		if err != nil {
			return false, err
		}
		service = service || over
		sent += size
	}
	any := false
	// Every current is read before any of them trips anything.
	var trips []circuit.BranchID
	for _, r := range g.rated {
		if !g.watches(s, r) || !r.residual && g.calm && sent <= calmShare*r.limit {
			continue
		}
		amps, ok := g.amps(s, r)
		if !ok {
			return false, fallBack{ReasonCurrent}
		}
		over, err := exceeds(amps, r.limit)
		if err != nil {
			return false, err
		}
		if over {
			trips = append(trips, r.id)
			any = true
		}
	}
	for _, id := range trips {
		g.trip(s, id)
	}
	if service && !any {
		for _, leg := range g.c.Supply().Legs {
			s.state.tripped[leg] = true
		}
	}
	return service || any, nil
}

// watches tells whether any branch of a rated one conducts and can open.
func (g *guard) watches(s *Sweep, r *rated) bool {
	for _, id := range r.joints {
		if s.at.in.Conducts[id] && !s.welded(id) {
			return true
		}
	}
	return false
}

// exceeds compares a current with the limit it must not pass.
func exceeds(amps, limit float64) (bool, error) {
	if math.Abs(amps-limit) <= tooNear*limit {
		return false, fallBack{ReasonNear}
	}
	return amps > limit, nil
}

// trip is [Engine.trip].
func (g *guard) trip(s *Sweep, id circuit.BranchID) {
	p := g.c.Part(g.c.Branch(id).Part)
	if !p.Kind.Guards() {
		s.state.tripped[id] = true
		return
	}
	for _, pole := range p.Branches {
		s.state.tripped[pole] = !s.welded(pole)
	}
}

func (s *Sweep) welded(id circuit.BranchID) bool {
	_, weld := s.broken(id)
	return weld
}

// amps gives the size of the current through a rated branch: where it is an
// ideal join, by Kirchhoff's law what passes all other ways out of a side.
func (g *guard) amps(s *Sweep, r *rated) (float64, bool) {
	b := g.c.Branch(r.id)
	if !r.residual && (b.Ohms > 0 || b.Role == circuit.Load) {
		return cmplx.Abs(s.update.Amps(r.id)), true
	}
	for i := range s.faults {
		if f := &s.faults[i]; !r.residual && f.Branch == r.id && f.Kind == circuit.HighResistance {
			return cmplx.Abs(s.update.Amps(r.id)), true
		}
	}
	best := -1
	for end := range r.sides {
		if r.sides[end] == nil {
			r.sides[end] = g.newSide(r.joints, end == 1)
		}
		if sd := r.sides[end]; sd.loops {
			return 0, false
		} else if g.usable(s, sd) && (best < 0 || len(sd.exits) < len(r.sides[best].exits)) {
			best = end
		}
	}
	if best < 0 {
		return 0, false
	}
	var sum complex128
	for _, id := range r.sides[best].exits {
		exit := g.c.Branch(id)
		switch {
		case exit.Role == circuit.Source:
			amps, alone := s.update.SupplyAmps(id)
			if !alone {
				return 0, false
			}
			sum -= amps
		case r.sides[best].terminals[exit.A]:
			sum += s.update.Amps(id)
		default:
			sum -= s.update.Amps(id)
		}
	}
	return cmplx.Abs(sum), true
}

// usable tells whether the ways out of a side are those of the sound machine:
// no ground fault in it, no load shorted between it and the rest.
func (g *guard) usable(s *Sweep, sd *side) bool {
	for i := range s.faults {
		f := &s.faults[i]
		b := g.c.Branch(f.Branch)
		switch {
		case f.Kind == circuit.Grounded && (sd.terminals[g.c.ChassisTerminal()] || sd.groundedBy(b, f)),
			f.Kind == circuit.Short && sd.terminals[b.A] != sd.terminals[b.B]:
			return false
		}
	}
	return true
}

// groundedBy tells whether a ground fault may tie the side to the chassis.
func (sd *side) groundedBy(b *circuit.Branch, f *circuit.Fault) bool {
	switch {
	case b.Role == circuit.Load:
		return sd.terminals[b.A] || sd.terminals[b.B]
	case f.At >= 0.5:
		return sd.terminals[b.B]
	}
	return sd.terminals[b.A]
}

// newSide floods from one end of joints, B where far is set, through all joins
// and contacts.
func (g *guard) newSide(joints []circuit.BranchID, far bool) *side {
	near := map[circuit.TerminalID][]circuit.TerminalID{}
	for i := range g.c.Branches() {
		b := g.c.Branch(circuit.BranchID(i))
		if (b.Role == circuit.Join || b.Role == circuit.Contact) && !slices.Contains(joints, b.ID) {
			near[b.A] = append(near[b.A], b.B)
			near[b.B] = append(near[b.B], b.A)
		}
	}
	sd := &side{terminals: map[circuit.TerminalID]bool{}}
	var queue, others []circuit.TerminalID
	for _, id := range joints {
		from, to := g.c.Branch(id).A, g.c.Branch(id).B
		if far {
			from, to = to, from
		}
		queue, others = append(queue, from), append(others, to)
		sd.terminals[from] = true
	}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		for _, u := range near[t] {
			if !sd.terminals[u] {
				sd.terminals[u] = true
				queue = append(queue, u)
			}
		}
	}
	for _, to := range others {
		sd.loops = sd.loops || sd.terminals[to]
	}
	for i := range g.c.Branches() {
		b := g.c.Branch(circuit.BranchID(i))
		switch {
		case b.Role == circuit.Source && sd.terminals[b.B],
			b.Role == circuit.Load && sd.terminals[b.A] != sd.terminals[b.B]:
			sd.exits = append(sd.exits, b.ID)
		}
	}
	return sd
}
