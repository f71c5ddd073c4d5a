package netlists

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/BurntSushi/toml"
	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
)

func compiledSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	c.DefaultDraft(jsonschema.Draft2020)
	if err := c.AddResource("netlist.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("netlist.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// instance is a TOML file as an editor hands it to a schema; not ok where it
// has no such form.
func instance(text []byte) (any, bool) {
	var values map[string]any
	if _, err := toml.Decode(strings.TrimPrefix(string(text), "\ufeff"), &values); err != nil {
		return nil, false
	}
	asJSON, err := json.Marshal(values)
	if err != nil {
		return nil, false // numbers that JSON does not have
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(asJSON))
	return doc, err == nil
}

func TestTheSchemaTakesWhatIsShipped(t *testing.T) {
	s := compiledSchema(t)
	given := map[string][]byte{}
	for _, name := range catalogNames() {
		src, err := Source(name)
		if err != nil {
			t.Fatal(err)
		}
		given[name] = src
	}
	for _, block := range tomlBlock.FindAllStringSubmatch(readFormat(t), -1) {
		if block[1] != "" {
			given[block[2][:min(len(block[2]), 40)]] = []byte(block[2])
		}
	}
	for name, src := range given {
		doc, ok := instance(src)
		if !ok {
			t.Errorf("%s is not TOML", name)
			continue
		}
		if err := s.Validate(doc); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A schema sees a file's shape alone. These hold other mistakes: names that
// lead nowhere, circles, wires run twice, numbers JSON does not have.
var beyondTheSchema = []string{
	"absolute-base", "base-kettle", "broken-base", "cycle-one", "cycle-two",
	"dropped-part-still-named", "duplicate-wire-name-in-array", "folder-base",
	"from-itself", "missing-base", "mode-after-itself", "one-loose-terminal", "part-without-terminal",
	"relay-without-its-control", "unknown-catalog-base", "unknown-mode", "unknown-part",
	"unknown-terminal", "unwired-part", "wire-run-twice", "wire-to-itself",
}

func TestTheSchemaRefusesBrokenFilesWhereASchemaCan(t *testing.T) {
	s := compiledSchema(t)
	files, err := filepath.Glob("../testdata/hostile/*.toml")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d files, error %v", len(files), err)
	}
	var passed []string
	refused := 0
	for _, file := range files {
		src, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		doc, ok := instance(src)
		if !ok {
			continue
		}
		if s.Validate(doc) == nil {
			passed = append(passed, strings.TrimSuffix(filepath.Base(file), ".toml"))
			continue
		}
		refused++
	}
	if diff := cmp.Diff(beyondTheSchema, passed); diff != "" {
		t.Errorf("-beyond a schema +passed by it:\n%s", diff)
	}
	if refused < 15 {
		t.Errorf("only %d refused", refused)
	}
}

// Each slip is made in a good netlist, so that nothing else is wrong with it.
func TestTheSchemaRefusesEachSlip(t *testing.T) {
	s := compiledSchema(t)
	const good = `
[supply]
system = "split-phase"
[parts]
relay = { kind = "relay", volts = 240, watts = 4, contact = "no" }
element = { kind = "element", volts = 240, watts = 2000 }
sensor = { kind = "sensor", curve = "pt3850", ohms_at = 100 }
limit = { kind = "limit" }
[wires]
w1 = { from = "supply.L1", to = "element.1", colour = "BKWH", awg = 12 }
[modes.on]
on = ["element"]
`
	for _, slip := range []struct{ old, new string }{
		{"", ""},
		{`, watts = 2000`, ``},
		{`"element", volts = 240`, `"element", ohms = 4, volts = 240`},
		{`"element", volts = 240`, `"element", volts = 0`},
		{`kind = "element"`, `kind = "elment"`},
		{`kind = "element", `, ``},
		{`volts = 240, watts = 4, contact`, `volts = 240, contact`},
		{`volts = 240, watts = 4, contact`, `driven_by = "x", watts = 4, contact`},
		{`contact = "no"`, `contact = "open"`},
		{`, contact = "no"`, ``},
		{`contact = "no"`, `contact = "no", contacts = { a = "no" }`},
		{`"pt3850"`, `"pt100"`},
		{`"pt3850"`, `"ntc"`},
		{`{ kind = "limit" }`, `{ kind = "limit", contact = "no" }`},
		{`"split-phase"`, `"two-phase"`},
		{`"split-phase"`, "\"split-phase\"\nwires = 2"},
		{`"split-phase"`, "\"single-phase\"\nwires = 4"},
		{`"BKWH"`, `"black"`},
		{`awg = 12`, `awg = 12, mm2 = 4`},
		{`awg = 12`, `awg = 120`},
		{`awg = 12`, `gauge = 12`},
		{`, to = "element.1"`, ``},
		{`on = ["element"]`, `on = "element"`},
		{`[modes.on]`, "[drop]\nparts = []\n[modes.on]"},
		{`limit =`, `supply =`},
		{`w1 = {`, `w1 = { name = "w1", `},
	} {
		if !strings.Contains(good, slip.old) {
			t.Fatalf("%q is not in the netlist", slip.old)
		}
		doc, ok := instance([]byte(strings.Replace(good, slip.old, slip.new, 1)))
		if !ok {
			t.Fatalf("%q: not TOML", slip.new)
		}
		if accepted := s.Validate(doc) == nil; accepted != (slip.old == "") {
			t.Errorf("%q for %q: accepted %v", slip.new, slip.old, accepted)
		}
	}
}
