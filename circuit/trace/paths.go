package trace

import (
	"math"
	"math/cmplx"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

// Feed is how a load hangs between two supply conductors.
type Feed struct {
	Load circuit.BranchID
	// Ends are the ways to the load's terminals A and B.
	Ends [2]End
	// Holds tell what keeps the contacts on the ends closed, nearest first,
	// then what keeps those, each contact once.
	Holds []Hold
}

// Fed reports whether both ends are made.
func (f *Feed) Fed() bool { return f.Ends[0].Made() && f.Ends[1].Made() }

// End is the way from a supply conductor to one terminal of a load.
type End struct {
	Terminal circuit.TerminalID
	// Source is the conductor the way starts at, or None when no way exists
	// even with every contact closed.
	Source circuit.BranchID
	// Hops lead from the source to the terminal.
	Hops []Hop
	// Missing lists what on the way does not conduct now.
	Missing []circuit.BranchID
	// Through lists other loads on the way: the load is in series with them.
	Through []circuit.BranchID
}

// Made reports whether the way conducts from end to end, through joins and
// contacts alone.
func (e *End) Made() bool {
	return e.Source != circuit.None && len(e.Missing) == 0 && len(e.Through) == 0
}

// Hop is one branch on a way, from one terminal to the next. From is None for
// the source itself. Across a transformer it is the secondary, from a terminal
// of the primary.
type Hop struct {
	Branch   circuit.BranchID
	From, To circuit.TerminalID
}

// Hold is what keeps a contact closed.
type Hold struct {
	Contact circuit.BranchID
	// Mover is the coil, motor or drive.
	Mover circuit.BranchID
	// Feed is how the coil, or the drive's control, is fed.
	Feed *Feed
	// Control is set for a drive; Senses are what it must see.
	Control *circuit.Control
	Senses  []SensePath
}

// SensePath is what a control looks through between two pins.
type SensePath struct {
	Sense circuit.Sense
	// Branches conduct between the pins: wires, connectors, the sensor.
	Branches []circuit.BranchID
	Ohms     float64
	OK       bool
}

// Feed finds how the load is fed in the settled machine.
func (t *Tracer) Feed(out *settle.Outcome, load circuit.BranchID) *Feed {
	f := t.feedAlone(out, load)
	seen := map[circuit.BranchID]bool{}
	queue := []*Feed{f}
	for len(queue) > 0 {
		next := queue[0]
		queue = queue[1:]
		for i := range next.Ends {
			for _, hop := range next.Ends[i].Hops {
				b := t.c.Branch(hop.Branch)
				if b.Role != circuit.Contact || b.Rule.By == circuit.None || seen[b.ID] {
					continue
				}
				seen[b.ID] = true
				h := t.hold(out, b)
				f.Holds = append(f.Holds, h)
				queue = append(queue, h.Feed)
			}
		}
	}
	return f
}

func (t *Tracer) hold(out *settle.Outcome, contact *circuit.Branch) Hold {
	h := Hold{Contact: contact.ID, Mover: contact.Rule.By}
	if t.c.Branch(h.Mover).Role != circuit.Drive {
		h.Feed = t.feedAlone(out, h.Mover)
		return h
	}
	h.Control = t.c.ControlOf(h.Mover)
	h.Feed = t.feedAlone(out, h.Control.Supply)
	for i := range t.c.Controls() {
		if &t.c.Controls()[i] != h.Control {
			continue
		}
		for j, sense := range h.Control.Senses {
			state := out.Controls[i].Senses[j]
			if !state.Demanded {
				continue
			}
			p := SensePath{Sense: sense, OK: state.OK, Ohms: math.Inf(1)}
			if state.Connected {
				p.Ohms = state.Ohms
			}
			for _, k := range t.senseChains(sense, out.Conducts) {
				p.Branches = append(p.Branches, t.chains.list[k].branches...)
			}
			h.Senses = append(h.Senses, p)
		}
	}
	return h
}

// IsAcross reports whether a hop goes across a transformer.
func (t *Tracer) IsAcross(h Hop) bool {
	w, ok := t.windings[h.To]
	return ok && w.secondary == h.Branch && w.primary == h.From
}

// feedAlone finds the two ends, without what holds their contacts.
func (t *Tracer) feedAlone(out *settle.Outcome, load circuit.BranchID) *Feed {
	b := t.c.Branch(load)
	f := &Feed{Load: load}
	f.Ends[0] = t.end(out, load, b.A, nil)
	var other *complex128
	if f.Ends[0].Source != circuit.None {
		emf := t.c.Branch(f.Ends[0].Source).EMF
		other = &emf
	}
	f.Ends[1] = t.end(out, load, b.B, other)
	if other == nil || f.Ends[0].Made() || f.Ends[1].Made() {
		return f
	}
	// Both ends are open; the second may have the shorter way to what the
	// first was given.
	swapped := t.end(out, load, b.B, nil)
	if swapped.Source == circuit.None {
		return f
	}
	if emf := t.c.Branch(swapped.Source).EMF; cmplx.Abs(emf-*other) < 1e-9 {
		if first := t.end(out, load, b.A, &emf); first.Source != circuit.None && len(first.Missing)+len(swapped.Missing) < len(f.Ends[0].Missing)+len(f.Ends[1].Missing) {
			f.Ends = [2]End{first, swapped}
		}
	}
	return f
}

// Shares tells, for every branch on the feed, which other loads energised in
// the settled machine use it too: what they prove good by working.
func (t *Tracer) Shares(out *settle.Outcome, f *Feed) map[circuit.BranchID][]circuit.BranchID {
	shares := map[circuit.BranchID][]circuit.BranchID{}
	for i := range f.Ends {
		for _, hop := range f.Ends[i].Hops {
			shares[hop.Branch] = nil
		}
	}
	for _, load := range t.c.Loads() {
		if load == f.Load || out.LeastShare(load) < DefaultShare {
			continue
		}
		other := t.feedAlone(out, load)
		for i := range other.Ends {
			if !other.Ends[i].Made() {
				continue
			}
			for _, hop := range other.Ends[i].Hops {
				if _, on := shares[hop.Branch]; on {
					shares[hop.Branch] = append(shares[hop.Branch], load)
				}
			}
		}
	}
	return shares
}
