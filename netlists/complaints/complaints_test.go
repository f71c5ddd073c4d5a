package complaints_test

import (
	"os"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/netlists/complaints"
)

func open(t testing.TB, name string) *circuit.Circuit {
	t.Helper()
	c, err := netlists.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// meaning writes what was heard as the fixture does: "what part@mode", a
// question as "? what", what was not understood as "not word word".
func meaning(c *circuit.Circuit, h complaints.Heard) string {
	var out []string
	for _, s := range h.Statements {
		line := s.What
		if s.Code != "" {
			line += ":" + s.Code
		}
		switch {
		case s.Load != circuit.None:
			line += " " + c.Branch(s.Load).Ref
		case s.Part != circuit.None:
			line += " " + c.Part(s.Part).Name
		}
		if s.Mode != circuit.None {
			line += "@" + c.Mode(s.Mode).Name
		}
		out = append(out, line)
	}
	for _, q := range h.Questions {
		out = append(out, "? "+q.What)
	}
	if len(h.Unknown) > 0 {
		out = append(out, "not "+strings.Join(h.Unknown, " "))
	}
	sort.Strings(out)
	return strings.Join(out, "; ")
}

// fixture reads lines "machine | sentence | meaning".
func fixture(t *testing.T, path string) (lines [][3]string) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(string(data), "\n") {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		fields := strings.Split(line, "|")
		if len(fields) != 3 {
			t.Fatalf("%s: %q has %d fields, not 3", path, line, len(fields))
		}
		means := strings.Split(strings.TrimSpace(fields[2]), ";")
		for i := range means {
			means[i] = strings.TrimSpace(means[i])
		}
		sort.Strings(means)
		lines = append(lines, [3]string{strings.TrimSpace(fields[0]), strings.TrimSpace(fields[1]), strings.Join(means, "; ")})
	}
	return lines
}

func TestSentencesAreUnderstood(t *testing.T) {
	for path, l := range map[string]*complaints.Language{"testdata/en.txt": complaints.English(), "testdata/es.txt": complaints.Spanish()} {
		machines := map[string]*circuit.Circuit{}
		for _, line := range fixture(t, path) {
			c := machines[line[0]]
			if c == nil {
				c = open(t, line[0])
				machines[line[0]] = c
			}
			if diff := cmp.Diff(line[2], meaning(c, l.Read(c, line[1]))); diff != "" {
				t.Errorf("%s: %q:\n%s", path, line[1], diff)
			}
		}
	}
}

// A word with a slip of the pen is read, and told.
func TestSlipsOfThePenAreTold(t *testing.T) {
	c := open(t, "range-electronic")
	h := complaints.English().Read(c, "broil elemnt does not heat")
	if !slices.Contains(h.Mended, "elemnt: element") || meaning(c, h) != "dead broil_element" {
		t.Errorf("%q, mended %q", meaning(c, h), h.Mended)
	}
}

// What is told becomes notes that the engine takes.
func TestNotesAreTaken(t *testing.T) {
	for _, e := range netlists.Catalog() {
		c := open(t, e.Name)
		for _, s := range []string{"everything is dead", "trips the breaker at once", "it comes and goes", "burnt wire at the terminal block",
			"after a storm", "replaced the element, no change", "I get a tingle", "everything else works", "smells of burning"} {
			notes, h, _ := complaints.English().Complaint(c, s)
			for _, n := range notes {
				if err := n.Check(c); err != nil {
					t.Errorf("%s: %q: %v (%+v)", e.Name, s, err, h)
				}
			}
		}
	}
}

func FuzzRead(f *testing.F) {
	c := open(f, "dryer")
	for _, s := range []string{"turns, no heat", "50 degrees F hot", "neither this nor that; burnt", "F3/E1 code's ½ °", "not not not"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, l := range complaints.Languages() {
			notes, _, err := l.Complaint(c, s)
			for _, n := range notes {
				if e := n.Check(c); e != nil && err == nil {
					t.Fatalf("%q: %v", s, e)
				}
			}
		}
	})
}

// Of sentences written apart from the table so many are understood whole, words
// that were not understood, which are told, left aside. The floor rises as the
// table grows; it never falls.
func TestSentencesWrittenApart(t *testing.T) {
	const floor = 24
	machines := map[string]*circuit.Circuit{}
	lines, right := fixture(t, "testdata/apart.txt"), 0
	for _, line := range lines {
		c := machines[line[0]]
		if c == nil {
			c = open(t, line[0])
			machines[line[0]] = c
		}
		h := complaints.English().Read(c, line[1])
		h.Unknown = nil
		if meaning(c, h) == line[2] {
			right++
		}
	}
	t.Logf("%d of %d understood whole", right, len(lines))
	if right < floor {
		t.Errorf("%d of %d understood whole, once %d", right, len(lines), floor)
	}
}
