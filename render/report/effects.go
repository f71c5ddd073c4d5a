package report

import (
	"context"
	"fmt"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// compareCap bounds the work of trying every set on the other loads, in
// settles times branches. Beyond it only what was asked for is worked out.
const compareCap = 4_000_000

// workingMode is a mode in which some loads should work.
type workingMode struct {
	mode  circuit.ModeID
	loads []circuit.BranchID
	sound map[circuit.BranchID]float64
}

// working lists, for every mode, the loads that are expected to work and do in
// a sound machine.
func (r *Reporter) working(want func(circuit.BranchID, circuit.ModeID) bool) ([]workingMode, error) {
	var out []workingMode
	for _, m := range r.c.Modes() {
		d := workingMode{mode: m.ID, sound: map[circuit.BranchID]float64{}}
		var run *settle.Outcome
		for _, e := range m.Expect {
			if e.Share == 0 || !want(e.Load, m.ID) {
				continue
			}
			if run == nil {
				var err error
				if run, err = r.engine.Run(m.ID, nil); err != nil {
					return nil, err
				}
			}
			if share := run.LeastShare(e.Load); share >= circuit.OnShare {
				d.loads = append(d.loads, e.Load)
				d.sound[e.Load] = share
			}
		}
		if len(d.loads) > 0 {
			out = append(out, d)
		}
	}
	return out, nil
}

// compare tries the sets on the other loads: fills in what each stops and
// spares, and drops those that contradict what is said of other loads.
func (r *Reporter) compare(ctx context.Context, q Question, opt BreaksOptions, d *Breaks) error {
	said := slices.Concat(opt.Works, opt.Dead)
	named := func(s Symptom) Named { return r.named(s.Load) }
	d.Works, d.Dead = each(opt.Works, named), each(opt.Dead, named)
	asked := func(load circuit.BranchID, mode circuit.ModeID) bool {
		return slices.ContainsFunc(said, func(s Symptom) bool { return s.Load == load && s.in(mode) })
	}
	working, err := r.working(func(load circuit.BranchID, mode circuit.ModeID) bool { return load != q.Load || asked(load, mode) })
	if err != nil {
		return err
	}
	if len(d.Sets)*len(working)*len(r.c.Branches()) > compareCap {
		if working, err = r.working(asked); err != nil {
			return err
		}
	} else {
		d.Compared = true
	}
	for _, s := range said {
		if !known(working, s) {
			return &NotExpectedError{Load: r.label(s.Load)}
		}
	}
	kept := d.Sets[:0]
	for _, set := range d.Sets {
		if err := ctx.Err(); err != nil {
			return err
		}
		stops, err := r.stops(working, &set)
		if err != nil {
			return err
		}
		if !agrees(working, stops, opt) {
			continue
		}
		r.fill(&set, working, stops, q.Load)
		kept = append(kept, set)
	}
	d.Sets = kept
	return nil
}

// NotExpectedError is returned for a symptom of a load that no mode expects to work.
type NotExpectedError struct{ Load string }

func (e *NotExpectedError) Error() string {
	return fmt.Sprintf("no mode named expects %s to work, so nothing follows from whether it does", e.Load)
}

func known(working []workingMode, s Symptom) bool {
	for _, d := range working {
		if _, ok := d.sound[s.Load]; ok && s.in(d.mode) {
			return true
		}
	}
	return false
}

type loadInMode struct {
	load circuit.BranchID
	mode circuit.ModeID
}

// stops opens one branch of each member and tells which loads no longer work,
// mode by mode.
func (r *Reporter) stops(working []workingMode, set *Set) (map[loadInMode]bool, error) {
	var faults []circuit.Fault
	for _, m := range set.branches {
		faults = append(faults, circuit.Fault{Kind: circuit.Open, Branch: m[0]})
	}
	out := map[loadInMode]bool{}
	for _, d := range working {
		run, err := r.engine.Run(d.mode, faults)
		if err != nil {
			return nil, err
		}
		for _, load := range d.loads {
			if run.LeastShare(load) < trace.DefaultShare*d.sound[load] {
				out[loadInMode{load, d.mode}] = true
			}
		}
	}
	return out, nil
}

// agrees reports whether the set is compatible with what is said to work and
// not to work.
func agrees(working []workingMode, stops map[loadInMode]bool, opt BreaksOptions) bool {
	all := func(s Symptom, dead bool) bool {
		for _, d := range working {
			if _, ok := d.sound[s.Load]; ok && s.in(d.mode) && stops[loadInMode{s.Load, d.mode}] != dead {
				return false
			}
		}
		return true
	}
	for _, s := range opt.Works {
		if !all(s, false) {
			return false
		}
	}
	for _, s := range opt.Dead {
		if !all(s, true) {
			return false
		}
	}
	return true
}

// fill sums up, load by load, what the set stops and spares.
func (r namer) fill(set *Set, working []workingMode, stops map[loadInMode]bool, except circuit.BranchID) {
	for _, load := range r.c.Loads() {
		if load == except {
			continue
		}
		effect := Effect{Named: r.named(load), Every: true}
		works := false
		for _, d := range working {
			if _, on := d.sound[load]; !on {
				continue
			}
			works = true
			effect.Of++
			if stops[loadInMode{load, d.mode}] {
				effect.Modes = append(effect.Modes, r.mode(d.mode))
			} else {
				effect.Every = false
			}
		}
		switch {
		case len(effect.Modes) > 0:
			set.Stops = append(set.Stops, effect)
		case works:
			set.Spares = append(set.Spares, effect.Named)
		}
	}
}
