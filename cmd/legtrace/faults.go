package main

import "github.com/spf13/cobra"

func newFaults(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "faults",
		Short: "What can fail, by the names that --fault takes",
		Long: `Lists every cause that suspects, plan and visit weigh, the most probable first,
with the faults that it shows as, of their usual size.`,
		Args:    cobra.NoArgs,
		Example: `  legtrace faults --netlist catalog:dryer`,
		RunE: func(*cobra.Command, []string) error {
			m, err := n.openFor(t)
			if err != nil {
				return err
			}
			return t.show(m.Faults(), o)
		},
	}
	outputFlag(cmd, o)
	return cmd
}
