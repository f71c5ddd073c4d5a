// Package visittest makes visits for tests, to be gone through on the command
// line, on the page and on a saved page alike.
//
// [Journeys] lists them and [Play] goes through one with the engine alone: what
// it was asked and what it answered is what the others have to ask, and take.
package visittest

import (
	"fmt"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
)

// Journey is a visit to a machine with something hidden in it.
type Journey struct {
	Name, Machine, Complaint string
	// Hidden are the faults, as [circuit.Circuit.ParseFault] reads them; those
	// in Mended are gone once the repair was made, those in Brought are there then.
	Hidden, Mended, Brought []string
	// Skip is how many tests are left out before any is made; Blocked says that
	// the first probing is at a place that cannot be reached.
	Skip    int
	Blocked bool
	// End holds words that the visit ends in, Proof that its proof does.
	End, Proof string
	// Rest holds words that the search ends in that follows a failed proof.
	Rest string
	// Light says that it is soon worked out, even where the engine is slow.
	Light bool
}

// Journeys are all of them.
func Journeys() []Journey {
	const proved, failed = "Proved: all is as it should be.", "The repair is not proved"
	return []Journey{
		{Name: "an open element", Machine: "range-electronic", Complaint: "broil element dead in broil; bake element normal in bake",
			Hidden: []string{"broil_element:open"}, Mended: []string{"broil_element:open"}, End: "Broil element open", Proof: proved},
		{Name: "a place out of reach", Machine: "range-electronic", Complaint: "bake element dead in bake, broil element works in broil",
			Hidden: []string{"bake_element:open"}, Mended: []string{"bake_element:open"}, Blocked: true, End: "Bake element open", Proof: proved},
		{Name: "one pole of the breaker", Machine: "dryer", Complaint: "heater dead",
			Hidden: []string{"supply.L2:open"}, Mended: []string{"supply.L2:open"}, Skip: 1, End: "L2", Proof: proved},
		{Name: "two faults, one mended", Machine: "water-heater", Complaint: "upper element dead in cold_tank; lower element dead in top_hot",
			Hidden: []string{"upper_element:open", "lower_element:open"}, Mended: []string{"upper_element:open"}, Proof: failed, Rest: "Lower element"},
		{Name: "wires crossed by the repair", Machine: "range-mechanical", Complaint: "bake element dead in bake; broil element works in broil",
			Hidden: []string{"oven_selector.R2-B2:open"}, Mended: []string{"oven_selector.R2-B2:open"}, Brought: []string{"w16:moved=oven_selector.G2/bake_element.2", "w18:moved=oven_selector.B2/broil_element.2"},
			End: "selector", Proof: failed, Rest: "Oven selector: wires w16 and w18 crossed"},
		{Name: "a sound element on 208 V", Machine: "water-heater-208", Complaint: "lower element dead in top_hot",
			Hidden: []string{"lower_element:open"}, Mended: []string{"lower_element:open"}, End: "Lower element open", Proof: proved, Light: true},
		{Name: "trips", Machine: "range-electronic", Complaint: "trips in bake",
			Hidden: []string{"bake_element:grounded=0.1"}, Mended: []string{"bake_element:grounded=0.1"}, Proof: proved},
		{Name: "on in off", Machine: "water-heater", Complaint: "lower element on in off",
			Hidden: []string{"lower_thermostat:welded"}, Mended: []string{"lower_thermostat:welded"}, End: "ower thermostat welded", Proof: proved, Light: true},
	}
}

// Asked is a test as it was proposed, by its line without an answer, and what
// was answered.
type Asked struct{ Test, Answer string }

// Played is a journey gone through.
type Played struct {
	Asked []Asked
	End   visit.Step
	// Proof is judged; Checks is what was answered to its checks.
	Proof  *visit.Proof
	Checks []Asked
	// Again is what was asked after a proof that failed, and Last the end of it.
	Again []Asked
	Last  visit.Step
	// Record is what was written down.
	Record visit.Record
	// Words are what the sentences of the complaint were taken for.
	Words []visit.Note
}

// Done is what every repair is said to be.
const Done = "part replaced"

// mostTests is how many tests a journey may take.
const mostTests = 30

// Play goes through a journey.
func Play(t testing.TB, c *circuit.Circuit, way Journey) Played {
	t.Helper()
	ctx := t.Context()
	fail := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatalf("%s: %v", way.Name, err)
		}
	}
	hidden := circuittest.Faults(t, c, way.Hidden...)
	j, err := visit.Start(ctx, c, visit.Record{})
	fail(err)
	var out Played
	out.Words, err = visit.Complaint(c, way.Complaint)
	fail(err)
	fail(j.Add(ctx, out.Words...))
	out.Asked, out.End = way.search(t, j, hidden)
	fail(j.Conclude(out.End.Finding, Done))
	out.Proof, err = j.Proof(ctx)
	fail(err)
	left := circuittest.Faults(t, c, way.left()...)
	for i := range out.Proof.Checks {
		k := &out.Proof.Checks[i]
		note := visit.About(c, k.Test)
		asked := Asked{Test: note.Without()}
		if k.Trial {
			asked.Answer = letters(t, j.Engine, k.Mode, k.Look, left)
			notes, err := visit.Trial(j.Engine, k.Mode, k.Look, asked.Answer)
			fail(err)
			fail(j.AddAfter(notes...))
		} else {
			asked.Answer = reads(t, j.Engine, k.Test, left)
			note.Answer = asked.Answer
			fail(j.AddAfter(note))
		}
		out.Checks = append(out.Checks, asked)
		fail(out.Proof.Judge())
		if out.Proof.Bad {
			fail(j.GoOn(ctx))
			way.Skip, way.Blocked = 0, false
			out.Again, out.Last = way.search(t, j, left)
			break
		}
	}
	out.Record = j.Record
	return out
}

// search makes the tests that are proposed on a machine with faults in it.
func (w Journey) search(t testing.TB, j *visit.Job, hidden []circuit.Fault) (all []Asked, end visit.Step) {
	t.Helper()
	ctx, c := t.Context(), j.Circuit
	fail := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatalf("%s: %v", w.Name, err)
		}
	}
	blocked := w.Blocked
	for len(all) < mostTests {
		var err error
		end, err = j.Next(ctx, 1)
		fail(err)
		if end.Search != visit.Searching {
			break
		}
		p := &end.Tests[0]
		asked := Asked{Test: visit.About(c, p.Test).Without()}
		note := visit.About(c, p.Test)
		switch {
		case len(all) < w.Skip:
			asked.Answer, note.Skipped = "skip", true
			fail(j.Add(ctx, note))
		case p.Ask != "":
			asked.Answer, err = j.Engine.Likeliest(p.Test, hidden)
			fail(err)
			note.Answer = asked.Answer
			fail(j.Add(ctx, note))
		case blocked && !p.Trial:
			blocked = false
			note.Unreachable = j.Reach(p.Test)
			asked.Answer = "can't reach " + note.Unreachable
			fail(j.Add(ctx, note))
		case p.Trial:
			loads := j.Engine.Look(p)
			asked.Answer = letters(t, j.Engine, p.Mode, loads, hidden)
			notes, err := visit.Trial(j.Engine, p.Mode, loads, asked.Answer)
			fail(err)
			fail(j.Add(ctx, notes...))
		default:
			asked.Answer = reads(t, j.Engine, p.Test, hidden)
			note.Answer = asked.Answer
			fail(j.Add(ctx, note))
		}
		all = append(all, asked)
	}
	return all, end
}

func (w Journey) left() []string {
	var out []string
	for _, h := range w.Hidden {
		mended := false
		for _, m := range w.Mended {
			mended = mended || m == h
		}
		if !mended {
			out = append(out, h)
		}
	}
	return append(out, w.Brought...)
}

// letters is what a person sees loads do, as it is typed.
func letters(t testing.TB, e *suspect.Engine, mode circuit.ModeID, loads []circuit.BranchID, hidden []circuit.Fault) string {
	t.Helper()
	seen, err := e.Trial(mode, loads, hidden)
	if err != nil {
		t.Fatal(err)
	}
	switch {
	case seen.Trips:
		return "trips"
	case seen.Chatters:
		return "chatters"
	}
	out := ""
	for _, s := range seen.States {
		if s == circuit.Off {
			s = circuit.Normal
		}
		out += string(s.Letter())
	}
	return out
}

// reads is what a meter shows, as it is typed.
func reads(t testing.TB, e *suspect.Engine, test suspect.Test, hidden []circuit.Fault) string {
	t.Helper()
	r, err := meter.New(e.Circuit(), e.Bench().Instrument).Take(test.Probes, test.Mode, test.Lift, hidden)
	if err != nil {
		t.Fatal(err)
	}
	switch {
	case r.OL:
		return "OL"
	case r.Unsteady:
		return "unsteady"
	}
	return fmt.Sprintf("%.3g", r.Value)
}
