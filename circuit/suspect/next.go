package suspect

import (
	"context"
	"fmt"
	"math"
	"sort"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
)

// Outcome is one of the answers a test may give.
type Outcome struct {
	// Reading is set for probes; Loads, by [Proposal.Loads], for a trial.
	Reading  meter.Reading
	States   []LoadState
	Trips    bool
	Chatters bool
	// P is its probability.
	P float64
	// Suspects are the most probable explanations that give it, by what to
	// call them, with their share of P.
	Suspects []Named

	cell int32
}

// Named is an explanation in words, with a probability.
type Named struct {
	Label string
	P     float64
}

// Proposal is a test worth making.
type Proposal struct {
	Test
	// Loads are what a trial watches.
	Loads    []circuit.BranchID
	Outcomes []Outcome
	// Bits is the information expected, of Entropy now.
	Bits, Entropy float64
	// Minutes is the effort; Price adds what its risk is worth avoiding.
	Minutes, Price float64
	// Score is what tests are ranked by: bits, those of the best test after
	// it included, per minute and price of both.
	Score float64
	// Why says in a sentence what it would tell apart.
	Why string
}

// Bounds of a search for the next test.
const (
	weighed   = 160   // hypotheses looked at
	covered   = 0.998 // of the weight, if fewer do
	lookAhead = 8     // tests tried two deep
	// faint is the weight beside the best hypothesis's below which a hypothesis
	// earns no test of its own, once the others hold most of the weight: mostly
	// complaints told wrong. An answer that speaks for it brings it forward.
	faint = 0.02
	most  = 0.6
)

// Sure is the probability from which an explanation is named as the cause.
const Sure = 0.9

// table holds what every test would read under every weighed hypothesis.
type table struct {
	e     *Engine
	tests []Test
	ps    []float64 // of the weighed hypotheses, normalised
	hyps  []int
	core  []int32 // by weighed hypothesis: number of its explanation
	// cell[t][h] is the number of the outcome; reading[t] one per number.
	cell     [][]int32
	readings [][]meter.Reading
	keys     [][]string
	loads    []circuit.BranchID
	// worth is the share of what there is to learn below which a test is let be.
	worth float64
}

// Next proposes tests, best first, up to a number. It proposes none when no
// listed test would tell anything.
func (e *Engine) Next(ctx context.Context, progress *Progress, most int) ([]Proposal, error) {
	if progress == nil {
		progress = NewProgress()
	}
	tab, err := e.tabulate(ctx, progress, faint)
	if err != nil {
		return nil, err
	}
	all := make([]int, len(tab.hyps))
	for i := range all {
		all[i] = i
	}
	ranked := tab.rank(all, progress)
	for i := range ranked {
		if i >= lookAhead {
			break
		}
		tab.deepen(&ranked[i], all, progress)
	}
	head := ranked[:min(lookAhead, len(ranked))]
	sort.SliceStable(head, func(i, j int) bool { return head[i].score > head[j].score*(1+1e-9) })
	var out []Proposal
	for _, r := range ranked[:min(most, len(ranked))] {
		out = append(out, tab.proposal(r, all))
	}
	return out, nil
}

// tabulate predicts every test under the hypotheses that matter: those that
// are not too faint beside the best.
func (e *Engine) tabulate(ctx context.Context, progress *Progress, faint float64) (*table, error) {
	tab := &table{e: e, loads: seenLoads(e.c), worth: worthShare}
	for _, t := range e.tests() {
		if progress.allows(e.c, t) {
			tab.tests = append(tab.tests, t)
		}
	}
	ps := e.posterior()
	sum := 0.0
	for i := 0; i < len(ps) && i < weighed && sum < covered && (sum < most || ps[i] >= faint*ps[0]); i++ {
		tab.hyps = append(tab.hyps, i)
		tab.ps = append(tab.ps, ps[i])
		sum += ps[i]
	}
	cores := map[string]int32{}
	for i := range tab.ps {
		tab.ps[i] /= sum
		id := fmt.Sprint(e.core(&e.hyps[tab.hyps[i]]))
		if _, ok := cores[id]; !ok {
			cores[id] = int32(len(cores))
		}
		tab.core = append(tab.core, cores[id])
	}
	type answer struct {
		reading meter.Reading
		key     string
	}
	known := make([]map[circuit.BranchID]LoadState, len(tab.tests))
	for i, t := range tab.tests {
		if t.Trial {
			known[i] = e.knownStates(t.Mode)
		}
	}
	answers := make([][]answer, len(tab.hyps))
	err := e.each(ctx, len(tab.hyps), func(w *worker, h int) error {
		faults := e.faults(&e.hyps[tab.hyps[h]])
		live := map[circuit.ModeID]liveMachine{}
		dead := map[circuit.ModeID]*settle.Outcome{}
		row := make([]answer, len(tab.tests))
		for i, t := range tab.tests {
			if t.Live {
				o, ok := live[t.Mode]
				if !ok {
					var err error
					if o, err = w.live(t.Mode, faults); err != nil {
						return err
					}
					live[t.Mode] = o
				}
				if t.Trial {
					row[i].key = trialKey(o.LeastShare, tab.loads, known[i], len(o.Tripped) > 0, o.Chatter() != nil)
				} else {
					row[i].reading = w.bench.QuickOn(o, t.Probes.Function, t.Probes.P, t.Probes.Q)
				}
				continue
			}
			o := dead[t.Mode]
			if o == nil {
				var err error
				if o, err = w.bench.Dead(t.Mode, faults); err != nil {
					return err
				}
				dead[t.Mode] = o
			}
			if len(t.Lift) > 0 {
				lifted := *o
				lifted.Conducts = append([]bool(nil), o.Conducts...)
				for _, id := range t.Lift {
					lifted.Conducts[e.c.Wire(id).Branch] = false
				}
				o = &lifted
			}
			row[i].reading = w.bench.Quick(o, t.Probes.Function, t.Probes.P, t.Probes.Q)
		}
		answers[h] = row
		return nil
	})
	if err != nil {
		return nil, err
	}
	tab.cell = make([][]int32, len(tab.tests))
	tab.readings = make([][]meter.Reading, len(tab.tests))
	tab.keys = make([][]string, len(tab.tests))
	for i, t := range tab.tests {
		tab.cell[i] = make([]int32, len(tab.hyps))
		for h := range tab.hyps {
			a := answers[h][i]
			at := -1
			if t.Trial {
				for k, key := range tab.keys[i] {
					if key == a.key {
						at = k
					}
				}
				if at < 0 {
					at = len(tab.keys[i])
					tab.keys[i] = append(tab.keys[i], a.key)
				}
			} else {
				for k, r := range tab.readings[i] {
					if !r.Differs(a.reading) {
						at = k
						break
					}
				}
				if at < 0 {
					at = len(tab.readings[i])
					tab.readings[i] = append(tab.readings[i], a.reading)
				}
			}
			tab.cell[i][h] = int32(at)
		}
	}
	return tab, nil
}

// ranking is one test under consideration.
type ranking struct {
	test           int
	bits           float64
	minutes, price float64
	score          float64
}

// minBits is the least information worth a test; worthShare is that as a share
// of what there is to learn.
const minBits, worthShare = 0.005, 0.08

// rank scores every test on a set of hypotheses, dropping live tests that a
// dead one does the work of.
func (tab *table) rank(set []int, progress *Progress) []ranking {
	var out []ranking
	least := max(minBits, tab.worth*tab.uncertainty(set))
	for i, t := range tab.tests {
		bits := tab.bits(i, set)
		if bits < least {
			continue
		}
		minutes, price := progress.Minutes(tab.e.c, t)
		out = append(out, ranking{i, bits, minutes, price, bits / (minutes + price)})
	}
	out = tab.dropNeedlessRisk(out, set)
	sort.SliceStable(out, func(a, b int) bool { return out[a].score > out[b].score*(1+1e-9) })
	return out
}

// dropNeedlessRisk removes live probing that tells nothing a single test with
// the supply off, or a trial, does not tell too.
func (tab *table) dropNeedlessRisk(all []ranking, set []int) []ranking {
	var out []ranking
	for _, r := range all {
		t := tab.tests[r.test]
		needless := false
		if t.Live && !t.Trial {
			for _, s := range all {
				u := tab.tests[s.test]
				if (!u.Live || u.Trial) && s.bits >= r.bits-1e-9 && tab.refines(s.test, r.test, set) {
					needless = true
					break
				}
			}
		}
		if !needless {
			out = append(out, r)
		}
	}
	return out
}

// refines reports whether test a tells apart all that test b does.
func (tab *table) refines(a, b int, set []int) bool {
	to := map[int32]int32{}
	for _, h := range set {
		x, y := tab.cell[a][h], tab.cell[b][h]
		if z, ok := to[x]; ok && z != y {
			return false
		}
		to[x] = y
	}
	return true
}

// bits is the information a test's outcome gives about the explanation, what it
// would tell of unrelated faults left out: the entropy of the outcome less what
// of it stays when the explanation is known.
func (tab *table) bits(test int, set []int) float64 {
	type joint struct{ cell, core int32 }
	cells, cores := map[int32]float64{}, map[int32]float64{}
	joints := map[joint]float64{}
	total := 0.0
	for _, h := range set {
		p := tab.ps[h]
		cells[tab.cell[test][h]] += p
		cores[tab.core[h]] += p
		joints[joint{tab.cell[test][h], tab.core[h]}] += p
		total += p
	}
	if total == 0 || len(cells) < 2 {
		return 0
	}
	both := make([]float64, 0, len(joints))
	for _, p := range joints {
		both = append(both, p)
	}
	sort.Float64s(both)
	return entropy(sortedValues(cells), total) + entropy(sortedValues(cores), total) - entropy(both, total)
}

// uncertainty is the entropy of the explanation itself.
func (tab *table) uncertainty(set []int) float64 {
	cores := map[int32]float64{}
	total := 0.0
	for _, h := range set {
		cores[tab.core[h]] += tab.ps[h]
		total += tab.ps[h]
	}
	return entropy(sortedValues(cores), total)
}

func entropy(ps []float64, total float64) float64 {
	out := 0.0
	for _, p := range ps {
		if p > 0 {
			out -= p / total * math.Log2(p/total)
		}
	}
	return out
}

func sortedValues(m map[int32]float64) []float64 {
	out := make([]float64, 0, len(m))
	for _, v := range m {
		out = append(out, v)
	}
	sort.Float64s(out)
	return out
}

// deepen rescores a test with the best test that would follow each outcome.
func (tab *table) deepen(r *ranking, set []int, progress *Progress) {
	after := &Progress{Opened: map[string]bool{}, On: progress.On, Skipped: progress.Skipped}
	for k := range progress.Opened {
		after.Opened[k] = true
	}
	after.Did(tab.e.c, tab.tests[r.test])
	groups := map[int32][]int{}
	total := 0.0
	for _, h := range set {
		groups[tab.cell[r.test][h]] = append(groups[tab.cell[r.test][h]], h)
		total += tab.ps[h]
	}
	bits, cost := r.bits, r.minutes+r.price
	for _, k := range sortedCells(groups) {
		group := groups[k]
		p := 0.0
		for _, h := range group {
			p += tab.ps[h]
		}
		best, bestBits, bestCost := 0.0, 0.0, 0.0
		for i, t := range tab.tests {
			b := tab.bits(i, group)
			if b < minBits {
				continue
			}
			minutes, price := after.Minutes(tab.e.c, t)
			if s := b / (minutes + price); s > best {
				best, bestBits, bestCost = s, b, minutes+price
			}
		}
		bits += p / total * bestBits
		cost += p / total * bestCost
	}
	r.score = bits / cost
}

func sortedCells(groups map[int32][]int) []int32 {
	out := make([]int32, 0, len(groups))
	for k := range groups {
		out = append(out, k)
	}
	sort.Slice(out, func(i, j int) bool { return out[i] < out[j] })
	return out
}

// proposal dresses a ranking up with its outcomes and a reason.
func (tab *table) proposal(r ranking, set []int) Proposal {
	t := tab.tests[r.test]
	p := Proposal{Test: t, Bits: r.bits, Entropy: tab.e.Entropy(), Minutes: r.minutes, Price: r.price, Score: r.score}
	if t.Trial {
		p.Loads = tab.loads
	}
	groups := map[int32][]int{}
	total := 0.0
	for _, h := range set {
		groups[tab.cell[r.test][h]] = append(groups[tab.cell[r.test][h]], h)
		total += tab.ps[h]
	}
	for _, k := range sortedCells(groups) {
		o := Outcome{cell: k}
		if t.Trial {
			for _, c := range tab.keys[r.test][k] {
				switch c {
				case 't':
					o.Trips = true
				case 'c':
					o.Chatters = true
				default:
					o.States = append(o.States, LoadState(c-'0'))
				}
			}
		} else {
			o.Reading = tab.readings[r.test][k]
		}
		for _, h := range groups[k] {
			o.P += tab.ps[h] / total
		}
		o.Suspects = tab.names(groups[k])
		p.Outcomes = append(p.Outcomes, o)
	}
	sort.SliceStable(p.Outcomes, func(i, j int) bool { return p.Outcomes[i].P > p.Outcomes[j].P })
	p.Why = why(p.Outcomes)
	return p
}

// names lists the most probable explanations of a group.
func (tab *table) names(group []int) []Named {
	total := 0.0
	for _, h := range group {
		total += tab.ps[h]
	}
	var out []Named
	index := map[int32]int{}
	for _, h := range group {
		if at, ok := index[tab.core[h]]; ok {
			out[at].P += tab.ps[h] / total
			continue
		}
		index[tab.core[h]] = len(out)
		out = append(out, Named{tab.e.label(tab.e.core(&tab.e.hyps[tab.hyps[h]])), tab.ps[h] / total})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	return out[:min(4, len(out))]
}

// label says what a set of classes puts wrong.
func (e *Engine) label(classes []int32) string {
	if len(classes) == 0 {
		return "nothing wrong"
	}
	var parts []string
	for _, k := range classes {
		parts = append(parts, e.classes[k].Members[0].Label)
	}
	return strings.Join(parts, " and ")
}

// why writes the reason for a test from its two likeliest outcomes.
func why(outcomes []Outcome) string {
	if len(outcomes) < 2 {
		return ""
	}
	lead := func(o Outcome) string {
		var names []string
		for _, n := range o.Suspects[:min(2, len(o.Suspects))] {
			names = append(names, n.Label)
		}
		return strings.Join(names, ", ")
	}
	a, b := outcomes[0], outcomes[1]
	return fmt.Sprintf("splits %.0f / %.0f: separates %s from %s", 100*a.P, 100*(1-a.P), lead(a), lead(b))
}
