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

// Wirings carries several candidate netlists for one machine: for a machine
// with no service sheet, the posterior is over wiring and fault together.
type Wirings struct {
	engines []*Engine
	logs    []float64 // log probability of the evidence under each
	notes   []Note
}

// NewWirings makes engines for two or more candidates. What can be noted is
// what they have in common: modes, loads, test points and terminals by name.
func NewWirings(candidates []*circuit.Circuit, opt Options) (*Wirings, error) {
	if len(candidates) < 2 {
		return nil, errors.New("give at least two candidate wirings")
	}
	w := &Wirings{logs: make([]float64, len(candidates))}
	opt.MeterOnly = true // a move is about one machine's parts
	for _, c := range candidates {
		e, err := New(c, opt)
		if err != nil {
			return nil, err
		}
		w.engines = append(w.engines, e)
	}
	return w, nil
}

// Engines returns the candidates' engines, in the order given.
func (w *Wirings) Engines() []*Engine { return w.engines }

// Add puts a note to every candidate. It returns [ErrNothingFits] when it fits
// none of them.
func (w *Wirings) Add(ctx context.Context, n Note) error {
	evs := make([]Evidence, len(w.engines))
	for i, e := range w.engines {
		ev, err := n.Resolve(e.c)
		if err != nil {
			return fmt.Errorf("%s: %w", e.c.Name(), err)
		}
		evs[i] = ev
	}
	fits := 0
	for i, e := range w.engines {
		before := e.mass()
		switch err := e.Add(ctx, evs[i]); {
		case err == nil:
			fits++
		case !errors.Is(err, ErrNothingFits):
			return err
		}
		w.logs[i] += e.mass() - before
	}
	w.notes = append(w.notes, n)
	if fits == 0 {
		return ErrNothingFits
	}
	return nil
}

// mass is the log of the total weight of an engine's hypotheses.
func (e *Engine) mass() float64 {
	best := math.Inf(-1)
	for _, h := range e.hyps {
		best = max(best, h.logp)
	}
	if math.IsInf(best, -1) {
		return best
	}
	sum := 0.0
	for _, h := range e.hyps {
		sum += math.Exp(h.logp - best)
	}
	return best + math.Log(sum)
}

// Posterior returns each candidate's probability, all alike before anything
// was seen.
func (w *Wirings) Posterior() []float64 {
	best := math.Inf(-1)
	for _, l := range w.logs {
		best = max(best, l)
	}
	out := make([]float64, len(w.logs))
	sum := 0.0
	for i, l := range w.logs {
		out[i] = math.Exp(l - best)
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// WiringTest is a test that tells candidate wirings apart.
type WiringTest struct {
	// Test is in the terms of the first candidate; Key names it.
	Test Test
	Key  string
	// Bits is what it tells about the wiring; Expect is the likeliest outcome by
	// candidate: a reading, or for a trial what the Loads, which are those
	// common to all, by name, do.
	Bits   float64
	Expect []Expected
	Loads  []string
	// Minutes and Price are as for [Proposal].
	Minutes, Price float64
}

// Expected is what a test is expected to show.
type Expected struct {
	Reading meter.Reading
	// Behaviour is told without knowing what a load should do: it is on, weak
	// or off.
	Behaviour
}

// Next proposes tests that tell the wirings apart, best for their cost first.
// Only tests that every candidate knows by the same names are proposed.
func (w *Wirings) Next(ctx context.Context, progress *Progress, most int) ([]WiringTest, error) {
	if progress == nil {
		progress = NewProgress()
	}
	tabs := make([]*table, len(w.engines))
	index := make([]map[string]int, len(w.engines))
	for i, e := range w.engines {
		var err error
		if tabs[i], err = e.tabulate(ctx, e.left(progress), 0); err != nil {
			return nil, err
		}
		index[i] = map[string]int{}
		for t := range tabs[i].tests {
			index[i][tabs[i].tests[t].key(e.c)] = t
		}
	}
	names, loads := w.commonLoads()
	prior := w.Posterior()
	var out []WiringTest
	for _, test := range tabs[0].tests {
		key := test.key(w.engines[0].c)
		wt := WiringTest{Test: test, Key: key}
		if test.Trial {
			wt.Loads = names
		}
		cells := newCells(test.Trial)
		known := true
		for i := range w.engines {
			at, ok := index[i][key]
			if !ok {
				known = false
				break
			}
			bestP := 0.0
			wt.Expect = append(wt.Expect, Expected{})
			for h := range tabs[i].hyps {
				p := prior[i] * tabs[i].ps[h]
				cell := cells.add(i, tabs[i], at, h, p, loads[i])
				if p > bestP {
					bestP, wt.Expect[i] = p, cells.seen[cell]
				}
			}
		}
		if !known {
			continue
		}
		wt.Bits = cells.information(len(w.engines))
		if wt.Bits < minBits {
			continue
		}
		wt.Minutes, wt.Price = progress.Minutes(w.engines[0].c, test)
		out = append(out, wt)
	}
	sort.SliceStable(out, func(i, j int) bool {
		return out[i].Bits/(out[i].Minutes+out[i].Price) > out[j].Bits/(out[j].Minutes+out[j].Price)*(1+1e-9)
	})
	return out[:min(most, len(out))], nil
}

// commonLoads gives, per candidate, the places among its visible loads of those
// that all candidates have by name, and those names.
func (w *Wirings) commonLoads() (common []string, at [][]int) {
	count := map[string]int{}
	names := make([][]string, len(w.engines))
	for i, e := range w.engines {
		for _, id := range seenLoads(e.c) {
			names[i] = append(names[i], e.c.Branch(id).Ref)
			count[e.c.Branch(id).Ref]++
		}
	}
	for _, n := range names[0] {
		if count[n] == len(w.engines) {
			common = append(common, n)
		}
	}
	at = make([][]int, len(w.engines))
	for i := range names {
		for _, n := range common {
			for k, have := range names[i] {
				if have == n {
					at[i] = append(at[i], k)
				}
			}
		}
	}
	return common, at
}

// cells sorts the outcomes of one test over all candidates.
type cells struct {
	trial  bool
	seen   []Expected
	weight map[[2]int]float64 // by cell and wiring
}

func newCells(trial bool) *cells { return &cells{trial: trial, weight: map[[2]int]float64{}} }

// add finds the cell of what a test shows under a hypothesis.
func (c *cells) add(wiring int, tab *table, test, h int, p float64, loads []int) int {
	x := Expected{}
	alike := func(o Expected) bool { return !o.Reading.Differs(x.Reading) }
	if cell := tab.cell[test][h]; c.trial {
		x.Behaviour = tab.trials[test][cell].bare(loads)
		alike = func(o Expected) bool { return o.Equal(x.Behaviour) }
	} else {
		x.Reading = tab.readings[test][cell]
	}
	at := slices.IndexFunc(c.seen, alike)
	if at < 0 {
		at, c.seen = len(c.seen), append(c.seen, x)
	}
	c.weight[[2]int{at, wiring}] += p
	return at
}

// bare is what some of the loads do, without what they should do.
func (b Behaviour) bare(loads []int) Behaviour {
	out := Behaviour{Trips: b.Trips, Chatters: b.Chatters}
	for _, i := range loads {
		s := b.States[i]
		switch {
		case !s.On():
			s = circuit.Off
		case s != circuit.Weak:
			s = circuit.StaysOn
		}
		out.States = append(out.States, s)
	}
	return out
}

// information is that of the outcome about the wiring, in bits.
func (c *cells) information(wirings int) float64 {
	byCell, byWiring := make([]float64, len(c.seen)), make([]float64, wirings)
	var both []float64
	total := 0.0
	for at := range c.seen {
		for i := 0; i < wirings; i++ {
			p := c.weight[[2]int{at, i}]
			byCell[at] += p
			byWiring[i] += p
			both = append(both, p)
			total += p
		}
	}
	return entropy(byCell, total) + entropy(byWiring, total) - entropy(both, total)
}
