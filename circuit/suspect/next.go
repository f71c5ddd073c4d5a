package suspect

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/meter"
)

// Outcome is one of the answers a test may give.
type Outcome struct {
	// Reading is set for probes; Behaviour, by [Proposal.Loads], for a trial.
	Reading meter.Reading
	Behaviour
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

// Next proposes tests, best first, up to a number. It proposes none when no
// listed test is worth making.
func (e *Engine) Next(ctx context.Context, progress *Progress, most int) ([]Proposal, error) {
	return e.propose(ctx, progress, most, worthShare)
}

// Rest proposes tests that tell anything at all, those among them that Next lets
// be because they tell too little of what is left to learn.
func (e *Engine) Rest(ctx context.Context, progress *Progress, most int) ([]Proposal, error) {
	return e.propose(ctx, progress, most, 0)
}

func (e *Engine) propose(ctx context.Context, progress *Progress, most int, worth float64) ([]Proposal, error) {
	progress = cmp.Or(progress, NewProgress())
	tab, all, err := e.everything(ctx, progress)
	if err != nil {
		return nil, err
	}
	tab.worth = worth
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

// trialShare is that share for a trial, while there is a probe to put down: what
// works and what does not, the person who called has mostly said already.
const trialShare = 0.3

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
	out = tab.dropNeedlessRisk(tab.dropIdleTrials(out, set), set)
	sort.SliceStable(out, func(a, b int) bool { return out[a].score > out[b].score*(1+1e-9) })
	return out
}

// dropIdleTrials removes trials that tell little, where any probing tells more.
func (tab *table) dropIdleTrials(all []ranking, set []int) []ranking {
	isTrial := func(r ranking) bool { return tab.tests[r.test].Trial }
	if tab.worth == 0 || !slices.ContainsFunc(all, func(r ranking) bool { return !isTrial(r) }) {
		return all
	}
	least := trialShare * tab.uncertainty(set)
	return slices.DeleteFunc(all, func(r ranking) bool { return isTrial(r) && r.bits < least })
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
			o.Behaviour = tab.trials[r.test][k]
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

// Look lists the loads of a trial whose behaviour tells anything: those that
// differ between outcomes and are not known yet.
func (e *Engine) Look(p *Proposal) []circuit.BranchID {
	known := e.knownStates(p.Mode)
	var tell, unknown []circuit.BranchID
	for i, id := range p.Loads {
		if known[id] != 0 {
			continue
		}
		unknown = append(unknown, id)
		if slices.ContainsFunc(p.Outcomes, func(o Outcome) bool { return o.States[i] != p.Outcomes[0].States[i] }) {
			tell = append(tell, id)
		}
	}
	if len(tell) == 0 {
		return unknown
	}
	return tell
}
