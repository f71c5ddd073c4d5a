package suspect_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// tester is a test, of testing or of rapid.
type tester interface {
	Helper()
	Fatal(...any)
}

func engine(t tester, c *circuit.Circuit, opt suspect.Options, notes ...suspect.Note) *suspect.Engine {
	t.Helper()
	e, err := suspect.New(c, opt)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range notes {
		ev, err := n.Resolve(c)
		if err != nil {
			t.Fatal(err)
		}
		// On the way to what explains it all the best may be a slip.
		if err := e.Add(context.Background(), ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			t.Fatal(err)
		}
	}
	return e
}

func leading(e *suspect.Engine) string {
	s := e.Suspects(1)
	if len(s) == 0 || len(s[0].Causes) == 0 {
		return "nothing"
	}
	var out []string
	for _, c := range s[0].Causes {
		out = append(out, c.Members[0].Label)
	}
	return strings.Join(out, " and ")
}

var (
	coldBroiler = suspect.Note{Mode: "broil", Load: "broil_element", State: "dead"}
	bakeWorks   = suspect.Note{Mode: "bake", Load: "bake_element", State: "normal"}
	bakeDead    = suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}
)

func TestColdBroilerWithBakeFinePointsToTheElementOrItsRelay(t *testing.T) {
	e := engine(t, machine(t, "range-electronic"), suspect.Options{}, coldBroiler, bakeWorks)
	sum := 0.0
	for _, p := range e.PartChance() {
		if p.Name == "broil_element" || p.Name == "broil_relay" {
			sum += p.P
		}
	}
	if sum < 0.75 {
		t.Errorf("the broil element and its relay hold %.2f of the suspicion", sum)
	}
	e = engine(t, machine(t, "range-electronic"), suspect.Options{}, coldBroiler, bakeWorks,
		suspect.Note{Mode: "broil", Function: "ohms", P: "broil_1", Q: "broil_2", Answer: "OL"})
	if got := leading(e); got != "Broil element open" {
		t.Errorf("OL across the element: %s", got)
	}
}

// "The element is cold", of two: each is as likely the one meant, and what was
// said is as likely as the mean of both readings.
func TestOneOfTwoIsDeadAndNobodySaysWhich(t *testing.T) {
	c := machine(t, "range-electronic")
	either := suspect.Note{Mode: bakeDead.Mode + suspect.Either + coldBroiler.Mode, Load: bakeDead.Load + suspect.Either + coldBroiler.Load, State: "dead"}
	twice := either
	twice.Mode, twice.Load = bakeDead.Mode+suspect.Either+bakeDead.Mode, bakeDead.Load+suspect.Either+bakeDead.Load
	chance := func(name string, notes ...suspect.Note) float64 {
		for _, p := range engine(t, c, suspect.Options{Order: 1}, notes...).PartChance() {
			if p.Name == name {
				return p.P
			}
		}
		return 0
	}
	if bake, broil := chance("bake_element", either), chance("broil_element", either); bake < 0.02 || math.Abs(bake-broil) > 0.001 {
		t.Errorf("bake element %.4f, broil element %.4f, wanted alike", bake, broil)
	}
	if once, both := chance("bake_element", bakeDead), chance("bake_element", twice); math.Abs(once-both) > 1e-9 {
		t.Errorf("bake element dead: %.6f; said of it or of it: %.6f", once, both)
	}
	if p := chance("broil_element", either, bakeWorks); p < 0.15 {
		t.Errorf("bake works, so the broil element was meant: %.3f", p)
	}
}

func TestTwoFaultsAtOnceAreFound(t *testing.T) {
	e := engine(t, machine(t, "range-electronic"), suspect.Options{}, coldBroiler, bakeDead,
		suspect.Note{Mode: "broil", Function: "ohms", P: "broil_1", Q: "broil_2", Answer: "OL"},
		suspect.Note{Mode: "broil", Function: "ohms", P: "bake_1", Q: "bake_2", Answer: "OL"})
	if got := leading(e); got != "Bake element open and Broil element open" {
		t.Errorf("both elements read OL: %s", got)
	}
}

func TestReadingThatFitsNothingIsNamed(t *testing.T) {
	c := machine(t, "range-electronic")
	e := engine(t, c, suspect.Options{Order: 1}, coldBroiler, bakeWorks,
		suspect.Note{Mode: "broil", Function: "ohms", P: "broil_1", Q: "broil_2", Answer: "16.6"})
	ev, err := suspect.Note{Mode: "broil", Function: "ohms", P: "sensor_s1", Q: "sensor_s2", Answer: "47"}.Resolve(c)
	if err != nil {
		t.Fatal(err)
	}
	if err := e.Add(context.Background(), ev); !errors.Is(err, suspect.ErrNothingFits) {
		t.Fatalf("47 ohms at the sensor's pins while bake works: %v", err)
	}
	if m := e.Misfit(); m.Pieces[0] != 3 {
		t.Errorf("the reading that fits nothing is number 4, not %d", m.Pieces[0]+1)
	}
}

func TestUndoTakesTheLastAnswerBack(t *testing.T) {
	c := machine(t, "range-electronic")
	once := engine(t, c, suspect.Options{}, coldBroiler)
	twice := engine(t, c, suspect.Options{}, coldBroiler, bakeDead)
	if err := twice.Undo(context.Background()); err != nil {
		t.Fatal(err)
	}
	if a, b := once.Suspects(1)[0].P, twice.Suspects(1)[0].P; a != b || leading(once) != leading(twice) {
		t.Errorf("after undo %s at %.3f, before %s at %.3f", leading(twice), b, leading(once), a)
	}
}

// A live test is not proposed where a dead one tells as much.
func TestDeadTestsComeBeforeLiveOnes(t *testing.T) {
	c := machine(t, "range-electronic")
	e := engine(t, c, suspect.Options{}, coldBroiler, bakeWorks)
	progress := suspect.NewProgress()
	for i := range c.Modes() {
		progress.Skip(c, suspect.Test{Trial: true, Mode: circuit.ModeID(i)})
	}
	next, err := e.Next(context.Background(), progress, 1)
	if err != nil || len(next) != 1 {
		t.Fatal(next, err)
	}
	if next[0].Live || next[0].Probing() && next[0].Probes.Function != meter.Ohms || next[0].Why == "" {
		t.Errorf("proposed %+v", next[0].Test)
	}
}

func TestProofOfANewElementChecksWhatItCouldHide(t *testing.T) {
	c := machine(t, "range-electronic")
	e := engine(t, c, suspect.Options{}, coldBroiler,
		suspect.Note{Mode: "broil", Function: "ohms", P: "broil_1", Q: "broil_2", Answer: "OL"})
	proof, err := e.Proof(context.Background(), e.Suspects(1)[0].Causes)
	if err != nil {
		t.Fatal(err)
	}
	if len(proof.Checks) == 0 || !proof.Checks[0].Trial || c.Mode(proof.Checks[0].Mode).Name != "broil" || len(proof.Checks[0].Bad) == 0 {
		t.Fatalf("the first check is to broil: %+v", proof.Checks)
	}
	hidden := ""
	for _, h := range proof.Hidden {
		hidden += h.Label + "\n"
	}
	for _, want := range []string{"Broil relay contact open", "Oven thermal fuse open"} {
		if !strings.Contains(hidden, want) {
			t.Errorf("an open broil element could hide %q", want)
		}
	}
}

func TestPlanBeatsTheUsualOrder(t *testing.T) {
	for _, name := range []string{"range-electronic", "range-mechanical"} {
		e := engine(t, machine(t, name), suspect.Options{Order: 1}, coldBroiler)
		plan, err := e.Plan(context.Background(), nil)
		if err != nil {
			t.Fatal(err)
		}
		if plan.Ours.Minutes >= plan.Fixed.Minutes || plan.Ours.LiveTests > plan.Fixed.LiveTests {
			t.Errorf("%s: ours %+v, the usual order %+v", name, plan.Ours, plan.Fixed)
		}
		if plan.Whole.Tests < plan.Bound-1e-9 || plan.Fewest.Known && plan.Whole.Tests < plan.Fewest.Tests-1e-9 {
			t.Errorf("%s: %.2f tests, bound %.2f, fewest %.2f", name, plan.Whole.Tests, plan.Bound, plan.Fewest.Tests)
		}
		sum := 0.0
		var leaves func(n *suspect.Node)
		leaves = func(n *suspect.Node) {
			if n.Test == nil {
				sum += n.P
			}
			for _, m := range n.Next {
				leaves(m)
			}
		}
		leaves(plan.Root)
		if sum < 0.999 || sum > 1.001 {
			t.Errorf("%s: the leaves of the plan hold %.4f", name, sum)
		}
	}
}

func TestAnswers(t *testing.T) {
	for _, c := range []struct {
		f            meter.Function
		say          string
		value        float64
		ol, unsteady bool
		bad          bool
	}{
		{f: meter.Volts, say: "118 V", value: 118}, {f: meter.Volts, say: "118", value: 118}, {f: meter.Volts, say: "0,2", value: 0.2},
		{f: meter.Ohms, say: "1.08k", value: 1080}, {f: meter.Ohms, say: "1.08 kohm", value: 1080}, {f: meter.Ohms, say: "2M", value: 2e6},
		{f: meter.Ohms, say: "OL", ol: true}, {f: meter.Ohms, say: "open", ol: true}, {f: meter.Continuity, say: "beep"},
		{f: meter.Volts, say: "unsteady", unsteady: true},
		{f: meter.Volts, say: "OL", bad: true}, {f: meter.Ohms, say: "unsteady", bad: true}, {f: meter.Ohms, say: "-3", bad: true},
		{f: meter.Ohms, say: "about five", bad: true}, {f: meter.Ohms, say: "", bad: true}, {f: meter.Ohms, say: "NaN", bad: true},
		{f: meter.Ohms, say: "1e99", bad: true}, {f: meter.Ohms, say: "Inf", bad: true},
	} {
		v, ol, unsteady, err := suspect.ParseAnswer(c.f, c.say)
		if (err != nil) != c.bad || err == nil && (v != c.value || ol != c.ol || unsteady != c.unsteady) {
			t.Errorf("%s %q: %g OL %v unsteady %v, %v", c.f, c.say, v, ol, unsteady, err)
		}
	}
}

func TestNotesThatCannotBe(t *testing.T) {
	c := machine(t, "range-electronic")
	for _, n := range []suspect.Note{
		{Mode: "broll", Load: "broil_element", State: "dead"},
		{Mode: "broil", Load: "broil_elment", State: "dead"},
		{Mode: "broil", Load: "broil_element", State: "purple"},
		{Mode: "broil"},
		{Mode: "broil", Load: "broil_element", State: "dead", Trips: true},
		{Mode: "broil", Function: "volts", P: "broil_1", Q: "broil_1", Answer: "5"},
		{Mode: "broil", Function: "volts", P: "broil_1", Q: "broil_9", Answer: "5"},
		{Mode: "broil", Function: "amps", P: "broil_1", Q: "broil_2", Answer: "5"},
		{Mode: "broil", Function: "henries", P: "broil_1", Q: "broil_2", Answer: "5"},
		{Mode: "broil", Function: "volts", P: "broil_1", Q: "broil_2", Lifted: "broil_1", Answer: "5"},
		{Mode: "broil", Function: "volts", P: "broil_1", Q: "broil_2", Answer: "OL"},
	} {
		if ev, err := n.Resolve(c); err == nil {
			t.Errorf("%+v was taken: %+v", n, ev)
		}
	}
}

// Our choice one test at a time, every test taken to cost the same, against the
// fewest tests of any tree, over every complaint of both ranges where the exact
// search is feasible: on average within 5 %.
func TestChoiceStaysNearTheFewestTests(t *testing.T) {
	var even, fewest, ours, fixed, live, fixedLive float64
	n := 0
	for _, name := range []string{"range-electronic", "range-mechanical"} {
		c := machine(t, name)
		e := engine(t, c, suspect.Options{Order: 1})
		for m := range c.Modes() {
			for _, x := range c.Mode(circuit.ModeID(m)).Expect {
				if x.Share < 0.2 {
					continue
				}
				e.Forget()
				s := &suspect.Symptom{Mode: circuit.ModeID(m), Load: x.Load, State: circuit.Dead}
				if err := e.Add(context.Background(), suspect.Evidence{Symptom: s}); err != nil {
					t.Fatal(err)
				}
				p, err := e.Plan(context.Background(), nil)
				if err != nil {
					t.Fatal(err)
				}
				ours, fixed = ours+p.Ours.Minutes, fixed+p.Fixed.Minutes
				live, fixedLive = live+p.Ours.LiveTests, fixedLive+p.Fixed.LiveTests
				if p.Fewest.Known {
					n++
					even, fewest = even+p.Even.Tests, fewest+p.Fewest.Tests
				}
			}
		}
	}
	t.Logf("%d complaints: %.3f of the fewest tests; minutes %.2f of the usual order's, live tests %.2f", n, even/fewest, ours/fixed, live/fixedLive)
	if n < 10 || even > 1.05*fewest {
		t.Errorf("%d complaints: %.2f tests against the fewest, %.2f", n, even, fewest)
	}
	if ours > 0.70*fixed || live > 0.2*fixedLive {
		t.Errorf("minutes %.0f against the usual order's %.0f, live tests %.1f against %.1f", ours, fixed, live, fixedLive)
	}
}

// A joint is found whatever its ohms, and they are told.
func TestJointIsFoundOfAnySize(t *testing.T) {
	c := machine(t, "range-electronic")
	for _, ohms := range []float64{2, 3, 4, 8, 30, 300} {
		h := hide(c, []circuit.Fault{{Kind: circuit.HighResistance, Branch: branch(t, c, "thermal_fuse"), Ohms: ohms}}, 5)
		e, err := suspect.New(c, suspect.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var notes []suspect.Evidence
		for _, n := range []suspect.Note{
			{Mode: "broil", Load: "broil_element", State: "weak"},
			{Mode: "broil", Function: "ohms", P: "thermal_fuse.1", Q: "thermal_fuse.2", Answer: "0"},
		} {
			ev, err := n.Resolve(c)
			if err != nil {
				t.Fatal(err)
			}
			notes = append(notes, ev)
		}
		notes[0].Symptom.State = h.states(t, notes[0].Symptom.Mode)[notes[0].Symptom.Load]
		notes[1].Reading = h.read(t, suspect.Test{Probes: notes[1].Reading.Probes, Mode: notes[1].Reading.Mode})
		for _, ev := range notes {
			if err := e.Add(context.Background(), ev); err != nil {
				t.Errorf("%g ohms: %v", ohms, err)
			}
		}
		top := e.Suspects(1)[0]
		sizes, err := e.Sizes(top)
		if err != nil {
			t.Fatal(err)
		}
		if got := leading(e); got != "Oven thermal fuse high resistance" || top.P < 0.5 {
			t.Errorf("%g ohms: %s, %.2f", ohms, got, top.P)
		}
		if s := sizes[0]; !s.Known || s.Low > ohms || s.High < ohms || s.High > 1.5*s.Low+0.4 {
			t.Errorf("%g ohms: said %q", ohms, s.Words())
		}
	}
}

func branch(t testing.TB, c *circuit.Circuit, ref string) circuit.BranchID {
	t.Helper()
	id, err := c.FindBranch(ref)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// A burner that stays on in Off has a switch that sticks, both contacts at
// once: two welds by chance and a cloud of sensors come far behind.
func TestBurnerThatStaysOnNamesItsSwitch(t *testing.T) {
	for _, name := range []string{"range-electronic", "range-mechanical"} {
		e := engine(t, machine(t, name), suspect.Options{}, suspect.Note{Mode: "off", Load: "lf_element", State: "on"})
		top := e.Suspects(2)
		if leading(e) != `Left front switch stuck at "on"` || top[0].P < 0.6 || top[1].P > 0.4 {
			t.Errorf("%s: %s at %.2f, then %s at %.2f", name, leading(e), top[0].P, top[1].Words(), top[1].P)
		}
	}
}

// A reading at one end of a chain parts what was one class, and none of it is
// lost: volts at the outlet and none at the block are the cord or the block,
// and a sensor that is good at its own ends and open at the board its harness.
func TestTrueReadingsPartWhatWasOneClass(t *testing.T) {
	sum := func(e *suspect.Engine, names ...string) (p float64) {
		for _, x := range e.PartChance() {
			if slices.Contains(names, x.Name) {
				p += x.P
			}
		}
		return p
	}
	dryer := []suspect.Note{
		{Mode: "timed_dry", Load: "motor", State: "dead"}, {Mode: "timed_dry", Load: "heater", State: "dead"}, {Mode: "door_open", Load: "drum_lamp", State: "dead"},
		{Mode: "off", Function: "volts", P: "cord.L1.in", Q: "cord.L2.in", Answer: "240"},
		{Mode: "off", Function: "volts", P: "cord.L1.in", Q: "cord.N.in", Answer: "120"},
		{Mode: "off", Function: "volts", P: "tb_l1", Q: "tb_n", Answer: "0"},
		{Mode: "off", Function: "volts", P: "tb_l2", Q: "tb_n", Answer: "120"},
	}
	e := engine(t, machine(t, "dryer"), suspect.Options{}, dryer...)
	if p := sum(e, "cord", "terminal_block", "w07"); p < 0.85 {
		t.Errorf("the cord, the block and the wire between them hold %.2f", p)
	}
	e = engine(t, machine(t, "range-electronic"), suspect.Options{},
		suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}, suspect.Note{Mode: "broil", Load: "broil_element", State: "dead"},
		suspect.Note{Mode: "bake", Function: "ohms", P: "oven_sensor.1", Q: "oven_sensor.2", Answer: "1085"},
		suspect.Note{Mode: "bake", Function: "ohms", P: "control.S1", Q: "control.S2", Answer: "OL"})
	if p := sum(e, "sensor_plug", "w24", "w25", "w26", "w27"); p < 0.85 {
		t.Errorf("the sensor's harness holds %.2f", p)
	}
}

// Two faults, one of them a joint of an odd size, are named together, and the
// joint is not taken for the usual few ohms.
func TestAJointOfOddSizeBesideAnotherFault(t *testing.T) {
	c := machine(t, "range-electronic")
	faults := []circuit.Fault{{Kind: circuit.Open, Branch: branch(t, c, "broil_element")}, {Kind: circuit.HighResistance, Branch: branch(t, c, "bake_relay.contact"), Ohms: 15}}
	bench := meter.New(c, meter.DefaultInstrument())
	bake, _ := c.FindMode("bake")
	o, err := bench.Live(bake, faults)
	if err != nil {
		t.Fatal(err)
	}
	p, _ := c.FindPlace("bake_1")
	q, _ := c.FindPlace("bake_2")
	volts := fmt.Sprintf("%.0f", bench.Quick(o, meter.Volts, p, q).Value)
	e := engine(t, c, suspect.Options{}, coldBroiler, suspect.Note{Mode: "bake", Load: "bake_element", State: "weak"},
		suspect.Note{Mode: "broil", Function: "ohms", P: "broil_1", Q: "broil_2", Answer: "OL"},
		suspect.Note{Mode: "bake", Function: "volts", P: "bake_1", Q: "bake_2", Answer: volts})
	if got := leading(e); !strings.Contains(got, "Broil element open") || !strings.Contains(got, "high resistance") {
		t.Errorf("%s V over the bake element: leading is %s", volts, got)
	}
	if m := e.Misfit(); m != nil {
		t.Errorf("piece %d is taken for a slip", m.Pieces[0])
	}
}
