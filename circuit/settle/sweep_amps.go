package settle

import (
	"errors"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
)

// side is a part of the machine on one side of a joint, and what leads out of
// it but for the joint.
type side struct {
	terminals map[circuit.TerminalID]bool
	// loops tells that the other end is reached too.
	loops bool
	// exits are loads with one end in it, and supply conductors.
	exits []circuit.BranchID
}

// amps is [network]'s. The current through an ideal join is, by Kirchhoff's
// law, what passes all other ways out of one side of it; so is what the poles
// of a residual-current device carry together.
func (s *Sweep) amps(d *device) (float64, error) {
	b := s.c.Branch(d.id)
	if b.Role == circuit.Source {
		var sum complex128
		for _, id := range d.joints {
			amps, alone := s.update.SupplyAmps(id)
			if d.residual && !alone {
				return 0, fallBack{ReasonCurrent}
			}
			sum += amps
		}
		return cmplx.Abs(sum), nil
	}
	if !d.residual && (b.Ohms > 0 || b.Role == circuit.Load) {
		return cmplx.Abs(s.update.Amps(d.id)), nil
	}
	for i := range s.loop.faults {
		if f := &s.loop.faults[i]; !d.residual && f.Branch == d.id && f.Kind == circuit.HighResistance {
			return cmplx.Abs(s.update.Amps(d.id)), nil
		}
	}
	sides, ok := s.sides[d]
	if !ok {
		sides = [2]*side{s.newSide(d.joints, false), s.newSide(d.joints, true)}
		s.sides[d] = sides
	}
	best := -1
	for end, sd := range sides {
		if sd.loops {
			return 0, fallBack{ReasonCurrent}
		}
		if s.usable(sd) && (best < 0 || len(sd.exits) < len(sides[best].exits)) {
			best = end
		}
	}
	if best < 0 {
		return 0, fallBack{ReasonCurrent}
	}
	var sum complex128
	for _, id := range sides[best].exits {
		exit := s.c.Branch(id)
		switch {
		case exit.Role == circuit.Source:
			amps, alone := s.update.SupplyAmps(id)
			if !alone {
				return 0, fallBack{ReasonCurrent}
			}
			sum -= amps
		case sides[best].terminals[exit.A]:
			sum += s.update.Amps(id)
		default:
			sum -= s.update.Amps(id)
		}
	}
	return cmplx.Abs(sum), nil
}

// Amps is the current through a branch.
func (o *SweepOutcome) Amps(id circuit.BranchID) (float64, error) {
	if o.full == nil && !o.Conducts(id) {
		return 0, nil
	}
	if o.full == nil {
		d := o.s.clamps[id]
		if d == nil {
			d = &device{id: id, joints: []circuit.BranchID{id}}
			o.s.clamps[id] = d
		}
		amps, err := o.s.amps(d)
		if why := (fallBack{}); !errors.As(err, &why) {
			return amps, err
		}
	}
	full, err := o.Full()
	if err != nil {
		return 0, err
	}
	return cmplx.Abs(full.AnyState.Amps[id]), nil
}

// usable tells whether the ways out of a side are those of the sound machine:
// no ground fault in it, no load shorted between it and the rest.
func (s *Sweep) usable(sd *side) bool {
	for i := range s.loop.faults {
		f := &s.loop.faults[i]
		b := s.c.Branch(f.Branch)
		switch {
		case f.Kind == circuit.Grounded && (sd.terminals[s.c.ChassisTerminal()] || sd.groundedBy(b, f)),
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
func (s *Sweep) newSide(joints []circuit.BranchID, far bool) *side {
	near := map[circuit.TerminalID][]circuit.TerminalID{}
	for i := range s.c.Branches() {
		b := s.c.Branch(circuit.BranchID(i))
		if (b.Role == circuit.Join || b.Role == circuit.Contact) && !slices.Contains(joints, b.ID) {
			near[b.A] = append(near[b.A], b.B)
			near[b.B] = append(near[b.B], b.A)
		}
	}
	sd := &side{terminals: map[circuit.TerminalID]bool{}}
	var queue, others []circuit.TerminalID
	for _, id := range joints {
		from, to := s.c.Branch(id).A, s.c.Branch(id).B
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
	for i := range s.c.Branches() {
		b := s.c.Branch(circuit.BranchID(i))
		switch {
		case b.Role == circuit.Source && sd.terminals[b.B],
			b.Role == circuit.Load && sd.terminals[b.A] != sd.terminals[b.B]:
			sd.exits = append(sd.exits, b.ID)
		}
	}
	return sd
}
