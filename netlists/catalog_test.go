package netlists

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
)

// Variants stand after the machine that they start from.
var shipped = []string{
	"baseboard-heater", "baseboard-heater-208", "baseboard-heater-one-pole",
	"cooktop-built-in", "cooktop-built-in-3wire",
	"dryer", "dryer-3wire", "dryer-cutoff-l2", "dryer-electronic", "dryer-motor-fuse",
	"kiln",
	"oven-230", "oven-230-one-pole",
	"oven-double", "oven-double-3wire", "oven-double-one-leg",
	"oven-gas", "oven-three-phase",
	"range-apartment", "range-apartment-240", "range-apartment-3wire",
	"range-electronic", "range-electronic-3wire", "range-electronic-fuse-l2", "range-electronic-one-leg", "range-electronic-rcd",
	"range-mechanical", "range-mechanical-4wire",
	"range-slide-in", "range-slide-in-3wire", "range-slide-in-fuse-l2",
	"range-smooth-top", "range-smooth-top-3wire", "range-smooth-top-fuse-l1",
	"water-heater", "water-heater-208", "water-heater-one-leg", "water-heater-together",
}

func TestTheCatalogTellsWhatItHas(t *testing.T) {
	var names []string
	titles := map[string]string{}
	for _, e := range Catalog() {
		names = append(names, e.Name)
		if same := titles[e.Title]; same != "" || e.Title == "" {
			t.Errorf("%s has the title of %s: %q", e.Name, same, e.Title)
		}
		titles[e.Title] = e.Name
		if n := len(e.Summary); n < 40 || n > 100 || !strings.HasSuffix(e.Summary, ".") {
			t.Errorf("%s: a summary is a sentence of one line, not %q", e.Name, e.Summary)
		}
	}
	if diff := cmp.Diff(shipped, names); diff != "" {
		t.Errorf("-expected +catalog:\n%s", diff)
	}
	want := Entry{Name: "range-electronic", Title: "Freestanding electric range with electronic control, 4-wire",
		Summary: "Generic 120/240 V range: electronic oven control, self-clean, four coil elements."}
	if got := Catalog()[slices.Index(names, want.Name)]; got != want {
		t.Errorf("expected %v, found %v", want, got)
	}
}

// What ships is read by the first reader alone, faster: the second finds no fault with it.
func TestBothReadersReadWhatShips(t *testing.T) {
	texts := map[string][]byte{familyFile: familyTable}
	for _, name := range shipped {
		texts[CatalogPrefix+name], _ = Source(name)
	}
	for name, text := range texts {
		var found collector
		if parseVetted("own of "+name, append([]byte("# own\n"), text...), &found); found.failed() {
			t.Errorf("%s: %v", name, found.sorted())
		}
		if !ships(&source{name: name, text: text}) || ships(&source{name: name, text: append(slices.Clone(text), ' ')}) {
			t.Errorf("%s is not told from another text", name)
		}
	}
}

// A machine tells how its kind of circuit works and where to probe; a variant
// starts from the machine whose name it extends and says what differs.
func TestEveryCatalogMachineIsCompleteAndItsVariantsAreShort(t *testing.T) {
	for _, name := range shipped {
		src, err := Source(name)
		if err != nil {
			t.Fatal(err)
		}
		r, err := ReadFileFull(CatalogPrefix + name)
		if err != nil {
			t.Fatal(err)
		}
		notes := strings.Split(strings.TrimSpace(r.Spec.Notes), "\n")
		if n := len(r.Spec.Points); n < 10 || n > 30 {
			t.Errorf("%s: %d test points", name, n)
		}
		for _, p := range r.Spec.Points {
			if p.Label == "" || p.Place == "" || p.Minutes <= 0 {
				t.Errorf("%s: test point %s needs a label, a place and minutes", name, p.Name)
			}
		}
		for _, p := range r.Spec.Parts {
			if p.Label == "" || p.Place == "" {
				t.Errorf("%s: part %s needs a label and a place", name, p.Name)
			}
		}
		base, variant := strings.CutPrefix(strings.SplitN(string(src), "\n", 2)[0], `from = "catalog:`)
		base = strings.TrimSuffix(base, `"`)
		switch {
		case variant && !strings.HasPrefix(name, base+"-"):
			t.Errorf("%s starts from %s, whose name it does not extend", name, base)
		case variant && (len(notes) < 5 || bytes.Count(src, []byte("\n")) > 80):
			t.Errorf("%s: %d lines of notes in %d", name, len(notes), bytes.Count(src, []byte("\n")))
		case variant:
			whole, err := Source(base)
			if err != nil || bytes.HasPrefix(whole, []byte("from")) {
				t.Errorf("%s starts from %s, which is no whole machine (%v)", name, base, err)
			}
		case !variant && len(notes) < 5:
			t.Errorf("%s: %d lines of notes", name, len(notes))
		}
	}
}

// The wires that carry a machine's power have a colour and a size.
func TestCatalogWiresHaveColoursAndSizes(t *testing.T) {
	bare := map[circuit.Kind]bool{circuit.KindConnector: true, circuit.KindRelay: true}
	for _, name := range shipped {
		c, err := Open(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range c.Wires() {
			// A coil's own ends and a board's copper have neither, nor a strap a colour.
			from := c.Part(c.Terminal(w.From).Part)
			if !bare[from.Kind] && (w.Size == "" || w.Colour == "" && c.Terminal(w.To).Ref != circuit.ChassisName) {
				t.Errorf("%s: wire %s has colour %q, size %q", name, w.Name, w.Colour, w.Size)
			}
		}
	}
}

func TestEveryCatalogNetlistReadsWithoutAWarningAndIsTheSameOnceWritten(t *testing.T) {
	for _, name := range catalogNames() {
		r, err := ReadFileFull("catalog:" + name)
		if err != nil {
			t.Errorf("%s:\n%v", name, err)
			continue
		}
		if len(r.Warnings) > 0 {
			t.Errorf("%s:\n%v", name, r.Warnings)
		}
		if r.Spec.Name != name {
			t.Errorf("%s calls itself %q", name, r.Spec.Name)
		}
		var out bytes.Buffer
		if err := Write(&out, r.Spec); err != nil {
			t.Error(err)
			continue
		}
		again, _, err := Parse("written.toml", out.Bytes())
		if err != nil {
			t.Errorf("%v\nin\n%s", err, out.Bytes())
		}
		if diff := cmp.Diff(r.Spec, again); diff != "" {
			t.Errorf("%s: -read +written and read:\n%s", name, diff)
		}
	}
}

func BenchmarkOpen(b *testing.B) {
	for b.Loop() {
		if _, err := Open("range-electronic"); err != nil {
			b.Fatal(err)
		}
	}
}

// Of every part and test point of a catalog machine it is told what stands in
// front of it and where a drawing shows it; of every mode that heat or chance
// brings about, how.
func TestCatalogMachinesTellWhereThingsAreAndHowModesComeAbout(t *testing.T) {
	for _, name := range shipped {
		c, err := Open(name)
		if err != nil {
			t.Fatal(err)
		}
		for place := range placesOf(c) {
			if p := c.PlaceNamed(place); p == nil || p.Box == nil {
				t.Errorf("%s: nothing is told of %q", name, place)
			}
		}
		for _, p := range c.Panels() {
			if p.Minutes <= 0 {
				t.Errorf("%s: opening %s takes no time", name, p.Label)
			}
		}
		for _, m := range c.Modes() {
			if waits := m.Reached != circuit.ByHand && m.Reached != circuit.NotAtWill; waits && m.Minutes <= 0 {
				t.Errorf("%s: %s comes about by %s, but not in what time", name, m.Label, m.Reached)
			}
			if m.Cycles != circuit.None && c.Mode(m.Cycles).Reached == circuit.NotAtWill {
				t.Errorf("%s: %s cycles with a mode that is not at will", name, m.Label)
			}
		}
		for _, ctl := range c.Controls() {
			if len(ctl.Senses) > 0 && len(ctl.Codes) == 0 {
				t.Errorf("%s: %s shows no codes", name, c.Part(ctl.Part).Label)
			}
		}
	}
}

func placesOf(c *circuit.Circuit) map[string]bool {
	out := map[string]bool{}
	for _, p := range c.Parts() {
		if p.Kind != circuit.KindSupply && p.Kind != circuit.KindChassis {
			out[p.Place] = true
		}
	}
	for _, p := range c.Points() {
		out[p.Place] = true
	}
	return out
}

// What is found in the notes of a machine's own trade, and what its panels take,
// is marked for what it is.
func TestCatalogFactsAreMarked(t *testing.T) {
	for _, name := range shipped {
		src, err := Source(name)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Contains(bytes.ReplaceAll(src, []byte("\n"), []byte(" ")), []byte("ommon practice, no source")) {
			t.Errorf("%s has facts of the trade that are not marked as common practice", name)
		}
	}
}
