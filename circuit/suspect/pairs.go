package suspect

import (
	"context"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// fewPairs is how many pairs are settled one by one sooner than tables of all
// pairs of their faults are made.
const fewPairs = 2000

// pairTables settles in one mode every pair of the faults that are being
// weighed.
type pairTables struct {
	mode   circuit.ModeID
	tables *settle.PairTables
	place  map[circuit.Fault]int
	pairs  *settle.Pairs // of one worker
}

// tabulatePairs gives each worker tables for a symptom of a load under the pairs
// among the hypotheses, until done is called.
func (e *Engine) tabulatePairs(ctx context.Context, s *singles, hyps []hypothesis, hard []int) (done func(), err error) {
	done = func() {
		for _, w := range e.workers {
			w.pairs = nil
		}
	}
	if sy := s.ev.Symptom; len(hard) < fewPairs || sy == nil || sy.Whole != 0 || sy.Mode == circuit.None {
		return done, nil
	}
	var faults []circuit.Fault
	place, pairs, told := map[circuit.Fault]int{}, 0, map[lookOf]bool{}
	for _, k := range hard {
		for _, corner := range e.cornersOf(hyps[k].at(len(s.ev.Mended))) {
			if len(corner) != 2 {
				continue
			}
			corner = e.workers[0].likeFirst(corner, s.ev.Symptom.Load)
			one := e.workers[0].lookOf(s.ev.Symptom.Mode, corner)
			if told[one] {
				continue
			}
			told[one] = true
			pairs++
			for _, f := range corner {
				if _, ok := place[f]; !ok && f.Kind != circuit.Moved {
					place[f] = len(faults)
					faults = append(faults, f)
				}
			}
		}
	}
	// A table costs each fault a solution, and each pair of faults a look.
	if pairs < fewPairs || len(faults)*len(faults) > 20*pairs {
		return done, nil
	}
	t := settle.NewPairTables(e.workers[0].bench.Engine(), e.workers[0].net, faults)
	for _, w := range e.workers {
		w.pairs = &pairTables{mode: s.ev.Symptom.Mode, tables: t, place: place}
	}
	return done, e.each(ctx, len(e.workers), func(w *worker, _ int) (err error) {
		w.pairs.pairs, err = t.Mode(ctx, w.pairs.mode)
		return err
	})
}

// settledLoads is what is looked at of a settled machine.
type settledLoads interface {
	Chatter() *settle.Chatter
	LeastShare(circuit.BranchID) float64
	MostShare(circuit.BranchID) float64
	Hums(circuit.BranchID) bool
	Motion(circuit.BranchID) settle.Motion
}

// tabled looks at one load by tables of pairs, sooner than by settling and keeping
// what all loads do; it is nil where no table has the faults.
func (w *worker) tabled(mode circuit.ModeID, load circuit.BranchID, faults []circuit.Fault) (*look, error) {
	p := w.pairs
	if p == nil || p.mode != mode || len(faults) != 2 {
		return nil, nil
	}
	i, ok := p.place[faults[0]]
	j, also := p.place[faults[1]]
	if !ok || !also {
		return nil, nil
	}
	o, err := p.pairs.Outcome(i, j)
	if err != nil {
		return nil, err
	}
	loads := []circuit.BranchID{load}
	if load == circuit.None {
		loads = nil
	}
	l := &look{}
	l.at(o, len(o.Tripped()) > 0, loads)
	return l, nil
}
