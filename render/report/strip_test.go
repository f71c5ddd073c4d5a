package report_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/render/report"
)

func TestSingleLoadViewOfTheBroilElement(t *testing.T) {
	_, r := machine(t, "range-electronic")
	s, _, err := r.Strip(context.Background(), ask(t, r, "broil", "broil_element"), report.DrawingOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, w := range s.Ways {
		got = append(got, w.Heading)
	}
	want := []string{"Feed of the broil element", "Feed of the oven control", "Oven control must see oven temperature"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Every way hangs together from hop to hop, and begins and ends at a conductor
// of the supply or says where else.
func TestWaysHangTogether(t *testing.T) {
	for _, e := range netlists.Machines() {
		if testing.Short() && e.Name != "range-electronic" {
			continue
		}
		c, r := machine(t, e.Name)
		for i := range c.Modes() {
			q := ask(t, r, c.Modes()[i].Name, c.Branch(c.Loads()[i%len(c.Loads())]).Ref)
			s, _, err := r.Strip(context.Background(), q, report.DrawingOptions{})
			if err != nil {
				t.Fatalf("%s, %s: %v", c.Name(), c.Modes()[i].Name, err)
			}
			for _, w := range s.Ways {
				at := circuit.TerminalID(circuit.None)
				for k, h := range w.Hops {
					if k > 0 && h.From != at {
						t.Errorf("%s, %s, %q: hop %d begins where the one before does not end", c.Name(), c.Modes()[i].Name, w.Heading, k)
					}
					at = h.To
				}
				if first := w.Hops[0]; (first.From == circuit.None) != (w.Start == "") {
					t.Errorf("%s, %s, %q: it starts at terminal %d and says %q", c.Name(), c.Modes()[i].Name, w.Heading, first.From, w.Start)
				}
				if (at == circuit.None) != (w.End == "") {
					t.Errorf("%s, %s, %q: it ends at terminal %d and says %q", c.Name(), c.Modes()[i].Name, w.Heading, at, w.End)
				}
			}
		}
	}
}

func TestDrawingNumbersItsTestPoints(t *testing.T) {
	c, r := machine(t, "range-electronic")
	d, _, err := r.DrawingWith(context.Background(), ask(t, r, "broil", "broil_element"), report.DrawingOptions{Points: true, Standing: true, Suspects: true})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[circuit.TerminalID]bool{}
	for i, p := range d.TestPoints {
		if p.Number != i+1 || seen[p.Terminal] || p.Reading == "" || p.Name == "" {
			t.Errorf("test point %d: %+v", i+1, p)
		}
		seen[p.Terminal] = true
	}
	for _, test := range d.Tests {
		if max(test.From, test.To) > len(d.TestPoints) || min(test.From, test.To) < 1 || test.From == test.To {
			t.Errorf("a test between %d and %d of %d points", test.From, test.To, len(d.TestPoints))
		}
	}
	sum := 0.0
	for _, s := range d.Suspects {
		sum += s.P
	}
	if sum < 0.999 || sum > 1.001 {
		t.Errorf("the suspects' probabilities sum to %g", sum)
	}
	block, err := c.FindTerminal("terminal_block.L1.in")
	if err != nil {
		t.Fatal(err)
	}
	if d.Standing[block] < 100 || d.Standing[c.ChassisTerminal()] != 0 {
		t.Errorf("standing: terminal block %g V, chassis %g V", d.Standing[block], d.Standing[c.ChassisTerminal()])
	}
}

// With one leg lost both ends of the element read line voltage to neutral, but
// from the same leg.
func TestFaultVoltagesTellTheLeg(t *testing.T) {
	c, r := machine(t, "range-electronic")
	d, _, err := r.DrawingWith(context.Background(), ask(t, r, "broil", "broil_element", "supply.L2:open"), report.DrawingOptions{})
	if err != nil {
		t.Fatal(err)
	}
	far, err := c.FindTerminal("broil_element.2")
	if err != nil {
		t.Fatal(err)
	}
	got := [2]string{d.Volts[far].Leg, d.FaultVolts[far].Leg}
	if diff := cmp.Diff([2]string{"L2", "L1"}, got); diff != "" {
		t.Error(diff)
	}
}
