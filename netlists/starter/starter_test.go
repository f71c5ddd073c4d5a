package starter_test

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/audit"
	"legtrace/circuit/circuittest"
	"legtrace/netlists"
	"legtrace/netlists/starter"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// every lists all answers that go together.
func every(given starter.Answers) []starter.Answers {
	q, ok := starter.Next(given)
	if !ok {
		return []starter.Answers{given}
	}
	var out []starter.Answers
	for _, o := range q.Options {
		a := starter.Answers{q.Key: o.Value}
		for key, value := range given {
			a[key] = value
		}
		out = append(out, every(a)...)
	}
	return out
}

func name(a starter.Answers) string {
	var words []string
	for _, key := range starter.Keys() {
		if a[key] != "" {
			words = append(words, a[key])
		}
	}
	return strings.Join(words, " ")
}

func read(t *testing.T, a starter.Answers) (*netlists.Result, []byte) {
	t.Helper()
	text, err := starter.Write("", a)
	if err != nil {
		t.Fatalf("%s: %v", name(a), err)
	}
	r, err := netlists.ReadFull("new.toml", text)
	if err != nil {
		t.Fatalf("%s: %v\n%s", name(a), err, text)
	}
	return r, text
}

// fair tells the warnings that a machine may earn by its answers alone: with
// one leg switched, one welded contact heats.
func fair(kind audit.Kind) bool { return kind == audit.OneFaultHeats }

func TestWhateverIsAnsweredTheMachineDoesWhatItSays(t *testing.T) {
	all := every(starter.Answers{})
	if len(all) < 500 {
		t.Fatalf("only %d ways to answer", len(all))
	}
	for i, a := range all {
		if testing.Short() && i%37 != 0 || !circuittest.Sampled(i, 3) {
			continue
		}
		r, text := read(t, a)
		if len(r.Warnings) > 0 {
			t.Fatalf("%s: %v", name(a), r.Warnings)
		}
		d, err := report.New(r.Circuit).Check(nil, func(path string) report.At { return report.At{File: path} })
		if err != nil {
			t.Fatalf("%s: %v\n%s", name(a), err, text)
		}
		for _, f := range d.Findings {
			t.Errorf("%s: %s: %s (%s)", name(a), f.At, f.Message, f.Hint)
		}
		for _, m := range d.Modes {
			if m.Expected != len(r.Circuit.Loads()) {
				t.Errorf("%s: in %s something is said of %d of %d loads", name(a), m.Name, m.Expected, len(r.Circuit.Loads()))
			}
		}
		if t.Failed() {
			t.Fatalf("%s", text)
		}
	}
}

// pairwise picks ways to answer so that each pair of answers that go together
// is in one of them.
func pairwise(all []starter.Answers) []starter.Answers {
	seen := map[string]bool{}
	var out []starter.Answers
	for _, a := range all {
		fresh := false
		for k1, v1 := range a {
			for k2, v2 := range a {
				pair := k1 + v1 + k2 + v2
				fresh = fresh || !seen[pair]
			}
		}
		if !fresh {
			continue
		}
		for k1, v1 := range a {
			for k2, v2 := range a {
				seen[k1+v1+k2+v2] = true
			}
		}
		out = append(out, a)
	}
	return out
}

func TestNothingBegunIsToBeQuestionedButForItsAnswers(t *testing.T) {
	for i, a := range pairwise(every(starter.Answers{})) {
		if testing.Short() && i%7 != 0 {
			continue
		}
		r, text := read(t, a)
		found, err := audit.Run(context.Background(), r.Circuit)
		if err != nil {
			t.Fatalf("%s: %v", name(a), err)
		}
		for _, f := range found {
			if !fair(f.Kind) || a["switched"] == starter.Both {
				t.Errorf("%s: %s: %s\n%s", name(a), f.Kind, f.Message, text)
			}
		}
		if t.Failed() {
			return
		}
	}
}

func TestWhateverIsAnsweredTheMachineCanBeDrawn(t *testing.T) {
	if testing.Short() {
		t.Skip("draws many machines")
	}
	drawn := pairwise(every(starter.Answers{}))
	// A drawing takes a good part of a second.
	for i := 0; i < len(drawn); i += 3 {
		r, _ := read(t, drawn[i])
		rep := report.New(r.Circuit)
		ask, err := rep.Ask("", "", nil, report.Feeding)
		if err != nil {
			t.Fatalf("%s: %v", name(drawn[i]), err)
		}
		d, doc, err := rep.Drawing(context.Background(), ask, schematic.IEC)
		if err != nil || !doc.Fed {
			t.Fatalf("%s: fed %v, error %v", name(drawn[i]), doc.Fed, err)
		}
		if err := schematic.Render(context.Background(), io.Discard, d); err != nil {
			t.Errorf("%s: %v", name(drawn[i]), err)
		}
	}
}

func TestWhatIsBegunIsTidyAndCommented(t *testing.T) {
	for _, a := range pairwise(every(starter.Answers{})) {
		_, text := read(t, a)
		tidied, err := netlists.Tidy("new.toml", text)
		if err != nil || string(tidied) != string(text) {
			t.Errorf("%s: not tidy, error %v", name(a), err)
		}
		if n := strings.Count(string(text), "# "); n < 12 {
			t.Errorf("%s: only %d comments", name(a), n)
		}
	}
}

// The legs that an answer says are switched are those that Off takes away.
func TestOffTakesAwayTheLegsSaid(t *testing.T) {
	for _, c := range []struct {
		answers starter.Answers
		load    string
		live    int // ends of the load that a leg stays on in Off
	}{
		{starter.Answers{"heats": "oven", "switched": "both"}, "bake_element", 0},
		{starter.Answers{"heats": "oven", "switched": "L1"}, "bake_element", 1},
		{starter.Answers{"heats": "oven", "control": "mechanical", "switched": "L2"}, "bake_element", 1},
		{starter.Answers{"heats": "cooktop", "control": "mechanical", "switched": "both"}, "left_rear_element", 0},
		{starter.Answers{"heats": "dryer", "switched": "L1"}, "heater", 1},
	} {
		r, _ := read(t, c.answers)
		rep := report.New(r.Circuit)
		ask, err := rep.Ask("off", c.load, nil, report.Keeping)
		if err != nil {
			t.Fatal(err)
		}
		d, err := rep.Path(ask)
		if err != nil {
			t.Fatal(err)
		}
		live := 0
		for _, end := range d.Ends {
			if end.Made {
				live++
			}
		}
		if live != c.live {
			t.Errorf("%s: %d ends live in Off, expected %d", name(c.answers), live, c.live)
		}
	}
}

func TestAnswersThatDoNotGoTogetherAreRefused(t *testing.T) {
	for _, c := range []struct {
		answers starter.Answers
		want    string
	}{
		{starter.Answers{"heats": "rang"}, `heats "rang": did you mean "range"?`},
		{starter.Answers{"heats": "kettle"}, `heats "kettle": it is range, oven, cooktop, dryer, water-heater, heater`},
		{starter.Answers{"heats": "water-heater", "surface": "4"}, `surface "4": not asked of a water heater`},
		{starter.Answers{"heats": "oven", "supply": "120", "switched": "L2"}, `switched "L2": did you mean "L1"?`},
	} {
		_, err := starter.Write("", c.answers)
		if got := fmt.Sprint(err); got != c.want {
			t.Errorf("%s: got %s, expected %s", name(c.answers), got, c.want)
		}
	}
}

func TestEveryQuestionHasItsUsualAnswerFirstAndSaysWhatEachMeans(t *testing.T) {
	for _, a := range every(starter.Answers{}) {
		for key, value := range a {
			if starter.Means(a, key) == "" {
				t.Fatalf("%s: %s %s has no words", name(a), key, value)
			}
		}
	}
	q, ok := starter.Next(starter.Answers{})
	if !ok || q.Key != "heats" || !slices.Contains(starter.Keys(), q.Key) {
		t.Errorf("asks %q first", q.Key)
	}
}

// What is suspected most is measured across: both sides of every relay's contact, of
// thermostats, limits and the motor's switch are listed.
func TestBothSidesOfEveryContactAreGotAt(t *testing.T) {
	kinds := []circuit.Kind{circuit.KindRelay, circuit.KindThermostat, circuit.KindLimit, circuit.KindThermalFuse, circuit.KindCentrifugalSwitch}
	contacts := 0
	for i, a := range every(starter.Answers{}) {
		if i%37 != 0 {
			continue
		}
		r, _ := read(t, a)
		for k := range r.Circuit.Branches() {
			b := r.Circuit.Branch(circuit.BranchID(k))
			if b.Role != circuit.Contact || b.Part == circuit.None || !slices.Contains(kinds, r.Circuit.Part(b.Part).Kind) {
				continue
			}
			contacts++
			for _, at := range []circuit.TerminalID{b.A, b.B} {
				if len(r.Circuit.Terminal(at).Wires) > 0 && r.Circuit.PointAt(at) == nil {
					t.Errorf("%s: no test point at %s", name(a), r.Circuit.Terminal(at).Ref)
				}
			}
		}
	}
	if contacts < 50 {
		t.Errorf("only %d contacts", contacts)
	}
}
