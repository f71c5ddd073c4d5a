package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"legtrace/circuit/meter"
	"legtrace/render/report"
)

// meterFlags set up the instrument.
type meterFlags struct {
	accuracy            string
	counts, input, beep float64
	celsius             float64
	exact               bool
}

func (m *meterFlags) add(cmd *cobra.Command) {
	in := meter.DefaultInstrument()
	f := cmd.Flags()
	f.StringVar(&m.accuracy, "accuracy", "", "the meter's error on its function, as `PERCENT+COUNTS` (default 1+3 on volts, 0.9+2 on ohms, 2.5+5 on amps)")
	f.Float64Var(&m.counts, "counts", in.Counts, "the meter's display: `COUNTS`")
	f.Float64Var(&m.input, "input-ohms", 0, "the meter's input on volts: `OHMS` (default 10 million, 3000 on the low-impedance function)")
	f.Float64Var(&m.beep, "beep-ohms", in.ContinuityOhms, "continuity sounds below `OHMS`")
	f.Float64Var(&m.celsius, "celsius", 0, "temperature in `CELSIUS` of sensors read with the supply removed (default 21.1, a room)")
	f.BoolVar(&m.exact, "no-tolerance", false, "intervals of the meter's own error only: no part tolerances, no range of the supply")
}

// options checks the flags; functions are those that --accuracy is for.
func (m *meterFlags) options(cmd *cobra.Command, functions ...meter.Function) (report.MeterOptions, error) {
	in := meter.DefaultInstrument()
	in.Counts, in.ContinuityOhms = m.counts, m.beep
	opt := report.MeterOptions{Exact: m.exact}
	if m.accuracy != "" {
		acc, err := meter.ParseAccuracy(m.accuracy)
		if err != nil {
			return opt, fmt.Errorf("--accuracy %w", err)
		}
		for _, f := range functions {
			*in.Accuracy(f) = acc
		}
	}
	if cmd.Flags().Changed("input-ohms") {
		in.InputOhms, in.LowZOhms = m.input, m.input
	}
	if in != meter.DefaultInstrument() {
		in.Name = fmt.Sprintf("as set, %.0f counts", in.Counts)
	}
	if err := in.Check(); err != nil {
		return opt, fmt.Errorf("the meter as set: %w", err)
	}
	opt.Instrument = in
	if cmd.Flags().Changed("celsius") {
		if len(functions) == 1 && functions[0].Live() {
			return opt, fmt.Errorf("--celsius goes with ohms and continuity: with the supply on, sensors are as hot as the mode makes them")
		}
		if !(m.celsius >= -273.15 && m.celsius <= 2000) {
			return opt, fmt.Errorf("--celsius %g: it lies between -273.15 and 2000", m.celsius)
		}
		opt.Celsius = &m.celsius
	}
	return opt, nil
}
