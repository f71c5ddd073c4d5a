package main

import (
	"github.com/spf13/cobra"

	"legtrace/render/report"
)

func newCheck(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "check [NETLIST]",
		Short: "Does the netlist do what its modes say?",
		Long: `Reads the netlist, settles every mode with nothing broken, and compares each
load with what the mode says of it: a slip in transcription shows here first.
The exit code is 1 when there is something to look into.`,
		Args: cobra.MaximumNArgs(1),
		ValidArgsFunction: func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 0 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return completeNetlist(cmd, args, typed)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				n.netlist = args[0]
			}
			m, err := n.open()
			if err != nil {
				return err
			}
			var warnings []report.Finding
			for _, w := range m.Warnings {
				warnings = append(warnings, report.Finding{At: report.At{File: w.File, Line: w.Line, Column: w.Column}, Message: w.Message, Hint: w.Hint})
			}
			d, err := m.Check(warnings, m.locate)
			if err != nil {
				return m.place(err)
			}
			if err := t.show(d, o); err != nil {
				return err
			}
			if len(d.Findings) > 0 {
				return errFindings
			}
			return nil
		},
	}
	outputFlag(cmd, o)
	return cmd
}
