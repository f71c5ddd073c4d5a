// Package audit looks a machine over for what a careful technician would
// question: wires and breakers too small for what they carry, limits that
// cannot do their work, parts that nothing uses, parts that no test point can
// tell apart, cold ohms that a rating speaks against. [Run] returns [Finding]s, each with its reason; none of them
// stops the machine from being used.
//
// Ampacities are a yardstick, not a ruling: appliances follow their own
// standards, and local codes and the maker's instructions come first.
package audit

import (
	"context"
	"errors"
	"fmt"
	"math/cmplx"
	"sort"
	"strings"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// Kind sorts findings.
type Kind string

const (
	ThinWire      Kind = "thin wire"
	SmallBreaker  Kind = "small breaker"
	OneFaultHeats Kind = "one fault heats"
	IdleLimit     Kind = "idle limit"
	BypassedLimit Kind = "bypassed limit"
	Unused        Kind = "unused part"
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
	// Branches are the parts or wires concerned.
	Branches []circuit.BranchID
}

// ampacity is the current in amps of insulated copper by AWG: NFPA 70 table
// 310.16, 90 C column, and for 16 and 18 AWG table 402.5 (both from memory).
var ampacity = map[int]float64{
	18: 6, 16: 8, 14: 25, 12: 30, 10: 40, 8: 55, 6: 75, 4: 95, 3: 115, 2: 130, 1: 145,
}

// auditor holds what one run works with.
type auditor struct {
	c      *circuit.Circuit
	engine *settle.Engine
	tracer *trace.Tracer
	// modes holds each mode settled; most the largest current per branch and
	// the mode it flows in.
	modes  []*settle.Outcome
	most   []float64
	mostIn []circuit.ModeID
	out    []Finding
}

// Run audits the machine. It fails only with the context's error, or where a
// mode has no unique solution.
func Run(ctx context.Context, c *circuit.Circuit) ([]Finding, error) {
	a := &auditor{c: c, engine: settle.New(c), tracer: trace.New(c),
		most: make([]float64, len(c.Branches())), mostIn: make([]circuit.ModeID, len(c.Branches()))}
	for i := range c.Modes() {
		o, err := a.engine.Run(circuit.ModeID(i), nil)
		if err != nil {
			return nil, err
		}
		a.modes = append(a.modes, o)
		for b := range a.most {
			if amps := cmplx.Abs(o.AnyState.Amps[b]); amps > a.most[b] {
				a.most[b], a.mostIn[b] = amps, circuit.ModeID(i)
			}
		}
	}
	a.wires()
	a.breakers()
	if err := a.limits(ctx); err != nil {
		return nil, err
	}
	if err := a.offFaults(ctx); err != nil {
		return nil, err
	}
	a.unused()
	a.alike()
	a.cold()
	return a.out, nil
}

func (a *auditor) find(k Kind, path string, mode circuit.ModeID, branches []circuit.BranchID, reason, format string, args ...any) {
	a.out = append(a.out, Finding{Kind: k, Path: path, Message: fmt.Sprintf(format, args...), Reason: reason, Mode: mode, Branches: branches})
}

func (a *auditor) wires() {
	spec := a.c.Spec()
	for i := range a.c.Wires() {
		w := a.c.Wire(circuit.WireID(i))
		limit, ok := ampacity[spec.Wires[i].AWG]
		amps := a.most[w.Branch]
		if !ok || amps <= limit {
			continue
		}
		a.find(ThinWire, fmt.Sprintf("wires[%d]", i), a.mostIn[w.Branch], []circuit.BranchID{w.Branch},
			"NFPA 70 tables 310.16 and 402.5, copper at 90 C (from memory); defer to local code",
			"wire %s carries %.1f A in %s, more than the %.0f A of %s", w.Name, amps, a.c.Mode(a.mostIn[w.Branch]).Label, limit, w.Size)
	}
}

func (a *auditor) breakers() {
	for i := range a.c.Branches() {
		b := a.c.Branch(circuit.BranchID(i))
		if b.Amps == 0 || a.most[i] <= b.Amps {
			continue
		}
		p := a.c.Part(b.Part)
		a.find(SmallBreaker, "parts."+p.Name, a.mostIn[i], []circuit.BranchID{b.ID},
			"it would open with time; defer to local code",
			"%s carries %.1f A in %s, more than its %g A", a.c.Label(b.ID), a.most[i], a.c.Mode(a.mostIn[i]).Label, b.Amps)
	}
}

// heats reports whether a load makes heat that a limit would guard.
func (a *auditor) heats(load circuit.BranchID) bool {
	k := a.c.Part(a.c.Branch(load).Part).Kind
	return k == circuit.KindElement || k == circuit.KindSurfaceElement
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
		if err := a.limit(b, p); err != nil {
			return err
		}
	}
	return nil
}

func (a *auditor) limit(b *circuit.Branch, p *circuit.Part) error {
	open := circuit.Fault{Kind: circuit.Open, Branch: b.ID}
	stops := map[circuit.BranchID]circuit.ModeID{}
	for m, sound := range a.modes {
		o, err := a.engine.Run(circuit.ModeID(m), []circuit.Fault{open})
		if err != nil {
			return err
		}
		for _, load := range a.c.Loads() {
			if sound.LeastShare(load) >= trace.DefaultOnShare && o.MostShare(load) < trace.DefaultOnShare {
				if _, known := stops[load]; !known {
					stops[load] = circuit.ModeID(m)
				}
			}
		}
	}
	if len(stops) == 0 {
		a.find(IdleLimit, "parts."+p.Name, circuit.None, []circuit.BranchID{b.ID}, "a limit that opens and stops nothing protects nothing",
			"%s stops no load in any mode", a.c.Label(b.ID))
		return nil
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
		for w := range a.c.Branches() {
			contact := a.c.Branch(circuit.BranchID(w))
			if contact.Role != circuit.Contact || contact.ID == b.ID {
				continue
			}
			o, err := a.engine.Run(mode, []circuit.Fault{open, {Kind: circuit.Welded, Branch: contact.ID}})
			if err != nil {
				return err
			}
			if o.MostShare(load) >= trace.DefaultOnShare {
				a.find(BypassedLimit, "parts."+p.Name, mode, []circuit.BranchID{b.ID, contact.ID, load},
					"the limit works through that contact, not in the heater's own feed",
					"with %s welded, %s no longer stops the %s in %s", lower(a.c.Label(contact.ID)), a.c.Label(b.ID), lower(a.c.Label(load)), a.c.Mode(mode).Label)
				break
			}
		}
	}
	return nil
}

// onFeed reports whether a branch lies on a load's feed in a mode.
func (a *auditor) onFeed(id, load circuit.BranchID, mode circuit.ModeID) bool {
	f := a.tracer.Feed(a.modes[mode], load)
	for i := range f.Ends {
		for _, hop := range f.Ends[i].Hops {
			if hop.Branch == id {
				return true
			}
		}
	}
	return false
}

// offFaults looks for heaters that one fault switches on in Off.
func (a *auditor) offFaults(ctx context.Context) error {
	off, err := a.c.FindMode("off")
	if err != nil {
		return nil // a machine without a mode of that name
	}
	for _, load := range a.c.Loads() {
		if !a.heats(load) || a.modes[off].MostShare(load) >= trace.DefaultOnShare {
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
				"%s alone heats the %s in Off, %.0f W", lower(a.c.Describe(f)), lower(a.c.Label(load)), s.Watts)
		}
	}
	return nil
}

// unused lists parts through which no current flows in any mode, and which no
// control looks through.
func (a *auditor) unused() {
	sensed := map[circuit.TerminalID]bool{}
	var queue []circuit.TerminalID
	for i := range a.c.Controls() {
		for _, s := range a.c.Controls()[i].Senses {
			queue = append(queue, s.Pin1, s.Pin2)
		}
	}
	at := make([][]circuit.BranchID, len(a.c.Terminals()))
	for i := range a.c.Branches() {
		b := a.c.Branch(circuit.BranchID(i))
		if b.A != circuit.None && b.B != circuit.None {
			at[b.A], at[b.B] = append(at[b.A], b.ID), append(at[b.B], b.ID)
		}
	}
	for len(queue) > 0 {
		t := queue[0]
		queue = queue[1:]
		if sensed[t] {
			continue
		}
		sensed[t] = true
		for _, id := range at[t] {
			queue = append(queue, a.c.Branch(id).A, a.c.Branch(id).B)
		}
	}
	for i := range a.c.Parts() {
		p := a.c.Part(circuit.PartID(i))
		if p.Kind == circuit.KindSupply || p.Kind == circuit.KindChassis || len(p.Branches) == 0 {
			continue
		}
		used := false
		for _, id := range p.Branches {
			b := a.c.Branch(id)
			used = used || a.most[id] > 1e-9 || b.A != circuit.None && (sensed[b.A] || sensed[b.B])
		}
		if !used {
			a.find(Unused, "parts."+p.Name, circuit.None, p.Branches, "a mode may be missing, or a wire",
				"no current flows through the %s in any mode", lower(p.Label))
		}
	}
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
			names = append(names, lower(a.c.Label(id)))
		}
		if len(parts) < 2 {
			continue
		}
		sort.Strings(names)
		a.find(NotToldApart, "parts."+a.c.Part(a.c.Branch(parts[0]).Part).Name, circuit.None, parts, "list a point between them, such as "+a.c.Terminal(a.c.Branch(parts[0]).B).Ref,
			"no listed test point tells %s apart", strings.Join(names, " and "))
	}
}

func lower(label string) string {
	if len(label) > 1 && label[1] >= 'a' && label[1] <= 'z' {
		return strings.ToLower(label[:1]) + label[1:]
	}
	return label
}
