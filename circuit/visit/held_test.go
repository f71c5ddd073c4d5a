package visit_test

import (
	"slices"
	"testing"

	"legtrace/circuit/circuittest"
	"legtrace/circuit/visit"
	"legtrace/circuit/visit/visittest"
)

// Whatever is taken away from a proof, or written into it that is not so, a shop's counts
// do not take the repair for proved.
func TestNothingAVisitSaysOfItsProofIsBelieved(t *testing.T) {
	c := machine(t, "water-heater")
	p, err := visit.NewProver(c)
	if err != nil {
		t.Fatal(err)
	}
	lower := func(state string) visit.Note { return visit.Note{Mode: "top_hot", Load: "lower_element", State: state} }
	upper := visit.Note{Mode: "top_hot", Load: "upper_element", State: "off"}
	read := func(answer string) visit.Note {
		return visit.Note{Mode: "off", Function: "ohms", P: "lower_1", Q: "lower_2", Answer: answer}
	}
	bad := func(load, mode string) visit.Note { return visit.Note{Step: 1, Mode: mode, Load: load, State: "dead"} }
	skipped := func(n visit.Note) visit.Note { n.State, n.Skipped = "", true; return n }
	for _, x := range []struct {
		what, cause string
		held        bool
		notes       []visit.Note
		after       []visit.Note
	}{
		{"heats again where it failed", "lower_element:open", true, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{lower("normal")}},
		{"its ohms read good besides", "lower_element:open", true, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{lower("normal"), read("12.8")}},
		{"with another meter, in a cold cellar", "lower_element:open", true, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{read("12.9"), lower("normal")}},
		{"nothing was looked at", "lower_element:open", false, []visit.Note{bad("lower_element", "top_hot")}, nil},
		{"still dead", "lower_element:open", false, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{lower("dead")}},
		{"its ohms read open since", "lower_element:open", false, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{lower("normal"), read("OL")}},
		{"ohms alone, no heat was waited for", "lower_element:open", false, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{read("12.8")}},
		{"left out", "lower_element:open", false, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{skipped(lower(""))}},
		{"tried where it does nothing", "lower_element:open", false, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{upper}},
		{"another cause written in", "upper_element:open", false, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{lower("normal")}},
		{"what failed besides is not tried", "lower_element:open", false, []visit.Note{bad("lower_element", "top_hot"), bad("upper_element", "cold_tank")}, []visit.Note{lower("normal")}},
		{"it trips now", "lower_element:open", false, []visit.Note{bad("lower_element", "top_hot")}, []visit.Note{lower("normal"), {Mode: "cold_tank", Trips: true}}},
		{"an earth that no heat tells of", "w05:open", false, nil, []visit.Note{lower("normal")}},
		{"an earth read from a leg to the tank", "w05:open", true, nil, []visit.Note{{Mode: "cold_tank", Function: "volts", P: "upper_1", Q: "tank", Answer: "120"}}},
	} {
		rec := visit.Record{Notes: x.notes, After: x.after, Verdict: &visit.Verdict{Causes: []string{x.cause}}, Repair: &visit.Repair{Done: "replaced"}}
		if x.what == "with another meter, in a cold cellar" {
			rec.Meter, rec.Ambient = &visit.Meter{Counts: 2000, OhmsPercent: 3}, 6
		}
		held, err := p.Held(t.Context(), rec)
		if err != nil || held != x.held {
			t.Errorf("%s: held %v, %v", x.what, held, err)
		}
	}
}

// A visit that is proved to whoever made it counts; one that is not, for a repair that
// failed or a check of it left out, does not. Worked out at once for all visits it asks no
// more than the proof of one, and less where that looks for what the fault had hidden.
func TestWhatIsProvedIsProvedToTheShop(t *testing.T) {
	for _, way := range visittest.Journeys() {
		if !way.Light && !circuittest.Nightly {
			continue
		}
		c := machine(t, way.Machine)
		p, err := visit.NewProver(c)
		if err != nil {
			t.Fatal(err)
		}
		played := visittest.Play(t, c, way)
		whole := played.Record
		if whole.Verdict == nil {
			continue // the search went on
		}
		all, hidden := 0, 0
		for cut := -1; cut < len(whole.After); cut++ {
			rec := whole
			if cut >= 0 {
				rec.After = slices.Delete(slices.Clone(whole.After), cut, cut+1)
			}
			j, err := visit.Start(t.Context(), c, rec)
			if err != nil {
				t.Fatal(err)
			}
			proof, err := j.Proof(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			held, err := p.Held(t.Context(), rec)
			if err != nil {
				t.Fatal(err)
			}
			switch proved := len(rec.After) > 0 && proof.Proved(); {
			case proved && !held:
				t.Errorf("%s, without check %d: proved, and not counted", way.Name, cut)
			case held && !proved:
				hidden++
			}
			all++
		}
		t.Logf("%s: %d ways, %d counted for want of what may be hidden", way.Name, all, hidden)
		if hidden > 1 {
			t.Errorf("%s: %d of %d count that are not proved", way.Name, hidden, all)
		}
	}
}
