package suspect

import (
	"cmp"
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
	if ev.Told != nil && ev.Told.settles() {
		o, err := w.live(ev.Told.ask.Mode, faults)
		if err != nil {
			return predicted{}, err
		}
		return predicted{told: ev.Told.ask.clicks(w.bench.Circuit(), o.Acting)[ev.Told.answer]}, nil
	}
	if ev.Told != nil {
		return predicted{told: w.told(ev.Told, faults)}, nil
	}
	if s := ev.Symptom; s != nil {
		if of := s.meanings(); of != nil {
			var p predicted
			for i := range of {
				one, err := w.predict(Evidence{Symptom: &of[i]}, faults)
				if err != nil {
					return p, err
				}
				p.of = append(p.of, one)
			}
			return p, nil
		}
		if s.Trips {
			trips, err := w.tripsIn(s.Mode, faults)
			return predicted{trips: trips, another: trips && w.another(s.Mode, faults), arcs: !trips && w.arcs(s.Mode, faults)}, err
		}
		switch s.Whole {
		case 0, Pushed:
		case RunsHot, RunsCold, RunsOut, AsSet, Slow:
			p, err := w.heated(s.Mode, faults)
			for _, mode := range s.slowIn {
				before, err := w.heated(mode, faults)
				if err != nil {
					return p, err
				}
				p.before = append(p.before, before)
			}
			return p, err
		default:
			share, err := w.whole(s, faults)
			p := predicted{share: share}
			if err == nil && s.Whole == Quiet && !s.coded {
				p.coded, err = w.coded(s.Mode, faults)
				if err == nil && share < circuit.OnShare && !w.spokenOfControl(s.Except) {
					p.dark, err = w.darkens(w.bench.Circuit().OffMode(), faults)
				}
			}
			if err == nil && s.Whole == Quiet && !s.tripped {
				p.trips, err = w.tripsIn(circuit.None, faults)
			}
			return p, err
		}
		faults := w.likeFirst(faults, s.Load)
		if s.pushed {
			if p, ok, err := w.pushed(s, faults); ok || err != nil {
				return p, err
			}
		}
		o, err := w.tabled(s.Mode, s.Load, faults)
		if o == nil && err == nil {
			o, err = w.look(s.Mode, faults, s.Load)
		}
		if err != nil {
			return predicted{}, err
		}
		return w.shows(s, o, faults)
	}
	r, state, err := w.reading(ev.Reading.Probes, ev.Reading.Mode, ev.Reading.Lift, faults)
	return predicted{reading: r, state: state}, err
}

// heated is what heats in a mode gets, and how warm the machine gets by it.
func (w *worker) heated(mode circuit.ModeID, faults []circuit.Fault) (predicted, error) {
	is, should, err := w.heat(mode, faults)
	if err != nil {
		return predicted{}, err
	}
	p := predicted{share: is / max(should, 1e-9)}
	if p.share < circuit.OnShare {
		if p.dark, err = w.darkens(mode, faults); err != nil {
			return p, err
		}
	}
	if p.stands, err = w.stands(mode, faults); err != nil {
		return p, err
	}
	p.warmth, p.warms, err = w.warmth(mode, faults)
	return p, err
}

// stands reports whether faults leave a drive motor standing that should turn in a mode.
func (w *worker) stands(mode circuit.ModeID, faults []circuit.Fault) (bool, error) {
	o, sound, err := w.beside(mode, faults)
	if err != nil {
		return false, err
	}
	c := w.bench.Circuit()
	return slices.ContainsFunc(o.loads, func(l loadLook) bool {
		return c.Branch(l.load).Start != circuit.None && sound.LeastShare(l.load) >= circuit.OnShare && (l.hums || l.most < circuit.OnShare)
	}), nil
}

// darkens reports whether faults leave a control dead in a mode: its display is dark. Where
// there is none, it is the clock's that is on while all is off.
func (w *worker) darkens(mode circuit.ModeID, faults []circuit.Fault) (bool, error) {
	o, sound, err := w.beside(mode, faults)
	if err != nil {
		return false, err
	}
	c := w.bench.Circuit()
	clock := len(c.Controls()) == 0 && mode == c.OffMode()
	return slices.ContainsFunc(o.loads, func(l loadLook) bool {
		return (kindOf(c, l.load) == circuit.KindControl || clock) && l.most < circuit.OnShare && sound.LeastShare(l.load) >= circuit.OnShare
	}), nil
}

// worker takes readings on its own bench, so that several can run at once.
type worker struct {
	bench *meter.Bench
	net   *phasor.Network
	sound func(circuit.ModeID) (circuit.Powered, error)
	// sweeps settle faults by updates on the sound machine, one per mode; deads
	// do so with the supply removed, one per position of the switches.
	sweeps   map[circuit.ModeID]*settle.Sweep
	deads    map[circuit.ModeID]*meter.DeadSweep
	covering []circuit.ModeID // see [worker.coverage]
	// looks keeps what a person would see of faults in a mode: each load that is
	// told of asks the same again. It is emptied when it is full.
	looks     map[lookOf]*look
	number    map[circuit.Fault]int32 // of each fault that was looked at
	loads     []circuit.BranchID      // in order
	*collapse                         // nil on machines that are rewired
	// lines are what a bad joint or a leak of any size does; emptied when full.
	lines  map[lineOf]*settle.Line
	others map[string]*others // by the names of those excepted
	along  look               // what one shows
	joint  float64            // the most ohms of one that is weighed; 0 until asked for
	ohms   map[circuit.FaultKind][]float64
	// passing is set while faults are looked at that nobody asks for again: what they
	// show is not kept.
	passing bool
	// movers are the coils, drives and motors that move contacts.
	movers []circuit.BranchID
	// coding marks what a control with codes sees through.
	coding  []bool
	warmers map[circuit.ModeID]*warmer
	// pairs are those that are weighed at present, where there are many.
	pairs       *pairTables
	predictions []predicted // see [Engine.predicted]
	// rewired work on the machine with wires that lie elsewhere, by where.
	rewired map[string]*worker
}

func newWorker(b *meter.Bench, net *phasor.Network, sound func(circuit.ModeID) (circuit.Powered, error)) *worker {
	w := &worker{bench: b, net: net, sound: sound, sweeps: map[circuit.ModeID]*settle.Sweep{}, deads: map[circuit.ModeID]*meter.DeadSweep{}, looks: map[lookOf]*look{}, number: map[circuit.Fault]int32{}, lines: map[lineOf]*settle.Line{}, others: map[string]*others{}, ohms: map[circuit.FaultKind][]float64{}, rewired: map[string]*worker{}, warmers: map[circuit.ModeID]*warmer{}}
	w.coding = senseBranches(b.Circuit(), func(ctl *circuit.Control) bool { return len(ctl.Codes) > 0 })
	moves := map[circuit.BranchID]bool{}
	for i := range b.Circuit().Branches() {
		r := b.Circuit().Branch(circuit.BranchID(i))
		if r.Role == circuit.Load {
			w.loads = append(w.loads, r.ID)
		}
		if r.Role == circuit.Contact && r.Rule.Actuator != circuit.ByPosition && !moves[r.Rule.By] {
			moves[r.Rule.By] = true
			w.movers = append(w.movers, r.Rule.By)
		}
	}
	return w
}

// look is what a person sees of a machine in a mode.
type look struct {
	trips, chatters bool
	loads           []loadLook
}

// loadLook is what a load takes, as a share of its rated power.
type loadLook struct {
	least, most float64
	load        circuit.BranchID // here, and not first, so that it takes less room
	hums        bool
	motion      settle.Motion
}

func (l *look) of(load circuit.BranchID) loadLook {
	at, _ := slices.BinarySearchFunc(l.loads, load, func(s loadLook, id circuit.BranchID) int { return cmp.Compare(s.load, id) })
	return l.loads[at]
}

// lookOf tells what a look is of: a mode and faults, the first two by their numbers
// in the worker, from 1, any others in words.
type lookOf struct {
	mode     circuit.ModeID
	one, two int32
	more     string
}

// maxLooks bounds what a worker keeps, in loads looked at. Of a machine with many
// loads those that are asked for are looked at alone, once there is no more room.
const maxLooks, manyLoads = 400000, 64

// look settles the machine and keeps what is seen of it. What it gives holds until
// the next look; where loads are named, for them.
func (w *worker) look(mode circuit.ModeID, faults []circuit.Fault, loads ...circuit.BranchID) (*look, error) {
	keeps, at := !w.passing || len(faults) == 0, lookOf{}
	if keeps {
		at = w.lookOf(mode, faults)
		if kept := w.looks[at]; kept != nil {
			return kept, nil
		}
	}
	if len(faults) == 1 && w.idle(mode, faults[0]) {
		return w.look(mode, nil, loads...)
	}
	if before, err := w.stays(mode, faults); err != nil {
		return nil, err
	} else if before != mode {
		return w.look(before, faults, loads...)
	}
	if l, err := w.lookAlong(mode, faults, loads); l != nil || err != nil {
		// Lines are quick: what they show is kept as long as there is room.
		if err == nil && keeps && len(l.loads) == len(w.loads) && len(w.looks)*len(w.loads) < maxLooks {
			kept := *l
			kept.loads = slices.Clone(l.loads)
			w.looks[at] = &kept
		}
		return l, err
	}
	o, err := w.live(mode, faults)
	if err != nil {
		return nil, err
	}
	if !keeps {
		if len(loads) == 0 || loads[0] == circuit.None {
			loads = w.loads
		}
		w.along.at(o, len(o.Tripped) > 0, loads)
		return &w.along, nil
	}
	if full := len(w.looks)*len(w.loads) >= maxLooks; full && len(w.loads) > manyLoads && len(loads) > 0 && loads[0] != circuit.None {
		w.along.at(o, len(o.Tripped) > 0, loads)
		return &w.along, nil
	} else if full {
		clear(w.looks)
	}
	l := &look{}
	l.at(o, len(o.Tripped) > 0, w.loads)
	w.looks[at] = l
	return l, nil
}

// lookOf is where what faults show in a mode is kept.
func (w *worker) lookOf(mode circuit.ModeID, faults []circuit.Fault) lookOf {
	at := lookOf{mode: mode}
	for i, to := range []*int32{&at.one, &at.two}[:min(2, len(faults))] {
		if *to = w.number[faults[i]]; *to == 0 {
			*to = int32(len(w.number) + 1)
			w.number[faults[i]] = *to
		}
	}
	if len(faults) > 2 {
		at.more = fmt.Sprint(faults[2:])
	}
	return at
}

// stays is the mode that the machine stays in where one is waited for that comes
// of the heat of the mode before it: that one, where nothing heats in it.
func (w *worker) stays(mode circuit.ModeID, faults []circuit.Fault) (circuit.ModeID, error) {
	c := w.bench.Circuit()
	before := c.Earlier(mode)
	if before == circuit.None {
		return mode, nil
	}
	is, err := w.look(before, faults)
	if err != nil {
		return mode, err
	}
	sound, err := w.sound(before)
	if err != nil {
		return mode, err
	}
	none := false
	for _, l := range is.loads {
		if !c.Part(c.Branch(l.load).Part).Kind.Heats() || sound.LeastShare(l.load) < circuit.OnShare {
			continue
		}
		if l.most >= circuit.OnShare*sound.LeastShare(l.load) {
			return mode, nil
		}
		none = true
	}
	if none {
		return before, nil
	}
	return mode, nil
}

// at looks at some loads of a settled machine.
func (l *look) at(o settledLoads, trips bool, loads []circuit.BranchID) {
	l.trips, l.chatters, l.loads = trips, o.Chatter() != nil, slices.Grow(l.loads[:0], len(loads))
	for _, id := range loads {
		seen := loadLook{load: id, least: o.LeastShare(id), hums: o.Hums(id), motion: o.Motion(id)}
		if seen.most = seen.least; l.chatters {
			seen.most = o.MostShare(id)
		}
		l.loads = append(l.loads, seen)
	}
}

// idle tells of a fault that leaves all that is looked at as in a sound machine.
func (w *worker) idle(mode circuit.ModeID, f circuit.Fault) bool {
	s, err := w.sweep(mode)
	return err == nil && s.Idle(f)
}

// on is the worker for a machine whose moved wires lie where faults put them, and
// the other faults.
func (w *worker) on(faults []circuit.Fault) (*worker, []circuit.Fault) {
	if !slices.ContainsFunc(faults, func(f circuit.Fault) bool { return f.Kind == circuit.Moved }) {
		return w, faults
	}
	var moved, others []circuit.Fault
	for _, f := range faults {
		if f.Kind == circuit.Moved {
			moved = append(moved, f)
		} else {
			others = append(others, f)
		}
	}
	key := fmt.Sprint(moved)
	at := w.rewired[key]
	if at == nil {
		c, _ := w.bench.Circuit().Rewired(moved)
		b := meter.New(c, w.bench.Instrument)
		b.Ambient = w.bench.Ambient
		at = newWorker(b, phasor.NewNetwork(c), w.sound)
		w.rewired[key] = at
	}
	return at, others
}

// live settles the machine with its supply on. What it returns holds until the
// next call for the same mode.
func (w *worker) live(mode circuit.ModeID, faults []circuit.Fault) (*settle.SweepOutcome, error) {
	w, faults = w.on(faults)
	s, err := w.sweep(mode)
	if err != nil {
		return nil, err
	}
	o, err := s.Run(faults)
	if err != nil {
		return nil, err
	}
	return o, nil
}

func (w *worker) sweep(mode circuit.ModeID) (*settle.Sweep, error) {
	s, err := w.sweeps[mode], error(nil)
	if s == nil {
		if s, err = settle.NewSweepOn(w.bench.Engine(), w.net, mode); err == nil {
			w.sweeps[mode] = s
		}
	}
	return s, err
}

// reading takes a reading, and tells the state of the machine it is taken on.
func (w *worker) reading(p meter.Probes, mode circuit.ModeID, lift []circuit.WireID, faults []circuit.Fault) (meter.Reading, uint64, error) {
	w, faults = w.on(faults)
	if p.Function.Live() {
		o, err := w.live(mode, faults)
		if err != nil {
			return meter.Reading{}, 0, err
		}
		state := w.state(o)
		if p.Function == meter.Amps {
			r, err := w.clamp(o, p, mode, faults)
			return r, state, err
		}
		return w.bench.QuickOn(o, p.Function, p.P, p.Q), state, nil
	}
	d, err := w.dead(mode)
	if err != nil {
		return meter.Reading{}, 0, err
	}
	if w.passing && len(faults) == 1 && faults[0].Kind == circuit.HighResistance && len(lift) == 0 {
		r, err := d.Along(faults[0], w.worstJoint(), p.P, p.Q)
		return r, 0, err
	}
	if err := d.Set(away(w.bench.Circuit(), p, lift, faults), lift); err != nil {
		return meter.Reading{}, 0, err
	}
	return d.Ohms(p.P, p.Q), 0, nil
}

// clamp is what a clamp shows around the wire between two terminals.
func (w *worker) clamp(o *settle.SweepOutcome, p meter.Probes, mode circuit.ModeID, faults []circuit.Fault) (meter.Reading, error) {
	wire, err := w.bench.Circuit().WireBetween(p.P, p.Q)
	if err != nil {
		return meter.Reading{}, nil // it was moved away
	}
	amps, err := o.Amps(wire)
	locked, humming := amps, o.Locked()
	if err == nil && len(humming) > 0 {
		if o, err = w.live(mode, append(slices.Clip(faults), humming...)); err == nil {
			locked, err = o.Amps(wire)
		}
	}
	return w.bench.QuickAmps(amps, locked), err
}

// dead is the machine with its supply removed.
func (w *worker) dead(mode circuit.ModeID) (*meter.DeadSweep, error) {
	if d := w.deads[mode]; d != nil {
		return d, nil
	}
	c := w.bench.Circuit()
	for other, d := range w.deads {
		if slices.Equal(c.Mode(other).Position, c.Mode(mode).Position) {
			w.deads[mode] = d
			return d, nil
		}
	}
	d, err := w.bench.NewDeadSweep(w.net, mode)
	if err == nil {
		w.deads[mode] = d
	}
	return d, err
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
		on := func(t circuit.TerminalID) bool { // the part that is probed, whichever end it was taken off
			part := c.Terminal(t).Part
			return t != c.ChassisTerminal() && (part == c.Terminal(p.P).Part || part == c.Terminal(p.Q).Part)
		}
		switch {
		case on(b.A):
			at = 1
		case on(b.B):
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
