package suspect_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
)

// bench is the machine with its hidden fault, and a meter with noise.
type hidden struct {
	c      *circuit.Circuit
	b      *meter.Bench
	truth  []circuit.Fault
	supply float64
	rand   *rand.Rand
	// wrong is the share of readings that are taken at another place or misread.
	wrong float64
	// sure is the probability at which a part is named.
	sure float64
	// engine looks for it, and has forgotten what it looked for before.
	engine *suspect.Engine
}

func hide(c *circuit.Circuit, truth []circuit.Fault, seed uint64) *hidden {
	r := rand.New(rand.NewPCG(seed, 7))
	b := meter.New(c, meter.DefaultInstrument())
	b.Tolerances = false
	return &hidden{c: c, b: b, truth: truth, supply: 0.95 + 0.1*r.Float64(), rand: r, sure: 0.97}
}

// states tells what a person sees of every load in a mode.
func (h *hidden) states(t tester, mode circuit.ModeID) map[circuit.BranchID]circuit.LoadState {
	t.Helper()
	o, err := h.b.Live(mode, h.truth)
	if err != nil {
		t.Fatal(err)
	}
	out := map[circuit.BranchID]circuit.LoadState{}
	sound, err := h.b.Live(mode, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range h.c.Loads() {
		out[l] = circuit.Judge(o.LeastShare(l)*h.supply*h.supply, sound.LeastShare(l))
	}
	return out
}

// complaint finds the first mode in which a load that a person sees does not do
// what a sound machine does, and says so.
func (h *hidden) complaint(t testing.TB) []suspect.Evidence {
	t.Helper()
	sound := &hidden{c: h.c, b: h.b, supply: h.supply}
	for i := range h.c.Modes() {
		mode := circuit.ModeID(i)
		is, should := h.states(t, mode), sound.states(t, mode)
		for _, l := range h.c.Loads() {
			if is[l] != should[l] {
				return []suspect.Evidence{{Symptom: &suspect.Symptom{Mode: mode, Load: l, State: is[l]}}}
			}
		}
	}
	return nil
}

// read takes the reading a test asks for, with the instrument's error and the
// supply as it is today.
func (h *hidden) read(t testing.TB, test suspect.Test) *suspect.Observation {
	t.Helper()
	o := &suspect.Observation{Probes: test.Probes, Mode: test.Mode, Lift: test.Lift}
	var r meter.Reading
	if test.Live {
		out, err := h.b.Live(test.Mode, h.truth)
		if err != nil {
			t.Fatal(err)
		}
		if test.Probes.Function == meter.Amps {
			var wire circuit.BranchID
			if wire, err = h.c.WireBetween(test.Probes.P, test.Probes.Q); err == nil {
				r, err = h.b.Amps(out, wire)
			}
		} else {
			r, err = h.b.Volts(out, test.Probes.Function, test.Probes.P, test.Probes.Q)
		}
		if err != nil {
			t.Fatal(err)
		}
		r.Value *= h.supply
	} else {
		out, err := h.b.Dead(test.Mode, h.truth)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range test.Lift {
			out.Conducts[h.c.Wire(w).Branch] = false
		}
		r = h.b.Quick(out, test.Probes.Function, test.Probes.P, test.Probes.Q)
	}
	if h.rand.Float64() < h.wrong {
		// What is read is open for good, or the other way about; dead for live.
		switch {
		case test.Live:
			r.Value, r.Unsteady = 0, false
		case r.OL:
			r.OL, r.Value = false, 0.2
		default:
			r.OL = true
		}
	}
	low, high := h.b.Instrument.Spread(test.Probes.Function, r.Value)
	o.Value = low + (high-low)*h.rand.Float64()
	o.OL, o.Unsteady = r.OL, r.Unsteady
	return o
}

// visit is how one hidden fault was found.
type visit struct {
	skipped      bool // the fault shows nowhere: nobody would call
	right, among bool // among: of the first three
	tests, live  int
	minutes      float64
	reach        float64 // minutes to get at what is wrong then, to mend it
	said         string
}

// adviser is a way to choose the next test; of no test where it has none.
type adviser func(context.Context, *suspect.Engine, *suspect.Progress) ([]suspect.Proposal, error)

func advice(ctx context.Context, e *suspect.Engine, p *suspect.Progress) ([]suspect.Proposal, error) {
	return e.Next(ctx, p, 1)
}

// find follows the engine's advice to the end.
func find(t testing.TB, c *circuit.Circuit, truth []circuit.Fault, order int, seed uint64) visit {
	t.Helper()
	h := hide(c, truth, seed)
	h.engine = searcher(t, c, order)
	return h.find(t, advice)
}

// searcher is an engine that asks for what a meter shows alone.
func searcher(t testing.TB, c *circuit.Circuit, order int) *suspect.Engine {
	t.Helper()
	e, err := suspect.New(c, suspect.Options{Order: order, MeterOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// find follows somebody's advice to the end.
func (h *hidden) find(t testing.TB, next adviser) visit {
	t.Helper()
	ctx, c, truth, e := context.Background(), h.c, h.truth, h.engine
	complaint := h.complaint(t)
	if complaint == nil {
		return visit{skipped: true}
	}
	e.Forget()
	add := func(ev suspect.Evidence) {
		if err := e.Add(ctx, ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			t.Fatal(err)
		}
	}
	for _, ev := range complaint {
		add(ev)
	}
	var v visit
	progress := suspect.NewProgress()
	for v.tests < 25 {
		s := e.Suspects(1)
		sure := len(s) == 1 && s[0].P > h.sure && len(s[0].Causes) > 0
		if sure && h.wrong == 0 {
			break
		}
		next, err := next(ctx, e, progress)
		if err != nil {
			t.Fatal(err)
		}
		if len(next) == 0 || sure && !next[0].Proves() {
			break
		}
		test := next[0].Test
		minutes, _ := progress.Minutes(c, test)
		v.tests++
		v.minutes += minutes
		if test.Live && !test.Trial {
			v.live++
		}
		progress.Did(c, test)
		if test.Trial {
			is := h.states(t, test.Mode)
			for _, l := range next[0].Loads {
				add(suspect.Evidence{Symptom: &suspect.Symptom{Mode: test.Mode, Load: l, State: is[l]}})
			}
			continue
		}
		add(suspect.Evidence{Reading: h.read(t, test)})
	}
	v.right, v.said = named(t, e, truth)
	v.reach = progress.Reach(c, truth[0])
	return v
}

// named reports whether the leading explanation, or one that no listed test
// tells from it, holds the truth: hidden faults, and enough of them to explain
// what was seen.
func named(t testing.TB, e *suspect.Engine, truth []circuit.Fault) (bool, string) {
	t.Helper()
	top := e.Suspects(1)
	if len(top) == 0 || len(top[0].Causes) == 0 {
		return false, "nothing"
	}
	alike := alikeNow(t, e)
	said, right := "", true
	for _, c := range top[0].Causes {
		said += " [" + c.Members[0].Label + "]"
		right = right && alike.holds(c, truth)
	}
	return right, said
}

// alike are groups of causes that no listed test tells apart.
type alike []suspect.AlikeGroup

func alikeNow(t testing.TB, e *suspect.Engine) alike {
	t.Helper()
	groups, err := e.Alike(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return groups
}

// holds reports whether a class, or one of its group, is of the truth.
func (groups alike) holds(k suspect.Class, truth []circuit.Fault) bool {
	is := func(c suspect.Cause) bool {
		return slices.ContainsFunc(c.Faults, func(f circuit.Fault) bool {
			return slices.ContainsFunc(truth, func(g circuit.Fault) bool { return f.Branch == g.Branch && f.Kind == g.Kind })
		})
	}
	return slices.ContainsFunc(k.Members, is) || slices.ContainsFunc(groups, func(g suspect.AlikeGroup) bool {
		return slices.ContainsFunc(g.Causes, func(c suspect.Cause) bool { return c.Label == k.Members[0].Label }) && slices.ContainsFunc(g.Causes, is)
	})
}

func machine(t testing.TB, name string) *circuit.Circuit {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func TestHiddenSinglesAreNamed(t *testing.T) {
	for _, name := range []string{"range-electronic", "range-mechanical"} {
		c := machine(t, name)
		all := meter.SingleFaults(c)
		step := 31
		if testing.Short() {
			step = 97
		}
		n, right := 0, 0
		var tests, minutes, live float64
		e := searcher(t, c, 1)
		for i := 0; i < len(all); i += step {
			h := hide(c, all[i:i+1], uint64(i))
			h.engine = e
			v := h.find(t, advice)
			if v.skipped {
				continue
			}
			n++
			tests, minutes, live = tests+float64(v.tests), minutes+v.minutes, live+float64(v.live)
			if v.right {
				right++
			} else {
				t.Logf("%s: %s: said%s", name, c.Describe(all[i]), v.said)
			}
		}
		t.Logf("%s: %d of %d named, mean %.1f tests, %.0f minutes, %.2f live", name, right, n, tests/float64(n), minutes/float64(n), live/float64(n))
		if n-right > max(1, n/20) {
			t.Errorf("%s: %d of %d hidden faults named", name, right, n)
		}
	}
}

// A joint of few ohms leaves an element half warm, so that nothing may be wrong for all
// that is read: the wires are probed from end to end all the same, by their share of
// what can be blamed (common practice, no source).
func TestAJointOfFewOhmsIsFoundBesideDoubt(t *testing.T) {
	c := machine(t, "oven-double")
	e := searcher(t, c, 1)
	for _, ref := range []string{"w20:high=4", "w21:high=5", "w30:high=3", "w33:high=6"} {
		f, err := c.ParseFault(ref)
		if err != nil {
			t.Fatal(err)
		}
		h := hide(c, f, 1)
		h.engine = e
		if v := h.find(t, advice); !v.right {
			t.Errorf("%s: said%s after %d tests", ref, v.said, v.tests)
		}
	}
}
