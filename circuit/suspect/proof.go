package suspect

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Proof is what shows that a repair holds and that nothing else was hidden
// behind the fault it mended.
type Proof struct {
	// Checks are the tests to make, in order, with the sound outcome of each.
	Checks []Check
	// Hidden are faults that the first one masked: with it present, they would
	// have changed nothing that was seen. P is relative to the verdict.
	Hidden []Named
	// Unproved are those that none of the checks would show.
	Unproved []Named
	// Makers are what may have made the fault.
	Makers []Maker
	// Notes are what the netlist says of the parts mended.
	Notes []string
}

// Check is one test of a proof.
type Check struct {
	Test
	// Reading is the sound one; for a trial, Behaviour tells of the Loads.
	Reading meter.Reading
	Behaviour
	Loads []circuit.BranchID
	// Shows lists what a wrong outcome would point to.
	Shows []Named
	// Bad says which loads misbehaved before, or did by the fault mended: the point of
	// the repair.
	Bad []circuit.BranchID
}

// maxChecks caps a proof.
const maxChecks = 10

// Proof works out how to prove a repair of the causes given, as [Engine.Suspects]
// lists them. It returns an error when they are none of the engine's.
func (e *Engine) Proof(ctx context.Context, mended []Class) (*Proof, error) {
	var set []int32
	for _, m := range mended {
		for k := range e.classes {
			if len(m.Members) > 0 && len(e.classes[k].Members) > 0 && e.classes[k].Members[0].Label == m.Members[0].Label {
				set = append(set, int32(k))
			}
		}
	}
	if len(set) != len(mended) || len(set) == 0 {
		return nil, errors.New("no such cause among those considered")
	}
	sort.Slice(set, func(i, j int) bool { return set[i] < set[j] })
	behind, err := e.behind(ctx, set)
	if err != nil {
		return nil, err
	}
	p := &Proof{}
	if p.Makers, err = e.Makers(mended); err != nil {
		return nil, err
	}
	for _, h := range behind.hyps[1:] {
		p.Hidden = append(p.Hidden, Named{e.label(h.classes), math.Exp(h.logp)})
	}
	sort.SliceStable(p.Hidden, func(i, j int) bool { return p.Hidden[i].P > p.Hidden[j].P })
	sort.SliceStable(behind.hyps, func(i, j int) bool { return behind.hyps[i].logp > behind.hyps[j].logp })
	p.Notes = notesOf(e.c, mended)
	if err := behind.prove(ctx, p, e.repairOf(mended), e.beforePower(p.Makers)); err != nil {
		return nil, err
	}
	return p, nil
}

// healed is an engine for the mended machine, nothing wrong with it.
func (e *Engine) healed() *Engine {
	opt := e.opt
	opt.MeterOnly = true
	return &Engine{c: e.c, opt: opt, sound: e.sound, classes: e.classes, workers: e.workers, errs: e.errs, hyps: []hypothesis{{}}}
}

// behind makes an engine for the mended machine: nothing wrong, or one further
// class that the fault mended may have masked: alone it would have changed
// something that was looked at, and beside the fault it changes nothing.
func (e *Engine) behind(ctx context.Context, mended []int32) (*Engine, error) {
	full := make([]hypothesis, 1, len(e.classes)+1)
	asUsual := slices.Repeat([]int32{usual}, len(mended)+1)
	full[0] = hypothesis{classes: mended, cells: asUsual[1:]}
	var extra []int32
	for k := int32(0); k < int32(len(e.classes)); k++ {
		same := false
		for _, m := range mended {
			same = same || k == m || e.classes[k].common || e.exclusive(k, m)
		}
		if same || !e.wouldShow(k) {
			continue
		}
		set := append(append([]int32{}, mended...), k)
		sort.Slice(set, func(i, j int) bool { return set[i] < set[j] })
		full = append(full, hypothesis{classes: set, cells: asUsual})
		extra = append(extra, k)
	}
	for _, s := range e.singles {
		if !e.since(s.ev) {
			continue
		}
		if err := e.weigh(ctx, s, full); err != nil {
			return nil, err
		}
	}
	b := e.healed()
	const stillLikely = -3 // logs beside the verdict alone
	for i, k := range extra {
		change := full[i+1].logp - full[0].logp
		if change < stillLikely {
			continue // the evidence speaks against it
		}
		b.hyps = append(b.hyps, hypothesis{classes: []int32{k}, cells: []int32{usual}, logp: math.Log(2*priorPair*e.usually(k)) + change})
	}
	return b, nil
}

// wouldShow reports whether a class alone changes anything that was looked at.
func (e *Engine) wouldShow(k int32) bool {
	const much = 1 // logs
	for _, s := range e.singles {
		if !s.ev.Hearsay() && e.since(s.ev) && math.Abs(s.usual[k]-s.none) > much {
			return true
		}
	}
	return false
}

// badModes lists the modes something was wrong in; badLoads the loads.
func (e *Engine) badModes() []circuit.ModeID {
	var out []circuit.ModeID
	have := map[circuit.ModeID]bool{}
	for _, s := range e.singles {
		if s.ev.Symptom == nil || !s.bad() {
			continue
		}
		if mode := e.at(s.ev.Symptom.Mode); !have[mode] {
			have[mode] = true
			out = append(out, mode)
		}
	}
	return out
}

func (e *Engine) badLoads() map[circuit.BranchID]bool {
	out := map[circuit.BranchID]bool{}
	for _, s := range e.singles {
		if s.ev.Symptom != nil && s.bad() && s.ev.Symptom.Load != circuit.None {
			out[s.ev.Symptom.Load] = true
		}
	}
	return out
}

// prove picks checks: what is read dead before power comes back, the modes that
// failed, then whatever rules out most of what may be hidden for its minutes, each
// taken to come out sound. Those with the supply removed are made before it is put on.
func (e *Engine) prove(ctx context.Context, p *Proof, of repair, before []Test) error {
	progress := NewProgress()
	tab, err := e.tabulate(ctx, e.withTrials(e.left(progress), of), 0, 0)
	if err != nil {
		return err
	}
	sound := -1
	for i, h := range tab.hyps {
		if len(e.hyps[h].classes) == 0 {
			sound = i
		}
	}
	if sound < 0 {
		return fmt.Errorf("the mended machine itself is not among what is weighed")
	}
	left := map[int]bool{}
	for i := range tab.hyps {
		if i != sound {
			left[i] = true
		}
	}
	shown := func(t int) (out []int) {
		for _, i := range sortedInts(left) {
			if tab.cell[t][i] != tab.cell[t][sound] {
				out = append(out, i)
			}
		}
		return out
	}
	var taken []int
	take := func(t int) {
		for _, i := range shown(t) {
			delete(left, i)
		}
		progress.Did(e.c, tab.tests[t])
		taken = append(taken, t)
	}
	for _, test := range before {
		if t := slices.IndexFunc(tab.tests, test.likewise); t >= 0 {
			take(t)
			continue
		}
		r, _, err := e.workers[0].reading(test.Probes, test.Mode, test.Lift, nil)
		if err != nil {
			return err
		}
		p.Checks = append(p.Checks, Check{Test: test, Reading: r})
	}
	try := func(mode circuit.ModeID) bool {
		t := slices.IndexFunc(tab.tests, func(t Test) bool { return t.Trial && t.Mode == mode })
		if t >= 0 {
			take(t)
		}
		return t >= 0
	}
	// A trial that the fault mended would pass too proves nothing of its repair.
	tried := false
	for _, mode := range of.failed {
		tried = try(mode) || tried
	}
	for _, mode := range of.others {
		tried = tried || try(mode)
	}
	for _, mode := range of.idle {
		try(mode)
	}
	for len(taken) < maxChecks {
		best, bestScore := -1, 0.0
		for t := range tab.tests {
			gain := 0.0
			for _, i := range shown(t) {
				gain += tab.ps[i]
			}
			if gain < 1e-6 {
				continue
			}
			minutes, price := progress.Minutes(e.c, tab.tests[t])
			if s := gain / (minutes + price); s > bestScore*(1+1e-9) {
				best, bestScore = t, s
			}
		}
		if best < 0 {
			break
		}
		take(best)
	}
	for _, i := range sortedInts(left) {
		p.Unproved = append(p.Unproved, Named{e.label(e.hyps[tab.hyps[i]].classes), tab.ps[i]})
	}
	slices.SortStableFunc(taken, func(x, y int) int { return onFirst(tab.tests[x]) - onFirst(tab.tests[y]) })
	for i := range tab.hyps {
		left[i] = i != sound
	}
	for _, t := range taken {
		c := Check{Test: tab.tests[t]}
		cell := tab.cell[t][sound]
		if c.Trial {
			c.Loads = tab.loads
			c.Behaviour = tab.trials[t][cell]
			for _, id := range tab.loads {
				if of.bad[id] {
					c.Bad = append(c.Bad, id)
				}
			}
		} else {
			c.Reading = tab.readings[t][cell]
		}
		var shows belief
		for i := range tab.hyps {
			if left[i] && tab.cell[t][i] != cell {
				shows = append(shows, weight{int32(i), tab.ps[i]})
				left[i] = false
			}
		}
		c.Shows = tab.names(shows)
		p.Checks = append(p.Checks, c)
	}
	return nil
}

// withTrials adds trials of the modes that failed, or where the fault would show: a
// search tries none that comes after another mode, as what a start button begins.
func (e *Engine) withTrials(tests []Test, of repair) []Test {
	modes := of.failed
	if len(modes) == 0 {
		modes = of.others
	}
	for _, mode := range modes {
		listed := slices.ContainsFunc(tests, func(t Test) bool { return t.Trial && t.Mode == mode })
		if !listed && e.c.Mode(mode).Reached != circuit.NotAtWill && !e.shorts(mode) {
			tests = append(tests, Test{Trial: true, Mode: mode, Live: true, At: circuit.None})
		}
	}
	return tests
}

// onFirst orders tests: with the supply removed, then with it on.
func onFirst(t Test) int {
	if t.Live {
		return 1
	}
	return 0
}

func sortedInts(set map[int]bool) []int {
	out := make([]int, 0, len(set))
	for i := range set {
		out = append(out, i)
	}
	sort.Ints(out)
	return out
}
