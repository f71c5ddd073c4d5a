package drill_test

import (
	"fmt"
	"strings"
	"testing"

	"legtrace/circuit/drill"
)

func TestUnsafeActsAreStoppedAndTold(t *testing.T) {
	c := heater(t)
	for _, k := range []struct {
		name  string
		moves []string // the last is stopped
		rule  drill.Rule
		says  string
	}{
		{"ohms with the supply on", []string{"prove", "ohms el_1 el_2 in heat"}, drill.OhmsLive, `On a sound machine in "Heat" element 1 stands at 1[12]\d V and element 2 at 1[12]\d V`},
		{"continuity too", []string{"continuity fuse_1 fuse_2"}, drill.OhmsLive, "fuse 1 stands at"},
		{"at dead points, with others live", []string{"ohms lamp_2 chassis"}, drill.OhmsLive, ", though nothing where you chose."},
		{"a lead lifted at Off", []string{"lift el_2"}, drill.LiftLive, "element 2 stands at"},
		{"a part changed with the supply on", []string{"name limit"}, drill.PartLive, "element 1|live|stands at"},
		{"the right one too", []string{"name element"}, drill.PartLive, ""},
		{"a part changed, not tested", []string{"off", "name limit"}, drill.NotTested, ""},
		{"off, not tested", []string{"off", "ohms el_1 el_2"}, drill.NotTested, "prove the meter and test dead"},
		{"off, proved, not tested", []string{"off", "prove", "lift el_1"}, drill.NotTested, ""},
		{"tested with a meter not proved", []string{"off", "dead"}, drill.DeadUnproved, "calls everything dead"},
		{"proved with the supply on counts no more", []string{"prove", "off", "dead"}, drill.DeadUnproved, ""},
		{"volts with a meter not proved", []string{"volts el_1 el_2 in heat"}, drill.LiveUnproved, "element 1 stands at"},
		{"low impedance too", []string{"try heat", "lowz el_1 lamp_2"}, drill.LiveUnproved, ""},
		{"supply on with a live lead loose", []string{"off", "prove", "dead", "lift fuse_1", "on"}, drill.LooseLive, `wire w1 off fuse 1 would be live`},
		{"tested before, on and off again", []string{"off", "prove", "dead", "on", "off", "ohms el_1 el_2"}, drill.NotTested, ""},
	} {
		t.Run(k.name, func(t *testing.T) {
			d := hide(t, c, "element:open")
			s := d.Start()
			steps := play(t, s, k.moves...)
			last := steps[len(steps)-1]
			if last.Unsafe == nil || last.Unsafe.Rule != k.rule {
				t.Fatalf("not stopped by %q: %+v", k.rule, last)
			}
			if last.Reading != nil || last.Minutes != drill.StoppedMinutes || len(last.Evidence) > 0 {
				t.Errorf("stopped, and yet %+v", last)
			}
			for _, step := range steps[:len(steps)-1] {
				if step.Unsafe != nil {
					t.Errorf("%s was stopped too: %v", step.Text, step.Said)
				}
			}
			matches(t, strings.Join(last.Said, " "), k.says)
			if n := s.Figures().Unsafe; n != 1 {
				t.Errorf("%d unsafe acts counted", n)
			}
		})
	}
}

func TestSafeWaysAreNotStopped(t *testing.T) {
	c := heater(t)
	for _, moves := range [][]string{
		{"prove", "volts el_1 el_2 in heat", "amps w1"},
		{"amps w1"}, // a clamp touches nothing bare
		{"off", "volts el_1 el_2"},
		{"off", "prove", "dead", "ohms el_1 el_2", "lift el_1", "ohms el_1 el_2", "refit el_1", "on", "prove", "volts el_1 el_2 in heat"},
		{"off", "prove", "dead", "lift lamp_2", "refit lamp_2", "on"},
	} {
		for _, step := range play(t, hide(t, c, "element:open").Start(), moves...) {
			if step.Unsafe != nil {
				t.Errorf("%v: %s was stopped: %v", moves, step.Text, step.Said)
			}
		}
	}
}

func TestMovesThatMakeNoSenseCostNothing(t *testing.T) {
	c := heater(t)
	for _, moves := range [][]string{
		{"on"}, {"off", "off"}, {"off", "try heat"}, {"dead"}, {"refit el_1"}, {"off", "prove", "dead", "lift el_1", "lift el_1"},
	} {
		s := hide(t, c, "element:open").Start()
		play(t, s, moves[:len(moves)-1]...)
		before := s.Minutes()
		m, err := drill.Parse(c, moves[len(moves)-1])
		if err != nil {
			t.Fatal(err)
		}
		if step, err := s.Play(m); err == nil {
			t.Errorf("%v: %+v", moves, step)
		}
		if s.Minutes() != before {
			t.Errorf("%v: cost %g minutes", moves, s.Minutes()-before)
		}
	}
}

// Every rule is listed once with what it says.
func TestRulesAreAllTold(t *testing.T) {
	told := map[drill.Rule]bool{}
	for _, r := range drill.Rules() {
		if told[r.Rule] || r.Says == "" {
			t.Errorf("%s: %q", r.Rule, r.Says)
		}
		told[r.Rule] = true
	}
	for _, r := range []drill.Rule{drill.OhmsLive, drill.LiftLive, drill.NotTested, drill.DeadUnproved, drill.LiveUnproved, drill.LooseLive} {
		if !told[r] {
			t.Errorf("%s is not told", fmt.Sprint(r))
		}
	}
}
