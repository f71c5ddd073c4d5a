package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"

	"legtrace/render/report"
)

func newCheck(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var a auditFlags
	var w watchFlags
	cmd := &cobra.Command{
		Use:   "check [NETLIST]",
		Short: "Does the netlist do what its modes say?",
		Long: `Reads the netlist, settles every mode with nothing broken, and compares each
load with what the mode says of it: a slip in copying shows here first.
The exit code is 1 when there is something to look into.

A mode that shorts the supply is a finding; the other modes can be used.

Warnings are what a careful technician would question: metal without a ground,
a neutral strapped to it where it must not be, a colour or pole on another
conductor than its own, a wire too thin for its current or its breaker, a figure
such parts do not have, a limit that cannot do its work, a part that nothing
uses, parts that no test point distinguishes. The machine may be so, and local
code decides; they change the exit code only with --strict. What may be the
cause of findings stands before them.

With --watch it checks and draws again whenever the file, or one that it starts
from, is saved, and ends with exit code 0 when interrupted. While the netlist
has an error the drawing stays that of the last good one.`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeOneNetlist,
		Example: `  legtrace check mine.toml
  legtrace check mine.toml --watch --drawing mine.svg`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				n.netlist = args[0]
			}
			if w.on {
				return watch(cmd.Context(), t, n, o, &a, &w)
			}
			if w.drawing != "" {
				return errors.New("--drawing goes with --watch; a drawing by itself is legtrace draw")
			}
			_, d, err := check(cmd.Context(), n, &a)
			if err != nil {
				return err
			}
			if err := t.show(d, o); err != nil {
				return err
			}
			if a.found(d) {
				return errFindings
			}
			return nil
		},
	}
	outputFlag(cmd, o)
	a.add(cmd)
	w.add(cmd)
	return cmd
}

// completeOneNetlist completes a netlist given as the only argument.
func completeOneNetlist(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
	if len(args) > 0 {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return completeNetlist(cmd, args, typed)
}

// check reads the netlist and checks it.
func check(ctx context.Context, n *netlistFlags, a *auditFlags) (*machine, *report.Check, error) {
	m, err := n.open()
	if err != nil {
		return nil, nil, err
	}
	d, err := m.check(ctx, a)
	if err != nil {
		return nil, nil, err
	}
	return m, d, nil
}

// check checks a netlist that was read.
func (m *machine) check(ctx context.Context, a *auditFlags) (*report.Check, error) {
	var warnings []report.Finding
	for _, w := range m.Warnings {
		warnings = append(warnings, report.Finding{At: report.At{File: w.File, Line: w.Line, Column: w.Column}, Message: w.Message, Hint: w.Hint})
	}
	d, err := m.Check(warnings, m.locate)
	if err != nil {
		return nil, m.place(err)
	}
	return d, a.look(ctx, m, d)
}
