package main

import (
	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/render/report"
)

func newDictionary(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var set meterFlags
	format := formatFlags{of: (*report.Dictionary)(nil)}
	var modes []string
	var telling, pairs bool
	cmd := &cobra.Command{
		Use:   "dictionary",
		Short: "What every single fault reads at every test point",
		Long: `Works out, for every mode, every single fault and every listed test point, what
the meter reads and whether a sound machine could read so. As text it is a
summary; as CSV or JSON every reading is written. The columns of the CSV:

  mode, fault        as --mode and --fault take them
  fault_text         the fault in words
  from, to           test points of the red and the black probe
  function           volts, or ohms with the supply removed
  good               a sound machine's interval, in words, then
  good_low, good_high  its ends; both empty: open, the high one: without end
  reading, reading_low, reading_high  the same with the fault
  unit               V or ohms
  differs            true where a sound machine cannot read so

With --pairs it settles every two faults at once instead, and tells which loads
they leave as neither does alone. The columns of the CSV are then mode, first,
second, load, first_alone, second_alone, both (states of the load) and share of
rated power.`,
		Args: cobra.NoArgs,
		Example: `  legtrace dictionary --mode broil --format csv --output broil.csv
  legtrace dictionary --differing --format json --output faults.json
  legtrace dictionary --pairs --mode broil`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f, err := format.chosen(cmd, o)
			if err != nil {
				return err
			}
			opt, err := set.options(cmd, meter.Volts, meter.Ohms)
			if err != nil {
				return err
			}
			return n.answerIn(t, f, o, func(m *machine) (report.Document, error) {
				var ids []circuit.ModeID
				for _, name := range modes {
					ask, err := m.AskMode(name, nil)
					if err != nil {
						return nil, err
					}
					ids = append(ids, ask.Mode)
				}
				if pairs {
					return m.Pairs(cmd.Context(), ids, opt)
				}
				return m.Dictionary(cmd.Context(), ids, telling, opt)
			})
		},
	}
	cmd.Flags().StringArrayVarP(&modes, "mode", "m", nil, "`MODE` to work out; repeatable (default all)")
	complete(cmd, "mode", n.completing((*report.Reporter).ModeNames))
	outputFlag(cmd, o)
	format.add(cmd)
	cmd.Flags().BoolVar(&telling, "differing", false, "only readings that differ from a sound machine's")
	cmd.Flags().BoolVar(&pairs, "pairs", false, "two faults at once: which loads they leave as neither does alone")
	cmd.MarkFlagsMutuallyExclusive("pairs", "differing")
	set.add(cmd)
	return cmd
}
