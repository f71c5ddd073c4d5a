package main

import (
	"context"

	"github.com/spf13/cobra"

	"legtrace/render/report"
)

// auditFlags say what check does with what is to be questioned.
type auditFlags struct{ hide, strict bool }

func (a *auditFlags) add(cmd *cobra.Command) {
	cmd.Flags().BoolVar(&a.hide, "no-warnings", false, "leave out what is only to be questioned")
	cmd.Flags().BoolVar(&a.strict, "strict", false, "warnings too make the exit code 1")
	cmd.MarkFlagsMutuallyExclusive("no-warnings", "strict")
}

// look adds the warnings to a check.
func (a *auditFlags) look(ctx context.Context, m *machine, d *report.Check) (err error) {
	if a.hide {
		return nil
	}
	d.Warnings, err = m.Audit(ctx, m.locate)
	return err
}

// found reports whether a check has something that the exit code tells.
func (a *auditFlags) found(d *report.Check) bool {
	return len(d.Findings) > 0 || a.strict && len(d.Warnings) > 0
}
