package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/render/report"
)

func newTidy(t *terminal, o *outputFlags) *cobra.Command {
	var check bool
	cmd := &cobra.Command{
		Use:   "tidy FILE...",
		Short: "Give netlists the house look, comments kept",
		Long: `Lines up names, equal signs and the ends of wires, and sets blank lines, in the
files themselves. What the netlist says, its order and its comments stay as they
are. The file has to be TOML; it may have mistakes of other kinds. A file is
replaced whole, or not at all.

With --check nothing is written, and the exit code is 1 if a file would change.`,
		Args: cobra.MinimumNArgs(1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return []string{"toml"}, cobra.ShellCompDirectiveFilterFileExt
		},
		Example: `  legtrace tidy mine.toml
  legtrace tidy --check *.toml`,
		RunE: func(_ *cobra.Command, args []string) error {
			d := &report.Tidied{Document: "tidy", Files: []report.TidiedFile{}}
			tidied := make([][]byte, len(args))
			for i, file := range args {
				text, err := readNetlist(file)
				if err != nil {
					return err
				}
				if tidied[i], err = netlists.Tidy(file, text); err != nil {
					return err
				}
				d.Files = append(d.Files, report.TidiedFile{File: file, Changed: !bytes.Equal(text, tidied[i])})
			}
			if check {
				d.Only = true
				if err := t.show(d, o); err != nil {
					return err
				}
				if d.Changed() {
					return errFindings
				}
				return nil
			}
			for i, f := range d.Files {
				if !f.Changed {
					continue
				}
				if err := writeFile(f.File, tidied[i]); err != nil {
					return err
				}
			}
			return t.show(d, o)
		},
	}
	cmd.Flags().BoolVar(&check, "check", false, "only tell what would change")
	return cmd
}

// readNetlist reads the text of a netlist, which may have mistakes.
func readNetlist(file string) ([]byte, error) {
	info, err := os.Stat(file)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil, fmt.Errorf("there is no file %q", file)
	case err != nil:
		return nil, fmt.Errorf("cannot read: %w", err)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("cannot tidy %s: it is not a file", file)
	case info.Size() > netlists.MaxBytes:
		return nil, fmt.Errorf("cannot tidy %s: it has more than the %d bytes a netlist may have", file, netlists.MaxBytes)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, fmt.Errorf("cannot read: %w", err)
	}
	return text, nil
}
