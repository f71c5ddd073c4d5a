package settle_test

import (
	"fmt"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/settle"
	"legtrace/netlists"
)

// stray is what a current that is lost in rounding makes over the kilohms of a
// coil or a lamp, in volts.
const stray = 1e-6

// idleDiffers says what a fault that is said to be idle changes; "" if nothing.
func idleDiffers(c *circuit.Circuit, sound, with *settle.Outcome, f circuit.Fault) string {
	if with.Chatter != nil || len(with.Tripped) != len(sound.Tripped) {
		return "it chatters or trips"
	}
	for i := range c.Branches() {
		b := c.Branch(circuit.BranchID(i))
		if sound.Acting[i] != with.Acting[i] || b.ID != f.Branch && sound.Conducts[i] != with.Conducts[i] {
			return b.Ref + " acts or conducts otherwise"
		}
		if b.Role == circuit.Load && (!near(complex(sound.LeastShare(b.ID), sound.MostShare(b.ID)), complex(with.LeastShare(b.ID), with.MostShare(b.ID))) || sound.Hums(b.ID) != with.Hums(b.ID)) {
			return b.Ref + " takes otherwise"
		}
	}
	for _, t := range c.Terminals() {
		if !with.AnyState.Floating[t.ID] && (sound.AnyState.Floating[t.ID] || cmplx.Abs(sound.AnyState.Volts[t.ID]-with.AnyState.Volts[t.ID]) > stray) {
			return fmt.Sprintf("%s stands at %v", t.Ref, with.AnyState.Volts[t.ID])
		}
	}
	return ""
}

// A fault that is idle changes nothing that the sound machine determines;
// of
// those of the shipped machines, most are.
func TestIdleFaultsChangeNothing(t *testing.T) {
	for _, entry := range netlists.Machines() {
		if testing.Short() && entry.Name != "range-electronic" && entry.Name != "dryer-electric" {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		e, faults := settle.New(c), singles(c)
		for _, m := range c.Modes() {
			s, err := settle.NewSweep(settle.New(c), m.ID)
			if err != nil {
				t.Fatal(err)
			}
			sound, idle := run(t, c, m.Name), 0
			for _, f := range faults {
				if !s.Idle(f) {
					continue
				}
				idle++
				with, err := e.Run(m.ID, []circuit.Fault{f})
				if err != nil {
					t.Fatal(err)
				}
				if what := idleDiffers(c, sound, with, f); what != "" {
					t.Errorf("%s in %s, %s: %s", entry.Name, m.Name, c.Describe(f), what)
				}
			}
			if m.ID == c.OffMode() && 4*idle < len(faults) {
				t.Errorf("%s in Off: %d of %d faults are idle, few", entry.Name, idle, len(faults))
			}
		}
	}
}

func TestIdleFaultsOfRandomMachines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := randomMachine(t, 0.03)
		e := settle.New(c)
		for _, m := range c.Modes() {
			s, err := settle.NewSweep(settle.New(c), m.ID)
			if err != nil {
				t.Fatal(err)
			}
			sound, err := e.Run(m.ID, nil)
			if err != nil {
				t.Fatal(err)
			}
			for range 8 {
				f := circuittest.DrawFault(t, c)
				if !s.Idle(f) {
					continue
				}
				with, err := settle.New(c).Run(m.ID, []circuit.Fault{f})
				if err != nil {
					t.Fatal(err)
				}
				if what := idleDiffers(c, sound, with, f); what != "" {
					t.Fatalf("in %s, %s: %s", m.Name, c.Describe(f), what)
				}
			}
		}
	})
}
