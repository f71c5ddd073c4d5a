package drill_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
)

func TestSameNumberGivesTheSameDrill(t *testing.T) {
	c := machine(t, "dryer")
	tell := func(number uint64) string {
		d := draw(t, c, drill.Options{Level: drill.Master, Number: number})
		s := d.Start()
		play(t, s, "prove", "volts tb_l1 tb_l2 in off", "volts tb_l1 tb_n in start", "off", "prove", "dead", "ohms tb_l1 tb_n")
		out := fmt.Sprint(d.Complaint().Said, d.Hidden()[0].Cause.Label)
		for _, step := range s.Steps() {
			out += fmt.Sprint("; ", step.Text, step.Said, step.Minutes)
		}
		return out
	}
	seen := map[string]bool{}
	for number := range uint64(12) {
		first := tell(number)
		if diff := cmp.Diff(first, tell(number)); diff != "" {
			t.Errorf("number %d, the first time and the second: %s", number, diff)
		}
		seen[first] = true
	}
	if len(seen) < 12 {
		t.Errorf("12 numbers give %d drills", len(seen))
	}
}

// The faults hidden follow the priors of those that show: each cause is drawn
// as often as its share says, within four standard deviations.
func TestHiddenFaultsFollowTheirPriors(t *testing.T) {
	c := heater(t)
	const draws = 3000
	drawn := map[string]int{}
	for number := range uint64(draws) {
		drawn[draw(t, c, drill.Options{Level: drill.Journeyman, Number: number}).Hidden()[0].Cause.Label]++
	}
	// Opens and welds that leave a load dead in Heat or on in Off. The limit's
	// and the fuse's welds show nowhere.
	share, total := map[string]float64{}, 0.0
	for _, cl := range suspect.Classes(c) {
		for _, m := range cl.Members {
			f := m.Faults[0]
			shows := f.Kind == circuit.Open || f.Kind == circuit.Welded && c.Label(f.Branch) == "Switch"
			if b := c.Branch(f.Branch); shows && !(b.Wire != circuit.None && c.Wire(b.Wire).To == c.ChassisTerminal()) && f.Branch != c.Supply().Earth {
				share[m.Label] = m.Prior
				total += m.Prior
			}
		}
	}
	for label, n := range drawn {
		if share[label] == 0 {
			t.Errorf("%s was hidden %d times and shows nowhere", label, n)
		}
	}
	for label, p := range share {
		p /= total
		want, spread := draws*p, math.Sqrt(draws*p*(1-p))
		if math.Abs(float64(drawn[label])-want) > 4*spread+1 {
			t.Errorf("%s: hidden %d times, expected %.0f", label, drawn[label], want)
		}
	}
}

// Whatever the customer says is so: the engine, settled apart, agrees.
func TestComplaintsAreTrue(t *testing.T) {
	for _, name := range []string{"range-electronic", "range-mechanical", "dryer", "water-heater", "oven-230", "cooktop-built-in"} {
		c := machine(t, name)
		engine := settle.New(c)
		for number := range uint64(9) {
			d := draw(t, c, drill.Options{Level: drill.Level(1 + number%3), Number: number})
			if len(d.Complaint().Said) == 0 || len(d.Complaint().Evidence) == 0 {
				t.Errorf("%s, number %d: nothing is said of %s", name, number, d.Hidden()[0].Cause.Label)
			}
			wrong := false
			for _, ev := range d.Complaint().Evidence {
				// The day's supply moves power by a tenth, which the limits of
				// weak and dead are far from for an open, a weld or a bad joint.
				sy := ev.Symptom
				o, err := engine.Run(sy.Mode, d.Hidden()[0].Cause.Faults)
				if err != nil {
					t.Fatal(err)
				}
				good, err := settle.New(c).Run(sy.Mode, nil)
				if err != nil {
					t.Fatal(err)
				}
				if sy.Trips {
					wrong = true
					if len(o.Tripped) == 0 {
						t.Errorf("%s, number %d: nothing trips in %s", name, number, c.Mode(sy.Mode).Name)
					}
					continue
				}
				if sy.Chatters {
					wrong = true
					continue
				}
				if got := circuit.JudgeLoad(o, good, sy.Load); got != sy.State {
					t.Errorf("%s, number %d: %s is said to be %s in %s, and is %s", name, number, c.Label(sy.Load), sy.State, c.Mode(sy.Mode).Name, got)
				}
				wrong = wrong || !sy.State.Sound()
			}
			if !wrong {
				t.Errorf("%s, number %d: nothing wrong is said: %v", name, number, d.Complaint().Said)
			}
		}
	}
}

func TestLevelsTellLess(t *testing.T) {
	c := machine(t, "range-electronic")
	faults, err := c.ParseFault("broil_element:open")
	if err != nil {
		t.Fatal(err)
	}
	var got [][]string
	for level := drill.Apprentice; level <= drill.Master; level++ {
		d, err := drill.With(c, drill.Options{Level: level}, faults)
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, d.Complaint().Said)
	}
	want := [][]string{
		{`The broil element stays cold in "Broil" and "Self-clean".`,
			"The bake element, the right front element, the left front element, the left rear element, the right rear element, the oven lamp, the cooling fan, the oven control, the door latch motor and the surface pilot lamp work as they should."},
		{`The broil element stays cold in "Broil" and "Self-clean".`, "The bake element works as it should."},
		{`The broil element stays cold in "Broil".`},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestDrillsThatCannotBe(t *testing.T) {
	c := machine(t, "dryer")
	for _, opt := range []drill.Options{{Level: 4}, {Level: -1}, {Faults: 4}, {Faults: -1}, {Budget: -1}, {Budget: math.NaN()}, {Budget: math.Inf(1)}} {
		if _, err := drill.New(context.Background(), c, opt); err == nil {
			t.Errorf("%+v: no error", opt)
		}
	}
	weld, err := c.ParseFault("high_limit:welded")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := drill.With(c, drill.Options{}, weld); !errors.Is(err, drill.ErrNothingShows) {
		t.Errorf("a limit that is never open, welded: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := drill.New(ctx, c, drill.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("canceled: %v", err)
	}
}

// A reading lies within the instrument's error of what a noiseless bench reads
// on the same machine at the same supply, and repeats.
func TestReadingsAreTheMachinesOwn(t *testing.T) {
	c := heater(t)
	d := hide(t, c, "limit:open")
	s := d.Start()
	steps := play(t, s, "prove", "volts el_1 lamp_2 in heat", "volts el_1 lamp_2 in heat", "volts el_2 limit_2", "off", "prove", "dead", "ohms el_1 el_2")
	day := steps[1].Reading.Value / 120
	if day < 0.94 || day > 1.06 {
		t.Errorf("the leg reads %s: the supply lies within 5 %% of 120 V, the meter within 1 %% and 3 counts", steps[1].Reading)
	}
	if steps[1].Reading.Value != steps[2].Reading.Value {
		t.Error("the same reading again shows another figure")
	}
	// Through the element nothing flows: all that is between the legs stands
	// across the open limit. Two readings, each within 1 % and 3 counts.
	if v := steps[3].Reading.Value; math.Abs(v-2*steps[1].Reading.Value) > 5.5 {
		t.Errorf("across the open limit: %g V", v)
	}
	// 24 ohms hot, 3 % less cold, 0.9 % and 2 counts of a hundredth.
	if v := steps[7].Reading.Value; math.Abs(v-23.28) > 0.23+0.02 {
		t.Errorf("the element reads %g ohms, expected 23.28", v)
	}
}

// A wire goes back where it came off, whichever of its ends is named.
func TestAWireGoesBackWhereItCameOff(t *testing.T) {
	c := heater(t)
	w := c.Wire(0)
	near, far := c.PlaceName(w.From), c.PlaceName(w.To)
	s := hide(t, c, "element:open").Start()
	steps := play(t, s, "off", "prove", "dead", "lift "+w.Name+" "+far, "refit "+w.Name+" "+near)
	want := "Back as before: " + w.Name + " on " + c.PlaceLabel(w.To) + "."
	if said := steps[4].Said[0]; said != want || len(s.Lifted()) > 0 {
		t.Errorf("%q with %v off, expected %q", said, s.Lifted(), want)
	}
}

func TestMinutesArePaidPerMove(t *testing.T) {
	s := hide(t, heater(t), "element:open").Start()
	var got []float64
	for _, step := range play(t, s, "try heat", "off", "prove", "dead", "ohms el_1 el_2", "ohms fuse_1 fuse_2", "ohms fuse_1 el_1", "lift el_1", "ohms el_1 el_2", "refit el_1", "on", "prove", "amps w1", "name limit", "off", "prove", "dead", "name limit", "name element") {
		got = append(got, step.Minutes)
	}
	want := []float64{
		suspect.TrialMinutes, drill.OffMinutes, drill.ProveMinutes, drill.DeadMinutes,
		7 + 1, // the inside opened, and a second place there
		4 + 1, 1 + 1,
		suspect.LiftMinutes + 1, 1 + 1, 0,
		drill.OnMinutes, drill.ProveMinutes,
		1,                    // the clamp at the fuse's end, where the back is open
		drill.StoppedMinutes, // no part is changed with the supply on
		drill.OffMinutes, drill.ProveMinutes, drill.DeadMinutes,
		drill.WrongPartMinutes, 0,
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	if s.End() != drill.Found {
		t.Errorf("the drill is %s", s.End())
	}
	sum := 0.0
	for _, m := range want {
		sum += m
	}
	if s.Minutes() != sum {
		t.Errorf("%g minutes in all, expected %g", s.Minutes(), sum)
	}
	if _, err := s.Play(drill.Move{Verb: drill.Prove}); !errors.Is(err, drill.ErrOver) {
		t.Errorf("a move after the end: %v", err)
	}
}

func TestBudgetEndsTheDrill(t *testing.T) {
	c := heater(t)
	d := draw(t, c, drill.Options{Number: 1, Budget: 5})
	s := d.Start()
	play(t, s, "try heat", "try off", "try heat")
	if s.End() != drill.TimeIsUp {
		t.Errorf("after %g of 5 minutes the drill is %s", s.Minutes(), s.End())
	}
	score, err := s.Score(context.Background())
	if err != nil || score.Points != 0 {
		t.Errorf("%d points, error %v", score.Points, err)
	}
}

func TestTwoFaultsAreNamedOneByOne(t *testing.T) {
	c := machine(t, "range-electronic")
	d := hide(t, c, "broil_element:open", "lf_element:open")
	s := d.Start()
	steps := play(t, s, "off", "prove", "dead", "name broil_element", "name lf_element")[3:]
	if s.End() != drill.Found || !strings.Contains(strings.Join(steps[0].Said, " "), "One more is hidden") {
		t.Errorf("%s: %v", s.End(), steps[0].Said)
	}
	best, err := d.Best(context.Background())
	if err != nil || best.End() != drill.Found || best.Figures().Wrong > 0 {
		t.Errorf("the best plan: %s, %+v, error %v", best.End(), best.Figures(), err)
	}
}

func TestTheFaultHiddenIsTheTeachers(t *testing.T) {
	c := machine(t, "dryer")
	for _, ref := range []string{"supply.L2:fed=60/90", "supply.L2:fed=120/0", "heater:grounded=0.3"} {
		h := hide(t, c, ref).Hidden()[0]
		if got := c.FaultRef(h.Cause.Faults[0]); got != ref {
			t.Errorf("%s hides %s", ref, got)
		}
	}
}

// Who looks is told of a motor that hums, as the engine is.
func TestASeizedMotorIsHeard(t *testing.T) {
	s := hide(t, machine(t, "dryer"), "motor.main:seized").Start()
	if said := strings.Join(play(t, s, "try start")[0].Said, " "); !strings.Contains(said, "hums and does not turn") {
		t.Error(said)
	}
}

// A wire of a run is as right as the one at fault where no listed point tells
// them apart.
func TestAnyOfARunIsTakenAsNamed(t *testing.T) {
	c := machine(t, "water-heater")
	s := hide(t, c, "w02:open").Start()
	said := strings.Join(play(t, s, "fit breaker")[0].Said, " ")
	if s.End() != drill.Found || !strings.Contains(said, "wire w02 open") {
		t.Errorf("%s: %s", s.End(), said)
	}
}
