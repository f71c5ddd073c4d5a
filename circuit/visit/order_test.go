package visit_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
)

// answers is what a visit comes to, whatever the order of the machine's file:
// the chance of each explanation by its faults, and the next test with its bits.
func answers(t *testing.T, spec circuit.Spec, notes []visit.Note) (chances map[string]float64, next string, bits float64) {
	t.Helper()
	c, problems := circuit.Build(spec)
	if c == nil {
		t.Fatal(problems)
	}
	j, err := visit.Start(t.Context(), c, visit.Record{Notes: notes})
	if err != nil {
		t.Fatal(err)
	}
	chances = map[string]float64{}
	for _, s := range j.Engine.Suspects(math.MaxInt) {
		var causes []string
		for _, k := range s.Causes {
			refs := k.Refs(c)
			for i := range refs {
				together := strings.Split(refs[i], suspect.Together)
				slices.Sort(together)
				refs[i] = strings.Join(together, suspect.Together)
			}
			slices.Sort(refs)
			causes = append(causes, strings.Join(refs, " | "))
		}
		slices.Sort(causes)
		chances[strings.Join(causes, " and ")] += s.P
	}
	step, err := j.Next(t.Context(), 1)
	if err != nil {
		t.Fatal(err)
	}
	if len(step.Tests) > 0 {
		next, bits = visit.About(c, step.Tests[0].Test).Without(), step.Tests[0].Bits
	}
	return chances, next, bits
}

// tableBits is how far the bits of a test may differ. They come from a table of
// some hundred stand-ins, not of all hypotheses: only on the kiln, with its like
// elements, do they differ at all, by 0.002.
const tableBits = 0.005

// The order of parts, wires and modes in a file changes neither a probability
// nor what the next test tells; of tests worth just as much the first in the file
// is proposed.
func TestTheOrderOfTheFileChangesNoSuspect(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for i, entry := range netlists.Catalog() {
		if testing.Short() && entry.Name != "range-electronic" && entry.Name != "dryer" && entry.Name != "water-heater" && entry.Name != "kiln" || !circuittest.Sampled(i, 7) {
			continue
		}
		c := machine(t, entry.Name)
		n, err := visit.Symptom(c, c.Branch(c.Loads()[0]).Ref, "dead", "")
		if err != nil {
			t.Fatal(err)
		}
		spec := c.Spec()
		spec.Parts, spec.Wires, spec.Modes = slices.Clone(spec.Parts), slices.Clone(spec.Wires), slices.Clone(spec.Modes)
		for i := range spec.Wires { // a wire without a name is called by its place
			spec.Wires[i].Name = c.Wires()[i].Name
		}
		want, test, bits := answers(t, spec, []visit.Note{n})
		random.Shuffle(len(spec.Parts), func(i, j int) { spec.Parts[i], spec.Parts[j] = spec.Parts[j], spec.Parts[i] })
		random.Shuffle(len(spec.Wires), func(i, j int) { spec.Wires[i], spec.Wires[j] = spec.Wires[j], spec.Wires[i] })
		rest := spec.Modes[1:] // the first is how the machine stands when off
		random.Shuffle(len(rest), func(i, j int) { rest[i], rest[j] = rest[j], rest[i] })
		got, testNow, bitsNow := answers(t, spec, []visit.Note{n})
		worst, of := 0.0, ""
		for _, m := range []map[string]float64{want, got} {
			for k := range m {
				if d := math.Abs(want[k] - got[k]); d > worst {
					worst, of = d, fmt.Sprintf("%s: %.9f, then %.9f", k, want[k], got[k])
				}
			}
		}
		if worst > 1e-9 {
			t.Errorf("%s, %s dead: %s", entry.Name, n.Load, of)
		}
		if (test == "") != (testNow == "") || math.Abs(bits-bitsNow) > tableBits {
			t.Errorf("%s, %s dead: next %s (%.9f bits), then %s (%.9f)", entry.Name, n.Load, test, bits, testNow, bitsNow)
		}
	}
}

// Where the supply comes in, hot to hot and each hot to neutral are read in one go: the
// readings after the first cost next to nothing, are answered with it or one at a time,
// and tell the same in any order.
func TestReadingsAtOnePlaceAreTakenInOneGo(t *testing.T) {
	c := machine(t, "dryer")
	start := func() (*visit.Job, *suspect.Proposal) {
		j, err := visit.Start(t.Context(), c, visit.Record{})
		if err != nil {
			t.Fatal(err)
		}
		if err := j.Add(t.Context(), visit.Note{Mode: "timed_dry", AllDead: true}); err != nil {
			t.Fatal(err)
		}
		step, err := j.Next(t.Context(), 3)
		if err != nil || len(step.Tests) == 0 {
			t.Fatal(step, err)
		}
		for _, other := range step.Tests[1:] {
			if other.Live && other.Probing() && c.PlaceOf(other.Probes.P) == c.PlaceOf(step.Tests[0].Probes.P) {
				t.Errorf("beside them %s is proposed, at the same place", other.Probes.Name)
			}
		}
		return j, &step.Tests[0]
	}
	j, p := start()
	if len(p.Along) != 2 {
		t.Fatalf("with %s go %d readings", p.Probes.Name, len(p.Along))
	}
	first, risk := j.Progress.Minutes(c, p.Test)
	j.Progress.Did(c, p.Test)
	for _, u := range p.Along {
		if u.Mode != p.Mode || !u.Live || u.Probes.Function != p.Probes.Function {
			t.Errorf("with %s goes %+v", p.Probes.Name, u)
		}
		if minutes, price := j.Progress.Minutes(c, u); minutes > first/5 || price > risk/5 {
			t.Errorf("%s takes %g minutes and %g, the first %g and %g", u.Probes.Name, minutes, price, first, risk)
		}
	}
	if _, err := visit.Answers(c, p, "0, 119, 0, 5"); err == nil {
		t.Error("four answers to three readings are taken")
	}
	if one, err := visit.Answers(c, p, "0"); err != nil || len(one) != 1 {
		t.Error(one, err)
	}
	all, err := visit.Answers(c, p, "0, 119, 0 V")
	if err != nil || len(all) != 3 || all[1].Answer != "119" {
		t.Fatal(all, err)
	}
	var ends []string
	var sure []float64
	for _, order := range [][]int{{0, 1, 2}, {2, 1, 0}} {
		j, _ := start()
		for i, k := range order {
			notes := all[k : k+1]
			if order[0] == 0 && i == 0 {
				notes = all
			} else if order[0] == 0 {
				break
			}
			if err := j.Add(t.Context(), notes...); err != nil {
				t.Fatal(err)
			}
		}
		s := j.Suspects(1)[0]
		ends, sure = append(ends, s.Words()), append(sure, s.P)
	}
	if ends[0] != ends[1] || !strings.Contains(ends[0], "L1") || math.Abs(sure[0]-sure[1]) > 0.005 {
		t.Errorf("read in one go %s %.4f, one by one %s %.4f", ends[0], sure[0], ends[1], sure[1])
	}
}

// Of what is read in one go hot to hot comes first, whatever tells most.
func TestHotToHotComesFirst(t *testing.T) {
	c := machine(t, "range-electronic")
	j, err := visit.Start(t.Context(), c, visit.Record{})
	if err != nil {
		t.Fatal(err)
	}
	notes := []visit.Note{{Mode: "bake", Load: "bake_element", State: "dead"}}
	for _, at := range []string{"lf", "lr", "rf", "rr"} {
		notes = append(notes, visit.Note{Mode: at + "_surface", Load: at + "_element", State: "weak"})
	}
	if err := j.Add(t.Context(), notes...); err != nil {
		t.Fatal(err)
	}
	step, err := j.Next(t.Context(), 1)
	if err != nil || len(step.Tests) == 0 {
		t.Fatal(step, err)
	}
	p := step.Tests[0]
	if a, b := c.PlaceName(p.Probes.P), c.PlaceName(p.Probes.Q); a != "tb_l1" || b != "tb_l2" || len(p.Along) == 0 {
		t.Errorf("it begins with %s to %s, and %d go with it", a, b, len(p.Along))
	}
}
