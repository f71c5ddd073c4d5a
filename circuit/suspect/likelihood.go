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
	// share is what the load gets, of its rating, should what it gets in a
	// sound machine.
	share, should float64
	trips         bool
	chatter       bool
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
	chances := called(p.share, p.should)
	return misjudge + (1-float64(len(chances))*misjudge)*chances[s.State]
}

// How sharply a person tells the states of a load apart, in shares of what it
// should get, around the bounds of [circuit.Judge]; and the share of those who
// take too much for as much as should be (common practice, no source).
const (
	weakSharp, onSharp = 0.05, 0.01
	overUnnoticed      = 0.5
)

// called gives the chance of each state that a load is said to be in.
func called(share, should float64) map[circuit.LoadState]float64 {
	below := func(x, at, sharp float64) float64 { return 1 / (1 + math.Exp((x-at)/sharp)) }
	if should < circuit.OnShare {
		off := below(share, circuit.OnShare, onSharp)
		return map[circuit.LoadState]float64{circuit.Off: off, circuit.StaysOn: 1 - off}
	}
	x := share / should
	dead := below(x, circuit.OnShare, onSharp)
	weak := max(0, below(x, circuit.WeakShare, weakSharp)-dead)
	over := (1 - overUnnoticed) * (1 - below(x, circuit.OverShare, weakSharp))
	return map[circuit.LoadState]float64{circuit.Dead: dead, circuit.Weak: weak, circuit.TooMuch: over, circuit.Normal: max(0, 1-dead-weak-over)}
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
	r, err := w.reading(ev.Reading.Probes, ev.Reading.Mode, ev.Reading.Lift, faults)
	return predicted{reading: r}, err
}

// worker takes readings on its own bench, so that several can run at once.
type worker struct {
	bench *meter.Bench
	net   *phasor.Network
	sound func(circuit.ModeID) (circuit.Powered, error)
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
	circuit.Powered
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
func (e byEngine) MostShare(l circuit.BranchID) float64  { return e.o.MostShare(l) }
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
