package schematic

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
)

// stripOf prepares the single-load view of the largest load of a mode.
func stripOf(t testing.TB, c *circuit.Circuit, mode string) Strip {
	t.Helper()
	id, err := c.FindMode(mode)
	if err != nil {
		t.Fatal(err)
	}
	d := drawn(t, c, id)
	if d.Load == circuit.None {
		d.Load = c.Loads()[0]
	}
	s := Strip{Drawing: d}
	out, err := settle.New(c).Run(id, nil)
	if err != nil {
		t.Fatal(err)
	}
	feed := trace.New(c).Feed(out, d.Load)
	s.Ways = append(s.Ways, wayOf(c, feed))
	for _, h := range feed.Holds {
		w := wayOf(c, h.Feed)
		w.Note = "It moves the " + c.Label(h.Contact) + "."
		s.Ways = append(s.Ways, w)
	}
	return s
}

func wayOf(c *circuit.Circuit, f *trace.Feed) Way {
	w := Way{Heading: "Feed of " + c.Label(f.Load)}
	for _, h := range f.Ends[0].Hops {
		w.Hops = append(w.Hops, Hop{h.Branch, h.From, h.To, FeedL1})
	}
	b := c.Branch(f.Load)
	w.Hops = append(w.Hops, Hop{f.Load, b.A, b.B, FeedLoad})
	for i := len(f.Ends[1].Hops) - 1; i >= 0; i-- {
		h := f.Ends[1].Hops[i]
		w.Hops = append(w.Hops, Hop{h.Branch, h.To, h.From, FeedL2})
	}
	if f.Ends[0].Source == circuit.None {
		w.Start = "no way to any supply conductor"
	}
	if f.Ends[1].Source == circuit.None {
		w.End = "no way to any supply conductor"
	}
	return w
}

func renderStrip(t testing.TB, s Strip) string {
	t.Helper()
	var b bytes.Buffer
	if err := RenderStrip(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestGeometryOfSingleLoadViews(t *testing.T) {
	for _, c := range append(shipped(t), everyKind(t)) {
		for i := range c.Modes() {
			s := stripOf(t, c, c.Modes()[i].Name)
			if i%2 == 1 {
				s.FaultVolts = lost(s.Volts)
			}
			sheet := readSheet(t, []byte(renderStrip(t, s)))
			var flaws []string
			flaw := func(format string, args ...any) { flaws = append(flaws, fmt.Sprintf(format, args...)) }
			stretches := sheet.stretches(sheet.nets(), flaw)
			sheet.textFlaws(stretches, flaw)
			sheet.wireFlaws(stretches, flaw)
			if len(flaws) > 0 {
				t.Errorf("%s, %s: %s", c.Name(), c.Modes()[i].Name, strings.Join(flaws, "\n"))
			}
			if sheet.width != StripWidth {
				t.Errorf("%s is %g wide", c.Name(), sheet.width)
			}
		}
	}
}

// The wires read from the picture, from top to bottom, are the ways'.
func TestSingleLoadViewShowsTheWays(t *testing.T) {
	c := demo(t)
	s := stripOf(t, c, "broil")
	var want [][2]string
	for i, w := range s.Ways {
		for _, h := range w.Hops {
			if c.Branch(h.Branch).Wire != circuit.None {
				n := string(rune('1' + i))
				want = append(want, [2]string{n + "/" + c.Terminal(h.From).Ref, n + "/" + c.Terminal(h.To).Ref})
			}
		}
	}
	var got [][2]string
	y := 0.0
	for _, w := range readSheet(t, []byte(renderStrip(t, s))).wires {
		got = append(got, [2]string{w.from, w.to})
		if w.points[0].y < y {
			t.Errorf("%s lies above the wire before it", w.from)
		}
		y = w.points[1].y
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// What the single-load view shows goes by the names of the whole drawing, each
// once; further pieces of a part still name it.
func TestSingleLoadViewNamesPartsAndWires(t *testing.T) {
	c := demo(t)
	s := stripOf(t, c, "broil")
	svg := renderStrip(t, s)
	ids := readSheet(t, []byte(svg)).ids
	for id, n := range ids {
		if n != 1 {
			t.Errorf("id %s used %d times", id, n)
		}
	}
	pieces := map[string]int{}
	for _, w := range s.Ways {
		for _, h := range w.Hops {
			b := c.Branch(h.Branch)
			var id string
			if b.Wire != circuit.None {
				id = "wire-" + c.Wire(b.Wire).Name
			} else {
				id = "part-" + c.Part(b.Part).Name
				pieces[c.Part(b.Part).Name]++
			}
			if ids[id] != 1 {
				t.Errorf("%s is not there", id)
			}
		}
	}
	for name, n := range pieces {
		if got := strings.Count(svg, `data-part="`+name+`"`); got != n {
			t.Errorf("%d pieces are named %s, want %d", got, name, n)
		}
	}
	if want := `class="part kind-element interest" data-part="broil_element"`; !strings.Contains(svg, want) {
		t.Errorf("no %s", want)
	}
}

func TestLineDiagramFitsTheTerminal(t *testing.T) {
	for _, c := range append(shipped(t), everyKind(t)) {
		for i := range c.Modes() {
			s := stripOf(t, c, c.Modes()[i].Name)
			s.FaultVolts = lost(s.Volts)
			for _, letters := range []Letters{Unicode, ASCII} {
				var b bytes.Buffer
				if err := WriteStripText(&b, s, letters); err != nil {
					t.Fatal(err)
				}
				for _, line := range strings.Split(b.String(), "\n") {
					if utf8.RuneCountInString(line) > TextWidth {
						t.Errorf("%s, %s: a line of %d characters: %q", c.Name(), c.Modes()[i].Name, utf8.RuneCountInString(line), line)
					}
					for _, r := range line {
						if letters == ASCII && r > unicode.MaxASCII || unicode.IsControl(r) {
							t.Errorf("%q in %q", r, line)
						}
					}
				}
			}
		}
	}
}

func TestLineDiagramLooksAsAgreed(t *testing.T) {
	for name, letters := range map[string]Letters{"broil.txt": Unicode, "broil-ascii.txt": ASCII} {
		s := stripOf(t, demo(t), "broil")
		s.TestPoints, s.Standing, s.Marks = s.TestPoints[:6], nil, nil
		var b bytes.Buffer
		if err := WriteStripText(&b, s, letters); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(goldens, name)
		if *update {
			if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(b.String(), "\n")); diff != "" {
			t.Errorf("%s (look at it, then run with -update):\n%s", name, diff)
		}
	}
}

func TestWaysOfAnotherMachineAreRefused(t *testing.T) {
	c := demo(t)
	for want, hop := range map[string]Hop{
		"way 0, hop 0 is branch 9999":      {Branch: 9999},
		"way 0, hop 0 is at terminal 9999": {Branch: c.Wires()[0].Branch, To: 9999},
		"way 0, hop 0 is at terminal -1":   {Branch: c.Wires()[0].Branch, From: circuit.None},
	} {
		s := Strip{Drawing: Drawing{Circuit: c, Load: circuit.None}, Ways: []Way{{Hops: []Hop{hop}}}}
		var b bytes.Buffer
		for _, err := range []error{RenderStrip(&b, s), WriteStripText(&b, s, ASCII)} {
			if err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("error %v, want %q", err, want)
			}
		}
		if b.Len() > 0 {
			t.Errorf("%d bytes were written all the same", b.Len())
		}
	}
}
