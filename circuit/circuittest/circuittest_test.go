package circuittest

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/settle"
)

func TestRandomMachinesAreAccepted(t *testing.T) {
	for _, opts := range []Options{{}, {Wild: true}, {MaxBreakable: 14}} {
		t.Run(fmt.Sprintf("%+v", opts), rapid.MakeCheck(func(t *rapid.T) {
			spec := Random(t, opts)
			c, problems := circuit.Build(spec)
			if c == nil {
				t.Fatalf("refused: %v", problems)
			}
			breakable := 0
			for _, b := range c.Branches() {
				if b.Wire == circuit.None && b.Role != circuit.Source {
					breakable++
				}
			}
			if most := max(opts.MaxBreakable, 30); opts.MaxBreakable > 0 && breakable > opts.MaxBreakable || breakable > most {
				t.Fatalf("%d breakable branches", breakable)
			}
		}))
	}
}

func TestSeriesParallelHeatsOnlyWhenOn(t *testing.T) {
	for _, n := range []int{20, 100, 1000} {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			c := Build(t, SeriesParallel(n, 1))
			if got := len(c.Parts()); got < n*9/10 || got > n*11/10+2 {
				t.Errorf("%d parts, want about %d", got, n)
			}
			heats := map[string]bool{}
			e := settle.New(c)
			load, err := c.FindLoad(MainLoad)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range c.Modes() {
				o, err := e.Run(m.ID, nil)
				if err != nil {
					t.Fatal(err)
				}
				heats[m.Name] = o.LeastShare(load) > 0.9
			}
			if diff := cmp.Diff(map[string]bool{"off": false, "on": true}, heats); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestGeneratedMachinesRepeat(t *testing.T) {
	if diff := cmp.Diff(SeriesParallel(100, 7), SeriesParallel(100, 7)); diff != "" {
		t.Error(diff)
	}
	if cmp.Equal(SeriesParallel(100, 7), SeriesParallel(100, 8)) {
		t.Error("another seed made the same machine")
	}
}

func TestGridIsFedCornerToCorner(t *testing.T) {
	c := Build(t, Measured(Grid(3, 4), 14, 0.5))
	o, err := settle.New(c).Run(0, nil)
	if err != nil {
		t.Fatal(err)
	}
	load, _ := c.FindLoad(MainLoad)
	if share := o.LeastShare(load); share < 0.98 || share > 1 {
		t.Errorf("the load takes %.3f of its power", share)
	}
}
