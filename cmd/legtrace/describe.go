package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/netlists/describe"
)

const describeLong = `Writes a machine down line by line, as one reads it off a sheet: from which part
and terminal, colour and gauge, to which. A part that is named for the first time
is asked for. Every line is checked at once, as check does, and what is new is
said with its place in the file.

FILE is begun where it is not there: empty, or with --from on the machine of the
catalog, or the file, that comes nearest, of which only what differs is then said.
legtrace new begins one from a few questions. Every line is written to FILE at
once; what an editor changes in it meanwhile is taken as it is. "undo" takes one
line back after the other.

"help" lists what a line may be.`

func newDescribe(t *terminal, o *outputFlags) *cobra.Command {
	var from string
	cmd := &cobra.Command{
		Use:   "describe FILE",
		Short: "Write a machine down, wire by wire",
		Long:  describeLong,
		Args:  cobra.ExactArgs(1),
		Example: `  legtrace describe mine.toml
  legtrace describe mine.toml --from catalog:range-electronic
  legtrace describe mine.toml < wires.txt`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if o.json {
				return errors.New("describe is a conversation and has no JSON: legtrace check --json tells of what it wrote")
			}
			if args[0] == "-" {
				return errors.New("a machine is kept in a file, which - is not: name one")
			}
			d, err := openDescription(args[0], from)
			if err != nil {
				return err
			}
			d.talk = newTalk(t, cmd.InOrStdin(), func() string { return d.file })
			return d.run(cmd.Context())
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "begin with another `NETLIST`, of which this one says what differs")
	complete(cmd, "from", completeNetlist)
	return cmd
}

// openDescription reads the file, or begins one.
func openDescription(file, from string) (*description, error) {
	d := &description{file: file}
	text, err := netlists.Text(file)
	_, stat := os.Stat(file)
	switch {
	case err == nil && from != "":
		return nil, fmt.Errorf("%s is there already, and starts from what it says itself: leave out --from, or name another file", file)
	case err == nil:
		d.text = text
		return d, nil
	case !errors.Is(stat, fs.ErrNotExist):
		return nil, fmt.Errorf("%s cannot be read: %w", file, err)
	}
	d.text, d.begun = describe.Begin(nameFrom(file)), true
	if from != "" {
		d.text = fmt.Appendf(nil, "from = %q\nname = %q\n", from, nameFrom(file))
		if _, err := netlists.Read(file, d.text); err != nil {
			return nil, err
		}
	}
	return d, writeFile(file, d.text)
}
