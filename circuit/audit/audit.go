// Package audit looks a machine over for what a careful technician would
// question: wires and breakers too small for what they carry, limits that
// cannot do their work, metal without a ground, colours and poles on another
// conductor than their own, figures that are possible but not likely, parts
// that nothing uses, parts that no test point can tell apart. [Run] returns
// [Finding]s, each with its reason; none of them stops the machine from being
// used.
//
// Ampacities are a yardstick, not a ruling: appliances follow their own
// standards, and local codes and the maker's instructions come first.
//
// What is found does not depend on the order of the netlist.
package audit

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math/cmplx"
	"slices"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// Kind sorts findings.
type Kind string

const (
	ThinWire      Kind = "thin wire"
	SmallBreaker  Kind = "small breaker"
	LargeBreaker  Kind = "large breaker"
	Grounding     Kind = "grounding"
	Crossed       Kind = "crossed conductors"
	Colour        Kind = "colour"
	Rating        Kind = "odd figure"
	OddKind       Kind = "odd kind"
	Overfed       Kind = "overfed"
	OneFaultHeats Kind = "one fault heats"
	IdleLimit     Kind = "idle limit"
	BypassedLimit Kind = "bypassed limit"
	Unused        Kind = "unused part"
	Bridged       Kind = "bridged part"
	Twice         Kind = "named twice"
	NotToldApart  Kind = "not told apart"
	ColdOhms      Kind = "cold ohms"
)

// Finding is one thing to question.
type Finding struct {
	Kind Kind
	// Path locates it in the netlist: "wires[3]", "parts.oven_limit".
	Path string
	// Message says what was found, Reason why it matters.
	Message, Reason string
	// Mode is the mode it shows in, or None.
	Mode circuit.ModeID
	// Cause marks what may be the cause of other findings: mend it first.
	Cause bool
	// Branches are the parts or wires concerned.
	Branches []circuit.BranchID
}

// auditor holds what one run works with.
type auditor struct {
	c      *circuit.Circuit
	engine *settle.Engine
	tracer *trace.Tracer
	nets   *conductors
	feed   map[circuit.WireID]bool // wires of the branch circuit
	// modes holds the modes that settle, each settled; most the largest current
	// per branch and the mode it flows in.
	modes  []*settle.Outcome
	most   []float64
	mostIn []circuit.ModeID
	// ever is the largest current per branch while modes settle too, and beside
	// marks the branches whose share of a current cannot be told.
	ever   []float64
	beside []bool
	byRef  []circuit.BranchID // all branches, by their names
	out    []Finding
}

// Run audits the machine. A mode that cannot be worked out, or that trips the
// protection, is left out: it is a finding of its own for whoever settles it.
// The error is the context's.
func Run(ctx context.Context, c *circuit.Circuit) ([]Finding, error) {
	n := len(c.Branches())
	a := &auditor{c: c, engine: settle.New(c), tracer: trace.New(c), nets: newConductors(c),
		most: make([]float64, n), mostIn: make([]circuit.ModeID, n), ever: make([]float64, n), beside: make([]bool, n)}
	a.feed = a.branchCircuit()
	for i := range c.Branches() {
		a.byRef = append(a.byRef, circuit.BranchID(i))
	}
	slices.SortFunc(a.byRef, func(x, y circuit.BranchID) int { return strings.Compare(c.Branch(x).Ref, c.Branch(y).Ref) })
	if err := a.settle(ctx); err != nil {
		return nil, err
	}
	a.ratings()
	a.kinds()
	a.grounding()
	a.colours()
	a.wires()
	a.breakers()
	a.overfed()
	if err := a.limits(ctx); err != nil {
		return nil, err
	}
	if err := a.offFaults(ctx); err != nil {
		return nil, err
	}
	a.unused()
	a.bridged()
	a.twice()
	a.alike()
	a.cold()
	slices.SortStableFunc(a.out, func(x, y Finding) int {
		return cmp.Or(strings.Compare(x.Path, y.Path), strings.Compare(x.Message, y.Message))
	})
	return a.out, nil
}

// settle settles every mode and notes what flows.
func (a *auditor) settle(ctx context.Context) error {
	a.engine.Observe = func(conducts, _ []bool, sol *phasor.Solution) {
		for b := range a.ever {
			a.ever[b] = max(a.ever[b], cmplx.Abs(sol.Amps[b]))
		}
		a.markBeside(conducts)
	}
	defer func() { a.engine.Observe = nil }()
	for i := range a.c.Modes() {
		if err := ctx.Err(); err != nil {
			return err
		}
		o, err := a.engine.Run(circuit.ModeID(i), nil)
		if err != nil || len(o.Tripped) > 0 {
			continue
		}
		a.modes = append(a.modes, o)
		for b := range a.most {
			amps := cmplx.Abs(o.AnyState.Amps[b])
			if amps > a.most[b] || amps == a.most[b] && amps > 0 && a.c.Mode(o.Mode).Name < a.c.Mode(a.mostIn[b]).Name {
				a.most[b], a.mostIn[b] = amps, o.Mode
			}
		}
	}
	return nil
}

func (a *auditor) find(k Kind, path string, mode circuit.ModeID, branches []circuit.BranchID, reason, format string, args ...any) {
	a.out = append(a.out, Finding{Kind: k, Path: path, Message: fmt.Sprintf(format, args...), Reason: reason, Mode: mode, Branches: branches})
}

// findCause reports what may be the cause of other findings.
func (a *auditor) findCause(k Kind, path string, branches []circuit.BranchID, reason, format string, args ...any) {
	a.find(k, path, circuit.None, branches, reason, format, args...)
	a.out[len(a.out)-1].Cause = true
}

// heats reports whether a load makes heat that a limit would guard.
func (a *auditor) heats(load circuit.BranchID) bool {
	return a.c.Part(a.c.Branch(load).Part).Kind.Heats()
}

// limits asks of every limit and thermal fuse what opening it stops, and
// whether a single welded contact would defeat it.
func (a *auditor) limits(ctx context.Context) error {
	for i := range a.c.Branches() {
		b := a.c.Branch(circuit.BranchID(i))
		if b.Role != circuit.Contact {
			continue
		}
		p := a.c.Part(b.Part)
		if p.Kind != circuit.KindLimit && p.Kind != circuit.KindThermalFuse {
			continue
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		a.limit(b, p)
	}
	return nil
}

func (a *auditor) limit(b *circuit.Branch, p *circuit.Part) {
	open := circuit.Fault{Kind: circuit.Open, Branch: b.ID}
	stops := a.stoppedBy(open)
	if len(stops) == 0 {
		a.find(IdleLimit, "parts."+p.Name, circuit.None, []circuit.BranchID{b.ID}, "a limit that opens and stops nothing protects nothing",
			"%s stops no load in any mode", a.c.Label(b.ID))
		return
	}
	// A limit that stands in some load's own feed guards that load; what else
	// stops with it is none of its business.
	guards := map[circuit.BranchID]bool{}
	for load, mode := range stops {
		switch a.c.Part(a.c.Branch(load).Part).Kind {
		case circuit.KindRelay, circuit.KindControl:
			continue // a means, not an end
		}
		if a.onFeed(b.ID, load, mode) {
			guards[load] = true
		}
	}
	for _, load := range a.c.Loads() {
		mode, stopped := stops[load]
		if !stopped || !a.heats(load) || len(guards) > 0 && !guards[load] {
			continue
		}
		if contact := a.bypass(open, load, mode); contact != circuit.None {
			a.find(BypassedLimit, "parts."+p.Name, mode, []circuit.BranchID{b.ID, contact, load},
				"the limit works through that contact, not in the heater's own feed",
				"with %s welded, %s no longer stops the %s in %s", circuit.LowerFirst(a.c.Label(contact)), a.c.Label(b.ID), circuit.LowerFirst(a.c.Label(load)), a.c.Mode(mode).Label)
		}
	}
}

// stoppedBy lists the loads that an open stops, each with the first mode in which it
// does.
func (a *auditor) stoppedBy(open circuit.Fault) map[circuit.BranchID]circuit.ModeID {
	stops := map[circuit.BranchID]circuit.ModeID{}
	for _, sound := range a.modes {
		o, err := a.engine.Run(sound.Mode, []circuit.Fault{open})
		if err != nil {
			continue // cannot be worked out
		}
		for _, load := range a.c.Loads() {
			if _, known := stops[load]; !known && sound.LeastShare(load) >= trace.DefaultOnShare && o.MostShare(load) < trace.DefaultOnShare {
				stops[load] = sound.Mode
			}
		}
	}
	return stops
}

// bypass is the first contact by name that, welded, keeps a load on though a limit is
// open; None where there is none.
func (a *auditor) bypass(open circuit.Fault, load circuit.BranchID, mode circuit.ModeID) circuit.BranchID {
	// A contact that is closed all the while may as well be welded.
	parts := make([]bool, len(a.c.Branches()))
	a.engine.Observe = func(conducts, _ []bool, _ *phasor.Solution) {
		for i, on := range conducts {
			parts[i] = parts[i] || !on
		}
	}
	_, err := a.engine.Run(mode, []circuit.Fault{open})
	a.engine.Observe = nil
	for _, id := range a.byRef {
		if a.c.Branch(id).Role != circuit.Contact || id == open.Branch || err == nil && !parts[id] {
			continue
		}
		o, err := a.engine.Run(mode, []circuit.Fault{open, {Kind: circuit.Welded, Branch: id}})
		if err == nil && o.MostShare(load) >= trace.DefaultOnShare {
			return id
		}
	}
	return circuit.None
}

// onFeed reports whether a branch lies on a load's feed in a mode.
func (a *auditor) onFeed(id, load circuit.BranchID, mode circuit.ModeID) bool {
	f := a.tracer.Feed(a.settled(mode), load)
	for i := range f.Ends {
		for _, hop := range f.Ends[i].Hops {
			if hop.Branch == id {
				return true
			}
		}
	}
	return false
}

// settled returns a mode as it settled, nil where it does not.
func (a *auditor) settled(mode circuit.ModeID) *settle.Outcome {
	for _, o := range a.modes {
		if o.Mode == mode {
			return o
		}
	}
	return nil
}

// offFaults looks for heaters that one fault switches on in Off.
func (a *auditor) offFaults(ctx context.Context) error {
	off, err := a.c.FindMode("off")
	if err != nil || a.settled(off) == nil {
		return nil // a machine without a mode of that name
	}
	for _, load := range a.c.Loads() {
		if !a.heats(load) || a.settled(off).MostShare(load) >= trace.DefaultOnShare {
			continue
		}
		sets, err := a.tracer.KeepOn(ctx, off, load, trace.Options{Order: 1})
		if err != nil && !errors.Is(err, trace.ErrTooMany) {
			return err
		}
		for _, s := range sets {
			f := s.Faults[0]
			a.find(OneFaultHeats, "parts."+a.c.Part(a.c.Branch(load).Part).Name, off, []circuit.BranchID{load, f.Branch},
				"only one leg is switched, or one contact stands between Off and heat",
				"%s alone heats the %s in Off, %.0f W", circuit.LowerFirst(a.c.Describe(f)), circuit.LowerFirst(a.c.Label(load)), s.Watts)
		}
	}
	return nil
}

// alike lists parts in series with no listed test point between them.
func (a *auditor) alike() {
	if len(a.c.Points()) == 0 {
		return
	}
	listed := map[circuit.TerminalID]bool{}
	for _, p := range a.c.Points() {
		listed[p.Terminal] = true
	}
	for _, run := range a.tracer.Segments(func(t circuit.TerminalID) bool { return listed[t] }) {
		var parts []circuit.BranchID
		var names []string
		for _, id := range run {
			b := a.c.Branch(id)
			if b.Wire != circuit.None || b.Role != circuit.Contact && b.Role != circuit.Load {
				continue
			}
			if a.c.Part(b.Part).Kind.Guards() {
				continue
			}
			parts = append(parts, id)
			names = append(names, circuit.LowerFirst(a.c.Label(id)))
		}
		if len(parts) < 2 {
			continue
		}
		slices.Sort(names)
		slices.SortFunc(parts, func(x, y circuit.BranchID) int { return strings.Compare(a.c.Branch(x).Ref, a.c.Branch(y).Ref) })
		a.find(NotToldApart, "parts."+a.c.Part(a.c.Branch(parts[0]).Part).Name, circuit.None, parts, "list a point between them, such as "+a.between(run, parts),
			"no listed test point tells %s apart", strings.Join(names, " and "))
	}
}

// between returns the first terminal by name of the parts that lies within a
// run of branches in series.
func (a *auditor) between(run, parts []circuit.BranchID) string {
	met := map[circuit.TerminalID]int{}
	for _, id := range run {
		met[a.c.Branch(id).A]++
		met[a.c.Branch(id).B]++
	}
	best := ""
	for _, id := range parts {
		for _, t := range []circuit.TerminalID{a.c.Branch(id).A, a.c.Branch(id).B} {
			if ref := a.c.Terminal(t).Ref; met[t] > 1 && (best == "" || ref < best) {
				best = ref
			}
		}
	}
	return best
}
