package settle

import (
	"math/cmplx"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// Line is the machine settled in a mode with one resistance in it, a bad joint's
// or a leak's to the chassis, of every size at which no contact moves otherwise
// than in the sound machine and no protection opens: what a [Sweep] says of each
// size, at a fraction of its cost. Ask [Line.At] before anything else.
type Line struct {
	s     *Sweep
	at    *round
	volts *phasor.Line
	fault circuit.Fault // of the worst size that is held
	still bool          // it carries no current, in any round
}

// Line works out a fault of some ohms. Of the sizes, from the mildest to the
// worst, it holds as many as it can, and is nil where it can none. The outcome of
// the last [Sweep.Run] does not hold any longer.
func (s *Sweep) Line(f circuit.Fault, sizes []float64) (*Line, error) {
	b := s.c.Branch(f.Branch)
	// A bad joint of what trips by its current alone is one as any other.
	trips := s.loop.trips(b) && (f.Kind != circuit.HighResistance || b.Residual > 0)
	if s.stages == nil || b.Role == circuit.Drive || b.Secondary != circuit.None || b.Primary != circuit.None || trips || s.loop.felt(s.reach, &f) || s.loop.decides(b.ID) {
		return nil, nil
	}
	s.forget()
	s.last = nil
	n, still := len(sizes), true
	for _, g := range s.stages {
		for _, r := range g.rounds {
			s.at, still = r, still && r.live.Still(f)
			for ; n > 0; n-- {
				if f.Ohms = sizes[n-1]; s.stays(r, f) {
					break
				}
			}
		}
	}
	if n == 0 {
		return nil, nil
	}
	r := s.sound()
	volts, ok := r.live.Line(phasor.Input{Conducts: r.conducts, Faults: []circuit.Fault{f}})
	if !ok {
		return nil, nil
	}
	return &Line{s, r, volts, f, still}, nil
}

// At takes a size, and tells whether the line holds it.
func (l *Line) At(ohms float64) bool {
	worse := ohms > l.fault.Ohms || ohms <= 0
	if l.fault.Kind == circuit.Grounded {
		worse = ohms < l.fault.Ohms && !l.still
	}
	if worse {
		return false
	}
	l.volts.At(ohms)
	return true
}

// Chatter is nil: the machine settles.
func (l *Line) Chatter() *Chatter { return nil }

// LeastShare is [Outcome.LeastShare].
func (l *Line) LeastShare(load circuit.BranchID) float64 { return l.volts.Share(load) }

// MostShare is [Outcome.MostShare].
func (l *Line) MostShare(load circuit.BranchID) float64 { return l.volts.Share(load) }

// Motion is [Engine.Motion].
func (l *Line) Motion(load circuit.BranchID) Motion {
	return l.s.e.motion(load, func(id circuit.BranchID) bool { return l.at.conducts[id] }, l.at.acting[load], l.volts.LoadVolts, nil)
}

// Hums is [Outcome.Hums].
func (l *Line) Hums(load circuit.BranchID) bool {
	return l.at.conducts[load] && l.s.e.kept(load, nil) && l.Motion(load) == Hums
}

// decides tells of a load whose voltage moves a contact.
func (l *loop) decides(id circuit.BranchID) bool {
	if l.follows[id] {
		return true
	}
	for _, coil := range l.coils {
		if l.c.Branch(coil).Start == id {
			return true
		}
	}
	for i := range l.c.Controls() {
		if l.c.Controls()[i].Supply == id {
			return true
		}
	}
	return false
}

// watch is a voltage or current of the sound machine in a round, and how far it
// may change before something moves.
type watch struct {
	load  circuit.BranchID
	volts complex128
	known bool
	room  float64

	d    *device
	amps float64
}

// watched lists what may move something in a round.
func (s *Sweep) watched(r *round) ([]watch, error) {
	if r.watches != nil {
		return r.watches, nil
	}
	var err error
	if s.update, err = r.live.Apply(phasor.Input{Conducts: r.conducts}, nil); err != nil {
		return nil, err
	}
	s.loop.fail(nil)
	out := []watch{}
	over := func(load circuit.BranchID, limit float64) {
		b := s.c.Branch(load)
		v, known := s.update.Between(b.A, b.B)
		out = append(out, watch{load: load, volts: v, known: known, room: room(cmplx.Abs(v), limit)})
	}
	for _, coil := range s.loop.coils {
		b := s.c.Branch(coil)
		if !r.conducts[coil] {
			continue
		}
		if r.acting[coil] {
			over(coil, b.Dropout)
			continue
		}
		if over(coil, b.Pickup); b.Start != circuit.None {
			over(b.Start, s.c.Branch(b.Start).Pickup)
		}
	}
	for i := range s.c.Controls() {
		ctl := &s.c.Controls()[i]
		over(ctl.Supply, ctl.MinVolts)
	}
	for _, of := range [2][]*device{s.loop.sources, s.loop.devices} {
		for _, d := range of {
			if !s.loop.watches(d) {
				continue
			}
			amps, err := s.amps(d)
			if err != nil {
				amps = d.limit // it is looked at by settling
			}
			out = append(out, watch{d: d, amps: amps, room: d.limit*(1-tooNear) - 2*amps})
		}
	}
	r.watches = out
	return out, nil
}

// room is how far a figure may go without coming near a limit.
func room(figure, limit float64) float64 {
	return max(figure-limit, limit-figure) - 2*tooNear*limit
}

// stays tells whether in a round of the sound machine everything stays where it
// is with a fault of this size and any milder one. A voltage goes from the sound
// one to that of the worst by some share of the way, and so does a current.
func (s *Sweep) stays(r *round, f circuit.Fault) bool {
	watches, err := s.watched(r)
	if err != nil {
		return false
	}
	faults := []circuit.Fault{f}
	if s.update, err = r.live.Apply(phasor.Input{Conducts: r.conducts, Faults: faults}, []circuit.BranchID{f.Branch}); err != nil {
		return false
	}
	s.loop.fail(faults)
	sent := 0.0
	for i := range watches {
		w := &watches[i]
		if w.d == nil {
			b := s.c.Branch(w.load)
			if s.update.Untouched(b.A) && s.update.Untouched(b.B) {
				continue
			}
			if v, known := s.update.Between(b.A, b.B); known != w.known || cmplx.Abs(v-w.volts) >= w.room {
				return false
			}
			continue
		}
		if b := s.c.Branch(w.d.id); b.Role != circuit.Source && !w.d.residual && s.loop.resistive && sent <= w.d.limit {
			continue
		}
		amps, err := s.amps(w.d)
		if err != nil || amps >= w.room {
			return false
		}
		if s.c.Branch(w.d.id).Role == circuit.Source {
			sent += amps + 2*w.amps
		}
	}
	return true
}

// forget puts the round at hand back to what the sound machine has there.
func (s *Sweep) forget() {
	if s.at == nil {
		return
	}
	for _, id := range s.changed {
		s.at.in.Conducts[id] = s.at.conducts[id]
	}
	s.changed = s.changed[:0]
}
