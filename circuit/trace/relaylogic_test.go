package trace_test

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/trace"
)

// cutsOf lists a fault tree's minimal cut sets up to an order, bottom up and
// by plain sets: the oracle.
func cutsOf(t circuittest.FaultTree, order int) []string {
	var families [][][]int
	for x := range t.Events {
		families = append(families, [][]int{{x}})
	}
	for _, g := range t.Gates {
		out := [][]int{{}}
		if !g.All {
			out = nil
		}
		for _, x := range g.Inputs {
			if !g.All {
				out = append(out, families[x]...)
				continue
			}
			var next [][]int
			for _, a := range out {
				for _, b := range families[x] {
					set := append(slices.Clone(a), b...)
					slices.Sort(set)
					if set = slices.Compact(set); len(set) <= order {
						next = append(next, set)
					}
				}
			}
			out = smallest(next)
		}
		families = append(families, smallest(out))
	}
	out := []string{}
	for _, set := range families[len(families)-1] {
		var names []string
		for _, x := range set {
			names = append(names, fmt.Sprintf("e%d.coil", x))
		}
		sort.Strings(names)
		out = append(out, strings.Join(names, " + "))
	}
	sort.Strings(out)
	return out
}

func smallest(sets [][]int) [][]int {
	slices.SortFunc(sets, func(a, b []int) int {
		if len(a) != len(b) {
			return len(a) - len(b)
		}
		return slices.Compare(a, b)
	})
	var out [][]int
	for _, s := range sets {
		if !slices.ContainsFunc(out, func(have []int) bool {
			return !slices.ContainsFunc(have, func(x int) bool { return !slices.Contains(s, x) })
		}) {
			out = append(out, s)
		}
	}
	return out
}

// eventsOnly keeps the sets made of events' coils.
func eventsOnly(sets []string) []string {
	out := []string{}
	for _, s := range sets {
		names := strings.Split(s, " + ")
		if !slices.ContainsFunc(names, func(n string) bool { return !strings.HasPrefix(n, "e") || !strings.HasSuffix(n, ".coil") }) {
			sort.Strings(names)
			out = append(out, strings.Join(names, " + "))
		}
	}
	sort.Strings(out)
	return out
}

// A fault tree built of relays has the tree's minimal cut sets.
func TestRelayLogicCutsAsItsFaultTree(t *testing.T) {
	for seed := range uint64(20) {
		tree := circuittest.RandomFaultTree(8+int(seed), 5+int(seed)/2, seed)
		c := circuittest.Build(t, tree.RelayLogic())
		for order := 1; order <= 3; order++ {
			sets := starve(t, pick(t, "relays", c, "on", circuittest.MainLoad), trace.Options{Order: order, MaxSets: 1 << 20, Unconfirmed: true})
			if diff := cmp.Diff(cutsOf(tree, order), eventsOnly(expand(c, sets))); diff != "" {
				t.Fatalf("seed %d, order %d: %+v\n%s", seed, order, tree, diff)
			}
		}
	}
}

// The sets of two hundred coils, to four opens at once, are found within 512 MiB,
// all that this process ever took from the system counted.
func TestALargeSearchStaysWithinItsMemory(t *testing.T) {
	c := circuittest.Build(t, circuittest.RandomFaultTree(186, 120, 7).RelayLogic())
	sets := starve(t, pick(t, "relays", c, "on", circuittest.MainLoad), trace.Options{Order: 4, MaxSets: 1 << 20, Unconfirmed: true})
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	if m.Sys > 512<<20 {
		t.Errorf("%d sets took %d MiB", len(sets), m.Sys>>20)
	}
	t.Logf("%d sets, %d MiB", len(sets), m.Sys>>20)
}

// Of thousands of sets of one order the solver is asked of a sample; they are the
// graph's.
func TestASampleOfThousandsOfSetsIsConfirmed(t *testing.T) {
	c := circuittest.Build(t, circuittest.RandomFaultTree(186, 120, 7).RelayLogic())
	m := pick(t, "relays", c, "on", circuittest.MainLoad)
	members := func(sets []trace.CutSet) (out []string) {
		for _, s := range sets {
			out = append(out, fmt.Sprint(s.Members))
		}
		slices.Sort(out)
		return out
	}
	sets := starve(t, m, trace.Options{Order: 3})
	if graph := starve(t, m, trace.Options{Order: 3, Unconfirmed: true}); !slices.Equal(members(graph), members(sets)) {
		t.Errorf("of the graph %d sets, with a sample confirmed %d, or others", len(graph), len(sets))
	}
	asked, of := [4]int{}, [4]int{}
	for _, s := range sets {
		if of[s.Order()]++; s.Confirmed {
			asked[s.Order()]++
		}
	}
	if asked[1] != of[1] || asked[2] != of[2] || asked[3] < 300 || asked[3] == of[3] {
		t.Errorf("of %v sets the solver was asked of %v", of, asked)
	}
}

// Where a load draws what the main load wants through another, no sample stands for
// the rest: with both of its ways from L1 cut a lamp is fed from L2 through a heater, but
// not with L1 lost, which drops the heater's relay.
func TestNoSampleIsTakenOfWhatTheSolverDenies(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("lamp", "load", 120, 25).Load("element", "heater", 240, 5000).Relay("relay", "no", 120, 3)
	m.Series("supply.L1", "relay:A1>A2", "supply.N").Series("supply.N", "load", "heater", "relay:com>no", "supply.L2")
	for _, way := range []string{"a", "b"} {
		steps := []string{"supply.L1"}
		for i := range 90 {
			name := fmt.Sprint(way, i)
			m.Part(circuit.PartSpec{Name: name, Kind: "limit"}).Load("lamp", "pilot_"+name, 120, 0.1)
			steps = append(steps, name)
			m.Series("supply.N", "pilot_"+name, name+".2")
		}
		m.Series(append(steps, "load.2")...)
	}
	c := m.Build(t)
	for _, s := range expand(c, starve(t, pick(t, "lamps", c, "on", "load"), trace.Options{Order: 2})) {
		if strings.HasPrefix(s, "a") && strings.Contains(s, " + b") {
			t.Errorf("%s: it is fed through the heater", s)
		}
	}
}

// BenchmarkRelayLogic is relay logic of the size of published fault trees.
func BenchmarkRelayLogic(b *testing.B) {
	for _, size := range []struct{ events, gates, order int }{{25, 36, 4}, {89, 41, 3}, {103, 145, 2}, {91, 95, 3}, {175, 94, 3}, {186, 120, 4}} {
		tree := circuittest.RandomFaultTree(size.events, size.gates, 7)
		c := circuittest.Build(b, tree.RelayLogic())
		m := pick(b, "relays", c, "on", circuittest.MainLoad)
		b.Run(fmt.Sprintf("%d-%d/order%d", size.events, size.gates, size.order), func(b *testing.B) {
			n := 0
			for range b.N {
				sets, err := trace.New(c).Starve(context.Background(), m.mode, m.load, trace.Options{Order: size.order, Unconfirmed: true, MaxSets: 1 << 20})
				if err != nil {
					b.Fatal(err)
				}
				n = len(sets)
			}
			b.StopTimer()
			b.ReportMetric(float64(n), "sets")
			b.ReportMetric(float64(len(cutsOf(tree, size.order))), "events-only")
		})
		b.Run(fmt.Sprintf("%d-%d/order%d/bottom-up", size.events, size.gates, size.order), func(b *testing.B) {
			for range b.N {
				cutsOf(tree, size.order)
			}
		})
	}
}
