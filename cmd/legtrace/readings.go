package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legtrace/circuit/meter"
	"legtrace/render/report"
)

func newReadings(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	var set meterFlags
	var function, black string
	var live bool
	cmd := &cobra.Command{
		Use:   "readings PROBE PROBE... | --black PROBE PROBE... | WIRE...",
		Short: "What the meter shows between probes, sound and broken",
		Long: `Reads between each probe and the next, in the order given; with --black, the
black lead stays on one point and every probe is read against it. A probe is a
test point's name or a terminal, part.terminal. With --function amps, name the
wires that the clamp goes around.

Resistance and continuity are taken with the supply removed, in circuit and
with a lead lifted, and the report says whether lifting is needed: whether an
open would be hidden by another way round.`,
		Args: cobra.MinimumNArgs(1),
		Example: `  legtrace readings broil_1 broil_2 --mode broil --fault supply.L2:open
  legtrace readings --black tb_n broil_1 broil_2 --mode broil
  legtrace readings thermal_fuse.2 broil_relay.com --function ohms
  legtrace readings w15 --function amps --mode broil`,
		ValidArgsFunction: func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			names := (*report.Reporter).ProbeNames
			if function == meter.Amps.String() {
				names = (*report.Reporter).WireNames
			}
			return n.completing(names)(cmd, args, typed)
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			f, err := meter.ParseFunction(function)
			if err != nil {
				return fmt.Errorf("--function: %w", err)
			}
			if live && !f.Live() {
				return report.ErrLiveOhms
			}
			opt, err := set.options(cmd, f)
			if err != nil {
				return err
			}
			return n.answer(t, o, func(m *machine) (report.Document, error) {
				ask, err := m.AskMode(q.mode, q.faults)
				if err != nil {
					return nil, err
				}
				return m.take(ask, f, args, black, opt)
			})
		},
	}
	modeFlag(cmd, n, &q)
	faultFlag(cmd, n, &q)
	outputFlag(cmd, o)
	cmd.Flags().StringVar(&function, "function", meter.Volts.String(), "the meter's `FUNCTION`: volts, lowz, ohms, continuity, amps")
	cmd.Flags().StringVar(&black, "black", "", "`PROBE` that the black lead stays on")
	cmd.Flags().BoolVar(&live, "live", false, "with the supply on (volts and amps always are; ohms never)")
	set.add(cmd)
	complete(cmd, "black", n.completing((*report.Reporter).ProbeNames))
	complete(cmd, "function", cobra.FixedCompletions([]string{"volts", "lowz\tlow-impedance volts", "ohms", "continuity", "amps"}, cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

// take reads at the probes, or around the wires, that the words name.
func (m *machine) take(q report.Question, f meter.Function, names []string, black string, opt report.MeterOptions) (*report.Readings, error) {
	if f == meter.Amps {
		return m.clamp(q, names, black, opt)
	}
	pairs, err := m.pairs(names, black)
	if err != nil {
		return nil, err
	}
	return m.Readings(q, f, pairs, opt)
}

func (m *machine) clamp(q report.Question, names []string, black string, opt report.MeterOptions) (*report.Readings, error) {
	if black != "" {
		return nil, errors.New("--black does not go with --function amps: a clamp has no leads")
	}
	d, err := m.AskWires(names)
	if err != nil {
		return nil, err
	}
	return m.Clamps(q, d, opt)
}

func (m *machine) pairs(names []string, black string) ([]report.Pair, error) {
	if black == "" && len(names) < 2 {
		return nil, errors.New("one probe reads nothing: name two or more, or where the black lead is with --black")
	}
	var out []report.Pair
	var last report.Pair
	for i, name := range names {
		at, err := m.AskProbe(name)
		if err != nil {
			return nil, err
		}
		switch {
		case black != "":
			to, err := m.AskProbe(black)
			if err != nil {
				return nil, fmt.Errorf("--black: %w", err)
			}
			if at == to {
				return nil, sameProbe(m, name, black, report.Pair{From: at, To: to})
			}
			out = append(out, report.Pair{From: at, To: to})
		case i > 0:
			pair := report.Pair{From: last.From, To: at}
			if pair.From == pair.To {
				return nil, sameProbe(m, names[i-1], name, pair)
			}
			out = append(out, pair)
		}
		last.From = at
	}
	return out, nil
}

func sameProbe(m *machine, first, second string, p report.Pair) error {
	if first == second {
		return fmt.Errorf("both probes are on one terminal: %s", first)
	}
	return fmt.Errorf("both probes are on one terminal: %s and %s are both %s", first, second, m.Circuit.Terminal(p.From).Ref)
}
