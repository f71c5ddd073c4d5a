package suspect_test

import (
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/netlists"
)

// sheetFor is the sheet for a machine of the catalog and what was seen of it.
func sheetFor(t *testing.T, name string, seen suspect.Note) (*circuit.Circuit, *suspect.Sheet) {
	t.Helper()
	c := machine(t, name)
	s, err := engine(t, c, suspect.Options{Order: 1}, seen).Sheet(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return c, s
}

// Every load that a mode of the catalog uses, dead in it: the sheet fits two
// pages, takes no ohms live, stays out of the house's panel, sends nobody on to
// a step that is not there, and takes no reading twice on one way.
func TestASheetForEveryDeadLoad(t *testing.T) {
	for i, entry := range netlists.Catalog() {
		if testing.Short() && entry.Name != "range-electronic" && entry.Name != "dryer" || !circuittest.Sampled(i, 3) {
			continue
		}
		if slices.ContainsFunc(netlists.Catalog(), func(e netlists.Entry) bool { return strings.HasPrefix(entry.Name, e.Name+"-") }) {
			continue
		}
		c := machine(t, entry.Name)
		e := engine(t, c, suspect.Options{Order: 1})
		upstream := e.Bench().Upstream()
		for _, m := range c.Modes() {
			for _, x := range m.Expect {
				if x.Share <= 0 || c.Branch(x.Load).Watts < 500 {
					continue
				}
				where := entry.Name + ", " + m.Name + ", " + c.Branch(x.Load).Ref
				e.Forget()
				tell(t, e, suspect.Evidence{Symptom: &suspect.Symptom{Mode: m.ID, Load: x.Load, State: circuit.Dead}})
				s, err := e.Sheet(t.Context())
				if err != nil {
					t.Fatal(err)
				}
				if n := len(s.Steps); n == 0 || n > 16 {
					t.Errorf("%s: %d steps", where, n)
				}
				for i, step := range s.Steps {
					if !step.Probing() {
						continue
					}
					if step.Live == (step.Probes.Function == meter.Ohms) {
						t.Errorf("%s: step %d takes %s with the supply live %t", where, i+1, step.Probes.Function, step.Live)
					}
					if upstream[step.Probes.P] || upstream[step.Probes.Q] {
						t.Errorf("%s: step %d probes what the machine's breaker does not cut off", where, i+1)
					}
					if step.OnlyIf >= i {
						t.Errorf("%s: step %d waits for step %d", where, i+1, step.OnlyIf+1)
					}
					for _, o := range step.Bad {
						if step.Probing() && o.Then != circuit.None && (o.Then <= i || s.Steps[o.Then].OnlyIf != i) {
							t.Errorf("%s: step %d sends on to step %d", where, i+1, o.Then+1)
						}
						if !step.Must && len(o.Any) == 0 {
							t.Errorf("%s: step %d reads bad for nothing", where, i+1)
						}
					}
					for up := step.OnlyIf; up != circuit.None; up = s.Steps[up].OnlyIf {
						u := s.Steps[up]
						if u.Probes.P == step.Probes.P && u.Probes.Q == step.Probes.Q && u.Live == step.Live && u.Mode == step.Mode && slices.Equal(u.Lift, step.Lift) {
							t.Errorf("%s: step %d is step %d once more", where, i+1, up+1)
						}
					}
				}
			}
		}
	}
}

// An element is measured to metal whatever the complaint: one gone to its sheath
// may still heat (common practice, no source).
func TestASheetMeasuresTheElementToItselfAndToMetal(t *testing.T) {
	for _, x := range [][3]string{{"range-electronic", "broil", "broil_element"}, {"dryer", "timed_dry", "heater"}, {"water-heater", "cold_tank", "upper_element"}} {
		c, s := sheetFor(t, x[0], suspect.Note{Mode: x[1], Load: x[2], State: "dead"})
		own, metal := false, false
		for _, step := range s.Steps {
			p, q := c.Terminal(step.Probes.P), c.Terminal(step.Probes.Q)
			if !step.Probing() || step.Live || step.OnlyIf != circuit.None || c.Part(p.Part).Name != x[2] {
				continue
			}
			own = own || c.Part(q.Part).Name == x[2]
			if q.Ref == circuit.ChassisName {
				metal = true
				if !step.Good.Reading.OL {
					t.Errorf("%s: a sound %s reads %s to metal", x[0], x[2], step.Good.Reading.Range())
				}
				if len(step.Bad) == 0 || step.Bad[0].Reading.OL {
					t.Errorf("%s: no reading to metal is bad", x[0])
				}
			}
		}
		if !own || !metal {
			t.Errorf("%s: %s to itself %t, to metal %t", x[0], x[2], own, metal)
		}
	}
}

// On a machine on which nothing comes on, the supply is read first: each leg to
// the other, to neutral and to metal, and neutral to metal (common practice, no
// source).
func TestASheetForADeadMachineBeginsAtTheSupply(t *testing.T) {
	c, s := sheetFor(t, "range-electronic", suspect.Note{Mode: "bake", AllDead: true})
	var got []string
	for _, step := range s.Steps {
		if step.Live && step.Probing() && step.OnlyIf == circuit.None {
			got = append(got, c.PlaceName(step.Probes.P)+" "+c.PlaceName(step.Probes.Q))
		}
	}
	for _, want := range []string{"tb_l1 tb_l2", "tb_l1 tb_n", "tb_l2 tb_n", "tb_l1 frame", "tb_l2 frame", "tb_n frame"} {
		p, q, _ := strings.Cut(want, " ")
		if !slices.Contains(got, want) && !slices.Contains(got, q+" "+p) {
			t.Errorf("%s is not read; what is: %v", want, got)
		}
	}
	if first, next := s.Steps[0], s.Steps[1]; first.Ask != suspect.Press || !next.Live || !next.Probing() {
		t.Errorf("not the breaker first, and then the supply where it comes in")
	}
}

// When all else read good a sheet has what comes by waiting looked at, last of all; not
// where what should bring it about is said not to heat.
func TestASheetEndsWithWhatComesByWaiting(t *testing.T) {
	for _, of := range []struct {
		name  string
		seen  suspect.Note
		waits bool
	}{
		{"water-heater", suspect.Note{Mode: "cold_tank", Told: "runs_out"}, true},
		{"dryer", suspect.Note{Mode: "timed_dry", Load: "heater", State: "dead"}, false},
		{"dryer", suspect.Note{Mode: "auto_dry", Load: "heater", State: "dead"}, false},
	} {
		c, s := sheetFor(t, of.name, of.seen)
		waits := func(step suspect.Step) bool {
			return step.Trial && c.Mode(step.Mode).Reached == circuit.ByWaiting
		}
		n := len(s.Steps)
		if got := waits(s.Steps[n-1]); got != of.waits {
			t.Errorf("%s, %+v: the last step waits: %t", of.name, of.seen, got)
		}
		if slices.ContainsFunc(s.Steps[:n-1], waits) {
			t.Errorf("%s, %+v: a step waits before others", of.name, of.seen)
		}
	}
}

// A sheet puts a clamp around each leg where it comes in, under load, of a machine that
// draws: what the heater's leg shows, and the one that the motor runs on too, tells a
// circuit that is open from one that draws too little, and leaves no step out. A heater's
// way to metal is read while its own panel is off (common practice, no source).
func TestASheetPutsAClampAroundEachLeg(t *testing.T) {
	c := machine(t, "dryer")
	s, err := engine(t, c, suspect.Options{}, suspect.Note{Mode: "timed_dry", Load: "heater", State: "dead"}).Sheet(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var clamps, heater []int
	for i, step := range s.Steps {
		if step.Probes.Function == meter.Amps {
			clamps = append(clamps, i)
			if step.Good.Reading.Low < 15 || len(step.Bad) < 2 || c.Mode(step.Mode).Name != "timed_dry" {
				t.Errorf("%s: good %s, %d bad", step.Probes.Name, step.Good.Reading.Range(), len(step.Bad))
			}
		}
		if strings.HasPrefix(step.Probes.Name, "heater_1 to") && !step.Live {
			heater = append(heater, i)
		}
	}
	if len(heater) != 2 || heater[1] == len(s.Steps)-1 {
		t.Errorf("heater's own ohms and those to metal at %v of %d steps", heater, len(s.Steps))
	}
	if len(clamps) != 2 {
		t.Errorf("%d clamps", len(clamps))
	}
}
