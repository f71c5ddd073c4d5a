package lessons_test

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jedib0t/go-pretty/v6/text"

	"legtrace/netlists"
	"legtrace/render/lessons"
	"legtrace/render/report"
)

func all(t *testing.T, name string) []lessons.Lesson {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	out, err := lessons.All(c)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// row finds the table row of a page that begins with the cell, in its first
// part, on the small circuit, or its second, on the machine.
func row(t *testing.T, l lessons.Lesson, part int, first string) string {
	t.Helper()
	parts := strings.Split(l.Markdown, "\n## ")
	for _, line := range strings.Split(parts[part], "\n") {
		if strings.HasPrefix(line, "| "+first+" ") {
			return strings.Join(strings.Fields(line), " ")
		}
	}
	t.Errorf("lesson %d, part %d: no row %q", l.Number, part, first)
	return ""
}

const onSmall, onMachine = 1, 2

// The small circuit, by hand. Element 24 ohms, indicator 5760, lamp 240, warmer
// 24, relay coil 3600, on 240 V without a resistance of its own.
func TestSmallCircuitsFiguresAreThoseWorkedByHand(t *testing.T) {
	ls := all(t, "range-electronic")
	if len(ls) != lessons.Count {
		t.Fatalf("%d lessons", len(ls))
	}
	for _, k := range []struct {
		lesson      int
		first, want string
	}{
		{1, "L1 to L2", "| L1 to L2 | 240.0 V |"},
		{1, "L1 to N", "| L1 to N | 120.0 V |"},
		// 240 V over 24 ohms: 10 A, 2400 W.
		{1, "element", "| element | L1 and L2 | 240.0 | 10.00 | 2400 |"},
		{1, "lamp", "| lamp | L1 and N | 120.0 | 0.50 | 60 |"},
		// No current: the far end stands at L1.
		{2, "limit open", "| limit open | 120.0 V | 120.0 V | 0.0 V | 0 |"},
		{2, "element open", "| element open | 120.0 V | 120.0 V | 240.0 V | 0 |"},
		// L2 lost: element and indicator, 23.90 ohms, in series with the warmer,
		// 24, from L1 to N: 120 x 23.90 / 47.90 = 59.88 V, and its square over
		// 24 ohms is 149.4 W.
		{2, "L2 lost", "| L2 lost | 120.0 V | 60.1 V | 59.9 V | 149 |"},
		// 4 ohms with 23.90: 240 x 23.90 / 27.90 = 205.6 V, 34.4 V lost;
		// 205.6 squared over 24 is 1761 W.
		{3, "burnt joint, load off", "| burnt joint, load off | 240.0 V | 0.0 V | 0 |"},
		{3, "burnt joint, load on", "| burnt joint, load on | 205.6 V | 34.4 V | 1761 |"},
		// Cold: element 0.97 x 24 = 23.28; indicator, a lamp, 0.09 x 5760 =
		// 518.4; together 22.28.
		{4, "element", "| element | 22.3 ohms | 518 ohms | OL |"},
		{4, "indicator", "| indicator | 22.3 ohms | 23.3 ohms | OL |"},
		// Lamp and coil, 225 ohms, in series with the warmer, 24, on 240 V:
		// 216.87 V and 23.13 V; 216.87 squared over 240 is 196 W, 23.13 squared
		// over 24 is 22.3 W. Their common end is 216.87 - 120 = 97 V off earth.
		{5, "lamp", "| lamp | 120.0 V | 216.9 V | 60 | 196 | 97 V |"},
		{5, "warmer", "| warmer | 120.0 V | 23.1 V | 600 | 22 | 97 V |"},
		{5, "element", "| element | 240.0 V | 240.0 V | 2400 | 2400 | - |"},
		{6, "fuse", "| fuse | 0.0 V | 240.0 V | 0 ohms | OL | itself |"},
		{6, "limit", "| limit | 0.0 V | 240.0 V | 0 ohms | OL | itself |"},
	} {
		if diff := cmp.Diff(k.want, row(t, ls[k.lesson-1], onSmall, k.first)); diff != "" {
			t.Errorf("lesson %d: %s", k.lesson, diff)
		}
	}
	// 240 V over 27.90 ohms: 8.60 A, with 34.41 V 296 W.
	if want := "With 8.60 A through it the joint turns 296 W to heat."; !strings.Contains(ls[2].Markdown, want) {
		t.Errorf("lesson 3 does not say: %s", want)
	}
}

// The range: broil element 240 V 3400 W, 16.94 ohms; supply 0.04 ohms a leg.
func TestRangesFiguresAreThoseWorkedByHand(t *testing.T) {
	ls := all(t, "range-electronic")
	for _, k := range []struct {
		lesson      int
		first, want string
	}{
		// L1 also carries control and fan, 0.4 A: 240 x 16.94 / 17.02, less
		// 0.015 V: 238.9 V, 3368 W.
		{2, "sound", "| sound | 119.4 V | 119.4 V | 238.9 V | 3368 |"},
		{2, "L2 lost", "| L2 lost | 120.0 V | 120.0 V | 0.0 V | 0 |"},
		// 240 x 16.94 / 21.02 = 193.4 V, squared over 16.94: 2208 W.
		{3, "burnt joint, load on", "| burnt joint, load on | 193.4 V | 45.7 V | 2208 |"},
		{4, "wire w12", "| wire w12 | 0 ohms | 0 ohms | OL |"},
		// Nothing else draws: no current, so its neutral end comes to L1.
		{5, "oven control", "| oven control | 119.0 V | 0.0 V | 6 | 0 | 120 V |"},
		{6, "oven thermal fuse", "| oven thermal fuse | 0.0 V | 240.0 V | 0 ohms | OL | itself |"},
		{6, "broil relay contact", "| broil relay contact | 0.0 V | 240.0 V | - | OL | oven control |"},
	} {
		if diff := cmp.Diff(k.want, row(t, ls[k.lesson-1], onMachine, k.first)); diff != "" {
			t.Errorf("lesson %d: %s", k.lesson, diff)
		}
	}
}

// A machine whose neutral is bonded to its metal has 120 V on it when the
// neutral is lost; a heater without neutral says that it has none.
func TestMachinesSayWhatTheyShow(t *testing.T) {
	if md := all(t, "range-mechanical")[4].Markdown; !strings.Contains(md, "The bare metal is then at 120 V to earth.") {
		t.Errorf("3-wire: %s", md)
	}
	if md := all(t, "water-heater")[4].Markdown; !strings.Contains(md, "This machine does not show it: no load of it uses the neutral.") {
		t.Errorf("no neutral: %s", md)
	}
}

// Every lesson of every machine is whole: worked twice, cautions at the end,
// its lines no wider than a terminal but for tables, and the same each time.
func TestEveryMachineHasSixWholeLessons(t *testing.T) {
	for _, e := range netlists.Catalog() {
		if testing.Short() && e.Name != "range-electronic" {
			continue
		}
		ls := all(t, e.Name)
		if diff := cmp.Diff(ls, all(t, e.Name)); diff != "" {
			t.Errorf("%s, the first time and the second: %s", e.Name, diff)
		}
		for i, l := range ls {
			if l.Number != i+1 || !strings.HasPrefix(l.Markdown, "# ") || !strings.Contains(l.Markdown, l.Title) {
				t.Errorf("%s: lesson %d is %q", e.Name, i+1, l.Title)
			}
			if n := strings.Count(l.Markdown, "\n## "); n != 3 {
				t.Errorf("%s, lesson %d: %d parts", e.Name, l.Number, n)
			}
			first, _, _ := strings.Cut(report.Cautions()[0], ":")
			if !strings.Contains(l.Markdown, "> "+first) {
				t.Errorf("%s, lesson %d: no caution", e.Name, l.Number)
			}
			for _, line := range strings.Split(l.Markdown, "\n") {
				if strings.Contains(line, "NaN") || strings.Contains(line, "Inf") || strings.Contains(line, "%!") {
					t.Errorf("%s, lesson %d: %s", e.Name, l.Number, line)
				}
				if text.StringWidthWithoutEscSequences(line) > report.Width && !strings.HasPrefix(line, "|") && !strings.HasPrefix(line, "## ") {
					t.Errorf("%s, lesson %d: too wide: %s", e.Name, l.Number, line)
				}
			}
		}
	}
}
