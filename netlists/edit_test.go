package netlists

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"legtrace/circuit"
)

// ways of writing the same machine down: as tables, dotted keys, arrays, with
// other line ends, without an end of line at the end.
var waysToWrite = map[string]string{
	"house look": `name = "kettle"

[supply]
system = "split-phase"

[parts]
limit   = { kind = "limit", label = "High limit" } # by the drum
element = { kind = "element", volts = 240, watts = 2600 }

# Two wires and the other leg.
[wires]
w1 = { from = "supply.L1", to = "limit.1", colour = "BK" }
w2 = { from = "limit.2",   to = "element.1" } # behind the panel
w3 = { from = "element.2", to = "supply.L2" }

[modes.off]
on = ["element"]

[modes.hot]
set = { limit = "open" }
off = ["element"] # the limit cuts it off

[points]
p1 = { at = "limit.2", minutes = 5 }
`,
	"tables": `name="kettle"
[supply]
system="split-phase"
[parts.limit] # by the drum
kind="limit"
  label   =  "High limit"
[parts.element]
volts=240
kind="element"
watts=2600
[wires.w1]
from="supply.L1"
to="limit.1"
colour="BK"
[wires]
w2={from="limit.2",to="element.1"} # behind the panel
w3={to="supply.L2",from="element.2"}
[modes]
off={on=["element"]}
[modes.hot]
off=[
  "element", # the limit cuts it off
]
[modes.hot.set]
limit="open"
[points.p1]
at="limit.2"
minutes=5`,
	"dotted": `name = "kettle"
supply.system = "split-phase"
parts.limit.kind = "limit"
parts.limit.label = "High limit" # by the drum
parts.element = { kind = "element", volts = 240, watts = 2600 }
wires.w1 = { from = "supply.L1", to = "limit.1", colour = "BK" }
wires.w2.from = "limit.2" # behind the panel
wires.w2.to = "element.1"
wires.w3 = { from = "element.2", to = "supply.L2" }
modes.off.on = ["element"]
modes.hot.set.limit = "open"
modes.hot.off = ["element"] # the limit cuts it off
points.p1 = { at = "limit.2", minutes = 5 }
`,
	"array of wires": `name = "kettle"
wires = [
    { from = "supply.L1", to = "limit.1", colour = "BK" },
    { name = "w2", from = "limit.2", to = "element.1" }, # behind the panel
    { from = "element.2", to = "supply.L2" }
]
[supply]
system = "split-phase"
[parts]
limit = { kind = "limit", label = "High limit" } # by the drum
element = { kind = "element", volts = 240, watts = 2600 }
[modes.off]
on = ["element"]
[modes.hot]
set = { limit = "open" }
off = ["element"] # the limit cuts it off
[points]
p1 = { at = "limit.2", minutes = 5 }
`,
	"wires one by one": "\ufeffname = \"kettle\"\r\n[supply]\r\nsystem = \"split-phase\"\r\n[parts]\r\n" +
		"limit = { kind = \"limit\", label = \"High limit\" } # by the drum\r\nelement = { kind = \"element\", volts = 240, watts = 2600 }\r\n" +
		"[[wires]]\r\nname = \"w1\"\r\nfrom = \"supply.L1\"\r\nto = \"limit.1\"\r\ncolour = \"BK\"\r\n" +
		"[[wires]]\r\nname = \"w2\"\r\nfrom = \"limit.2\" # behind the panel\r\nto = \"element.1\"\r\n" +
		"[[wires]]\r\nname = \"w3\"\r\nfrom = \"element.2\"\r\nto = \"supply.L2\"\r\n" +
		"[modes.off]\r\non = [\"element\"]\r\n[modes.hot]\r\nset = { limit = \"open\" }\r\noff = [\"element\"] # the limit cuts it off\r\n" +
		"[points]\r\np1 = { at = \"limit.2\", minutes = 5 }\r\n",
}

// deed is a change to a text, what it does to the spec, and what undoes it.
type deed struct {
	name    string
	do      func(*Edit) error
	meant   func(*circuit.Spec)
	inverse func(*Edit) error // nil where the old text is what undoes it
}

func put(value any, path ...string) func(*Edit) error {
	return func(e *Edit) error { return e.Put(value, path...) }
}

func take(path ...string) func(*Edit) error { return func(e *Edit) error { return e.Take(path...) } }

func rename(table, from, to string) func(*Edit) error {
	return func(e *Edit) error { return e.Rename(table, from, to) }
}

// deeds draws one change to a machine.
func deeds(t *rapid.T, spec circuit.Spec) deed {
	part := rapid.IntRange(0, len(spec.Parts)-1).Draw(t, "part")
	wire := rapid.IntRange(0, len(spec.Wires)-1).Draw(t, "wire")
	mode := rapid.IntRange(0, len(spec.Modes)-1).Draw(t, "mode")
	p, w, m := spec.Parts[part], spec.Wires[wire], spec.Modes[mode]
	if w.Name == "" {
		w.Name = fmt.Sprintf("w%d", wire+1)
	}
	word := rapid.StringMatching(`[a-z]{1,9}_[0-9]`).Draw(t, "word")
	watts := float64(rapid.IntRange(1, 9999).Draw(t, "watts"))
	list := []deed{
		{"a part more", put(circuit.PartSpec{Kind: "element", Volts: 240, Watts: watts}, "parts", word),
			func(s *circuit.Spec) {
				s.Parts = append(s.Parts, circuit.PartSpec{Name: word, Kind: "element", Volts: 240, Watts: watts})
			}, take("parts", word)},
		{"a wire more", put(circuit.WireSpec{From: p.Name + ".x", To: "chassis", AWG: 14}, "wires", word),
			func(s *circuit.Spec) {
				s.Wires = append(s.Wires, circuit.WireSpec{Name: word, From: p.Name + ".x", To: "chassis", AWG: 14})
			}, take("wires", word)},
		{"a mode more", put(circuit.ModeSpec{Label: word, Off: []string{p.Name}}, "modes", word),
			func(s *circuit.Spec) {
				s.Modes = append(s.Modes, circuit.ModeSpec{Name: word, Label: word, Off: []string{p.Name}})
			}, take("modes", word)},
		{"a point more", put(circuit.PointSpec{At: p.Name + ".1"}, "points", word),
			func(s *circuit.Spec) {
				s.Points = append(s.Points, circuit.PointSpec{Name: word, At: p.Name + ".1"})
			}, take("points", word)},
		{"another label", put(word, "parts", p.Name, "label"),
			func(s *circuit.Spec) { s.Parts[part].Label = word }, put(p.Label, "parts", p.Name, "label")},
		{"an end moved", put("chassis", "wires", w.Name, "to"),
			func(s *circuit.Spec) { s.Wires[wire].To = "chassis" }, put(w.To, "wires", w.Name, "to")},
		{"a length", put(watts/8, "wires", w.Name, "metres"),
			func(s *circuit.Spec) { s.Wires[wire].Metres = watts / 8 }, take("wires", w.Name, "metres")},
		{"a new key of a mode", put(watts, "modes", m.Name, "minutes"),
			func(s *circuit.Spec) { s.Modes[mode].Minutes = watts }, take("modes", m.Name, "minutes")},
		{"a part goes by another name", rename("parts", p.Name, word),
			func(s *circuit.Spec) { renamed(s, p.Name, word) }, rename("parts", word, p.Name)},
		{"a mode goes by another name", rename("modes", m.Name, word), func(s *circuit.Spec) {
			s.Modes[mode].Name = word
			toKeys(s.Words, m.Name, word)
			for i := range s.Modes {
				to(&s.Modes[i].After, m.Name, word)
				to(&s.Modes[i].Cycles, m.Name, word)
			}
			for i := range s.Parts {
				for j := range s.Parts[i].Senses {
					toAll(s.Parts[i].Senses[j].Modes, m.Name, word)
				}
				for j := range s.Parts[i].Codes {
					toAll(s.Parts[i].Codes[j].Modes, m.Name, word)
				}
			}
		}, rename("modes", word, m.Name)},
		{"a wire goes", take("wires", w.Name), func(s *circuit.Spec) { s.Wires = slices.Delete(s.Wires, wire, wire+1) }, nil},
		{"a part goes", take("parts", p.Name), func(s *circuit.Spec) { without(s, p.Name) }, nil},
	}
	if m.Minutes != 0 {
		list[7].inverse = put(m.Minutes, "modes", m.Name, "minutes")
	}
	if w.Metres != 0 {
		list[6].inverse = put(w.Metres, "wires", w.Name, "metres")
	}
	if p.Label == "" {
		list[4].inverse = take("parts", p.Name, "label")
	}
	return rapid.SampledFrom(list).Draw(t, "deed")
}

func to(s *string, from, word string) {
	if *s == from {
		*s = word
	}
}

func toAll(list []string, from, word string) {
	for i, s := range list {
		if s == from || strings.HasPrefix(s, from+".") {
			list[i] = word + strings.TrimPrefix(s, from)
		}
	}
}

func toKeys[T any](m map[string]T, from, word string) {
	for _, k := range slices.Sorted(maps.Keys(m)) {
		if k == from || strings.HasPrefix(k, from+".") {
			v := m[k]
			delete(m, k)
			m[word+strings.TrimPrefix(k, from)] = v
		}
	}
}

// renamed is what a part's other name means to a spec.
func renamed(s *circuit.Spec, from, word string) {
	ref := func(r *string) {
		list := []string{*r}
		toAll(list, from, word)
		*r = list[0]
	}
	toKeys(s.Words, from, word)
	for i := range s.Parts {
		to(&s.Parts[i].Name, from, word)
		to(&s.Parts[i].DrivenBy, from, word)
	}
	for i := range s.Wires {
		ref(&s.Wires[i].From)
		ref(&s.Wires[i].To)
	}
	for i := range s.Points {
		ref(&s.Points[i].At)
	}
	for _, m := range s.Modes {
		toAll(m.Drives, from, word)
		toAll(m.On, from, word)
		toAll(m.Off, from, word)
		toKeys(m.Set, from, word)
		toKeys(m.Celsius, from, word)
		toKeys(m.Share, from, word)
		toKeys(m.Duty, from, word)
	}
	for i := range s.Bodies {
		toKeys(s.Bodies[i].Heats, from, word)
		to(&s.Bodies[i].Fan, from, word)
	}
}

// without is what is left of a spec when a part goes.
func without(s *circuit.Spec, part string) {
	on := func(ref string) bool { return ref == part || strings.HasPrefix(ref, part+".") }
	maps.DeleteFunc(s.Words, func(of string, _ []string) bool { return of == part })
	s.Parts = slices.DeleteFunc(s.Parts, func(p circuit.PartSpec) bool { return p.Name == part })
	s.Wires = slices.DeleteFunc(s.Wires, func(w circuit.WireSpec) bool { return on(w.From) || on(w.To) })
	s.Points = slices.DeleteFunc(s.Points, func(p circuit.PointSpec) bool { return on(p.At) })
	for i := range s.Modes {
		m := &s.Modes[i]
		m.Drives, m.On, m.Off = slices.DeleteFunc(m.Drives, on), slices.DeleteFunc(m.On, on), slices.DeleteFunc(m.Off, on)
		maps.DeleteFunc(m.Set, func(k, _ string) bool { return on(k) })
		for _, figures := range []map[string]float64{m.Celsius, m.Share, m.Duty} {
			maps.DeleteFunc(figures, func(k string, _ float64) bool { return on(k) })
		}
	}
	for i := range s.Bodies {
		maps.DeleteFunc(s.Bodies[i].Heats, func(k string, _ float64) bool { return on(k) })
		if s.Bodies[i].Fan == part {
			s.Bodies[i].Fan = ""
		}
	}
}

// wiresNamed gives wires the names they go by, as an edit may have to.
func wiresNamed(s *circuit.Spec) {
	for i := range s.Wires {
		if s.Wires[i].Name == "" {
			s.Wires[i].Name = fmt.Sprintf("w%d", i+1)
		}
	}
}

func edited(t interface{ Fatal(...any) }, text []byte, do func(*Edit) error) []byte {
	e, err := NewEdit("given.toml", text)
	if err != nil {
		t.Fatal(err)
	}
	if err := do(e); err != nil {
		t.Fatal(err)
	}
	out, err := e.Text()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// texts are all machines that come along and start from nothing, and the ways
// of writing.
func texts(t *testing.T) map[string]string {
	out := maps.Clone(waysToWrite)
	for _, entry := range Catalog() {
		src, err := Source(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(src), "\nfrom =") && !strings.HasPrefix(string(src), "from =") {
			out[entry.Name] = string(src)
		}
	}
	return out
}

// TestAChangeIsWhatWasMeant holds for a change to any machine that the text then
// says what was meant, has its comments still, and is the same to the byte once
// the change was taken back.
func TestAChangeIsWhatWasMeant(t *testing.T) {
	all := texts(t)
	keys := slices.Sorted(maps.Keys(all))
	rapid.Check(t, func(t *rapid.T) {
		text := []byte(all[rapid.SampledFrom(keys).Draw(t, "machine")])
		spec, _, err := Parse("given.toml", text)
		if err != nil {
			t.Fatal(err)
		}
		d := deeds(t, spec)
		after := edited(t, text, d.do)
		got, _, err := Parse("given.toml", after)
		if err != nil {
			t.Fatalf("%s: %v\n%s", d.name, err, after)
		}
		d.meant(&spec)
		if !strings.HasSuffix(d.name, " goes") {
			wiresNamed(&spec)
			wiresNamed(&got)
		}
		// A new mode, wire or part stands where the text has others of its like,
		// which may be in front of some.
		for _, s := range []*circuit.Spec{&spec, &got} {
			slices.SortFunc(s.Parts, func(a, b circuit.PartSpec) int { return strings.Compare(a.Name, b.Name) })
			slices.SortFunc(s.Wires, func(a, b circuit.WireSpec) int { return strings.Compare(a.Name, b.Name) })
			slices.SortFunc(s.Modes, func(a, b circuit.ModeSpec) int { return strings.Compare(a.Name, b.Name) })
		}
		if diff := cmp.Diff(spec, got, cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("%s: -meant +got\n%s\n%s", d.name, diff, after)
		}
		if d.inverse == nil {
			return
		}
		if diff := cmp.Diff(slices.Sorted(slices.Values(comments(text))), slices.Sorted(slices.Values(comments(after)))); diff != "" {
			t.Fatalf("%s: comments -before +after\n%s\n%s", d.name, diff, after)
		}
		if back := edited(t, after, d.inverse); string(back) != string(text) {
			t.Fatalf("%s, taken back: -before +after\n%s", d.name, cmp.Diff(string(text), string(back)))
		}
	})
}

// FuzzEdit holds that changing anything at all ends well, and that what was a
// netlist is one.
func FuzzEdit(f *testing.F) {
	addSeeds(f)
	for _, text := range waysToWrite {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > most {
			return
		}
		e, err := NewEdit("fuzz.toml", text)
		if err != nil {
			return
		}
		_, _, broken := Parse("fuzz.toml", text)
		for _, do := range []func(*Edit) error{
			put(3.5, "supply", "volts"), put(circuit.PartSpec{Kind: "fuse"}, "parts", "new one"),
			put(circuit.WireSpec{From: "a", To: "b"}, "wires", "x"), put(circuit.ModeSpec{Label: "x"}, "modes", "x"),
			rename("parts", "element", "x"), take("parts", "limit"), take("modes", "hot"), take("wires", "w1"), take("wires"),
		} {
			if do(e) != nil {
				continue
			}
			if _, err := e.Text(); err != nil && broken == nil {
				t.Fatalf("%v\n%s", err, text)
			}
		}
	})
}
