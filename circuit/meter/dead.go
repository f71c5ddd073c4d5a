package meter

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// DeadSweep reads ohms with the supply removed under a great many sets of
// faults, each an update of the sound machine. No coil moves with the supply
// off, so that the faults themselves are all that changes. It must not be used
// by two goroutines at once.
type DeadSweep struct {
	b       *Bench
	in      phasor.Input
	sound   []bool // in.Conducts without faults
	unplug  []circuit.Fault
	bases   [3]*phasor.Base // nominal, lowest, highest cold ohms
	now     [3]*phasor.Update
	changed []circuit.BranchID
	faults  []circuit.Fault  // set last
	lift    []circuit.WireID // set last
	set     bool             // and all that follows from them
	lines   map[lineAt]*deadLine
}

// NewDeadSweep sets the machine up in a mode, on a network that other sweeps of
// the circuit may share.
func (b *Bench) NewDeadSweep(net *phasor.Network, mode circuit.ModeID) (*DeadSweep, error) {
	o, err := b.Dead(mode, nil)
	if err != nil {
		return nil, err
	}
	s := &DeadSweep{b: b, in: b.engine.Input(o)}
	s.unplug = slices.Clone(s.in.Faults)
	s.in.Faults = slices.Clone(s.in.Faults) // others have the first
	s.sound = slices.Clone(s.in.Conducts)
	for i, values := range b.coldValues() {
		in := s.in
		in.DeadOhms = values
		if s.bases[i], err = net.DeadBase(in); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// Set puts faults, and lifted wires, in place of those before.
func (s *DeadSweep) Set(faults []circuit.Fault, lift []circuit.WireID) error {
	if s.set && slices.Equal(s.faults, faults) && slices.Equal(s.lift, lift) {
		return nil
	}
	s.set, s.faults, s.lift = false, append(s.faults[:0], faults...), append(s.lift[:0], lift...)
	for _, id := range s.changed {
		s.in.Conducts[id] = s.sound[id]
	}
	s.changed = s.changed[:0]
	s.in.Faults = append(append(s.in.Faults[:0], s.unplug...), faults...)
	for _, f := range faults {
		s.changed = append(s.changed, f.Branch)
		if f.Kind == circuit.Welded {
			s.in.Conducts[f.Branch] = true
		}
	}
	for _, f := range faults {
		if f.Kind == circuit.Open {
			s.in.Conducts[f.Branch] = false
		}
	}
	for _, w := range lift {
		id := s.b.c.Wire(w).Branch
		s.changed = append(s.changed, id)
		s.in.Conducts[id] = false
	}
	for i, base := range s.bases {
		var err error
		if s.now[i], err = base.Apply(s.in, s.changed); err != nil {
			return err
		}
	}
	s.set = true
	return nil
}

// Ohms reads between two terminals under the faults set last.
func (s *DeadSweep) Ohms(p, q circuit.TerminalID) Reading {
	var ohms [3]float64
	var joined [3]bool
	for i, u := range s.now {
		ohms[i], joined[i] = u.Ohms(p, q)
	}
	return s.b.resistance(ohms, joined)
}

// Upstream marks the terminals that stay live with the machine's breaker off:
// everything joined to a supply conductor without passing the breaker, and the
// breaker itself. No resistance is ever measured there.
func (b *Bench) Upstream() map[circuit.TerminalID]bool {
	out := map[circuit.TerminalID]bool{}
	var queue []circuit.TerminalID
	for _, id := range b.c.Supply().Legs {
		queue = append(queue, b.c.Branch(id).B)
	}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		if out[t] {
			continue
		}
		out[t] = true
		if b.c.Part(b.c.Terminal(t).Part).Kind.Guards() {
			continue
		}
		for _, w := range b.c.Terminal(t).Wires {
			wire := b.c.Wire(w)
			for _, far := range [2]circuit.TerminalID{wire.From, wire.To} {
				p := b.c.Part(b.c.Terminal(far).Part).Kind
				if p == circuit.KindSupply || p.Guards() {
					queue = append(queue, far)
				}
			}
		}
	}
	return out
}
