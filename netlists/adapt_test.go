package netlists

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
)

const oven = `
name = "oven"
title = "Oven"

[supply]
system = "split-phase"
volts = 240

[parts]
relay = { kind = "relay", volts = 240, watts = 4, contact = "no", place = "back" }
element = { kind = "element", volts = 240, watts = 2500, label = "Element" }
lamp = { kind = "lamp", volts = 120, watts = 40 }
control = { kind = "control", volts = 120, watts = 5, senses = [
  { name = "door", pins = ["D1", "D2"], max_ohms = 50, modes = ["clean"] },
  { name = "probe", pins = ["S1", "S2"], max_ohms = 50, modes = ["bake", "clean"] },
] }

[wires]
line = { from = "supply.L1", to = "relay.com", colour = "BK", awg = 12 }
load = { from = "relay.no", to = "element.1", awg = 12 }
back = { from = "element.2", to = "supply.L2" }
lamp1 = { from = "relay.no", to = "lamp.1" }
lamp2 = { from = "lamp.2", to = "supply.N" }

[modes.off]
off = ["element", "lamp"]

[modes.bake]
after = "off"
set = { relay = "on" }
on = ["element", "lamp"]

[modes.clean]
after = "bake"
celsius = { element = 400 }
share = { lamp = 0.5, element = 1 }

[points]
out = { at = "relay.no", minutes = 5 }
lamp_end = { at = "lamp.1", minutes = 5 }

[priors]
relay = 4
lamp = 1
`

// adapted reads a netlist that starts from the oven, as far as its spec.
func adapted(t *testing.T, text string) circuit.Spec {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "oven.toml"), []byte(oven), 0o666); err != nil {
		t.Fatal(err)
	}
	spec, _, err := Parse(filepath.Join(dir, "mine.toml"), []byte("from = \"oven.toml\"\n"+text))
	if err != nil {
		t.Fatal(err)
	}
	return spec
}

// expect is the oven's spec after a change made by hand.
func expect(t *testing.T, change func(*circuit.Spec)) circuit.Spec {
	t.Helper()
	spec, _, err := Parse("oven.toml", []byte(oven))
	if err != nil {
		t.Fatal(err)
	}
	change(&spec)
	return spec
}

func TestAdaptation(t *testing.T) {
	for _, c := range []struct {
		does, text string
		change     func(*circuit.Spec)
	}{
		{"nothing said changes nothing", ``, func(*circuit.Spec) {}},
		{"name and title are replaced", `
name = "mine"
title = "My oven"
`, func(s *circuit.Spec) { s.Name, s.Title = "mine", "My oven" }},
		{"supply and priors change key by key", `
supply.volts = 208
[priors]
lamp = 2
fuse = 3
`, func(s *circuit.Spec) {
			s.Supply.Volts = 208
			s.Priors["lamp"], s.Priors["fuse"] = 2, 3
		}},
		{"a part changes key by key", `
[parts]
element = { watts = 2000 }
`, func(s *circuit.Spec) { s.Parts[1].Watts = 2000 }},
		{"a part of another kind inherits nothing", `
[parts]
relay = { kind = "switch" }
`, func(s *circuit.Spec) { s.Parts[0] = circuit.PartSpec{Name: "relay", Kind: "switch"} }},
		{"contacts take the place of contact", `
[parts]
relay.contacts = { a = "no" }
`, func(s *circuit.Spec) {
			s.Parts[0].Contact, s.Parts[0].Contacts = "", map[string]string{"a": "no"}
		}},
		{"a new part and a new wire come last", `
[parts]
fan = { kind = "fan", volts = 120, watts = 20 }
[wires]
fan1 = { from = "fan.1", to = "relay.no" }
`, func(s *circuit.Spec) {
			s.Parts = append(s.Parts, circuit.PartSpec{Name: "fan", Kind: "fan", Volts: 120, Watts: 20})
			s.Wires = append(s.Wires, circuit.WireSpec{Name: "fan1", From: "fan.1", To: "relay.no"})
		}},
		{"a wire changes key by key, mm2 in the place of awg", `
[wires]
line = { mm2 = 2.5 }
`, func(s *circuit.Spec) { s.Wires[0].AWG, s.Wires[0].SquareMM = 0, 2.5 }},
		{"an array of wires changes and adds alike", `
[[wires]]
name = "line"
to = "relay.A1"
[[wires]]
from = "relay.A2"
to = "supply.N"
`, func(s *circuit.Spec) {
			s.Wires[0].To = "relay.A1"
			s.Wires = append(s.Wires, circuit.WireSpec{From: "relay.A2", To: "supply.N"})
		}},
		{"a mode changes key by key, each value whole", `
[modes.bake]
on = ["element"]
`, func(s *circuit.Spec) { s.Modes[1].On = []string{"element"} }},
		{"a point changes key by key", `
[points]
out.minutes = 9
`, func(s *circuit.Spec) { s.Points[0].Minutes = 9 }},
		{"a dropped part goes with its wires, points and mentions", `
drop.parts = ["lamp"]
`, func(s *circuit.Spec) {
			s.Parts = append(s.Parts[:2], s.Parts[3:]...)
			s.Wires = s.Wires[:3]
			s.Points = s.Points[:1]
			s.Modes[0].Off, s.Modes[1].On = []string{"element"}, []string{"element"}
			delete(s.Modes[2].Share, "lamp")
		}},
		{"a dropped part is forgotten wherever modes name it", `
drop.parts = ["element", "relay"]
`, func(s *circuit.Spec) {
			s.Parts = s.Parts[2:]
			s.Wires = s.Wires[4:]
			s.Points = s.Points[1:]
			s.Modes[0].Off, s.Modes[1].On = []string{"lamp"}, []string{"lamp"}
			delete(s.Modes[1].Set, "relay")
			delete(s.Modes[2].Celsius, "element")
			delete(s.Modes[2].Share, "element")
		}},
		{"a part dropped and described anew keeps its wires", `
drop.parts = ["lamp"]
[parts]
lamp = { kind = "lamp", volts = 120, watts = 25 }
`, func(s *circuit.Spec) {
			s.Parts = append(append(s.Parts[:2:2], s.Parts[3:]...), circuit.PartSpec{Name: "lamp", Kind: "lamp", Volts: 120, Watts: 25})
		}},
		{"a wire dropped and described anew inherits nothing", `
drop.wires = ["line", "lamp1"]
[wires]
line = { from = "supply.L2", to = "relay.com" }
`, func(s *circuit.Spec) {
			s.Wires = []circuit.WireSpec{s.Wires[1], s.Wires[2], s.Wires[4], {Name: "line", From: "supply.L2", To: "relay.com"}}
		}},
		{"a dropped mode is followed by nothing and senses nothing", `
drop.modes = ["clean", "off"]
`, func(s *circuit.Spec) {
			s.Modes = s.Modes[1:2]
			s.Modes[0].After = ""
			s.Parts[3].Senses = s.Parts[3].Senses[1:]
			s.Parts[3].Senses[0].Modes = []string{"bake"}
		}},
		{"a mode dropped and described anew still counts elsewhere", `
drop.modes = ["clean"]
[modes.clean]
on = ["element"]
`, func(s *circuit.Spec) { s.Modes[2] = circuit.ModeSpec{Name: "clean", On: []string{"element"}} }},
		{"a dropped point goes", `
drop.points = ["out"]
`, func(s *circuit.Spec) { s.Points = s.Points[1:] }},
	} {
		t.Run(c.does, func(t *testing.T) {
			if diff := cmp.Diff(expect(t, c.change), adapted(t, c.text)); diff != "" {
				t.Errorf("-expected +read:\n%s", diff)
			}
		})
	}
}

func TestAMachineMayStartFromTheCatalogAndFromFilesInTurn(t *testing.T) {
	t.Chdir(t.TempDir())
	for name, text := range map[string]string{
		"generic/range.toml": `from = "catalog:range-electronic"` + "\nparts.broil_element.watts = 3000\n",
		"mine.toml":          `from = "generic/range.toml"` + "\nparts.bake_element.watts = 2000\n",
	} {
		if err := os.MkdirAll(filepath.Dir(name), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	c, err := ReadFile("mine.toml")
	if err != nil {
		t.Fatal(err)
	}
	watts := map[string]float64{}
	for _, id := range c.Loads() {
		watts[c.Branch(id).Ref] = c.Branch(id).Watts
	}
	want := [2]float64{3000, 2000}
	if got := [2]float64{watts["broil_element"], watts["bake_element"]}; got != want {
		t.Errorf("broil and bake at %v watts, expected %v", got, want)
	}
}

func TestEightNetlistsInARowAreReadAndNoMore(t *testing.T) {
	t.Chdir(t.TempDir())
	for i := range MaxChain + 1 {
		text := oven
		if i > 0 {
			text = fmt.Sprintf("from = \"%d.toml\"\n", i-1)
		}
		if err := os.WriteFile(fmt.Sprintf("%d.toml", i), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		src := []byte(text)
		_, _, err := Parse(fmt.Sprintf("%d.toml", i), src)
		tooLong := err != nil && strings.Contains(err.Error(), "more than 8 netlists")
		if tooLong != (i == MaxChain) || err != nil && !tooLong {
			t.Errorf("%d netlists in a row: %v", i+1, err)
		}
	}
}
