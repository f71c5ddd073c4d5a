package suspect

import (
	stdcmp "cmp"
	"container/heap"
	"context"
	"errors"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
)

// Sets of faults weighed by the shortcut (an open where no current ever flowed
// changes nothing) against settling every one of them, on random machines.
func TestPairsWeighAsIfEachWereSettled(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, problems := circuit.Build(circuittest.Random(t, circuittest.Options{MaxBreakable: 9}))
		if c == nil {
			t.Fatal(problems)
		}
		e, err := New(c, Options{})
		if err != nil {
			t.Fatal(err)
		}
		loads := c.Loads()
		mode := rapid.SampledFrom([]string{"off", "on", "later"}).Draw(t, "mode")
		id, err := c.FindMode(mode)
		if err != nil {
			t.Fatal(err)
		}
		ev := Evidence{Symptom: &Symptom{Mode: id, Load: rapid.SampledFrom(loads).Draw(t, "load"),
			State: rapid.SampledFrom([]circuit.LoadState{circuit.Normal, circuit.Weak, circuit.Dead, circuit.TooMuch, circuit.StaysOn, circuit.Off}).Draw(t, "state")}}
		s, err := e.weighSingles(context.Background(), ev)
		if err != nil {
			t.Fatal(err)
		}
		for i := range e.hyps {
			h := &e.hyps[i]
			if len(h.classes) < 2 {
				continue
			}
			got, ok := s.known(h)
			if !ok {
				continue
			}
			ps, err := e.predicted(e.workers[0], ev, h)
			if err != nil {
				t.Fatal(err)
			}
			if want := e.errs.logLikelihood(ev, ps...); math.Abs(got-want) > 1e-9 {
				t.Fatalf("%s: weighed %g, settled %g", e.label(h.classes), got, want)
			}
		}
	})
}

// Two contacts side by side: either may be said to carry all, and so neither is idle
// beside the other's fault. Kirchhoff's laws determine only their sum.
func TestNeitherOfTwoContactsSideBySideIsIdle(t *testing.T) {
	c := circuittest.SplitPhase(240).Load("element", "element", 240, 2400).Switch("hand").Part(circuit.PartSpec{Kind: "limit", Name: "limit"}).
		Series("supply.L1", "hand", "element", "supply.L2").Wire("supply.L1", "limit.1").Wire("limit.2", "element.1").
		Mode("off").Mode("on", "hand", "closed").Build(t)
	e, err := New(c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	on, err := c.FindMode("on")
	if err != nil {
		t.Fatal(err)
	}
	idle, err := e.idleIn(context.Background(), on, func(int32) bool { return true })
	if err != nil {
		t.Fatal(err)
	}
	of := func(name string) int {
		return slices.IndexFunc(e.classes, func(k Class) bool { return k.Members[0].Label == name })
	}
	hand, limit := of("Hand open"), of("Limit open")
	if hand < 0 || limit < 0 || idle[hand][limit] || idle[limit][hand] {
		t.Errorf("beside hand %d open limit %d is idle: %v, the other way %v", hand, limit, idle[hand][limit], idle[limit][hand])
	}
}

// The posterior against Bayes' rule written out: every hypothesis settled and
// multiplied by its prior, and where a fault has a size, at every twentieth of
// every cell of sizes, each by itself.
func TestPosteriorIsBayesRule(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Load("element", "element", 240, 2400).Load("lamp", "lamp", 120, 40).Switch("control").
		Series("supply.L1", "control", "element", "supply.L2").Series("supply.L1", "lamp", "supply.N").
		Mode("off").Mode("on", "control", "closed").Build(t)
	for _, notes := range [][]Note{
		{
			{Mode: "on", Load: "element", State: "dead"},
			{Mode: "on", Load: "lamp", State: "normal"},
			{Mode: "on", Function: "ohms", P: "element.1", Q: "element.2", Lifted: "element.1", Answer: "23.5"},
		},
		{
			{Mode: "on", Load: "element", State: "weak"},
			{Mode: "on", Function: "volts", P: "control.1", Q: "control.2", Answer: "96"},
			{Mode: "on", Function: "ohms", P: "control.1", Q: "control.2", Answer: "15.2"},
		},
		{
			{Mode: "on", Load: "element", State: "weak"},
			{Mode: "on", Function: "volts", P: "element.1", Q: "element.2", Answer: "171"},
		},
	} {
		var evidence []Evidence
		for _, n := range notes {
			ev, err := n.Resolve(c)
			if err != nil {
				t.Fatal(err)
			}
			evidence = append(evidence, ev)
		}
		e, err := New(c, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, ev := range evidence {
			if err := e.Add(context.Background(), ev); err != nil {
				t.Fatal(err)
			}
		}
		all := e.hypotheses(2)
		want, total := map[string]float64{}, 0.0
		for i := range all {
			points := [][]circuit.Fault{e.faults(&all[i])}
			if len(all[i].cells) == 1 {
				points = e.classes[all[i].classes[0]].sizes.fine(all[i].cells[0], 20)
			}
			for _, faults := range points {
				p := math.Exp(all[i].logp) / float64(len(points))
				for _, ev := range evidence {
					pr, err := e.workers[0].predict(ev, faults)
					if err != nil {
						t.Fatal(err)
					}
					p *= math.Exp(e.errs.logLikelihood(ev, pr))
				}
				want[e.label(all[i].classes)] += p
				total += p
			}
		}
		got := map[string]float64{}
		ps := e.posterior()
		for i := range e.hyps {
			got[e.label(e.hyps[i].classes)] += ps[i]
		}
		for label, w := range want {
			if math.Abs(got[label]-w/total) > 0.02 {
				t.Errorf("%s, %s: %.4f, Bayes' rule gives %.4f", notes[len(notes)-1].Answer, label, got[label], w/total)
			}
		}
		if e.LeftOut() > 0.02 {
			t.Errorf("left out %g of the weight", e.LeftOut())
		}
	}
}

// randomTable makes tests with random outcomes over n explanations.
func randomTable(r *rand.Rand, n, tests, ways int) *table {
	tab := &table{e: &Engine{c: &circuit.Circuit{}}}
	sum := 0.0
	for i := 0; i < n; i++ {
		p := 0.05 + r.Float64()
		tab.ps, tab.core, tab.hyps = append(tab.ps, p), append(tab.core, int32(i)), append(tab.hyps, i)
		sum += p
	}
	for i := range tab.ps {
		tab.ps[i] /= sum
	}
	for t := 0; t < tests; t++ {
		cell := make([]int32, n)
		for i := range cell {
			cell[i] = int32(r.IntN(ways))
		}
		tab.add(cell)
	}
	return tab
}

func (tab *table) add(cell []int32) {
	tab.tests = append(tab.tests, Test{Trial: true, At: circuit.None})
	tab.cell, tab.chance = append(tab.cell, cell), append(tab.chance, nil)
	tab.spread = append(tab.spread, nil)
	tab.trials = append(tab.trials, make([]Behaviour, slices.Max(cell)+1))
}

// obvious is the least mean number of tests by trying every test at every set,
// with no memory of sets met before.
func obvious(tab *table, set []int) float64 {
	mass := 0.0
	for _, h := range set {
		mass += tab.ps[h]
	}
	best := math.Inf(1)
	for t := range tab.tests {
		groups := map[int32][]int{}
		for _, h := range set {
			groups[tab.cell[t][h]] = append(groups[tab.cell[t][h]], h)
		}
		if len(groups) < 2 {
			continue
		}
		cost := mass
		for _, k := range slices.Sorted(maps.Keys(groups)) {
			cost += obvious(tab, groups[k])
		}
		best = min(best, cost)
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

func TestFewestTestsAgainstEveryTreeTried(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		n, ways := 2+r.IntN(6), 2+r.IntN(2)
		tab := randomTable(r, n, 1+r.IntN(6), ways)
		tab.core = make([]int32, n)
		set := make([]int, n)
		for i := range set {
			set[i], tab.core[i] = i, int32(i)
		}
		groups, weights := tab.groups(tab.all())
		got := tab.fewest(groups, weights)
		if want := obvious(tab, set); math.Abs(got.Tests-want) > 1e-9 {
			t.Fatalf("%d explanations: fewest %g, by every tree %g", n, got.Tests, want)
		}
		// C. E. Shannon, "A Mathematical Theory of Communication", Bell System
		// Technical Journal 27 (1948), theorem 9: no fewer than the entropy, in
		// units of the number of outcomes.
		if bound := entropy(weights, 1) / math.Log2(float64(ways)); got.Tests < bound-1e-9 {
			t.Fatalf("fewest %g lies below the entropy bound %g", got.Tests, bound)
		}
	}
}

// With every split at hand the best tree is Huffman's (D. A. Huffman, "A Method
// for the Construction of Minimum-Redundancy Codes", Proceedings of the IRE 40,
// 1952).
func TestFewestTestsWithEverySplitIsHuffmansTree(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		n := 2 + r.IntN(6)
		tab := randomTable(r, n, 0, 2)
		for mask := 1; mask < 1<<n-1; mask++ {
			cell := make([]int32, n)
			for i := range cell {
				cell[i] = int32(mask >> i & 1)
			}
			tab.add(cell)
		}
		tab.core = make([]int32, n)
		groups, weights := tab.groups(tab.all())
		if got, want := tab.fewest(groups, weights).Tests, huffman(weights); math.Abs(got-want) > 1e-9 {
			t.Fatalf("fewest %g, Huffman's tree %g", got, want)
		}
	}
}

type weightHeap []float64

func (h weightHeap) Len() int           { return len(h) }
func (h weightHeap) Less(i, j int) bool { return h[i] < h[j] }
func (h weightHeap) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *weightHeap) Push(x any)        { *h = append(*h, x.(float64)) }
func (h *weightHeap) Pop() any {
	last := len(*h) - 1
	x := (*h)[last]
	*h = (*h)[:last]
	return x
}

func huffman(weights []float64) float64 {
	h := append(weightHeap{}, weights...)
	heap.Init(&h)
	mean := 0.0
	for h.Len() > 1 {
		sum := heap.Pop(&h).(float64) + heap.Pop(&h).(float64)
		mean += sum
		heap.Push(&h, sum)
	}
	return mean
}

// A table that is still true is not made anew, and what is asked of it twice is
// answered alike; anything learnt or done makes another.
func TestTableIsKeptWhileNothingIsLearnt(t *testing.T) {
	spec := circuittest.SplitPhase(240).Load("element", "element", 240, 2400).Load("lamp", "lamp", 120, 40).
		Part(circuit.PartSpec{Name: "fuse", Kind: "thermal_fuse"}, circuit.PartSpec{Name: "limit", Kind: "limit"}).Switch("knob").
		Series("supply.L1", "knob", "fuse", "limit", "element", "supply.L2").Series("supply.L1", "lamp", "supply.N").
		Mode("off").Mode("heat", "knob", "closed").Spec()
	for _, at := range []string{"knob.1", "knob.2", "fuse.2", "element.1", "element.2", "lamp.2"} {
		spec.Points = append(spec.Points, circuit.PointSpec{Name: strings.ReplaceAll(at, ".", "_"), At: at})
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	e, err := New(c, Options{})
	if err != nil {
		t.Fatal(err)
	}
	ctx, p := context.Background(), NewProgress()
	table := func() *table {
		if _, _, err := e.everything(ctx, p); err != nil {
			t.Fatal(err)
		}
		return e.last
	}
	next := func() []Proposal {
		out, err := e.Next(ctx, p, 3)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	first, proposals := table(), next()
	if _, err := e.Plan(ctx, p); err != nil {
		t.Fatal(err)
	}
	if table() != first {
		t.Error("the table was made anew, and nothing has changed")
	}
	if diff := cmp.Diff(proposals, next(), cmp.Exporter(func(reflect.Type) bool { return true })); diff != "" {
		t.Errorf("asked again, after the plan:\n%s", diff)
	}
	p.Skip(c, proposals[0].Test)
	if left := table(); left == first {
		t.Error("a test was left out, and the table is the old one")
	}
	now := table()
	load := SeenLoads(c)[0]
	if err := e.Add(ctx, Evidence{Symptom: &Symptom{Mode: proposals[0].Test.Mode, Load: load, State: circuit.Dead}}); err != nil && !errors.Is(err, ErrNothingFits) {
		t.Fatal(err)
	}
	if table() == now {
		t.Error("something was learnt, and the table is the old one")
	}
}

// Hypotheses are put in order as by comparing them, those that are as likely as they
// stood.
func TestLikeliestFirst(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		some := []float64{0, math.Copysign(0, -1), math.Inf(-1), math.Inf(1), math.NaN(), -1e-310, 1e-310, -700, -12.5, 3}
		logs := rapid.SliceOf(rapid.OneOf(rapid.SampledFrom(some), rapid.Float64(), rapid.Float64Range(-40, 4))).Draw(t, "logs")
		hyps := make([]hypothesis, len(logs))
		want := make([]int32, len(logs))
		for i, l := range logs {
			hyps[i].logp, want[i] = l, int32(i)
		}
		slices.SortStableFunc(want, func(a, b int32) int { return stdcmp.Compare(logs[b], logs[a]) })
		if got := likeliestOrder(hyps); !slices.Equal(got, want) {
			t.Fatalf("%v, want %v", got, want)
		}
	})
}

// Where one reading in ten slips, one that says nothing speaks for nothing no more than
// some ten or twenty to one; where they seldom do it is believed (common practice, no
// source).
func TestAProbeThatTouchesNothingProvesLittle(t *testing.T) {
	volts, ohms := meter.Probes{Function: meter.Volts}, meter.Probes{Function: meter.Ohms}
	for _, x := range []struct {
		o       Observation
		is, not meter.Reading
	}{
		{Observation{Probes: volts}, meter.Reading{}, meter.Reading{Value: 240, Low: 228, High: 252}},
		{Observation{Probes: ohms, Value: 0.2}, meter.Reading{Function: meter.Ohms, Value: 0.1, High: 0.6}, meter.Reading{Function: meter.Ohms, OL: true}},
		{Observation{Probes: ohms, OL: true}, meter.Reading{Function: meter.Ohms, OL: true}, meter.Reading{Function: meter.Ohms, Value: 20, Low: 18, High: 22}},
	} {
		odds := func(slip float64) float64 {
			by := errs{slip: slip}
			return by.readingLikelihood(&x.o, x.is) / by.readingLikelihood(&x.o, x.not)
		}
		if often, seldom := odds(0.1), odds(0.01); often < 5 || often > 25 || seldom < 90 {
			t.Errorf("%v: %.3g to one with one reading in ten wrong, %.3g with one in a hundred", x.o, often, seldom)
		}
	}
}
