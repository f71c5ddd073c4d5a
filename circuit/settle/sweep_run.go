package settle

import (
	"errors"
	"math"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// patience is how many rounds more than the sound machine a faulty one gets to
// settle before the engine is asked.
const patience = 8

// patienceSound is how many rounds the sound machine gets.
const patienceSound = 64

// settleSound settles the machine without faults, keeping every round.
func (s *Sweep) settleSound() error {
	s.rest(nil)
	for _, g := range s.stages {
		for settled := false; !settled; {
			if len(g.rounds) > patienceSound {
				return fallBack{ReasonSound}
			}
			if err := s.addRound(g); err != nil {
				var why fallBack
				if errors.As(err, &why) {
					return fallBack{ReasonSound}
				}
				return err
			}
			var err error
			if settled, err = s.step(g); err != nil {
				return err
			}
		}
	}
	return nil
}

// addRound solves the sound machine in the present state.
func (s *Sweep) addRound(g *stage) error {
	m := s.c.Mode(g.mode)
	r := &round{stage: g, acting: append([]bool(nil), s.state.acting...), late: append([]bool(nil), s.state.late...),
		conducts: make([]bool, len(s.state.acting))}
	for i := range r.conducts {
		r.conducts[i] = s.conducts(s.c.Branch(circuit.BranchID(i)), m)
	}
	in := phasor.Input{Conducts: r.conducts, Celsius: m.Celsius}
	var err error
	if r.live, err = s.net.Base(in); err != nil {
		return fallBack{ReasonSound}
	}
	if len(g.senses) > 0 {
		if r.dead, err = s.net.DeadBase(in); err != nil {
			return fallBack{ReasonSound}
		}
	}
	r.in = phasor.Input{Conducts: append([]bool(nil), r.conducts...)}
	g.rounds = append(g.rounds, r)
	if err := s.solve(r); err != nil {
		return err
	}
	for _, sense := range g.senses {
		ok, err := s.look(r, sense)
		if err != nil {
			return err
		}
		r.sees = append(r.sees, ok)
	}
	if tripped, err := s.guard.overcurrent(s); err != nil || tripped {
		return fallBack{ReasonSound}
	}
	return nil
}

// rest puts every mover at rest under the faults.
func (s *Sweep) rest(faults []circuit.Fault) {
	for _, id := range s.guard.movers {
		s.state.tripped[id] = false
	}
	for _, id := range s.e.coils {
		s.state.acting[id], s.state.late[id] = false, false
	}
	for _, id := range s.e.drives {
		s.state.acting[id], s.state.late[id] = false, false
	}
	s.faults = faults
}

// settle is [Engine.Run] by updates.
func (s *Sweep) settle(faults []circuit.Fault) error {
	if s.stages == nil {
		return fallBack{ReasonSound}
	}
	s.rest(faults)
	for _, g := range s.stages {
		for n, settled := 0, false; !settled; n++ {
			if n >= len(g.rounds)+patience {
				return fallBack{ReasonMoves}
			}
			if err := s.round(g.rounds[min(n, len(g.rounds)-1)]); err != nil {
				return err
			}
			var err error
			if settled, err = s.step(g); err != nil {
				return err
			}
		}
	}
	return nil
}

// round is [Engine.round] by updates of a round of the sound machine.
func (s *Sweep) round(r *round) error {
	for {
		if err := s.solve(r); err != nil {
			return err
		}
		tripped, err := s.guard.overcurrent(s)
		if err != nil || !tripped {
			return err
		}
	}
}

// solve finds what differs from the round of the sound machine, and the
// voltages.
func (s *Sweep) solve(r *round) error {
	s.Stats.Rounds++
	if s.at != nil {
		for _, id := range s.changed {
			s.at.in.Conducts[id] = s.at.conducts[id]
		}
	}
	s.at, s.changed = r, s.changed[:0]
	for i := range s.faults {
		s.changed = append(s.changed, s.faults[i].Branch)
	}
	for _, id := range s.guard.movers {
		if s.state.tripped[id] {
			s.changed = append(s.changed, id)
		}
	}
	for _, movers := range [2][]circuit.BranchID{s.e.coils, s.e.drives} {
		for _, id := range movers {
			if s.state.acting[id] != r.acting[id] || s.state.late[id] != r.late[id] {
				s.changed = append(s.changed, s.moved[id]...)
			}
		}
	}
	m := s.c.Mode(r.stage.mode)
	for _, id := range s.changed {
		r.in.Conducts[id] = s.conducts(s.c.Branch(id), m)
	}
	r.in.Faults = s.faults
	u, err := r.live.Apply(r.in, s.changed)
	var short *phasor.ShortError
	switch {
	case errors.As(err, &short):
		return fallBack{ReasonShort}
	case err != nil:
		return fallBack{ReasonUnsolved}
	}
	s.update = u
	return nil
}

// conducts is what [Engine.contacts] finds for one branch.
func (s *Sweep) conducts(b *circuit.Branch, m *circuit.Mode) bool {
	open, weld := s.broken(b.ID)
	if open || s.state.tripped[b.ID] {
		return false
	}
	if b.Role != circuit.Contact || weld {
		return true
	}
	if b.Rule.Actuator == circuit.ByPosition {
		return b.Rule.Closed[m.Position[b.Part]]
	}
	acts := s.state.acting[b.Rule.By]
	if b.Rule.Timed {
		acts = acts && s.state.late[b.Rule.By]
	}
	return acts != b.Rule.NormallyClosed
}

// broken tells whether the faults open or weld a branch.
func (s *Sweep) broken(id circuit.BranchID) (open, weld bool) {
	for i := range s.faults {
		if f := &s.faults[i]; f.Branch == id {
			open = open || f.Kind == circuit.Open
			weld = weld || f.Kind == circuit.Welded
		}
	}
	return open, weld
}

// seized tells whether the faults keep a motor from turning.
func (s *Sweep) seized(motor circuit.BranchID) bool {
	for i := range s.faults {
		if f := &s.faults[i]; f.Branch == motor && f.Kind == circuit.Seized {
			return true
		}
	}
	return false
}

// step moves every mover to where the last round wants it, as [Engine.next],
// and tells whether none moved.
func (s *Sweep) step(g *stage) (settled bool, err error) {
	settled = true
	move := func(id circuit.BranchID, acts bool) {
		late := s.state.late[id] && acts
		settled = settled && acts == s.state.acting[id] && late == s.state.late[id]
		s.next.acting[id], s.next.late[id] = acts, late
	}
	for _, coil := range s.e.coils {
		acts, err := s.pulls(coil)
		if err != nil {
			return false, err
		}
		move(coil, acts)
	}
	for _, d := range s.e.drives {
		s.next.acting[d] = false
	}
	for _, i := range g.controls {
		ready, err := s.ready(g, i)
		if err != nil {
			return false, err
		}
		for _, d := range s.e.drives {
			if ready && g.wanted[d] && s.c.ControlOf(d) == &s.c.Controls()[i] {
				open, _ := s.broken(d)
				s.next.acting[d] = !open
			}
		}
	}
	for _, d := range s.e.drives {
		move(d, s.next.acting[d])
	}
	if settled && !s.c.Mode(g.mode).Brief {
		// As [Engine.timeOut].
		for coil := range s.e.timed {
			if s.next.acting[coil] && !s.next.late[coil] {
				s.next.late[coil], settled = true, false
			}
		}
	}
	for _, movers := range [2][]circuit.BranchID{s.e.coils, s.e.drives} {
		for _, id := range movers {
			s.state.acting[id], s.state.late[id] = s.next.acting[id], s.next.late[id]
		}
	}
	return settled, nil
}

// pulls is [Engine.pulls].
func (s *Sweep) pulls(coil circuit.BranchID) (bool, error) {
	b := s.c.Branch(coil)
	if !s.at.in.Conducts[coil] || s.seized(coil) {
		return false, nil
	}
	volts := s.update.LoadVolts(coil)
	if s.state.acting[coil] {
		return reaches(volts, b.Dropout)
	}
	if ok, err := reaches(volts, b.Pickup); !ok || err != nil || b.Start == circuit.None {
		return ok, err
	}
	if !s.at.in.Conducts[b.Start] {
		return false, nil
	}
	return reaches(s.update.LoadVolts(b.Start), s.c.Branch(b.Start).Pickup)
}

// tooNear is how near a limit, as a share of it, a figure is too near to say
// on which side the engine would find it.
const tooNear = 1e-9

// reaches compares a figure with the limit it must reach.
func reaches(figure, limit float64) (bool, error) {
	if limit > 0 && math.Abs(figure-limit) <= tooNear*limit {
		return false, fallBack{ReasonNear}
	}
	return figure >= limit, nil
}

// ready tells whether a control can drive its relays.
func (s *Sweep) ready(g *stage, control int) (bool, error) {
	ctl := &s.c.Controls()[control]
	if !s.at.in.Conducts[ctl.Supply] {
		return false, nil
	}
	if ok, err := reaches(s.update.LoadVolts(ctl.Supply), ctl.MinVolts); !ok || err != nil {
		return false, err
	}
	for k, sense := range g.senses {
		if sense.control != control {
			continue
		}
		ok := s.at.sees[k]
		if s.touches(sense) {
			var err error
			if ok, err = s.look(s.at, sense); err != nil {
				return false, err
			}
		}
		if !ok {
			return false, nil
		}
	}
	return true, nil
}

// touches tells whether any change lies where a sense could feel it.
func (s *Sweep) touches(sense stageSense) bool {
	for _, id := range s.changed {
		b := s.c.Branch(id)
		if b.Role != circuit.Source && b.Role != circuit.Drive && s.loop[b.A] == s.loop[sense.Pin1] {
			return true
		}
	}
	return false
}

// look measures a sense.
func (s *Sweep) look(r *round, sense stageSense) (bool, error) {
	u, err := r.dead.Apply(r.in, s.changed)
	if err != nil {
		return false, fallBack{ReasonUnsolved}
	}
	ohms, connected := u.Ohms(sense.Pin1, sense.Pin2)
	if !connected {
		return false, nil
	}
	enough, err := reaches(ohms, sense.MinOhms)
	if err != nil {
		return false, err
	}
	over, err := reaches(ohms, sense.MaxOhms)
	return enough && !over, err
}
