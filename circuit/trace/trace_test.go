package trace_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/trace"
	"legtrace/netlists"
)

func starve(t *testing.T, m benchMachine, opt trace.Options) []trace.CutSet {
	t.Helper()
	sets, err := trace.New(m.c).Starve(context.Background(), m.mode, m.load, opt)
	if err != nil {
		t.Fatal(err)
	}
	return sets
}

// partsOnly keeps the sets made of part branches, not of wires and supply.
func partsOnly(sets []string) []string {
	out := []string{}
	for _, s := range sets {
		wires := false
		for _, ref := range strings.Split(s, " + ") {
			wires = wires || strings.HasPrefix(ref, "w") || strings.HasPrefix(ref, "supply.")
		}
		if !wires {
			out = append(out, s)
		}
	}
	return out
}

// The five-component bridge network of R. Billinton and R. N. Allan, Reliability
// Evaluation of Engineering Systems, 2nd edition (1992), chapter 5 (from memory):
// minimal cut sets {1,2} {4,5} {1,3,5} {2,3,4}.
func TestBridgeNetwork(t *testing.T) {
	m := circuittest.SplitPhase(240).Load("element", "load", 240, 2400)
	for _, name := range []string{"c1", "c2", "c3", "c4", "c5"} {
		m.Part(circuit.PartSpec{Name: name, Kind: "limit"})
	}
	m.Series("supply.L1", "c1", "c4", "load", "supply.L2")
	m.Series("supply.L1", "c2", "c5", "load.1")
	m.Series("c1.2", "c3", "c2.2")
	c := m.Build(t)
	sets := starve(t, pick(t, "bridge", c, "on", "load"), trace.Options{Order: 3})
	want := []string{"c1 + c2", "c1 + c3 + c5", "c2 + c3 + c4", "c4 + c5", "load"}
	if diff := cmp.Diff(want, partsOnly(expand(c, sets))); diff != "" {
		t.Errorf("minimal cut sets:\n%s", diff)
	}
}

// Minimal cuts between opposite corners of a ladder of n rungs number n^2
// (derived by trying every two-colouring).
func TestLadderCuts(t *testing.T) {
	for _, n := range []int{2, 3, 4} {
		c := circuittest.Build(t, circuittest.Ladder(n))
		sets := starve(t, pick(t, "ladder", c, "on", circuittest.MainLoad), trace.Options{Order: 4})
		count := 0
		for _, s := range expand(c, sets) {
			limits := true
			for _, ref := range strings.Split(s, " + ") {
				limits = limits && (strings.HasPrefix(ref, "across") || strings.HasPrefix(ref, "down"))
			}
			if limits {
				count++
			}
		}
		if count != n*n {
			t.Errorf("ladder of %d rungs: %d minimal cuts among its rungs and rails, expected %d", n, count, n*n)
		}
	}
}

// The relay-and-pump control circuit of the pressure tank example, NUREG-0492
// "Fault Tree Handbook" (1981), chapter VIII (circuit and sets from memory):
// the pump that will not stop has the minimal cut sets {K2}, {S, S1}, {S, K1},
// {S, R}; the tank's own failure is no part of the circuit.
func TestPumpThatWillNotStop(t *testing.T) {
	c, err := netlists.ReadFile("../../testdata/published/pressure-tank.toml")
	if err != nil {
		t.Fatal(err)
	}
	m := pick(t, "tank", c, "full", "pump")
	sets, err := trace.New(c).KeepOn(context.Background(), m.mode, m.load, trace.Options{Order: 2})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range sets {
		var parts []string
		for _, f := range s.Faults {
			if f.Kind != circuit.Welded {
				parts = nil
				break // a short or a ground is not among the handbook's failures
			}
			parts = append(parts, c.Part(c.Branch(f.Branch).Part).Name)
		}
		if parts != nil {
			sort.Strings(parts)
			got = append(got, strings.Join(parts, " + "))
		}
		if !s.Confirmed || s.Share < 0.9 {
			t.Errorf("%v: confirmed %v, share %.2f", parts, s.Confirmed, s.Share)
		}
	}
	sort.Strings(got)
	if diff := cmp.Diff([]string{"K1 + S", "K2", "R + S", "S + S1"}, got); diff != "" {
		t.Errorf("minimal sets that keep the pump on:\n%s", diff)
	}
}

// Common practice, no source: the five classic causes of a cold broiler.
func TestFiveClassicCausesOfAColdBroiler(t *testing.T) {
	m := demo(t)
	broil := expand(m.c, starve(t, m, trace.Options{Order: 1}))
	bake := expand(m.c, starve(t, pick(t, "demo", m.c, "bake", "bake_element"), trace.Options{Order: 1}))
	for _, cause := range []struct {
		what, ref string
		bakes     bool
	}{
		{"leg L1 lost", "supply.L1", false},
		{"leg L2 lost", "supply.L2", false},
		{"broil element open", "broil_element", true},
		{"oven sensor open", "oven_sensor", false},
		{"thermal fuse blown", "thermal_fuse", false},
		{"broil relay contact open", "broil_relay.contact", true},
		{"broil relay coil open", "broil_relay.coil", true},
	} {
		if !slices.Contains(broil, cause.ref) {
			t.Errorf("%s (%s) is not among the broiler's single points of failure", cause.what, cause.ref)
		}
		if bakes := !slices.Contains(bake, cause.ref); bakes != cause.bakes {
			t.Errorf("%s: bake works %v, expected %v", cause.what, bakes, cause.bakes)
		}
	}
}

func TestTwoTabsFeedTheBroilRelay(t *testing.T) {
	m := demo(t)
	var pairs []string
	for _, s := range expand(m.c, starve(t, m, trace.Options{Order: 2})) {
		if strings.Contains(s, " + ") {
			pairs = append(pairs, s)
		}
	}
	if diff := cmp.Diff([]string{"link + w13", "w12 + w13"}, pairs); diff != "" {
		t.Errorf("pairs of opens:\n%s", diff)
	}
}

// Two 120 V lamps share a neutral, one on each leg. With the neutral open they
// are in series across 240 V: the 40 W lamp (360 ohms) gets 171.4 V and more
// than its watts, so only a pair of opens darkens it there.
func TestLostNeutralAloneDoesNotDarkenTheSmallLamp(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Load("lamp", "small", 120, 40).Load("lamp", "large", 120, 100).
		Part(circuit.PartSpec{Name: "neutral", Kind: "fuse"}).
		Series("supply.L1", "small", "neutral", "supply.N").
		Series("supply.L2", "large", "neutral.1").Build(t)
	sets := expand(c, starve(t, pick(t, "lamps", c, "on", "small"), trace.Options{Order: 2}))
	want := []string{"large + neutral", "small"}
	if diff := cmp.Diff(want, partsOnly(sets)); diff != "" {
		t.Errorf("small lamp:\n%s", diff)
	}
	// The large lamp (144 ohms) gets 68.6 V, (144/504*2)^2 = 32.7 % of its watts.
	for _, s := range starve(t, pick(t, "lamps", c, "on", "large"), trace.Options{Order: 1}) {
		for _, b := range s.Members[0].Branches {
			if c.Branch(b).Ref == "neutral" && (s.Dead || math.Abs(s.Share-0.3265) > 0.001) {
				t.Errorf("neutral lost: large lamp dead %v, share %.4f, expected 0.3265 of its watts", s.Dead, s.Share)
			}
		}
	}
}

// A relay that holds a second relay off: its coil opening lets the second pull
// in and break the load. An open upstream of both does not.
func TestOpenThatClosesAContactElsewhere(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Load("element", "load", 240, 2400).
		Relay("first", "nc", 120, 3).Relay("second", "nc", 120, 3).
		Series("supply.L1", "second:com>nc", "load", "supply.L2").
		Series("supply.L1", "first:A1>A2", "supply.N").
		Series("supply.L1", "first:com>nc", "second:A1>A2", "supply.N").Build(t)
	sets := partsOnly(expand(c, starve(t, pick(t, "", c, "on", "load"), trace.Options{Order: 2})))
	want := []string{"first.coil", "load", "second.contact"}
	if diff := cmp.Diff(want, sets); diff != "" {
		t.Errorf("singles and pairs:\n%s", diff)
	}
}

// A relay that holds a second, idle relay's feed open: once the first drops, the
// second pulls in and ties the legs together, though nothing on the load's own
// feed has opened. Taken from a machine drawn at random.
func TestOpenElsewhereThatShortsTheSupply(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Load("element", "load", 240, 2400).
		Relay("first", "nc", 120, 3).Relay("second", "no", 240, 3).
		Series("supply.L1", "load", "supply.L2").
		Series("supply.L1", "first:A1>A2", "supply.N").
		Series("supply.L1", "first:com>nc", "second:A1>A2", "supply.L2").
		Series("first.nc", "second:com>no", "supply.L2").Build(t)
	sets := partsOnly(expand(c, starve(t, pick(t, "", c, "on", "load"), trace.Options{Order: 2})))
	want := []string{"first.coil", "load"}
	if diff := cmp.Diff(want, sets); diff != "" {
		t.Errorf("singles and pairs:\n%s", diff)
	}
}

// One leg is switched, the other goes straight to the element: a grounded
// element heats with the control off.
func TestGroundedElementHeatsWithOneLegUnswitched(t *testing.T) {
	c := circuittest.SplitPhase(240).
		Load("element", "load", 240, 2400).Switch("control").
		Series("supply.L1", "control", "load", "supply.L2").
		Wire("supply.G", circuit.ChassisName).
		Mode("off").Build(t)
	m := pick(t, "", c, "off", "load")
	sets, err := trace.New(c).KeepOn(context.Background(), m.mode, m.load, trace.Options{Order: 1})
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]float64{}
	for _, s := range sets {
		got[c.FaultRef(s.Faults[0])] = math.Round(s.Watts)
	}
	// 24 ohms; grounded in its middle, 12 ohms across 120 V take 1,200 W.
	if diff := cmp.Diff(map[string]float64{"control:welded": 2400, "load:grounded": 1200}, got); diff != "" {
		t.Errorf("what keeps it on:\n%s", diff)
	}
}

func TestFeedOfTheBroilElementFromBothLegs(t *testing.T) {
	m := demo(t)
	tracer := trace.New(m.c)
	out := settled(t, tracer.Engine(), m.mode, nil)
	f := tracer.Feed(out, m.load)
	var ways []string
	for _, e := range f.Ends {
		var refs []string
		for _, hop := range e.Hops {
			refs = append(refs, m.c.Branch(hop.Branch).Ref)
		}
		ways = append(ways, strings.Join(refs, " "))
	}
	want := []string{
		"supply.L1 w01 breaker.L1 w03 cord.L1 w07 terminal_block.L1 w11 thermal_fuse w13 broil_relay.contact w15",
		"supply.L2 w02 breaker.L2 w04 cord.L2 w08 terminal_block.L2 w16 oven_limit w17 dlb_relay.contact w19",
	}
	if diff := cmp.Diff(want, ways); diff != "" {
		t.Errorf("ways to the broil element:\n%s", diff)
	}
	if len(f.Holds) != 2 || f.Holds[0].Control == nil || len(f.Holds[0].Senses) != 1 || !f.Holds[0].Senses[0].OK {
		t.Errorf("holds of the two relays: %+v", f.Holds)
	}
	if off := tracer.Feed(settled(t, tracer.Engine(), mustMode(t, m.c, "off"), nil), m.load); off.Fed() || len(off.Ends[0].Missing) != 1 || len(off.Ends[1].Missing) != 1 {
		t.Errorf("in Off the element should lack one contact on each leg: %+v", off.Ends)
	}
}

func mustMode(t *testing.T, c *circuit.Circuit, name string) circuit.ModeID {
	t.Helper()
	id, err := c.FindMode(name)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// Opens of generated machines, tried one by one and pair by pair.
func TestGeneratedMachinesAgreeWithEveryOpenTried(t *testing.T) {
	for _, parts := range []int{12, 20, 28} {
		for seed := uint64(1); seed <= 4; seed++ {
			c := circuittest.Build(t, circuittest.SeriesParallel(parts, seed))
			m := pick(t, "", c, "on", circuittest.MainLoad)
			want := bruteStarve(t, c, m.mode, m.load, 2)
			got := expand(c, starve(t, m, trace.Options{Order: 2}))
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("%d parts, seed %d: tried (-), searched (+):\n%s", parts, seed, diff)
			}
		}
	}
}

// On random networks the smallest cut set has the size of the maximum flow
// with unit capacities (Ford and Fulkerson, "Maximal flow through a network",
// Canadian Journal of Mathematics 8, 1956), here by augmenting paths.
func TestSmallestCutSetHasTheSizeOfTheMaximumFlow(t *testing.T) {
	for rows := 2; rows <= 3; rows++ {
		for columns := 2; columns <= 4; columns++ {
			c := circuittest.Build(t, circuittest.Grid(rows, columns))
			m := pick(t, "", c, "on", circuittest.MainLoad)
			smallest := 0
			for _, s := range starve(t, m, trace.Options{Order: 4}) {
				grid := true
				for _, member := range s.Members {
					ref := c.Branch(member.Branches[0]).Ref
					for _, b := range member.Branches {
						if r := c.Branch(b).Ref; strings.HasPrefix(r, "across") || strings.HasPrefix(r, "down") {
							ref = r
						}
					}
					grid = grid && (strings.HasPrefix(ref, "across") || strings.HasPrefix(ref, "down"))
				}
				if grid && (smallest == 0 || s.Order() < smallest) {
					smallest = s.Order()
				}
			}
			if want := gridFlow(rows, columns); smallest != want {
				t.Errorf("%d by %d: smallest cut set %d, maximum flow %d", rows, columns, smallest, want)
			}
		}
	}
}

// gridFlow is the maximum flow, with unit capacities, between opposite corners.
func gridFlow(rows, columns int) int {
	n := rows * columns
	capacity := make([][]int, n)
	for i := range capacity {
		capacity[i] = make([]int, n)
	}
	join := func(a, b int) { capacity[a][b], capacity[b][a] = 1, 1 }
	for r := range rows {
		for c := range columns {
			if c+1 < columns {
				join(r*columns+c, r*columns+c+1)
			}
			if r+1 < rows {
				join(r*columns+c, (r+1)*columns+c)
			}
		}
	}
	flow := 0
	for {
		from := make([]int, n)
		for i := range from {
			from[i] = -1
		}
		from[0] = 0
		queue := []int{0}
		for len(queue) > 0 {
			v := queue[0]
			queue = queue[1:]
			for w := range n {
				if from[w] < 0 && capacity[v][w] > 0 {
					from[w] = v
					queue = append(queue, w)
				}
			}
		}
		if from[n-1] < 0 {
			return flow
		}
		for w := n - 1; w != 0; w = from[w] {
			capacity[from[w]][w]--
			capacity[w][from[w]]++
		}
		flow++
	}
}

func TestBadQuestions(t *testing.T) {
	m := demo(t)
	tracer := trace.New(m.c)
	ctx := context.Background()
	if _, err := tracer.Starve(ctx, mustMode(t, m.c, "off"), m.load, trace.Options{}); !errors.Is(err, trace.ErrNotEnergised) {
		t.Errorf("starving a load that is off: %v", err)
	}
	if _, err := tracer.KeepOn(ctx, m.mode, m.load, trace.Options{}); !errors.Is(err, trace.ErrEnergised) {
		t.Errorf("keeping on a load that is on: %v", err)
	}
	for _, opt := range []trace.Options{{Order: -1}, {Order: trace.MaxOrder + 1}, {Share: 1}, {Share: -0.1}, {Share: math.NaN()}} {
		if _, err := tracer.Starve(ctx, m.mode, m.load, opt); err == nil {
			t.Errorf("options %+v were taken", opt)
		}
	}
	stopped, cancel := context.WithCancel(ctx)
	cancel()
	big := generated(t, 1000)
	if _, err := trace.New(big.c).Starve(stopped, big.mode, big.load, trace.Options{Order: 3}); !errors.Is(err, context.Canceled) {
		t.Errorf("a cancelled search: %v", err)
	}
	if sets, err := trace.New(big.c).Starve(ctx, big.mode, big.load, trace.Options{Order: 3, MaxSets: 20}); !errors.Is(err, trace.ErrTooMany) {
		t.Errorf("a capped search: %d sets, %v", len(sets), err)
	}
}
