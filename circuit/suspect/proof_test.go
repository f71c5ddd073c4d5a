package suspect_test

import (
	"context"
	"slices"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
)

// proofOf is the proof of the repair of a fault, after what was seen.
func proofOf(t *testing.T, c *circuit.Circuit, mended string, seen ...suspect.Note) *suspect.Proof {
	t.Helper()
	e := engine(t, c, suspect.Options{})
	for _, n := range seen {
		ev, err := n.Resolve(c)
		if err != nil {
			t.Fatal(err)
		}
		if err := e.Add(context.Background(), ev); err != nil {
			t.Fatal(err)
		}
	}
	faults, err := c.ParseFault(mended)
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range suspect.Classes(c) {
		if f := k.Members[0].Faults; len(f) == 1 && f[0].Branch == faults[0].Branch && f[0].Kind == faults[0].Kind {
			p, err := e.Proof(context.Background(), []suspect.Class{k})
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
	}
	t.Fatalf("nothing is mended by %s", mended)
	return nil
}

// A tank whose lower element was replaced is proved with the top hot: cold, its upper
// element would heat as well with the lower one still open. Neither is to be seen, and
// a clamp reads 240 V over 12.8 ohms, 18.75 A.
func TestARepairIsProvedWhereItsFaultWouldShow(t *testing.T) {
	c := machine(t, "water-heater")
	p := proofOf(t, c, "lower_element:open", suspect.Note{Told: "runs_out"})
	if len(p.Checks) == 0 || !p.Checks[0].Trial || c.Mode(p.Checks[0].Mode).Name != "top_hot" {
		t.Fatalf("first check: %+v", p.Checks)
	}
	lower, err := c.FindLoad("lower_element")
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(p.Checks[0].Bad, lower) {
		t.Errorf("the lower element is not looked at: %v", p.Checks[0].Bad)
	}
	clamps := engine(t, c, suspect.Options{}).Hidden(p.Checks[0].Mode, p.Checks[0].Loads)
	if len(clamps) != 1 || clamps[0].Load != lower || clamps[0].Reading.Low > 18.75 || clamps[0].Reading.High < 18.75 {
		t.Errorf("clamps: %+v", clamps)
	}
	if len(p.Notes) != 1 {
		t.Errorf("a tank is filled before: %q", p.Notes)
	}
}

// A dryer's new heater is proved where it heats, though no search tries a mode that a
// start button begins; with that, nothing of the timer is left to be measured.
func TestAHeaterIsProvedWhereItHeats(t *testing.T) {
	c := machine(t, "dryer")
	p := proofOf(t, c, "heater:open", suspect.Note{Mode: "timed_dry", Load: "heater", State: "dead"})
	if len(p.Checks) != 1 || !p.Checks[0].Trial || c.Mode(p.Checks[0].Mode).Name != "timed_dry" {
		t.Errorf("checks: %+v", p.Checks)
	}
}

// Whatever shows by eye somewhere has a check in its proof that it would fail, and all
// that is read with the supply removed is read before that comes back.
func TestEveryProofWouldFailWithTheFaultLeftIn(t *testing.T) {
	for _, x := range []struct{ machine, mended string }{
		{"water-heater", "lower_thermostat:open"}, {"water-heater", "upper_thermostat.no:open"}, {"water-heater", "upper_element:open"},
		{"dryer", "thermal_cutoff:open"}, {"range-electronic", "broil_relay.contact:open"}, {"range-electronic", "bake_element:open"},
		{"oven-gas", "bake_igniter:open"},
	} {
		c := machine(t, x.machine)
		if _, err := c.ParseFault(x.mended); err != nil {
			t.Errorf("%s: %v", x.machine, err)
			continue
		}
		p := proofOf(t, c, x.mended)
		faults, _ := c.ParseFault(x.mended)
		e := engine(t, c, suspect.Options{})
		live, fails := false, false
		for _, k := range p.Checks {
			if live && !k.Live {
				t.Errorf("%s, %s: a dead check after a live one", x.machine, x.mended)
			}
			live = live || k.Live
			if k.Trial {
				b, err := e.Trial(k.Mode, k.Loads, faults)
				if err != nil {
					t.Fatal(err)
				}
				fails = fails || !slices.Equal(b.States, k.States)
			}
		}
		if !fails {
			t.Errorf("%s, %s: no check would show it still there", x.machine, x.mended)
		}
	}
}

// Behind a relay whose contact burnt the element is read to metal before power, and to
// itself unless that was read before.
func TestWhatABurntContactFedIsReadBeforePower(t *testing.T) {
	c := machine(t, "range-electronic")
	dead := suspect.Note{Mode: "broil", Load: "broil_element", State: "dead"}
	p := proofOf(t, c, "broil_relay.contact:open", dead)
	own := suspect.Note{Mode: "off", Function: "ohms", P: "broil_1", Q: "broil_2", Answer: "17"}
	read := proofOf(t, c, "broil_relay.contact:open", dead, own)
	count := func(p *suspect.Proof) (metal, self int) {
		for _, k := range p.Checks {
			if k.Live {
				break
			}
			if k.Probes.Function == meter.Ohms && (k.Probes.P == c.ChassisTerminal() || k.Probes.Q == c.ChassisTerminal()) {
				metal++
			} else {
				self++
			}
		}
		return metal, self
	}
	if metal, self := count(p); metal != 1 || self != 1 {
		t.Errorf("%d to metal, %d to itself", metal, self)
	}
	if metal, self := count(read); metal != 1 || self != 0 {
		t.Errorf("after its ohms were read: %d to metal, %d to itself", metal, self)
	}
}

// What a customer said alone names no part while a test that takes less than a wrong part
// costs would prove it (common practice, no source).
func TestAComplaintAloneIsProvedFirst(t *testing.T) {
	full := suspect.Note{Told: "full", Load: "lf_element"}
	if p := nextOf(t, "range-electronic", full)[0]; !p.Proves() || p.Lead.P > 0.95 {
		t.Errorf("%s, named without a test at %.2f", p.Lead.Label, p.Lead.P)
	}
	measured := suspect.Note{Mode: "lf_surface", Function: "ohms", P: "lf_switch.L1", Q: "lf_switch.H1", Answer: "0.1"}
	if e := engine(t, machine(t, "range-electronic"), suspect.Options{Order: 2}, full, measured); !e.Finding().Sure {
		t.Error("measured, and not sure")
	}
}
