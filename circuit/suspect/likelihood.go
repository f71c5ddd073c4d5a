package suspect

import (
	"math"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// Chances of being told wrong (common practice, no source): a reading taken at
// the wrong terminal or misread, a symptom misjudged.
const (
	slip     = 0.01
	misjudge = 0.01
)

// predicted is what a hypothesis makes of an evidence's question.
type predicted struct {
	reading meter.Reading
	share   float64
	trips   bool
	chatter bool
}

// logLikelihood is the log of how probable the answer is under a prediction.
func logLikelihood(ev Evidence, p predicted) float64 {
	if ev.Reading != nil {
		return math.Log(readingLikelihood(ev.Reading, p.reading))
	}
	return math.Log(symptomLikelihood(ev.Symptom, p))
}

func symptomLikelihood(s *Symptom, p predicted) float64 {
	told := func(match bool) float64 {
		if match {
			return 1 - misjudge
		}
		return misjudge
	}
	switch {
	case s.Trips:
		return told(p.trips)
	case s.Chatters:
		return told(p.chatter)
	}
	normal, weak, dead := judged(p.share)
	chance := map[LoadState]float64{Normal: normal, Weak: weak, Dead: dead}[s.State]
	return misjudge + (1-3*misjudge)*chance
}

// Where a person calls a load weak rather than normal, and dead rather than
// weak, as shares of rated power, and how sharply (common practice, no source):
// the supply alone moves power by a fifth either way.
const (
	weakBelow, weakSharp = 0.70, 0.05
	deadBelow, deadSharp = 0.03, 0.01
)

// judged gives the chances that a load at a share of its power is called
// normal, weak and dead.
func judged(share float64) (normal, weak, dead float64) {
	step := func(at, sharp float64) float64 { return 1 / (1 + math.Exp((share-at)/sharp)) }
	dead = step(deadBelow, deadSharp)
	normal = 1 - step(weakBelow, weakSharp)
	return normal, max(0, 1-normal-dead), dead
}

// stateOf sorts a share of rated power as a person would, most likely.
func stateOf(share float64) LoadState {
	switch {
	case share < deadBelow:
		return Dead
	case share < weakBelow:
		return Weak
	}
	return Normal
}

// Knees of the scales on which readings are compared: below it a difference
// counts by its size, above by its ratio.
const (
	kneeVolts = 10
	kneeOhms  = 1
	kneeAmps  = 0.5
)

func knee(f meter.Function) float64 {
	switch {
	case f == meter.Amps:
		return kneeAmps
	case f.Live():
		return kneeVolts
	}
	return kneeOhms
}

func scaled(f meter.Function, v float64) float64 { return math.Log1p(max(0, v) / knee(f)) }

// readingLikelihood is a mixture: with the chance of a slip anything on the
// scale, else what the prediction gives: flat over its interval and falling
// off beside it.
func readingLikelihood(o *Observation, r meter.Reading) float64 {
	f := o.Probes.Function
	anything := 1 / scaled(f, 1e7)
	if f.Live() {
		anything = 1 / scaled(f, 600)
	}
	if o.OL {
		switch {
		case r.OL:
			return 1 - slip
		case r.MaybeOL:
			return 0.3
		}
		return slip
	}
	if o.Unsteady {
		if r.Unsteady {
			return 1 - slip
		}
		return slip
	}
	if r.OL {
		// Fingers on the probes, or a stray way around, read megohms.
		if o.Value > 1e6 {
			return 0.3
		}
		return slip * anything
	}
	x := scaled(f, o.Value)
	low, high := scaled(f, r.Low), scaled(f, r.High)
	if r.MaybeOL {
		high = max(high, scaled(f, 1e7))
	}
	edge := 0.02 + 0.05*(high-low) // how sharply the interval ends
	height := 1 / (high - low + math.Sqrt(2*math.Pi)*edge)
	away := max(0, low-x, x-high) / edge
	fits := height * math.Exp(-away*away/2)
	if r.Unsteady {
		fits *= 0.7 // it would more often be called unsteady
	}
	return (1-slip)*fits + slip*anything
}

// predict works out what a set of faults makes of an evidence's question.
func (w *worker) predict(ev Evidence, faults []circuit.Fault) (predicted, error) {
	if s := ev.Symptom; s != nil {
		o, err := w.live(s.Mode, faults)
		if err != nil {
			return predicted{}, err
		}
		p := predicted{trips: len(o.Tripped) > 0, chatter: o.Chatter() != nil}
		if s.Load != circuit.None {
			p.share = o.LeastShare(s.Load)
		}
		return p, nil
	}
	r, err := w.reading(ev.Reading.Probes, ev.Reading.Mode, ev.Reading.Lift, faults)
	return predicted{reading: r}, err
}

// worker takes readings on its own bench, so that several can run at once.
type worker struct {
	bench *meter.Bench
	net   *phasor.Network
	// sweeps settle faults by updates on the sound machine, one per mode.
	sweeps map[circuit.ModeID]*settle.Sweep
	// whole settles every fault from rest by the engine, for [use] to watch.
	whole bool
	// tripped tells whether anything tripped in the machine last settled live.
	tripped bool
}

// settled is a machine settled live: by a sweep, or by the engine.
type settled interface {
	meter.Settled
	LeastShare(circuit.BranchID) float64
	Chatter() *settle.Chatter
}

// liveMachine is a settled machine with what tripped.
type liveMachine struct {
	settled
	Tripped []circuit.BranchID
}

// byEngine shows the engine's outcome as settled.
type byEngine struct{ o *settle.Outcome }

func (e byEngine) Volts(t circuit.TerminalID) complex128 { return e.o.Solution.Volts[t] }
func (e byEngine) Floating(t circuit.TerminalID) bool    { return e.o.Solution.Floating[t] }
func (e byEngine) Conducts(id circuit.BranchID) bool     { return e.o.Conducts[id] }
func (e byEngine) LeastShare(l circuit.BranchID) float64 { return e.o.LeastShare(l) }
func (e byEngine) Chatter() *settle.Chatter              { return e.o.Chatter }
func (e byEngine) Between(p, q circuit.TerminalID) (complex128, bool) {
	return e.o.Solution.Between(p, q)
}

// live settles the machine with its supply on. What it returns holds until the
// next call for the same mode.
func (w *worker) live(mode circuit.ModeID, faults []circuit.Fault) (liveMachine, error) {
	if w.whole {
		o, err := w.bench.Live(mode, faults)
		if err != nil {
			return liveMachine{}, err
		}
		w.tripped = len(o.Tripped) > 0
		return liveMachine{byEngine{o}, o.Tripped}, nil
	}
	s := w.sweeps[mode]
	if s == nil {
		var err error
		if s, err = settle.NewSweepOn(w.bench.Engine(), w.net, mode); err != nil {
			return liveMachine{}, err
		}
		w.sweeps[mode] = s
	}
	o, err := s.Run(faults)
	if err != nil {
		return liveMachine{}, err
	}
	w.tripped = len(o.Tripped) > 0
	return liveMachine{o, o.Tripped}, nil
}

func (w *worker) reading(p meter.Probes, mode circuit.ModeID, lift []circuit.WireID, faults []circuit.Fault) (meter.Reading, error) {
	if p.Function.Live() {
		o, err := w.live(mode, faults)
		if err != nil {
			return meter.Reading{}, err
		}
		return w.bench.QuickOn(o, p.Function, p.P, p.Q), nil
	}
	o, err := w.bench.Dead(mode, faults)
	if err != nil {
		return meter.Reading{}, err
	}
	for _, id := range lift {
		o.Conducts[w.bench.Circuit().Wire(id).Branch] = false
	}
	return w.bench.Quick(o, p.Function, p.P, p.Q), nil
}
