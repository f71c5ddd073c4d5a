package report

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// Document is an answer: plain data, from which its blocks are made.
type Document interface {
	blocks(p *page)
}

// Format is a way to write a document.
type Format string

// The formats. All documents come in all but CSV.
const (
	FormatText     Format = "text"
	FormatMarkdown Format = "markdown"
	FormatCSV      Format = "csv"
	FormatJSON     Format = "json"
	FormatHTML     Format = "html"
)

// spreadsheet is a document that is also a table of cells.
type spreadsheet interface{ csv(w io.Writer) error }

// longDocument is a document that writes its own JSON, being long.
type longDocument interface{ json(w io.Writer) error }

func encodeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// Formats lists the formats that a document comes in.
func Formats(d Document) []Format {
	if _, ok := d.(spreadsheet); ok {
		return []Format{FormatText, FormatMarkdown, FormatCSV, FormatJSON, FormatHTML}
	}
	return []Format{FormatText, FormatMarkdown, FormatJSON, FormatHTML}
}

// Write writes a document in a format. Colour is for text, and only repeats
// what the words say.
func Write(w io.Writer, d Document, f Format, colour bool) error {
	var p page
	switch f {
	case FormatJSON:
		if l, ok := d.(longDocument); ok {
			return l.json(w)
		}
		return encodeJSON(w, d)
	case FormatCSV:
		if t, ok := d.(spreadsheet); ok {
			return t.csv(w)
		}
	case FormatText:
		d.blocks(&p)
		return p.text(w, colour)
	case FormatMarkdown:
		d.blocks(&p)
		return p.markdown(w)
	case FormatHTML:
		d.blocks(&p)
		return p.html(w)
	}
	return fmt.Errorf("unknown format %q: one of %s", f, strings.Join(each(Formats(d), func(f Format) string { return string(f) }), ", "))
}
