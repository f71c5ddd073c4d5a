package report_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/jedib0t/go-pretty/v6/text"

	"legtrace/circuit"
	"legtrace/circuit/drill"
	"legtrace/render/report"
)

// session plays moves on a hidden fault.
func session(t *testing.T, c *circuit.Circuit, fault string, moves ...string) *drill.Session {
	t.Helper()
	faults, err := c.ParseFault(fault)
	if err != nil {
		t.Fatal(err)
	}
	d, err := drill.With(c, drill.Options{}, faults)
	if err != nil {
		t.Fatal(err)
	}
	s := d.Start()
	for _, line := range moves {
		m, err := drill.Parse(c, line)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Play(m); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// A debrief that may do no work tells what needs none, and makes no score up.
func TestOutOfPatienceADrillStillTellsWhatWasHidden(t *testing.T) {
	c, r := machine(t, "range-electronic")
	s := session(t, c, "oven_sensor:open", "try broil", "off", "prove", "dead", "name oven_sensor")
	told := func(thousands int) *report.DrillSummary {
		bound, stop := circuit.Within(t.Context(), 1000*thousands)
		defer stop()
		d, err := r.Drill(bound, s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	d := told(0)
	if !d.Unweighed || d.Points != 0 || len(d.BestMoves) > 0 || len(d.Tests) > 0 {
		t.Errorf("without patience: %+v", d)
	}
	if d.End != "found" || d.Yours.Tests != 1 || len(d.Moves) != 5 || len(d.Stories) != 1 || d.Faults[0].Ref != "oven_sensor:open" {
		t.Errorf("what needs no weighing is not told: %+v", d)
	}
	if d := told(drill.Patience); d.Unweighed || d.Points == 0 || len(d.BestMoves) == 0 {
		t.Errorf("with the usual patience: %+v", d)
	}
}

// learning gives the documents for learners.
func learning(t *testing.T) []report.Document {
	t.Helper()
	c, r := machine(t, "range-electronic")
	s := session(t, c, "oven_sensor:open", "try broil", "ohms broil_1 broil_2", "off", "prove", "dead", "lift broil_1", "ohms broil_1 broil_2 in broil", "volts broil_1 tb_n", "name broil_element")
	summary, err := r.Drill(context.Background(), s)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := drill.Run(context.Background(), []drill.Task{{Name: "=one", Circuit: c, Options: drill.Options{Number: 1}}},
		[]drill.Answer{{Learner: "A learner with quite a long name, as some have", Drill: "=one", Moves: []string{"ohms broil_1 broil_2", "who knows"}}}, drill.Patience)
	if err != nil {
		t.Fatal(err)
	}
	return []report.Document{summary, report.NewClass("Week 1", rows), r.Lessons([]report.Lesson{{Number: 1, Title: "One", Markdown: "# One\n"}})}
}

func TestDocumentsForLearnersHoldWhatTheGuideSays(t *testing.T) {
	var guide bytes.Buffer
	if err := report.FieldGuide(&guide, false); err != nil {
		t.Fatal(err)
	}
	told := map[string]bool{}
	for _, word := range strings.Fields(guide.String()) {
		told[word] = true
	}
	floats := map[string]bool{"healthy_volts": true, "faulty_volts": true} // where a place floats
	for _, d := range learning(t) {
		explained(t, reflect.TypeOf(d).Elem())
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
			if value == nil && !floats[key] {
				t.Errorf("%T: %s is null", d, path)
			}
		})
		b.Reset()
		if err := report.Write(&b, d, report.FormatText, false); err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.Split(b.String(), "\n") {
			if text.StringWidthWithoutEscSequences(line) > report.Width {
				t.Errorf("%T: too wide: %s", d, line)
			}
		}
	}
}

// A spreadsheet takes a cell that begins with = for a formula.
func TestMarksHoldNoFormulas(t *testing.T) {
	var b bytes.Buffer
	if err := report.Write(&b, learning(t)[1], report.FormatCSV, false); err != nil {
		t.Fatal(err)
	}
	lines, err := csv.NewReader(&b).ReadAll()
	if err != nil || len(lines) != 2 || lines[1][1] != "'=one" || lines[1][slices.Index(lines[0], "skipped")] != "1" {
		t.Errorf("%v, error %v", lines, err)
	}
}
