package library

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"legtrace/circuit/visit"
	"legtrace/netlists"
	"legtrace/netlists/visits"
	"legtrace/render/page/desk"
	"legtrace/render/report"
)

const lamp = `name = "lamp"
title = "A lamp"
[supply]
system = "single-phase"
[parts]
lamp = { kind = "lamp", volts = 120, watts = 60, label = "Lamp" }
[wires]
w1 = { from = "supply.L1", to = "lamp.1" }
w2 = { from = "lamp.2", to = "supply.N" }
[modes.on]
on = ["lamp"]
`

// A shop lists the catalog and a folder, and opens nothing beside them.
func TestWhatTheLibraryHolds(t *testing.T) {
	folder := t.TempDir()
	inside := filepath.Join(folder, "inside")
	for name, text := range map[string]string{"inside/lamp.toml": lamp, "inside/broken.toml": "parts = 7", "inside/notes.txt": lamp, "secret.toml": lamp} {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(folder, name)), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	l := New(inside)
	var names []string
	for _, e := range l.List() {
		if e.Family == "" || e.Title == "" {
			t.Errorf("%q is listed as %+v", e.Name, e)
		}
		names = append(names, e.Name)
	}
	if len(names) != 1+len(netlists.Catalog()) || names[0] != "lamp.toml" {
		t.Errorf("listed are %q", names)
	}
	for _, name := range names {
		if c, problems := l.Open(name); c == nil {
			t.Errorf("%s: %v", name, problems)
		}
	}
	for _, name := range []string{"../secret.toml", filepath.Join(folder, "secret.toml"), "inside/../../secret.toml", "notes.txt", "nothing.toml", "catalog:", "catalog:../dryer", ""} {
		if c, problems := l.Open(name); c != nil || len(problems) == 0 {
			t.Errorf("%q is opened", name)
		}
	}
}

// What a person brings is read by itself: it reads no file of this computer.
func TestWhatIsBrought(t *testing.T) {
	l := New("")
	secret := filepath.Join(t.TempDir(), "secret.toml")
	if err := os.WriteFile(secret, []byte(lamp), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, from := range []string{secret, "../secret.toml", "secret.toml"} {
		c, _, problems := l.Read("mine.toml", "from = \""+from+"\"\nname = \"mine\"\n")
		if c != nil || len(problems) != 1 || !strings.Contains(problems[0].String(), "not at hand") {
			t.Errorf("from %s: %v", from, problems)
		}
	}
	c, print, problems := l.Read("../../lamp.toml", lamp)
	if c == nil || len(problems) != 0 || !strings.HasPrefix(print, "sha256:") {
		t.Fatalf("%v %q", problems, print)
	}
	if c, _, _ := l.Read("mine.toml", "from = \"catalog:dryer\"\nname = \"mine\"\n"); c == nil {
		t.Error("one that starts from the catalog is not read")
	}
	_, _, problems = l.Read("lamp.toml", strings.Replace(lamp, "watts", "wats", 1))
	if len(problems) == 0 || !strings.HasPrefix(problems[0].Where, "lamp.toml:6:") {
		t.Errorf("a slip is told as %v", problems)
	}
	file, err := l.VisitFile("somewhere/lamp.toml", c, visit.Record{Complaint: "dark", Notes: []visit.Note{{Mode: "on", Load: "lamp", State: "dead"}}})
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Replace(string(file), "# end of visit", "[job]\ncustomer = \"A. Example\"\n# end of visit", 1)
	b, err := l.ReadVisit("visit.toml", text)
	if err != nil || b.Netlist != "lamp.toml" || b.Fingerprint != print || b.Record.Complaint != "dark" || b.Job.(*visits.Job).Customer != "A. Example" {
		t.Errorf("read back it is %+v, %v", b, err)
	}
}

// The page knows what was understood, what is to be asked, and what was not.
func TestHowASentenceIsHeard(t *testing.T) {
	c, err := netlists.Open("range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []struct {
		words string
		want  func(desk.Heard) bool
	}{
		{"broil element dead in broil", func(h desk.Heard) bool { return len(h.Notes) > 0 && h.Problem == "" }},
		{"el grill no calienta", func(h desk.Heard) bool { return len(h.Notes) > 0 && h.Problem == "" }},
		{"the burner is dead", func(h desk.Heard) bool { return len(h.Questions) == 1 && len(h.Questions[0].Choices) > 1 }},
		{"purple monkeys", func(h desk.Heard) bool { return len(h.Notes) == 0 && h.Problem != "" }},
	} {
		if h := hear(c, s.words); !s.want(h) {
			t.Errorf("%q is heard as %+v", s.words, h)
		}
	}
}

// A line is written into what a person describes; a part that is new is asked
// for, and nothing of this computer is read.
func TestLinesOfADescription(t *testing.T) {
	d := enter("", begin("mine", ""), "lamp: lamp 60 W 120 V")
	if d.Wrong != "" || !strings.Contains(d.Text, "60") || d.Circuit == nil {
		t.Fatalf("%+v", d)
	}
	if got := enter("mine.toml", d.Text, "supply.L1 BK 14 switch.1"); got.Unknown != "switch" || got.Text != d.Text {
		t.Errorf("a part that is not there: %+v", got)
	}
	if d = enter("mine.toml", d.Text, "supply.L1 BK 14 lamp.1"); d.Wrong != "" || d.Open != 1 || !strings.Contains(d.Text, "BK") {
		t.Errorf("%+v", d)
	}
	if d = enter("mine.toml", begin("mine", "catalog:dryer"), "title Mine"); d.Circuit == nil || !strings.Contains(d.Text, "from = \"catalog:dryer\"") {
		t.Errorf("%+v", d.Problems)
	}
	secret := filepath.Join(t.TempDir(), "secret.toml")
	if err := os.WriteFile(secret, []byte(lamp), 0o666); err != nil {
		t.Fatal(err)
	}
	if got := enter("mine.toml", "from = \""+secret+"\"\nname = \"x\"\n", "title Mine"); len(got.Problems) == 0 || len(got.Spec.Parts) > 0 || len(got.Said) > 0 {
		t.Errorf("a file of this computer is read: %+v", got)
	}
}

// Who does not know which range it is answers what can be seen, and goes on with the
// likeliest: what is noted then is weighed by all that are left, what they have
// otherwise is marked in the diagram, and one that is likelier than the one chosen is
// offered, with the notes in its names. A file is no family of a page.
func TestAFamilyIsNarrowedOnThePage(t *testing.T) {
	shop := desk.NewShop(nil, New(""))
	at := func(path, query string) string {
		t.Helper()
		a, err := shop.Answer(t.Context(), desk.Request{Path: path, Query: desk.Query(query)})
		if err != nil {
			t.Fatalf("%s: %v", query, err)
		}
		return string(a.Body)
	}
	ask := func(query string) string { t.Helper(); return at("/", query) }
	if first := ask("door=find"); !strings.Contains(first, "machine=family%3Arange") {
		t.Error("the picker offers no range that one does not know")
	}
	asked := ask("machine=family:range&door=find")
	if !strings.Contains(asked, "What is its cooktop") || !strings.Contains(asked, "outside=top%3Dsmooth") {
		t.Errorf("it asks what can be seen first:\n%s", asked)
	}
	narrowed := ask("machine=family:range&door=find&outside=top%3Dsmooth&outside=conv_bake%3Dyes")
	if !strings.Contains(narrowed, "Slide-in electric range") || strings.Contains(narrowed, "machine=catalog%3Arange-mechanical") {
		t.Errorf("a smooth top with convection is the slide-in range:\n%s", narrowed)
	}
	const seen = "&door=find&among=family:range&outside=top%3Dcoils"
	if drawn := at("/drawing", "machine=catalog:range-electronic"+seen); !strings.Contains(drawn, "Not sure: ") {
		t.Error("the diagram does not mark what other wirings have otherwise")
	}
	weighed := at("/visit", "machine=catalog:range-mechanical"+seen+"&note=load~bake~bake_element~dead")
	rather := "machine=catalog%3Arange-electronic&amp;door=find&amp;among=family%3Arange&amp;outside=top%3Dcoils&amp;note=load~bake~bake_element~dead"
	if !strings.Contains(weighed, "The wiring is not sure") || !strings.Contains(weighed, rather) {
		t.Errorf("a range that is likelier is not offered:\n%.3000s", weighed)
	}
	candidates, err := family("family:range")
	if err != nil {
		t.Fatal(err)
	}
	dead := visit.Note{Mode: "bake", Load: "bake_element", State: "dead"}
	j, err := visit.StartFamily(t.Context(), candidates, nil, visit.Record{Outside: []visit.Seen{"top=coils"}, Notes: []visit.Note{dead}}, "catalog:range-electronic")
	if err != nil {
		t.Fatal(err)
	}
	list, _, err := report.Weighed(j, 3)
	if err != nil {
		t.Fatal(err)
	}
	led := at("/visit", "machine=catalog:range-electronic"+seen+"&note=load~bake~bake_element~dead")
	for _, s := range list {
		if share := fmt.Sprintf("<b>%.0f\u00a0%%</b> %s", 100*s.P, s.Causes[0].Text); !strings.Contains(led, share) {
			t.Errorf("weighed by every wiring left it is %q, the page has:\n%.4000s", share, led)
		}
	}
	if alone := j.Engine.Suspects(1)[0].P; math.Abs(alone-list[0].P) < 0.01 {
		t.Errorf("one wiring alone gives %.3f, all of them %.3f: nothing was compared", alone, list[0].P)
	}
	folder := filepath.Join(t.TempDir(), "secret.toml")
	if err := os.WriteFile(folder, []byte("[members]\n\"catalog:dryer\" = 1\n\"secret\" = 2\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{folder, "nothing"} {
		if _, err := shop.Answer(t.Context(), desk.Request{Path: "/", Query: desk.Query("machine=family:" + name)}); err == nil || !strings.Contains(err.Error(), "no family of this page") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A variant of the catalog, and what is written down beginning from it, are drawn
// like the machine that it is a variant of.
func TestWhatAVariantIsDrawnLike(t *testing.T) {
	l := New("")
	for _, of := range []struct{ name, text, want string }{
		{name: "catalog:range-slide-in-3wire", want: "range-slide-in"},
		{name: "catalog:range-slide-in"},
		{name: "mine.toml", text: "from = \"catalog:range-slide-in-3wire\"\n", want: "range-slide-in"},
		{name: "mine.toml", text: "from = \"catalog:dryer\"\n", want: "dryer"},
		{name: "mine.toml", text: lamp},
		{name: "mine.toml", text: "from = \"other.toml\"\n"},
		{name: "../secret.toml"},
		{},
	} {
		got := ""
		if c := l.Base(of.name, of.text); c != nil {
			got = c.Name()
		}
		if got != of.want {
			t.Errorf("%q %q is drawn like %q, want %q", of.name, of.text, got, of.want)
		}
	}
}
