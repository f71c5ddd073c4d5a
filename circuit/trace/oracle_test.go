package trace_test

import (
	"context"
	"errors"
	"fmt"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// failer is what *testing.T and *rapid.T share.
type failer interface {
	Helper()
	Fatal(...any)
}

// bruteStarve settles the machine under every set of opened branches up to an
// order, and keeps those that starve the load while no proper subset does.
func bruteStarve(t failer, c *circuit.Circuit, mode circuit.ModeID, load circuit.BranchID, order int) []string {
	t.Helper()
	e := settle.New(c)
	full := settled(t, e, mode, nil).LeastShare(load)
	starves := func(set []int) bool {
		var faults []circuit.Fault
		for _, b := range set {
			faults = append(faults, circuit.Fault{Kind: circuit.Open, Branch: circuit.BranchID(b)})
		}
		return settled(t, e, mode, faults).LeastShare(load) < trace.DefaultShare*full
	}
	var all []int
	for i := range c.Branches() {
		all = append(all, i)
	}
	return minimalSets(all, order, starves, func(i int) string { return c.Branch(circuit.BranchID(i)).Ref })
}

// minimalSets tries every subset up to an order.
func minimalSets(all []int, order int, does func([]int) bool, name func(int) string) []string {
	verdict := map[string]bool{}
	id := func(set []int) string { return fmt.Sprint(set) }
	var minimal []string
	var grow func(set []int, from, size int)
	grow = func(set []int, from, size int) {
		if len(set) == size {
			v := does(set)
			verdict[id(set)] = v
			if !v {
				return
			}
			for mask := 1; mask < 1<<size-1; mask++ {
				var part []int
				for i, b := range set {
					if mask&(1<<i) != 0 {
						part = append(part, b)
					}
				}
				if verdict[id(part)] {
					return
				}
			}
			var names []string
			for _, b := range set {
				names = append(names, name(b))
			}
			sort.Strings(names)
			minimal = append(minimal, strings.Join(names, " + "))
			return
		}
		for i := from; i < len(all); i++ {
			grow(append(set, all[i]), i+1, size)
		}
	}
	for size := 1; size <= order; size++ {
		grow(make([]int, 0, size), 0, size)
	}
	sort.Strings(minimal)
	return minimal
}

func settled(t failer, e *settle.Engine, mode circuit.ModeID, faults []circuit.Fault) *settle.Outcome {
	t.Helper()
	out, err := e.Run(mode, faults)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// expand writes cut sets out branch by branch, as bruteStarve names them.
func expand(c *circuit.Circuit, sets []trace.CutSet) []string {
	var out []string
	for _, s := range sets {
		combos := [][]string{{}}
		for _, m := range s.Members {
			var more [][]string
			for _, combo := range combos {
				for _, b := range m.Branches {
					more = append(more, append(append([]string{}, combo...), c.Branch(b).Ref))
				}
			}
			combos = more
		}
		for _, combo := range combos {
			sort.Strings(combo)
			out = append(out, strings.Join(combo, " + "))
		}
	}
	sort.Strings(out)
	return out
}

func describeSpec(s circuit.Spec) string {
	var b strings.Builder
	for _, p := range s.Parts {
		fmt.Fprintf(&b, "%+v\n", p)
	}
	for _, w := range s.Wires {
		fmt.Fprintf(&b, "%s - %s\n", w.From, w.To)
	}
	fmt.Fprintf(&b, "%+v\n", s.Modes)
	return b.String()
}

func checkStarve(t *rapid.T, opts circuittest.Options, modes []string, order int) {
	spec := circuittest.Random(t, opts)
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	tracer := trace.New(c)
	load, err := c.FindLoad(circuittest.MainLoad)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range modes {
		mode, err := c.FindMode(name)
		if err != nil {
			t.Fatal(err)
		}
		sets, err := tracer.Starve(context.Background(), mode, load, trace.Options{Order: order})
		if errors.Is(err, trace.ErrNotEnergised) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range sets {
			if !s.Confirmed {
				t.Fatalf("%v is not confirmed", s)
			}
		}
		want := bruteStarve(t, c, mode, load, order)
		if diff := cmp.Diff(want, expand(c, sets)); diff != "" {
			t.Fatalf("mode %s: every subset tried (-) against the search (+):\n%s\n%s", name, diff, describeSpec(spec))
		}
	}
}

func TestCutSetsAgreeWithEverySubsetTried(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkStarve(t, circuittest.Options{MaxBreakable: 14}, []string{"on", "later"}, 2)
	})
}

func TestCutSetsOfThreeAgreeWithEverySubsetTried(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkStarve(t, circuittest.Options{MaxBreakable: 8}, []string{"on"}, 3)
	})
}

func TestCutSetsOfWildMachinesAgreeWithEverySubsetTried(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkStarve(t, circuittest.Options{MaxBreakable: 12, Wild: true}, []string{"on"}, 2)
	})
}

// bruteKeepOn tries every set of welds, shorts and grounds up to an order, no
// two of them on one branch.
func bruteKeepOn(t failer, c *circuit.Circuit, mode circuit.ModeID, load circuit.BranchID, order int) []string {
	t.Helper()
	e := settle.New(c)
	var faults []circuit.Fault
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		switch {
		case b.Role == circuit.Contact:
			faults = append(faults, circuit.Fault{Kind: circuit.Welded, Branch: b.ID})
		case b.Role == circuit.Load && b.Sensor == nil:
			for _, f := range []circuit.Fault{{Kind: circuit.Short, Branch: b.ID}, {Kind: circuit.Grounded, Branch: b.ID, At: 0.5}} {
				if c.CanFail(f) {
					faults = append(faults, f)
				}
			}
		}
	}
	var all []int
	for i := range faults {
		all = append(all, i)
	}
	keepsOn := func(set []int) bool {
		var chosen []circuit.Fault
		branches := map[circuit.BranchID]bool{}
		for _, i := range set {
			if branches[faults[i].Branch] {
				return false
			}
			branches[faults[i].Branch] = true
			chosen = append(chosen, faults[i])
		}
		return settled(t, e, mode, chosen).MostShare(load) >= trace.DefaultOnShare
	}
	return minimalSets(all, order, keepsOn, func(i int) string { return c.FaultRef(faults[i]) })
}

func checkKeepOn(t *rapid.T, opts circuittest.Options, modes []string, order int) {
	spec := circuittest.Random(t, opts)
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	load, err := c.FindLoad(circuittest.MainLoad)
	if err != nil {
		t.Fatal(err)
	}
	tracer := trace.New(c)
	for _, name := range modes {
		mode, err := c.FindMode(name)
		if err != nil {
			t.Fatal(err)
		}
		sets, err := tracer.KeepOn(context.Background(), mode, load, trace.Options{Order: order})
		if errors.Is(err, trace.ErrEnergised) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		got := []string{}
		for _, s := range sets {
			var names []string
			for _, f := range s.Faults {
				names = append(names, c.FaultRef(f))
			}
			sort.Strings(names)
			got = append(got, strings.Join(names, " + "))
		}
		sort.Strings(got)
		want := append([]string{}, bruteKeepOn(t, c, mode, load, order)...)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("mode %s: every subset tried (-) against the search (+):\n%s\n%s", name, diff, describeSpec(spec))
		}
	}
}

func TestRunawaySetsAgreeWithEverySubsetTried(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkKeepOn(t, circuittest.Options{MaxBreakable: 14}, []string{"off", "on", "later"}, 2)
	})
}

func TestRunawaySetsOfThreeAgreeWithEverySubsetTried(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		checkKeepOn(t, circuittest.Options{MaxBreakable: 9}, []string{"off"}, 3)
	})
}
