package meter_test

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// everyFault settles the catalog's machines in every mode with single faults, and
// with none: each fault comes up over the modes of a machine, in every one of them
// with LEGTRACE_EVERY_FAULT=1; cheaply, two machines and some faults only.
func everyFault(t *testing.T, see func(name string, b *meter.Bench, o *settle.Outcome)) {
	t.Helper()
	stride := 5
	switch {
	case testing.Short():
		stride = 7
	case os.Getenv("LEGTRACE_EVERY_FAULT") != "":
		stride = 1
	}
	for i, entry := range netlists.Catalog() {
		if testing.Short() && entry.Name != "range-mechanical" && entry.Name != "range-electronic" || stride > 1 && !circuittest.Sampled(i, 2) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		b := meter.New(c, meter.DefaultInstrument())
		faults := append([]circuit.Fault{{}}, meter.SingleFaults(c)...)
		for _, m := range c.Modes() {
			for i, f := range faults {
				if i > 0 && (i+int(m.ID))%stride != 0 {
					continue
				}
				name, list := entry.Name+", "+m.Name, []circuit.Fault(nil)
				if i > 0 {
					name, list = name+", "+c.FaultRef(f), []circuit.Fault{f}
				}
				o, err := b.Live(m.ID, list)
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				see(name, b, o)
			}
		}
	}
}

// What is live is told by three voltages of the solution, counted here from its
// phasors alone: no terminal at 30 V or more to earth, neutral or metal is left
// out, none is listed that is not, and the voltages listed are the solver's.
func TestNoLivePartIsLeftOut(t *testing.T) {
	states, live, metalLive := 0, 0, 0
	everyFault(t, func(name string, b *meter.Bench, o *settle.Outcome) {
		states++
		c := b.Circuit()
		neutral := b.Reference()
		p := b.LivePartsOf(o)
		listed := map[circuit.TerminalID]meter.TouchVolts{}
		for _, n := range p.Nodes {
			for _, at := range n.Terminals {
				listed[at] = n.Volts
			}
		}
		if p.Chassis >= meter.HazardVolts {
			metalLive++
		}
		for i := range c.Terminals() {
			at := circuit.TerminalID(i)
			want := [3]float64{math.NaN(), math.NaN(), math.NaN()}
			highest := -1.0
			for _, state := range o.InTurn() { // where relays chatter, the worst counts
				v := [3]float64{math.NaN(), math.NaN(), math.NaN()}
				if !state.AnyState.Floating[at] {
					v[0] = cmplx.Abs(state.AnyState.Volts[at])
				}
				for k, to := range []circuit.TerminalID{neutral, c.ChassisTerminal()} {
					if u, known := state.AnyState.Between(at, to); known {
						v[k+1] = cmplx.Abs(u)
					}
				}
				for _, u := range v {
					if u > highest {
						highest, want = u, v
					}
				}
			}
			is := slices.ContainsFunc(want[:], func(v float64) bool { return v >= meter.HazardVolts+0.01 })
			got, there := listed[at]
			switch {
			case is && !there:
				t.Errorf("%s: %s is left out: %.1f V to earth, %.1f to neutral, %.1f to metal", name, c.Terminal(at).Ref, want[0], want[1], want[2])
			case !there:
				continue
			case !slices.ContainsFunc(want[:], func(v float64) bool { return v >= meter.HazardVolts-0.01 }):
				t.Errorf("%s: %s is listed, and stands at %.1f, %.1f, %.1f V", name, c.Terminal(at).Ref, want[0], want[1], want[2])
			}
			live++
			for k, v := range [3]float64{got.Earth, got.Neutral, got.Metal} {
				// A few volts are lost along a wire under load.
				if math.IsNaN(v) != math.IsNaN(want[k]) || math.Abs(v-want[k]) > 3 {
					t.Errorf("%s: %s is said to be at %.1f V, is at %.1f", name, c.Terminal(at).Ref, v, want[k])
				}
			}
		}
	})
	t.Logf("%d states, %d live terminals; the metal itself live in %d", states, live, metalLive)
	if metalLive == 0 {
		t.Error("no fault made the metal live")
	}
}

// The way a voltage gets to a point is one that conducts, wire for wire, from a
// supply conductor that is on.
func TestAWayToALivePartConducts(t *testing.T) {
	ways := 0
	everyFault(t, func(name string, b *meter.Bench, o *settle.Outcome) {
		c := b.Circuit()
		for _, n := range b.LivePartsOf(o).Nodes {
			ways++
			if err := conducts(c, n.State, n); err != nil {
				t.Errorf("%s: %s: %v", name, c.Terminal(n.Terminals[0]).Ref, err)
			}
		}
	})
	t.Logf("%d ways followed", ways)
}

func conducts(c *circuit.Circuit, o *settle.Outcome, n meter.LiveNode) error {
	if n.Way.Source == circuit.None {
		return fmt.Errorf("no way")
	}
	at := c.Branch(n.Way.Source).B
	grounded := map[circuit.BranchID]bool{}
	for _, f := range o.Faults {
		grounded[f.Branch] = f.Kind == circuit.Grounded
	}
	for i, h := range n.Way.Hops {
		b := c.Branch(h.Branch)
		if i == 0 {
			if h.Branch != n.Way.Source || !o.Conducts[h.Branch] || h.To != at {
				return fmt.Errorf("it does not start at a conductor that is on")
			}
			continue
		}
		if h.From != at {
			return fmt.Errorf("a gap before %s", b.Ref)
		}
		ends := []circuit.TerminalID{b.A, b.B}
		if grounded[h.Branch] {
			ends = append(ends, c.ChassisTerminal())
		} else if !o.Conducts[h.Branch] {
			return fmt.Errorf("%s does not conduct", b.Ref)
		}
		across := slices.ContainsFunc(c.Branches(), func(p circuit.Branch) bool { return p.Secondary == b.ID })
		if !slices.Contains(ends, h.To) || !slices.Contains(ends, h.From) && !across {
			return fmt.Errorf("%s does not lead on", b.Ref)
		}
		at = h.To
	}
	if at != n.Terminals[0] {
		return fmt.Errorf("the way ends elsewhere")
	}
	if len(n.Way.Through) > 0 || len(o.Faults) > 0 && o.Faults[0].Kind != circuit.Open && o.Faults[0].Kind != circuit.Welded {
		return nil
	}
	// By joins alone, it stands at that conductor.
	if v := cmplx.Abs(o.AnyState.Volts[at] - c.Branch(n.Way.Source).EMF); v > 6 {
		return fmt.Errorf("%.0f V from the conductor it is said to be joined to", v)
	}
	return nil
}

// Beside no volts between live ends it is said that neither is dead, and
// nowhere else.
func TestNoVoltsBetweenLiveEndsAreNoProof(t *testing.T) {
	said := 0
	everyFault(t, func(name string, b *meter.Bench, o *settle.Outcome) {
		c := b.Circuit()
		for _, id := range c.Loads() {
			br := c.Branch(id)
			if br.A == circuit.None || br.A == br.B {
				continue
			}
			if o.Chatter != nil {
				continue
			}
			between, known := o.AnyState.Between(br.A, br.B)
			if !known || cmplx.Abs(between) > 0.1*c.Supply().Volts && o.Rounds%8 != 0 { // a few of the others will do
				continue
			}
			r := b.Quick(o, meter.Volts, br.A, br.B)
			words := b.NoProofOfDead(o, br.A, br.B, r)
			live := b.Touch(o, br.A).Most() >= meter.HazardVolts || b.Touch(o, br.B).Most() >= meter.HazardVolts
			must := live && cmplx.Abs(between) < 0.01*c.Supply().Volts
			may := live && cmplx.Abs(between) < 0.05*c.Supply().Volts
			if words == "" && must || words != "" && !may {
				t.Errorf("%s: %.1f V across %s, ends live: %v; said: %q", name, cmplx.Abs(between), br.Ref, live, words)
			}
			if words != "" {
				said++
			}
		}
	})
	t.Logf("%d readings of no volts between live ends", said)
	if said == 0 {
		t.Error("never said")
	}
}

// newlyLive is [meter.Bench.NewlyLiveFaults] the obvious way: every fault
// settled by the engine, every terminal read.
func newlyLive(t *testing.T, b *meter.Bench, mode circuit.ModeID) []meter.NewlyLive {
	t.Helper()
	c := b.Circuit()
	live := func(o *settle.Outcome) []bool {
		out := make([]bool, len(c.Terminals()))
		for k := range out {
			v := b.Touch(o, circuit.TerminalID(k))
			v.Neutral = math.NaN()
			out[k] = v.Live()
		}
		return out
	}
	settled := func(faults ...circuit.Fault) *settle.Outcome {
		o, err := b.Live(mode, faults)
		if err != nil {
			t.Fatal(err)
		}
		return o
	}
	sound := settled()
	before := live(sound)
	var out []meter.NewlyLive
	for i := range c.Branches() {
		for _, kind := range []circuit.FaultKind{circuit.Open, circuit.Welded, circuit.Grounded} {
			f := circuit.Fault{Kind: kind, Branch: circuit.BranchID(i), At: 0.5}
			if !c.CanFail(f) {
				continue
			}
			n, o := meter.NewlyLive{Fault: f}, settled(f)
			for k, is := range live(o) {
				if is && !before[k] {
					n.Terminals = append(n.Terminals, circuit.TerminalID(k))
				}
			}
			if v := b.Touch(o, c.ChassisTerminal()).Earth; v >= meter.HazardVolts {
				n.Chassis, n.ChassisVolts = true, v
			}
			for _, load := range c.Loads() {
				if o.MostShare(load) >= circuit.OnShare && sound.MostShare(load) < circuit.OnShare {
					n.Energised = append(n.Energised, load)
				}
			}
			if len(n.Terminals) > 0 || n.Chassis || len(n.Energised) > 0 {
				out = append(out, n)
			}
		}
	}
	return out
}

// What a fault makes live is found by updates as by trying each: on the shipped
// machines, and on one of a hundred parts.
func TestNewlyLiveIsAsTryingEachFault(t *testing.T) {
	check := func(name string, c *circuit.Circuit) {
		b := meter.New(c, meter.DefaultInstrument())
		for _, m := range c.Modes() {
			if m.ID > 2 {
				break
			}
			got, err := b.NewlyLiveFaults(context.Background(), m.ID)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(newlyLive(t, b, m.ID), got, cmpopts.EquateApprox(0, 1e-6)); diff != "" {
				t.Errorf("%s in %s: %s", name, m.Name, diff)
			}
		}
	}
	check("series-parallel", circuittest.Build(t, circuittest.SeriesParallel(60, 1)))
	for i, entry := range netlists.Machines() {
		if testing.Short() && entry.Name != "range-mechanical" && entry.Name != "range-electronic" || !circuittest.Sampled(i, 4) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		check(entry.Name, c)
	}
}
