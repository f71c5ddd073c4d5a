package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/render/report"
)

func newPoints(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	var set meterFlags
	var format string
	cmd := &cobra.Command{
		Use:   "points",
		Short: "Test-point list for a load that is dead or weak",
		Long: `Lists where to put the probes for a load that is dead or weak in a mode, in the
order that rules out most for least effort: what to see, what else it may read
and what that means, which lead to lift, which tests must be made under load.
Cautions and the points that stay live come first. As HTML it is one file that
prints on a sheet or two and reads on a phone.`,
		Args: cobra.NoArgs,
		Example: `  legtrace points --mode broil --load broil_element
  legtrace points --mode broil --format html --output broil.html`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f, err := chosenFormat(cmd, format, o, report.Formats((*report.Points)(nil)))
			if err != nil {
				return err
			}
			opt, err := set.options(cmd, meter.Volts, meter.Ohms)
			if err != nil {
				return err
			}
			m, err := n.openFor(t)
			if err != nil {
				return err
			}
			ask, err := m.Ask(q.mode, q.load, nil, report.Feeding)
			if err != nil {
				return m.place(err)
			}
			d, err := m.Points(cmd.Context(), ask, opt)
			if err != nil {
				return m.place(explain(err, m, ask))
			}
			return t.deliver(d, f, o)
		},
	}
	modeAndLoad(cmd, n, &q)
	outputFlag(cmd, o)
	formatFlag(cmd, &format, report.Formats((*report.Points)(nil)))
	set.add(cmd)
	return cmd
}

func newLive(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	var all bool
	cmd := &cobra.Command{
		Use:   "live",
		Short: "Which points stay live, and what a fault would add",
		Long: `Lists every terminal that stands at voltage to the machine's metal in a mode, by
default the one that is off, and the way the voltage gets there; then what each
single fault would make live besides, the metal itself included. With --fault
it lists what is live with that fault present.`,
		Args: cobra.NoArgs,
		Example: `  legtrace live
  legtrace live --netlist catalog:range-mechanical --fault supply.N:open`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if all && q.mode != "" {
				return errors.New("--mode and --all-modes contradict each other: give one")
			}
			m, err := n.openFor(t)
			if err != nil {
				return err
			}
			modes, notes := []circuit.ModeID{m.OffMode()}, []string(nil)
			ask := report.Question{}
			if q.mode == "" {
				ask, err = m.AskMode(m.Circuit.Mode(modes[0]).Name, q.faults)
				notes = append(notes, fmt.Sprintf("Default: --mode %s. --all-modes lists every mode.", m.Circuit.Mode(modes[0]).Name))
			} else {
				ask, err = m.AskMode(q.mode, q.faults)
				modes[0] = ask.Mode
			}
			if err != nil {
				return m.place(err)
			}
			if all {
				modes, notes = m.AllModes(), m.LeftOut()
			}
			d, err := m.Live(cmd.Context(), modes, ask.Faults, notes)
			if err != nil {
				return m.place(err)
			}
			return t.show(d, o)
		},
	}
	modeFlag(cmd, n, &q)
	cmd.Flags().Lookup("mode").Usage = "`MODE` selected (default off)"
	faultFlag(cmd, n, &q)
	outputFlag(cmd, o)
	cmd.Flags().BoolVar(&all, "all-modes", false, "every mode of the machine")
	return cmd
}
