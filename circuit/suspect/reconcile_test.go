package suspect_test

import (
	"errors"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/suspect"
)

func ohms(p, q, answer string) suspect.Note {
	return suspect.Note{Mode: "broil", Function: "ohms", P: p, Q: q, Answer: answer}
}

// An element that is said to work reads OL: one of the two is wrong.
func TestAnElementThatWorksReadsOpen(t *testing.T) {
	m := engine(t, machine(t, "range-electronic"), suspect.Options{}, bakeWorks, ohms("bake_1", "bake_2", "OL")).Misfit()
	if m == nil || !slices.Equal(m.Pieces, []int{1}) || !slices.Equal(m.Against, []int{0}) {
		t.Fatalf("nobody complains of bake: %+v", m)
	}
	if r := m.Instead[0].Reading; r == nil || r.Low < 15 || r.High > 30 || len(m.Then.Causes) > 0 {
		t.Errorf("it would read %v, and it be %s", r, m.Then.Words())
	}
	// A second look with the meter finds the same: the customer errs.
	m = engine(t, machine(t, "range-electronic"), suspect.Options{}, bakeWorks, ohms("bake_1", "bake_2", "OL"), ohms("bake_1", "bake_2", "OL")).Misfit()
	if m == nil || !slices.Equal(m.Pieces, []int{0}) || !slices.Equal(m.Against, []int{1, 2}) {
		t.Fatalf("OL twice: %+v", m)
	}
	if m.Instead[0].State != circuit.Dead || m.Then.Words() != "Bake element open" {
		t.Errorf("bake would have to be %s, and it be %s", m.Instead[0].State, m.Then.Words())
	}
}

// A reading that two others contradict is the one that is wrong.
func TestADoubtfulReadingAgainstTwoOthers(t *testing.T) {
	e := engine(t, machine(t, "range-electronic"), suspect.Options{}, coldBroiler, ohms("broil_1", "broil_2", "17"), ohms("broil_1", "broil_2", "OL"), ohms("broil_1", "broil_2", "16.8"), bakeWorks)
	m := e.Misfit()
	if m == nil || !slices.Equal(m.Pieces, []int{2}) || !slices.Equal(m.Against, []int{1, 3}) {
		t.Fatalf("OL against 17 and 16.8 ohms: %+v", m)
	}
	if r := m.Instead[0].Reading; r == nil || r.OL || r.Low > 16.8 || r.High < 17 {
		t.Errorf("it would fit at %v", r)
	}
}

// What two faults at once explain is no contradiction: bake works, which speaks
// against 47 ohms of its sensor; a broil element that is open does not.
func TestWhatHasNothingToDoWithAMisfitIsNotBlamed(t *testing.T) {
	m := engine(t, machine(t, "range-electronic"), suspect.Options{}, coldBroiler, bakeWorks, ohms("broil_1", "broil_2", "OL"), ohms("sensor_s1", "sensor_s2", "47")).Misfit()
	if m == nil || !slices.Equal(m.Pieces, []int{3}) || !slices.Equal(m.Against, []int{1}) {
		t.Fatalf("47 ohms at the sensor while bake works: %+v", m)
	}
	if r := m.Instead[0].Reading; m.Then.Words() != "Broil element open" || r.Low < 900 || r.High > 1200 {
		t.Errorf("%s, the sensor at %s", m.Then.Words(), r.Range())
	}
}

// The change that is named reconciles: with the piece taken back, or answered as
// it is told to have had to be, nothing is a misfit any more.
func TestTheNamedChangeReconciles(t *testing.T) {
	c := machine(t, "range-electronic")
	pins := [][2]string{{"broil_1", "broil_2"}, {"bake_1", "bake_2"}, {"sensor_s1", "sensor_s2"}, {"fuse_line", "fuse_load"}}
	found := 0
	e, other := engine(t, c, suspect.Options{Order: 1}), engine(t, c, suspect.Options{Order: 1})
	add := func(rt *rapid.T, e *suspect.Engine, ev suspect.Evidence) {
		if err := e.Add(t.Context(), ev); err != nil && !errors.Is(err, suspect.ErrNothingFits) {
			rt.Fatal(err)
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		if !circuittest.Sampled(rapid.IntRange(0, 2).Draw(rt, "sample"), 3) {
			return
		}
		state := rapid.SampledFrom([]string{"dead", "normal", "weak"})
		notes := []suspect.Note{{Mode: "broil", Load: "broil_element", State: state.Draw(rt, "broil")}, {Mode: "bake", Load: "bake_element", State: state.Draw(rt, "bake")}}
		for _, p := range pins {
			if a := rapid.SampledFrom([]string{"", "OL", "0.2", "17", "1080", "47"}).Draw(rt, p[0]); a != "" {
				notes = append(notes, ohms(p[0], p[1], a))
			}
		}
		e.Forget()
		for _, n := range notes {
			ev, err := n.Resolve(c)
			if err != nil {
				rt.Fatal(err)
			}
			add(rt, e, ev)
		}
		m := e.Misfit()
		if m == nil || len(m.Instead) == 0 {
			return
		}
		found++
		for _, back := range []bool{true, false} {
			other.Forget()
			for i, ev := range e.Evidence() {
				if at := slices.Index(m.Pieces, i); at >= 0 && back {
					continue
				} else if at >= 0 {
					ev = answered(ev, m.Instead[at])
				}
				add(rt, other, ev)
			}
			if !other.Fits() {
				rt.Fatalf("%+v: with %d changed to %+v (taken back: %v) it fits no better, though %s were then likeliest", notes, m.Pieces, m.Instead, back, m.Then.Words())
			}
		}
	})
	if found == 0 {
		t.Error("no misfit was drawn")
	}
}

// answered is evidence with another answer.
func answered(ev suspect.Evidence, in suspect.Instead) suspect.Evidence {
	if r := in.Reading; r != nil {
		o := *ev.Reading
		o.OL, o.Unsteady, o.Value = r.OL, r.Unsteady, (r.Low+r.High)/2
		ev.Reading = &o
		return ev
	}
	s := *ev.Symptom
	s.State = in.State
	ev.Symptom = &s
	return ev
}

// Ohms of near nothing across a heater are no open one, whatever else they are: what
// explains the rest is none that they deny, and the short that they speak for is told.
func TestNearNothingIsNoOpen(t *testing.T) {
	notes := []suspect.Note{{Mode: "timed_dry", Load: "heater", State: "dead"}, {Mode: "timed_dry", Load: "motor.main", State: "normal"},
		{Mode: "timed_dry", Function: "ohms", P: "heater_1", Q: "heater_2", Answer: "0.1"}, {Mode: "timed_dry", Quiet: "heater motor.main"}}
	m := engine(t, machine(t, "dryer"), suspect.Options{}, notes...).Misfit()
	if m == nil || !slices.Equal(m.Pieces, []int{2}) {
		t.Fatalf("0.1 ohms while the drum turns: %+v", m)
	}
	if words := m.Then.Words(); len(m.Then.Causes) == 0 || words == "Heater open" {
		t.Errorf("0.1 ohms across it, and the rest is explained best by %q", words)
	}
	if words := m.Alone.Words(); words != "Heater shorted" {
		t.Errorf("0.1 ohms by themselves speak for %q", words)
	}
	if r := m.Instead[0].Reading; r == nil || r.OL || r.Low < 8 || r.High > 14 {
		t.Errorf("it would fit at %v", r)
	}
}

// What was seen at one of a class that no probe tells apart fits that class; what no part
// of the machine explains speaks for nothing, and fights with nothing.
func TestWhatOneOfAClassExplainsFits(t *testing.T) {
	for name, told := range map[string][]suspect.Note{
		"range-electronic": {{Told: "burnt", Part: "terminal_block"}, {Told: "burnt", Part: "cord"}, {Told: "lights_bright"}, {Told: "loose"}, {Told: "bare"},
			{Told: "melted", Part: "oven_sensor", At: "joint"}, {Told: "burnt", Part: "control"}},
		"oven-double": {{Told: "door_locked"}},
	} {
		for _, n := range told {
			if m := engine(t, machine(t, name), suspect.Options{Order: 1}, n).Misfit(); m != nil {
				t.Errorf("%s, %s %s: said to fit nothing", name, n.Told, n.Part)
			}
		}
	}
	dead := suspect.Note{Mode: "bake", AllDead: true}
	e := engine(t, machine(t, "range-electronic"), suspect.Options{}, dead, suspect.Note{Told: "burnt", Part: "terminal_block"}, suspect.Note{Told: "burnt", Part: "cord"})
	if m := e.Misfit(); m != nil {
		t.Errorf("dead, cord and terminal block burnt where they meet: %d fits nothing, first %s", m.Pieces, e.Suspects(1)[0].Words())
	}
}

// OL twice and then its ohms: a winding whose broken ends touch now and then.
func TestOhmsThatComeAndGoAreExplained(t *testing.T) {
	for _, read := range [][]string{{"OL", "OL", "22"}, {"22", "OL", "OL"}} {
		seen := []suspect.Note{{Mode: "bake", Load: "bake_element", State: "dead"}}
		for _, a := range read {
			seen = append(seen, ohms("bake_1", "bake_2", a))
		}
		e := engine(t, machine(t, "range-electronic"), suspect.Options{}, seen...)
		if s := e.Suspects(1)[0]; s.Words() != "Bake element open" || !e.Fits() {
			t.Errorf("%v: first %s at %.2f, fits %v", read, s.Words(), s.P, e.Fits())
		}
	}
	e := engine(t, machine(t, "range-electronic"), suspect.Options{}, suspect.Note{Mode: "bake", Load: "bake_element", State: "dead"}, bakeWorks)
	if s := e.Suspects(1)[0]; !e.Fits() {
		t.Errorf("dead, then it works: a misfit though the first is %s", s.Words())
	}
}

// A reading that jumps speaks for a joint that comes and goes, not for one that is open
// always, and fits it; OL of which nobody is sure says less than OL.
func TestWhatJumpsComesAndGoes(t *testing.T) {
	c := machine(t, "dryer")
	goes := func(seen ...suspect.Note) (p float64, e *suspect.Engine) {
		e = engine(t, c, suspect.Options{}, seen...)
		for _, s := range e.Suspects(40) {
			for _, m := range s.Causes[:min(1, len(s.Causes))] {
				if refs := m.Refs(c); slices.Contains(refs, "supply.L1:open") || slices.Contains(refs, "supply.L2:open") {
					p += s.P
				}
			}
		}
		return p, e
	}
	dead := []suspect.Note{{Mode: "timed_dry", Load: "heater", State: "dead"}, {Load: "heater", Told: "intermittent"}}
	was, _ := goes(dead...)
	is, e := goes(append(dead, suspect.Note{Mode: "timed_dry", Function: "volts", P: "tb_l1", Q: "tb_l2", Answer: "jumps between 0 and 240"})...)
	if is < 2*was || is < 0.7 || !e.Fits() {
		t.Errorf("a leg open now and then at %.2f, with volts that jump at %.2f, fits %v", was, is, e.Fits())
	}
	c = machine(t, "range-electronic")
	open := func(answer string) float64 {
		e := engine(t, c, suspect.Options{}, bakeDead, ohms("bake_1", "bake_2", answer))
		for _, s := range e.Suspects(40) {
			if s.Words() == "Bake element open" {
				return s.P
			}
		}
		return 0
	}
	if sure, unsure := open("OL"), open("OL, not sure"); unsure > sure-0.05 {
		t.Errorf("the element is open by OL at %.2f, by OL that is not sure at %.2f", sure, unsure)
	}
}
