package suspect

import (
	"cmp"
	"maps"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// judge works out what a sound machine shows, and joins the outcomes that a
// person takes for one.
func (s *sheeting) judge() error {
	tab, w := s.tab, s.tab.e.workers[0]
	s.good, s.dead, s.expect = make([][]bool, len(tab.tests)), make([][]bool, len(tab.tests)), make([]Expected, len(tab.tests))
	for i, t := range tab.tests {
		s.good[i], s.dead[i] = make([]bool, tab.outcomesOf(i)), make([]bool, tab.outcomesOf(i))
		if t.Ask != "" {
			s.judgeMove(i)
			continue
		}
		if t.Trial {
			o, err := w.live(t.Mode, nil)
			if err != nil {
				return err
			}
			sound, err := w.sound(t.Mode)
			if err != nil {
				return err
			}
			s.expect[i].Behaviour = behaviour(o, sound, tab.loads, tab.e.knownStates(t.Mode))
			for k, b := range tab.trials[i] {
				s.good[i][k] = b.Equal(s.expect[i].Behaviour)
			}
			continue
		}
		r, _, err := w.reading(t.Probes, t.Mode, t.Lift, nil)
		if err != nil {
			return err
		}
		s.expect[i].Reading = r
		like := make([]int32, len(tab.readings[i]))
		for k, x := range tab.readings[i] {
			nothing := func(y meter.Reading) bool { return w.bench.NearZero(x) && w.bench.NearZero(y) }
			s.good[i][k] = !x.Differs(r) || nothing(r)
			like[k] = int32(slices.IndexFunc(tab.readings[i], func(y meter.Reading) bool {
				return s.good[i][k] && !y.Differs(r) || !y.Differs(x) || nothing(y) || x.Unsteady && y.Unsteady
			}))
		}
		for k, x := range tab.readings[i] {
			s.dead[i][like[k]] = s.dead[i][like[k]] || tab.readings[i][like[k]].Unsteady && w.bench.NearZero(x) || i < len(tab.zero) && k < len(tab.zero[i]) && tab.zero[i][k]
		}
		for h, k := range tab.cell[i] {
			tab.cell[i][h] = like[k]
		}
		if metal := tab.e.c.ChassisTerminal(); r.OL && (t.Probes.P == metal || t.Probes.Q == metal) {
			s.touching(i)
		}
	}
	return nil
}

// touching joins what metal is touched by: nobody knows where along a sheath or a wire, so
// that no figure tells one from another.
func (s *sheeting) touching(test int) {
	tab, joint := s.tab, int32(-1)
	for h, k := range tab.cell[test] {
		core := tab.e.core(&tab.e.hyps[tab.hyps[h]])
		if s.good[test][k] || tab.readings[test][k].OL || len(core) != 1 || tab.e.classes[core[0]].Members[0].Faults[0].Kind != circuit.Grounded {
			continue
		}
		if joint < 0 {
			joint = k
		}
		whole, more := &tab.readings[test][joint], tab.readings[test][k]
		whole.Low, whole.High = min(whole.Low, more.Low), max(whole.High, more.High)
		tab.cell[test][h] = joint
	}
}

// judgeMove takes of a move the answer that each explanation most likely gives.
func (s *sheeting) judgeMove(test int) {
	tab, t := s.tab, s.tab.tests[test]
	last := tab.outcomesOf(test) - 1
	s.good[test][last], s.expect[test].Answer = true, t.Good()
	tab.cell[test] = make([]int32, len(tab.hyps))
	for h, p := range tab.chance[test] {
		tab.cell[test][h] = int32(last)
		if k := slices.Index(p, slices.Max(p)); p[last] < seldom {
			tab.cell[test][h] = int32(k)
		}
	}
}

// A move's good answer speaks against what seldom gives it, and clears it where it gives
// it rarely: a limit that is found not to have tripped may have failed.
const seldom, rarely = 0.5, 0.15

// mostAlike is the share of a set with one bad answer from which a move tells nothing of it
// but that the complaint holds.
const mostAlike = 0.8

// sound keeps what reads good, bad what does not, by cell in order of chance.
func (s *sheeting) sound(test int, set []int) []int {
	if chance := s.tab.chance[test]; chance != nil {
		for _, group := range s.groups(test, set) {
			if s.tab.weight(group) > mostAlike*s.tab.weight(set) {
				return slices.Clone(set) // what was complained of, once more: it clears nothing
			}
		}
		return slices.DeleteFunc(slices.Clone(set), func(h int) bool { return chance[h][len(chance[h])-1] < rarely })
	}
	return slices.DeleteFunc(slices.Clone(set), func(h int) bool { return !s.good[test][s.tab.cell[test][h]] })
}

// groups are the explanations that a test reads bad for, by outcome.
func (s *sheeting) groups(test int, set []int) map[int32][]int {
	groups := map[int32][]int{}
	for _, h := range set {
		if k := s.tab.cell[test][h]; !s.good[test][k] {
			groups[k] = append(groups[k], h)
		}
	}
	return groups
}

func (s *sheeting) bad(test int, set []int) (cells []int32, groups map[int32][]int) {
	groups = s.groups(test, set)
	cells = slices.Sorted(maps.Keys(groups))
	slices.SortStableFunc(cells, func(a, b int32) int { return cmp.Compare(s.tab.weight(groups[b]), s.tab.weight(groups[a])) })
	return cells, groups
}

// finds is the weight of what a test reads bad of a set.
func (s *sheeting) finds(test int, set []int) (sum float64) {
	for _, h := range set {
		if !s.good[test][s.tab.cell[test][h]] {
			sum += s.tab.ps[h]
		}
	}
	return sum
}

func (tab *table) weight(set []int) float64 {
	sum := 0.0
	for _, h := range set {
		sum += tab.ps[h]
	}
	return sum
}
