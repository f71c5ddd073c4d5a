package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/circuit/meter"
	"legtrace/circuit/suspect"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

func newPoints(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	var e evidenceFlags
	var set meterFlags
	format := formatFlags{of: (*report.Points)(nil), byFile: true}
	var form []string
	cmd := &cobra.Command{
		Use:   "points",
		Short: "Test sheet for a complaint: where to probe, what to read",
		Long: `Writes a sheet to print and work through: how to make the machine safe, then
test after test, by panel, where the probes go, what is good, what else it may
read and what that means, which lead to lift, what to look at when a panel comes
off; then the checks after the repair. It is the plan of "legtrace plan", laid
out for paper: two pages as HTML.

Without a complaint it takes the load of --load for dead in --mode.

` + evidenceLong,
		Args: cobra.NoArgs,
		Example: `  legtrace points --complaint "broiler dead, bake works" --output broil.html
  legtrace points --complaint "everything dead" --fill serial=A1234
  legtrace points --mode broil --load broil_element`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			f, err := format.chosen(cmd, o)
			if err != nil {
				return err
			}
			opt := report.SheetOptions{}
			if opt.Form, err = filled(form, e.complaints); err != nil {
				return err
			}
			if opt.MeterOptions, err = set.options(cmd, meter.Volts, meter.Ohms); err != nil {
				return err
			}
			if e.given() && (q.mode != "" || q.load != "") {
				return errors.New("a complaint says which load and mode: leave out --mode and --load")
			}
			if n.family() {
				if opt.Family, err = n.likeliest(cmd.Context(), t, &e); err != nil {
					return err
				}
			} else if len(e.outside) > 0 {
				return errOutside
			}
			m, err := n.openFor(t)
			if err != nil {
				return err
			}
			engine, err := m.complained(cmd.Context(), &e, &q, opt.MeterOptions)
			e.tell(t)
			if err != nil {
				return err
			}
			d, err := m.Points(cmd.Context(), engine, opt)
			if err != nil {
				return m.place(err)
			}
			if f == report.FormatHTML && schematic.Fits(m.Circuit) == nil {
				if err := m.Picture(cmd.Context(), d); err != nil {
					return err
				}
			}
			return t.deliver(d, f, o)
		},
	}
	modeAndLoad(cmd, n, &q)
	evidenceFlag(cmd, n, &e)
	cmd.Flags().StringArrayVar(&form, "fill", nil, "a `FIELD=TEXT` of the sheet's head: "+strings.Join(report.FormFields, ", ")+"; repeatable")
	outputFlag(cmd, o)
	format.add(cmd)
	set.add(cmd)
	return cmd
}

// filled reads what is known of a sheet's head.
func filled(fields, complaints []string) (map[string]string, error) {
	out := map[string]string{"complaint": strings.Join(complaints, "; ")}
	for _, s := range fields {
		name, text, ok := strings.Cut(s, "=")
		if !ok || !slices.Contains(report.FormFields, name) {
			return nil, fmt.Errorf("--fill %q: FIELD=TEXT, FIELD one of %s", s, strings.Join(report.FormFields, ", "))
		}
		out[name] = text
	}
	return out, nil
}

// complained makes an engine of single faults, or of pairs where none explains
// what was said.
func (m *machine) complained(ctx context.Context, e *evidenceFlags, q *questionFlags, opt report.MeterOptions) (*suspect.Engine, error) {
	if !e.given() {
		ask, err := m.Ask(q.mode, q.load, nil, report.Feeding)
		if err != nil {
			return nil, m.place(err)
		}
		engine, err := m.Complain(ctx, ask, opt)
		if err != nil {
			return nil, m.place(explain(err, m, ask))
		}
		return engine, nil
	}
	set := suspect.Options{Order: 1, Instrument: opt.Instrument}
	if opt.Celsius != nil {
		set.Ambient = *opt.Celsius
	}
	engine, err := m.weigh(ctx, e, set)
	if err == nil && !engine.Fits() {
		set.Order = 2
		return m.weigh(ctx, e, set)
	}
	return engine, err
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
			return n.answer(t, o, func(m *machine) (report.Document, error) {
				mode, notes := q.mode, []string(nil)
				if mode == "" {
					mode = m.Circuit.Mode(m.Circuit.OffMode()).Name
					notes = append(notes, fmt.Sprintf("Default: --mode %s. --all-modes lists every mode.", mode))
				}
				ask, err := m.AskMode(mode, q.faults)
				if err != nil {
					return nil, err
				}
				modes := []circuit.ModeID{ask.Mode}
				if all {
					modes, notes = m.AllModes(), m.LeftOut()
				}
				return m.Live(cmd.Context(), modes, ask.Faults, notes)
			})
		},
	}
	modeFlag(cmd, n, &q)
	cmd.Flags().Lookup("mode").Usage = "`MODE` selected (default off)"
	faultFlag(cmd, n, &q)
	outputFlag(cmd, o)
	cmd.Flags().BoolVar(&all, "all-modes", false, "every mode of the machine")
	return cmd
}
