package main

import (
	"os"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

// newMan writes the manual pages, for a release.
func newMan() *cobra.Command {
	return &cobra.Command{
		Use:    "man FOLDER",
		Short:  "Write the manual pages to a folder",
		Args:   cobra.ExactArgs(1),
		Hidden: true,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o777); err != nil {
				return err
			}
			cmd.Root().DisableAutoGenTag = true // its date would differ from build to build
			return doc.GenManTree(cmd.Root(), &doc.GenManHeader{Source: "legtrace", Manual: "legtrace"}, args[0])
		},
	}
}
