package visit

import (
	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// Judgement compares what was seen with a sound machine.
type Judgement struct {
	// Bad is set where it cannot be taken for one.
	Bad bool
	// State is what a sound machine's load does, or Reading what it reads; None
	// is set for what a sound machine never does, as to trip.
	State   circuit.LoadState
	Reading meter.Reading
	None    bool
	// Told is set for what was told, which no sound machine contradicts.
	Told bool
}

// Judge compares what was seen with what a sound machine shows.
func Judge(e *suspect.Engine, ev suspect.Evidence) (Judgement, error) {
	return soundBy(e).judge(ev)
}

// sound is what a sound machine shows, to a meter.
type sound struct {
	load    func(circuit.ModeID, circuit.BranchID) (circuit.LoadState, error)
	reading func(*suspect.Observation) (meter.Reading, error)
	meter   meter.Instrument
}

// soundBy works it out as it is asked for, with an engine's meter.
func soundBy(e *suspect.Engine) *sound {
	return &sound{func(mode circuit.ModeID, load circuit.BranchID) (circuit.LoadState, error) {
		return behaves(e, mode, load, nil)
	}, func(o *suspect.Observation) (meter.Reading, error) {
		return e.Bench().Take(o.Probes, o.Mode, o.Lift, nil)
	}, e.Bench().Instrument}
}

// behaves tells what a load does with faults present.
func behaves(e *suspect.Engine, mode circuit.ModeID, load circuit.BranchID, faults []circuit.Fault) (circuit.LoadState, error) {
	b, err := e.Trial(mode, []circuit.BranchID{load}, faults)
	if err != nil {
		return 0, err
	}
	return b.States[0], nil
}

func (is *sound) judge(ev suspect.Evidence) (Judgement, error) {
	if ev.Hearsay() {
		return Judgement{Told: true}, nil
	}
	if s := ev.Symptom; s != nil {
		if s.Whole == suspect.AnyOf {
			return Judgement{Bad: !s.Of[0].State.Sound(), None: true}, nil
		}
		if s.Load == circuit.None {
			return Judgement{Bad: true, None: true}, nil
		}
		should, err := is.load(s.Mode, s.Load)
		return Judgement{State: should, Bad: s.State.Meant(should.On()) != should}, err
	}
	o := ev.Reading
	should, err := is.reading(o)
	if err != nil {
		return Judgement{}, err
	}
	low, high := is.meter.Spread(o.Probes.Function, o.Value)
	seen := meter.Reading{Function: o.Probes.Function, Value: o.Value, Low: low, High: high, OL: o.OL, Unsteady: o.Unsteady}
	if o.Jumps {
		return Judgement{Reading: should, Bad: !should.Jumps && !should.Unsteady}, nil
	}
	if o.Unsteady {
		return Judgement{Reading: should, Bad: !should.Unsteady}, nil
	}
	return Judgement{Reading: should, Bad: seen.Differs(should)}, nil
}
