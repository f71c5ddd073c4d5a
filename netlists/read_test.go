package netlists

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
)

func TestEveryWayOfWritingWiresGivesTheSame(t *testing.T) {
	head := "[supply]\nsystem = \"single-phase\"\n"
	want := []circuit.WireSpec{{Name: "a", From: "supply.L1", To: "x.1", AWG: 12}, {Name: "b", From: "x.2", To: "supply.N"}}
	for _, text := range []string{
		head + "[wires]\na = { from = \"supply.L1\", to = \"x.1\", awg = 12 }\nb = { from = \"x.2\", to = \"supply.N\" }\n",
		head + "[wires]\na.from = \"supply.L1\"\na.to = \"x.1\"\na.awg = 12\n[wires.b]\nto = \"supply.N\"\nfrom = \"x.2\"\n",
		"wires = [\n  { name = \"a\", from = \"supply.L1\", to = \"x.1\", awg = 12 }, # line\n  { name = \"b\", from = \"x.2\", to = \"supply.N\" },\n]\n" + head,
		head + "[[wires]]\nname = \"a\"\nfrom = \"supply.L1\"\nto = \"x.1\"\nawg = 12\n[[wires]]\nname = \"b\"\nfrom = \"x.2\"\nto = \"supply.N\"\n",
	} {
		spec, _, err := Parse("wires.toml", []byte(text))
		if err != nil {
			t.Errorf("%v\nin\n%s", err, text)
			continue
		}
		if diff := cmp.Diff(want, spec.Wires); diff != "" {
			t.Errorf("-expected +read:\n%s\nin\n%s", diff, text)
		}
	}
}

func TestPositionsAreThoseOfTheFile(t *testing.T) {
	text := `title = "Ofen für 水"
parts.heater = { label = "é", volts = 240, poles = ["a", "b"] }
[parts.board]
senses = [
  { name = "x", pins = ["A", "B"] }, { name = "y", modes = [ "bake" ] },
]
chart.on = [["1", "2"], [ "3",
  "4"]]
[[wires]]
from = "a.1"
[[wires]]
to = "b.1"
[modes]
bake.set = { fan = "on" }
`
	_, positions, err := Parse("f", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	type place struct{ Key, Value string }
	got := map[string]place{}
	want := map[string]place{
		"title":                          {"f:1:1", "f:1:9"},
		"parts.heater":                   {"f:2:7", "f:2:16"},
		"parts.heater.volts":             {"f:2:31", "f:2:39"},
		"parts.heater.poles[1]":          {"f:2:58", "f:2:58"},
		"parts.board":                    {"f:3:8", "f:3:8"},
		"parts.board.senses[1]":          {"f:5:38", "f:5:38"},
		"parts.board.senses[1].modes[0]": {"f:5:62", "f:5:62"},
		"parts.board.chart.on[0]":        {"f:7:13", "f:7:13"},
		"parts.board.chart.on[1][0]":     {"f:7:27", "f:7:27"},
		"parts.board.chart.on[1][1]":     {"f:8:3", "f:8:3"},
		"wires[0].from":                  {"f:10:1", "f:10:8"},
		"wires[1].to":                    {"f:12:1", "f:12:6"},
		"modes.bake.set.fan":             {"f:14:14", "f:14:20"},
	}
	for path := range want {
		key, okKey := positions.Key(path)
		value, okValue := positions.Value(path)
		if !okKey || !okValue {
			t.Errorf("%s is not found", path)
		}
		got[path] = place{key.String(), value.String()}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("-expected +found:\n%s", diff)
	}
	for path, want := range map[string]string{
		"parts.heater.watts": "f:2:7",  // of the part
		"parts.heater.volts": "f:2:39", // of the value
		"wires[1].from":      "f:11:3", // of the wire
		"wires[7].from":      "f:9:3",  // of the wires
		"points.tap":         "f:1:1",
	} {
		if got := positions.Nearest(path).String(); got != want {
			t.Errorf("nearest to %s is %s, expected %s", path, got, want)
		}
	}
	if _, ok := positions.Value("parts.heater.watts"); ok {
		t.Error("a value that is not there is found")
	}
}

func TestAFileThatCannotBeReadIsAnError(t *testing.T) {
	t.Chdir(t.TempDir())
	if err := os.Mkdir("folder", 0o777); err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]string{
		"none.toml":               "none.toml: cannot be read: no such file",
		"no\x1bne.toml":           `no\x1bne.toml: cannot be read: no such file`,
		"folder":                  "folder: cannot be read: is a directory",
		"catalog:rnge":            `catalog:rnge: cannot be read: the catalog has no netlist "rnge" (it has baseboard-heater, cooktop-built-in, dryer, kiln, oven-230, oven-double, oven-gas, oven-three-phase, range-apartment, range-electronic, range-mechanical, range-slide-in, range-smooth-top, water-heater, and variants of them)`,
		"catalog:../x":            `catalog:../x: cannot be read: the catalog has no netlist "../x" (it has baseboard-heater, cooktop-built-in, dryer, kiln, oven-230, oven-double, oven-gas, oven-three-phase, range-apartment, range-electronic, range-mechanical, range-slide-in, range-smooth-top, water-heater, and variants of them)`,
		"catalog:range-mecanical": `catalog:range-mecanical: cannot be read: the catalog has no netlist "range-mecanical" (did you mean "range-mechanical"?)`,
	} {
		_, err := ReadFile(path)
		var errs Errors
		if !errors.As(err, &errs) || err.Error() != want {
			t.Errorf("got %v, expected %s", err, want)
		}
	}
}

func TestAHugeFileIsRefusedUnread(t *testing.T) {
	path := filepath.Join(t.TempDir(), "huge.toml")
	if err := os.WriteFile(path, bytes.Repeat([]byte("#"), MaxBytes+1), 0o666); err != nil {
		t.Fatal(err)
	}
	_, err := ReadFile(path)
	if err == nil || !strings.HasSuffix(err.Error(), "huge.toml: a file of more than 1048576 bytes is not read") {
		t.Errorf("got %v", err)
	}
}

// The limit is many times what any of these take on a busy machine, and far
// less than what they are made to provoke.
func TestHostileFilesEndSoon(t *testing.T) {
	fill := func(line func(i int) string) string {
		var b strings.Builder
		for i := 0; b.Len() < MaxBytes/4; i++ {
			b.WriteString(line(i))
		}
		return b.String()
	}
	for what, text := range map[string]string{
		"brackets":           fill(func(int) string { return "[" }),
		"braces":             "a = " + fill(func(int) string { return "{a=" }),
		"dotted keys":        fill(func(i int) string { return strings.Repeat("a.", 60) + fmt.Sprintf("k%d = 1\n", i) }),
		"endless string":     `a = """` + fill(func(int) string { return `\\"` }),
		"unknown keys":       fill(func(i int) string { return fmt.Sprintf("k%d = 1\n", i) }),
		"one key":            fill(func(int) string { return "name = 1\n" }),
		"one line":           "parts = { " + fill(func(i int) string { return fmt.Sprintf("p%d = { \"é\" = 1 }, ", i) }) + "}",
		"unknown kinds":      "[parts]\n" + fill(func(i int) string { return fmt.Sprintf("p%d = { kind = \"elment\" }\n", i) }),
		"empty wires":        fill(func(int) string { return "[[wires]]\n" }),
		"tables in tables":   fill(func(int) string { return "[[a]]\n[[a.b]]\n" }),
		"unknown set":        "[modes.a]\nset = { " + fill(func(i int) string { return fmt.Sprintf("p%d = \"x\", ", i) }) + "}",
		"arrays in an array": "notes = [" + fill(func(int) string { return "[],\n" }) + "]",
	} {
		_, err := Read("hostile.toml", []byte(text))
		var errs Errors
		if !errors.As(err, &errs) {
			t.Errorf("%s: got %v", what, err)
			continue
		}
		if lines := strings.Count(err.Error(), "\n"); lines > maxPrinted {
			t.Errorf("%s: %d lines are printed", what, lines+1)
		}
	}
}

func TestThousandsOfErrorsAreAllFoundAndFiftyPrinted(t *testing.T) {
	var b strings.Builder
	b.WriteString("[supply]\nsystem = \"single-phase\"\n[modes.off]\n[parts]\nx = { kind = \"switch\" }\n[wires]\n")
	b.WriteString("a = { from = \"supply.L1\", to = \"x.1\" }\nb = { from = \"x.2\", to = \"supply.N\" }\n")
	const many = 5000
	for i := range many {
		fmt.Fprintf(&b, "w%d = { from = \"x.3\", to = \"y%d.1\" }\n", i, i)
	}
	_, err := Read("many.toml", []byte(b.String()))
	errs, ok := err.(Errors)
	if !ok || len(errs) != 2*many {
		t.Fatalf("%d errors, expected %d", len(errs), 2*many)
	}
	lines := strings.Split(err.Error(), "\n")
	if len(lines) != 51 || lines[50] != "and 9950 more" {
		t.Errorf("%d lines, the last %q", len(lines), lines[len(lines)-1])
	}
	if want := `many.toml:9:15: unknown terminal "x.3" (it has x.1, x.2)`; lines[0] != want {
		t.Errorf("first line %q, expected %q", lines[0], want)
	}
}

func TestWarningsComeWithTheMachine(t *testing.T) {
	text := `
[supply]
system = "single-phase"
[parts]
plug = { kind = "connector", poles = ["L", "N", "X"] }
[wires]
a = { from = "supply.L1", to = "plug.L.in" }
b = { from = "supply.N", to = "plug.N.in" }
[modes.off]
`
	r, err := ReadFull("plug.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	want := Errors{{Position: Position{"plug.toml", 5, 1}, Warning: true,
		Message: `no wire on terminal L.out, N.out, X.in, X.out of "plug"`}}
	if diff := cmp.Diff(want, r.Warnings); diff != "" {
		t.Errorf("-expected +found:\n%s", diff)
	}
	if r.Circuit == nil || len(r.Spec.Parts) != 1 {
		t.Error("no machine came with them")
	}
}

func TestWhatNoNetlistCanSayIsNotWritten(t *testing.T) {
	nan := circuit.Spec{Parts: []circuit.PartSpec{{Name: "x", Volts: nanValue()}}}
	for what, spec := range map[string]circuit.Spec{
		`two parts are named "x"`:       {Parts: []circuit.PartSpec{{Name: "x"}, {Name: "x"}}},
		`two modes are named "x"`:       {Modes: []circuit.ModeSpec{{Name: "x"}, {Name: "x"}}},
		`two test points are named "x"`: {Points: []circuit.PointSpec{{Name: "x"}, {Name: "x"}}},
		`"\xff", which is not UTF-8`:    {Title: "\xff"},
		`the number NaN`:                nan,
	} {
		var out bytes.Buffer
		err := Write(&out, spec)
		if err == nil || err.Error() != "cannot be written as a netlist: "+what || out.Len() > 0 {
			t.Errorf("got %v and %d bytes, expected %s", err, out.Len(), what)
		}
	}
}

func nanValue() float64 {
	zero := 0.0
	return zero / zero
}

// Phrases are laid over those of the netlist that this one starts from row by row, come back
// as they were written, and slips in them are told.
func TestPhrasesOfANetlist(t *testing.T) {
	base := "from = \"catalog:dryer\"\nname = \"m\"\n[phrases.en]\ndead = [\"gone to sleep\"]\nburnt = [\"cooked\"]\n"
	got, _, err := Parse("m.toml", []byte(base+"[phrases.es]\ndead = [\"se durmió\"]\n"))
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]map[string][]string{"en": {"dead": {"gone to sleep"}, "burnt": {"cooked"}}, "es": {"dead": {"se durmió"}}}
	if diff := cmp.Diff(want, got.Phrases); diff != "" {
		t.Error(diff)
	}
	var out bytes.Buffer
	if err := Write(&out, got); err != nil {
		t.Fatal(err)
	}
	if again, _, err := Parse("m.toml", out.Bytes()); err != nil {
		t.Error(err)
	} else if diff := cmp.Diff(want, again.Phrases); diff != "" {
		t.Error(diff)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "base.toml"), []byte(base), 0o666); err != nil {
		t.Fatal(err)
	}
	over, _, err := Parse(filepath.Join(dir, "over.toml"), []byte("from = \"base.toml\"\nname = \"o\"\n[phrases.en]\nburnt = [\"fried\"]\n"))
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(map[string][]string{"dead": {"gone to sleep"}, "burnt": {"fried"}}, over.Phrases["en"]); diff != "" {
		t.Error(diff)
	}
	_, err = Read("m.toml", []byte("from = \"catalog:dryer\"\nname = \"m\"\n[phrases.en]\nded = [\"x y\"]\ndead = [\" \", \"?\", \"works\"]\n[phrases.fr]\ndead = [\"mort\"]\n"))
	for _, want := range []string{`m.toml:4:7: "ded" is nothing that is told (did you mean "dead"?)`, `m.toml:5:9: " " is nothing that people say`, `m.toml:5:14: "?" has no word in it`,
		`m.toml:5:19: "works" says something else already (add words to it)`, `"fr" is no language that is read`} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v\nlacks %s", err, want)
		}
	}
}

// A slip in what can be told, or in what a part is called, names the nearest.
func TestSlipsInTalesAndWords(t *testing.T) {
	_, err := Read("m.toml", []byte("from = \"catalog:dryer\"\nname = \"m\"\n[tales]\nself_clen = { base = 0.1 }\n[words]\nheatr = [\"hot box\"]\n"))
	for _, want := range []string{`m.toml:4:1: "self_clen" is nothing that can be told (did you mean "self_clean"?)`, `m.toml:6:9: unknown part "heatr" (did you mean "heater"?)`} {
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v\nlacks %s", err, want)
		}
	}
}
