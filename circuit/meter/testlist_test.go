package meter_test

import (
	"context"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/netlists"
)

// sheet is how many tests a person works through without losing the thread.
const sheet = 16

// everyList makes the list of every load that every mode of the catalog
// expects on.
func everyList(t *testing.T, see func(x tester, mode circuit.Mode, load string, list *meter.TestList)) {
	for _, e := range netlists.Catalog() {
		x := open(t, e.Name)
		for _, m := range x.c.Modes() {
			for _, want := range m.Expect {
				if want.Share == 0 {
					continue
				}
				list, err := x.b.TestList(context.Background(), m.ID, want.Load)
				if err != nil {
					t.Fatalf("%s, %s: %v", e.Name, m.Name, err)
				}
				see(x, m, e.Name+", "+m.Name+", "+x.c.Branch(want.Load).Ref, list)
			}
		}
	}
}

func finds(s *meter.Step) map[int]bool {
	out := map[int]bool{}
	for _, o := range s.Others {
		for _, i := range o.Suspects {
			if o.Differs {
				out[i] = true
			}
		}
	}
	return out
}

func TestAListFitsASheetAndMissesNothing(t *testing.T) {
	everyList(t, func(x tester, _ circuit.Mode, name string, list *meter.TestList) {
		if n := len(list.Steps); n == 0 || n > sheet {
			t.Errorf("%s: %d steps", name, n)
		}
		found := map[int]bool{}
		for i := range list.Steps {
			for k := range finds(&list.Steps[i]) {
				found[k] = true
			}
		}
		for i, s := range list.Suspects {
			// A control that is fed and does nothing is found by what is left.
			itself := s.Fault.Branch == list.Load && x.c.Part(x.c.Branch(list.Load).Part).Kind == circuit.KindControl
			if !found[i] && !itself {
				t.Errorf("%s: no step would find %s", name, x.c.FaultRef(s.Fault))
			}
		}
	})
}

func TestALiveRoundBeginsAtTheSupplyAndStaysOutOfThePanel(t *testing.T) {
	everyList(t, func(x tester, _ circuit.Mode, name string, list *meter.TestList) {
		upstream, supply := x.b.Upstream(), false
		for i, s := range list.Steps {
			for _, p := range []circuit.TerminalID{s.P, s.Q} {
				if upstream[p] {
					t.Errorf("%s: step %d probes %s, which the machine's breaker does not cut off", name, i+1, x.c.Terminal(p).Ref)
				}
			}
			if s.Live && !supply {
				supply = true
				if part := x.c.Part(x.c.Terminal(s.P).Part); part.Kind != circuit.KindTerminalBlock {
					t.Errorf("%s: the first live step is at %s, expected the terminal block", name, x.c.Terminal(s.P).Ref)
				}
			}
		}
	})
}

// A step that is needed only after a bad reading finds nothing that the other
// would not have found.
func TestAFollowUpIsNeededOnlyAfterABadReading(t *testing.T) {
	followUps := 0
	everyList(t, func(_ tester, _ circuit.Mode, name string, list *meter.TestList) {
		for i, s := range list.Steps {
			if s.OnlyIf == circuit.None {
				continue
			}
			followUps++
			if s.OnlyIf >= i {
				t.Errorf("%s: step %d waits for step %d", name, i+1, s.OnlyIf+1)
				continue
			}
			wider := finds(&list.Steps[s.OnlyIf])
			for k := range finds(&s) {
				if !wider[k] {
					t.Errorf("%s: step %d finds suspect %d, which step %d does not", name, i+1, k, s.OnlyIf+1)
				}
			}
		}
	})
	if followUps == 0 {
		t.Error("no list has a follow-up")
	}
}

// No list asks for the same reading twice.
func TestNoReadingIsTakenTwice(t *testing.T) {
	everyList(t, func(x tester, _ circuit.Mode, name string, list *meter.TestList) {
		type reading struct {
			f    meter.Function
			p, q circuit.TerminalID
			live bool
			mode circuit.ModeID
			lift int
		}
		seen := map[reading]int{}
		for i, s := range list.Steps {
			r := reading{s.Function, s.P, s.Q, s.Live, s.Mode, len(s.Lift)}
			if first, twice := seen[r]; twice {
				t.Errorf("%s: steps %d and %d are the same", name, first+1, i+1)
			}
			seen[r] = i
		}
	})
}
