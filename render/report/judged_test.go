package report_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/circuit/trace"
	"legtrace/netlists"
	"legtrace/render/report"
)

// For every machine, mode and load, and every single fault: what the loads
// table calls a load is what a trial is expected to show, what a proof takes
// for right or wrong, what a complaint is repeated as, and what the cut sets
// call dead.
func TestEveryCommandCallsALoadTheSame(t *testing.T) {
	ctx := context.Background()
	for k, entry := range netlists.Catalog() {
		if testing.Short() && entry.Name != "range-electronic" && entry.Name != "dryer" && entry.Name != "water-heater-208" && entry.Name != "range-slide-in-3wire" || !circuittest.Sampled(k, 3) {
			continue
		}
		c, r := machine(t, entry.Name)
		e, err := suspect.New(c, suspect.Options{Order: 1})
		if err != nil {
			t.Fatal(err)
		}
		faults := append([]circuit.Fault{{Branch: circuit.None}}, meter.SingleFaults(c)...)
		for m := range c.Modes() {
			mode := circuit.ModeID(m)
			said := map[string]bool{}
			for i, f := range faults {
				q := report.Question{Mode: mode, Load: circuit.None}
				if f.Branch != circuit.None {
					q.Faults = []circuit.Fault{f}
				}
				if testing.Short() && i%5 != 0 {
					continue
				}
				d, err := r.Loads(q)
				if err != nil {
					t.Fatal(err)
				}
				shown, err := e.Trial(mode, c.Loads(), q.Faults)
				if err != nil {
					t.Fatal(err)
				}
				for k, load := range c.Loads() {
					word := d.Loads[k].State
					if word == "chatters" { // of a trial it is said that a relay does
						if !shown.Chatters {
							t.Fatalf("%s in %s: %s chatters in the table, nothing does in a trial", entry.Name, c.Mode(mode).Name, d.Loads[k].Ref)
						}
						continue
					}
					if got := shown.States[k].String(); got != word {
						t.Fatalf("%s in %s, %s: %s in the table, %s in a trial", entry.Name, c.Mode(mode).Name, d.Loads[k].Ref, word, got)
					}
					symptom := suspect.Symptom{Mode: mode, Load: load, State: shown.States[k]}
					if said[fmt.Sprint(symptom)] {
						continue
					}
					said[fmt.Sprint(symptom)] = true
					ev := suspect.Evidence{Symptom: &symptom}
					if seen := r.Seen(ev); seen != c.Label(load)+" "+word+" in "+c.Mode(mode).Label {
						t.Fatalf("%s: %s is repeated as %q", entry.Name, word, seen)
					}
					_, bad, err := r.Against(e, ev)
					if err != nil {
						t.Fatal(err)
					}
					if bad == shown.States[k].Sound() {
						t.Fatalf("%s in %s: %s %s, and the proof calls that bad: %v", entry.Name, c.Mode(mode).Name, d.Loads[k].Ref, word, bad)
					}
				}
			}
			cutSetsAgree(ctx, t, c, r, mode)
		}
	}
}

// cutSetsAgree compares what the single opens that starve a load are said to
// leave of it with what the loads table says.
func cutSetsAgree(ctx context.Context, t *testing.T, c *circuit.Circuit, r *report.Reporter, mode circuit.ModeID) {
	t.Helper()
	tracer := trace.New(c)
	for k, load := range c.Loads() {
		sets, err := tracer.Starve(ctx, mode, load, trace.Options{Order: 1})
		if errors.Is(err, trace.ErrNotEnergised) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range sets {
			open := s.Members[0].Branches[0]
			d, err := r.Loads(report.Question{Mode: mode, Load: circuit.None, Faults: []circuit.Fault{{Kind: circuit.Open, Branch: open}}})
			if err != nil {
				t.Fatal(err)
			}
			want := circuit.Weak
			if s.Dead {
				want = circuit.Dead
			}
			if got := d.Loads[k].State; got != want.String() {
				t.Errorf("%s in %s with %s open: %s among the cut sets, %s in the table", d.Loads[k].Ref, c.Mode(mode).Name, c.Branch(open).Ref, want, got)
			}
		}
	}
}
