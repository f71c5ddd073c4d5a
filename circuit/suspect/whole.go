package suspect

import (
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// whole is how much all loads that a symptom tells of get together, as a share
// of what they get in a sound machine: of [Slow], what heats in its mode; of
// [SomeOn], the one that heats most, of its rating; of
// [AllDead], the load that gets most, each in the first mode in which it should be
// on: that a burner's coil feeds the clock backwards while it is selected, with a leg
// lost, whoever finds all dead does not notice.
func (w *worker) whole(s *Symptom, faults []circuit.Fault) (float64, error) {
	if s.Whole == SomeOn {
		return w.mostHeat(s.Mode, s.Among, faults)
	}
	if s.Whole == Quiet {
		return w.leastOfOthers(s.Except, faults)
	}
	c, most, judged := w.bench.Circuit(), 0.0, map[circuit.BranchID]bool{}
	for _, mode := range w.coverage() {
		o, err := w.look(mode, w.likeFirst(faults))
		if err != nil {
			return 0, err
		}
		for _, seen := range o.loads {
			if noticed(c, seen.load) && !judged[seen.load] {
				most = max(most, seen.least)
			}
		}
		if most >= circuit.OnShare {
			break
		}
		for _, x := range c.Mode(mode).Expect {
			judged[x.Load] = judged[x.Load] || x.Share > 0
		}
	}
	return most, nil
}

// tripsIn reports whether protection opens in a mode, with None in any. In Off it
// holds besides, unless that is the mode: nobody selects another where it does not.
func (w *worker) tripsIn(mode circuit.ModeID, faults []circuit.Fault) (bool, error) {
	off := w.bench.Circuit().OffMode()
	idle, err := w.look(off, faults)
	switch {
	case err != nil || mode == off:
		return err == nil && idle.trips, err
	case idle.trips:
		return mode == circuit.None, nil
	}
	modes := []circuit.ModeID{mode}
	if mode == circuit.None {
		modes = w.coverage()
	}
	for _, mode := range modes {
		if o, err := w.look(mode, faults); err != nil || o.trips {
			return err == nil, err
		}
	}
	return false, nil
}

// beside looks at a mode with faults, and gives the sound machine beside it.
func (w *worker) beside(mode circuit.ModeID, faults []circuit.Fault) (*look, circuit.Powered, error) {
	sound, err := w.sound(mode)
	if err != nil {
		return nil, nil, err
	}
	o, err := w.look(mode, faults)
	return o, sound, err
}

// mostHeat is the largest share of its rating that anything, or any of some, gets that
// heats where it should not: in a mode or, with None, in any.
func (w *worker) mostHeat(mode circuit.ModeID, names string, faults []circuit.Fault) (float64, error) {
	c, most := w.bench.Circuit(), 0.0
	among, err := loadsNamed(c, names)
	if err != nil {
		return 0, err
	}
	modes := []circuit.ModeID{mode}
	if mode == circuit.None {
		modes = modes[:0]
		for i := range c.Modes() {
			modes = append(modes, circuit.ModeID(i))
		}
	}
	for _, mode := range modes {
		if len(modes) > 1 && w.limited(mode) {
			continue // nobody speaks of how it stands then
		}
		o, sound, err := w.beside(mode, w.likeFirst(faults))
		if err != nil {
			return 0, err
		}
		for _, seen := range o.loads {
			told := len(among) == 0 || slices.Contains(among, seen.load)
			if told && c.Part(c.Branch(seen.load).Part).Kind.Heats() && sound.LeastShare(seen.load) < circuit.OnShare {
				most = max(most, seen.most)
			}
		}
	}
	return most, nil
}

// limited reports whether a limit stands open in a mode.
func (w *worker) limited(mode circuit.ModeID) bool {
	c := w.bench.Circuit()
	for i := range c.Parts() {
		if p := c.Part(circuit.PartID(i)); p.Kind == circuit.KindLimit && len(p.Positions) > 0 && c.Mode(mode).Position[i] != p.Rest {
			return true
		}
	}
	return false
}

// others are the loads that are noticed, but some that are excepted.
type others struct {
	except []circuit.BranchID
	modes  []othersIn // of the coverage
	// passed is what was found of faults while nothing else was kept of them: joints of
	// one chain are weighed one after the other, of the same sizes.
	passed map[circuit.Fault]float64
}

// othersIn are those that should be on in a mode, and what they get in a sound machine.
type othersIn struct {
	mode   circuit.ModeID
	loads  []circuit.BranchID
	should []float64
}

// mostPassed bounds what is kept of faults that pass.
const mostPassed = 1 << 13

// othersOf lists the loads but those of some names, once.
func (w *worker) othersOf(names string) (*others, error) {
	if o := w.others[names]; o != nil {
		return o, nil
	}
	c := w.bench.Circuit()
	except, err := loadsNamed(c, names)
	if err != nil {
		return nil, err
	}
	o := &others{except: except, passed: map[circuit.Fault]float64{}}
	for _, mode := range w.coverage() {
		sound, err := w.sound(mode)
		if err != nil {
			return nil, err
		}
		in := othersIn{mode: mode}
		for _, load := range w.loads {
			if should := sound.LeastShare(load); should >= circuit.OnShare && noticed(c, load) && !slices.Contains(except, load) {
				in.loads, in.should = append(in.loads, load), append(in.should, should)
			}
		}
		o.modes = append(o.modes, in)
	}
	w.others[names] = o
	return o, nil
}

// leastOfOthers is the least that any load that is noticed gets of what it should,
// those excepted left out; where it is weak, in the first mode that shows it.
func (w *worker) leastOfOthers(names string, faults []circuit.Fault) (float64, error) {
	o, err := w.othersOf(names)
	if err != nil {
		return 0, err
	}
	faults = w.likeFirst(faults, o.except...)
	if !w.passing || len(faults) != 1 {
		return w.leastOf(o, faults)
	}
	least, ok := o.passed[faults[0]]
	if !ok {
		if least, err = w.leastOf(o, faults); err != nil {
			return 0, err
		}
		if len(o.passed) >= mostPassed {
			clear(o.passed)
		}
		o.passed[faults[0]] = least
	}
	return least, nil
}

func (w *worker) leastOf(o *others, faults []circuit.Fault) (float64, error) {
	least := 1.0
	for _, in := range o.modes {
		if at, err := w.stays(in.mode, faults); err != nil {
			return 0, err
		} else if at != in.mode {
			continue // it never comes, and nobody misses anything there
		}
		var loads []circuit.BranchID // all, of what is kept
		if w.passing {
			loads = in.loads
		}
		l, err := w.look(in.mode, faults, loads...)
		if err != nil {
			return 0, err
		}
		for i, load := range in.loads {
			least = min(least, l.of(load).least/in.should[i])
		}
		if least < circuit.WeakShare {
			break // it would be told of
		}
	}
	return least, nil
}

// spokenOfControl reports whether a control is among the loads that something was said of.
func (w *worker) spokenOfControl(names string) bool {
	o, err := w.othersOf(names)
	return err == nil && slices.ContainsFunc(o.except, func(load circuit.BranchID) bool { return kindOf(w.bench.Circuit(), load) == circuit.KindControl })
}

// heat is the watts of what heats in a mode, with faults and without.
func (w *worker) heat(mode circuit.ModeID, faults []circuit.Fault) (is, should float64, err error) {
	o, sound, err := w.beside(mode, faults)
	if err != nil {
		return 0, 0, err
	}
	c := w.bench.Circuit()
	for _, seen := range o.loads {
		b := c.Branch(seen.load)
		if !c.Part(b.Part).Kind.Heats() || sound.LeastShare(seen.load) < circuit.OnShare {
			continue
		}
		should += sound.LeastShare(seen.load) * b.Watts
		is += seen.least * b.Watts
	}
	return is, should, nil
}

// noticed reports whether a load counts where everything is said to be dead: a
// pilot lamp that glows does not (below 5 W; common practice, no source).
func noticed(c *circuit.Circuit, load circuit.BranchID) bool {
	const least = 5
	b := c.Branch(load)
	switch k := c.Part(b.Part).Kind; {
	case k.Heats(), k == circuit.KindLamp, k == circuit.KindControl:
		return b.Watts >= least
	case k == circuit.KindMotor:
		return true
	}
	return false
}

// coverage lists modes, few, in which between them every load that any mode
// expects on should be on.
func (w *worker) coverage() []circuit.ModeID {
	if w.covering != nil {
		return w.covering
	}
	c, seen := w.bench.Circuit(), map[circuit.BranchID]bool{}
	for i := range c.Modes() {
		m := c.Mode(circuit.ModeID(i))
		more := false
		for _, x := range m.Expect {
			more = more || x.Share > 0 && !seen[x.Load]
		}
		if !more {
			continue
		}
		w.covering = append(w.covering, m.ID)
		for _, x := range m.Expect {
			seen[x.Load] = seen[x.Load] || x.Share > 0
		}
	}
	if w.covering == nil {
		w.covering = []circuit.ModeID{0}
	}
	return w.covering
}

// coded reports whether faults make a control show a code in a mode.
func (w *worker) coded(mode circuit.ModeID, faults []circuit.Fault) (bool, error) {
	sees := func(f circuit.Fault) bool { return f.Kind != circuit.Moved && w.coding[f.Branch] }
	if len(faults) == 0 || !slices.ContainsFunc(faults, sees) {
		return false, nil
	}
	o, err := w.live(mode, faults)
	if err != nil {
		return false, err
	}
	controls, err := o.Controls()
	if err != nil {
		return false, err
	}
	for i := range controls {
		if len(controls[i].Shows(&w.bench.Circuit().Controls()[i], mode)) > 0 {
			return true, nil
		}
	}
	return false, nil
}

// pushed is what a load does once a motor that hums was pushed: as in a sound machine.
// It is false where none hums.
func (w *worker) pushed(s *Symptom, faults []circuit.Fault) (predicted, bool, error) {
	o, err := w.look(s.Mode, faults)
	if err != nil || !slices.ContainsFunc(o.loads, func(l loadLook) bool { return l.hums || l.motion == settle.Hums }) {
		return predicted{}, false, err
	}
	sound, err := w.sound(s.Mode)
	if err != nil {
		return predicted{}, false, err
	}
	share := sound.LeastShare(s.Load)
	return predicted{share: share, should: share}, true, nil
}
