package main

import (
	"github.com/spf13/cobra"

	"legtrace/render/report"
)

func newFaults(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "faults",
		Short: "What can fail, by the names that --fault takes",
		Long: `Lists every cause that suspects, plan and visit weigh, the most probable first,
with the faults that it shows as, of their usual size.`,
		Args:    cobra.NoArgs,
		Example: `  legtrace faults --netlist catalog:dryer`,
		RunE: func(*cobra.Command, []string) error {
			return n.answer(t, o, func(m *machine) (report.Document, error) { return m.Faults(), nil })
		},
	}
	outputFlag(cmd, o)
	return cmd
}
