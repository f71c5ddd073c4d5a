package settle_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

func near(a, b complex128) bool {
	return cmplx.Abs(a-b) <= 1e-9*(1+max(cmplx.Abs(a), cmplx.Abs(b)))
}

// unlike says where a swept machine is not as the engine settles it; "" if
// nowhere.
func unlike(c *circuit.Circuit, want *settle.Outcome, got *settle.SweepOutcome) string {
	if (want.Chatter != nil) != (got.Chatter() != nil) {
		return fmt.Sprintf("chatters: %v, want %v", got.Chatter() != nil, want.Chatter != nil)
	}
	if diff := cmp.Diff(want.Tripped, got.Tripped); diff != "" {
		return "tripped: " + diff
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if want.Acting[i] != got.Acting(b.ID) || want.Conducts[i] != got.Conducts(b.ID) {
			return fmt.Sprintf("%s acts %v and conducts %v, want %v and %v", b.Ref, got.Acting(b.ID), got.Conducts(b.ID), want.Acting[i], want.Conducts[i])
		}
		if b.Wire != circuit.None {
			amps, err := got.Amps(b.ID)
			if should := cmplx.Abs(want.AnyState.Amps[b.ID]); err != nil || math.Abs(amps-should) > 1e-6*(1+should) {
				return fmt.Sprintf("%s carries %g A, %v, want %g", b.Ref, amps, err, should)
			}
		}
		if b.Role != circuit.Load {
			continue
		}
		v, w := complex(want.LeastShare(b.ID), want.MostShare(b.ID)), complex(got.LeastShare(b.ID), got.MostShare(b.ID))
		if u := got.Update(); u != nil {
			v += complex(0, want.AnyState.LoadVolts(b.ID)+want.AnyState.Watts(b.ID))
			w += complex(0, u.LoadVolts(b.ID)+u.Watts(b.ID))
		}
		if !near(v, w) {
			return fmt.Sprintf("%s takes %v, want %v", b.Ref, w, v)
		}
	}
	controls, err := got.Controls()
	if diff := cmp.Diff(want.Controls, controls, cmp.Comparer(func(a, b float64) bool { return a == b || near(complex(a, 0), complex(b, 0)) })); err != nil || diff != "" {
		return fmt.Sprintf("controls: %v %s", err, diff)
	}
	terminals := c.Terminals()
	for i := range terminals {
		a := terminals[i].ID
		if want.AnyState.Floating[a] != got.Floating(a) || !got.Floating(a) && !near(got.Volts(a), want.AnyState.Volts[a]) {
			return fmt.Sprintf("%s stands at %v", terminals[i].Ref, got.Volts(a))
		}
		for j := range terminals[:i] {
			v, ok := want.AnyState.Between(a, terminals[j].ID)
			w, also := got.Between(a, terminals[j].ID)
			if ok != also || !near(v, w) {
				return fmt.Sprintf("from %s to %s %v %v, want %v %v", terminals[i].Ref, terminals[j].Ref, w, also, v, ok)
			}
		}
	}
	return ""
}

// randomMachine draws a machine, at times with wires that have ohms and, where amps are
// given, behind a residual-current device that opens at one of them.
func randomMachine(t *rapid.T, residual ...float64) *circuit.Circuit {
	spec := circuittest.Random(t, circuittest.Options{Wild: rapid.IntRange(0, 3).Draw(t, "wild") == 0})
	if rapid.Bool().Draw(t, "measured") {
		spec = circuittest.Measured(spec, 14, 0.5)
	}
	if len(residual) > 0 && rapid.Bool().Draw(t, "guarded") {
		spec = circuittest.Guarded(spec, rapid.SampledFrom(residual).Draw(t, "residual amps"))
	}
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatalf("refused: %v", problems)
	}
	return c
}

// A sweep settles every mode, under none, one or two faults, as the engine
// does: what acts, conducts and trips, what every load takes and where every
// terminal stands.
func TestASweepSettlesAsTheEngineDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := randomMachine(t, 0.005, 0.03, 1)
		sweepsAlike(t, c)
	})
}

func sweepsAlike(t *rapid.T, c *circuit.Circuit) {
	e, checker := settle.New(c), settle.New(c)
	net := phasor.NewNetwork(c)
	for _, m := range c.Modes() {
		s, err := settle.NewSweepOn(e, net, m.ID)
		if err != nil {
			t.Fatal(err)
		}
		for range 3 {
			var faults []circuit.Fault
			for range rapid.IntRange(0, 2).Draw(t, "faults") {
				faults = append(faults, circuittest.DrawFault(t, c))
			}
			want, wantErr := checker.Run(m.ID, faults)
			got, err := s.Run(faults)
			if (err != nil) != (wantErr != nil) {
				t.Fatalf("mode %s, %v: %v, want %v", m.Name, faults, err, wantErr)
			}
			if err != nil {
				continue
			}
			if where := unlike(c, want, got); where != "" {
				t.Fatalf("mode %s, %v, fell back %v: %s", m.Name, faults, got.FellBack, where)
			}
		}
	}
}

// singles lists one fault of every kind that can befall each branch.
func singles(c *circuit.Circuit) []circuit.Fault {
	var out []circuit.Fault
	for i := range c.Branches() {
		id := circuit.BranchID(i)
		for _, f := range []circuit.Fault{
			{Kind: circuit.Open, Branch: id}, {Kind: circuit.Welded, Branch: id}, {Kind: circuit.Short, Branch: id},
			{Kind: circuit.HighResistance, Branch: id, Ohms: 4}, {Kind: circuit.Drifted, Branch: id, Factor: 1.5},
			{Kind: circuit.Grounded, Branch: id, At: 0.5}, {Kind: circuit.Seized, Branch: id},
		} {
			if c.CanFail(f) {
				out = append(out, f)
			}
		}
	}
	return out
}

// Every single fault of the shipped machines settles as the engine settles it, in
// the nightly run in every mode, and nearly all of them by an update.
func TestShippedMachinesAreSweptByUpdates(t *testing.T) {
	for i, entry := range netlists.Machines() {
		if testing.Short() && entry.Name != "range-electronic" {
			continue
		}
		t.Run(entry.Name, func(t *testing.T) {
			c, err := netlists.Open(entry.Name)
			if err != nil {
				t.Fatal(err)
			}
			e, checker := settle.New(c), settle.New(c)
			net, faults := phasor.NewNetwork(c), singles(c)
			runs, why := 0, map[settle.Reason]int{}
			for _, m := range c.Modes() {
				if !circuittest.Sampled(i+int(m.ID), 4) || testing.Short() && m.ID%3 != 1 {
					continue
				}
				s, err := settle.NewSweepOn(e, net, m.ID)
				if err != nil {
					t.Fatal(err)
				}
				for _, f := range faults {
					want, err := checker.Run(m.ID, []circuit.Fault{f})
					if err != nil {
						t.Fatal(err)
					}
					got, err := s.Run([]circuit.Fault{f})
					if err != nil {
						t.Fatal(err)
					}
					if where := unlike(c, want, got); where != "" {
						t.Fatalf("%s, %s: %s", m.Name, c.Describe(f), where)
					}
				}
				runs += s.Stats.Runs
				for r, n := range s.Stats.FellBack {
					why[r] += n
				}
			}
			back := 0
			for _, n := range why {
				back += n
			}
			t.Logf("%d faults, %d runs, %d by the engine: %v", len(faults), runs, back, why)
			if share := float64(back) / float64(runs); share > 0.05 || math.IsNaN(share) {
				t.Errorf("%.1f %% of the runs fell back: %v", 100*share, why)
			}
		})
	}
}
