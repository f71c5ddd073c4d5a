package main

import (
	"bytes"
	"context"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/render/report"
	"legtrace/render/schematic"
)

func newReport(t *terminal, o *outputFlags) *cobra.Command {
	format := formatFlags{of: (*report.Visit)(nil), byFile: true}
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
			f, err := format.chosen(cmd, o)
			if err != nil {
				return err
			}
			d, err := reportOf(cmd.Context(), t, args[0], f == report.FormatHTML)
			if err != nil {
				return err
			}
			return t.deliver(d, f, o)
		},
	}
	format.add(cmd)
	outputFlag(cmd, o)
	return cmd
}

func reportOf(ctx context.Context, t *terminal, file string, picture bool) (*report.Visit, error) {
	_, job, m, err := openVisit(ctx, t, file)
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
	drawing.Base = m.base()
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
