package main

import (
	"errors"

	"github.com/spf13/cobra"

	"legtrace/circuit/suspect"
	"legtrace/render/chart"
	"legtrace/render/report"
)

func newPlan(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var e evidenceFlags
	var ascii bool
	format, file := formatFlags{of: (*report.Plan)(nil)}, ""
	order := 2
	cmd := &cobra.Command{
		Use:   "plan",
		Short: "The whole tree of tests for a complaint, to take along",
		Long: `Works out which test to make first, and for each of its outcomes which next,
down to the part. Compares what that costs on average with the fewest tests any
tree could need, with the bound that entropy sets, and with the trade's usual
order: supply, element, sensor, fuse, control.

With --chart it draws the plan as a flowchart, places of it that go on alike
joined, instead of writing it: SVG, PNG or a page to print, by what the name ends
in, or the graph itself in DOT.

` + evidenceLong,
		Args: cobra.NoArgs,
		Example: `  legtrace plan --complaint "broil element dead in broil"
  legtrace plan --dead broil_element --works bake_element --format markdown --output plan.md
  legtrace plan --complaint "broil element dead in broil" --chart plan.svg`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if !e.given() {
				return errors.New(`say what is wrong, as in --complaint "broil element dead in broil"`)
			}
			if file != "" && (o.file != "" || o.json || cmd.Flags().Changed("format")) {
				return errors.New("--chart is a form of output: leave out --output, --format and --json")
			}
			f, err := format.chosen(cmd, o)
			if err != nil {
				return err
			}
			m, err := n.openAny(cmd.Context(), t, &e)
			if err != nil {
				return err
			}
			engine, err := m.weighWithin(cmd.Context(), t, &e, &suspect.Options{Order: order})
			if err != nil {
				return err
			}
			d, err := m.Plan(cmd.Context(), engine, suspect.NewProgress())
			if err != nil {
				return err
			}
			if file != "" {
				dot, err := chart.Plan(d)
				if err != nil {
					return err
				}
				return t.chart(cmd.Context(), dot, file)
			}
			d.ASCII = ascii
			return t.deliver(d, f, o)
		},
	}
	evidenceFlag(cmd, n, &e)
	cmd.Flags().IntVar(&order, "order", order, "most faults taken together: `N` from 1 to 3")
	cmd.Flags().BoolVar(&ascii, "ascii", false, "draw the tree in plain characters")
	cmd.Flags().StringVar(&file, "chart", "", "`FILE` for a flowchart: NAME.svg, .png, .html or .dot")
	format.add(cmd)
	outputFlag(cmd, o)
	return cmd
}
