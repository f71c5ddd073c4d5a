package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"legtrace/netlists/visits"
	"legtrace/render/report"
)

func newTally(t *terminal, o *outputFlags) *cobra.Command {
	var counts, priors string
	cmd := &cobra.Command{
		Use:   "tally VISIT...",
		Short: "What the shop's own visits teach: how often what fails",
		Long: `Counts what failed in finished visits whose repair was proved: by kind of part
and way to fail, beside what common practice expects on the machines visited; by
what the complaint was taken for and the words it was said in; and what tests
took, where the minutes are in the visits. From that it makes the [priors] of a
netlist: common practice counts as much as ten failures of each kind, so few
visits change little.

A repair is proved where all that was looked at after it was as on a sound
machine, in every mode that had failed, nothing of it left out, and where some of
that would have shown the fault still there: judged from what is noted, whatever
the file says of itself.

A VISIT is a file of a visit, a folder of them, or counts kept with --counts, here
or on another machine: those are added up. A file counts once, however often it is
named. No words of a visit but those of the program's own tables go into the
counts, and no name does.`,
		Args: cobra.MinimumNArgs(1),
		Example: `  legtrace tally visits/
  legtrace tally van-1.toml van-2.toml --priors priors.toml
  legtrace tally visits/ --counts van-1.toml`,
		RunE: func(cmd *cobra.Command, args []string) error {
			k := visits.NewCounter()
			if err := k.Count(cmd.Context(), args...); err != nil {
				return err
			}
			for _, err := range k.Unread[:min(mostUnread, len(k.Unread))] {
				t.warn(err.Error())
			}
			if n := len(k.Unread); n > 0 {
				k.Left["not readable"] += n
			}
			if k.Visits == 0 {
				return errors.New("no visit among these is finished and proved")
			}
			d := report.NewTally(k.Tally)
			if counts != "" {
				if err := k.Keep(counts); err != nil {
					return err
				}
				d.Notes = append(d.Notes, fmt.Sprintf("Counts kept in %s.", counts))
			}
			if priors != "" {
				if err := t.write(priors, []byte(d.TOML())); err != nil {
					return err
				}
				d.Notes = append(d.Notes, fmt.Sprintf("The table is in %s.", priors))
			}
			return t.show(d, o)
		},
	}
	cmd.Flags().StringVar(&counts, "counts", "", "`FILE` to keep the counts in, to be added to others")
	cmd.Flags().StringVar(&priors, "priors", "", "`FILE` for the table of [priors]")
	outputFlag(cmd, o)
	return cmd
}

// mostUnread is how many files that cannot be read are told of one by one.
const mostUnread = 5
