package main

import (
	"github.com/spf13/cobra"

	"legtrace/netlists"
	"legtrace/render/report"
)

func newRingOut(t *terminal, o *outputFlags) *cobra.Command {
	var wires string
	cmd := &cobra.Command{
		Use:   "ringout FINDINGS",
		Short: "Work out a harness from which pins beep and which do not",
		Long: `Reads continuity findings and says which pins are joined whatever the switches
do, which pass through a switch and in which positions, what is still unknown,
and which check to make next. With --wires it writes the joins so far as the
start of a netlist.

A file of findings is TOML:

  positions = ["off", "bake"]
  [[check]]
  in = "off"
  beep = [["block.L1", "selector.L1"]]
  silent = [["block.L1", "element.1"]]

Pins may be listed under pins = [...] so that those not yet rung count too. A
row of more than two pins under beep says that all beep to the first.`,
		Args:    cobra.ExactArgs(1),
		Example: `  legtrace ringout rung.toml --wires harness.toml`,
		RunE: func(_ *cobra.Command, args []string) error {
			ring, err := netlists.ReadFindings(args[0])
			if err != nil {
				return err
			}
			d := report.NewRingOut(ring)
			if wires != "" {
				if err := t.write(wires, []byte(d.Wires)); err != nil {
					return err
				}
			}
			return t.show(d, o)
		},
	}
	cmd.Flags().StringVar(&wires, "wires", "", "`FILE` to write the joins so far to")
	outputFlag(cmd, o)
	return cmd
}
