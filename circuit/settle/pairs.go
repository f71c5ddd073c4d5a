package settle

import (
	"context"
	"fmt"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
)

// PairTables settles every single fault of a list and every pair of them, with
// the result of [Engine.Run] at a small part of its cost:
//
//	tables := settle.NewPairTables(engine, network, faults)
//	pairs, err := tables.Mode(ctx, mode)
//	...
//	o, err := pairs.Outcome(i, j) // i == j: that fault alone
//	watts := o.LeastShare(load) * rated
//
// Most pairs do what one of the two does alone: where a branch carries no
// current it may open, where there is no voltage across it it may be shorted.
// What is left is worked out from the solutions of the two alone
// ([table.combine]), position by position of the contacts as the machine
// settles. Too near a limit, or with too few digits, a pair is left to a
// [Sweep], and what that cannot do to the engine.
//
// Tables of positions are shared by modes, which goroutines may settle at the
// same time; a [Pairs] belongs to one goroutine.
type PairTables struct {
	e      *Engine
	net    *phasor.Network
	faults []circuit.Fault

	mu     sync.Mutex
	tables map[string]*tableOnce
}

type tableOnce struct {
	once sync.Once
	t    *table
}

// NewPairTables prepares tables of a circuit for a list of faults.
func NewPairTables(e *Engine, net *phasor.Network, faults []circuit.Fault) *PairTables {
	return &PairTables{e: e, net: net, faults: faults, tables: map[string]*tableOnce{}}
}

// Tables counts the positions of contacts solved so far.
func (p *PairTables) Tables() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.tables)
}

// Pairs is every single fault and every pair in one mode.
type Pairs struct {
	Stats PairStats

	all     *PairTables
	mode    circuit.ModeID
	sweep   *Sweep
	loop    *loop // of the walk; its network is view
	view    view
	builder *builder
	stages  []circuit.ModeID
	nodes   []*node
	nodeOf  map[string]int32
	results []result
	// logic tells, by fault, that it may matter though nothing flows.
	logic []bool
	// chatters holds, by fault, those that never settle.
	chatters map[int]*chattering
	series   []int // see [inSeries]
	alike    map[pair]*Outcome
	one      PairOutcome
}

// PairStats counts pairs, each single fault among them, by how they are
// settled.
type PairStats struct {
	// AsOne do what one of the two does alone; Both need both; Swept are left to
	// a [Sweep], of which some go to the engine when asked for.
	AsOne, Both, Swept int
	// States is the number of states of the contacts that were met.
	States int
}

// result is how a pair ends. Where one chatters the node is -1.
type result struct {
	node int32
	how  how
}

type how uint8

const (
	walking  how = iota
	asFirst      // as the first alone, in the node
	asSecond     // as the second alone
	asBoth       // by combination
	bySweep
)

// pair is two faults by their places in the list, i <= j.
type pair struct{ i, j uint16 }

// maxPairFaults bounds the faults of a list.
const maxPairFaults = 1 << 14

// index numbers pairs, i <= j.
func index(i, j int) int32 { return int32(j*(j+1)/2 + i) }

// Mode settles every pair in a mode.
func (p *PairTables) Mode(ctx context.Context, mode circuit.ModeID) (*Pairs, error) {
	e := New(p.e.c)
	s, err := NewSweepOn(e, p.net, mode)
	if err != nil {
		return nil, err
	}
	x := &Pairs{all: p, mode: mode, sweep: s, loop: newLoop(e.c), builder: newBuilder(p.net, p.faults), nodeOf: map[string]int32{},
		series: inSeries(e.c, p.faults), alike: map[pair]*Outcome{}}
	x.loop.net, x.loop.margin = &x.view, tooNear
	x.view.x = x
	for m := mode; m != circuit.None; m = e.c.Mode(m).After {
		x.stages = append([]circuit.ModeID{m}, x.stages...)
	}
	n := len(p.faults)
	if n > maxPairFaults {
		return nil, fmt.Errorf("pairs of %d faults are too many: at most %d", n, maxPairFaults)
	}
	x.results = make([]result, n*(n+1)/2)
	for i := range p.faults {
		x.logic = append(x.logic, x.loop.logical(x.builder.reach, &p.faults[i]))
	}
	if err := x.walk(ctx); err != nil {
		return nil, err
	}
	for _, f := range x.results {
		switch f.how {
		case asFirst, asSecond:
			x.Stats.AsOne++
		case asBoth:
			x.Stats.Both++
		default:
			x.Stats.Swept++
		}
	}
	x.Stats.States = len(x.nodes)
	return x, nil
}
