package report_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/render/report"
)

func shippedSpec(t interface{ Fatal(...any) }, name string) circuit.Spec {
	src, err := netlists.Source(name)
	if err != nil {
		t.Fatal(err)
	}
	spec, _, err := netlists.Parse("catalog:"+name, src)
	if err != nil {
		t.Fatal(err)
	}
	return spec
}

func TestAMachineDoesNotDifferFromItself(t *testing.T) {
	for _, e := range netlists.Machines() {
		if testing.Short() && e.Name != "range-electronic" {
			continue
		}
		spec := shippedSpec(t, e.Name)
		if d := report.Compare("a", spec, "b", spec); len(d.Changes) > 0 {
			t.Errorf("%s: %v", e.Name, d.Changes)
		}
	}
}

// One thing is changed at a time, and it alone is told of.
func TestEachChangeIsToldOf(t *testing.T) {
	for _, c := range []struct {
		does   string
		change func(*circuit.Spec)
		want   []report.Change
	}{
		{"a rating", func(s *circuit.Spec) { s.Parts[5].Watts = 2000 },
			[]report.Change{{What: "part", Name: "bake_element", Label: "Bake element", How: "changed",
				Keys: []report.KeyChange{{Key: "watts", Is: "2000 W", Was: "2600 W"}}}}},
		{"a wire's end and size", func(s *circuit.Spec) { s.Wires[0].To, s.Wires[0].AWG = "cord.L1.in", 0 },
			[]report.Change{{What: "wire", Name: "w01", How: "changed", Keys: []report.KeyChange{
				{Key: "awg", Was: "8 AWG"}, {Key: "to", Is: "cord.L1.in", Was: "breaker.L1.in"}}}}},
		{"a wire that lost its name goes by its ends", func(s *circuit.Spec) {
			s.Wires[0].Name = ""
		}, []report.Change{
			{What: "wire", Name: "breaker.L1.in to supply.L1", How: "added", Says: "supply.L1 to breaker.L1.in, BK 8 AWG"},
			{What: "wire", Name: "w01", How: "dropped", Says: "supply.L1 to breaker.L1.in, BK 8 AWG"}}},
		{"the supply", func(s *circuit.Spec) { s.Supply.System, s.Supply.Wires = "wye", 3 },
			[]report.Change{{What: "supply", How: "changed", Keys: []report.KeyChange{
				{Key: "system", Is: "wye", Was: "split-phase"}, {Key: "wires", Is: "3", Was: "4"}}}}},
		{"a resistance of nought is not nothing", func(s *circuit.Spec) { s.Supply.FeederOhms = new(float64) },
			[]report.Change{{What: "supply", How: "changed", Keys: []report.KeyChange{{Key: "feeder_ohms", Is: "0 ohms"}}}}},
		{"a prior", func(s *circuit.Spec) { s.Priors = map[string]float64{"relay": 9} },
			[]report.Change{{What: "prior", How: "changed", Keys: []report.KeyChange{{Key: "relay", Is: "9"}}}}},
		{"a mode", func(s *circuit.Spec) { s.Modes = s.Modes[1:] },
			[]report.Change{{What: "mode", Name: "off", Label: "Off", How: "dropped", Says: "on: control"}}},
	} {
		t.Run(c.does, func(t *testing.T) {
			was, is := shippedSpec(t, "range-electronic"), shippedSpec(t, "range-electronic")
			c.change(&is)
			if diff := cmp.Diff(c.want, report.Compare("mine", is, "other", was).Changes); diff != "" {
				t.Errorf("-expected +told:\n%s", diff)
			}
		})
	}
}

// What one way round is added is the other way round dropped.
func TestComparingTheOtherWayRoundTellsTheReverse(t *testing.T) {
	var names []string
	for _, e := range netlists.Machines() {
		if testing.Short() && e.Name != "range-electronic" {
			continue
		}
		names = append(names, e.Name)
	}
	rapid.Check(t, func(t *rapid.T) {
		a := shippedSpec(t, rapid.SampledFrom(names).Draw(t, "one"))
		b := shippedSpec(t, rapid.SampledFrom(names).Draw(t, "other"))
		count := func(d *report.Difference, how string) map[string]bool {
			set := map[string]bool{}
			for _, c := range d.Changes {
				if c.How == how {
					set[c.What+" "+c.Name] = true
				}
			}
			return set
		}
		forth, back := report.Compare("a", a, "b", b), report.Compare("b", b, "a", a)
		for there, here := range map[string]string{"added": "dropped", "dropped": "added", "changed": "changed"} {
			if diff := cmp.Diff(count(forth, there), count(back, here)); diff != "" {
				t.Fatalf("%s: -forth +back:\n%s", there, diff)
			}
		}
		var text strings.Builder
		if err := report.Write(&text, forth, report.FormatText, false); err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(text.String(), "\n") {
			if len([]rune(line)) > report.Width {
				t.Fatalf("too wide: %s", line)
			}
		}
	})
}
