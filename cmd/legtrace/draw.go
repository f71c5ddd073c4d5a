package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// symbolSets are the values of --symbols.
var symbolSets = map[string]schematic.Symbols{"iec": schematic.IEC, "ieee": schematic.IEEE}

func newDraw(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	var symbols string
	cmd := &cobra.Command{
		Use:   "draw",
		Short: "Draw the machine, the load's feed emphasised, as SVG",
		Args:  cobra.NoArgs,
		Example: `  legtrace draw --mode bake --load bake_element --output bake.svg
  legtrace draw --netlist mine.toml --symbols ieee --output - > mine.svg`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			set, ok := symbolSets[symbols]
			if !ok {
				return fmt.Errorf("--symbols %q: it is iec (IEC 60617) or ieee (IEEE 315)", symbols)
			}
			m, err := n.openFor(t)
			if err != nil {
				return err
			}
			ask, err := m.Ask(q.mode, q.load, q.faults, report.Feeding)
			if err != nil {
				return m.place(err)
			}
			svg, d, err := m.svg(cmd.Context(), ask, set)
			if err != nil {
				return m.place(err)
			}
			if o.file == "-" {
				return t.print(svg)
			}
			if d.File, err = m.keep(svg, o.file, ask.Mode); err != nil {
				return err
			}
			return t.show(d, &outputFlags{json: o.json})
		},
	}
	modeAndLoad(cmd, n, &q)
	faultFlag(cmd, n, &q)
	cmd.Flags().StringVarP(&o.file, "output", "o", "", "`FILE` for the drawing, - for standard output\n(default legtrace-MACHINE-MODE.svg)")
	cmd.Flags().StringVar(&symbols, "symbols", "iec", "`SET` of symbols: iec (IEC 60617) or ieee (IEEE 315)")
	complete(cmd, "symbols", cobra.FixedCompletions([]string{"iec\tIEC 60617", "ieee\tIEEE 315"}, cobra.ShellCompDirectiveNoFileComp))
	return cmd
}

// overview answers the largest load's question and draws the machine beside.
// The report is shown even where the drawing cannot be written.
func overview(ctx context.Context, t *terminal, n *netlistFlags, o *outputFlags, q *questionFlags, file string) error {
	m, err := n.openFor(t)
	if err != nil {
		return err
	}
	ask, err := m.Ask(q.mode, q.load, nil, report.Feeding)
	if err != nil {
		return m.place(err)
	}
	d, err := m.Overview(ctx, ask)
	if err != nil {
		return m.place(explain(err, m, ask))
	}
	svg, _, err := m.svg(ctx, ask, schematic.IEC)
	if err != nil {
		return err
	}
	var unwritten error
	if file == "-" {
		return t.print(svg)
	}
	d.Drawing, unwritten = m.keep(svg, file, ask.Mode)
	return errors.Join(t.show(d, &outputFlags{json: o.json}), unwritten)
}

// svg draws the machine.
func (m *machine) svg(ctx context.Context, q report.Question, symbols schematic.Symbols) ([]byte, *report.Drawn, error) {
	drawing, d, err := m.Drawing(ctx, q, symbols)
	if err != nil {
		return nil, nil, err
	}
	var b bytes.Buffer
	if err := schematic.Render(ctx, &b, drawing); err != nil {
		return nil, nil, fmt.Errorf("cannot draw the machine: %w", err)
	}
	b.WriteString(signature)
	return b.Bytes(), d, nil
}

// keep writes a drawing to the file named, or to one named after the machine
// and mode, and returns which. A file whose name the person did not choose is
// only replaced if it is a drawing of ours.
func (m *machine) keep(svg []byte, file string, mode circuit.ModeID) (string, error) {
	if file != "" {
		if same(file, m.file) {
			return "", fmt.Errorf("--output %s is the netlist itself", file)
		}
		return wrote(file, svg)
	}
	name := m.Circuit.Name()
	if name == "" {
		name = "machine"
	}
	file = fmt.Sprintf("legtrace-%s-%s.svg", name, m.Circuit.Mode(mode).Name)
	if !replaceable(file) {
		return "", fmt.Errorf("%s is there already and is not a drawing of legtrace's: choose a name with --output", file)
	}
	return wrote(file, svg)
}

// wrote names a file only if it could be written.
func wrote(file string, data []byte) (string, error) {
	if err := writeFile(file, data); err != nil {
		return "", err
	}
	return file, nil
}

func same(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}

// signature ends every drawing of ours.
const signature = "<!-- drawn by legtrace -->\n"

// replaceable reports whether a file is absent or a drawing of ours.
func replaceable(file string) bool {
	f, err := os.Open(file)
	if err != nil {
		return errors.Is(err, os.ErrNotExist)
	}
	defer f.Close()
	if _, err := f.Seek(-int64(len(signature)), io.SeekEnd); err != nil {
		return false
	}
	end, err := io.ReadAll(io.LimitReader(f, int64(len(signature))))
	return err == nil && string(end) == signature
}
