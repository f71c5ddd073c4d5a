package main

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/render/report"
	"legtrace/render/schematic"
)

// formatOf tells the format that a file's name asks for.
var formatOf = map[string]report.Format{".md": report.FormatMarkdown, ".html": report.FormatHTML, ".htm": report.FormatHTML, ".json": report.FormatJSON, ".csv": report.FormatCSV}

func newReport(t *terminal, o *outputFlags) *cobra.Command {
	var format string
	cmd := &cobra.Command{
		Use:   "report VISIT",
		Short: "A visit written down: text, Markdown, or a page to print",
		Long: `Writes a visit down: the complaint, what was seen and measured beside what a
sound machine shows, the verdict, the repair and its proof. As HTML it is one
file with the diagram in it, to be read on a phone or printed.`,
		Args: cobra.ExactArgs(1),
		Example: `  legtrace report kitchen.toml
  legtrace report kitchen.toml --output kitchen.html`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if byName, ok := formatOf[strings.ToLower(filepath.Ext(o.file))]; ok && !cmd.Flags().Changed("format") && !o.json {
				format = string(byName)
			}
			f, err := chosenFormat(cmd, format, o, report.Formats((*report.Visit)(nil)))
			if err != nil {
				return err
			}
			d, err := reportOf(cmd.Context(), args[0], f == report.FormatHTML)
			if err != nil {
				return err
			}
			return t.deliver(d, f, o)
		},
	}
	formatFlag(cmd, &format, report.Formats((*report.Visit)(nil)))
	outputFlag(cmd, o)
	return cmd
}

func reportOf(ctx context.Context, file string, picture bool) (*report.Visit, error) {
	_, job, m, err := openVisit(ctx, file)
	if err != nil {
		return nil, err
	}
	d, err := m.Visit(ctx, job)
	if err != nil || !picture {
		return d, err
	}
	drawing, what, err := m.VisitDrawing(ctx, job)
	if err != nil {
		return nil, err
	}
	var svg bytes.Buffer
	if err := schematic.Render(ctx, &svg, drawing); err != nil {
		return nil, err
	}
	d.Pictured, d.Diagram = what, inline(svg.String())
	return d, nil
}

// inline leaves out what an SVG file has before its first element.
func inline(svg string) string {
	if i := strings.Index(svg, "<svg"); i >= 0 {
		return svg[i:]
	}
	return svg
}
