// Package schematic draws a machine as an annotated wiring diagram in SVG.
//
// [Render] is where to start: it takes a [Drawing], which is plain data, and
// writes one self-contained page. [Arrange] lays a machine out once for many
// drawings, [Sheets] cuts one for print, [RenderStrip] and [WriteStripText] show
// a single load's feed, for a phone and for a terminal. Legs are vertical rails, loads lie on
// horizontal rungs between them with the contacts in series, and every wire is
// drawn from terminal to terminal at right angles.
//
// A drawing is made in stages, whose results stand in stages.go and whose files
// begin with the stage's name. The plan says what stands where: parts become
// symbols with pins and wires nets, each with its place between the rails, package
// layered gives the columns, and a search the order of the rungs that crosses
// least, from the netlist's on. The route finds each wire a way of its own on a
// grid. The annotation finds room for names, readings and marks. The canvas writes
// it down, on a page or on sheets of paper, with tables after. The strip is the
// single-load view.
//
// The SVG carries what a checker needs to read it back: every terminal,
// but for a conductor of the supply that nothing is wired to, is an element
// with data-terminal at its coordinates, every symbol has its outline
// in data-box but for a splice on a line, every wire is one group with data-from and data-to and a path.
package schematic

import (
	"context"
	"fmt"
	"io"
	"strings"

	"legtrace/circuit"
)

// Drawing is what to draw.
type Drawing struct {
	Circuit *circuit.Circuit
	// Base is the machine that this one is a variant of, if it is one: the parts
	// of both are drawn in the same order where wires do not forbid it.
	Base *circuit.Circuit
	Mode circuit.ModeID
	// Conducts tells, per branch, whether it is intact and closed. Nil draws
	// every contact as its own position in the mode has it, and relays at rest.
	Conducts []bool
	// Volts gives each terminal's voltage to neutral. Nil prints none.
	Volts []NodeVolts
	// FaultVolts gives the same with Faults present. Where it differs from
	// Volts both are printed, the sound machine's first.
	FaultVolts []NodeVolts
	// Standing gives each terminal's volts to the chassis while the machine is
	// switched off, 0 where it is not live then. Nil marks none.
	Standing []float64
	// TestPoints are marked places for probes, Tests what to read there.
	TestPoints []TestPoint
	Tests      []Test
	// Live gives, per branch, the conductor that the branch hangs on where it
	// is part of the live path of Load. Nil emphasises nothing.
	Live []Feed
	// Lost gives the same where Load's feed is broken: the part of the path that
	// the conductor no longer reaches. Breaks are where each of them ends.
	Lost   []Feed
	Breaks []Break
	// Load is the load of interest, or circuit.None.
	Load circuit.BranchID
	// Marks are flags at parts and wires with a legend: single points of
	// failure.
	Marks []Mark
	// Suspects are shaded by their probability.
	Suspects []Shade
	// Doubts says that what is shaded is not suspected, but may not be so.
	Doubts bool
	// Faults are crossed out.
	Faults []circuit.Fault
	// Title defaults to the machine's own. Notes and Cautions are printed
	// beside the diagram.
	Title, Subtitle string
	Notes, Cautions []string
	// Assumptions, such as the supply's state, and Date, in whatever form the
	// caller likes, stand in the title block.
	Assumptions, Date string
	Symbols           Symbols
	// Tables stand after the legend. Charts has the contacts of every mode, for
	// that of contacts.
	Tables []Table
	Charts []ModeContacts
	Theme  Theme
}

// NodeVolts is a voltage to neutral; Known is false where the terminal floats.
type NodeVolts struct {
	Volts float64
	// Most is more than Volts where relays chatter and the voltage jumps
	// between the two.
	Most  float64
	Known bool
	// Leg names the leg that the voltage is in step with, "" for none: one lost
	// leg leaves a load's end at the same volts, but from the other leg.
	Leg string
}

// Feed is the conductor of the supply that a piece of the live path hangs on.
type Feed uint8

const (
	FeedNone Feed = iota
	FeedL1
	FeedL2
	FeedNeutral
	// FeedLoad is the load itself.
	FeedLoad
	FeedL3
)

// LegFeed is the conductor of the nth leg, from 0.
func LegFeed(n int) Feed { return [...]Feed{FeedL1, FeedL2, FeedL3}[n] }

// Mark is a numbered flag at a branch.
type Mark struct {
	Number int
	Branch circuit.BranchID
	// Text is the flag's line in the legend.
	Text string
}

// Break is where a conductor's way to the load ends: it does not get through
// the branch.
type Break struct {
	Branch circuit.BranchID
	Feed   Feed
}

// TestPoint is a marked place for a probe.
type TestPoint struct {
	// Mark is what stands at the place: "3R 8B" for the red probe of test 3 and
	// the black one of test 8, or a number where there are no tests.
	Mark     string
	Terminal circuit.TerminalID
	// Name says where it is; Reading is the good reading there, which is written
	// beside the point where there is room, else in the legend.
	Name, Reading string
}

// Test is a reading, by the number of its test.
type Test struct {
	Number int
	Text   string
}

// Symbols is the standard the symbols follow.
type Symbols uint8

const (
	// Customary is IEEE 315 where the supply is 120/240 or 120/208 V, IEC 60617
	// elsewhere.
	Customary Symbols = iota
	IEC               // IEC 60617
	IEEE              // IEEE 315
)

// symbols is the standard that the drawing follows.
func (d *Drawing) symbols() Symbols {
	if d.Symbols != Customary {
		return d.Symbols
	}
	if s := d.Circuit.Supply().System; s == "split-phase" || s == "wye" {
		return IEEE
	}
	return IEC
}

// CautionLines returns the usual cautions for a page that is taken to a
// machine.
func CautionLines() []string {
	return []string{
		"Disconnect the supply, lock it out, and prove it dead before touching: prove the meter on a known source, test, prove the meter again.",
		"Resistance and continuity are measured with the supply off, never on a live circuit.",
		"Live tests are for qualified people only. Follow local codes and the maker's instructions.",
		"This diagram is worked out from a transcribed netlist: compare it with the machine in front of you.",
	}
}

// MostSymbols is the largest machine that is drawn, in symbols: beyond it no
// page could be read.
const MostSymbols = 2000

// Fits returns an error for a machine that is too large to be drawn.
func Fits(c *circuit.Circuit) error {
	g := &graph{c: c, unitOf: map[circuit.TerminalID]*unit{}}
	g.split()
	return g.capped()
}

func (g *graph) capped() error {
	if n := len(g.units); n > MostSymbols {
		return fmt.Errorf("%d symbols to draw, at most %d fit a page: draw one load's feed with --only", n, MostSymbols)
	}
	return nil
}

// Render lays the machine out and writes the page.
func Render(ctx context.Context, w io.Writer, d Drawing) error {
	an, err := layOut(ctx, &d)
	if err != nil {
		return err
	}
	return an.write(w)
}

// RenderBare writes the diagram alone: without title, frame, legend and tables.
func RenderBare(ctx context.Context, w io.Writer, d Drawing) error {
	an, err := layOut(ctx, &d)
	if err != nil {
		return err
	}
	var b strings.Builder
	size := an.inner()
	an.open(&b, size.x+2*margin, size.y+2*margin)
	(&canvas{an, point{margin, margin}}).writeDiagram(&b)
	b.WriteString("</svg>\n")
	_, err = io.WriteString(w, b.String())
	return err
}

// Plan is a machine laid out. It draws the machine in any mode, with the same
// parts in the same places, in a fraction of the time that the layout takes. It
// may be used by several goroutines at once.
type Plan struct{ rt *routing }

// Arrange lays a machine out for [Plan.Render]; base is what it is a variant of,
// nil for none, as in a [Drawing].
func Arrange(ctx context.Context, c, base *circuit.Circuit) (*Plan, error) {
	d := Drawing{Circuit: c}
	if err := d.check(); err != nil {
		return nil, err
	}
	rt, err := arrange(ctx, c, base, anySize)
	if err != nil {
		return nil, err
	}
	return &Plan{rt}, nil
}

// Render draws the machine of the plan.
func (p *Plan) Render(w io.Writer, d Drawing) error {
	if err := d.check(); err != nil {
		return err
	}
	if d.Circuit != p.rt.c {
		return fmt.Errorf("the drawing is of another machine than the plan")
	}
	return annotate(p.rt, &d).write(w)
}

// check reports data that does not belong to the circuit.
func (d *Drawing) check() error {
	if d.Circuit == nil {
		return fmt.Errorf("a drawing needs a circuit")
	}
	branches, terminals := len(d.Circuit.Branches()), len(d.Circuit.Terminals())
	if d.Mode < 0 || int(d.Mode) >= len(d.Circuit.Modes()) {
		return fmt.Errorf("mode %d, the machine has %d", d.Mode, len(d.Circuit.Modes()))
	}
	for _, slice := range []struct {
		what      string
		got, want int
	}{{"conducts", len(d.Conducts), branches}, {"live", len(d.Live), branches}, {"lost", len(d.Lost), branches}, {"volts", len(d.Volts), terminals},
		{"fault volts", len(d.FaultVolts), terminals}, {"standing", len(d.Standing), terminals}} {
		if slice.got != 0 && slice.got != slice.want {
			return fmt.Errorf("%s has %d entries, the circuit needs %d", slice.what, slice.got, slice.want)
		}
	}
	for _, m := range d.Marks {
		if m.Branch < 0 || int(m.Branch) >= branches {
			return fmt.Errorf("mark %d is at branch %d, the circuit has %d", m.Number, m.Branch, branches)
		}
	}
	for _, p := range d.TestPoints {
		if p.Terminal < 0 || int(p.Terminal) >= terminals {
			return fmt.Errorf("test point %s is at terminal %d, the circuit has %d", p.Mark, p.Terminal, terminals)
		}
	}
	for _, b := range d.Breaks {
		if b.Branch < 0 || int(b.Branch) >= branches {
			return fmt.Errorf("break at branch %d, the circuit has %d", b.Branch, branches)
		}
	}
	for _, s := range d.Suspects {
		if s.Branch < 0 || int(s.Branch) >= branches || !(s.P >= 0 && s.P <= 1) {
			return fmt.Errorf("suspect at branch %d of probability %g, the circuit has %d branches", s.Branch, s.P, branches)
		}
	}
	for _, m := range d.Charts {
		if m.Mode < 0 || int(m.Mode) >= len(d.Circuit.Modes()) || len(m.Conducts) != branches {
			return fmt.Errorf("a chart of mode %d with %d contacts, the circuit has %d modes and %d branches", m.Mode, len(m.Conducts), len(d.Circuit.Modes()), branches)
		}
	}
	for _, f := range d.Faults {
		if f.Branch < 0 || int(f.Branch) >= branches {
			return fmt.Errorf("fault at branch %d, the circuit has %d", f.Branch, branches)
		}
	}
	return nil
}

// conducts tells whether a branch is drawn closed.
func (d *Drawing) conducts(id circuit.BranchID) bool {
	if len(d.Conducts) > 0 {
		return d.Conducts[id]
	}
	b := d.Circuit.Branch(id)
	switch {
	case b.Role != circuit.Contact:
		return true
	case b.Rule.Actuator == circuit.ByPosition:
		return b.Rule.Closed[d.Circuit.Mode(d.Mode).Position[b.Part]]
	}
	return b.Rule.NormallyClosed
}

func (d *Drawing) live(id circuit.BranchID) Feed {
	if len(d.Live) == 0 {
		return FeedNone
	}
	return d.Live[id]
}

func (d *Drawing) lost(id circuit.BranchID) bool { return len(d.Lost) > 0 && d.Lost[id] != FeedNone }

// ends says which conductor's way ends at a branch.
func (d *Drawing) ends(b Break) string {
	s := d.Circuit.Supply()
	id := s.Neutral
	for n, leg := range s.Legs {
		if b.Feed == LegFeed(n) {
			id = leg
		}
	}
	return d.Circuit.Branch(id).Name + " ends here"
}
