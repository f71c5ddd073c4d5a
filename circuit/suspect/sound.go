package suspect

import (
	"slices"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// soundMachine settles a circuit with nothing broken, once for each mode that
// is asked about. It can be asked by several goroutines.
func soundMachine(c *circuit.Circuit) func(circuit.ModeID) (circuit.Powered, error) {
	var mu sync.Mutex
	engine, known := settle.New(c), make([]*settle.Outcome, len(c.Modes()))
	return func(mode circuit.ModeID) (circuit.Powered, error) {
		mu.Lock()
		defer mu.Unlock()
		if known[mode] == nil {
			o, err := engine.Run(mode, nil)
			if err != nil {
				return nil, err
			}
			known[mode] = o
		}
		return known[mode], nil
	}
}

// shorts reports whether a mode trips the protection with nothing broken: the
// netlist is wrong about it, and nobody is sent to try it.
func (e *Engine) shorts(mode circuit.ModeID) bool {
	o, err := e.sound(mode)
	out, ok := o.(*settle.Outcome)
	return err == nil && ok && len(out.Tripped) > 0
}

// hummed makes a symptom of a telling that a motor hums, or that it turns once it
// is pushed: what hums is worked out. Where it is not known which motor, or when
// it should start, it stays hearsay.
func (e *Engine) hummed(t *Telling) (*Symptom, error) {
	s := &Symptom{Mode: circuit.None, Load: t.Load, State: circuit.Hums}
	switch t.What {
	case "hums":
	case "pushed":
		s.Whole = Pushed
	default:
		return nil, nil
	}
	for _, load := range e.c.Loads() {
		b := e.c.Branch(load)
		if s.Load == circuit.None && e.c.Part(b.Part).Kind == circuit.KindMotor && (b.Part == t.Part || t.Part == circuit.None && b.Start != circuit.None) {
			s.Load = load
		}
	}
	mode, err := e.starting(s.Load)
	if mode == circuit.None || err != nil {
		return nil, err
	}
	s.Mode = mode
	return s, nil
}

// neverStarts reports whether faults keep a motor that has to be started from starting.
func (e *Engine) neverStarts(load circuit.BranchID, faults []circuit.Fault) bool {
	if load == circuit.None || e.c.Branch(load).Start == circuit.None {
		return false
	}
	mode, err := e.starting(load)
	if mode == circuit.None || err != nil {
		return false
	}
	o, err := e.workers[0].live(mode, faults)
	return err == nil && o.Motion(load) != settle.Turns
}

// starting is the first mode in which a load is on and that comes of no other.
func (e *Engine) starting(load circuit.BranchID) (mode circuit.ModeID, err error) {
	mode = circuit.None
	for i := range e.c.Modes() {
		sound, err := e.sound(circuit.ModeID(i))
		if err != nil {
			return circuit.None, err
		}
		first := mode == circuit.None || e.c.Mode(mode).After != circuit.None && e.c.Mode(circuit.ModeID(i)).After == circuit.None
		if load != circuit.None && first && sound.LeastShare(load) >= circuit.OnShare {
			mode = circuit.ModeID(i)
		}
	}
	return mode, nil
}

// placed is a telling with what of the machine its row looks at, worked out once.
func (e *Engine) placed(told *Telling) (*Telling, error) {
	t, row, err := *told, tales[told.What], error(nil)
	if t.code != nil && t.code.through == nil {
		code := *t.code
		code.through = map[circuit.BranchID]bool{}
		for _, id := range senseIsland(e.c, e.c.Controls()[code.control].Senses[code.Sense]) {
			code.through[id] = true
		}
		t.code = &code
		return &t, nil
	}
	switch {
	case t.Load != circuit.None && t.feeds == nil:
		if t.feeds, err = e.dependsOn(t.Load); err == nil && row.alone {
			t.shared, err = e.dependedOn(t.Load)
		}
	case row.moves != circuit.KindNone && t.feeds == nil:
		t.feeds, err = e.movesAll(row.moves)
	case row.undriven > 0 && t.Part != circuit.None && t.coil == nil:
		t.coil, err = e.movesContact(t.Part)
	case row.senses != circuit.KindNone && t.sensed == nil:
		t.sensed = e.looksThrough(row.senses, t.Part)
	case row.bonds > 0 && t.bonds == nil:
		t.bonds, t.floats = bonding(e.c)
	default:
		return told, nil
	}
	return &t, err
}

// meant is evidence with a load's state as it was meant.
func (e *Engine) meant(ev Evidence) (Evidence, error) {
	if ev.Told != nil {
		for _, worked := range []func(*Telling) (*Symptom, error){e.hummed, e.warmed} {
			if s, err := worked(ev.Told); s != nil || err != nil {
				ev.Told, ev.Symptom = nil, s
				return ev, err
			}
		}
	}
	if ev.Told != nil {
		var err error
		ev.Told, err = e.placed(ev.Told)
		return ev, err
	}
	if ev.Symptom != nil && ev.Symptom.Whole == AnyOf {
		s := *ev.Symptom
		s.Of = slices.Clone(s.Of)
		for i := range s.Of {
			one, err := e.meant(Evidence{Symptom: &s.Of[i]})
			if err != nil {
				return ev, err
			}
			s.Of[i] = *one.Symptom
		}
		if !slices.ContainsFunc(s.Of, func(m Symptom) bool { return m.State.Sound() }) {
			s.zones = zonesOf(e.c, s.Of)
		}
		ev.Symptom = &s
		return ev, nil
	}
	if ev.Symptom == nil || ev.Symptom.Load == circuit.None {
		return ev, nil
	}
	sound, err := e.sound(ev.Symptom.Mode)
	if err != nil {
		return ev, err
	}
	s := *ev.Symptom
	s.State = s.State.Meant(circuit.JudgeLoad(sound, sound, s.Load).On())
	ev.Symptom = &s
	// Nobody feels watts: too much of what heats, or dries, is heat that is not ended.
	if kind := e.c.Part(e.c.Branch(s.Load).Part).Kind; s.State == circuit.TooMuch && (kind.Heats() || kind == circuit.KindMotor) {
		on, err := e.dependsOn(s.Load)
		if err == nil && cycled(e.c, on) { // of a burner, that its switch does not turn it down
			ev.Symptom = nil
			ev.Told, err = e.placed(&Telling{What: "too_much", Part: circuit.None, Load: s.Load})
			return ev, err
		}
		x, err := e.workers[0].warmer(s.Mode)
		if x != nil {
			s.also = []Symptom{{Mode: s.Mode, Load: circuit.None, Whole: RunsHot}}
		}
		return ev, err
	}
	if s.State == circuit.StaysOn && s.Mode == e.c.OffMode() {
		s.also, err = e.running(s.Load)
	}
	return ev, err
}

// cycled reports whether a cycling switch is among what a load depends on: at low settings
// that lets it off long before a limiter does.
func cycled(c *circuit.Circuit, on map[circuit.BranchID]bool) bool {
	for id := range on {
		if kindOf(c, id) == circuit.KindCyclingSwitch {
			return true
		}
	}
	return false
}

// running are the meanings that a load stays on has besides, where what runs beside
// it stands still in Off: that it stays on while that runs, or gets too hot.
func (e *Engine) running(load circuit.BranchID) (out []Symptom, err error) {
	off, err := e.sound(e.c.OffMode())
	if err != nil || !e.c.Part(e.c.Branch(load).Part).Kind.Heats() {
		return nil, err
	}
	for i := range e.c.Modes() {
		m := e.c.Mode(circuit.ModeID(i))
		is, err := e.sound(m.ID)
		if err != nil {
			return nil, err
		}
		runs := slices.ContainsFunc(m.Expect, func(x circuit.Expectation) bool {
			return e.c.Part(e.c.Branch(x.Load).Part).Kind == circuit.KindMotor && is.LeastShare(x.Load) >= circuit.OnShare && off.MostShare(x.Load) < circuit.OnShare
		})
		if !runs || m.After != circuit.None || m.Reached == circuit.NotAtWill {
			continue
		}
		also := Symptom{Mode: m.ID, Load: load, State: circuit.StaysOn}
		if is.LeastShare(load) >= circuit.OnShare {
			if x, err := e.workers[0].warmer(m.ID); x == nil || err != nil {
				return out, err
			}
			also = Symptom{Mode: m.ID, Load: circuit.None, Whole: RunsHot}
		}
		if !slices.ContainsFunc(out, func(s Symptom) bool { return s.Whole == also.Whole }) {
			out = append(out, also)
		}
	}
	return out, nil
}

// Trial tells what some loads do in a mode with faults present.
func (e *Engine) Trial(mode circuit.ModeID, loads []circuit.BranchID, faults []circuit.Fault) (Behaviour, error) {
	is, err := e.workers[0].live(mode, faults)
	if err != nil {
		return Behaviour{}, err
	}
	sound, err := e.sound(mode)
	if err != nil {
		return Behaviour{}, err
	}
	return behaviour(is, sound, loads, nil), nil
}
