package trace_test

import (
	"context"
	"errors"
	"fmt"
	"math/big"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/trace"
)

func counts(t failer, m benchMachine) []string {
	t.Helper()
	sizes, err := trace.New(m.c).Count(context.Background(), m.mode, m.load)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, n := range sizes {
		out = append(out, n.String())
	}
	return out
}

// Between opposite corners of a ladder of n meshes a minimal cut opens one
// stretch of either rail and the rungs between: n squared, and the feeds from the
// legs besides.
func TestALadderHasNSquaredMinimalCutSets(t *testing.T) {
	for _, n := range []int{1, 2, 3, 10, 30, 100} {
		m := pick(t, "ladder", circuittest.Build(t, circuittest.Ladder(n+1)), "on", circuittest.MainLoad)
		sum := new(big.Int)
		sizes, err := trace.New(m.c).Count(context.Background(), m.mode, m.load)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range sizes[2:] {
			sum.Add(sum, c)
		}
		if want := big.NewInt(int64(n * n)); sum.Cmp(want) != 0 {
			t.Errorf("%d meshes: %s sets of more than one, want %s; by size %v", n, sum, want, sizes)
		}
	}
}

// Of random machines of series and parallel parts, and grids, what is counted is what the
// graph's search lists.
func TestWhatIsCountedIsWhatIsListed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := circuittest.SeriesParallel(rapid.IntRange(5, 40).Draw(t, "parts"), uint64(rapid.IntRange(1, 500).Draw(t, "seed")))
		if rapid.Bool().Draw(t, "grid") {
			spec = circuittest.Grid(rapid.IntRange(2, 4).Draw(t, "rows"), rapid.IntRange(2, 5).Draw(t, "columns"))
		}
		c, problems := circuit.Build(spec)
		if c == nil {
			t.Fatalf("refused: %v", problems)
		}
		on, err := c.FindMode("on")
		if err != nil {
			t.Fatal(err)
		}
		load, _ := c.FindLoad(circuittest.MainLoad)
		tracer := trace.New(c)
		got, err := tracer.Count(context.Background(), on, load)
		if errors.Is(err, trace.ErrNotCounted) {
			t.Skip()
		}
		if err != nil {
			t.Fatal(err)
		}
		sets, err := tracer.Starve(context.Background(), on, load, trace.Options{Order: trace.MaxOrder, Unconfirmed: true, MaxSets: 1 << 20})
		if err != nil {
			t.Fatal(err)
		}
		want, have := map[int]string{}, map[int]string{}
		listed := map[int]int{}
		for _, s := range sets {
			listed[s.Order()]++
		}
		for order := 1; order <= trace.MaxOrder; order++ {
			want[order], have[order] = fmt.Sprint(listed[order]), "0"
			if order < len(got) {
				have[order] = got[order].String()
			}
		}
		if diff := cmp.Diff(want, have); diff != "" {
			t.Fatal(diff)
		}
	})
}

// BenchmarkCount counts all minimal sets of ladders, whatever their order.
func BenchmarkCount(b *testing.B) {
	for _, n := range []int{10, 30, 100} {
		m := pick(b, "ladder", circuittest.Build(b, circuittest.Ladder(n)), "on", circuittest.MainLoad)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				counts(b, m)
			}
		})
	}
}
