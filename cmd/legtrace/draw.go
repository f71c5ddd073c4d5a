package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"legtrace/circuit"
	"legtrace/cmd/library"
	"legtrace/netlists"
	"legtrace/render/chart"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

// symbolSets are the values of --symbols.
var symbolSets = map[string]schematic.Symbols{"iec": schematic.IEC, "ieee": schematic.IEEE}

// drawFlags say what is drawn, and how.
type drawFlags struct {
	symbols, theme, page, date, visit, nets string
	tables                                  string
	only, text, ascii                       bool
	opt                                     report.DrawingOptions
	look                                    schematic.Theme
	shades                                  []schematic.Shade // of the visit
	outside                                 []string
	doubts                                  []schematic.Shade // of a family
	paper                                   schematic.Paper
}

func newDraw(t *terminal, n *netlistFlags, o *outputFlags) *cobra.Command {
	var q questionFlags
	var f drawFlags
	cmd := &cobra.Command{
		Use:   "draw",
		Short: "Draw the machine, the load's feed emphasised, as SVG",
		Long: `Draws the machine in a mode as SVG, the load's feed emphasised. With --fault the
sound machine's voltages stand beside those with the fault.
With --visit the suspects of a visit are shaded by how likely each is, and the
mode and load are those of its complaint.
With --page it is cut for print: one file a sheet, NAME-1.svg and so on, because
SVG has no pages. For PDF or PNG: rsvg-convert -f pdf -o out.pdf NAME-*.svg.
Of a family, as family:range, it draws the likeliest member and shades what other
likely members do not have so.
With --nets it draws a map of the machine's nets instead: which runs of wire are
one, and what lies between any two.`,
		Args: cobra.NoArgs,
		Example: `  legtrace draw --mode bake --load bake_element --output bake.svg
  legtrace draw --points --standing
  legtrace draw --fault thermal_fuse:open --theme dark
  legtrace draw --visit kitchen.toml
  legtrace draw --page a4 --date 2026-03-01
  legtrace draw --only --output phone.svg
  legtrace draw --text
  legtrace draw --nets nets.svg`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := f.vet(o); err != nil {
				return err
			}
			ending := ".svg"
			if f.text {
				ending = ".txt"
			}
			if err := writtenAs(o.file, ending); err != nil {
				return err
			}
			m, ask, err := f.asked(cmd, t, n, &q)
			if err != nil {
				return err
			}
			if f.nets != "" {
				dot, err := chart.Nets(m.Circuit)
				if err != nil {
					return err
				}
				return t.chart(cmd.Context(), dot, f.nets)
			}
			if f.text {
				return m.lineDiagram(cmd.Context(), t, ask, &f, o)
			}
			sheets, d, err := m.sheets(cmd.Context(), ask, &f)
			if err != nil {
				return m.place(err)
			}
			if o.file == "-" {
				if len(sheets) > 1 {
					return fmt.Errorf("the drawing takes %d sheets, each a file: name one with --output FILE", len(sheets))
				}
				return t.print(sheets[0])
			}
			if err := m.keepAll(t, d, sheets, o.file, ask.Mode); err != nil {
				return err
			}
			return t.show(d, &outputFlags{json: o.json})
		},
	}
	modeAndLoad(cmd, n, &q)
	faultFlag(cmd, n, &q)
	cmd.Flags().StringVarP(&o.file, "output", "o", "", "`FILE` for the drawing, - for standard output (default legtrace-MACHINE-MODE.svg)")
	f.add(cmd)
	return cmd
}

func (f *drawFlags) add(cmd *cobra.Command) {
	fs := cmd.Flags()
	fs.StringVar(&f.symbols, "symbols", "", "`SET` of symbols: iec (IEC 60617) or ieee (IEEE 315) (default ieee where the supply is 120/240 or 120/208 V, else iec)")
	fs.StringVar(&f.theme, "theme", "light", "`THEME` of colours: light, dark or mono (black on white)")
	fs.StringVar(&f.page, "page", "", "cut for print on `PAPER`: a4, a3, letter, tabloid or wall")
	fs.StringVar(&f.tables, "tables", "", "`LIST` of tables after the drawing: contacts, parts, wires, plugs, symbols, places, or all or none (default all with --page, else none)")
	fs.StringVar(&f.date, "date", "", "`DATE` for the title block, as 2026-03-01")
	fs.BoolVar(&f.opt.Points, "points", false, "number the test points, with their good readings")
	fs.BoolVar(&f.opt.Standing, "standing", false, "mark what stays live with the machine switched off")
	fs.BoolVar(&f.opt.Suspects, "suspects", false, "shade what could take power from the load by how likely it is before any test")
	fs.StringVar(&f.visit, "visit", "", "shade what a visit suspects: its `FILE`, which names the machine")
	outsideFlag(cmd, &f.outside)
	fs.BoolVar(&f.only, "only", false, "only what feeds the load, from top to bottom, for a phone")
	fs.BoolVar(&f.text, "text", false, "the same as a line diagram for the terminal")
	fs.StringVar(&f.nets, "nets", "", "`FILE` for a map of nets: NAME.svg, .png, .html or .dot")
	fs.BoolVar(&f.ascii, "ascii", false, "with --text: plain ASCII")
	complete(cmd, "theme", cobra.FixedCompletions([]string{"light", "dark", "mono\tblack on white"}, cobra.ShellCompDirectiveNoFileComp))
	complete(cmd, "page", cobra.FixedCompletions([]string{"a4", "a3", "letter", "tabloid", "wall"}, cobra.ShellCompDirectiveNoFileComp))
	complete(cmd, "symbols", cobra.FixedCompletions([]string{"iec\tIEC 60617", "ieee\tIEEE 315"}, cobra.ShellCompDirectiveNoFileComp))
}

// vet reads the flags' values and refuses those that do not go together.
func (f *drawFlags) vet(o *outputFlags) error {
	for _, clash := range f.clashes(o) {
		if clash.is {
			return errors.New(clash.says)
		}
	}
	var ok bool
	if f.opt.Symbols, ok = symbolSets[f.symbols]; !ok && f.symbols != "" {
		return fmt.Errorf("--symbols %q: it is iec (IEC 60617) or ieee (IEEE 315)", f.symbols)
	}
	var err error
	if f.look, err = schematic.ParseTheme(f.theme); err != nil {
		return fmt.Errorf("--%w", err)
	}
	if f.page != "" {
		if f.paper, err = schematic.FindPaper(f.page); err != nil {
			return fmt.Errorf("--%w", err)
		}
	}
	if tables := cmp.Or(f.tables, map[bool]string{true: "all"}[f.page != ""]); tables != "" {
		if f.opt.Tables, err = schematic.ParseTables(tables); err != nil {
			return fmt.Errorf("--%w", err)
		}
	}
	if _, err := time.Parse(time.DateOnly, f.date); err != nil && f.date != "" {
		return fmt.Errorf("--date %q: it is written as 2026-03-01", f.date)
	}
	return nil
}

// clashes lists what does not go together, and what is said of it.
func (f *drawFlags) clashes(o *outputFlags) []struct {
	is   bool
	says string
} {
	tables, nets := f.tables != "" && f.tables != "none", f.nets != ""
	return []struct {
		is   bool
		says string
	}{
		{tables && f.page == "" && (f.text || f.only || nets), "--tables goes with a drawing of the whole machine"},
		{f.ascii && !f.text, "--ascii goes with --text"},
		{f.text && (f.only || f.page != ""), "--text is for the terminal: leave out --only and --page"},
		{nets && (f.text || f.only || f.page != "" || o.file != "" || o.json), "--nets is a drawing of its own: leave out --text, --only, --page, --output and --json"},
		{f.visit != "" && f.opt.Suspects, "--visit shades what the visit suspects: leave out --suspects"},
		{f.text && o.json, "--text and --json are two forms of output: choose one"},
	}
}

// asked finds the machine and the question: the flags', or a visit's.
func (f *drawFlags) asked(cmd *cobra.Command, t *terminal, n *netlistFlags, q *questionFlags) (*machine, report.Question, error) {
	if f.visit == "" {
		e := &evidenceFlags{outside: f.outside}
		if n.family() {
			j, err := n.likeliest(cmd.Context(), t, e)
			if err != nil {
				return nil, report.Question{}, err
			}
			f.doubts = report.Doubts(j)
		} else if len(f.outside) > 0 {
			return nil, report.Question{}, errOutside
		}
		m, err := n.openFor(t)
		if err != nil {
			return nil, report.Question{}, err
		}
		ask, err := m.Ask(q.mode, q.load, q.faults, report.Feeding)
		return m, ask, m.place(err)
	}
	if cmd.Flags().Changed("netlist") {
		return nil, report.Question{}, errors.New("--netlist does not go with --visit: the visit names the machine")
	}
	_, job, m, err := openVisit(cmd.Context(), t, f.visit)
	if err != nil {
		return nil, report.Question{}, err
	}
	f.shades = report.Shades(job.Among())
	ask := m.Complained(job.Engine)
	if q.mode != "" || q.load != "" || len(q.faults) > 0 {
		ask, err = m.Ask(q.mode, q.load, q.faults, report.Feeding)
	}
	return m, ask, m.place(err)
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
	svg, err := m.svg(ctx, ask, report.DrawingOptions{}, schematic.Light)
	if err != nil {
		return err
	}
	var unwritten error
	if file == "-" {
		return t.print(svg)
	}
	d.Drawing, unwritten = m.keep(t, svg, file, ask.Mode)
	return errors.Join(t.show(d, &outputFlags{json: o.json}), unwritten)
}

// base is the machine that this one is a variant of, nil for none.
func (m *machine) base() *circuit.Circuit { return library.Base(netlists.Base(m.file)) }

// svg draws the machine.
func (m *machine) svg(ctx context.Context, q report.Question, opt report.DrawingOptions, theme schematic.Theme) ([]byte, error) {
	drawing, _, err := m.DrawingWith(ctx, q, opt)
	if err != nil {
		return nil, err
	}
	drawing.Theme, drawing.Base = theme, m.base()
	var b bytes.Buffer
	if err := schematic.Render(ctx, &b, drawing); err != nil {
		return nil, fmt.Errorf("cannot draw the machine: %w", err)
	}
	b.WriteString(signature)
	return b.Bytes(), nil
}

// sheets draws what the flags ask for: the machine, cut for print or not, or
// the single-load view.
func (m *machine) sheets(ctx context.Context, q report.Question, f *drawFlags) ([][]byte, *report.Drawn, error) {
	if !f.only {
		if err := schematic.Fits(m.Circuit); err != nil {
			return nil, nil, fmt.Errorf("cannot draw the machine: %w", err)
		}
	}
	s, d, err := m.Strip(ctx, q, f.opt)
	if err != nil {
		return nil, nil, err
	}
	s.Theme, s.Date = f.look, f.date
	if !f.only {
		s.Base = m.base()
	}
	if f.visit != "" {
		s.Suspects, s.Marks = f.shades, nil
		s.Subtitle = m.Circuit.Mode(q.Mode).Label + ": what is suspected"
	}
	if f.doubts != nil {
		s.Suspects, s.Doubts, s.Marks = f.doubts, true, nil
		s.Subtitle = m.Circuit.Mode(q.Mode).Label + ": the likeliest wiring of several"
	}
	var sheets [][]byte
	switch {
	case f.only && f.page != "":
		sheets, err = schematic.StripSheets(s, f.paper)
	case f.page != "":
		sheets, err = schematic.Sheets(ctx, s.Drawing, f.paper)
	default:
		var b bytes.Buffer
		if f.only {
			err = schematic.RenderStrip(&b, s)
		} else {
			err = schematic.Render(ctx, &b, s.Drawing)
		}
		sheets = [][]byte{b.Bytes()}
	}
	if err != nil {
		return nil, nil, fmt.Errorf("cannot draw the machine: %w", err)
	}
	for i := range sheets {
		sheets[i] = append(sheets[i], signature...)
	}
	return sheets, d, nil
}

// lineDiagram writes the single-load view as text.
func (m *machine) lineDiagram(ctx context.Context, t *terminal, q report.Question, f *drawFlags, o *outputFlags) error {
	s, _, err := m.Strip(ctx, q, f.opt)
	if err != nil {
		return m.place(err)
	}
	s.Date = f.date
	letters := schematic.Unicode
	if f.ascii {
		letters = schematic.ASCII
	}
	var b bytes.Buffer
	if err := schematic.WriteStripText(&b, s, letters); err != nil {
		return err
	}
	if o.file == "" || o.file == "-" {
		return t.print(b.Bytes())
	}
	return t.write(o.file, b.Bytes())
}
