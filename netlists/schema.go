package netlists

import _ "embed"

// The schema is made from the types of package circuit, its table of kinds and
// the tables of FORMAT.md: schema_make_test.go.
//
//go:embed netlist.schema.json
var schema []byte

// SchemaFile is the name the schema goes by beside a netlist.
const SchemaFile = "netlist.schema.json"

// Schema returns the JSON Schema (draft 2020-12) of a netlist, by which an
// editor completes keys and underlines slips. It sees the shape of a file, and
// not whether a terminal or mode named in it exists.
func Schema() []byte { return append([]byte(nil), schema...) }

//go:embed FORMAT.md
var format string

// FormatPage is the description of the format, as Markdown.
func FormatPage() string { return format }
