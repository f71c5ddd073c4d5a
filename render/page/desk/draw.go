package desk

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"strings"

	"legtrace/circuit"
	"legtrace/render/report"
	"legtrace/render/schematic"
)

var errNoLoad = errors.New("the machine has no load to draw the feed of")

// draw makes the diagram of a situation, without the style that goes with it:
// that is one for all of them, and served by itself.
func (b *bench) draw(ctx context.Context, x *situation) ([]byte, error) {
	if x.question.Load == circuit.None {
		return nil, errNoLoad
	}
	svg, err := b.svg(ctx, x, schematic.Light)
	if err != nil {
		return nil, err
	}
	_, svg = splitStyle(svg)
	return svg, nil
}

func (b *bench) svg(ctx context.Context, x *situation, theme schematic.Theme) ([]byte, error) {
	var w bytes.Buffer
	s, err := b.pictured(ctx, x)
	if err != nil {
		return nil, err
	}
	if s.Theme = theme; x.Only {
		err = schematic.RenderStrip(&w, s)
		return w.Bytes(), err
	}
	plan, err := b.stand.laidOut(ctx)
	if err == nil {
		err = plan.Render(&w, s.Drawing)
	}
	return w.Bytes(), err
}

// paper is what A4 and letter have in common, lying, so that a sheet is printed as
// large as it is on either.
var paper = schematic.Paper{Name: "a4 or letter", Width: 279, Height: 209}

// sheets are the diagram cut for print, without its style.
func (b *bench) sheets(ctx context.Context, x *situation) ([][]byte, error) {
	s, err := b.pictured(ctx, x)
	if err != nil {
		return nil, err
	}
	s.Theme, s.Base = schematic.Monochrome, b.stand.base
	var all [][]byte
	if x.Only {
		all, err = schematic.StripSheets(s, paper)
	} else {
		all, err = schematic.Sheets(ctx, s.Drawing, paper)
	}
	for i := range all {
		_, all[i] = splitStyle(all[i])
	}
	return all, err
}

// pictured is what a diagram of a situation shows; of ways it has some where only a
// load's feed is looked at.
func (b *bench) pictured(ctx context.Context, x *situation) (s schematic.Strip, err error) {
	var suspects []schematic.Shade
	doubts := x.Among != "" && len(x.Notes) == 0 // what other wirings have otherwise
	if (len(x.Notes) > 0 || doubts) && x.drill == nil {
		v, err := b.visit(ctx, x)
		if err != nil {
			return s, err
		}
		suspects = v.shades
		x = b.standsFor(x, v)
	}
	if x.Only {
		s, _, err = b.Strip(ctx, x.question, report.DrawingOptions{})
		s.Cautions = nil
	} else {
		s.Drawing, _, err = b.DrawingWith(ctx, x.question, report.DrawingOptions{})
	}
	if err == nil {
		s.Suspects, s.Doubts = suspects, doubts
		err = b.standAs(x, &s.Drawing)
	}
	return s, err
}

// standsFor is a situation with the machine as the test that a visit proposes, or its proof, has it:
// behind the door of a search the diagram stands beside its card.
func (b *bench) standsFor(x *situation, v *visitView) *situation {
	next := v.now()
	if x.door() != DoorFind || next == nil || x.Only {
		return x
	}
	y := *x
	y.Off = next.Dead()
	if mode, err := b.c.FindMode(next.Mode.Name); err == nil {
		y.question.Mode = mode
	}
	return &y
}

// standAs takes out of a drawing what does not hold with the supply off, or is
// for a learner to find out.
func (b *bench) standAs(x *situation, d *schematic.Drawing) error {
	if x.drill.Runs() {
		// The sheet that comes with a machine: no fault, no voltage, no feed.
		d.Live, d.Volts, d.FaultVolts, d.Marks, d.Notes = nil, nil, nil, nil, nil
		d.Subtitle, d.Assumptions = b.c.Mode(x.question.Mode).Label+", as on a sound machine", "contacts as a sound machine has them in this mode"
		return nil
	}
	if !x.Off {
		return nil
	}
	out, err := b.settled(x)
	if err != nil {
		return err
	}
	d.Conducts, d.Live, d.Volts, d.FaultVolts, d.Notes = out.Conducts, nil, nil, nil, nil
	d.Subtitle = b.c.Mode(x.question.Mode).Label + ", supply off"
	return nil
}

// drawKey names all that a drawing shows.
func (x *situation) drawKey() string {
	s := State{Mode: x.Mode, Load: x.Load, Off: x.Off, Only: x.Only, Faults: x.Faults, Set: x.Set, Notes: x.Notes, Among: x.Among, Outside: x.Outside}
	if x.door() == DoorFind && len(x.Notes) > 0 { // it stands as the next test has it
		s.Door, s.Done, s.After = DoorFind, x.Done, x.After
	}
	if x.drill != nil { // what it is of is told by the drill, once it is over
		s = State{Mode: x.Mode, Load: x.Load, Only: x.Only}
	}
	if x.drill.Over() {
		s.Drill = x.Drill
	}
	return x.key(s)
}

// splitStyle takes the style out of a drawing.
func splitStyle(svg []byte) (style, rest []byte) {
	before, after, ok := bytes.Cut(svg, []byte("<style>"))
	if !ok {
		return nil, svg
	}
	style, after, ok = bytes.Cut(after, []byte("</style>"))
	if !ok {
		return nil, svg
	}
	return style, append(bytes.Clone(before), after...)
}

// drawingStyle is the style of all drawings in the page's themes.
func (b *bench) drawingStyle(ctx context.Context, x *situation) ([]byte, error) {
	styles := map[schematic.Theme]string{}
	for _, t := range []schematic.Theme{schematic.Light, schematic.Dark, schematic.Monochrome} {
		svg, err := b.svg(ctx, x, t)
		if err != nil {
			return nil, err
		}
		style, _ := splitStyle(svg)
		styles[t] = strings.TrimSpace(string(style))
	}
	var w bytes.Buffer
	fmt.Fprintf(&w, "#drawing {\n%s\n}\n", styles[schematic.Light])
	fmt.Fprintf(&w, "@media screen { :root[data-theme=dark] #drawing {\n%s\n} }\n", styles[schematic.Dark])
	fmt.Fprintf(&w, "@media screen and (prefers-color-scheme: dark) { :root:not([data-theme]) #drawing {\n%s\n} }\n", styles[schematic.Dark])
	fmt.Fprintf(&w, "#sheets {\n%s\n}\n@media print { #drawing#drawing {\n%[1]s\n} }\n", styles[schematic.Monochrome])
	return w.Bytes(), nil
}
