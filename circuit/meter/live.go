package meter

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"runtime"
	"slices"
	"strings"
	"sync"

	"legtrace/circuit"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// HazardVolts is the voltage from which a point counts as live: 30 V AC, the
// limit of IEC 61010-1:2010, 6.3.1, for accessible parts in normal condition (from
// memory).
const HazardVolts = 30

// TouchVolts is how a terminal stands, in volts, to the three things that a
// person or a probe may be at besides: earth, the machine's neutral, and its
// metal. All three are alike on a sound machine. NaN is a voltage that the
// circuit does not determine.
type TouchVolts struct{ Earth, Neutral, Metal float64 }

// Most is the highest of the three; 0 where none is determined.
func (v TouchVolts) Most() float64 {
	most := 0.0
	for _, u := range [3]float64{v.Earth, v.Neutral, v.Metal} {
		if u > most { // false for NaN
			most = u
		}
	}
	return most
}

// Live reports whether any of the three reaches [HazardVolts].
func (v TouchVolts) Live() bool { return v.Most() >= HazardVolts }

// Short is String, but one figure alone where the three are alike to the volt.
func (v TouchVolts) Short() string {
	if earth := math.Round(v.Earth); earth == math.Round(v.Neutral) && earth == math.Round(v.Metal) { // false for NaN
		return fmt.Sprintf("%.0f V", v.Earth)
	}
	return v.String()
}

// String writes the voltage and what it is to, undetermined ones left out:
// "120 V to earth and neutral, 0 V to the metal".
func (v TouchVolts) String() string {
	var order, said []string
	to := map[string][]string{}
	for _, x := range []struct {
		name  string
		volts float64
	}{{"earth", v.Earth}, {"neutral", v.Neutral}, {"the metal", v.Metal}} {
		if math.IsNaN(x.volts) {
			continue
		}
		s := fmt.Sprintf("%.0f V", x.volts)
		if to[s] == nil {
			order = append(order, s)
		}
		to[s] = append(to[s], x.name)
	}
	for _, s := range order {
		names := to[s]
		if len(names) == 3 {
			names = []string{names[0] + ", " + names[1], names[2]}
		}
		said = append(said, s+" to "+strings.Join(names, " and "))
	}
	return strings.Join(said, ", ")
}

// Touch tells how a terminal stands; where relays chatter, the most that it
// comes to. Neutral is that of
// the machine: see [Bench.Reference].
func (b *Bench) Touch(o *settle.Outcome, t circuit.TerminalID) TouchVolts {
	return b.touch(o, b.Reference(), t)
}

func (b *Bench) touch(o *settle.Outcome, neutral, t circuit.TerminalID) TouchVolts {
	v, _ := b.worst(o, neutral, t)
	return v
}

// worst tells the most that a terminal comes to, and the state in which.
func (b *Bench) worst(o *settle.Outcome, neutral, t circuit.TerminalID) (TouchVolts, *settle.Outcome) {
	var most TouchVolts
	var in *settle.Outcome
	for _, state := range o.InTurn() {
		if v := b.stands(fullView{state}, neutral, t); in == nil || v.Most() > most.Most() {
			most, in = v, state
		}
	}
	return most, in
}

// stands is [Bench.Touch] in one state.
func (b *Bench) stands(s Settled, neutral, t circuit.TerminalID) TouchVolts {
	to := func(ref circuit.TerminalID) float64 {
		if v, known := s.Between(t, ref); known {
			return cmplx.Abs(v)
		}
		return math.NaN()
	}
	v := TouchVolts{Earth: math.NaN(), Neutral: to(neutral), Metal: to(b.c.ChassisTerminal())}
	if !s.Floating(t) {
		v.Earth = cmplx.Abs(s.Volts(t)) // see [phasor.Solution.ToEarth]
	}
	return v
}

// LiveNode is a group of joined terminals at voltage.
type LiveNode struct {
	// Terminals are joined without loss; the first is nearest the supply.
	Terminals []circuit.TerminalID
	Volts     TouchVolts
	// Way is how the voltage gets there: see [trace.Tracer.Way]. State is the
	// one in which, where relays chatter.
	Way   trace.End
	State *settle.Outcome
}

// LiveParts is what is live in one mode.
type LiveParts struct {
	Mode circuit.ModeID
	// Nodes are those at or above [HazardVolts], by falling voltage.
	Nodes []LiveNode
	// Apart is the largest voltage between two of them.
	Apart float64
	// Chassis is the voltage from the machine's metal to earth: what a person
	// standing beside it touches. Floating is set when the metal is tied to
	// nothing.
	Chassis         float64
	ChassisFloating bool
}

// Volts tells how a terminal stands: see [TouchVolts.Most]. It is 0 for what is
// not live.
func (p *LiveParts) Volts(t circuit.TerminalID) float64 {
	for _, n := range p.Nodes {
		for _, u := range n.Terminals {
			if u == t {
				return n.Volts.Most()
			}
		}
	}
	return 0
}

// LiveParts lists what is live in a mode under faults: every terminal at
// [HazardVolts] or more to earth, to neutral or to metal.
func (b *Bench) LiveParts(mode circuit.ModeID, faults []circuit.Fault) (*LiveParts, error) {
	o, err := b.Live(mode, faults)
	if err != nil {
		return nil, err
	}
	return b.LivePartsOf(o), nil
}

// LivePartsOf is [Bench.LiveParts] of a machine that is settled.
func (b *Bench) LivePartsOf(o *settle.Outcome) *LiveParts {
	neutral, tracer := b.Reference(), trace.New(b.c)
	out := &LiveParts{Mode: o.Mode, Chassis: b.touch(o, neutral, b.c.ChassisTerminal()).Earth}
	if math.IsNaN(out.Chassis) {
		out.Chassis, out.ChassisFloating = 0, true
	}
	for _, g := range b.joined(o) {
		v, state := b.worst(o, neutral, g[0])
		if !v.Live() {
			continue
		}
		for _, n := range out.Nodes {
			out.Apart = max(out.Apart, o.Volts(g[0], n.Terminals[0]).Most)
		}
		out.Nodes = append(out.Nodes, LiveNode{Terminals: g, Volts: v, Way: tracer.Way(state, g[0]), State: state})
	}
	// By half volts: what differs by less is alike, and stays nearest the supply first.
	halves := func(n LiveNode) float64 { return math.Round(2 * n.Volts.Most()) }
	slices.SortStableFunc(out.Nodes, func(a, b LiveNode) int { return cmp.Compare(halves(b), halves(a)) })
	return out
}

// joined groups terminals that joins and closed contacts tie together, nearest
// the supply first. A bad joint does not tie, nor does a contact that chatters.
func (b *Bench) joined(o *settle.Outcome) [][]circuit.TerminalID {
	n := len(b.c.Terminals())
	seen := make([]bool, n)
	bad := map[circuit.BranchID]bool{}
	for _, f := range o.Faults {
		bad[f.Branch] = bad[f.Branch] || f.Kind == circuit.HighResistance
	}
	for _, state := range o.InTurn() {
		for i, on := range state.Conducts {
			if !on {
				bad[circuit.BranchID(i)] = true
			}
		}
	}
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
				if br.Role == circuit.Load || br.Role == circuit.Source || bad[id] {
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
	// ChassisVolts to earth.
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
	neutral := b.Reference()
	before := make([]bool, len(b.c.Terminals()))
	for t := range before {
		before[t] = b.live(sound, neutral, circuit.TerminalID(t))
	}
	var off []circuit.BranchID
	for _, load := range b.c.Loads() {
		if sound.MostShare(load) < trace.DefaultOnShare {
			off = append(off, load)
		}
	}
	var all []NewlyLive
	for i := range b.c.Branches() {
		for _, kind := range []circuit.FaultKind{circuit.Open, circuit.Welded, circuit.Grounded} {
			if f := (circuit.Fault{Kind: kind, Branch: circuit.BranchID(i), At: 0.5}); b.c.CanFail(f) {
				all = append(all, NewlyLive{Fault: f})
			}
		}
	}
	net, wait, errs := phasor.NewNetwork(b.c), sync.WaitGroup{}, make([]error, runtime.GOMAXPROCS(0))
	for k := range errs {
		wait.Go(func() {
			sweep, err := settle.NewSweepOn(settle.New(b.c), net, mode)
			for i := k; err == nil && i < len(all); i += len(errs) {
				if n := &all[i]; !sweep.Idle(n.Fault) {
					err = b.newlyLive(n, sweep, neutral, before, off)
				}
				err = cmp.Or(err, ctx.Err())
			}
			errs[k] = err
		})
	}
	wait.Wait()
	var out []NewlyLive
	for _, n := range all {
		if len(n.Terminals) > 0 || n.Chassis || len(n.Energised) > 0 {
			out = append(out, n)
		}
	}
	return out, errors.Join(errs...)
}

// newlyLive tells what is live with its fault that was not before, and which loads
// are on that were off.
func (b *Bench) newlyLive(n *NewlyLive, sweep *settle.Sweep, neutral circuit.TerminalID, before []bool, off []circuit.BranchID) error {
	o, err := sweep.Run([]circuit.Fault{n.Fault})
	if err != nil {
		return err
	}
	metal := b.c.ChassisTerminal()
	live, earth := b.touchableIn(o), func() float64 { return b.stands(o, neutral, metal).Earth }
	if o.FellBack {
		full, err := o.Full()
		if err != nil {
			return err
		}
		live = func(t circuit.TerminalID) bool { return b.live(full, neutral, t) }
		earth = func() float64 { return b.touch(full, neutral, metal).Earth }
	}
	same := o.Same(metal)
	for t, was := range before {
		if id := circuit.TerminalID(t); !was && !(same && o.Same(id)) && live(id) {
			n.Terminals = append(n.Terminals, id)
		}
	}
	if v := earth(); v >= HazardVolts {
		n.Chassis, n.ChassisVolts = true, v
	}
	for _, load := range off {
		if o.MostShare(load) >= trace.DefaultOnShare {
			n.Energised = append(n.Energised, load)
		}
	}
	return nil
}

// touchableIn is [touchable] of a terminal in one state, for asking of many.
func (b *Bench) touchableIn(o Settled) func(circuit.TerminalID) bool {
	metal := b.c.ChassisTerminal()
	floats, volts := o.Floating(metal), o.Volts(metal)
	reaches := func(v complex128) bool { return real(v)*real(v)+imag(v)*imag(v) >= HazardVolts*HazardVolts }
	return func(t circuit.TerminalID) bool {
		v := o.Volts(t)
		if !floats {
			return (reaches(v) || reaches(v-volts)) && !o.Floating(t)
		}
		if !o.Floating(t) {
			return reaches(v)
		}
		v, known := o.Between(t, metal)
		return known && reaches(v)
	}
}

// live tells whether a terminal is live to earth or to the metal.
func (b *Bench) live(o *settle.Outcome, neutral, t circuit.TerminalID) bool {
	return touchable(b.touch(o, neutral, t))
}

// touchable tells of what is live to earth or to the metal. That a lost neutral
// is at voltage to all that is earthed makes only the neutral live.
func touchable(v TouchVolts) bool {
	v.Neutral = math.NaN()
	return v.Live()
}
