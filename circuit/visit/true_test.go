package visit_test

import (
	"strings"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
)

// Two leads alone show some tenths of an ohm: a joint that reads 0.4 ohms is
// good, and nothing else is put in doubt by it.
func TestALeadsOhmsAcrossAJointFit(t *testing.T) {
	c := machine(t, "range-electronic")
	said, err := visit.Complaint(c, "broil element dead in broil; bake element works in bake")
	if err != nil {
		t.Fatal(err)
	}
	for _, across := range [][2]string{{"broil_2", "bake_2"}, {"fuse_line", "fuse_load"}, {"broil_out", "broil_1"}} {
		for _, answer := range []string{"0.2", "0.4"} {
			joint := visit.Note{Mode: "broil", Function: "ohms", P: across[0], Q: across[1], Answer: answer}
			j, err := visit.Start(t.Context(), c, visit.Record{Notes: append(said[:len(said):len(said)], joint)})
			if err != nil {
				t.Fatal(err)
			}
			if m := j.Engine.Misfit(); m != nil {
				t.Errorf("%s ohms from %s to %s: note %d fits nothing", answer, across[0], across[1], m.Pieces[0]+1)
			}
			if top := j.Engine.Suspects(1)[0]; top.Mistaken || strings.Contains(top.Words(), "high resistance") {
				t.Errorf("%s ohms from %s to %s: it is %s", answer, across[0], across[1], top.Words())
			}
		}
	}
}

// That no listed test tells more is said only where none does: where testing
// ends so, every test left gives one outcome whatever is wrong, or is refused.
func TestNoTestTellsMoreOnlyWhereNoneDoes(t *testing.T) {
	ended := 0
	for i, entry := range netlists.Catalog() {
		if testing.Short() && entry.Name != "range-electronic" && entry.Name != "dryer" && entry.Name != "water-heater" || !circuittest.Sampled(i, 7) {
			continue
		}
		c := machine(t, entry.Name)
		for _, id := range c.Loads()[:min(2, len(c.Loads()))] {
			n, err := visit.Symptom(c, c.Branch(id).Ref, "dead", "")
			if err != nil || n.Check(c) != nil {
				continue
			}
			j, err := visit.Start(t.Context(), c, visit.Record{Notes: []visit.Note{n}})
			if err != nil {
				t.Fatal(err)
			}
			for range 40 {
				step, err := j.Next(t.Context(), 1)
				if err != nil {
					t.Fatal(err)
				}
				rest, err := j.Engine.Rest(t.Context(), j.Progress, 100)
				if err != nil {
					t.Fatal(err)
				}
				if (step.Search == visit.Exhausted) != (len(rest) == 0 && !step.Finding.Sure && !step.Finding.Sound) {
					t.Errorf("%s, %s: it stands at %d with %d tests left that tell something", entry.Name, n.Load, step.Search, len(rest))
				}
				if len(rest) == 0 {
					ended++
					break
				}
				skip(t, j, rest)
			}
		}
	}
	if ended == 0 {
		t.Error("no search came to its end")
	}
}

// skip leaves tests out.
func skip(t *testing.T, j *visit.Job, tests []suspect.Proposal) {
	t.Helper()
	var notes []visit.Note
	for _, p := range tests {
		n := visit.About(j.Circuit, p.Test)
		n.Skipped = true
		notes = append(notes, n)
	}
	if err := j.Add(t.Context(), notes...); err != nil {
		t.Fatal(err)
	}
}
