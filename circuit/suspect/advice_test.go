package suspect_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// wider draws a hidden fault from more than an engine holds: any size of a bad
// joint, anywhere along an element, a winding that lost or gained any share.
func wider(c *circuit.Circuit, all []circuit.Fault, r *rand.Rand) circuit.Fault {
	f := all[r.IntN(len(all))]
	b := c.Branch(f.Branch)
	switch {
	case f.Kind == circuit.HighResistance:
		f.Ohms = math.Exp(r.Float64() * math.Log(100)) // 1 to 100 ohms
	case f.Kind == circuit.Grounded && b.Role == circuit.Load:
		f.At = 0.02 + 0.96*r.Float64()
	case f.Kind == circuit.Open && b.Role == circuit.Load && c.Part(b.Part).Kind.Heats() && r.IntN(3) == 0:
		f = circuit.Fault{Kind: circuit.Drifted, Branch: b.ID, Factor: 0.3 + 1.2*r.Float64()}
	}
	return f
}

// The same hidden faults are looked for by this advice, by what tells most for its
// minutes at each step, and in the usual order; and by this advice with one reading
// in ten wrong. A part is named where the advice itself would name it, and a wrong
// one costs what it reckons with.
func TestAdviceBesideOthers(t *testing.T) {
	type sum struct {
		named         int
		minutes, live float64
	}
	ways := []struct {
		name  string
		wrong float64
		next  adviser
	}{
		{"this advice", 0, advice},
		{"step by step", 0, func(ctx context.Context, e *suspect.Engine, p *suspect.Progress) ([]suspect.Proposal, error) {
			return suspect.StepByStep(ctx, e, p)
		}},
		{"the usual order", 0, suspect.Usual},
		{"this advice, one reading in ten wrong", 0.1, advice},
	}
	sums, n := make([]sum, len(ways)), 0
	names, draws := []string{"range-electronic", "range-mechanical", "dryer", "water-heater"}, 12
	if testing.Short() {
		names, draws = []string{"water-heater"}, 4
	}
	r := rand.New(rand.NewPCG(11, 13))
	for _, name := range names {
		c := machine(t, name)
		all := meter.SingleFaults(c)
		for range draws {
			truth, seed := []circuit.Fault{wider(c, all, r)}, r.Uint64()
			if !c.CanFail(truth[0]) || hide(c, truth, seed).complaint(t) == nil {
				continue
			}
			n++
			for i, w := range ways {
				h := hide(c, truth, seed)
				h.wrong, h.sure = w.wrong, suspect.Sure
				v := h.find(t, 1, w.next)
				s := &sums[i]
				s.minutes, s.live = s.minutes+v.minutes, s.live+float64(v.live)
				if v.right {
					s.named++
				} else {
					s.minutes += suspect.WrongPartPrice
					t.Logf("%s, %s: %s: said%s", name, w.name, c.Describe(truth[0]), v.said)
				}
			}
		}
	}
	for i, w := range ways {
		s := sums[i]
		t.Logf("%-38s %3d of %d named, mean %.1f minutes, %.2f live tests", w.name, s.named, n, s.minutes/float64(n), s.live/float64(n))
	}
	if n == 0 || sums[0].named < n*8/10 || sums[0].minutes > 1.1*sums[1].minutes || sums[0].minutes > 1.1*sums[2].minutes {
		t.Errorf("this advice: %d of %d, %.0f minutes; step by step %.0f, the usual order %.0f", sums[0].named, n, sums[0].minutes, sums[1].minutes, sums[2].minutes)
	}
}
