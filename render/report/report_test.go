package report_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jedib0t/go-pretty/v6/text"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/netlists"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// machine opens a machine of the catalog.
func machine(t testing.TB, name string) (*circuit.Circuit, *report.Reporter) {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return c, report.New(c)
}

func ask(t testing.TB, r *report.Reporter, mode, load string, faults ...string) report.Question {
	t.Helper()
	q, err := r.Ask(mode, load, faults, report.Feeding)
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func breaks(t testing.TB, r *report.Reporter, mode, load string, opt report.BreaksOptions) *report.Breaks {
	t.Helper()
	d, err := r.Breaks(context.Background(), ask(t, r, mode, load), opt)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// The classic causes of a broiler that stays cold (common practice, no source)
// are each a single point of failure of the electronic range, and bake keeps
// working with exactly those that it does not share.
func TestTheClassicCausesOfAColdBroiler(t *testing.T) {
	causes := []struct {
		what, ref string
		bakeWorks bool
	}{
		{"a supply leg", "supply.L1", false},
		{"the other supply leg", "supply.L2", false},
		{"the element", "broil_element", true},
		{"the oven sensor", "oven_sensor", false},
		{"the thermal fuse", "thermal_fuse", false},
		{"the broil relay's contact", "broil_relay.contact", true},
		{"the broil relay's coil", "broil_relay.coil", true},
	}
	c, r := machine(t, "range-electronic")
	all := singles(breaks(t, r, "broil", "broil_element", report.BreaksOptions{Order: 1}))
	works, err := r.AskSymptom("bake_element=bake")
	if err != nil {
		t.Fatal(err)
	}
	sparing := singles(breaks(t, r, "broil", "broil_element", report.BreaksOptions{Order: 1, Works: []report.Symptom{works}}))
	engine := settle.New(c)
	for _, cause := range causes {
		if !slices.Contains(all, cause.ref) {
			t.Errorf("%s (%s) is not among the single opens", cause.what, cause.ref)
		}
		if got := slices.Contains(sparing, cause.ref); got != cause.bakeWorks {
			t.Errorf("%s (%s): said to spare bake: %v, want %v", cause.what, cause.ref, got, cause.bakeWorks)
		}
		// The engine, asked directly.
		for _, load := range []struct {
			mode, ref string
			works     bool
		}{{"broil", "broil_element", false}, {"bake", "bake_element", cause.bakeWorks}} {
			if got := share(t, c, engine, load.mode, load.ref, cause.ref+":open") > trace.DefaultShare; got != load.works {
				t.Errorf("with %s open, %s works in %s: %v, want %v", cause.what, load.ref, load.mode, got, load.works)
			}
		}
	}
	for _, ref := range all {
		spares := share(t, c, engine, "bake", "bake_element", ref+":open") > trace.DefaultShare
		if slices.Contains(sparing, ref) != spares {
			t.Errorf("with %s open bake works: %v, and the report says %v", ref, spares, !spares)
		}
	}
}

func singles(d *report.Breaks) []string {
	var refs []string
	for _, s := range d.Sets {
		if s.Order != 1 {
			continue
		}
		for _, it := range s.Members[0].AnyOf {
			refs = append(refs, it.Ref)
		}
	}
	return refs
}

// share is the share of its rated power that the load gets.
func share(t testing.TB, c *circuit.Circuit, engine *settle.Engine, mode, load string, faults ...string) float64 {
	t.Helper()
	m, err := c.FindMode(mode)
	if err != nil {
		t.Fatal(err)
	}
	l, err := c.FindLoad(load)
	if err != nil {
		t.Fatal(err)
	}
	var list []circuit.Fault
	for _, ref := range faults {
		f, err := c.ParseFault(ref)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, f...)
	}
	out, err := engine.Run(m, list)
	if err != nil {
		t.Fatal(err)
	}
	return out.LeastShare(l)
}

// Every set that is printed, any one of each line open, does what it is said to
// do to the load and to every other load.
func TestEverySetDoesWhatIsSaidOfIt(t *testing.T) {
	for _, entry := range netlists.Catalog() {
		c, r := machine(t, entry.Name)
		engine := settle.New(c)
		for _, mode := range c.Modes() {
			for _, e := range mode.Expect {
				if e.Share == 0 {
					continue
				}
				load := c.Branch(e.Load).Ref
				d := breaks(t, r, mode.Name, load, report.BreaksOptions{})
				for _, s := range d.Sets {
					var first []string
					for _, m := range s.Members {
						first = append(first, m.AnyOf[0].Ref+":open")
						for _, it := range m.AnyOf {
							if s.Order == 1 {
								got := share(t, c, engine, mode.Name, load, it.Ref+":open") * d.Load.RatedWatts
								if diff := got - s.Watts; diff > 0.01 || diff < -0.01 {
									t.Errorf("%s, %s in %s: with %s open it gets %.2f W, said %.2f W", entry.Name, load, mode.Name, it.Ref, got, s.Watts)
								}
							}
						}
					}
					sayOthers(t, c, engine, entry.Name, s, first)
				}
			}
		}
	}
}

func sayOthers(t *testing.T, c *circuit.Circuit, engine *settle.Engine, machine string, s report.Set, opens []string) {
	t.Helper()
	works := func(load, mode string) bool {
		return share(t, c, engine, mode, load, opens...) >= trace.DefaultShare*share(t, c, engine, mode, load)
	}
	for _, e := range s.Stops {
		for _, m := range e.Modes {
			if works(e.Ref, m.Name) {
				t.Errorf("%s: %v is said to stop %s in %s and does not", machine, opens, e.Ref, m.Name)
			}
		}
	}
	for _, n := range s.Spares {
		for _, m := range c.Modes() {
			for _, e := range m.Expect {
				if e.Share > 0 && c.Branch(e.Load).Ref == n.Ref && !works(n.Ref, m.Name) {
					t.Errorf("%s: %v is said to spare %s and stops it in %s", machine, opens, n.Ref, m.Name)
				}
			}
		}
	}
}

// A person can follow the way with a finger: every wire and part starts where
// the one before ended.
func TestTheWayHasNoGaps(t *testing.T) {
	for _, entry := range netlists.Catalog() {
		c, r := machine(t, entry.Name)
		for _, mode := range c.Modes() {
			for _, e := range mode.Expect {
				d, err := r.Path(ask(t, r, mode.Name, c.Branch(e.Load).Ref))
				if err != nil {
					t.Fatal(err)
				}
				for _, end := range d.Ends {
					at := ""
					for _, h := range end.Hops {
						if h.Item.Kind == "wire" && h.Item.From != at && h.Item.To != at {
							t.Errorf("%s, %s in %s: %s does not start at %s", entry.Name, d.Load.Ref, mode.Name, h.Item.Ref, at)
						}
						at = h.To
					}
					if len(end.Hops) > 0 && at != end.Terminal {
						t.Errorf("%s, %s in %s: the way ends at %s, not %s", entry.Name, d.Load.Ref, mode.Name, at, end.Terminal)
					}
				}
			}
		}
	}
}

// documents gives one of every kind.
func documents(t testing.TB) []report.Document {
	t.Helper()
	_, r := machine(t, "range-electronic")
	q := ask(t, r, "broil", "broil_element")
	off, err := r.Ask("off", "broil_element", nil, report.Keeping)
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	loads, err1 := r.Loads(q)
	path, err2 := r.Path(ask(t, r, "broil", "broil_element", "oven_sensor:open"))
	keeps, err3 := r.KeepsOn(ctx, off, report.BreaksOptions{})
	check, err4 := r.Check(nil, func(string) report.At { return report.At{} })
	_, drawn, err5 := r.Drawing(ctx, q, schematic.IEC)
	overview, err6 := r.Overview(ctx, q)
	for _, err := range []error{err1, err2, err3, err4, err5, err6} {
		if err != nil {
			t.Fatal(err)
		}
	}
	return []report.Document{loads, path, keeps, check, drawn, overview, breaks(t, r, "broil", "broil_element", report.BreaksOptions{}),
		&report.Catalog{Document: "catalog", Machines: []report.Entry{}}, &report.Netlist{Document: "netlist"}}
}

// Scripts that read the documents need not ask whether a list is there, and
// find only what the guide tells of.
func TestDocumentsHoldWhatTheGuideSays(t *testing.T) {
	var guide bytes.Buffer
	if err := report.FieldGuide(&guide, false); err != nil {
		t.Fatal(err)
	}
	told := map[string]bool{}
	for _, word := range strings.Fields(guide.String()) {
		told[word] = true
	}
	nullable := map[string]bool{"volts_to_neutral": true, "ohms": true}
	for _, d := range documents(t) {
		var b bytes.Buffer
		if err := report.WriteJSON(&b, d); err != nil {
			t.Fatal(err)
		}
		var v any
		if err := json.Unmarshal(b.Bytes(), &v); err != nil {
			t.Fatal(err)
		}
		walkJSON(v, "", func(path, key string, value any) {
			if !told[key] {
				t.Errorf("%T: the guide does not tell of %s", d, path)
			}
			if value == nil && !nullable[key] {
				t.Errorf("%T: %s is null", d, path)
			}
		})
	}
}

func walkJSON(v any, path string, see func(path, key string, value any)) {
	switch v := v.(type) {
	case map[string]any:
		for k, item := range v {
			see(path+"."+k, k, item)
			walkJSON(item, path+"."+k, see)
		}
	case []any:
		for i, item := range v {
			walkJSON(item, fmt.Sprintf("%s.%d", path, i), see)
		}
	}
}

// Every field of a document says in its tag what it is.
func TestEveryFieldIsExplained(t *testing.T) {
	for _, d := range documents(t) {
		explained(t, reflect.TypeOf(d).Elem())
	}
}

func explained(t *testing.T, typ reflect.Type) {
	for i := range typ.NumField() {
		f := typ.Field(i)
		if !f.IsExported() {
			continue
		}
		if !f.Anonymous && (f.Tag.Get("json") == "" || f.Tag.Get("help") == "") {
			t.Errorf("%s.%s has no json name or no help", typ.Name(), f.Name)
		}
		inner := f.Type
		for inner.Kind() == reflect.Slice || inner.Kind() == reflect.Pointer {
			inner = inner.Elem()
		}
		if inner.Kind() == reflect.Struct {
			explained(t, inner)
		}
	}
}

// The same question gets the same words.
func TestReportsAreDeterministic(t *testing.T) {
	write := func() string {
		var b bytes.Buffer
		for _, d := range documents(t) {
			if err := report.WriteText(&b, d, false); err != nil {
				t.Fatal(err)
			}
			if err := report.WriteJSON(&b, d); err != nil {
				t.Fatal(err)
			}
		}
		return b.String()
	}
	if diff := cmp.Diff(write(), write()); diff != "" {
		t.Error(diff)
	}
}

// Labels of any length and script stay within the lines.
func TestLongLabelsStayWithinTheLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		label := rapid.StringOfN(rapid.RuneFrom([]rune("ab é漢字 ")), 1, 150, -1)
		spec := circuit.Spec{Name: "m", Title: label.Draw(t, "title"),
			Supply: circuit.SupplySpec{System: "split-phase"},
			Parts: []circuit.PartSpec{
				{Name: strings.Repeat("s", rapid.IntRange(1, 64).Draw(t, "name")) + "", Kind: "switch", Label: label.Draw(t, "switch")},
				{Name: "e", Kind: "element", Volts: 240, Watts: 2000, Label: label.Draw(t, "element")},
			},
			Modes: []circuit.ModeSpec{{Name: "on", Label: label.Draw(t, "mode"), On: []string{"e"}}},
		}
		s := spec.Parts[0].Name
		spec.Modes[0].Set = map[string]string{s: "closed"}
		spec.Wires = []circuit.WireSpec{{Name: "w1", From: "supply.L1", To: s + ".1"}, {Name: "w2", From: s + ".2", To: "e.1"}, {Name: "w3", From: "e.2", To: "supply.L2"}}
		c, problems := circuit.Build(spec)
		if c == nil {
			t.Fatalf("%v", problems)
		}
		r := report.New(c)
		q, err := r.Ask("", "", []string{s + ":open"}, report.Feeding)
		if err != nil {
			t.Fatal(err)
		}
		path, err := r.Path(q)
		if err != nil {
			t.Fatal(err)
		}
		q.Faults = nil
		overview, err := r.Overview(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		check, err := r.Check(nil, func(string) report.At { return report.At{File: "f"} })
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range []report.Document{path, overview, check} {
			var b bytes.Buffer
			if err := report.WriteText(&b, d, true); err != nil {
				t.Fatal(err)
			}
			for _, line := range strings.Split(b.String(), "\n") {
				if w := text.StringWidthWithoutEscSequences(line); w > report.Width {
					t.Fatalf("%d wide: %s", w, line)
				}
			}
		}
	})
}

// Wrapping loses no word and keeps the width.
func TestWrapKeepsWordsAndWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.StringOf(rapid.RuneFrom([]rune("abc é漢 \n"))).Draw(t, "text")
		width := rapid.IntRange(2, 40).Draw(t, "width")
		lines := report.Wrap(s, width)
		for _, line := range lines {
			if w := text.StringWidthWithoutEscSequences(line); w > width {
				t.Errorf("%d wide: %q", w, line)
			}
		}
		squeeze := func(s string) string { return strings.Join(strings.Fields(s), "") }
		if got, want := squeeze(strings.Join(lines, " ")), squeeze(s); got != want {
			t.Errorf("%q became %q", want, got)
		}
	})
}
