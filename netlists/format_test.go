package netlists

import (
	"fmt"
	"math"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/suspect"
)

func readFormat(t *testing.T) string {
	t.Helper()
	text, err := os.ReadFile("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

var tomlBlock = regexp.MustCompile("(?ms)^```toml( complete)?\n(.*?)^```$")

func TestEveryCompleteExampleIsAMachineThatDoesWhatItSays(t *testing.T) {
	complete := 0
	for _, block := range tomlBlock.FindAllStringSubmatch(readFormat(t), -1) {
		if block[1] == "" {
			continue
		}
		complete++
		r, err := ReadFull("FORMAT.md", []byte(block[2]))
		if err != nil {
			t.Errorf("%v\nin\n%s", err, block[2])
			continue
		}
		if len(r.Warnings) > 0 {
			t.Errorf("%s: %v", r.Spec.Name, r.Warnings)
		}
		engine := settle.New(r.Circuit)
		for _, mode := range r.Circuit.Modes() {
			out, err := engine.Run(mode.ID, nil)
			if err != nil {
				t.Errorf("%s in %s: %v", r.Spec.Name, mode.Name, err)
				continue
			}
			for _, e := range mode.Expect {
				if got := out.LeastShare(e.Load); math.Abs(got-e.Share) > 0.02 {
					t.Errorf("%s in %s: %s is at %.3f of its power, expected %.3f", r.Spec.Name, mode.Name, r.Circuit.Label(e.Load), got, e.Share)
				}
			}
		}
	}
	if complete < 5 {
		t.Errorf("only %d complete examples", complete)
	}
}

// A fragment is no machine, but every key of it is one that the reader knows.
func TestEveryFragmentIsOfTheFormat(t *testing.T) {
	for _, block := range tomlBlock.FindAllStringSubmatch(readFormat(t), -1) {
		if _, _, err := Parse("FORMAT.md", []byte(block[2])); err != nil {
			t.Errorf("%v\nin\n%s", err, block[2])
		}
	}
}

// section returns what stands below a heading, down to the next one.
func section(t *testing.T, text, heading string) string {
	t.Helper()
	_, below, ok := strings.Cut(text, "\n"+heading+"\n")
	if !ok {
		t.Fatalf("FORMAT.md has no heading %q", heading)
	}
	if i := strings.Index(below, "\n#"); i >= 0 {
		below = below[:i]
	}
	return below
}

// rows returns the cells of the tables in a text, headings left out.
func rows(text string) [][]string {
	var out [][]string
	for _, line := range strings.Split(text, "\n") {
		if !strings.HasPrefix(line, "| `") {
			continue
		}
		var cells []string
		for _, cell := range strings.Split(strings.Trim(line, "|"), "|") {
			cells = append(cells, strings.TrimSpace(cell))
		}
		out = append(out, cells)
	}
	return out
}

func TestTheTablesListEveryKeyAndNoOther(t *testing.T) {
	text := readFormat(t)
	for _, table := range []struct {
		heading string
		of      any
		besides []string
	}{
		{"## The file", circuit.Spec{}, []string{"from", "drop"}},
		{"## Supply", circuit.SupplySpec{}, nil},
		{"### Keys of a part", circuit.PartSpec{}, nil},
		{"### Controls", circuit.SenseSpec{}, nil},
		{"### Codes", circuit.CodeSpec{}, nil},
		{"### Panels", circuit.PanelSpec{}, nil},
		{"### Places", circuit.PlaceSpec{}, nil},
		{"## Heat", circuit.BodySpec{}, nil},
		{"## Wires", circuit.WireSpec{}, nil},
		{"## Modes", circuit.ModeSpec{}, nil},
		{"## Points", circuit.PointSpec{}, nil},
		{"## Starting from another netlist", dropSpec{}, nil},
	} {
		want := append(keysOf(fieldsByTag(reflect.TypeOf(table.of))), table.besides...)
		switch table.of.(type) {
		case circuit.PartSpec, circuit.ModeSpec, circuit.PointSpec, circuit.PanelSpec, circuit.PlaceSpec, circuit.BodySpec:
			want = slices.DeleteFunc(want, func(key string) bool { return key == "name" })
		}
		var got []string
		for _, row := range rows(section(t, text, table.heading)) {
			got = append(got, strings.Trim(row[0], "`"))
		}
		slices.Sort(want)
		slices.Sort(got)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: -format +table:\n%s", table.heading, diff)
		}
	}
}

// bench holds a part under test, what may drive it, and a wire from each of
// its terminals to the chassis: that fails for a terminal that does not exist
// and for one left without a wire.
func bench(part string, terminals []string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `
[supply]
system = "single-phase"
[parts]
part = { %s }
control = { kind = "control", volts = 120, watts = 5 }
motor = { kind = "motor", volts = 120, watts = 100 }
[modes.off]
[wires]
a = { from = "control.L", to = "supply.L1" }
b = { from = "control.N", to = "supply.N" }
c = { from = "motor.1", to = "supply.L1" }
d = { from = "motor.2", to = "supply.N" }
`, part)
	for i, terminal := range terminals {
		fmt.Fprintf(&b, "t%d = { from = %q, to = \"chassis\" }\n", i, strings.TrimSuffix("part."+terminal, "."))
	}
	return b.String()
}

func TestEveryKindHasTheTerminalsAndPositionsListed(t *testing.T) {
	listed := map[string]bool{}
	for _, row := range rows(section(t, readFormat(t), "### Terminals")) {
		part := strings.Trim(row[0], "`")
		terminals := strings.Fields(strings.ReplaceAll(row[1], "`", ""))
		if len(terminals) == 0 {
			terminals = []string{""} // a node's, which goes by the part's name
		}
		r, err := ReadFull("bench", []byte(bench(part, terminals)))
		if err != nil {
			t.Errorf("%s:\n%v", part, err)
			continue
		}
		if len(r.Warnings) > 0 {
			t.Errorf("%s:\n%v", part, r.Warnings)
		}
		id, _ := r.Circuit.FindPart("part")
		p := r.Circuit.Part(id)
		listed[p.Kind.String()] = true
		var positions []string
		for i := range p.Positions {
			positions = append(positions, p.Positions[(p.Rest+i)%len(p.Positions)])
		}
		if got := strings.Join(positions, ", "); got != row[2] {
			t.Errorf("%s has the positions %q, not %q", part, got, row[2])
		}
	}
	for _, k := range circuit.Kinds() {
		if !listed[k.String()] {
			t.Errorf("no row shows the terminals of a %s", k)
		}
	}
}

func TestTheColoursListedAreThoseTaken(t *testing.T) {
	listed := map[string]bool{}
	for _, row := range rows(section(t, readFormat(t), "### Colours")) {
		listed[strings.Trim(row[0], "`")] = true
	}
	spec, _, err := Parse("bench", []byte(bench(`kind = "switch"`, []string{"1", "2"})))
	if err != nil {
		t.Fatal(err)
	}
	taken := func(code string) bool {
		spec.Wires[0].Colour = code
		c, _ := circuit.Build(spec)
		return c != nil
	}
	if !listed["GNYE"] || !taken("GNYE") || !taken("BKWH") {
		t.Error("GNYE and stripes are taken")
	}
	for first := 'A'; first <= 'Z'; first++ {
		for second := 'A'; second <= 'Z'; second++ {
			if code := string(first) + string(second); listed[code] != taken(code) {
				t.Errorf("%s: listed %v, taken %v", code, listed[code], taken(code))
			}
		}
	}
}

// TestTheGeneratedTablesAreFresh compares what stands between the marks with
// what the code says; go test ./netlists -update writes it anew.
func TestTheGeneratedTablesAreFresh(t *testing.T) {
	text := readFormat(t)
	want := text
	for name, table := range map[string]string{"kinds": kindsTable(), "figures": figuresTable(), "ways": waysTable(), "sizes": sizesTable(), "mistakes": mistakesTable(), "tales": talesTable()} {
		start := fmt.Sprintf("<!-- generated: %s -->\n", name)
		before, rest, ok := strings.Cut(want, start)
		_, after, ended := strings.Cut(rest, "<!-- end -->")
		if !ok || !ended {
			t.Fatalf("FORMAT.md has no place for the %s", name)
		}
		want = before + start + table + "<!-- end -->" + after
	}
	if *update {
		if err := os.WriteFile("FORMAT.md", []byte(want), 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	if diff := cmp.Diff(want, text); diff != "" {
		t.Errorf("-fresh +file:\n%s", diff)
	}
}

func kindsTable() string {
	var b strings.Builder
	b.WriteString("| kind | what it is | needs | may have | prior |\n| --- | --- | --- | --- | --- |\n")
	code := func(keys []string) string {
		var out []string
		for _, key := range keys {
			out = append(out, "`"+key+"`")
		}
		return strings.Join(out, " ")
	}
	for _, k := range circuit.Kinds() {
		info := k.Info()
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %g |\n", info.Name, info.Trade, code(info.Required), code(info.Optional), info.Prior)
	}
	return b.String()
}

func waysTable() string {
	var b strings.Builder
	b.WriteString("| way | what it is | share |\n| --- | --- | --- |\n")
	for _, w := range circuit.Ways() {
		fmt.Fprintf(&b, "| `%s` | %s | %g |\n", w.Name, w.Trade, w.Share)
	}
	return b.String()
}

func sizesTable() string {
	var b strings.Builder
	b.WriteString("| size | of what | from | to | | share |\n| --- | --- | --- | --- | --- | --- |\n")
	for _, r := range circuit.Ranges() {
		name, trade := "`"+r.Name+"`", r.Trade
		for _, p := range r.Stretches {
			fmt.Fprintf(&b, "| %s | %s | %g | %g | %s | %g |\n", name, trade, p.Low, p.High, r.Unit, p.Share)
			name, trade = "", ""
		}
	}
	return b.String()
}

func mistakesTable() string {
	var b strings.Builder
	b.WriteString("| mistake | whose | what it is | chance | at most |\n| --- | --- | --- | --- | --- |\n")
	for _, r := range circuit.Mistakes() {
		fmt.Fprintf(&b, "| `%s` | %s | %s | %g | %g |\n", r.Name, r.Who, r.Why, r.Chance, r.Most)
	}
	return b.String()
}

func figuresTable() string {
	var b strings.Builder
	b.WriteString("| | |\n| --- | --- |\n")
	for _, row := range []struct {
		what   string
		figure float64
		unit   string
	}{
		{"largest file", MaxBytes / 1024, "KiB"},
		{"deepest nesting of brackets, or pieces of a dotted key", MaxDepth, ""},
		{"netlists that start from one another", MaxChain, ""},
		{"parts", circuit.MaxParts, ""},
		{"wires", circuit.MaxWires, ""},
		{"modes", circuit.MaxModes, ""},
		{"test points", circuit.MaxPoints, ""},
		{"panels, and places", circuit.MaxPlaces, ""},
		{"bodies that get warm", circuit.MaxBodies, ""},
		{"poles, positions or contacts of a part", circuit.MaxPoles, ""},
		{"length of a name", circuit.MaxName, "characters"},
		{"default `source_ohms`", circuit.DefaultSourceOhms, "ohms"},
		{"default `feeder_ohms`", circuit.DefaultFeederOhms, "ohms"},
		{"default `pickup`", circuit.DefaultPickup, "of rated volts"},
		{"default `dropout`", circuit.DefaultDropout, "of rated volts"},
		{"a motor keeps running at", circuit.RunShare, "of rated volts"},
		{"a sensor not given a temperature is at", circuit.RoomCelsius, "C"},
	} {
		fmt.Fprintf(&b, "| %s | %s |\n", row.what, strings.TrimSpace(fmt.Sprintf("%g %s", row.figure, row.unit)))
	}
	return b.String()
}

// The other reader of TOML is asked too, so that an example does not lean on a
// leniency of ours.
func TestEveryExampleIsPlainTOML(t *testing.T) {
	for _, block := range tomlBlock.FindAllStringSubmatch(readFormat(t), -1) {
		var values map[string]any
		if err := toml.Unmarshal([]byte(block[2]), &values); err != nil {
			t.Errorf("%v\nin\n%s", err, block[2])
		}
	}
}

// talesTable lists what can be told, the chance of it whatever is wrong, and why.
func talesTable() string {
	var b strings.Builder
	b.WriteString("| what | as it is said | base | why |\n| --- | --- | --- | --- |\n")
	for _, t := range suspect.Tales() {
		fmt.Fprintf(&b, "| `%s` | %s | %g | %s |\n", t.What, t.Words, t.Base, t.Why)
	}
	return b.String()
}
