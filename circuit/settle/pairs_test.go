package settle_test

import (
	"context"
	"fmt"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/phasor"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// pairDiffers says where a pair out of tables is not as the engine settles it;
// "" if nowhere. Of a machine that chatters only what is said of one counts.
func pairDiffers(c *circuit.Circuit, want *settle.Outcome, got *settle.PairOutcome) string {
	if (want.Chatter != nil) != (got.Chatter() != nil) {
		return fmt.Sprintf("chatters: %v, want %v", got.Chatter() != nil, want.Chatter != nil)
	}
	if diff := cmp.Diff(want.Tripped, got.Tripped()); diff != "" {
		return "tripped: " + diff
	}
	for _, id := range c.Loads() {
		v, w := complex(want.LeastShare(id), want.MostShare(id)), complex(got.LeastShare(id), got.MostShare(id))
		if !near(v, w) {
			return fmt.Sprintf("%s takes %v, want %v", c.Branch(id).Ref, w, v)
		}
		if want.Hums(id) != got.Hums(id) {
			return fmt.Sprintf("%s hums: %v, want %v", c.Branch(id).Ref, got.Hums(id), want.Hums(id))
		}
	}
	if want.Chatter != nil {
		if diff := cmp.Diff(want.Chatter.Contacts, got.Chatter().Contacts); diff != "" {
			return "chattering: " + diff
		}
		return ""
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if want.Acting[i] != got.Acting(b.ID) || want.Conducts[i] != got.Conducts(b.ID) {
			return fmt.Sprintf("%s acts %v and conducts %v, want %v and %v", b.Ref, got.Acting(b.ID), got.Conducts(b.ID), want.Acting[i], want.Conducts[i])
		}
	}
	// Exact to 1e-9 of the supply's voltage.
	near := func(a, b complex128) bool { return cmplx.Abs(a-b) <= 1e-9*c.Supply().Volts }
	neutral := c.Branch(c.Supply().Neutral).B
	terminals := c.Terminals()
	for i := range terminals {
		a := terminals[i].ID
		if want.AnyState.Floating[a] != got.Floating(a) || !got.Floating(a) && !near(got.Volts(a), want.AnyState.Volts[a]) {
			return fmt.Sprintf("%s stands at %v, floats %v; want %v %v", terminals[i].Ref, got.Volts(a), got.Floating(a), want.AnyState.Volts[a], want.AnyState.Floating[a])
		}
		for _, b := range []circuit.TerminalID{neutral, terminals[(i*7+3)%len(terminals)].ID, terminals[(i*31+11)%len(terminals)].ID} {
			v, ok := want.AnyState.Between(a, b)
			w, also := got.Between(a, b)
			if ok != also || !near(v, w) {
				return fmt.Sprintf("from %s to %s %v %v, want %v %v", terminals[i].Ref, c.Terminal(b).Ref, w, also, v, ok)
			}
		}
	}
	return ""
}

// Pairs drawn of every shipped machine, and every single fault, out of tables
// as the engine settles them.
func TestPairsSettleAsTheEngineSettlesThem(t *testing.T) {
	draws := 2000
	if circuittest.Nightly {
		draws = 10000
	} else if testing.Short() {
		draws = 600
	}
	for _, entry := range netlists.Machines() {
		if testing.Short() && !slices.Contains([]string{"range-electronic", "range-mechanical", "dryer-electric"}, entry.Name) {
			continue
		}
		t.Run(entry.Name, func(t *testing.T) {
			c, err := netlists.Open(entry.Name)
			if err != nil {
				t.Fatal(err)
			}
			checkPairs(t, c, draws)
		})
	}
}

func checkPairs(t *testing.T, c *circuit.Circuit, draws int) {
	checker, faults := settle.New(c), singles(c)
	tables := settle.NewPairTables(settle.New(c), phasor.NewNetwork(c), faults)
	var sum settle.PairStats
	engine := 0
	r := rand.New(rand.NewPCG(1, 2))
	for _, m := range c.Modes() {
		pairs, err := tables.Mode(context.Background(), m.ID)
		if err != nil {
			t.Fatal(err)
		}
		sum.AsOne, sum.Both, sum.Swept, sum.States = sum.AsOne+pairs.Stats.AsOne, sum.Both+pairs.Stats.Both, sum.Swept+pairs.Stats.Swept, sum.States+pairs.Stats.States
		check := func(i, j int) {
			pair := []circuit.Fault{faults[min(i, j)], faults[max(i, j)]}
			if i == j {
				pair = pair[:1]
			}
			want, err := checker.Run(m.ID, pair)
			if err != nil {
				t.Fatal(err)
			}
			got, err := pairs.Outcome(i, j)
			if err != nil {
				t.Fatal(err)
			}
			if got.FellBack() {
				engine++
			}
			if where := pairDiffers(c, want, got); where != "" {
				t.Errorf("%s, %s and %s: %s", m.Name, c.Describe(pair[0]), c.Describe(pair[len(pair)-1]), where)
			}
		}
		for i := range faults {
			if t.Failed() {
				return
			}
			check(i, i)
		}
		for range draws / len(c.Modes()) {
			if t.Failed() {
				return
			}
			check(r.IntN(len(faults)), r.IntN(len(faults)))
		}
	}
	all := sum.AsOne + sum.Both + sum.Swept
	t.Logf("%d faults, %d pairs: %.2f %% as one alone, %.2f %% by both, %.2f %% swept; %d states, %d tables; %d of those asked by the engine",
		len(faults), all, 100*float64(sum.AsOne)/float64(all), 100*float64(sum.Both)/float64(all), 100*float64(sum.Swept)/float64(all), sum.States, tables.Tables(), engine)
}

// So do all pairs of faults drawn of random machines, in every mode, shorted
// supplies, chatter and floating parts included.
func TestPairsOfRandomMachines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := randomMachine(t)
		var faults []circuit.Fault
		for range rapid.IntRange(1, 8).Draw(t, "faults") {
			faults = append(faults, circuittest.DrawFault(t, c))
		}
		checker := settle.New(c)
		tables := settle.NewPairTables(settle.New(c), phasor.NewNetwork(c), faults)
		for _, m := range c.Modes() {
			pairs, err := tables.Mode(context.Background(), m.ID)
			if err != nil {
				t.Fatal(err)
			}
			for j := range faults {
				for i := range j + 1 {
					pair := []circuit.Fault{faults[i], faults[j]}
					if i == j {
						pair = pair[:1]
					}
					want, wantErr := checker.Run(m.ID, pair)
					got, err := pairs.Outcome(i, j)
					if (err != nil) != (wantErr != nil) {
						t.Fatalf("%s, %v: %v, want %v", m.Name, pair, err, wantErr)
					}
					if err != nil {
						continue
					}
					if where := pairDiffers(c, want, got); where != "" {
						t.Fatalf("%s, %s and %s, tabled %v: %s", m.Name, c.Describe(pair[0]), c.Describe(pair[len(pair)-1]), got.Tabled(), where)
					}
				}
			}
		}
	})
}
