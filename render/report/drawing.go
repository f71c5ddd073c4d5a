package report

import (
	"context"
	"errors"
	"fmt"
	"math/cmplx"

	"legtrace/circuit"
	"legtrace/circuit/settle"
	"legtrace/circuit/trace"
	"legtrace/render/schematic"
)

// Drawn says what was drawn.
type Drawn struct {
	Head
	Load  Named  `json:"load" help:"the load whose feed is emphasised"`
	File  string `json:"file" help:"where the drawing was written"`
	Fed   bool   `json:"fed" help:"the load is fed at both ends"`
	Marks []Mark `json:"marks" help:"single opens marked in the drawing"`
}

// Mark is a numbered flag in a drawing.
type Mark struct {
	Number int    `json:"number" help:"the number of the set in breaks"`
	Item   Item   `json:"item" help:"the part it is at"`
	Text   string `json:"text" help:"its line in the legend"`
}

// Drawing prepares the drawing of a machine in a mode, its load's feed
// emphasised, and, with nothing broken, what would starve it marked.
func (r *Reporter) Drawing(ctx context.Context, q Question, symbols schematic.Symbols) (schematic.Drawing, *Drawn, error) {
	doc := &Drawn{Head: r.head("draw", q), Load: r.named(q.Load), Marks: []Mark{}}
	if _, err := r.sound(q.Mode); err != nil {
		return schematic.Drawing{}, nil, err
	}
	out, err := r.settle(q)
	if err != nil {
		return schematic.Drawing{}, nil, err
	}
	r.settled(&doc.Head, out)
	feed := r.tracer.Feed(out, q.Load)
	doc.Fed = feed.Fed()
	mode := r.c.Mode(q.Mode)
	d := schematic.Drawing{Circuit: r.c, Mode: q.Mode, Conducts: out.Conducts, Volts: r.nodeVolts(out),
		Load: q.Load, Faults: q.Faults, Symbols: symbols, Cautions: schematic.CautionLines(),
		Subtitle: fmt.Sprintf("%s: how the %s is fed", oneLine(mode.Label), lowerFirst(r.label(q.Load)))}
	if feed.Fed() {
		d.Live = r.live(feed)
	}
	d.Notes = append(d.Notes, r.gets(out, q.Load))
	if len(q.Faults) == 0 {
		if err := r.marks(ctx, q, doc); err != nil {
			return schematic.Drawing{}, nil, err
		}
	}
	for _, m := range doc.Marks {
		id, err := r.c.FindBranch(m.Item.Ref)
		if err != nil {
			return schematic.Drawing{}, nil, err
		}
		d.Marks = append(d.Marks, schematic.Mark{Number: m.Number, Branch: id, Text: m.Text})
	}
	return d, doc, nil
}

func (r *Reporter) gets(out *settle.Outcome, load circuit.BranchID) string {
	b := r.c.Branch(load)
	return fmt.Sprintf("%s: %s V, %s A, %s W of %s W rated.", r.label(load), volts(out.Solution.LoadVolts(load)),
		amps(cmplx.Abs(out.Solution.Amps[load])), watts(out.LeastShare(load)*b.Watts), watts(b.Watts))
}

func (r *Reporter) nodeVolts(out *settle.Outcome) []schematic.NodeVolts {
	neutral := r.c.Branch(r.c.Supply().Neutral).B
	list := make([]schematic.NodeVolts, len(r.c.Terminals()))
	for i := range list {
		v, known := out.Solution.Between(circuit.TerminalID(i), neutral)
		list[i] = schematic.NodeVolts{Volts: cmplx.Abs(v), Known: known}
	}
	return list
}

// live gives every branch of the feed the conductor it hangs on.
func (r *Reporter) live(f *trace.Feed) []schematic.Feed {
	list := make([]schematic.Feed, len(r.c.Branches()))
	for i := range f.Ends {
		on := schematic.FeedNeutral
		for n, leg := range r.c.Supply().Legs {
			if leg == f.Ends[i].Source {
				on = schematic.FeedL1 + schematic.Feed(n)
			}
		}
		for _, h := range f.Ends[i].Hops {
			list[h.Branch] = on
		}
	}
	list[f.Load] = schematic.FeedLoad
	return list
}

// marks flags the parts whose single opening starves the load, numbered as the
// document of [Reporter.Breaks] is. The first of a number also names the wires.
func (r *Reporter) marks(ctx context.Context, q Question, doc *Drawn) error {
	b, err := r.Breaks(ctx, q, BreaksOptions{Order: 1})
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
				text = partsAndWires(append([]Item{it}, wires(m.AnyOf, it)...)) + " (" + m.serves() + ")"
			}
			doc.Marks = append(doc.Marks, Mark{Number: s.Number, Item: it, Text: plain(text)})
		}
	}
	return nil
}

func (d *Drawn) text(p *page) {
	p.title(d.Head, fmt.Sprintf("Drawn: %s, feed of the %s", d.Mode.Label, lowerFirst(d.Load.Label)))
	p.para(2, d.File)
	p.notes(d.Head)
}
