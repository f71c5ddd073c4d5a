package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legtrace/circuit/trace"
	"legtrace/render/report"
)

// answer opens the machine and shows what is asked of it.
func (n *netlistFlags) answer(t *terminal, o *outputFlags, ask func(*machine) (report.Document, error)) error {
	return n.answerIn(t, o.format(), o, ask)
}

// answerIn is answer in a format.
func (n *netlistFlags) answerIn(t *terminal, f report.Format, o *outputFlags, ask func(*machine) (report.Document, error)) error {
	m, err := n.openFor(t)
	if err != nil {
		return err
	}
	d, err := ask(m)
	if err != nil {
		return m.place(err)
	}
	return t.deliver(d, f, o)
}

func newLoads(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	cmd := &cobra.Command{
		Use:   "loads",
		Short: "What every load gets in a mode: volts, amps, watts",
		Args:  cobra.NoArgs,
		Example: `  legtrace loads --mode broil
  legtrace loads --mode broil --fault supply.L2:open`,
		RunE: func(*cobra.Command, []string) error {
			return n.answer(t, o, func(m *machine) (report.Document, error) {
				ask, err := m.AskMode(q.mode, q.faults)
				if err != nil {
					return nil, err
				}
				return m.Loads(ask)
			})
		},
	}
	modeFlag(cmd, n, &q)
	faultFlag(cmd, n, &q)
	outputFlag(cmd, o)
	return cmd
}

func newPath(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	cmd := &cobra.Command{
		Use:   "path",
		Short: "How a load is fed, wire by wire, from each leg",
		Args:  cobra.NoArgs,
		Example: `  legtrace path --mode broil --load broil_element
  legtrace path --mode broil --load broil_element --fault thermal_fuse:open`,
		RunE: func(*cobra.Command, []string) error {
			return n.answer(t, o, func(m *machine) (report.Document, error) {
				ask, err := m.Ask(q.mode, q.load, q.faults, report.Feeding)
				if err != nil {
					return nil, err
				}
				return m.Path(ask)
			})
		},
	}
	modeAndLoad(cmd, n, &q)
	faultFlag(cmd, n, &q)
	outputFlag(cmd, o)
	return cmd
}

func newBreaks(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	var opt report.BreaksOptions
	var works, dead []string
	var keepsOn, count bool
	cmd := &cobra.Command{
		Use:   "breaks",
		Short: "What would leave a load dead or weak, or keep it on",
		Long: `Lists every minimal set of opens that takes a load below a share of its power:
opens on its own feed, and opens elsewhere that make a contact on it drop out.
With --keeps-on it lists what would leave the load on in a mode in which it
should be off: welded contacts, shorted loads, grounds to the chassis.`,
		Args: cobra.NoArgs,
		Example: `  legtrace breaks --mode broil --load broil_element
  legtrace breaks --mode broil --load broil_element --works bake_element=bake
  legtrace breaks --keeps-on --mode off --load broil_element`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := vetBreaks(cmd, &opt, keepsOn, len(works)+len(dead) > 0); err != nil {
				return err
			}
			return n.answer(t, o, func(m *machine) (d report.Document, err error) {
				if opt.Works, err = m.symptoms(works); err != nil {
					return nil, err
				}
				if opt.Dead, err = m.symptoms(dead); err != nil {
					return nil, err
				}
				purpose := report.Feeding
				if keepsOn {
					purpose = report.Keeping
				}
				ask, err := m.Ask(q.mode, q.load, nil, purpose)
				switch {
				case err != nil:
					return nil, err
				case keepsOn:
					d, err = m.KeepsOn(cmd.Context(), ask, opt)
				case count:
					d, err = m.CountBreaks(cmd.Context(), ask)
				default:
					d, err = m.Breaks(cmd.Context(), ask, opt)
				}
				return d, explain(err, m, ask)
			})
		},
	}
	modeAndLoad(cmd, n, &q)
	outputFlag(cmd, o)
	f := cmd.Flags()
	f.IntVar(&opt.Order, "order", trace.DefaultOrder, fmt.Sprintf("most opens, or faults, taken together: `N` from 1 to %d", trace.MaxOrder))
	f.Float64Var(&opt.Share, "share", 0, fmt.Sprintf("`SHARE` of power that counts (default %g, with --keeps-on %g)", trace.DefaultShare, trace.DefaultOnShare))
	f.IntVar(&opt.MaxSets, "max-sets", trace.DefaultMaxSets, "stop the search at `N` sets")
	f.BoolVar(&count, "count", false, "count the minimal sets of every order, and list none")
	f.BoolVar(&keepsOn, "keeps-on", false, "what would leave the load on where it should be off")
	f.StringArrayVar(&works, "works", nil, "another `LOAD[=MODE]` still works: show what spares it")
	f.StringArrayVar(&dead, "dead", nil, "another `LOAD[=MODE]` is dead too: show what stops it")
	for _, other := range []string{"order", "share", "max-sets", "keeps-on", "works", "dead"} {
		cmd.MarkFlagsMutuallyExclusive("count", other)
	}
	complete(cmd, "works", n.completeSymptom)
	complete(cmd, "dead", n.completeSymptom)
	complete(cmd, "order", cobra.FixedCompletions([]string{"1", "2", "3", "4"}, cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

// vetBreaks refuses figures that make no sense before any work is done.
func vetBreaks(cmd *cobra.Command, opt *report.BreaksOptions, keepsOn, symptoms bool) error {
	switch {
	case opt.Order < 1 || opt.Order > trace.MaxOrder:
		return fmt.Errorf("--order %d: it goes from 1 to %d", opt.Order, trace.MaxOrder)
	case cmd.Flags().Changed("share") && !(opt.Share > 0 && opt.Share < 1):
		return fmt.Errorf("--share %g: it lies between 0 and 1", opt.Share)
	case opt.MaxSets < 1:
		return fmt.Errorf("--max-sets %d: it starts at 1", opt.MaxSets)
	case keepsOn && symptoms:
		return errors.New("--works and --dead do not go with --keeps-on")
	}
	return nil
}

// explain adds what to ask instead.
func explain(err error, m *machine, q report.Question) error {
	mode := m.Circuit.Mode(q.Mode).Name
	load := m.Circuit.Branch(q.Load).Ref
	switch {
	case errors.Is(err, trace.ErrNotEnergised):
		return fmt.Errorf("%s is off in mode %q, so nothing takes power from it: choose another --mode, or ask with --keeps-on what would turn it on", load, mode)
	case errors.Is(err, trace.ErrNotCounted):
		return fmt.Errorf("%w: leave out --count, and say --order", err)
	case errors.Is(err, trace.ErrEnergised):
		return fmt.Errorf("%s is on in mode %q by right: choose a --mode in which it should be off", load, mode)
	}
	return err
}
