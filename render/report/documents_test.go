package report_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jedib0t/go-pretty/v6/text"
	"pgregory.net/rapid"

	"legtrace/circuit"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

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
	return []report.Document{loads, path, keeps, check, drawn, overview, breaks(t, r, "broil", "broil_element", report.BreaksOptions{}), r.Faults(),
		&report.Catalog{Document: "catalog", Machines: []report.Entry{}, Families: []report.Family{}}, &report.Netlist{Document: "netlist"}}
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
	nullable := map[string]bool{"volts_to_neutral": true, "volts_most": true, "ohms": true}
	for _, d := range documents(t) {
		var b bytes.Buffer
		if err := report.Write(&b, d, report.FormatJSON, false); err != nil {
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
			if err := report.Write(&b, d, report.FormatText, false); err != nil {
				t.Fatal(err)
			}
			if err := report.Write(&b, d, report.FormatJSON, false); err != nil {
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
			if err := report.Write(&b, d, report.FormatText, true); err != nil {
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
