package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/render/report"
)

// formatFlags say how a document is written.
type formatFlags struct {
	of   report.Document // of the kind that is written
	name string
	// byFile takes the format that the name of --output ends in.
	byFile bool
}

func (f *formatFlags) names() []string {
	var out []string
	for _, format := range report.Formats(f.of) {
		out = append(out, string(format))
	}
	return out
}

func (f *formatFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.name, "format", string(report.FormatText), "`FORMAT`: "+strings.Join(f.names(), ", "))
	complete(cmd, "format", cobra.FixedCompletions(f.names(), cobra.ShellCompDirectiveNoFileComp))
}

// formatOf tells the format that a file's name asks for.
var formatOf = map[string]report.Format{".md": report.FormatMarkdown, ".html": report.FormatHTML, ".htm": report.FormatHTML, ".json": report.FormatJSON, ".csv": report.FormatCSV}

// chosen reconciles --format with --json and --output.
func (f *formatFlags) chosen(cmd *cobra.Command, o *outputFlags) (report.Format, error) {
	given := cmd.Flags().Changed("format")
	switch byName, ok := formatOf[strings.ToLower(filepath.Ext(o.file))]; {
	case o.json && given && f.name != string(report.FormatJSON):
		return "", fmt.Errorf("--json and --format %s ask for two formats: give one", f.name)
	case o.json:
		return report.FormatJSON, nil
	case ok && f.byFile && !given:
		f.name = string(byName)
	case f.byFile && !given:
		if err := writtenAs(o.file, ".txt", ".md", ".csv", ".html", ".json"); err != nil {
			return "", err
		}
	}
	if !slices.Contains(f.names(), f.name) {
		return "", fmt.Errorf("--format %q: it is one of %s", f.name, strings.Join(f.names(), ", "))
	}
	return report.Format(f.name), nil
}

// knownEndings are those that say what a file holds: a viewer of that kind opens it.
var knownEndings = []string{".txt", ".md", ".csv", ".html", ".htm", ".json", ".svg", ".dot", ".gv",
	".pdf", ".ps", ".eps", ".png", ".jpg", ".jpeg", ".gif", ".webp", ".tif", ".tiff", ".rtf", ".doc", ".docx", ".odt", ".xls", ".xlsx", ".ods"}

// writtenAs refuses a file whose name says that it holds something that it would not.
func writtenAs(file string, endings ...string) error {
	ext := strings.ToLower(filepath.Ext(file))
	if !slices.Contains(knownEndings, ext) || slices.Contains(endings, ext) {
		return nil
	}
	var names []string
	for _, e := range endings {
		names = append(names, "NAME"+e)
	}
	hint := ""
	if slices.Contains(endings, ".html") && ext == ".pdf" {
		hint = ": a browser prints NAME.html to PDF"
	}
	return fmt.Errorf("--output %s: this is written as %s%s", file, strings.Join(names, ", "), hint)
}
