package suspect

import (
	"encoding/binary"
	"fmt"
	"hash/fnv"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// predict works out what a set of faults makes of an evidence's question.
func (w *worker) predict(ev Evidence, faults []circuit.Fault) (predicted, error) {
	if ev.Told != nil {
		return predicted{told: ev.Told.chance(w.bench.Circuit(), faults)}, nil
	}
	if s := ev.Symptom; s != nil {
		switch s.Whole {
		case 0:
		case AnyOf:
			var p predicted
			for i := range s.Of {
				one, err := w.predict(Evidence{Symptom: &s.Of[i]}, faults)
				if err != nil {
					return p, err
				}
				p.of = append(p.of, one)
			}
			return p, nil
		default:
			share, err := w.whole(s, faults)
			return predicted{share: share}, err
		}
		o, err := w.live(s.Mode, faults)
		if err != nil {
			return predicted{}, err
		}
		p := predicted{trips: len(o.Tripped) > 0, chatter: o.Chatter() != nil}
		if s.Load != circuit.None {
			sound, err := w.sound(s.Mode)
			if err != nil {
				return predicted{}, err
			}
			if p.share, p.should = o.LeastShare(s.Load), sound.LeastShare(s.Load); p.should < circuit.OnShare {
				p.share = o.MostShare(s.Load)
			}
		}
		return p, nil
	}
	r, state, err := w.reading(ev.Reading.Probes, ev.Reading.Mode, ev.Reading.Lift, faults)
	return predicted{reading: r, state: state}, err
}

// worker takes readings on its own bench, so that several can run at once.
type worker struct {
	bench *meter.Bench
	net   *phasor.Network
	sound func(circuit.ModeID) (circuit.Powered, error)
	// sweeps settle faults by updates on the sound machine, one per mode; deads
	// do so with the supply removed, one per position of the switches.
	sweeps   map[circuit.ModeID]*settle.Sweep
	deads    map[string]*meter.DeadSweep
	covering []circuit.ModeID // see [worker.coverage]
	// movers are the coils, drives and motors that move contacts.
	movers []circuit.BranchID
}

func newWorker(b *meter.Bench, net *phasor.Network, sound func(circuit.ModeID) (circuit.Powered, error)) *worker {
	w := &worker{bench: b, net: net, sound: sound, sweeps: map[circuit.ModeID]*settle.Sweep{}, deads: map[string]*meter.DeadSweep{}}
	moves := map[circuit.BranchID]bool{}
	for i := range b.Circuit().Branches() {
		if r := b.Circuit().Branch(circuit.BranchID(i)); r.Role == circuit.Contact && r.Rule.Actuator != circuit.ByPosition && !moves[r.Rule.By] {
			moves[r.Rule.By] = true
			w.movers = append(w.movers, r.Rule.By)
		}
	}
	return w
}

// live settles the machine with its supply on. What it returns holds until the
// next call for the same mode.
func (w *worker) live(mode circuit.ModeID, faults []circuit.Fault) (*settle.SweepOutcome, error) {
	s := w.sweeps[mode]
	if s == nil {
		var err error
		if s, err = settle.NewSweepOn(w.bench.Engine(), w.net, mode); err != nil {
			return nil, err
		}
		w.sweeps[mode] = s
	}
	o, err := s.Run(faults)
	if err != nil {
		return nil, err
	}
	return o, nil
}

// reading takes a reading, and tells the state of the machine it is taken on.
func (w *worker) reading(p meter.Probes, mode circuit.ModeID, lift []circuit.WireID, faults []circuit.Fault) (meter.Reading, uint64, error) {
	if p.Function.Live() {
		o, err := w.live(mode, faults)
		if err != nil {
			return meter.Reading{}, 0, err
		}
		return w.bench.QuickOn(o, p.Function, p.P, p.Q), w.state(o), nil
	}
	d, err := w.dead(mode)
	if err != nil {
		return meter.Reading{}, 0, err
	}
	if err := d.Set(away(w.bench.Circuit(), p, lift, faults), lift); err != nil {
		return meter.Reading{}, 0, err
	}
	return d.Ohms(p.P, p.Q), 0, nil
}

// dead is the machine with its supply removed.
func (w *worker) dead(mode circuit.ModeID) (*meter.DeadSweep, error) {
	key := fmt.Sprint(w.bench.Circuit().Mode(mode).Position)
	d := w.deads[key]
	if d == nil {
		var err error
		if d, err = w.bench.NewDeadSweep(w.net, mode); err != nil {
			return nil, err
		}
		w.deads[key] = d
	}
	return d, nil
}

// away puts the ground of a lifted wire where the wire still is: at the end
// that was not taken off.
func away(c *circuit.Circuit, p meter.Probes, lift []circuit.WireID, faults []circuit.Fault) []circuit.Fault {
	out := faults
	for i, f := range faults {
		wire := c.Branch(f.Branch).Wire
		if f.Kind != circuit.Grounded || wire == circuit.None || !slices.Contains(lift, wire) {
			continue
		}
		b := c.Branch(f.Branch)
		at := f.At
		switch {
		case b.A == p.P || b.A == p.Q:
			at = 1
		case b.B == p.P || b.B == p.Q:
			at = 0
		}
		if at != f.At {
			out = append(slices.Clone(out[:i]), out[i:]...)
			out[i].At = at
		}
	}
	return out
}

// state sums up which coils are pulled in and what tripped.
func (w *worker) state(o *settle.SweepOutcome) uint64 {
	h := fnv.New64a()
	for _, id := range w.movers {
		if o.Acting(id) {
			h.Write(binary.LittleEndian.AppendUint32(nil, uint32(id)))
		}
	}
	h.Write([]byte{0xff})
	for _, id := range o.Tripped {
		h.Write(binary.LittleEndian.AppendUint32(nil, uint32(id)))
	}
	return h.Sum64()
}
