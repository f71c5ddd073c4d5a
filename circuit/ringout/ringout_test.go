package ringout_test

import (
	"errors"
	"fmt"
	"math"
	"math/big"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/ringout"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// harness answers checks from a machine with its loads unplugged.
type harness struct {
	pins      []string
	positions []string
	group     [][]int // by position and pin
}

func harnessOf(t testing.TB, c *circuit.Circuit, most int) *harness {
	t.Helper()
	h := &harness{}
	index := map[circuit.TerminalID]int{}
	for i := range c.Terminals() {
		term := c.Terminal(circuit.TerminalID(i))
		kind := c.Part(term.Part).Kind
		if kind == circuit.KindSupply || kind == circuit.KindBreaker || len(term.Wires) == 0 {
			continue
		}
		index[term.ID] = len(h.pins)
		h.pins = append(h.pins, term.Ref)
	}
	e := settle.New(c)
	seen := map[string]bool{}
	for m := range c.Modes() {
		var off []circuit.Fault
		for i := range c.Branches() {
			if c.Branch(circuit.BranchID(i)).Role == circuit.Source {
				off = append(off, circuit.Fault{Kind: circuit.Open, Branch: circuit.BranchID(i)})
			}
		}
		o, err := e.Run(circuit.ModeID(m), off)
		if err != nil {
			t.Fatal(err)
		}
		parent := make([]int, len(c.Terminals()))
		for i := range parent {
			parent[i] = i
		}
		root := func(i int) int {
			for parent[i] != i {
				i = parent[i]
			}
			return i
		}
		for i := range c.Branches() {
			b := c.Branch(circuit.BranchID(i))
			if o.Conducts[i] && (b.Role == circuit.Join || b.Role == circuit.Contact) {
				parent[root(int(b.A))] = root(int(b.B))
			}
		}
		groups := make([]int, len(h.pins))
		for id, at := range index {
			groups[at] = root(int(id))
		}
		if key := fmt.Sprint(partition(groups)); !seen[key] && len(h.positions) < most {
			seen[key] = true
			h.positions = append(h.positions, c.Mode(circuit.ModeID(m)).Name)
			h.group = append(h.group, groups)
		}
	}
	return h
}

// partition numbers groups by their first member.
func partition(groups []int) []int {
	first := map[int]int{}
	out := make([]int, len(groups))
	for i, g := range groups {
		if _, ok := first[g]; !ok {
			first[g] = i
		}
		out[i] = first[g]
	}
	return out
}

func (h *harness) answer(f ringout.Finding) ringout.Finding {
	f.Beeps = h.group[f.Position][f.A] == h.group[f.Position][f.B]
	return f
}

// follow rings by the tool's own advice until nothing is open.
func follow(t testing.TB, h *harness) *ringout.Ring {
	t.Helper()
	r, err := ringout.New(h.pins, h.positions)
	if err != nil {
		t.Fatal(err)
	}
	for n := 0; n <= r.AllPairs(); n++ {
		next, ok := r.Next()
		if !ok {
			return r
		}
		if err := r.Add(h.answer(next)); err != nil {
			t.Fatal(err)
		}
	}
	t.Fatal("the advice goes on for ever")
	return nil
}

func TestEveryShippedHarnessIsRecovered(t *testing.T) {
	for _, entry := range netlists.Catalog() {
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		h := harnessOf(t, c, 3)
		r := follow(t, h)
		for p := range h.positions {
			for a := range h.pins {
				for b := range h.pins[:a] {
					joined, known := r.Known(p, a, b)
					if !known || joined != (h.group[p][a] == h.group[p][b]) {
						t.Fatalf("%s: %s and %s in %s: joined %v, known %v", entry.Name, h.pins[a], h.pins[b], h.positions[p], joined, known)
					}
				}
			}
		}
		res := r.Result()
		if !res.Done {
			t.Errorf("%s: not done: %v open", entry.Name, res.Open)
		}
		if float64(r.Checks()) < leastBits(r)*0.999 && len(h.positions) == 1 {
			t.Errorf("%s: %d checks, fewer than the %.0f bits there are", entry.Name, r.Checks(), leastBits(r))
		}
		t.Logf("%s: %d pins, %d positions: %d checks, all pairs %d, least %.0f bits", entry.Name, len(h.pins), len(h.positions), r.Checks(), r.AllPairs(), leastBits(r))
		if r.Checks()*10 > r.AllPairs()*9 {
			t.Errorf("%s: %d checks of %d", entry.Name, r.Checks(), r.AllPairs())
		}
	}
}

// What random findings, in any order, leave known is what every pair tried
// against every partition that agrees with them says: joined or apart in all.
func TestKnownIsWhatAllAgreeingPartitionsSay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 6).Draw(t, "pins")
		truth := rapid.SliceOfN(rapid.IntRange(0, 3), n, n).Draw(t, "truth")
		var pins []string
		for i := range n {
			pins = append(pins, fmt.Sprint("p", i))
		}
		r, err := ringout.New(pins, []string{"rest"})
		if err != nil {
			t.Fatal(err)
		}
		var took []ringout.Finding
		for range rapid.IntRange(0, 8).Draw(t, "checks") {
			a, b := rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b")
			if a == b {
				continue
			}
			f := ringout.Finding{A: a, B: b, Beeps: truth[a] == truth[b]}
			if err := r.Add(f); err != nil {
				t.Fatal(err)
			}
			took = append(took, f)
		}
		can := make([][][2]bool, n)
		for i := range can {
			can[i] = make([][2]bool, n)
		}
		every(n, func(groups []int) {
			for _, f := range took {
				if f.Beeps != (groups[f.A] == groups[f.B]) {
					return
				}
			}
			for a := range n {
				for b := range a {
					which := 0
					if groups[a] == groups[b] {
						which = 1
					}
					can[a][b][which] = true
				}
			}
		})
		for a := range n {
			for b := range a {
				joined, known := r.Known(0, a, b)
				if want := can[a][b][0] != can[a][b][1]; known != want || known && joined != can[a][b][1] {
					t.Fatalf("p%d p%d: joined %v, known %v; partitions allow apart %v, joined %v", a, b, joined, known, can[a][b][0], can[a][b][1])
				}
			}
		}
	})
}

// every calls do with each partition of n things.
func every(n int, do func([]int)) {
	groups := make([]int, n)
	var grow func(i, used int)
	grow = func(i, used int) {
		if i == n {
			do(groups)
			return
		}
		for g := 0; g <= used; g++ {
			groups[i] = g
			grow(i+1, max(used, g+1))
		}
	}
	grow(0, 0)
}

func TestSelectorIsHeardThrough(t *testing.T) {
	r, err := ringout.New([]string{"block.L1", "selector.L1", "selector.B", "element.1"}, []string{"off", "bake"})
	if err != nil {
		t.Fatal(err)
	}
	h := &harness{pins: r.Pins(), positions: r.Positions(), group: [][]int{{0, 0, 1, 1}, {0, 0, 0, 0}}}
	r = follow(t, h)
	if diff := cmp.Diff([][]int{{0, 1}, {2, 3}}, r.Result().Joined); diff != "" {
		t.Errorf("joined in every position:\n%s", diff)
	}
	charts, between := r.Charts()
	if diff := cmp.Diff(map[string]map[string][][]string{"selector": {"bake": {{"L1", "B"}}}}, charts); diff != "" || len(between) > 0 {
		t.Errorf("chart:\n%s%v", diff, between)
	}
	var wires []string
	for _, w := range r.Wires() {
		wires = append(wires, w.From+" - "+w.To)
	}
	sort.Strings(wires)
	if diff := cmp.Diff([]string{"block.L1 - selector.L1", "selector.B - element.1"}, wires); diff != "" {
		t.Errorf("wires:\n%s", diff)
	}
}

func TestFindingsThatContradict(t *testing.T) {
	r, err := ringout.New([]string{"A", "B", "C"}, []string{"rest"})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range []ringout.Finding{{A: 0, B: 1, Beeps: true}, {A: 1, B: 2, Beeps: true}} {
		if err := r.Add(f); err != nil {
			t.Fatal(err)
		}
	}
	err = r.Add(ringout.Finding{A: 0, B: 2})
	if !errors.Is(err, ringout.ErrContradiction) || !strings.Contains(err.Error(), "A and C are silent in rest") || !strings.Contains(err.Error(), "beep") {
		t.Errorf("A-B, B-C beep and A-C is silent: %v", err)
	}
	if joined, known := r.Known(0, 0, 2); !joined || !known {
		t.Error("what was known before is lost")
	}
	for _, bad := range []ringout.Finding{{Position: 1}, {A: 3}, {A: -1, B: 1}, {A: 1, B: 1}} {
		if r.Add(bad) == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
}

// leastBits is the information in bits that tells one way of joining the pins
// from all others: the logarithm of the number of partitions of a set (Bell's
// numbers, by their triangle), for each position.
func leastBits(r *ringout.Ring) float64 {
	row := []*big.Int{big.NewInt(1)}
	for i := 1; i < len(r.Pins()); i++ {
		next := []*big.Int{row[len(row)-1]}
		for _, v := range row {
			next = append(next, new(big.Int).Add(next[len(next)-1], v))
		}
		row = next
	}
	mantissa := new(big.Float).SetInt(row[len(row)-1])
	exp := mantissa.MantExp(mantissa)
	m, _ := mantissa.Float64()
	return float64(len(r.Positions())) * (float64(exp) + math.Log2(m))
}

// Bell's numbers count the ways to join pins: 1, 2, 5, 15, 52, 203 for one to
// six (OEIS A000110, from memory).
func TestLeastBits(t *testing.T) {
	for n, bell := range map[int]float64{2: 2, 3: 5, 4: 15, 5: 52, 6: 203} {
		var pins []string
		for i := range n {
			pins = append(pins, fmt.Sprint(i))
		}
		r, err := ringout.New(pins, []string{"rest"})
		if err != nil {
			t.Fatal(err)
		}
		if got := math.Exp2(leastBits(r)); math.Abs(got-bell) > 1e-6*bell {
			t.Errorf("%d pins: 2^%.3f = %.3f ways, Bell's number is %g", n, leastBits(r), got, bell)
		}
	}
}
