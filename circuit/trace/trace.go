// Package trace answers, for a load in a mode: how is it fed, what would
// starve it, and what would keep it on when it should be off.
//
// [New] makes a [Tracer] for a circuit. [Tracer.Feed] gives the ordered path
// from each supply conductor to the load and what holds the contacts on it
// closed; [Tracer.Starve] every minimal set of opens, upstream causes
// included, that takes the load below a share of the power a sound machine
// gives it; [Tracer.KeepOn] every minimal set of welds, shorts and grounds
// that leaves it energised.
//
// Branches in series, with nothing else on the joint between them, fail alike:
// they form one chain, and a cut set is a set of chains, any member of each
// being opened. Candidate sets come from graph reasoning (dominators for one
// open, hitting sets of feeds for more); the solver then confirms each, and
// that no proper subset does the same. Where an open could help as well as
// harm, as with normally closed contacts of energised coils, or where a load
// is fed through another, the search settles the machine instead of reasoning
// on the graph. Both ways are exact.
package trace

import (
	"context"
	"errors"
	"fmt"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
)

// MaxOrder is the largest order of cut sets that can be asked for.
const MaxOrder = 4

// Defaults for [Options].
const (
	// DefaultShare is the share of its power below which a load counts as
	// starved.
	DefaultShare = circuit.WeakShare
	// DefaultOnShare is the share of rated power from which a load counts as
	// energised.
	DefaultOnShare = circuit.OnShare
	DefaultOrder   = 2
)

// DefaultMaxSets caps how many minimal sets a search keeps.
const DefaultMaxSets = 20000

// ErrNotEnergised is returned when asked what would starve a load that a sound
// machine does not energise in the mode.
var ErrNotEnergised = errors.New("the load is not energised in this mode")

// ErrEnergised is returned when asked what would keep on a load that a sound
// machine energises in the mode.
var ErrEnergised = errors.New("the load is energised in this mode")

// ErrTooMany is returned with the sets found so far when a search exceeds
// its cap.
var ErrTooMany = errors.New("more minimal sets than the cap")

// Options tunes a search. The zero value means the defaults.
type Options struct {
	// Order is the largest set searched for, 1 to [MaxOrder].
	Order int
	// Share is the limit: for Starve, of the power the sound machine gives
	// the load in the mode; for KeepOn, of rated power.
	Share float64
	// MaxSets caps the number of sets; 0 means [DefaultMaxSets].
	MaxSets int
	// Unconfirmed leaves out the solver's confirmation where graph reasoning
	// has proved the sets; their Watts and Share are then not filled in.
	Unconfirmed bool
}

func (o Options) withDefaults(share float64) (Options, error) {
	if o.Order == 0 {
		o.Order = DefaultOrder
	}
	if o.Share == 0 {
		o.Share = share
	}
	if o.MaxSets == 0 {
		o.MaxSets = DefaultMaxSets
	}
	if o.Order < 1 || o.Order > MaxOrder {
		return o, fmt.Errorf("order %d: it goes from 1 to %d", o.Order, MaxOrder)
	}
	if !(o.Share > 0 && o.Share < 1) {
		return o, fmt.Errorf("share %g: it lies between 0 and 1", o.Share)
	}
	return o, nil
}

// CutSet is a minimal set of opens that starves a load.
type CutSet struct {
	// Members are opened together, one branch out of each.
	Members []Member
	// Watts and Share are what the load still gets; Share is of the power a
	// sound machine gives it in the mode.
	Watts, Share float64
	// Dead is set when that is next to nothing, and where it is not confirmed.
	Dead bool
	// Chatters is set when the machine does not settle with these opens; Watts
	// is then the least it swings to.
	Chatters bool
	// Confirmed is set when the solver agreed, also that no proper subset does. Of
	// thousands of one order a sample is, and the graph vouches for the others: of
	// them Watts and Share are not known.
	Confirmed bool
}

// Order is the number of opens in the set.
func (s CutSet) Order() int { return len(s.Members) }

// Count is the number of single sets of branches the chains stand for.
func (s CutSet) Count() int {
	n := 1
	for _, m := range s.Members {
		n *= len(m.Branches)
	}
	return n
}

// Member is a chain of branches in series: opening any one of them does the
// same.
type Member struct {
	Branches []circuit.BranchID
	// Via says what the chain does for the load.
	Via Via
}

// Via says how a chain serves a load.
type Via struct {
	Kind ViaKind
	// Source is the supply conductor, for ViaFeed, ViaBeside and ViaPower.
	Source circuit.BranchID
	// Held is the contact that the chain keeps closed, for the others.
	Held circuit.BranchID
	// Sense names what the control must see, for ViaSense.
	Sense string
}

// ViaKind tells the ways a chain serves a load.
type ViaKind uint8

const (
	ViaOther  ViaKind = iota
	ViaLoad           // the load itself, with what is in series with it
	ViaFeed           // on the way from one supply conductor
	ViaBeside         // beside that way: another from the same conductor
	ViaCoil           // feeds the coil that holds a contact
	ViaDrive          // the board's own coil and driver of a contact
	ViaPower          // feeds the control that drives a contact
	ViaSense          // a sensor circuit the control must see
)

// Tracer traces one circuit. It must not be used by two goroutines at once.
type Tracer struct {
	c      *circuit.Circuit
	engine *settle.Engine
	chains *chains
	at     [][]circuit.BranchID // branches by terminal

	windings windings
	walk     walk
}

// New makes a tracer for the circuit.
func New(c *circuit.Circuit) *Tracer {
	t := &Tracer{c: c, engine: settle.New(c), chains: findChains(c), at: make([][]circuit.BranchID, len(c.Terminals())), windings: windingsOf(c)}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		for _, end := range [2]circuit.TerminalID{b.A, b.B} {
			if end != circuit.None {
				t.at[end] = append(t.at[end], b.ID)
			}
		}
	}
	return t
}

// Engine returns the engine the tracer settles with.
func (t *Tracer) Engine() *settle.Engine { return t.engine }

// Starve finds every minimal set of opens, up to the order of the options,
// that takes the load below the given share of the power a sound machine gives
// it in the mode. Sets come by order, then by first branch. It returns
// [ErrNotEnergised] where there is nothing to starve, and the sets found so
// far with [ErrTooMany] or the context's error.
func (t *Tracer) Starve(ctx context.Context, mode circuit.ModeID, load circuit.BranchID, opt Options) ([]CutSet, error) {
	opt, err := opt.withDefaults(DefaultShare)
	if err != nil {
		return nil, err
	}
	s, err := t.newStarver(ctx, mode, load, opt)
	if err != nil {
		return nil, err
	}
	sets, err := s.search()
	return s.report(sets), err
}

// opens returns the faults that open one branch of each chain.
func (t *Tracer) opens(set []int32) []circuit.Fault {
	faults := make([]circuit.Fault, len(set))
	for i, k := range set {
		faults[i] = circuit.Fault{Kind: circuit.Open, Branch: t.chains.list[k].branches[0]}
	}
	return faults
}

// run settles the machine with the chains opened.
func (t *Tracer) run(mode circuit.ModeID, set []int32) (*settle.Outcome, error) {
	return t.engine.Run(mode, t.opens(set))
}

// observe settles and hands every solve on the way to see.
func (t *Tracer) observe(mode circuit.ModeID, faults []circuit.Fault, see func(conducts, acting []bool, sol *phasor.Solution)) (*settle.Outcome, error) {
	t.engine.Observe = see
	defer func() { t.engine.Observe = nil }()
	return t.engine.Run(mode, faults)
}
