package report

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/render/schematic"
)

// Drawn says what was drawn.
type Drawn struct {
	Head
	Load   Named    `json:"load" help:"the load whose feed is emphasised"`
	File   string   `json:"file" help:"where the drawing was written: the first sheet where there are several"`
	Sheets []string `json:"sheets" help:"every file of a drawing for print, in order"`
	Fed    bool     `json:"fed" help:"the load is fed at both ends"`
	Marks  []Mark   `json:"marks" help:"single opens marked in the drawing"`
}

// Mark is a numbered flag in a drawing.
type Mark struct {
	Number int    `json:"number" help:"the number of the set in breaks"`
	Item   Item   `json:"item" help:"the part it is at"`
	Text   string `json:"text" help:"its line in the legend"`
}

// DrawingOptions say what is drawn beside the machine itself.
type DrawingOptions struct {
	Symbols schematic.Symbols
	// Points numbers the places where the load is tested, with their good
	// readings.
	Points bool
	// Standing marks what stays live with the machine switched off.
	Standing bool
	// Suspects shades the single opens that would starve the load by how likely
	// each is before any test.
	Suspects bool
	// Tables stand after the legend.
	Tables []schematic.Table
}

// Drawing prepares the drawing of a machine in a mode, its load's feed
// emphasised, and, with nothing broken, what would starve it marked.
func (r *Reporter) Drawing(ctx context.Context, q Question, symbols schematic.Symbols) (schematic.Drawing, *Drawn, error) {
	return r.DrawingWith(ctx, q, DrawingOptions{Symbols: symbols})
}

// DrawingWith is [Reporter.Drawing] with more on the page. With faults present
// the sound machine's voltages stand beside the faulty one's.
func (r *Reporter) DrawingWith(ctx context.Context, q Question, opt DrawingOptions) (schematic.Drawing, *Drawn, error) {
	doc := &Drawn{Head: r.head("draw", q), Load: r.named(q.Load), Marks: []Mark{}, Sheets: []string{}}
	fail := func(err error) (schematic.Drawing, *Drawn, error) { return schematic.Drawing{}, nil, err }
	sound, err := r.sound(q.Mode)
	if err != nil {
		return fail(err)
	}
	out, err := r.settle(q)
	if err != nil {
		return fail(err)
	}
	r.settled(&doc.Head, out)
	feed := r.tracer.Feed(out, q.Load)
	doc.Fed = feed.Fed() && out.Chatter == nil
	mode := r.c.Mode(q.Mode)
	d := schematic.Drawing{Circuit: r.c, Mode: q.Mode, Conducts: out.Conducts, Volts: r.nodeVolts(sound),
		Load: q.Load, Faults: q.Faults, Symbols: opt.Symbols, Cautions: schematic.CautionLines(),
		Subtitle: fmt.Sprintf("%s: how the %s is fed", oneLine(mode.Label), circuit.LowerFirst(r.label(q.Load)))}
	if feed.Fed() {
		d.Live = r.live(feed)
	} else {
		r.reach(&d, r.tracer.Feed(sound, q.Load), sound, out)
	}
	d.Assumptions = "supply at its rated voltage, every part sound"
	if len(q.Faults) > 0 {
		d.Assumptions = "supply at its rated voltage, sound but for the fault"
		d.FaultVolts = r.nodeVolts(out)
	} else if err := r.marks(ctx, q, doc, &d); err != nil {
		return fail(err)
	}
	d.Notes = r.drawingNotes(doc.Head, q, out, sound)
	if err := r.drawBesides(ctx, q, opt, &d); err != nil {
		return fail(err)
	}
	return d, doc, nil
}

// drawingNotes say what the load gets, and what does not settle.
func (r namer) drawingNotes(h Head, q Question, out, sound *settle.Outcome) []string {
	var notes []string
	if len(h.Chatters) > 0 {
		notes = append(notes, "Does not settle: "+chatterText(h.Chatters))
	}
	if len(h.ChattersBefore) > 0 {
		notes = append(notes, beforeText(h))
	}
	notes = append(notes, r.gets(out, sound, q.Load))
	if len(q.Faults) > 0 {
		notes = append(notes, "Sound: "+r.gets(sound, sound, q.Load))
	}
	return notes
}

// drawBesides adds what was asked for beside the machine itself.
func (r *Reporter) drawBesides(ctx context.Context, q Question, opt DrawingOptions, d *schematic.Drawing) error {
	if opt.Points || opt.Suspects {
		if err := r.drawTests(ctx, q, opt, d); err != nil {
			return err
		}
	}
	d.Tables = opt.Tables
	if slices.Contains(opt.Tables, schematic.ContactTable) {
		for m := range r.c.Modes() {
			out, err := r.sound(circuit.ModeID(m))
			if err != nil {
				return err
			}
			d.Charts = append(d.Charts, schematic.ModeContacts{Mode: circuit.ModeID(m), Conducts: out.Conducts})
		}
	}
	if opt.Standing {
		return r.drawStanding(q, d)
	}
	return nil
}

func (r namer) gets(out, sound *settle.Outcome, load circuit.BranchID) string {
	l := r.load(load, out, sound)
	return l.Label + ": " + plain(l.gets())
}

func (r namer) nodeVolts(out *settle.Outcome) []schematic.NodeVolts {
	list := make([]schematic.NodeVolts, len(r.c.Terminals()))
	for i := range list {
		v, known := out.AnyState.ToEarth(circuit.TerminalID(i))
		list[i] = schematic.NodeVolts{Volts: cmplx.Abs(v), Known: known, Leg: r.legOf(v)}
		if least, most := toEarth(out.InTurn(), circuit.TerminalID(i)); most != nil && out.Chatter != nil {
			list[i].Volts, list[i].Most = *least, *most
		}
	}
	return list
}

// legOf names the leg whose voltage is within 30 degrees of v.
func (r namer) legOf(v complex128) string {
	if cmplx.Abs(v) < 1 {
		return ""
	}
	for _, id := range r.c.Supply().Legs {
		if leg := r.c.Branch(id); math.Abs(cmplx.Phase(v/leg.EMF)) < math.Pi/6 {
			return leg.Name
		}
	}
	return ""
}

// live gives every branch of the feed the conductor it is fed from.
func (r namer) live(f *trace.Feed) []schematic.Feed {
	list := make([]schematic.Feed, len(r.c.Branches()))
	for i := range f.Ends {
		on := r.feedOf(f.Ends[i].Source)
		for _, h := range f.Ends[i].Hops {
			list[h.Branch] = on
		}
	}
	list[f.Load] = schematic.FeedLoad
	return list
}

// marks flags the parts whose single opening starves the load, numbered as the
// document of [Reporter.Breaks] is. The first of a number also names the wires.
func (r *Reporter) marks(ctx context.Context, q Question, doc *Drawn, d *schematic.Drawing) error {
	b, err := r.Breaks(ctx, q, BreaksOptions{Order: 1, alone: true})
	if errors.Is(err, trace.ErrNotEnergised) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, s := range b.Sets {
		m := s.Members[0]
		flagged := parts(m.AnyOf)
		if len(flagged) == 0 {
			flagged = m.AnyOf
		}
		for i, it := range flagged {
			text := it.Label
			if i == 0 {
				text = partsAndWires(append([]Item{it}, wires(m.AnyOf, it)...)) + " (" + m.role() + ")"
			}
			id, err := r.c.FindBranch(it.Ref)
			if err != nil {
				return err
			}
			doc.Marks = append(doc.Marks, Mark{Number: s.Number, Item: it, Text: plain(text)})
			d.Marks = append(d.Marks, schematic.Mark{Number: s.Number, Branch: id, Text: plain(text)})
		}
	}
	return nil
}

func (d *Drawn) blocks(p *page) {
	p.title(d.Head, fmt.Sprintf("Drawn: %s, feed of the %s", d.Mode.Label, circuit.LowerFirst(d.Load.Label)))
	if len(d.Sheets) == 0 {
		p.para(2, d.File)
	}
	p.para(2, d.Sheets...)
	p.notes(d.Head)
}
