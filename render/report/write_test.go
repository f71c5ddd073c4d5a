package report_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"regexp"
	"slices"
	"strings"
	"testing"

	"legtrace/render/report"
)

// everyDocument gives one document of every kind.
func everyDocument(t *testing.T) []report.Document {
	return slices.Concat(documents(t), learning(t), diagnosing(t), measuring(t), describing(t))
}

func written(t testing.TB, d report.Document, f report.Format) string {
	t.Helper()
	var b bytes.Buffer
	if err := report.Write(&b, d, f, false); err != nil {
		t.Fatalf("%T as %s: %v", d, f, err)
	}
	return b.String()
}

var notWords = regexp.MustCompile(`[^\pL\pN%]+`)

// wordsOf are the words of a form, markup left out.
func wordsOf(s string) map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(notWords.ReplaceAllString(strings.ToLower(s), " ")) {
		out[w] = true
	}
	return out
}

// textOf reads a well-formed page's text.
func textOf(t testing.TB, page string) string {
	t.Helper()
	dec := xml.NewDecoder(strings.NewReader(page))
	dec.Entity = xml.HTMLEntity
	var out strings.Builder
	skip := false
	for {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return out.String()
		}
		if err != nil {
			t.Fatalf("%v in\n%.300s", err, page)
		}
		switch x := token.(type) {
		case xml.StartElement:
			skip = x.Name.Local == "style"
			for _, a := range x.Attr {
				if a.Name.Local == "value" { // of a list's item: what it is counted as
					out.WriteString(" " + a.Value)
				}
			}
		case xml.EndElement:
			skip = false
		case xml.CharData:
			if !skip {
				out.WriteString(" " + string(x))
			}
		}
	}
}

// Every document, in every form.
func TestForms(t *testing.T) {
	docs := everyDocument(t)
	t.Run("every form says the same", func(t *testing.T) { sayTheSame(t, docs) })
	t.Run("a page fetches nothing", func(t *testing.T) { fetchNothing(t, docs) })
	t.Run("colour adds no words", func(t *testing.T) { colourAddsNoWords(t, docs) })
}

// What a document says it says in every form: no form leaves words out.
func sayTheSame(t *testing.T, docs []report.Document) {
	for _, d := range docs {
		forms := map[string]map[string]bool{
			"Markdown": wordsOf(strings.ReplaceAll(written(t, d, report.FormatMarkdown), `\`, "")),
			"HTML":     wordsOf(textOf(t, written(t, d, report.FormatHTML))),
		}
		said := wordsOf(written(t, d, report.FormatText))
		for form, has := range forms {
			var lost []string
			for w := range said {
				// Text breaks what is wider than a line.
				if !has[w] && len(w) < 20 {
					lost = append(lost, w)
				}
			}
			if len(lost) > 0 {
				t.Errorf("%T: lost in %s: %v", d, form, lost)
			}
		}
	}
}

// A page is one file: a browser goes to get nothing and runs nothing.
func fetchNothing(t *testing.T, docs []report.Document) {
	for _, d := range docs {
		if found := fetches.FindString(written(t, d, report.FormatHTML)); found != "" {
			t.Errorf("%T: the page holds %q", d, found)
		}
	}
}

// Colour only repeats what the words say, and no style is left open at the end.
func colourAddsNoWords(t *testing.T, docs []report.Document) {
	sequence := regexp.MustCompile("\x1b\\[[0-9;]*m")
	coloured := false
	for _, d := range docs {
		var b bytes.Buffer
		if err := report.Write(&b, d, report.FormatText, true); err != nil {
			t.Fatal(err)
		}
		plain := written(t, d, report.FormatText)
		if got := sequence.ReplaceAllString(b.String(), ""); got != plain {
			t.Errorf("%T: colour changes the text", d)
		}
		codes := sequence.FindAllString(b.String(), -1)
		coloured = coloured || len(codes) > 0
		if len(codes) > 0 && codes[len(codes)-1] != "\x1b[0m" {
			t.Errorf("%T: a style is left on", d)
		}
		if strings.ContainsFunc(plain, func(r rune) bool { return r < ' ' && r != '\n' && r != '\t' }) {
			t.Errorf("%T: a control character is left in", d)
		}
	}
	if !coloured {
		t.Error("no document has colour")
	}
}

func TestAFormatThatADocumentHasNot(t *testing.T) {
	d := &report.Tidied{}
	for _, f := range []report.Format{report.FormatCSV, "pdf"} {
		err := report.Write(io.Discard, d, f, false)
		if err == nil || !strings.Contains(err.Error(), "one of text, markdown, json, html") {
			t.Errorf("%s: %v", f, err)
		}
	}
}
