package lessons_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/jedib0t/go-pretty/v6/text"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/render/lessons"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// teacher works on a machine of the catalog.
func teacher(t *testing.T, name string) *lessons.Teacher {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return lessons.New(c, nil)
}

// lesson works one out.
func lesson(t *testing.T, teacher *lessons.Teacher, name string) *lessons.Lesson {
	t.Helper()
	h, err := lessons.Find(name)
	if err != nil {
		t.Fatal(err)
	}
	l, err := teacher.Lesson(h.Number)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

const onSmall, onMachine = 0, 1

// rows are those of the tables of a lesson, on the small circuit or on the
// machine, that begin with the cell.
func rows(l *lessons.Lesson, part int, first string) []string {
	var out []string
	for _, step := range l.Parts[part].Steps {
		for _, r := range step.Rows {
			if r.Cells[0] == first {
				out = append(out, strings.Join(r.Cells, " | "))
			}
		}
	}
	return out
}

// said is all that a lesson says of a part.
func said(l *lessons.Lesson, part int) string {
	out := l.Parts[part].Note
	for _, step := range l.Parts[part].Steps {
		out += strings.Join([]string{"", step.Say, step.Then, step.Undrawn, step.Ask, step.Answer}, "\n")
	}
	return out
}

func holdsRows(t *testing.T, teacher *lessons.Teacher, part int, want [][2]string) {
	t.Helper()
	for _, k := range want {
		l := lesson(t, teacher, k[0])
		first, _, _ := strings.Cut(k[1], " | ")
		if got := rows(l, part, first); !slices.Contains(got, k[1]) {
			t.Errorf("lesson %s: wanted %q among\n%s", k[0], k[1], strings.Join(got, "\n"))
		}
	}
}

// The small circuit, by hand. Element 24 ohms, indicator 5760, lamp 240, warmer
// 24, relay coil 3600, on 240 V without a resistance of its own.
func TestSmallCircuitsFiguresAreThoseWorkedByHand(t *testing.T) {
	ranges := teacher(t, "range-electronic")
	holdsRows(t, ranges, onSmall, [][2]string{
		{"two-legs", "L1 to L2 | 240.0 V"},
		{"two-legs", "L1 to N | 120.0 V"},
		// 240 V over 24 ohms: 10 A, 2400 W.
		{"two-legs", "element | L1 and L2 | 240.0 | 10.00 | 2400"},
		{"two-legs", "lamp | L1 and N | 120.0 | 0.50 | 60"},
		// No current: the far end stands at L1.
		{"both-ends", "limit open | 120.0 V | 120.0 V | 0.0 V | 0"},
		{"both-ends", "element open | 120.0 V | 120.0 V | 240.0 V | 0"},
		// L2 lost: element and indicator, 23.90 ohms, in series with the warmer,
		// 24, from L1 to N: 120 x 23.90 / 47.90 = 59.88 V, and its square over
		// 24 ohms is 149.4 W, 6 per cent of 2400.
		{"both-ends", "L2 lost | 120.0 V | 60.1 V | 59.9 V | 149"},
		{"half-works", "element | Heat | 0 | 6 | 100"},
		// Without the neutral lamp and warmer are in series across 240 V: 218.2
		// and 21.8 V, whose squares over their ohms are 198.3 W of 60 and 19.8 W
		// of 600.
		{"half-works", "lamp | Off | 0 | 100 | 331"},
		{"half-works", "warmer | Off | 100 | 0 | 3"},
		// One open on a way that is closed has the whole feed; two share none.
		{"switch-volts", "fuse | 0.0 V | 240.0 V | 0 ohms | OL | itself"},
		{"switch-volts", "limit | 0.0 V | 240.0 V | 0 ohms | OL | itself"},
		{"switch-volts", "fuse | 240 V | 0 V"},
		{"switch-volts", "limit | 0 V | 240 V"},
		// 4 ohms with 23.90: 240 x 23.90 / 27.90 = 205.6 V, 34.4 V lost;
		// 205.6 squared over 24 is 1761 W.
		{"under-load", "burnt joint, load off | 240.0 V | 0.0 V | 0"},
		{"under-load", "burnt joint, load on | 205.6 V | 34.4 V | 1761"},
		// 1 ohm ahead of the element (23.90 ohms to L2) and of lamp and coil (225
		// to N): (120 - v) / 1 = (v + 120) / 23.90 + v / 225, so v = 109.89 V,
		// 10.11 V and 10.11 A, 102 W.
		{"burnt-block", "1 | 10.1 | 10.11 | 102 | 2202"},
		// Cold: element 0.97 x 24 = 23.28; indicator, a lamp, 0.09 x 5760 =
		// 518.4; together 22.28.
		{"other-way", "element | 22.3 ohms | 518 ohms | OL"},
		{"other-way", "indicator | 22.3 ohms | 23.3 ohms | OL"},
		// Lamp and coil, 225 ohms, in series with the warmer, 24, on 240 V:
		// 216.87 V and 23.13 V; 216.87 squared over 240 is 196 W, 23.13 squared
		// over 24 is 22.3 W. Their common end is 216.87 - 120 = 97 V off earth,
		// and so is the metal where a strap joins it to that.
		{"lost-neutral", "lamp | 120.0 V | 216.9 V | 60 | 196 | 97 V"},
		{"lost-neutral", "warmer | 120.0 V | 23.1 V | 600 | 22 | 97 V"},
		{"lost-neutral", "element | 240.0 V | 240.0 V | 2400 | 2400 | -"},
		{"three-or-four", "4 | neutral lost | 0 V"},
		{"three-or-four", "3 | neutral lost | 97 V"},
		// A quarter, cold: 5.82 ohms beside 17.46 + 518.4. On heat 6 and 18 ohms
		// at 120 V each: 2400 + 800 W; off, the far 18 alone, fed through the
		// limit: 800 W.
		{"grounded", "25 % | 22.3 ohms | 5.76 ohms | 3200 | 800"},
		{"grounded", "50 % | 22.3 ohms | 11.4 ohms | 2400 | 1200"},
		{"glows-off", "relay contact welded | 2400 | 100"},
		{"glows-off", "element grounded to chassis | 1200 | 50"},
		// A platinum sensor of 1000 ohms at 0 C, at 21.1 C (IEC 60751: 1000 x (1 +
		// 3.9083e-3 t - 5.775e-7 t^2)): 1082 ohms.
		{"board-in-vain", "fuse | 120 V | temperature 1082 ohms | no"},
		{"board-in-vain", "relay coil | 120 V | temperature 1082 ohms | yes"},
		{"board-in-vain", "sensor | 120 V | temperature open, refused | no"},
		{"board-in-vain", "board fuse | 0 V | dark | no"},
		// 208 squared over 24.
		{"wrong-supply", "element | 240 V, 2400 W | 240.0 | 2400 | 208.0 | 1803"},
		{"diagram-and-place", "fuse 2 | back, behind the panel | 6 | relay com | 3"},
		{"fuse-tells", "element shorted | Heat"},
		{"fuse-tells", "limit | 10.0 | 0"},
	})
	for _, k := range [][2]string{
		// 240 V over 27.90 ohms: 8.60 A, with 34.41 V 296 W.
		{"under-load", "With 8.60 A through it the joint turns 296 W to heat."},
		{"under-load", "4 ohms, and it beeps"},
		// 120 squared over 24.
		{"wrong-supply", "120.0 V are across the element (24.0 ohms), and it gets 600 W."},
		{"half-works", "L1. Of the warmer and the element: without L2 they get 0 and 6 per cent; without N they get 3 and 100 per cent."},
	} {
		if l := lesson(t, ranges, k[0]); !strings.Contains(said(l, onSmall), k[1]) {
			t.Errorf("lesson %s does not say: %s\n%s", k[0], k[1], said(l, onSmall))
		}
	}
}

// What the meter shows in the exercises, foretold by hand. The reasons that
// stand beside them in the lessons are of these readings.
func TestExercisesReadWhatTheirReasonsSay(t *testing.T) {
	ranges := teacher(t, "range-electronic")
	for name, want := range map[string][]string{
		"two-legs":          {"240 V.", "0 V."},
		"both-ends":         {"120 V; sound, 120 V.", "240 V; sound, 0 V.", "240 V; sound, 240 V."},
		"half-works":        {"120 V; sound, 120 V.", "0 V; sound, 120 V."},
		"switch-volts":      {"0 V; sound, 0 V.", "240 V.", "0 V; sound, 0 V."},
		"other-way":         {"23.3 ohms; sound, 22.3 ohms.", "518 ohms, silent; sound, 22.3 ohms, beeps."},
		"under-load":        {"206 V; sound, 240 V.", "240 V; sound, 240 V.", "34.4 V; sound, 0 V."},
		"burnt-block":       {"5.17 V; sound, 0 V.", "235 V; sound, 240 V."},
		"stray-voltage":     {"floating, 0 to 47.1 V; sound, 120 V.", "0 V; sound, 119 V.", "119 V."},
		"three-or-four":     {"96.9 V; sound, 0 V.", "0 V."},
		"lost-neutral":      {"218 V; sound, 120 V.", "240 V; sound, 240 V."},
		"grounded":          {"22.3 ohms; sound, 22.3 ohms.", "5.76 ohms; sound, OL."},
		"glows-off":         {"240 V; sound, 0 V.", "120 V; sound, 120 V."},
		"board-in-vain":     {"120 V; sound, 120 V.", "OL; sound, 1080 ohms.", "0 V; sound, 120 V."},
		"wrong-supply":      {"208 V; sound, 240 V.", "22.3 ohms; sound, 22.3 ohms.", "120 V; sound, 240 V."},
		"diagram-and-place": {"0 V.", "240 V; sound, 0 V."},
		"fuse-tells":        {"0 ohms; sound, 22.3 ohms.", "240 V; sound, 0 V."},
	} {
		l := lesson(t, ranges, name)
		if len(l.Exercises) != len(want) {
			t.Errorf("lesson %s has %d exercises", name, len(l.Exercises))
			continue
		}
		for i, e := range l.Exercises {
			if !strings.HasPrefix(e.Answer, want[i]+" ") {
				t.Errorf("lesson %s: %s\n%s\nwanted: %s", name, e.Ask, e.Answer, want[i])
			}
		}
	}
}

// The range: broil element 240 V 3400 W, 16.94 ohms; supply 0.04 ohms a leg.
func TestRangesFiguresAreThoseWorkedByHand(t *testing.T) {
	holdsRows(t, teacher(t, "range-electronic"), onMachine, [][2]string{
		// L1 also carries control and fan, 0.4 A: 240 x 16.94 / 17.02, less
		// 0.015 V: 238.9 V, 3368 W.
		{"both-ends", "sound | 119.4 V | 119.4 V | 238.9 V | 3368"},
		{"both-ends", "L2 lost | 120.0 V | 120.0 V | 0.0 V | 0"},
		// 240 x 16.94 / 21.02 = 193.4 V, squared over 16.94: 2208 W.
		{"under-load", "burnt joint, load on | 193.4 V | 45.7 V | 2208"},
		{"other-way", "wire w12 | 0 ohms | 0 ohms | OL"},
		// Nothing else draws: no current, so its neutral end comes to L1.
		{"lost-neutral", "oven control | 119.0 V | 0.0 V | 6 | 0 | 120 V"},
		{"switch-volts", "oven thermal fuse | 0.0 V | 240.0 V | 0 ohms | OL | itself"},
		{"switch-volts", "broil relay contact | 0.0 V | 240.0 V | - | OL | oven control"},
		// All that is on hangs on L1 and neutral or on both legs.
		{"half-works", "oven lamp | Oven light by its key, door closed | 0 | 100 | 0"},
		{"half-works", "right front element | Right front surface unit | 0 | 0 | 100"},
		// Both legs are switched, so one weld or one ground is not enough.
		{"glows-off", "broil relay contact welded and double-line-break relay contact welded | 3368 | 99"},
		// Half of it, 8.47 ohms, on either leg: as many watts as whole.
		{"grounded", "50 % | 16.4 ohms | 8.22 ohms | 3368 | 0"},
		{"board-in-vain", "oven sensor | 120 V | oven temperature open, refused | no"},
		{"board-in-vain", "oven control | 120 V | dark | yes"},
		// (208 / 240) squared of 3368 W.
		{"wrong-supply", "broil element | 240 V, 3400 W | 238.9 | 3368 | 207.0 | 2530"},
		{"diagram-and-place", "thermal fuse (load side) | behind the back panel | 8 | bake and broil relay feed | 6"},
		{"fuse-tells", "oven high limit | 14.1 | 0"},
	})
}

// A machine whose neutral is bonded to its metal has 120 V on it when the
// neutral is lost; a heater without neutral says that it has none, and another
// machine stands in where one is given.
func TestMachinesSayWhatTheyShow(t *testing.T) {
	if got := said(lesson(t, teacher(t, "range-mechanical"), "lost-neutral"), onMachine); !strings.Contains(got, "The bare metal is then at 120 V to earth.") {
		t.Errorf("3-wire: %s", got)
	}
	if got := said(lesson(t, teacher(t, "water-heater"), "lost-neutral"), onMachine); got != "This machine does not show it: no load of it uses the neutral. The small circuit has to do." {
		t.Errorf("no neutral: %s", got)
	}
	heater, demo := must(netlists.Open("water-heater")), must(netlists.Open("range-electronic"))
	l := lesson(t, lessons.New(heater, demo), "lost-neutral")
	if got := said(l, onMachine); !strings.Contains(got, "In its place: freestanding electric range") || !strings.Contains(got, "it takes") {
		t.Errorf("in its place: %s", got)
	}
	for _, row := range l.Parts[onMachine].Steps[0].Rows {
		if !row.Show.None() {
			t.Errorf("the water heater is to show %+v, which is of another machine", row.Show)
		}
	}
}

func must(c *circuit.Circuit, err error) *circuit.Circuit {
	if err != nil {
		panic(err)
	}
	return c
}

// Every lesson of every machine is whole: a question in every part, an answer to
// each, cautions at the end, its lines no wider than a terminal but for tables,
// and the same each time. What it shows is there on the machine.
func TestEveryLessonOfEveryMachineIsWhole(t *testing.T) {
	for _, e := range netlists.Catalog() {
		if testing.Short() && e.Name != "range-electronic" && e.Name != "water-heater" {
			continue
		}
		c := must(netlists.Open(e.Name))
		teach, again := lessons.New(c, nil), lessons.New(c, nil)
		for _, h := range lessons.List() {
			l := lesson(t, teach, h.Name)
			md := markdown(t, l)
			if diff := cmp.Diff(md, markdown(t, lesson(t, again, h.Name))); diff != "" {
				t.Errorf("%s, %s, the first time and the second: %s", e.Name, h.Name, diff)
			}
			for i, part := range l.Parts {
				if part.Note == "" && !slices.ContainsFunc(part.Steps, func(s lessons.Step) bool { return s.Ask != "" && s.Answer != "" }) {
					t.Errorf("%s, %s, part %d asks nothing", e.Name, h.Name, i+1)
				}
				on := c
				if part.Circuit != nil {
					on = part.Circuit
				}
				for _, s := range part.Steps {
					if s.Ask == "" || s.Answer == "" {
						t.Errorf("%s, %s, part %d: a step asks nothing", e.Name, h.Name, i+1)
					}
					told := part.Tells(&s)
					for _, said := range slices.Concat(told.Say, told.Then, told.Ask, told.Answer) {
						if holdsShow(t, on, said.Show); said.Show.None() || said.Show.Small != (part.Circuit != nil) {
							t.Errorf("%s, %s: nothing is shown of %q", e.Name, h.Name, said.Text)
						}
					}
					holdsShow(t, on, s.Show)
					for _, row := range s.Rows {
						holdsShow(t, on, row.Show)
						if len(row.Cells) != len(s.Head) {
							t.Errorf("%s, %s: %d cells under %d: %v", e.Name, h.Name, len(row.Cells), len(s.Head), row.Cells)
						}
					}
				}
			}
			first, _, _ := strings.Cut(report.Cautions()[0], ":")
			if !strings.Contains(md, "> "+first) {
				t.Errorf("%s, %s: no caution", e.Name, h.Name)
			}
			for _, line := range strings.Split(md, "\n") {
				if strings.Contains(line, "NaN") || strings.Contains(line, "Inf") || strings.Contains(line, "%!") {
					t.Errorf("%s, %s: %s", e.Name, h.Name, line)
				}
				if text.StringWidthWithoutEscSequences(line) > report.Width && !strings.HasPrefix(line, "|") && !strings.HasPrefix(line, "## ") && !strings.HasPrefix(line, "See it:") {
					t.Errorf("%s, %s: too wide: %s", e.Name, h.Name, line)
				}
			}
		}
	}
}

func markdown(t *testing.T, l *lessons.Lesson) string {
	t.Helper()
	md, err := l.Markdown(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return md
}

// holdsShow finds all that a sentence shows on the machine.
func holdsShow(t *testing.T, c *circuit.Circuit, s lessons.Show) {
	t.Helper()
	if s.Mode != "" {
		if _, err := c.FindMode(s.Mode); err != nil {
			t.Error(err)
		}
	}
	if s.Load != "" {
		if _, err := c.FindLoad(s.Load); err != nil {
			t.Error(err)
		}
	}
	for _, f := range s.Faults {
		if _, err := c.ParseFault(f); err != nil {
			t.Error(err)
		}
	}
	for _, at := range []string{s.Red, s.Black} {
		if at == "" {
			continue
		}
		if _, err := c.FindTerminal(at); err != nil {
			t.Error(err)
		}
	}
	for _, piece := range s.Lit {
		kind, name, _ := strings.Cut(piece, ":")
		var err error
		switch kind {
		case "part":
			_, err = c.FindPart(name)
		case "wire":
			_, err = c.FindWire(name)
		default:
			_, err = c.FindTerminal(name)
		}
		if err != nil {
			t.Error(err)
		}
	}
}

// What a sentence names is what is shown: parts by their labels, kinds and wires, the
// mode, and the state of the row whose figures it repeats.
func TestWhatASentenceNamesIsShown(t *testing.T) {
	teach := teacher(t, "range-electronic")
	for begins, want := range map[string]struct{ name, mode, fault, lit string }{
		"A thermal fuse or a limit that is open":   {"two-legs", "broil", "", "part:thermal_fuse part:oven_limit"},
		"A coil without volts":                     {"switch-volts", "broil", "", "part:broil_relay part:dlb_relay"},
		"The one across it: 0.0 V with the double": {"both-ends", "broil", "dlb_relay.contact:open", "part:dlb_relay part:broil_element"},
		"The one across it: 0.0 V with the limit":  {"both-ends", "heat", "limit:open", "part:limit part:element"},
		"The broil element in \"Broil\", each end": {"both-ends", "broil", "", "part:broil_element t:terminal_block.N.out"},
		"With the load on it is 205.6 V":           {"under-load", "heat", "w5:high=4", "part:element"},
	} {
		l, found := lesson(t, teach, want.name), false
		var all []lessons.Sentence
		for _, text := range slices.Concat(l.Intro, l.Keep) {
			all = append(all, l.Says(text)...)
		}
		for i := range l.Parts {
			for j := range l.Parts[i].Steps {
				told := l.Parts[i].Tells(&l.Parts[i].Steps[j])
				all = slices.Concat(all, told.Say, told.Then, told.Ask, told.Answer)
			}
		}
		for _, s := range all {
			if strings.HasPrefix(s.Text, begins) {
				found = true
				if got := s.Show; got.Mode != want.mode || strings.Join(got.Faults, " ") != want.fault || strings.Join(got.Lit, " ") != want.lit {
					t.Errorf("%s\nshows %+v, wanted %+v", s.Text, got, want)
				}
			}
		}
		if !found {
			t.Errorf("no sentence of lesson %s begins with %q", want.name, begins)
		}
	}
}

// A lesson is asked for by number or name, and a slip of the pen is told.
func TestALessonIsFoundByNumberOrName(t *testing.T) {
	for _, said := range []string{"2", "both-ends"} {
		if h, err := lessons.Find(said); err != nil || h.Title != "Both ends live and nothing across" {
			t.Errorf("%q: %v, %v", said, h, err)
		}
	}
	for said, want := range map[string]string{"both-end": `did you mean "both-ends"?`, "17": "a number from 1 to 16", "": "a name from the list"} {
		if _, err := lessons.Find(said); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", said, err)
		}
	}
}

// The small circuit is drawn as a picture too.
func TestTheSmallCircuitIsDrawn(t *testing.T) {
	svg, err := lesson(t, teacher(t, "range-electronic"), "board-in-vain").Parts[onSmall].SVG(t.Context(), schematic.Light)
	if err != nil || !strings.HasPrefix(string(svg), "<svg") || !strings.Contains(string(svg), "Board fuse") {
		t.Errorf("%v: %.200s", err, svg)
	}
}
