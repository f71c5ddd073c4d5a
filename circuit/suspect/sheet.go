package suspect

import (
	"context"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Sheet is a plan to be printed and worked through from top to bottom. Each
// step is made when all before it read good, but for those that follow a bad
// one.
type Sheet struct {
	Steps []Step
	// Left is what may still be wrong when every step reads good.
	Left []Suspect
	// Supply is where the conductors come in that are brought to the machine: the
	// legs, then the neutral.
	Supply []Conductor
}

// Conductor is one of the supply, and where it comes into the machine.
type Conductor struct {
	Branch circuit.BranchID
	At     circuit.TerminalID
}

// Step is a test of a sheet.
type Step struct {
	Test
	// Loads are what a trial watches.
	Loads []circuit.BranchID
	// Good is what a sound machine shows.
	Good Expected
	// Bad are the other outcomes that are left, the likeliest first.
	Bad []Shown
	// IfGood is what is left when a step reads good that follows a bad one and is
	// the last to do so; nil for others.
	IfGood []Suspect
	// OnlyIf is the earlier step that must have read bad for this one to tell
	// anything, After which of its bad outcomes; None for the others.
	OnlyIf, After int
	// Must says that it is made whatever is suspected.
	Must bool
	// Minutes is its effort in this order.
	Minutes float64
}

// Expected is what a test is expected to show.
type Expected struct {
	Reading meter.Reading
	Behaviour
	Answer string // of a move
}

// Shown is a bad outcome of a step. Then is the step to go on with, or None.
type Shown struct {
	Expected
	// Any of these gives it; their P is of all that was suspected at the outset.
	Any []Suspect
	// Dead says that with some of them a floating reading is steadily near zero.
	Dead bool
	Then int
}

// Bounds of a sheet: it must fit two pages.
const (
	mostSteps = 11
	mostMain  = 7
	// slight is the chance of a bad reading below which a step is left out.
	slight = 0.01
	// earlyTrials is among how many of the best tests a trial must be: what works
	// and what does not, the person who called has mostly said already.
	earlyTrials = 2
)

// Sheet lists the tests that find what is suspected now, in the order in which
// the supply is turned and panels come open.
func (e *Engine) Sheet(ctx context.Context) (*Sheet, error) {
	progress := NewProgress()
	// A clamp is put around what is brought to the machine, and nothing is named by it.
	tests := slices.DeleteFunc(e.left(progress), func(t Test) bool { return !onSheet(t.Ask) || t.clamped() })
	for _, t := range append(e.across(), e.apart()...) {
		if !slices.ContainsFunc(tests, t.likewise) {
			tests = append(tests, t)
		}
	}
	musts := e.musts()
	for _, m := range musts {
		if !slices.ContainsFunc(tests, m.likewise) && progress.allows(e.c, m.Test) {
			tests = append(tests, m.Test)
		}
	}
	tab, err := e.tabulate(ctx, tests, 0, 0)
	if err != nil {
		return nil, err
	}
	tab.worth = 1e-9 // whatever tells anything, but for trials that tell little
	s := &sheeting{tab: tab, musts: musts}
	if err := s.judge(); err != nil {
		return nil, err
	}
	var all []int
	for h := range tab.hyps {
		if len(e.core(&e.hyps[tab.hyps[h]])) > 0 { // it explains what was said
			all = append(all, h)
		}
	}
	root := &spine{began: all, set: all}
	first, err := e.begins(ctx, progress)
	if err != nil {
		return nil, err
	}
	chosen, err := s.choose(ctx, all, progress, first)
	if err != nil {
		return nil, err
	}
	for _, t := range s.ordered(chosen) {
		s.extend(root, t)
	}
	for s.steps < mostSteps {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if !s.narrow(root) {
			break
		}
	}
	out := &Sheet{Supply: e.conductors()}
	s.list(out, root, progress)
	out.Left = tab.suspects(root.set)
	return out, s.fill(out)
}

// sheeting is a sheet in the making.
type sheeting struct {
	tab   *table
	musts []must
	// good tells, by test and cell, whether that outcome can be taken for the
	// sound machine's, which expect has.
	good   [][]bool
	dead   [][]bool // floating, with what is steadily near zero taken for the same
	expect []Expected
	spines []*spine
	steps  int
	// liveFirst says that what is read live comes before what is read dead.
	liveFirst bool
}

// spine is a run of steps, each made when the one before read good. Of what it
// began with, set is left when all of them have. It follows the parent's outcome.
type spine struct {
	began, set []int
	nodes      []*node
	parent     *node
}

// node is a step with what follows each of its bad outcomes.
type node struct {
	test  int
	block int
	cells []int32
	after []*spine
}

// begins is the first test that is a step of its own of those that advice begins with.
func (e *Engine) begins(ctx context.Context, progress *Progress) (*Test, error) {
	tab, _, err := e.everything(ctx, progress)
	if err != nil {
		return nil, err
	}
	ranked, err := tab.first(ctx, progress)
	if err != nil {
		return nil, err
	}
	for _, r := range ranked {
		if t := tab.tests[r.test]; onSheet(t.Ask) {
			return &t, nil
		}
	}
	return nil, nil
}

// ranked are the tests that are left, the best for what is left first.
func (s *sheeting) ranked(ctx context.Context, set []int, progress *Progress, chosen []int) ([]ranking, error) {
	out, err := s.tab.ranked(ctx, s.tab.stage(s.tab.belief(set), s.tab.ground.setup(progress)))
	return slices.DeleteFunc(out, func(r ranking) bool {
		return slices.Contains(chosen, r.test) || s.tab.tests[r.test].Live && s.tab.e.trips() || s.tab.tests[r.test].clamped()
	}), err
}

// choose takes tests, first for what is likely, each the best when all before read good, the
// first where one is given, and those that a sheet has whatever they are worth.
func (s *sheeting) choose(ctx context.Context, all []int, progress *Progress, first *Test) ([]int, error) {
	out, set, progress, err := s.chooseLikely(ctx, all, progress, first)
	if err != nil {
		return nil, err
	}
	for len(out) < mostMain && s.tab.weight(set) > slight {
		ranked, err := s.ranked(ctx, set, progress, out)
		if err != nil {
			return nil, err
		}
		at := slices.IndexFunc(ranked, func(r ranking) bool {
			begun := slices.ContainsFunc(out, func(t int) bool { return !s.tab.tests[t].Trial })
			return s.finds(r.test, set) >= slight && (!s.tab.tests[r.test].Trial || len(out) < earlyTrials && !begun)
		})
		if at < 0 {
			break
		}
		t := ranked[at].test
		out = append(out, t)
		progress = progress.after(s.tab.e.c, s.tab.tests[t])
		set = s.sound(t, set)
	}
	for i, t := range s.tab.tests { // who gets there has the button under the thumb
		if t.Ask == Press && !slices.Contains(out, i) && s.finds(i, s.untold(s.likely(all), all, all)) > 0 {
			out = append(out, i)
		}
	}
	if t := s.waiting(set); t >= 0 {
		out = append(out, t)
	}
	short := 0 // what comes before all else with the supply off
	probed := slices.ContainsFunc(out, func(t int) bool { return s.tab.tests[t].Live && s.tab.tests[t].Probing() })
	for _, m := range s.musts {
		t := slices.IndexFunc(s.tab.tests, m.likewise)
		switch k := slices.Index(out, t); {
		case t >= 0 && m.first && !m.Live:
			if k >= 0 {
				out = slices.Delete(out, k, k+1)
			}
			out = slices.Insert(out, short, t)
			short++
		case t >= 0 && k < 0 && (!m.supply || m.first || probed):
			out = append(out, t)
		}
	}
	return out, nil
}

// waiting is the trial of what comes by waiting that finds most of what every other
// reading left, -1 where none finds enough: whoever has read all else good waits for
// it, but for what no heat brings about.
func (s *sheeting) waiting(set []int) int {
	best, most := -1, 2*slight
	for i, t := range s.tab.tests {
		if !t.Awaited(s.tab.e.c) || s.tab.e.coldBefore(t.Mode) || s.tab.e.deadBefore(t.Mode) {
			continue
		}
		if finds := s.finds(i, set); finds > most*(1+1e-9) {
			best, most = i, finds
		}
	}
	return best
}

func (s *sheeting) mustOf(test int) *must { return s.mustOfTest(s.tab.tests[test]) }

func (s *sheeting) mustOfTest(t Test) *must {
	for i := range s.musts {
		if s.musts[i].likewise(t) {
			return &s.musts[i]
		}
	}
	return nil
}

// extend adds a step to a spine, unless it would find nothing there.
func (s *sheeting) extend(on *spine, test int) {
	cells, groups := s.bad(test, on.set)
	clamp := s.tab.tests[test].clamped()
	if m := s.mustOf(test); len(cells) == 0 && (m == nil || m.spare) || clamp && !s.parts(cells, groups, on) {
		return
	}
	n := &node{test: test, block: s.block(s.tab.tests[test], on.parent), cells: cells}
	for _, k := range cells {
		x := &spine{began: groups[k], set: groups[k], parent: n}
		if n.after = append(n.after, x); !clamp {
			s.spines = append(s.spines, x)
		}
	}
	if on.nodes = append(on.nodes, n); clamp {
		return // it goes on as it would
	}
	on.set = s.sound(test, on.set)
	s.steps++
}

// parts reports whether the outcomes of a clamp part what is left, and not as one that is
// put around another leg just before does.
func (s *sheeting) parts(cells []int32, groups map[int32][]int, on *spine) bool {
	if len(cells) == 0 || len(cells) == 1 && len(groups[cells[0]]) == len(on.set) {
		return false
	}
	return !slices.ContainsFunc(on.nodes, func(n *node) bool {
		same := s.tab.tests[n.test].clamped() && len(n.after) == len(cells)
		for _, x := range n.after {
			same = same && slices.ContainsFunc(cells, func(k int32) bool { return slices.Equal(groups[k], x.began) })
		}
		return same
	})
}

// narrow adds the step that parts most of what bad readings leave together, none of
// those that are made whatever is read, and reports whether there is one.
func (s *sheeting) narrow(root *spine) bool {
	var on *spine
	best, most := -1, 0.0
	for _, x := range s.spines {
		p := s.tab.weight(x.set)
		if p < slight || s.noNews(x, root) {
			continue
		}
		progress := NewProgress().after(s.tab.e.c, s.tab.tests[x.parent.test])
		r := slices.DeleteFunc(s.tab.rank(s.tab.stage(s.tab.belief(x.set), s.tab.ground.setup(progress))), func(r ranking) bool {
			return s.tab.tests[r.test].Ask != "" || !s.canFollow(s.tab.tests[r.test], x, root) || slices.ContainsFunc(root.nodes, func(n *node) bool {
				made := s.tab.tests[n.test]
				made.Mode = s.tab.tests[r.test].Mode
				return made.likewise(s.tab.tests[r.test])
			})
		})
		if len(r) > 0 && p*r[0].bits > most*(1+1e-9) && len(s.sound(r[0].test, x.set)) < len(x.set) {
			on, best, most = x, r[0].test, p*r[0].bits
		}
	}
	if on == nil || most < slight {
		return false
	}
	s.extend(on, best)
	return true
}

// noNews reports whether what follows a move's answer is what was complained of, once
// more: the sheet goes on as it would.
func (s *sheeting) noNews(x, root *spine) bool {
	return s.tab.chance[x.parent.test] != nil && s.tab.weight(x.began) > mostAlike*s.tab.weight(root.began)
}

// suspects lists the explanations of a set, the likeliest first.
func (tab *table) suspects(set []int) []Suspect {
	index := map[int32]int{}
	var out []Suspect
	var at []int32
	for _, h := range set {
		k, ok := index[tab.core[h]]
		if !ok {
			k = len(out)
			index[tab.core[h]] = k
			x := Suspect{core: tab.e.core(&tab.e.hyps[tab.hyps[h]])}
			for _, c := range x.core {
				x.Causes = append(x.Causes, tab.e.classes[c])
			}
			out, at = append(out, x), append(at, tab.core[h])
		}
		out[k].P += tab.ps[h]
	}
	occasions := tab.occasions(tab.belief(set))
	for k := range out {
		out[k].When = occasions[at[k]]
	}
	slices.SortStableFunc(out, func(a, b Suspect) int { return likelier(a.P, b.P) })
	return out
}

// deadBefore reports whether a mode comes about by way of one in which something is to
// turn that was said to be dead.
func (e *Engine) deadBefore(mode circuit.ModeID) bool {
	after := e.c.Mode(mode).After
	return after != circuit.None && slices.ContainsFunc(e.evidence, func(ev Evidence) bool {
		s := ev.Symptom
		return s != nil && e.since(ev) && s.Load != circuit.None && s.State == circuit.Dead && e.c.Part(e.c.Branch(s.Load).Part).Kind == circuit.KindMotor && expects(e.c, after, s.Load)
	})
}

// Plain reports whether a cause is its faults, always there, and no more: not something
// that looks like one, is there now and then, or is how something is set.
func (c *Cause) Plain() bool {
	return c.only == nil && !c.hot && !c.cycles && !c.setting && !c.wiring && !strings.HasPrefix(c.Label, nothingWrong)
}

// occasions tells of each explanation of a belief when it is there, where that is
// likelier not to be always: what was read good may still be open when hot.
func (tab *table) occasions(set belief) map[int32]string {
	weight, total := map[int32]map[when]float64{}, map[int32]float64{}
	for _, w := range set {
		core := tab.core[w.hyp]
		if weight[core] == nil {
			weight[core] = map[when]float64{}
		}
		total[core] += w.p
		if h := tab.hypothesis(int(w.hyp)); len(h.cells) == 1 && h.cells[0] != usual {
			weight[core][tab.engine(w.hyp).classes[h.classes[0]].sizes.cells[h.cells[0]].occasion.when] += w.p
		}
	}
	out := map[int32]string{}
	for core, by := range weight {
		out[core] = mostly(by, total[core])
	}
	return out
}
