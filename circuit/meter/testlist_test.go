package meter_test

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/trace"
	"legtrace/netlists"
)

// sheet is how many tests a person works through without losing the thread.
const sheet = 16

// made is a list with what it was made for.
type made struct {
	name string
	c    *circuit.Circuit
	list *meter.TestList
}

// lists are made once for all tests of this file: for the largest load of every
// mode of the catalog's machines, wirings that differ in a detail left out.
var lists = sync.OnceValues(func() ([]made, error) {
	var out []made
	for _, e := range netlists.Catalog() {
		if testing.Short() && e.Name != "range-electronic" {
			continue
		}
		if variant(e.Name) {
			continue
		}
		c, err := netlists.Open(e.Name)
		if err != nil {
			return nil, err
		}
		b := meter.New(c, meter.DefaultInstrument())
		for _, m := range c.Modes() {
			load := largest(c, m)
			if load == circuit.None {
				continue
			}
			list, err := b.TestList(context.Background(), m.ID, load)
			if err != nil {
				return nil, fmt.Errorf("%s, %s: %w", e.Name, m.Name, err)
			}
			out = append(out, made{e.Name + ", " + m.Name + ", " + c.Branch(load).Ref, c, list})
		}
	}
	return out, nil
})

// variant reports whether a machine is another of the catalog with a suffix.
func variant(name string) bool {
	for _, e := range netlists.Catalog() {
		if testing.Short() && e.Name != "range-electronic" {
			continue
		}
		if strings.HasPrefix(name, e.Name+"-") {
			return true
		}
	}
	return false
}

func largest(c *circuit.Circuit, m circuit.Mode) circuit.BranchID {
	load := circuit.BranchID(circuit.None)
	for _, e := range m.Expect {
		if e.Share > 0 && (load == circuit.None || c.Branch(e.Load).Watts > c.Branch(load).Watts) {
			load = e.Load
		}
	}
	return load
}

func everyList(t *testing.T, see func(m made)) {
	t.Helper()
	all, err := lists()
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range all {
		see(m)
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
	everyList(t, func(m made) {
		list, name, c := m.list, m.name, m.c
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
			itself := s.Fault.Branch == list.Load && c.Part(c.Branch(list.Load).Part).Kind == circuit.KindControl
			if !found[i] && !itself {
				t.Errorf("%s: no step would find %s", name, c.FaultRef(s.Fault))
			}
		}
	})
}

func TestALiveRoundBeginsAtTheSupplyAndStaysOutOfThePanel(t *testing.T) {
	everyList(t, func(m made) {
		b, tracer := meter.New(m.c, meter.DefaultInstrument()), trace.New(m.c)
		o, err := b.Live(m.list.Mode, nil)
		if err != nil {
			t.Fatal(err)
		}
		upstream, first := b.Upstream(), -1
		for i, s := range m.list.Steps {
			for _, p := range []circuit.TerminalID{s.P, s.Q} {
				if part := m.c.Part(m.c.Terminal(p).Part); upstream[p] || part.Kind == circuit.KindSupply {
					t.Errorf("%s: step %d probes %s, which the machine's breaker does not cut off", m.name, i+1, m.c.Terminal(p).Ref)
				}
			}
			if !s.Live {
				continue
			}
			one, two := tracer.Way(o, s.P), tracer.Way(o, s.Q)
			if !one.Made() || !two.Made() {
				continue // behind another load
			}
			hops := max(len(one.Hops), len(two.Hops))
			if first < 0 {
				if first = hops; s.OnlyIf != circuit.None {
					t.Errorf("%s: the first live step, %d, waits for a bad reading", m.name, i+1)
				}
			}
			if hops < first {
				t.Errorf("%s: step %d is nearer the supply than the first live one", m.name, i+1)
			}
		}
	})
}

// A step that is needed only after a bad reading finds nothing that the other
// would not have found.
func TestAFollowUpIsNeededOnlyAfterABadReading(t *testing.T) {
	followUps := 0
	everyList(t, func(m made) {
		list, name := m.list, m.name
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
	everyList(t, func(m made) {
		list, name := m.list, m.name
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
