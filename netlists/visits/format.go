package visits

import _ "embed"

//go:embed FORMAT.md
var format string

// FormatPage is the description of a visit's file, as Markdown.
func FormatPage() string { return format }
