package settle

import (
	"errors"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// maxMoreRounds is how many rounds more than the sound machine a faulty one
// gets to settle before the engine is asked, and maxSoundRounds how many the
// sound machine gets.
const (
	maxMoreRounds  = 8
	maxSoundRounds = 64
)

// tooNear is how near a limit, as a share of it, a figure is too near to say
// on which side the engine would find it.
const tooNear = 1e-9

// settle is [Engine.Run] by updates.
func (s *Sweep) settle(faults []circuit.Fault) error {
	s.last = nil
	if s.stages == nil {
		return fallBack{ReasonSound}
	}
	if c, _ := s.c.Rewired(faults); c != s.c {
		return fallBack{ReasonRewired}
	}
	s.loop.rest(faults)
	for _, g := range s.stages {
		s.stage = g
		s.loop.enter(g.mode)
		most := len(g.rounds) + maxMoreRounds
		if s.recording {
			most = maxSoundRounds
		}
		for n := 0; ; n++ {
			if n >= most {
				return fallBack{ReasonMoves}
			}
			if err := s.loop.round(n); err != nil {
				return err
			}
			settled, err := s.loop.step()
			if err != nil {
				return err
			}
			if settled && !s.loop.timeOut() {
				break
			}
			s.loop.advance()
		}
	}
	return nil
}

// record keeps the sound machine in its present state, solved, as the nth
// round of the stage. Where protection opened in it there is one already.
func (s *Sweep) record(n int) error {
	if n < len(s.stage.rounds) {
		return fallBack{ReasonSound}
	}
	r := &round{acting: slices.Clone(s.loop.state.acting), late: slices.Clone(s.loop.state.late),
		conducts: make([]bool, len(s.c.Branches())), senses: map[*circuit.Sense]reading{}}
	for i := range r.conducts {
		r.conducts[i] = s.loop.closed(s.c.Branch(circuit.BranchID(i)))
	}
	var err error
	if r.live, err = s.net.Base(phasor.Input{Conducts: r.conducts, Celsius: s.loop.mode.Celsius}); err != nil {
		return fallBack{ReasonSound}
	}
	r.in = phasor.Input{Conducts: slices.Clone(r.conducts)}
	s.stage.rounds = append(s.stage.rounds, r)
	return nil
}

// solve is [network]'s: what differs from the same round of the sound machine,
// by an update of it.
func (s *Sweep) solve(n int) error {
	if s.recording {
		if err := s.record(n); err != nil {
			return err
		}
	}
	s.Stats.Rounds++
	s.forget()
	r := s.stage.rounds[min(n, len(s.stage.rounds)-1)]
	l := s.loop
	s.at = r
	for i := range l.faults {
		s.changed = append(s.changed, l.faults[i].Branch)
	}
	for _, id := range l.protection {
		if l.state.tripped[id] {
			s.changed = append(s.changed, id)
		}
	}
	for _, movers := range [2][]circuit.BranchID{l.coils, l.drives} {
		for _, id := range movers {
			if l.state.acting[id] != r.acting[id] || l.state.late[id] != r.late[id] {
				s.changed = append(s.changed, l.moved[id]...)
			}
		}
	}
	for _, id := range s.changed {
		r.in.Conducts[id] = l.closed(s.c.Branch(id))
	}
	r.in.Faults = l.faults
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

func (s *Sweep) conducts(id circuit.BranchID) bool       { return s.at.in.Conducts[id] }
func (s *Sweep) loadVolts(load circuit.BranchID) float64 { return s.update.LoadVolts(load) }

// ohms is [network]'s: what the sound machine measures, unless a change lies
// where the sense could feel it.
func (s *Sweep) ohms(sense *circuit.Sense) (float64, bool, error) {
	touched := s.touches(sense)
	if have, ok := s.at.senses[sense]; ok && !touched {
		return have.ohms, have.connected, nil
	}
	if s.at.dead == nil {
		var err error
		if s.at.dead, err = s.net.DeadBase(phasor.Input{Conducts: s.at.conducts, Celsius: s.loop.mode.Celsius}); err != nil {
			return 0, false, fallBack{ReasonUnsolved}
		}
	}
	u, err := s.at.dead.Apply(s.at.in, s.changed)
	if err != nil {
		return 0, false, fallBack{ReasonUnsolved}
	}
	ohms, connected := u.Ohms(sense.Pin1, sense.Pin2)
	if !touched {
		s.at.senses[sense] = reading{ohms, connected}
	}
	return ohms, connected, nil
}

// touches tells whether any change lies where a sense could feel it.
func (s *Sweep) touches(sense *circuit.Sense) bool {
	for _, id := range s.changed {
		b := s.c.Branch(id)
		if b.Role != circuit.Source && b.Role != circuit.Drive && s.reach[b.A] == s.reach[sense.Pin1] {
			return true
		}
	}
	return false
}
