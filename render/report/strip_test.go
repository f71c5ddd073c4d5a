package report_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/render/report"
	"legtrace/render/schematic"
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

// The drawing's test points bear the numbers of the list of test points.
func TestDrawingNumbersItsTestPoints(t *testing.T) {
	c, r := machine(t, "range-electronic")
	q := ask(t, r, "broil", "broil_element")
	d, _, err := r.DrawingWith(context.Background(), q, report.DrawingOptions{Points: true, Standing: true, Suspects: true})
	if err != nil {
		t.Fatal(err)
	}
	list, err := sheetOf(r, q)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string][]string{}
	var numbers []int
	for _, s := range list.Steps {
		if s.Trial || s.Ask != "" || s.Function == "amps" { // a clamp goes around a wire
			continue
		}
		numbers = append(numbers, s.Number)
		want[s.From.Terminal] = append(want[s.From.Terminal], fmt.Sprint(s.Number)+"R")
		want[s.To.Terminal] = append(want[s.To.Terminal], fmt.Sprint(s.Number)+"B")
	}
	for at, marks := range want {
		if more := len(marks) - 4; more > 0 {
			want[at] = append(marks[:4:4], fmt.Sprintf("+%d", more))
		}
	}
	got := map[string][]string{}
	for _, p := range d.TestPoints {
		if p.Name == "" {
			t.Errorf("test point %s has no name", p.Mark)
		}
		got[c.Terminal(p.Terminal).Ref] = strings.Fields(p.Mark)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	for i, test := range d.Tests {
		if good := list.Steps[test.Number-1].Good.Range; test.Number != numbers[i] || !strings.Contains(test.Text, good) {
			t.Errorf("test %+v, want number %d and %q", test, numbers[i], good)
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

// With the feed broken, each leg is followed as far as it still gets.
func TestDrawingShowsHowFarALegStillGets(t *testing.T) {
	c, r := machine(t, "range-electronic")
	for _, test := range []struct {
		broken, ends string
		feed         schematic.Feed
		live, lost   []string
	}{
		{"oven_limit", "oven_limit", schematic.FeedL2, []string{"supply.L1", "thermal_fuse", "broil_relay.contact", "supply.L2", "w16"}, []string{"oven_limit", "w17", "w19"}},
		{"w11", "w11", schematic.FeedL1, []string{"supply.L1", "w07", "w16", "oven_limit", "w19"}, []string{"w11", "thermal_fuse", "w15"}},
		{"supply.L1", "supply.L1", schematic.FeedL1, []string{"supply.L2"}, []string{"supply.L1", "w07", "thermal_fuse"}},
		{"supply.N", "broil_relay.contact", schematic.FeedL1, []string{"supply.L1", "thermal_fuse", "supply.L2", "oven_limit"}, []string{"broil_relay.contact", "w15", "dlb_relay.contact", "w19"}},
		{"broil_relay.coil", "broil_relay.contact", schematic.FeedL1, []string{"thermal_fuse", "oven_limit", "w19"}, []string{"broil_relay.contact", "w15"}},
	} {
		q := ask(t, r, "broil", "broil_element")
		id, err := c.FindBranch(test.broken)
		if err != nil {
			t.Fatal(err)
		}
		q.Faults = []circuit.Fault{{Kind: circuit.Open, Branch: id}}
		d, _, err := r.Drawing(context.Background(), q, schematic.IEC)
		if err != nil {
			t.Fatal(err)
		}
		find := func(ref string) circuit.BranchID {
			id, err := c.FindBranch(ref)
			if err != nil {
				t.Fatal(err)
			}
			return id
		}
		if diff := cmp.Diff([]schematic.Break{{Branch: find(test.ends), Feed: test.feed}}, d.Breaks[:1]); diff != "" {
			t.Errorf("%s: %s", test.broken, diff)
		}
		for _, ref := range test.live {
			if d.Live[find(ref)] == schematic.FeedNone || d.Lost[find(ref)] != schematic.FeedNone {
				t.Errorf("%s open: %s is not live", test.broken, ref)
			}
		}
		for _, ref := range test.lost {
			if d.Live[find(ref)] != schematic.FeedNone || d.Lost[find(ref)] == schematic.FeedNone {
				t.Errorf("%s open: %s is live", test.broken, ref)
			}
		}
	}
}
