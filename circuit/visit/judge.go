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
		sound, err := e.Trial(s.Mode, []circuit.BranchID{s.Load}, nil)
		if err != nil {
			return Judgement{}, err
		}
		should := sound.States[0]
		return Judgement{State: should, Bad: s.State.Meant(should.On()) != should}, nil
	}
	o := ev.Reading
	sound, err := e.Bench().Take(o.Probes, o.Mode, o.Lift, nil)
	if err != nil {
		return Judgement{}, err
	}
	low, high := e.Bench().Instrument.Spread(o.Probes.Function, o.Value)
	seen := meter.Reading{Function: o.Probes.Function, Value: o.Value, Low: low, High: high, OL: o.OL, Unsteady: o.Unsteady}
	if o.Unsteady {
		return Judgement{Reading: sound, Bad: !sound.Unsteady}, nil
	}
	return Judgement{Reading: sound, Bad: seen.Differs(sound)}, nil
}
