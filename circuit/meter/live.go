package meter

import (
	"context"
	"math/cmplx"
	"sort"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// HazardVolts is the voltage to chassis from which a point counts as live: 30
// V AC, the limit of IEC 61010-1 for accessible parts in normal condition (from
// memory).
const HazardVolts = 30

// StandingNode is a group of joined terminals that stands at voltage.
type StandingNode struct {
	// Terminals are joined without loss; the first is nearest the supply.
	Terminals []circuit.TerminalID
	// ToChassis is the voltage to the machine's metal in volts.
	ToChassis float64
	// Source is the leg it hangs on, with the way from it: through contacts
	// and joins, or through the loads listed.
	Source  circuit.BranchID
	Way     []trace.Hop
	Through []circuit.BranchID
}

// Standing is what stays live in one mode.
type Standing struct {
	Mode circuit.ModeID
	// Nodes are those at or above [HazardVolts], by falling voltage.
	Nodes []StandingNode
	// Apart is the largest voltage between two of them.
	Apart float64
	// Chassis is the voltage from the machine's metal to the supply's earth or
	// neutral point: what a person standing beside it touches. Floating is set
	// when the metal is tied to nothing.
	Chassis         float64
	ChassisFloating bool
}

// Volts tells how a terminal stands to the chassis.
func (s *Standing) Volts(t circuit.TerminalID) float64 {
	for _, n := range s.Nodes {
		for _, u := range n.Terminals {
			if u == t {
				return n.ToChassis
			}
		}
	}
	return 0
}

// StandingVolts lists what is live in a mode under faults. Where the metal is
// itself tied to nothing, voltages are to the supply's neutral point.
func (b *Bench) StandingVolts(mode circuit.ModeID, faults []circuit.Fault) (*Standing, error) {
	o, err := b.Live(mode, faults)
	if err != nil {
		return nil, err
	}
	return b.standing(o), nil
}

func (b *Bench) standing(o *settle.Outcome) *Standing {
	chassis := b.c.ChassisTerminal()
	out := &Standing{Mode: o.Mode, ChassisFloating: o.AnyState.Floating[chassis]}
	var reference complex128
	if !out.ChassisFloating {
		reference = o.AnyState.Volts[chassis]
		out.Chassis = cmplx.Abs(reference)
	}
	groups := b.joined(o)
	tracer := trace.New(b.c)
	var volts []complex128
	for _, g := range groups {
		t := g[0]
		if o.AnyState.Floating[t] {
			continue
		}
		v := o.AnyState.Volts[t] - reference
		if cmplx.Abs(v) < HazardVolts {
			continue
		}
		way := tracer.Way(o, t)
		out.Nodes = append(out.Nodes, StandingNode{Terminals: g, ToChassis: cmplx.Abs(v), Source: way.Source, Way: way.Hops, Through: way.Through})
		volts = append(volts, v)
	}
	for i, v := range volts {
		for _, w := range volts[:i] {
			out.Apart = max(out.Apart, cmplx.Abs(v-w))
		}
	}
	sort.SliceStable(out.Nodes, func(i, j int) bool { return out.Nodes[i].ToChassis > out.Nodes[j].ToChassis+0.5 })
	return out
}

// joined groups terminals that joins and closed contacts tie together, nearest
// the supply first.
func (b *Bench) joined(o *settle.Outcome) [][]circuit.TerminalID {
	n := len(b.c.Terminals())
	seen := make([]bool, n)
	var roots []circuit.TerminalID
	for i := range b.c.Branches() {
		if br := b.c.Branch(circuit.BranchID(i)); br.Role == circuit.Source {
			roots = append(roots, br.B)
		}
	}
	for t := 0; t < n; t++ {
		roots = append(roots, circuit.TerminalID(t))
	}
	var out [][]circuit.TerminalID
	for _, root := range roots {
		if seen[root] {
			continue
		}
		seen[root] = true
		group := []circuit.TerminalID{root}
		for head := 0; head < len(group); head++ {
			for _, id := range b.at(group[head]) {
				br := b.c.Branch(id)
				if !o.Conducts[id] || br.Role == circuit.Load || br.Role == circuit.Source {
					continue
				}
				for _, far := range [2]circuit.TerminalID{br.A, br.B} {
					if !seen[far] {
						seen[far] = true
						group = append(group, far)
					}
				}
			}
		}
		out = append(out, group)
	}
	return out
}

// NewlyLive is a fault that puts points at voltage which were not before.
type NewlyLive struct {
	Fault circuit.Fault
	// Terminals became live; Chassis is set when the metal itself did, at
	// ChassisVolts to the supply's neutral point.
	Terminals    []circuit.TerminalID
	Chassis      bool
	ChassisVolts float64
	// Energised lists loads that the fault switches on.
	Energised []circuit.BranchID
}

// NewlyLiveFaults tries every single open, weld and ground in a mode and keeps
// those that make something live which was not.
func (b *Bench) NewlyLiveFaults(ctx context.Context, mode circuit.ModeID) ([]NewlyLive, error) {
	sound, err := b.Live(mode, nil)
	if err != nil {
		return nil, err
	}
	before := b.liveTerminals(sound)
	var out []NewlyLive
	for i := range b.c.Branches() {
		for _, kind := range []circuit.FaultKind{circuit.Open, circuit.Welded, circuit.Grounded} {
			f := circuit.Fault{Kind: kind, Branch: circuit.BranchID(i), At: 0.5}
			if !b.c.CanFail(f) {
				continue
			}
			if err := ctx.Err(); err != nil {
				return out, err
			}
			o, err := b.Live(mode, []circuit.Fault{f})
			if err != nil {
				return out, err
			}
			n := NewlyLive{Fault: f}
			for t, live := range b.liveTerminals(o) {
				if live && !before[t] {
					n.Terminals = append(n.Terminals, circuit.TerminalID(t))
				}
			}
			chassis := b.c.ChassisTerminal()
			if v := cmplx.Abs(o.AnyState.Volts[chassis]); !o.AnyState.Floating[chassis] && v >= HazardVolts {
				n.Chassis, n.ChassisVolts = true, v
			}
			for _, load := range b.c.Loads() {
				if o.MostShare(load) >= trace.DefaultOnShare && sound.MostShare(load) < trace.DefaultOnShare {
					n.Energised = append(n.Energised, load)
				}
			}
			if len(n.Terminals) > 0 || n.Chassis || len(n.Energised) > 0 {
				out = append(out, n)
			}
		}
	}
	return out, nil
}

// liveTerminals tells which terminals stand at or above the hazard limit to
// the supply's neutral point.
func (b *Bench) liveTerminals(o *settle.Outcome) []bool {
	out := make([]bool, len(b.c.Terminals()))
	for t := range out {
		out[t] = !o.AnyState.Floating[t] && cmplx.Abs(o.AnyState.Volts[t]) >= HazardVolts
	}
	return out
}
