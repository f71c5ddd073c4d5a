package netlists_test

import (
	"flag"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

const (
	sourcesPage = "../cmd/legtrace/help/sources.md"
	marksFile   = "../testdata/published/marks.txt"
)

// mainJob lists the packages whose tests stand for the main job: what is open,
// what the meter shows, which fault it is.
var mainJob = []string{"circuit/phasor", "circuit/settle", "circuit/trace", "circuit/meter", "circuit/suspect"}

// Marks of a test, the first that fits.
const (
	published = "a published source"
	memory    = "a source from memory"
	practice  = "common practice, no source"
	property  = "a property of random machines, or another way to the same"
	ours      = "a machine of ours, worked by hand"
)

var marks = []string{published, memory, practice, property, ours}

// cites recognises what names a source: a title, an author, a standard.
var cites = regexp.MustCompile(`NAVEDTRA|NEETS|Lessons in Electric|Kuphaldt|University Physics|NFPA|ANSI|IEC \d|ASTM|NUREG|NBS|OSHA|IEEE|` +
	`Reiter|de Kleer|Pattipati|Ruan|Shannon|Rauzy|Minato|Foster|Billinton|Handbook|Artificial Intelligence|\(19\d\d\)|\(20\d\d\)`)

// jobTest is a test or fuzz target of the main job with its mark.
type jobTest struct{ pkg, name, mark string }

// jobTests reads the tests of the main job and what their comments say.
func jobTests(t *testing.T) []jobTest {
	t.Helper()
	var out []jobTest
	for _, pkg := range mainJob {
		files, err := filepath.Glob("../" + pkg + "/*_test.go")
		if err != nil || len(files) == 0 {
			t.Fatalf("%s: %d files, %v", pkg, len(files), err)
		}
		for _, file := range files {
			set := token.NewFileSet()
			f, err := parser.ParseFile(set, file, nil, parser.ParseComments)
			if err != nil {
				t.Fatal(err)
			}
			src := readFile(t, file)
			for _, decl := range f.Decls {
				fn, ok := decl.(*ast.FuncDecl)
				if !ok || fn.Recv != nil || !strings.HasPrefix(fn.Name.Name, "Test") && !strings.HasPrefix(fn.Name.Name, "Fuzz") {
					continue
				}
				body := src[set.Position(fn.Pos()).Offset:set.Position(fn.End()).Offset]
				said := fn.Doc.Text()
				for _, c := range f.Comments {
					if c.Pos() > fn.Pos() && c.End() < fn.End() {
						said += c.Text()
					}
				}
				out = append(out, jobTest{pkg, fn.Name.Name, markOf(said, body, fn.Name.Name)})
			}
		}
	}
	return out
}

func markOf(said, body, name string) string {
	switch {
	case cites.MatchString(said) && strings.Contains(said, "from memory"):
		return memory
	case cites.MatchString(said):
		return published
	case strings.Contains(said, "ommon practice"):
		return practice
	case strings.Contains(body, "rapid.Check") || strings.HasPrefix(name, "Fuzz"):
		return property
	}
	return ""
}

// Every test of the main job names its source, or is marked as resting on none:
// by a comment, or in the list of marks. With -update tests without a mark are
// listed as ours, to be looked at.
func TestEveryTestOfTheMainJobNamesItsSourceOrMark(t *testing.T) {
	if testing.Short() {
		t.Skip("a test that somebody adds elsewhere may still want its mark")
	}
	listed := map[string]string{}
	for line := range strings.Lines(readFile(t, marksFile)) {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		name, mark, ok := strings.Cut(line, ": ")
		if !ok || !slices.Contains(marks, mark) {
			t.Fatalf("%s: %q has none of the marks %q", marksFile, line, marks)
		}
		listed[name] = mark
	}
	counts := map[string]map[string]int{}
	var missing []string
	known := map[string]bool{}
	for _, test := range jobTests(t) {
		name := test.pkg + " " + test.name
		mark := test.mark
		if mark == "" {
			if mark = listed[name]; mark == "" {
				missing = append(missing, name)
				mark = ours
			}
			known[name] = true
		}
		if counts[test.pkg] == nil {
			counts[test.pkg] = map[string]int{}
		}
		counts[test.pkg][mark]++
	}
	if updating() {
		writeMarks(t, listed, missing, known)
	} else {
		for _, name := range missing {
			t.Errorf("%s names no source and has no mark: name the source in its comment, or see what go test ./netlists -run Source -update marks", name)
		}
		for name := range listed {
			if !known[name] {
				t.Errorf("%s: %s is listed, and is no test or names its source itself", marksFile, name)
			}
		}
	}
	for _, pkg := range mainJob {
		t.Logf("%s: %v", pkg, counts[pkg])
	}
}

// The page of sources is made from the records of the tests.
func TestTheSourcesPageIsFresh(t *testing.T) {
	page := makeSourcesPage()
	if updating() {
		if err := os.WriteFile(sourcesPage, []byte(page), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if diff := cmp.Diff(readFile(t, sourcesPage), page); diff != "" {
		t.Errorf("-page +fresh (go test ./netlists -run Source -update writes it anew):\n%s", diff)
	}
}

func writeMarks(t *testing.T, listed map[string]string, missing []string, known map[string]bool) {
	t.Helper()
	lines := []string{}
	for name, mark := range listed {
		if known[name] {
			lines = append(lines, name+": "+mark)
		}
	}
	for _, name := range missing {
		lines = append(lines, name+": "+ours)
	}
	sort.Strings(lines)
	head := "# Tests of the main job that cite nothing: what they rest on.\n"
	if err := os.WriteFile(marksFile, []byte(head+strings.Join(lines, "\n")+"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
}

// makeSourcesPage writes the help page of sources out of the tests' records.
func makeSourcesPage() string {
	var b strings.Builder
	statements := 0
	for _, p := range publishedCircuits {
		statements += len(p.statements)
	}
	b.WriteString("# Sources: what legtrace was checked against\n\n")
	fmt.Fprintf(&b, "Made from the records of the tests: %d statements on %d circuits that others\npublished, and %d published figures. "+
		"Each is asked of the engine whenever the\ntests run. Where only memory served it says so.\n\n", statements, len(publishedCircuits), len(publishedFigures))
	b.WriteString("```text\n")
	row(&b, "What is said", "legtrace")
	for _, p := range publishedCircuits {
		b.WriteByte('\n')
		head := p.title + ": " + p.where
		if p.memory != "" {
			head += "; from memory: " + p.memory
		}
		for _, line := range wrap(head, 78) {
			b.WriteString(line + "\n")
		}
		for _, s := range p.statements {
			row(&b, "  "+s.says, verdict(s.right))
		}
	}
	source := ""
	for _, f := range publishedFigures {
		if f.source != source {
			source = f.source
			fmt.Fprintf(&b, "\nFigures: %s\n", source)
		}
		row(&b, "  "+f.says, verdict(f.right))
	}
	b.WriteString("```\n")
	return b.String()
}

func verdict(right string) string {
	if right == "" {
		return "agrees"
	}
	return right
}

// row writes two columns of text, wrapped.
func row(b *strings.Builder, left, right string) {
	indent := left[:len(left)-len(strings.TrimLeft(left, " "))]
	l, r := wrap(strings.TrimSpace(left), 42-len(indent)), wrap(right, 33)
	for i := range max(len(l), len(r)) {
		one, two := "", ""
		if i < len(l) {
			one = indent + l[i]
		}
		if i > 0 && i < len(l) {
			one = indent + "  " + l[i]
		}
		if i < len(r) {
			two = r[i]
		}
		b.WriteString(strings.TrimRight(fmt.Sprintf("%-46s%s", one, two), " ") + "\n")
	}
}

func wrap(s string, width int) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > width {
			out = append(out, line)
			line = ""
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	return append(out, line)
}

// updating reports whether the flag is given that the tests inside the package
// have.
func updating() bool { return flag.Lookup("update").Value.String() == "true" }

func readFile(t *testing.T, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}
