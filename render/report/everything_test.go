package report_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"slices"
	"strings"
	"testing"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/ringout"
	"legtrace/circuit/suspect"
	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

func must[T any](t testing.TB) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

// aVisit is a broiler that stays cold, its element found open, replaced and
// tried.
func aVisit(t testing.TB, c *circuit.Circuit) *visit.Job {
	t.Helper()
	seen := func(line string) visit.Note {
		return must[visit.Note](t)(visit.Reading(c, line, "broil"))
	}
	said := must[[]visit.Note](t)(visit.Complaint(c, "broil element dead in broil; bake element works in bake"))
	return must[*visit.Job](t)(visit.Start(context.Background(), c, visit.Record{Date: "2026-05-01", Complaint: "no heat when broiling", Ambient: 24,
		Notes:   append(said, seen("ohms broil_1 broil_2 = OL"), visit.Note{Mode: "broil", Function: "volts", P: "tb_l1", Q: "tb_l2", Skipped: true}),
		Verdict: &visit.Verdict{Words: "Broil element open", Causes: []string{"broil_element:open"}, Chance: 0.98},
		Repair:  &visit.Repair{Done: "element replaced"},
		After:   []visit.Note{must[visit.Note](t)(visit.Symptom(c, "broil_element", "normal", "broil"))}}))
}

// diagnosing gives the documents that an engine of suspects makes.
func diagnosing(t testing.TB) []report.Document {
	t.Helper()
	ctx := context.Background()
	c, r := machine(t, "range-electronic")
	j := aVisit(t, c)
	written := must[*report.Visit](t)(r.Visit(ctx, j))
	written.Diagram, written.Pictured = "<svg></svg>", "The machine"
	open := *j
	open.Verdict, open.Repair, open.After = nil, nil, nil
	undecided := must[*report.Visit](t)(r.Visit(ctx, &open))
	e := must[*suspect.Engine](t)(suspect.New(c, suspect.Options{Order: 1}))
	if err := e.Add(ctx, suspect.Evidence{Symptom: &suspect.Symptom{Mode: must[circuit.ModeID](t)(c.FindMode("broil")), Load: must[circuit.BranchID](t)(c.FindLoad("broil_element")), State: circuit.Dead}}); err != nil {
		t.Fatal(err)
	}
	suspects := must[*report.Suspects](t)(r.Suspects(ctx, e, nil, report.SuspectsOptions{}))
	plan := must[*report.Plan](t)(r.Plan(ctx, e, nil))
	other, _ := machine(t, "range-mechanical")
	unsure := must[*visit.Job](t)(visit.StartFamily(ctx, []visit.Candidate{{Netlist: "one", Circuit: c, Share: 1}, {Netlist: "other", Circuit: other, Share: 1}}, nil, visit.Record{}, ""))
	if err := unsure.Add(ctx, visit.Note{Mode: "broil", Load: "broil_element", State: "dead"}); err != nil {
		t.Fatal(err)
	}
	wirings := must[*report.Wirings](t)(report.NewWirings(ctx, unsure, report.SuspectsOptions{Most: 12, Tests: 2}))
	return []report.Document{written, undecided, suspects, plan, wirings}
}

// measuring gives the meter's documents, faults present.
func measuring(t testing.TB) []report.Document {
	t.Helper()
	ctx := context.Background()
	c, r := machine(t, "range-mechanical")
	q := ask(t, r, "broil", "broil_element", "supply.N:open")
	at := func(name string) circuit.TerminalID { return must[circuit.TerminalID](t)(r.AskProbe(name)) }
	across := []report.Pair{{From: at("broil_element.1"), To: at("broil_element.2")}, {From: at("cord.L1.out"), To: c.ChassisTerminal()}}
	warm := 40.0
	ohms := must[*report.Readings](t)(r.Readings(ask(t, r, "broil", "broil_element", "broil_element:open"), meter.Continuity, across, report.MeterOptions{Exact: true, Celsius: &warm}))
	volts := must[*report.Readings](t)(r.Readings(q, meter.Volts, across, report.MeterOptions{}))
	wires := must[[]circuit.BranchID](t)(r.AskWires([]string{"w01"}))
	amps := must[*report.Readings](t)(r.Clamps(q, wires, report.MeterOptions{}))
	live := must[*report.Live](t)(r.Live(ctx, r.AllModes()[:2], nil, []string{"a note"}))
	metal := must[*report.Live](t)(r.Live(ctx, r.AllModes()[:1], q.Faults, nil))
	dictionary := must[*report.Dictionary](t)(r.Dictionary(ctx, r.AllModes()[:1], false, report.MeterOptions{}))
	points := must[*report.Points](t)(sheetOf(r, ask(t, r, "bake", "")))
	_, electronic := machine(t, "range-electronic")
	chatters := ask(t, electronic, "broil", "broil_element", "supply.L1:high=4")
	restless := must[*report.Path](t)(electronic.Path(chatters))
	loads := must[*report.Loads](t)(electronic.Loads(chatters))
	return []report.Document{ohms, volts, amps, live, metal, dictionary, points, restless, loads}
}

// describing gives the documents about netlists.
func describing(t testing.TB) []report.Document {
	t.Helper()
	was, is := shippedSpec(t, "range-electronic"), shippedSpec(t, "range-electronic")
	is.Title, is.Supply.System = "Another range", "wye"
	is.Parts = append(is.Parts[1:len(is.Parts):len(is.Parts)], circuit.PartSpec{Name: "extra", Kind: "lamp", Volts: 120, Watts: 15})
	is.Parts[5].Watts++
	is.Wires = is.Wires[1:]
	is.Modes = slices.Clone(is.Modes)
	is.Modes[1].On = append(slices.Clone(is.Modes[1].On), "extra")
	is.Modes = append(is.Modes[:len(is.Modes)-1], circuit.ModeSpec{Name: "new", On: []string{"extra"}})
	is.Points = append(is.Points[1:len(is.Points):len(is.Points)], circuit.PointSpec{Name: "extra_1", At: "extra.1"})
	ring := must[*ringout.Ring](t)(ringout.New([]string{"block.L1", "selector.L1", "selector.B", "element.1"}, []string{"off", "bake"}))
	for _, f := range []ringout.Finding{{A: 0, B: 1, Beeps: true}, {A: 1, B: 2, Beeps: true, Position: 1}, {A: 1, B: 2}} {
		if err := ring.Add(f); err != nil {
			t.Fatal(err)
		}
	}
	shop := visit.NewTally()
	shop.Visits, shop.Left[visit.NotProved] = 3, 1
	shop.Kinds["element"], shop.Ways["open"] = visit.Count{Failed: 2.5, Expected: 0.4}, visit.Count{Failed: 3, Expected: 2}
	shop.Said["element dead"] = map[string]float64{"element": 2.5, "wire": 0.5}
	shop.Words["cold"] = map[string]float64{"element": 1}
	shop.Moves["ohms"] = visit.Moments{N: 2, Sum: 7, Squares: 25}
	return []report.Document{report.NewTally(shop), report.Compare("mine.toml", is, "catalog:range-electronic", was), report.Compare("a", was, "b", was), report.NewRingOut(ring),
		&report.Started{Document: "new", File: "mine.toml", Answers: []report.Answer{{Flag: "heats", Value: "oven", Means: "an oven", Taken: true}}},
		&report.Tidied{Document: "tidy", Only: true, Files: []report.TidiedFile{{File: "a.toml", Changed: true}, {File: "b.toml"}}},
		&report.Catalog{Document: "catalog", Machines: []report.Entry{{Name: "range", Title: "A range", Summary: "the first line"}, {Name: "range-3wire", Of: "range"}}, Families: []report.Family{{Name: "range", Title: "Electric range", Members: 2}}},
		&report.Netlist{Document: "netlist", Toml: "name = \"m\"\n"}, wrongModes(t)}
}

// wrongModes checks a netlist whose modes are not as it says.
func wrongModes(t testing.TB) *report.Check {
	t.Helper()
	c := must[*circuit.Circuit](t)(netlists.Read("m.toml", []byte(`
name = "m"
[supply]
system = "split-phase"
[parts]
s = { kind = "switch" }
e = { kind = "element", volts = 240, watts = 800 }
f = { kind = "element", volts = 240, watts = 400 }
l = { kind = "lamp", volts = 120, watts = 15 }
[wires]
w1 = { from = "supply.L1", to = "s.1" }
w2 = { from = "s.2", to = "e.1" }
w3 = { from = "supply.L2", to = "e.2" }
w4 = { from = "e.1", to = "f.1" }
w5 = { from = "f.2", to = "l.1" }
w6 = { from = "l.2", to = "supply.N" }
[modes.off]
off = ["e"]
on = ["f"]
[modes.on]
set = { s = "closed" }
on = ["f"]
`)))
	d := must[*report.Check](t)(report.New(c).Check(nil, func(path string) report.At { return report.At{File: "m.toml", Line: 1, Column: 1} }))
	if len(d.Findings) < 3 {
		t.Fatalf("found only %v", d.Findings)
	}
	return d
}

// The CSV of a dictionary has a line for each reading under one of titles, as
// many cells in each.
func TestADictionaryAsCSV(t *testing.T) {
	for _, d := range measuring(t) {
		dictionary, ok := d.(*report.Dictionary)
		if !ok {
			continue
		}
		var b bytes.Buffer
		if err := report.Write(&b, d, report.FormatCSV, false); err != nil {
			t.Fatal(err)
		}
		lines, err := csv.NewReader(&b).ReadAll()
		if err != nil || len(lines) != len(dictionary.Entries)+1 {
			t.Errorf("%d lines for %d readings, error %v", len(lines), len(dictionary.Entries), err)
		}
	}
}

// What a person may type is listed, and each name listed is understood.
func TestNamesListedAreUnderstood(t *testing.T) {
	_, r := machine(t, "range-electronic")
	for _, x := range []struct {
		what  string
		names []report.Name
		ask   func(string) error
	}{
		{"mode", r.ModeNames(), func(s string) error { _, err := r.AskMode(s, nil); return err }},
		{"load", r.LoadNames(), func(s string) error { _, err := r.Ask("", s, nil, report.Feeding); return err }},
		{"load that is off", r.LoadNames(), func(s string) error { _, err := r.Ask("off", s, nil, report.Keeping); return err }},
		{"probe", r.ProbeNames(), func(s string) error { _, err := r.AskProbe(s); return err }},
		{"wire", r.WireNames(), func(s string) error { _, err := r.AskWires([]string{s}); return err }},
		{"symptom", r.LoadNames(), func(s string) error { _, err := r.AskSymptom(s + "=broil"); return err }},
		{"fault", r.FaultNames(), func(s string) error {
			kinds := r.FaultKinds(s)
			if len(kinds) == 0 {
				return nil // a part that cannot fail
			}
			if k := kinds[0]; k != "high" && k != "drifted" {
				_, err := r.Ask("broil", "", []string{s + ":" + k}, report.Feeding)
				return err
			}
			return nil
		}},
	} {
		if len(x.names) == 0 {
			t.Errorf("no %s is listed", x.what)
		}
		for _, n := range x.names {
			if err := x.ask(n.Ref); err != nil {
				t.Errorf("%s %s is listed and not understood: %v", x.what, n.Ref, err)
			}
		}
	}
}

// What is not understood is answered with what was meant, or what there is.
func TestWhatIsNotUnderstoodIsAnswered(t *testing.T) {
	_, r := machine(t, "range-electronic")
	_, probe := r.AskProbe("broil_l")
	_, part := r.AskProbe("broil_element")
	_, none := r.AskProbe("zzz zzz")
	_, clamp := r.AskWires([]string{"broil_element"})
	_, wire := r.AskWires([]string{"w999"})
	_, mode := r.AskMode("brol", nil)
	_, load := r.Ask("", "broil_elemnt", nil, report.Feeding)
	_, fault := r.Ask("", "", []string{"broil_element:opened"}, report.Feeding)
	_, symptom := r.AskSymptom("nothing")
	for _, x := range []struct {
		err  error
		want string
	}{{probe, `did you mean "broil_1"`}, {part, "say which terminal"}, {none, "test points:"}, {clamp, "is a part"}, {wire, "w999"}, {mode, `did you mean "broil"`},
		{load, `did you mean "broil_element"`}, {fault, "open"}, {symptom, "nothing"}} {
		if x.err == nil || !strings.Contains(x.err.Error(), x.want) {
			t.Errorf("%v, want %q in it", x.err, x.want)
		}
	}
}

// The drawing of a visit shades what is suspected, or crosses out the verdict.
func TestADrawingOfAVisit(t *testing.T) {
	c, r := machine(t, "range-electronic")
	j := aVisit(t, c)
	d, words, err := r.VisitDrawing(context.Background(), j)
	if err != nil || len(d.Faults) != 1 || !strings.Contains(words, "crossed out") {
		t.Errorf("%q with %v, error %v", words, d.Faults, err)
	}
	j.Verdict = nil
	d, words, err = r.VisitDrawing(context.Background(), j)
	if err != nil || len(d.Suspects) == 0 || !strings.Contains(words, "shaded") {
		t.Errorf("%q with %d suspects, error %v", words, len(d.Suspects), err)
	}
	if err := schematic.Render(context.Background(), &bytes.Buffer{}, d); err != nil {
		t.Error(err)
	}
}
