package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/render/report"
)

func newWarm(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	var start, air []string
	opt := report.WarmOptions{}
	cmd := &cobra.Command{
		Use:   "warm",
		Short: "How warm it gets: minutes to temperature, cycling, limits",
		Long: `Follows the machine in a mode through time: minutes to temperature, the share of
the time it heats, what it settles at, which limit opens and when. With faults
or choked air it says what differs from a sound machine.

The netlist's [bodies] say what gets warm; contacts that heat works and the
control follow the temperatures, not the mode.`,
		Args: cobra.NoArgs,
		Example: `  legtrace warm --mode bake
  legtrace warm --mode bake --fault oven_sensor:drifted=1.04
  legtrace warm --netlist catalog:dryer --mode timed_dry --air motor=0.3
  legtrace warm --netlist catalog:water-heater --mode cold_tank --room 10`,
		RunE: func(*cobra.Command, []string) error {
			return n.answer(t, o, func(m *machine) (report.Document, error) {
				ask, err := m.AskMode(q.mode, q.faults)
				if err != nil {
					return nil, err
				}
				if opt.Start, err = figures("start", start); err != nil {
					return nil, err
				}
				if opt.Air, err = figures("air", air); err != nil {
					return nil, err
				}
				return m.Warm(ask, opt)
			})
		},
	}
	modeFlag(cmd, n, &q)
	faultFlag(cmd, n, &q)
	outputFlag(cmd, o)
	f := cmd.Flags()
	f.Float64Var(&opt.Room, "room", circuit.RoomCelsius, "temperature around, in `CELSIUS`")
	f.Float64Var(&opt.Dial, "dial", 0, "temperature asked for, in `CELSIUS` (default the netlist's)")
	f.Float64Var(&opt.Minutes, "minutes", 180, "how long to follow it: `MINUTES`")
	f.StringArrayVar(&start, "start", nil, "a body that begins at another temperature, as `BODY=CELSIUS`; repeatable")
	f.StringArrayVar(&air, "air", nil, "the share of a fan's air that still passes, as `FAN=SHARE`; repeatable")
	return cmd
}

// figures reads NAME=NUMBER, as often as given.
func figures(flag string, list []string) (map[string]float64, error) {
	out := map[string]float64{}
	for _, s := range list {
		name, figure, ok := strings.Cut(s, "=")
		v, err := strconv.ParseFloat(figure, 64)
		if !ok || err != nil {
			return nil, fmt.Errorf("--%s %q: write it as name=number", flag, s)
		}
		out[name] = v
	}
	return out, nil
}
