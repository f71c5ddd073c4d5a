package main

import (
	"github.com/spf13/cobra"

	"legtrace/netlists"
)

func newSchema(t *terminal, o *outputFlags) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of a netlist, for an editor",
		Long: `Prints the JSON Schema (draft 2020-12) of the netlist format. With it an editor
completes keys, explains them, and underlines what a part cannot have. Which
terminals and modes exist it cannot know: legtrace check tells.`,
		Args:    cobra.NoArgs,
		Example: `  legtrace schema --output ` + netlists.SchemaFile,
		RunE: func(*cobra.Command, []string) error {
			if o.file != "" && o.file != "-" {
				return t.write(o.file, netlists.Schema())
			}
			return t.print(netlists.Schema())
		},
	}
	outputFlag(cmd, o)
	return cmd
}
