package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/render/report"
)

func newWhole(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "whole [NETLIST]",
		Short: "Print a netlist that starts from another as one whole file",
		Long: `Prints the machine as a netlist that starts from no other: what the file says,
laid over what it starts from, in the house look. Comments are not carried over.`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeOneNetlist,
		Example:           `  legtrace whole mine.toml --output mine-whole.toml`,
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				n.netlist = args[0]
			}
			m, err := n.open()
			if err != nil {
				return err
			}
			var b strings.Builder
			if err := netlists.Write(&b, m.Spec); err != nil {
				return err
			}
			return t.show(&report.Netlist{Document: "netlist", Name: m.file, Toml: b.String()}, o)
		},
	}
	outputFlag(cmd, o)
	return cmd
}

func newCompare(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "compare [NETLIST [OTHER]]",
		Short: "What a netlist changes of the one it starts from",
		Long: `Tells part by part and wire by wire what a netlist has otherwise than the one it
starts from, or than another one named. The exit code is 0 whether they differ
or not.`,
		Args: cobra.MaximumNArgs(2),
		ValidArgsFunction: func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			if len(args) > 1 {
				return nil, cobra.ShellCompDirectiveNoFileComp
			}
			return completeNetlist(cmd, args, typed)
		},
		Example: `  legtrace compare mine.toml
  legtrace compare mine.toml catalog:range-mechanical`,
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				n.netlist = args[0]
			}
			m, err := n.open()
			if err != nil {
				return err
			}
			against := ""
			if len(args) > 1 {
				against = args[1]
			} else if chain := netlists.Chain(m.file); len(chain) > 1 {
				against = chain[1]
			} else {
				return fmt.Errorf("%s starts from no other netlist: name one to compare it with", m.file)
			}
			other, err := (&netlistFlags{netlist: against}).open()
			if err != nil {
				return err
			}
			return t.show(report.Compare(m.file, m.Spec, against, other.Spec), o)
		},
	}
	outputFlag(cmd, o)
	return cmd
}
