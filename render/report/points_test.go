package report_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"maps"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/circuittest"
	"legtrace/circuit/meter"
	"legtrace/netlists"
	"legtrace/render/report"
)

// sheets are made once for all tests of this file: for the largest load of
// every mode of the catalog's machines, wirings that differ in a detail left
// out.
var sheets = sync.OnceValues(func() (map[string]*report.Points, error) {
	out := map[string]*report.Points{}
	for i, entry := range netlists.Catalog() {
		if testing.Short() && entry.Name != "range-electronic" || !circuittest.Sampled(i, 2) {
			continue
		}
		if slices.ContainsFunc(netlists.Catalog(), func(e netlists.Entry) bool { return strings.HasPrefix(entry.Name, e.Name+"-") }) {
			continue
		}
		c, err := netlists.Open(entry.Name)
		if err != nil {
			return nil, err
		}
		r := report.New(c)
		for _, m := range c.Modes() {
			if !slices.ContainsFunc(m.Expect, func(e circuit.Expectation) bool { return e.Share > 0 }) {
				continue
			}
			q, err := r.Ask(m.Name, "", nil, report.Feeding)
			if err != nil {
				return nil, err
			}
			d, err := sheetOf(r, q)
			if err != nil {
				return nil, err
			}
			out[entry.Name+", "+m.Name] = d
		}
	}
	return out, nil
})

// sheetOf is the sheet for a load that is dead in a mode.
func sheetOf(r *report.Reporter, q report.Question) (*report.Points, error) {
	e, err := r.Complain(context.Background(), q, report.MeterOptions{})
	if err != nil {
		return nil, err
	}
	return r.Points(context.Background(), e, report.SheetOptions{Form: map[string]string{"complaint": "it does not heat"}})
}

func everyPoints(t *testing.T, see func(name string, d *report.Points)) {
	t.Helper()
	all, err := sheets()
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range slices.Sorted(maps.Keys(all)) {
		see(name, all[name])
	}
}

func TestASheetIsWellFormed(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		dec := xml.NewDecoder(strings.NewReader(written(t, d, report.FormatHTML)))
		dec.Entity = xml.HTMLEntity
		articles := 0
		for {
			token, err := dec.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if start, ok := token.(xml.StartElement); ok && start.Name.Local == "article" {
				articles++
			}
		}
		if articles != len(d.Steps) {
			t.Errorf("%s: %d steps on the sheet of %d", name, articles, len(d.Steps))
		}
	})
}

// fetches finds whatever a browser would go and get, or run.
var fetches = regexp.MustCompile(`(?i)https?:|src=|href="[^#]|url\(|@import|<script|<link|<iframe| on[a-z]+=`)

func TestASheetIsOneFile(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		if found := fetches.FindString(written(t, d, report.FormatHTML)); found != "" {
			t.Errorf("%s: the sheet holds %q", name, found)
		}
	})
}

var colour = regexp.MustCompile(`[^-]color: #([0-9a-f]{6}|[0-9a-f]{3})\b`)

// WCAG 2.1, success criterion 1.4.3: text stands at 4.5 to 1 from its ground,
// which is white here. Relative luminance as defined there.
func TestTextOfASheetStandsOut(t *testing.T) {
	page, err := os.ReadFile("document.css")
	if err != nil {
		t.Fatal(err)
	}
	found := colour.FindAllStringSubmatch(string(page), -1)
	if len(found) < 3 {
		t.Fatalf("only %d colours of text found", len(found))
	}
	for _, m := range found {
		hex := m[1]
		if len(hex) == 3 {
			hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
		}
		luminance := 0.0
		for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
			v, err := strconv.ParseUint(hex[2*i:2*i+2], 16, 8)
			if err != nil {
				t.Fatal(err)
			}
			c := float64(v) / 255
			if c <= 0.03928 {
				c /= 12.92
			} else {
				c = math.Pow((c+0.055)/1.055, 2.4)
			}
			luminance += weight * c
		}
		if contrast := 1.05 / (luminance + 0.05); contrast < 4.5 {
			t.Errorf("#%s stands at %.1f to 1 from white", hex, contrast)
		}
	}
}

// Names that look like markup stay names.
func TestASheetTakesNamesForText(t *testing.T) {
	c, err := netlists.Read("hostile.toml", []byte(`
name = "hostile"
title = "<script>alert(1)</script> & co"
[supply]
system = "split-phase"
[parts]
s = { kind = "thermostat", label = "=cmd|'/C x'!A1", place = "<b>here</b>" }
e = { kind = "element", volts = 240, watts = 800, label = "*bold* <i>x</i>" }
[wires]
w1 = { from = "supply.L1", to = "s.1" }
w2 = { from = "s.2", to = "e.1" }
w3 = { from = "supply.L2", to = "e.2" }
[modes.on]
on = ["e"]
`))
	if err != nil {
		t.Fatal(err)
	}
	r := report.New(c)
	d, err := sheetOf(r, ask(t, r, "on", "e"))
	if err != nil {
		t.Fatal(err)
	}
	if page := written(t, d, report.FormatHTML); strings.Contains(page, "<script") || strings.Contains(page, "<b>") || strings.Contains(page, "<i>") {
		t.Error("a name became markup")
	}
	if page := written(t, d, report.FormatMarkdown); strings.Contains(page, "<i>") || strings.Contains(page, "*bold*") {
		t.Error("a name became markup in Markdown")
	}
	rows, err := csv.NewReader(strings.NewReader(written(t, d, report.FormatCSV))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range rows {
		for _, cell := range row {
			if strings.HasPrefix(cell, "=") {
				t.Errorf("a cell begins a formula: %s", cell)
			}
		}
	}
}

func TestAListAsCSVHasALineForEachStep(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		rows, err := csv.NewReader(strings.NewReader(written(t, d, report.FormatCSV))).ReadAll()
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(rows) != len(d.Steps)+1 {
			t.Fatalf("%s: %d lines for %d steps", name, len(rows), len(d.Steps))
		}
		for i, s := range d.Steps {
			if rows[i+1][8] != s.From.Terminal || rows[i+1][19] != s.Good.Range {
				t.Errorf("%s: line %d is %v", name, i+1, rows[i+1])
			}
		}
	})
}

// decodes reads a document back: what is written is what the documented fields
// hold, and no more.
func decodes[T any](t *testing.T, d *T, doc report.Document) {
	t.Helper()
	var b bytes.Buffer
	if err := report.Write(&b, doc, report.FormatJSON, false); err != nil {
		t.Fatal(err)
	}
	dec := json.NewDecoder(&b)
	dec.DisallowUnknownFields()
	var back T
	if err := dec.Decode(&back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(*d, back); diff != "" {
		t.Errorf("-written +read back:\n%s", diff)
	}
}

func TestTheMetersDocumentsDecode(t *testing.T) {
	c, r := machine(t, "range-mechanical")
	q := ask(t, r, "broil", "broil_element", "supply.N:open")
	p, _ := c.FindTerminal("broil_element.1")
	n, _ := c.FindTerminal("broil_element.2")
	readings, err := r.Readings(q, meter.Ohms, []report.Pair{{From: p, To: n}}, report.MeterOptions{})
	if err != nil {
		t.Fatal(err)
	}
	decodes(t, readings, readings)
	q.Faults = nil
	points, err := sheetOf(r, q)
	if err != nil {
		t.Fatal(err)
	}
	decodes(t, points, points)
	live, err := r.Live(context.Background(), r.AllModes(), nil, r.LeftOut())
	if err != nil {
		t.Fatal(err)
	}
	decodes(t, live, live)
	dictionary, err := r.Dictionary(context.Background(), []circuit.ModeID{q.Mode}, true, report.MeterOptions{})
	if err != nil {
		t.Fatal(err)
	}
	decodes(t, dictionary, dictionary)
}

// Every likely suspect is left by some step's bad reading or by a good one after
// it, or is said to be left over.
func TestASheetLeavesNoLikelySuspectOut(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		told := map[string]bool{}
		tell := func(list []report.Suspect) {
			for _, s := range list {
				for _, f := range s.Faults {
					told[f] = true
				}
			}
		}
		for _, s := range d.Steps {
			tell(s.IfGood)
			for _, o := range s.Bad {
				tell(o.Left)
			}
		}
		tell(d.LeftOver)
		for _, s := range d.Suspects {
			if len(s.Faults) > 0 && s.Share >= 0.02 && !told[s.Faults[0]] {
				t.Errorf("%s: %s is told of nowhere", name, s.Text)
			}
		}
	})
}

// A step's own suspects, put in, read as the sheet says: solved anew.
func TestABadReadingOfASheetIsWhatTheReadingsSay(t *testing.T) {
	c, r := machine(t, "range-electronic")
	d, err := sheetOf(r, ask(t, r, "broil", "broil_element"))
	if err != nil {
		t.Fatal(err)
	}
	tried := 0
	for _, s := range d.Steps {
		if s.Trial || s.Ask != "" || s.Lift != nil {
			continue
		}
		f, err := meter.ParseFunction(s.Function)
		if err != nil {
			t.Fatal(err)
		}
		p, _ := c.FindTerminal(s.From.Terminal)
		n, _ := c.FindTerminal(s.To.Terminal)
		for _, o := range s.Bad {
			for _, left := range o.Left {
				if len(left.Faults) == 0 || !strings.HasSuffix(left.Faults[0], ":open") {
					continue
				}
				differs := false
				for _, faults := range [][]string{left.Faults[:1], left.Faults} { // one of them, or all as one cause
					q := ask(t, r, s.Mode.Name, "broil_element", faults...)
					read, err := r.Readings(q, f, []report.Pair{{From: p, To: n}}, report.MeterOptions{})
					if f == meter.Amps {
						wire, _ := c.WireBetween(p, n)
						read, err = r.Clamps(q, []circuit.BranchID{wire}, report.MeterOptions{})
					}
					if err != nil {
						t.Fatal(err)
					}
					if differs = read.Readings[0].Differs; differs {
						break
					}
				}
				tried++
				if !differs {
					t.Errorf("step %d, %s: reads as a sound machine may", s.Number, left.Text)
				}
			}
		}
	}
	if tried < 10 {
		t.Errorf("only %d readings tried", tried)
	}
}

// A burnt lug reads right with nothing on: the sheet says so once, at a step
// made under load (common practice, no source).
func TestASheetTellsOfBurntJointsUnderLoad(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		joints := 0
		for _, s := range d.Steps {
			for _, o := range s.Bad {
				if o.Joint {
					joints++
					if !s.UnderLoad {
						t.Errorf("%s: step %d tells of a burnt joint and is not under load", name, s.Number)
					}
				}
			}
		}
		if joints > 1 {
			t.Errorf("%s: burnt joints are told of %d times", name, joints)
		}
	})
}

// Whatever is opened on the way is put back after the repair.
func TestWhatASheetOpensItCloses(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		open, closed := map[string]bool{}, map[string]bool{}
		for _, s := range d.Steps {
			for _, o := range s.Opens {
				open[o.Panel] = true
			}
		}
		for _, o := range d.CloseUp {
			closed[o.Panel] = true
		}
		if diff := cmp.Diff(open, closed); diff != "" {
			t.Errorf("%s: -opened +put back\n%s", name, diff)
		}
	})
}

// Nothing is opened with the supply on, and wherever it is turned there are boxes to
// tick: to lock out and prove dead before anything is touched again, the repair too
// (OSHA 29 CFR 1910.147(d) and (e), 1910.333(b)). It is turned on once.
func TestASheetOpensNothingLive(t *testing.T) {
	everyPoints(t, func(name string, d *report.Points) {
		was, on := "removed", 0
		for i, s := range d.Steps {
			if s.Outside && len(s.Opens) == 0 && !slices.ContainsFunc(d.Steps[:i], func(s report.Step) bool { return !s.Outside }) {
				continue // at the controls
			}
			if len(s.Opens) > 0 && was == "on" && s.Power == "on" {
				t.Errorf("%s: step %d opens %s live", name, s.Number, s.Opens[0].Panel)
			}
			if turned := s.Power != was || s.Waits; turned != (len(s.Before) > 0) {
				t.Errorf("%s: step %d has %d boxes, supply %s after %s", name, s.Number, len(s.Before), s.Power, was)
			} else if s.Waits && !strings.Contains(strings.Join(s.Before, ""), "cover that was opened is on again") {
				t.Errorf("%s: step %d is watched with covers off", name, s.Number)
			} else if turned && s.Power == "on" {
				if !s.Waits {
					on++
				}
			} else if turned && !strings.Contains(strings.Join(s.Dead, ""), "Dead ") {
				t.Errorf("%s: step %d does not prove the machine dead", name, s.Number)
			}
			was = s.Power
		}
		if on > 1 {
			t.Errorf("%s: the supply is turned on %d times", name, on)
		}
		if (was == "on") != (len(d.Repair) > 0) {
			t.Errorf("%s: the last step has the supply %s, and there are %d boxes before the repair", name, was, len(d.Repair))
		}
	})
}
