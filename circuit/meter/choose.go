package meter

import (
	"math"
	"sort"

	"legtrace/circuit"
)

// choice is a list of tests in the making.
type choice struct {
	b    *Bench
	list *TestList
	// group tells suspects apart: those told apart so far differ here. The last
	// stands for a machine in which every test so far read good.
	group  []int
	weight []float64
	part   []bool // worth telling apart: no wire, pin or stud
	opened map[string]bool
}

// nothing is the weight of a machine in which no suspect is open, beside the
// suspects' own: a list must tell each of them from that as well.
const nothing = 0.1

// choose picks tests, each time the one that gains most bits for its minutes,
// until none tells a part from what is left. Wires and pins in a run are not
// told from one another: who finds the run open looks along it.
func (list *TestList) choose(b *Bench, candidates, opening []Step) {
	n := len(list.Suspects)
	ch := &choice{b: b, list: list, group: make([]int, n+1), weight: make([]float64, n+1), part: make([]bool, n+1), opened: map[string]bool{}}
	for i, s := range list.Suspects {
		ch.weight[i], ch.part[i] = s.Weight, b.c.Branch(s.Fault.Branch).Role != circuit.Join
	}
	ch.weight[n], ch.part[n] = nothing, true
	for len(list.Steps) < maxSteps-1 {
		best := ch.best(candidates, ch.findsPart)
		if best < 0 {
			break
		}
		if candidates[best].Live && opening != nil {
			// Before the first live test on the feed, the supply itself.
			for _, s := range opening {
				s.opening = true
				ch.take(s)
			}
			opening = nil
			continue
		}
		ch.take(candidates[best])
	}
	for len(list.Steps) < maxSteps { // what none finds so far: most with the fewest
		best := ch.widest(candidates)
		if best < 0 {
			break
		}
		ch.take(candidates[best])
	}
	list.order(b)
	list.Alike = alike(ch.group[:n])
}

func (ch *choice) take(s Step) {
	for _, t := range [2]circuit.TerminalID{s.P, s.Q} {
		ch.opened[ch.b.c.PlaceOf(t)] = true
	}
	s.UnderLoad = s.Live && ch.b.needsLoad(&s)
	finds := s.finds()
	if !s.UnderLoad && (len(finds) == 0 || ch.taken(&s)) {
		return
	}
	for i := range finds {
		s.Clears += ch.weight[i]
	}
	ch.list.Steps = append(ch.list.Steps, s)
	split(&s, ch.group)
}

// taken reports whether the list has the same probes live already.
func (ch *choice) taken(s *Step) bool {
	for i := range ch.list.Steps {
		if t := &ch.list.Steps[i]; s.opening && t.opening && s.P == t.P && s.Q == t.Q {
			return true
		}
	}
	return false
}

// best returns the candidate that gains most for its minutes, or -1.
func (ch *choice) best(candidates []Step, worth func(*Step) bool) int {
	best, bestScore := -1, 0.0
	for i := range candidates {
		gain := ch.gain(&candidates[i])
		if gain < 1e-9 || !worth(&candidates[i]) {
			continue
		}
		if score := gain / ch.b.minutes(&candidates[i], ch.opened); score > bestScore*(1+1e-9) {
			best, bestScore = i, score
		}
	}
	return best
}

// widest returns the candidate that finds most of what no test so far finds,
// or -1.
func (ch *choice) widest(candidates []Step) int {
	n := len(ch.list.Suspects)
	best, most := -1, 1e-9
	for i := range candidates {
		found := 0.0
		for k := range candidates[i].finds() {
			if ch.group[k] == ch.group[n] {
				found += ch.weight[k]
			}
		}
		if found > most*(1+1e-9) {
			best, most = i, found
		}
	}
	return best
}

// findsPart reports whether a part is among what a test finds.
func (ch *choice) findsPart(s *Step) bool {
	for i := range s.finds() {
		if ch.part[i] {
			return true
		}
	}
	return false
}

// finds lists the suspects that make a test read bad.
func (s *Step) finds() map[int]bool {
	out := map[int]bool{}
	for _, o := range s.Others {
		for _, i := range o.Suspects {
			if o.Differs {
				out[i] = true
			}
		}
	}
	return out
}

// gain is the information in bits of a test, within those groups already apart
// that hold a part.
func (ch *choice) gain(s *Step) float64 {
	outcome := outcomes(s, len(ch.group))
	type cell struct{ group, outcome int }
	whole, parts, holds := map[int]float64{}, map[cell]float64{}, map[int]bool{}
	for i, g := range ch.group {
		whole[g] += ch.weight[i]
		parts[cell{g, outcome[i]}] += ch.weight[i]
		holds[g] = holds[g] || ch.part[i]
	}
	gain := 0.0
	for c, w := range parts {
		if holds[c.group] && w > 0 {
			gain -= w * math.Log2(w/whole[c.group])
		}
	}
	return gain
}

// outcomes tells, per suspect, which reading it gives: 0 a good one.
func outcomes(s *Step, n int) []int {
	out := make([]int, n)
	for k, o := range s.Others {
		for _, i := range o.Suspects {
			if o.Differs {
				out[i] = k + 1
			}
		}
	}
	return out
}

func split(s *Step, group []int) {
	outcome := outcomes(s, len(group))
	ids := map[[2]int]int{}
	for i, g := range group {
		key := [2]int{g, outcome[i]}
		if _, ok := ids[key]; !ok {
			ids[key] = len(ids)
		}
		group[i] = ids[key]
	}
}

func alike(group []int) [][]int {
	by := map[int][]int{}
	for i, g := range group {
		by[g] = append(by[g], i)
	}
	var out [][]int
	for _, members := range by {
		if len(members) > 1 {
			out = append(out, members)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i][0] < out[j][0] })
	return out
}

// order puts tests with the supply removed first, then those of the supply
// itself, then the others; each that is needed only after a bad reading behind the one that read bad, and says what they take.
func (list *TestList) order(b *Bench) {
	var off, supply, on []Step
	for _, s := range list.Steps {
		switch {
		case s.opening:
			supply = append(supply, s)
		case s.Live:
			on = append(on, s)
		default:
			off = append(off, s)
		}
	}
	list.Steps = list.Steps[:0]
	for _, part := range [3][]Step{off, supply, on} {
		list.Steps = append(list.Steps, nested(part)...)
	}
	opened := map[string]bool{}
	for i := range list.Steps {
		s := &list.Steps[i]
		s.OnlyIf = within(s, list.Steps[:i])
		s.Minutes = b.minutes(s, opened)
		if s.Live {
			s.Minutes -= liveMinutes
		}
		for _, t := range [2]circuit.TerminalID{s.P, s.Q} {
			opened[b.c.PlaceOf(t)] = true
		}
	}
}

// nested moves each test right behind the narrowest one that finds all it
// finds and more.
func nested(steps []Step) []Step {
	children := map[int][]int{}
	var roots []int
	for i := range steps {
		parent := circuit.None
		for j := range steps {
			if i != j && follows(&steps[i], &steps[j]) && (parent == circuit.None || len(steps[j].finds()) < len(steps[parent].finds())) {
				parent = j
			}
		}
		if parent == circuit.None {
			roots = append(roots, i)
		} else {
			children[parent] = append(children[parent], i)
		}
	}
	var out []Step
	var walk func(i int)
	walk = func(i int) {
		out = append(out, steps[i])
		for _, child := range children[i] {
			walk(child)
		}
	}
	for _, i := range roots {
		walk(i)
	}
	return out
}

// follows reports whether a good reading of wide leaves nothing for s to find.
// A live round begins at the supply, so the tests of that always stand.
func follows(s, wide *Step) bool {
	finds, wider := s.finds(), wide.finds()
	if s.opening || len(finds) >= len(wider) {
		return false
	}
	for i := range finds {
		if !wider[i] {
			return false
		}
	}
	return true
}

// within returns the last of the earlier steps that a step follows, or None.
func within(s *Step, earlier []Step) int {
	for i := len(earlier) - 1; i >= 0; i-- {
		if follows(s, &earlier[i]) {
			return i
		}
	}
	return circuit.None
}

// minutes is what a test costs: reaching its places, lifting, and the price of
// live work.
func (b *Bench) minutes(s *Step, opened map[string]bool) float64 {
	total := 0.0
	reached := map[string]bool{}
	for _, t := range [2]circuit.TerminalID{s.P, s.Q} {
		place := b.c.PlaceOf(t)
		if opened[place] || reached[place] {
			total += againMinutes
			continue
		}
		reached[place] = true
		total += b.c.AccessMinutes(t)
	}
	if len(s.Lift) > 0 {
		total += liftMinutes
	}
	if s.Live {
		total += liveMinutes
	}
	return total
}

// needsLoad reports whether a burnt contact or joint in a leg would show at
// these probes: then the reading means something only while the load draws
// current, since unloaded the same fault reads good.
func (b *Bench) needsLoad(s *Step) bool {
	for _, leg := range b.c.Supply().Legs {
		burnt := []circuit.Fault{{Kind: circuit.HighResistance, Branch: leg, Ohms: BurntContactOhms}}
		loaded, err := b.Live(s.Mode, burnt)
		if err != nil {
			return false
		}
		r, err := b.Volts(loaded, s.Function, s.P, s.Q)
		if err == nil && s.Good.Value-r.Value > 0.05*s.Good.Value {
			return true
		}
	}
	return false
}
