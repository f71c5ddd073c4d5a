package suspect

import (
	"context"
	"math"

	"legtrace/circuit"
)

// Wrong is what evidence shows that no sound machine does, as a proof of its repair
// takes it: nil for all that one does, and for what was only told.
func (e *Engine) Wrong(ev Evidence) (*Symptom, error) {
	ev, err := e.meant(ev)
	if err != nil || ev.Symptom == nil || ev.Hearsay() {
		return nil, err
	}
	none, err := e.soundly(ev)
	if err != nil || none >= badAt {
		return nil, err
	}
	return ev.Symptom, nil
}

// soundly is the log likelihood of evidence on a sound machine.
func (e *Engine) soundly(ev Evidence) (float64, error) {
	of := ev.Symptom.meanings()
	if of == nil {
		p, err := e.workers[0].predict(ev, nil)
		if err != nil {
			return 0, err
		}
		return e.errs.logLikelihood(ev, p), nil
	}
	var chances []float64
	for i := range of {
		one, err := e.soundly(Evidence{Symptom: &of[i]})
		if err != nil {
			return 0, err
		}
		chances = append(chances, math.Exp(one))
	}
	return math.Log(ev.Symptom.any(chances)), nil
}

// Least is [Engine.Proof] as far as it hangs on the repair of some faults and on what
// was wrong: for many visits it is worked out once. What the faults may have hidden
// besides is left out, as that takes all that was seen; and nothing was read before.
func (e *Engine) Least(ctx context.Context, mended [][]circuit.Fault, wrong []*Symptom) (*Proof, error) {
	x, p := e.healed(), &Proof{}
	for _, s := range wrong {
		x.singles = append(x.singles, &singles{ev: Evidence{Symptom: s}, none: math.Inf(-1)})
	}
	var repaired []Class
	for _, faults := range mended {
		repaired = append(repaired, Class{Members: []Cause{{Faults: faults}}})
	}
	var err error
	if p.Makers, err = x.Makers(repaired); err != nil {
		return nil, err
	}
	of, before := x.repairOf(repaired), x.beforePower(p.Makers)
	return p, e.healed().prove(ctx, p, of, before)
}

// ReadBy reports whether a reading is that of the check.
func (k *Check) ReadBy(o *Observation) bool { return sameReading(o, k.Test) }
