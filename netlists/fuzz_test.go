package netlists

import (
	"bytes"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/BurntSushi/toml"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// FuzzRead holds that reading anything at all ends well: it does not panic,
// what it says is safe to print and points into the file, and what it accepts
// is the same machine after it has been written and read again.
func FuzzRead(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, src []byte) {
		if len(src) > most {
			return
		}
		r, err := ReadFull("fuzz.toml", src)
		if err != nil {
			checkErrors(t, err.(Errors), src)
			return
		}
		checkErrors(t, r.Warnings, src)
		var out bytes.Buffer
		if err := Write(&out, r.Spec); err != nil {
			t.Fatal(err)
		}
		again, err := ReadFull("written.toml", out.Bytes())
		if err != nil {
			t.Fatalf("%v\n%s", err, out.Bytes())
		}
		if !reflect.DeepEqual(r.Spec, again.Spec) { // in no time; the rest is for who reads it
			if diff := cmp.Diff(r.Spec, again.Spec); diff != "" {
				t.Fatalf("-read +written and read:\n%s\n%s", diff, out.Bytes())
			}
		}
	})
}

// FuzzTree holds that the tree of a file has the values that another TOML
// reader finds in it.
func FuzzTree(f *testing.F) {
	addSeeds(f)
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > most {
			return
		}
		var found collector
		src := newSource("fuzz.toml", text, &found)
		if src == nil {
			return
		}
		root := parse(src, &found)
		if root == nil || found.failed() {
			return
		}
		var want map[string]any
		if _, err := toml.Decode(string(src.text), &want); err != nil {
			t.Fatal(err)
		}
		if other, ours := generic(want), plain(root); !reflect.DeepEqual(other, ours) {
			if diff := cmp.Diff(other, ours, cmpopts.EquateNaNs()); diff != "" {
				t.Fatalf("-other reader +tree:\n%s", diff)
			}
		}
	})
}

// most is how long a text is tried: what makes a long one slow is its length, and
// that has tests of its own.
const most = 2048

// small is a machine with one of each that a netlist can say, in few lines.
const small = `format = 1
name = "kettle"
[supply]
system = "split-phase"
[parts]
control = { kind = "control", volts = 120, watts = 5, senses = [{ name = "warmth", pins = ["S1", "S2"], min_ohms = 900, max_ohms = 2900 }] }
relay = { kind = "relay", driven_by = "control", contact = "no" }
sensor = { kind = "sensor", curve = "pt3750", ohms_at = 1000 }
element = { kind = "element", volts = 240, watts = 2600, label = "Element" }
[wires]
w1 = { from = "supply.L1", to = "control.L", colour = "BK", awg = 18 }
w2 = { from = "supply.N", to = "control.N" }
w3 = { from = "control.S1", to = "sensor.1" }
w4 = { from = "control.S2", to = "sensor.2" }
w5 = { from = "supply.L1", to = "relay.com" }
w6 = { from = "relay.no", to = "element.1" }
w7 = { from = "supply.L2", to = "element.2", metres = 2.5 }
[modes.off]
[modes.on]
drives = ["relay"]
on = ["element"]
celsius = { sensor = 60 }
[points]
p1 = { at = "element.1", label = "Element 1", minutes = 5 }
[priors]
element = 0.002
[sizes]
joint = [[0.5, 20, 2], [20, 200, 1]]
[mistakes]
slip = 0.02
`

func addSeeds(f *testing.F) {
	f.Add([]byte(small))
	files, err := filepath.Glob("../testdata/hostile/*.toml")
	if err != nil || len(files) == 0 {
		f.Fatalf("%d files, error %v", len(files), err)
	}
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		if len(src) <= most {
			f.Add(src)
		}
	}
	for _, src := range []string{
		"a = [[1, 2], [\"x\", {b = 'c', d.e = +inf}], []]\n[[t]]\n[t.u]\nv = 0x1F\n[[t]]\nw = 1_000.5e-3\n",
		"a = \"\"\"\nx\\\n  y\"\"\"\"\"\nb = '''''quoted'''''\n\"c\\u00e9\".'d' = false\n",
		"a = 2024-01-01T00:00:00Z\nb = 07:30:00\n",
		"from = \"catalog:baseboard-heater\"\ndrop.parts = [\"clock\"]\nparts.heater.watts = 25\n",
		"a = [ # one\n  [ # two\n    1 ] ]",
	} {
		f.Add([]byte(src))
	}
}

func checkErrors(t *testing.T, errs Errors, src []byte) {
	t.Helper()
	lines := strings.Split(strings.TrimPrefix(string(src), "\ufeff"), "\n")
	for i, e := range errs {
		if e.File == "fuzz.toml" && e.Line != 0 {
			if e.Line > len(lines) || e.Column < 1 || e.Column > len([]rune(lines[e.Line-1]))+1 {
				t.Fatalf("%v points outside of the file", e)
			}
		}
		if i > 0 && errs[i-1].Warning == e.Warning && errs[i-1].File == e.File && errs[i-1].Line > e.Line {
			t.Fatalf("%v comes after %v", e, errs[i-1])
		}
	}
	for _, r := range strings.ReplaceAll(errs.Error(), "\n", "") {
		if !unicode.IsPrint(r) {
			t.Fatalf("%q is printed", r)
		}
	}
}

// plain turns a tree into what other TOML readers give. Dates, which no
// netlist has, become nil.
func plain(n *node) any {
	switch n.kind {
	case tableNode:
		out := map[string]any{}
		for _, name := range n.table.names {
			out[name] = plain(n.get(name))
		}
		return out
	case arrayNode:
		out := []any{}
		for _, item := range n.items {
			out = append(out, plain(item))
		}
		return out
	case integerNode:
		i, err := n.integer()
		if err != nil {
			return err
		}
		return i
	case floatNode:
		f, err := n.number()
		if err != nil {
			return err
		}
		return f
	case boolNode:
		return n.text == "true"
	case stringNode:
		return n.text
	}
	return nil
}

// generic turns what the other reader gives into the same.
func generic(v any) any {
	switch v := v.(type) {
	case map[string]any:
		out := map[string]any{}
		for name, value := range v {
			out[name] = generic(value)
		}
		return out
	case []map[string]any:
		out := []any{}
		for _, item := range v {
			out = append(out, generic(item))
		}
		return out
	case []any:
		out := []any{}
		for _, item := range v {
			out = append(out, generic(item))
		}
		return out
	case time.Time:
		return nil
	}
	return v
}
