package suspect

import (
	"cmp"
	"slices"
	"strings"

	"legtrace/circuit"
)

// ordered puts trials first, which nothing is opened up for, then all that is read
// with the supply removed and all that is read live, each in one go, so that the
// supply is turned once: that part first which the first probing is of, or on a dead
// machine the live one. The supply itself comes before other live tests, and what lies
// behind the same panels is read together, and of that what is read in one mode.
func (s *sheeting) ordered(tests []int) []int {
	probing := slices.IndexFunc(tests, func(t int) bool { return !s.tab.tests[t].Outside(s.tab.e.c) })
	s.liveFirst = probing >= 0 && s.tab.tests[tests[probing]].Live || slices.ContainsFunc(tests, func(t int) bool { m := s.mustOf(t); return m != nil && m.first && m.Live })
	station := map[string]int{}
	rank := map[int][]int{}
	for i, t := range tests {
		key := s.tab.e.places(s.tab.tests[t])
		set := key + " in " + s.tab.e.c.Mode(s.tab.tests[t].Mode).Name
		for _, key := range []string{key, set} {
			if _, ok := station[key]; !ok {
				station[key] = i
			}
		}
		m, within := s.mustOf(t), 3
		switch {
		case i == probing, !s.tab.tests[t].Live:
			within = 0
		case m != nil && m.first:
			within = 1
		case m != nil && m.supply, s.tab.tests[t].station(s.tab.e.c) != "":
			within = 2
		}
		pressed := 1 // before it is measured across
		if s.tab.tests[t].Ask == Press {
			pressed = 0
		}
		rank[t] = []int{s.block(s.tab.tests[t], nil), within, station[key], pressed, station[set], i}
	}
	out := slices.Clone(tests)
	slices.SortStableFunc(out, func(a, b int) int { return slices.Compare(rank[a], rank[b]) })
	return out
}

// block numbers the part of a sheet that a test belongs to, by how the supply stands:
// what is tried before anything is opened, then as ordered has it. A trial that waits
// for a probing goes with what is read live; what comes by waiting ends it all.
func (s *sheeting) block(t Test, after *node) int {
	switch {
	case t.Awaited(s.tab.e.c):
		return 3
	case t.Outside(s.tab.e.c) && (after == nil || after.block == 0):
		return 0
	case t.Live == s.liveFirst:
		return 1
	}
	return 2
}

// places names what has to lie open for a test; bare metal is at hand everywhere.
func (e *Engine) places(t Test) string {
	if metal := e.c.ChassisTerminal(); t.Probing() && t.Probes.Q == metal {
		t.Probes.Q = t.Probes.P
	}
	var out []string
	for _, place := range t.places(e.c) {
		out = append(out, laidOpen(e.c, place))
	}
	slices.Sort(out)
	return strings.Join(slices.Compact(out), "; ")
}

// canFollow reports whether a test can be made at the end of a spine that follows a bad
// reading: without a turn of the supply back, and after a live one at nothing else
// than what is open.
func (s *sheeting) canFollow(t Test, on *spine, root *spine) bool {
	last := on.parent
	if n := len(on.nodes); n > 0 {
		last = on.nodes[n-1]
	}
	block := s.block(t, on.parent)
	if t.clamped() || t.Live && (s.tab.e.trips() || s.tab.tests[on.parent.test].Ask == Press) {
		return false // what trips is not switched on once more
	}
	if block < last.block || t.Trial && s.tab.e.c.Mode(t.Mode).Reached != circuit.ByHand {
		return false
	}
	open := func(place string) bool {
		return len(s.tab.e.c.PanelsTo(place)) == 0 || slices.ContainsFunc(root.nodes, func(n *node) bool {
			return n.block <= block && slices.Contains(s.tab.tests[n.test].places(s.tab.e.c), place)
		})
	}
	return !t.Live || block > last.block || !slices.ContainsFunc(t.places(s.tab.e.c), func(p string) bool { return !open(p) })
}

// line is a step on its way to the sheet: a node on its spine, and what it waits for.
type line struct {
	*node
	on    *spine
	after int // bad outcome of the node that its spine follows
}

// lines lists a spine's nodes, each followed by what its bad outcomes lead to.
func (x *spine) lines(after int) []line {
	var out []line
	for _, n := range x.nodes {
		out = append(out, line{n, x, after})
		for j, y := range n.after {
			out = append(out, y.lines(j)...)
		}
	}
	return out
}

// list writes the steps down, block by block.
func (s *sheeting) list(out *Sheet, root *spine, progress *Progress) {
	lines := root.lines(circuit.None)
	slices.SortStableFunc(lines, func(a, b line) int { return cmp.Compare(a.block, b.block) })
	at := map[*node]int{nil: circuit.None}
	for i, l := range lines {
		at[l.node] = i
	}
	for _, l := range lines {
		t := s.tab.tests[l.test]
		step := Step{Test: t, Good: s.expect[l.test], OnlyIf: at[l.on.parent], After: l.after, Must: s.mustOf(l.test) != nil}
		if t.Trial {
			step.Loads = s.tab.loads
		}
		step.Minutes, _ = progress.Minutes(s.tab.e.c, t)
		progress.Did(s.tab.e.c, t)
		for j, k := range l.cells {
			shown := Shown{Any: s.tab.suspects(l.node.after[j].began), Then: circuit.None}
			if next := l.node.after[j].nodes; len(next) > 0 {
				shown.Then = at[next[0]]
			} else if k := slices.Index(root.nodes, l.node); k >= 0 && k+1 < len(root.nodes) && s.noNews(l.node.after[j], root) {
				shown.Then = at[root.nodes[k+1]]
			}
			switch {
			case t.Ask != "":
				shown.Answer = moves[t.Ask].answers[k].words
			case t.Trial:
				shown.Behaviour = s.tab.trials[l.test][k]
			default:
				shown.Reading, shown.Dead = s.tab.readings[l.test][k], s.dead[l.test][k]
			}
			step.Bad = append(step.Bad, shown)
		}
		if l.on.parent != nil && l.node == l.on.nodes[len(l.on.nodes)-1] {
			step.IfGood = s.tab.suspects(l.on.set)
		}
		out.Steps = append(out.Steps, step)
	}
}
