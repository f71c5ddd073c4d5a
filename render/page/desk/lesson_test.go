package desk

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"legtrace/circuit"
	"legtrace/netlists"
	"legtrace/render/lessons"
)

// shipped are the machines that come with legtrace.
func shipped(t *testing.T) map[string]*circuit.Circuit {
	t.Helper()
	out := map[string]*circuit.Circuit{}
	for _, entry := range netlists.Catalog() {
		c, err := netlists.Open(entry.Name)
		if err != nil {
			t.Fatal(err)
		}
		out[entry.Name] = c
	}
	return out
}

func TestBlocksOfALesson(t *testing.T) {
	got := blocksOf("# 1. A & B\n\nOne line\nand another.\n## Next\n| a | b_c |\n| - | --- |\n| 1 | <i> |\n| - | 2   |\n\n> Look\n> out.\n>\n> Again.\n\n#not a heading\n- nor a list\n")
	want := []block{
		{Kind: "h1", Text: "1. A & B"},
		{Kind: "p", Text: "One line and another."},
		{Kind: "h2", Text: "Next"},
		{Kind: "table", Head: []string{"a", "b_c"}, Rows: [][]string{{"1", "<i>"}, {"-", "2"}}},
		{Kind: "quote", Quot: []string{"Look out.", "Again."}},
		{Kind: "p", Text: "#not a heading"},
		{Kind: "p", Text: "- nor a list"},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Every lesson of every machine comes through whole: each word of it is on the
// page, and no markup is left over.
func TestLessonsComeThroughWhole(t *testing.T) {
	for name, c := range shipped(t) {
		all, err := lessons.All(c)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		for _, l := range all {
			var words []string
			for _, line := range strings.Split(l.Markdown, "\n") {
				switch {
				case strings.HasPrefix(line, "|-") || strings.HasPrefix(line, "| -") && strings.Trim(line, "|- ") == "" && strings.Contains(line, "---"):
					continue
				case strings.HasPrefix(line, "|"):
					line = strings.ReplaceAll(line, "|", " ")
				}
				words = append(words, strings.Fields(strings.TrimLeft(strings.TrimPrefix(line, ">"), "#"))...)
			}
			var shown []string
			for _, b := range blocksOf(l.Markdown) {
				for _, text := range append([]string{b.Text}, b.Quot...) {
					if strings.HasPrefix(text, "|") || strings.HasPrefix(text, ">") || strings.HasPrefix(text, "# ") || strings.HasPrefix(text, "- ") || strings.HasPrefix(text, "```") {
						t.Errorf("%s, lesson %d: markup is left over: %q", name, l.Number, text)
					}
					shown = append(shown, strings.Fields(text)...)
				}
				for _, row := range append([][]string{b.Head}, b.Rows...) {
					if b.Kind == "table" && len(row) != len(b.Head) {
						t.Errorf("%s, lesson %d: a row of %d cells under %d: %q", name, l.Number, len(row), len(b.Head), row)
					}
					shown = append(shown, strings.Fields(strings.Join(row, " "))...)
				}
			}
			if diff := cmp.Diff(words, shown); diff != "" {
				t.Errorf("%s, lesson %d:\n%s", name, l.Number, diff)
			}
		}
	}
}
