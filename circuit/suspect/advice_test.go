package suspect_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
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

// beside is how a way to find hidden faults went over all of them.
type beside struct {
	name          string
	named         int
	minutes, live float64
}

// way is how hidden faults are looked for.
type way struct {
	name        string
	wrong, slip float64
	next        adviser
}

// This advice, what tells most for its minutes at each step, and the usual order;
// then this advice with one reading in ten wrong, of whoever holds that for a slip in
// a hundred and of whoever knows of it: that takes most of the work, and is measured.
var (
	rightlyRead = []way{{"this advice", 0, 0, advice}, {"step by step", 0, 0, suspect.StepByStep}, {"the usual order", 0, 0, suspect.Usual}}
	wronglyRead = []way{{"one reading in ten wrong", 0.1, 0, advice}, {"one in ten wrong, and known", 0.1, 0.1, advice}}
)

// advised has the same hidden faults looked for in each of the ways. A part is named
// where the advice itself would name it, a wrong one costs what it reckons with, and what
// is wrong has to be got at.
func advised(t testing.TB, names []string, draws int, seed uint64, ways []way) (sums []beside, n int) {
	for _, w := range ways {
		sums = append(sums, beside{name: w.name})
	}
	r := rand.New(rand.NewPCG(seed, 13))
	for _, name := range names {
		c := machine(t, name)
		all := meter.SingleFaults(c)
		engines := make([]*suspect.Engine, len(ways)) // each works its machine out once
		for i, w := range ways {
			engines[i] = engines[0]
			if w.slip > 0 {
				engines[i] = searcher(t, erring(t, name, w.slip), 1)
			} else if i == 0 {
				engines[i] = searcher(t, c, 1)
			}
		}
		for range draws {
			truth, seed := []circuit.Fault{wider(c, all, r)}, r.Uint64()
			if !c.CanFail(truth[0]) || hide(c, truth, seed).complaint(t) == nil {
				continue
			}
			n++
			for i, w := range ways {
				h := hide(c, truth, seed)
				h.c, h.engine = engines[i].Circuit(), engines[i]
				h.wrong, h.sure = w.wrong, suspect.Sure
				v := h.find(t, w.next)
				s := &sums[i]
				s.minutes, s.live = s.minutes+v.minutes+v.reach, s.live+float64(v.live)
				if v.right {
					s.named++
				} else {
					s.minutes += suspect.WrongPartPrice
					t.Logf("%s, %s: %s: said%s", name, w.name, c.Describe(truth[0]), v.said)
				}
			}
		}
	}
	return sums, n
}

var fourMachines = []string{"range-electronic", "range-mechanical", "dryer", "water-heater"}

// erring is a machine of the catalog whose readings slip so often.
func erring(t testing.TB, name string, slip float64) *circuit.Circuit {
	t.Helper()
	path := filepath.Join(t.TempDir(), "erring.toml")
	if err := os.WriteFile(path, fmt.Appendf(nil, "from = %q\nname = %q\n[mistakes]\nslip = %g\n", "catalog:"+name, name, slip), 0o666); err != nil {
		t.Fatal(err)
	}
	c, err := netlists.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestAdviceBesideOthers(t *testing.T) {
	// Of few drawn, one part wrongly named is worth a fifth of all minutes.
	names, draws, within := fourMachines, 5, 1.25
	if circuittest.Nightly {
		draws, within = 12, 1.1
	} else if testing.Short() {
		names, draws, within = []string{"water-heater"}, 4, 1.5
	}
	sums, n := advised(t, names, draws, 11, rightlyRead)
	for _, s := range sums {
		t.Logf("%-28s %3d of %d named, mean %.1f minutes, %.2f live tests", s.name, s.named, n, s.minutes/float64(n), s.live/float64(n))
	}
	if n == 0 || sums[0].named < n*8/10 || sums[0].minutes > within*sums[1].minutes || sums[0].minutes > within*sums[2].minutes {
		t.Errorf("this advice: %d of %d, %.0f minutes; step by step %.0f, the usual order %.0f", sums[0].named, n, sums[0].minutes, sums[1].minutes, sums[2].minutes)
	}
}

// A wire has no probes of its own: one stays where the load is joined, the other goes
// along. What is read at a terminal block is read to neutral as well before a panel
// is taken off.
func TestAWireIsFoundByGoingAlong(t *testing.T) {
	engines := map[string]*suspect.Engine{}
	for _, lost := range []struct {
		machine, fault string
		minutes        float64
	}{
		{"dryer", "w11:open", 80}, {"dryer", "w15:open", 90}, {"dryer", "w26:open", 65}, {"dryer", "w05:open", 25},
		{"range-electronic", "w60:high=8", 70}, {"range-electronic", "w64:high=8", 70},
	} {
		c := machine(t, lost.machine)
		if engines[lost.machine] == nil {
			engines[lost.machine] = searcher(t, c, 1)
		}
		faults, err := c.ParseFault(lost.fault)
		if err != nil {
			t.Fatal(err)
		}
		h := hide(c, faults, 5)
		h.engine, h.sure = engines[lost.machine], suspect.Sure
		if v := h.find(t, advice); !v.right || v.minutes > lost.minutes {
			t.Errorf("%s, %s: after %d tests and %.0f minutes is said%s", lost.machine, lost.fault, v.tests, v.minutes, v.said)
		}
	}
}

// One reading in ten is wrong and that is known: most faults are named all the same,
// once what is suspected was read again or at another place (common practice, no source).
func TestOneReadingInTenWrong(t *testing.T) {
	names, draws := []string{"water-heater", "range-mechanical"}, 12
	if circuittest.Nightly {
		names, draws = fourMachines, 25
	} else if testing.Short() {
		names = names[:1]
	}
	sums, n := advised(t, names, draws, 23, wronglyRead[1:])
	t.Logf("%d of %d named, mean %.1f minutes", sums[0].named, n, sums[0].minutes/float64(n))
	if n == 0 || 100*sums[0].named < 90*n {
		t.Errorf("%d of %d named", sums[0].named, n)
	}
}

// Of one reading a part is named at once, but where readings slip often it is read again
// first while that pays (common practice, no source).
func TestWhatIsSureIsReadAgain(t *testing.T) {
	for _, x := range []struct {
		slip  float64
		again bool
	}{{0.01, false}, {0.1, true}} {
		c := erring(t, "water-heater", x.slip)
		e := engine(t, c, suspect.Options{Order: 1, MeterOnly: true}, suspect.Note{Mode: "off", Load: "lower_element", State: "on"},
			suspect.Note{Mode: "off", Function: "ohms", P: "lower_thermostat.1", Q: "lower_thermostat.2", Answer: "0.4"})
		progress, o := suspect.NewProgress(), e.Evidence()[1].Reading
		progress.Did(c, suspect.Test{Probes: o.Probes, Mode: o.Mode, At: circuit.None})
		next, err := e.Next(context.Background(), progress, 1)
		if err != nil {
			t.Fatal(err)
		}
		if again := len(next) > 0 && next[0].Proves(); !e.Finding().Sure || again != x.again {
			t.Errorf("slips of %g: sure %t, read again %t", x.slip, e.Finding().Sure, again)
		}
	}
}

// BenchmarkAdviceBesideOthers draws so many faults on each of four machines, the same
// for each of the ways, as in -benchtime 1250x.
func BenchmarkAdviceBesideOthers(b *testing.B) {
	for _, w := range slices.Concat(rightlyRead, wronglyRead) {
		b.Run(w.name, func(b *testing.B) {
			sums, n := advised(b, fourMachines, b.N, 17, []way{w})
			b.ReportMetric(float64(n), "faults")
			b.ReportMetric(100*float64(sums[0].named)/float64(n), "%named")
			b.ReportMetric(sums[0].minutes/float64(n), "minutes")
			b.ReportMetric(sums[0].live/float64(n), "live")
		})
	}
}
